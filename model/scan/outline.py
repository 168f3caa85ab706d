"""Which walls bound the section, in order round it: the closed way round a spot within that runs least unseen.

The walls' lines cut the plane into cells. Cells are parted into those within and those without by a least cut
(Ford and Fulkerson), where a stretch of wall costs its length as far as no point shows it.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import networkx as nx
import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from tapeloft.model.moments import Points
from tapeloft.model.scan.lines import CELL, Wall, band
from tapeloft.model.scan.slab import Slab

MARGIN = 0.3  # m that the frame stands off the points
LENGTH_COSTS = 0.05  # of its length, what a wall costs that is seen all along: no wall more than it takes
FRAME_COSTS = 3.0  # times its length: the frame is no wall
GRID = 40  # spots a side, among which one within is looked for
RAYS = 36  # directions in which a spot within sees points
FRAME = -1  # what stands for a wall where there is only the frame


@dataclass(frozen=True, eq=False)
class _Side:
    """A side of a cell: which wall it lies on, from where to where."""

    wall: int
    start: Points
    end: Points


_Cell = list[_Side]


def within(slab: Slab) -> Points:
    """Return a spot (2,) m in the open with points all round: where there is most room, and most directions see one."""
    spots = slab.across[slab.thin]
    low, high = spots.min(axis=0), spots.max(axis=0)
    ways = [np.linspace(a, b, GRID + 2)[1:-1] for a, b in zip(low, high, strict=True)]
    grid = np.stack(np.meshgrid(*ways, indexing="ij"), axis=-1).reshape(-1, 2)
    room, _ = cKDTree(spots).query(grid)
    best = np.argsort(-room)[: 4 * GRID]
    seen = np.array([_directions(spots - spot) for spot in grid[best]]) / RAYS
    found: Points = grid[best[int((room[best] * seen**2).argmax())]]
    return found


def _directions(ways: Points) -> int:
    return len(np.unique(np.floor(np.arctan2(ways[:, 1], ways[:, 0]) / (2 * np.pi) * RAYS)))


def outline(slab: Slab, walls: Sequence[Wall], spot: Points) -> list[int] | None:
    """Return the numbers of the walls that bound the section about *spot*, counter-clockwise seen from forward.

    A wall may come more than once; `FRAME` stands where no wall closes it. None where nothing is enclosed.
    """
    low, high = slab.across.min(axis=0) - MARGIN, slab.across.max(axis=0) + MARGIN
    frame = np.array([low, [high[0], low[1]], high, [low[0], high[1]]])
    cells: list[_Cell] = [[_Side(FRAME, frame[k], frame[(k + 1) % 4]) for k in range(4)]]
    for number, wall in enumerate(walls):
        cells = [part for cell in cells for part in _parted(cell, wall, number)]
    home = next((k for k, cell in enumerate(cells) if _holds(cell, spot)), None)
    if home is None:
        return None
    inside = _cut(cells, _seen(slab, walls), walls, home)
    return _way_round(cells, inside)


def _parted(cell: _Cell, wall: Wall, number: int) -> list[_Cell]:
    """Return a convex cell parted by a wall's line: on the far side of it and on the near side."""
    off = np.array([side.start @ wall.normal - wall.offset for side in cell])
    if (off >= 0).all() or (off <= 0).all():
        return [cell]
    over: _Cell = []
    under: _Cell = []
    for k, side in enumerate(cell):
        here, there = off[k], off[(k + 1) % len(cell)]
        if here * there < 0:
            at = side.start + (side.end - side.start) * (here / (here - there))
            (over if here > 0 else under).append(_Side(side.wall, side.start, at))
            (under if here > 0 else over).append(_Side(side.wall, at, side.end))
        else:
            (over if here + there > 0 else under).append(side)
    return [_closed(part, number) for part in (over, under)]


def _closed(part: _Cell, number: int) -> _Cell:
    """Return a part of a cell with the side on which it was cut off."""
    gaps = [float(np.abs(part[(k + 1) % len(part)].start - side.end).max()) for k, side in enumerate(part)]
    k = int(np.argmax(gaps))
    return [*part[: k + 1], _Side(number, part[k].end, part[(k + 1) % len(part)].start), *part[k + 1 :]]


