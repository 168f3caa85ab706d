"""How a piece at true scale is parted into sheets of paper."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
import shapely
from shapely import MultiLineString, Polygon, box
from shapely.geometry.base import BaseGeometry

Spot = tuple[float, float]
Paper = Literal["a4", "a3", "letter"]
PAPERS: dict[Paper, tuple[float, float]] = {
    "a4": (210.0, 297.0), "a3": (297.0, 420.0), "letter": (215.9, 279.4),
}  # fmt: skip
"""mm: ISO 216, and ANSI Y14.1 size A."""
MARGIN, FOOT = 8.0, 26.0  # mm: what a printer may leave blank round a sheet; room for rulers and words at its foot
OVERLAP = 12.0  # mm that neighbours both show
ROUND = 3.0  # mm left round the piece, so that no outline lies on the end of a sheet
SHIFTS = ((0.5, 0.5), *((x / 4, y / 4) for x in range(5) for y in range(5)))


@dataclass(frozen=True)
class Tile:
    """One sheet: its row from the top and column from the left, from 1, and the window of the piece that it shows.

    left, bottom: of the window, mm in the template's axes.
    """

    row: int
    column: int
    left: float
    bottom: float


@dataclass(frozen=True)
class Tiling:
    """The sheets of a piece: page and window mm, rows, columns, and in reading order the tiles that show some of it."""

    page: tuple[float, float]
    window: tuple[float, float]
    rows: int
    columns: int
    tiles: tuple[Tile, ...]


def tiled(cut: Sequence[Sequence[Spot]], paper: Paper, marks: Sequence[Sequence[Spot]] = ()) -> Tiling:
    """Return the sheets for a piece by its rings, mm, from its left bottom; upright or on their side, the fewer.

    marks: lines that have to be shown too. A sheet that would be blank is left out where the others still hang
    together, edge to edge.

    >>> one = tiled([[(0.0, 0.0), (400.0, 0.0), (400.0, 150.0), (0.0, 150.0)]], "a4")
    >>> one.page, one.rows, one.columns
    ((297.0, 210.0), 1, 2)
    """
    wide, high = PAPERS[paper]
    every = [*((*ring, ring[0]) for ring in cut), *marks]
    spots, of = (
        np.array([spot for line in every for spot in line]),
        np.repeat(np.arange(len(every)), [*map(len, every)]),
    )
    lines: MultiLineString = shapely.multilinestrings(shapely.linestrings(spots, indices=of))
    shapely.prepare(lines)
    whole = lines.convex_hull
    x, y = lines.bounds[2:]
    laid = (_laid(lines, whole, (x, y), page, at) for page in ((wide, high), (high, wide)) for at in SHIFTS)
    return min(laid, key=lambda one: len(one.tiles))


def _laid(lines: BaseGeometry, whole: BaseGeometry, size: Spot, page: Spot, at: Spot) -> Tiling:
    """Return the sheets of a page laid over lines, and *whole*, what they enclose.

    at: how much of what the sheets have to spare lies left and below.
    """
    window = (page[0] - 2 * MARGIN, page[1] - 2 * MARGIN - FOOT)
    need = [one + 2 * ROUND for one in size]
    many = [max(1, math.ceil((n - OVERLAP) / (w - OVERLAP))) for n, w in zip(need, window, strict=True)]
    spare = [m * (w - OVERLAP) + OVERLAP - n for m, w, n in zip(many, window, need, strict=True)]
    left, top = -ROUND - spare[0] * at[0], size[1] + ROUND + spare[1] * (1 - at[1])
    every = [
        Tile(r + 1, c + 1, left + c * (window[0] - OVERLAP), top - r * (window[1] - OVERLAP) - window[1])
        for r in range(many[1])
        for c in range(many[0])
    ]
    own = [tile for tile in every if whole.intersects(_window(tile, window))]
    inked = [tile for tile in own if lines.intersects(_window(tile, window))]
    return Tiling(page, window, many[1], many[0], _hanging_together(own, inked))


def _hanging_together(tiles: Sequence[Tile], inked: Sequence[Tile]) -> tuple[Tile, ...]:
    """Return the tiles less those without ink that are not wanted to hold the others together."""
    left = list(tiles)
    for tile in tiles:
        fewer = [one for one in left if one is not tile]
        if tile not in inked and len(_parts(fewer)) <= len(_parts(left)):
            left = fewer
    return tuple(left)


def _parts(tiles: Sequence[Tile]) -> list[set[tuple[int, int]]]:
    """Return the tiles, by row and column, in groups that hang together edge to edge."""
    todo, parts = {(tile.row, tile.column) for tile in tiles}, []
    while todo:
        part, new = set(), {todo.pop()}
        while new:
            part |= new
            new = {(r + a, c + b) for r, c in new for a, b in ((0, 1), (1, 0), (0, -1), (-1, 0))} & todo
            todo -= new
        parts.append(part)
    return parts


def _window(tile: Tile, window: Spot) -> Polygon:
    return box(tile.left, tile.bottom, tile.left + window[0], tile.bottom + window[1])
