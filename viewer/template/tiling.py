"""How a piece at true scale is parted into sheets of paper."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import shapely
from shapely import Polygon
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


def tiled(cut: Sequence[Sequence[Spot]], paper: Paper) -> Tiling:
    """Return the sheets for a piece by its rings, mm, from its left bottom; upright or on their side, the fewer.

    >>> one = tiled([[(0.0, 0.0), (400.0, 0.0), (400.0, 150.0), (0.0, 150.0)]], "a4")
    >>> one.page, one.rows, one.columns
    ((297.0, 210.0), 1, 2)
    """
    wide, high = PAPERS[paper]
    whole = shapely.union_all([shapely.make_valid(Polygon(ring)) for ring in cut])
    return min((_laid(whole, page) for page in ((wide, high), (high, wide))), key=lambda one: len(one.tiles))


def _laid(whole: BaseGeometry, page: Spot) -> Tiling:
    size = whole.bounds[2:]
    window = (page[0] - 2 * MARGIN, page[1] - 2 * MARGIN - FOOT)
    need = [one + 2 * ROUND for one in size]
    many = [max(1, math.ceil((n - OVERLAP) / (w - OVERLAP))) for n, w in zip(need, window, strict=True)]
    covered = [m * (w - OVERLAP) + OVERLAP for m, w in zip(many, window, strict=True)]
    left, top = (size[0] - covered[0]) / 2, (size[1] + covered[1]) / 2
    every = (
        Tile(r + 1, c + 1, left + c * (window[0] - OVERLAP), top - r * (window[1] - OVERLAP) - window[1])
        for r in range(many[1])
        for c in range(many[0])
    )
    tiles = tuple(tile for tile in every if whole.intersects(_window(tile, window)))
    return Tiling(page, window, many[1], many[0], tiles)


def _window(tile: Tile, window: Spot) -> Polygon:
    return shapely.box(tile.left, tile.bottom, tile.left + window[0], tile.bottom + window[1])