def _holds(cell: _Cell, spot: Points) -> bool:
    ways = np.array([side.end - side.start for side in cell])
    to = spot - np.array([side.start for side in cell])
    return bool((ways[:, 0] * to[:, 1] - ways[:, 1] * to[:, 0] >= 0).all())


def _seen(slab: Slab, walls: Sequence[Wall]) -> list[NDArray[np.int64]]:
    """Return for each wall the cells along it in which points show it."""
    width = band(slab.noise)
    shown = []
    for wall in walls:
        shown.append(np.unique(np.floor(slab.across[wall.has(slab, width)] @ wall.along / CELL).astype(np.int64)))
    return shown


def _cut(cells: Sequence[_Cell], seen: Sequence[NDArray[np.int64]], walls: Sequence[Wall], home: int) -> set[int]:
    """Return the cells that are within: the least cut between the cell *home* and the frame."""
    graph = nx.DiGraph()
    sides: dict[int, list[tuple[float, int, float]]] = {}
    framed: dict[int, float] = {}
    for number, cell in enumerate(cells):
        for side in cell:
            length = float(np.linalg.norm(side.end - side.start))
            if side.wall == FRAME:
                framed[number] = framed.get(number, 0.0) + FRAME_COSTS * length
                continue
            ends = sorted(float(end @ walls[side.wall].along) for end in (side.start, side.end))
            cost = _unseen(ends, seen[side.wall]) + LENGTH_COSTS * length
            sides.setdefault(side.wall, []).append((sum(ends) / 2, number, cost))
    for number, cost in framed.items():
        graph.add_edge(number, "frame", capacity=cost)
    for along in sides.values():
        order = sorted(along)  # two by two: each stretch of a line has a cell on either hand
        for (_, a, cost), (_, b, _) in zip(order[::2], order[1::2], strict=True):
            graph.add_edge(a, b, capacity=cost)
            graph.add_edge(b, a, capacity=cost)
    _, (inner, _) = nx.minimum_cut(graph, home, "frame")
    return set(inner)


def _unseen(ends: Sequence[float], seen: NDArray[np.int64]) -> float:
    """Return how much of a stretch of wall no point shows, m."""
    first, last = int(np.floor(ends[0] / CELL)), int(np.floor(ends[1] / CELL))
    shown = int(np.searchsorted(seen, last, "right") - np.searchsorted(seen, first, "left"))
    return (ends[1] - ends[0]) * (1.0 - min(shown / (last - first + 1), 1.0))


def _way_round(cells: Sequence[_Cell], inside: set[int]) -> list[int] | None:
    """Return the walls of the boundary of the cells within, in order; of several loops the largest."""
    sides = [side for number in inside for side in cells[number]]
    middles = np.array([(side.start + side.end) / 2 for side in sides])
    twins = cKDTree(middles).query_pairs(1e-9)
    shared = {k for pair in twins for k in pair}
    border = [side for k, side in enumerate(sides) if k not in shared]
    if len(border) < 3:
        return None
    loops = _strung(border)
    return _named(max(loops, key=lambda loop: abs(_area(loop))))


def _strung(border: Sequence[_Side]) -> list[list[_Side]]:
    starts = cKDTree(np.array([side.start for side in border]))
    left, loops = set(range(len(border))), []
    while left:
        k = min(left)
        loop: list[_Side] = []
        while k in left:
            left.remove(k)
            loop.append(border[k])
            follow = [n for n in starts.query_ball_point(border[k].end, 1e-8) if n in left]
            k = follow[0] if follow else k
        loops.append(loop)
    return loops


def _area(loop: Sequence[_Side]) -> float:
    a, b = (np.array([getattr(side, end) for side in loop]) for end in ("start", "end"))
    return float((a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]).sum()) / 2


def _named(loop: Sequence[_Side]) -> list[int]:
    """Return the walls of a loop, each stretch of one wall once."""
    names = [side.wall for side in loop]
    first = next((k for k in range(len(names)) if names[k] != names[k - 1]), 0)
    names = names[first:] + names[:first]
    return [name for k, name in enumerate(names) if k == 0 or name != names[k - 1]]
