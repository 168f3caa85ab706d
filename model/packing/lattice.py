"""Where things are tried: a lattice for each turned thing, with marks where things stacked from a wall would come."""

import math
from bisect import bisect
from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from tapeloft.model.moments import Points, triangle_areas
from tapeloft.model.packing.forms import APART, FINEST, Bodies, Pairs
from tapeloft.model.packing.frame import Lattice
from tapeloft.model.packing.rows import closer, in_line
from tapeloft.model.packing.touching import Room, admitted
from tapeloft.model.proof.walls import Numbers
from tapeloft.model.solid import Solid

CELLS = 100_000  # about how many cells all lattices have together
COARSEST, FINE = 1 / 3, 1e-3  # of a thing's size, and m: the widest and the narrowest pitch
STACKED, ALL = 40, 500  # sums of sizes that are marked from a wall, and in a box, where no other marks are needed
UPRIGHT = 1e-9  # of its box: a space short of it by no more is that box
FLATS, SHARE = 6, 0.02  # walls square to an axis that things are stacked from, and of what share of the space's side
ON = 1e-4  # of the grid: a mark this near to it is on it, others are drawn away from the wall
SAME = 1e-6  # m: marks nearer than this are one
CLOSE = 0.4  # of the pitch: a mark nearer than this to one closer to a wall is left out

Marks = tuple[Numbers, NDArray[np.bool_]]  # along one axis, and which of them come where a row of things would


def lattice(space: Solid, room: Room, bodies: Bodies, pairs: Pairs, clearance: float, cells: int = CELLS) -> Lattice:
    """Return the lattices for all turned things, and each site on them that the walls of *space* leave.

    A site is a place at which the thing is wholly inside and clear of the walls, exactly. Marks lie where a row of
    things would come that starts at a wall square to the axis, and between them no farther apart than a share of
    the thing's size. Boxes in a box need no others: any arrangement square to it can be pushed together. clearance:
    m, that *bodies* and *pairs* were made with.
    """
    spans = np.array([_span(bodies, turn) for turn in range(len(bodies.kind))])
    sizes = spans[:, 1] - spans[:, 0] - clearance  # that two in line share
    reach = _inward(space.bounds[None] - spans)
    left = reach[:, 1] - reach[:, 0]
    share = _pitch_share(left, sizes, cells)
    flats = [_flats(space, axis) for axis in range(3)]
    lengths = np.ptp(space.bounds, axis=0)
    only_sums = _are_boxes(bodies) and space.volume >= float(lengths.prod()) * (1 - UPRIGHT)
    most = ALL if only_sums else STACKED
    sums = [_sums(_upright_sizes(sizes, bodies, axis), float(lengths[axis]), most) for axis in range(3)]
    marks: list[Marks] = []
    for turn, (low, high) in enumerate(spans):
        own = np.where(bodies.exact[turn], sizes[turn], in_line(bodies, pairs, turn))
        close = closer(bodies, pairs, turn, own)
        for axis in range(3):
            pitch = math.inf if only_sums else max(share * float(sizes[turn, axis]), FINE)
            stacked = sums[axis] if bodies.exact[turn, axis] else _sums([own[axis]], float(left[turn, axis]), STACKED)
            found = _marks(flats[axis], stacked, (low[axis], high[axis]), reach[turn, :, axis], pitch)
            marks.append(_closer(found, close[axis], reach[turn, :, axis]))
    return _sited(room, bodies, marks, not only_sums)


def _sited(room: Room, bodies: Bodies, marks: Sequence[Marks], loose: bool) -> Lattice:
    turns, cells, places, in_rows, first_cell = [], [], [], [], [0]
    for turn in range(len(bodies.kind)):
        along, in_row = zip(*marks[3 * turn : 3 * turn + 3], strict=True)
        found = admitted(bodies, turn, room, *along)
        shape = [len(one) for one in along]
        turns.append(np.full(len(found), turn))
        cells.append(first_cell[-1] + (found[:, 0] * shape[1] + found[:, 1]) * shape[2] + found[:, 2])
        places.append(np.column_stack([one[found[:, axis]] for axis, one in enumerate(along)]))
        in_rows.append(np.logical_and.reduce([one[found[:, axis]] for axis, one in enumerate(in_row)]))
        first_cell.append(first_cell[-1] + (int(np.prod(shape)) if len(found) else 0))
    return Lattice(
        marks=np.concatenate([one for one, _ in marks]),
        first_mark=np.concatenate([[0], np.cumsum([len(one) for one, _ in marks])]).astype(np.int64),
        first_cell=np.array(first_cell, np.int64),
        turns=np.concatenate(turns).astype(np.int64),
        cells=np.concatenate(cells).astype(np.int64),
        places=np.vstack(places),
        in_row=np.concatenate(in_rows),
        loose=loose,
    )


def _span(bodies: Bodies, turn: int) -> Points:
    """Return the lowest and the highest corner of an upright box around a thing that walls beyond it are clear of."""
    spans = bodies.spans[bodies.first[turn] : bodies.first[turn + 1]]
    off = np.where(bodies.exact[turn], 0.0, APART)
    return np.stack([spans[:, :3].min(axis=0) - off, spans[:, 3:].max(axis=0) + off])


def _inward(reach: Points) -> Points:
    """Return ends of reaches, (K, 2, 3), drawn in to the grid; where that leaves nothing, the middle of each twice."""
    low, high = np.ceil(reach[:, 0] * FINEST - ON) / FINEST, np.floor(reach[:, 1] * FINEST + ON) / FINEST
    snug = (low > high) & (reach[:, 0] < reach[:, 1] + SAME)
    return np.where(snug[:, None], reach.mean(axis=1, keepdims=True), np.stack([low, high], axis=1))


def _are_boxes(bodies: Bodies) -> bool:
    """Whether every turned thing is an upright box with its sides on the grid."""
    single = np.diff(bodies.first).max() == 1 and np.diff(bodies.first_side).max() == 6
    square = (np.abs(bodies.sides[:, :3]).max(axis=1) == 1.0).all()
    return bool(single and square and bodies.exact.all())


def _pitch_share(left: Points, sizes: Points, cells: int) -> float:
    """Return the share of a thing's size that its pitch is, so that all lattices have about so many cells."""
    fitting = (left > -SAME).all(axis=1)
    left, sizes = np.maximum(left[fitting], 0.0), sizes[fitting]
    low, high = 1e-3, COARSEST
    for _ in range(30):
        share = (low * high) ** 0.5
        count = (left / np.maximum(share * sizes, FINE) + 1).prod(axis=1).sum()
        low, high = (share, high) if count > cells else (low, share)
    return high


def _upright_sizes(sizes: Points, bodies: Bodies, axis: int) -> list[float]:
    """Return the sizes along an axis of the turned things that end on the grid that way, each once."""
    found: list[float] = np.unique(np.round(sizes[bodies.exact[:, axis], axis], 9)).tolist()
    return found


def _sums(sizes: Sequence[float], length: float, most: int) -> Numbers:
    """Return the least sums of *sizes* up to *length*, from 0, so many at most."""
    sums = [0.0]
    for size in sizes:
        more = [a + k * size for a in sums for k in range(min(int((length + SAME - a) / size), most) + 1)]
        sums = sorted(set(np.round(more, 9).tolist()))[:most]
    return np.array(sums)


def _flats(space: Solid, axis: int) -> Numbers:
    """Return where the largest walls square to an axis are, the ends of the space first."""
    at = space.vertices[space.triangles][:, :, axis]
    areas = triangle_areas(space.vertices, space.triangles)
    flat = np.ptp(at, axis=1) < SAME
    places, which = np.unique(np.round(at[flat, 0], 6), return_inverse=True)
    totals = np.bincount(which, areas[flat], len(places))
    low, high = space.bounds[:, axis]
    sides = np.delete(np.ptp(space.bounds, axis=0), axis).prod()
    order = np.argsort(-np.round(totals, 9), kind="stable")
    large = [place for place in places[order][:FLATS].tolist() if totals[places == place].sum() >= SHARE * sides]
    return np.unique(np.round([low, high, *large], 9))


def _closer(marks: Marks, steps: Sequence[float], reach: Points) -> Marks:
    """Return marks with those of rows that go on by one of *steps* from both ends of *reach*."""
    far, more = float(reach[1] - reach[0]), [marks[0]]
    for step in steps if len(marks[0]) else ():
        rows = np.arange(1, min(int((far + SAME) / step), STACKED) + 1) * step
        more += [reach[0] + rows, reach[1] - rows]
    every = _spaced(np.concatenate(more), SAME)
    return every, np.isin(every, marks[0][marks[1]])


def _marks(flats: Numbers, sums: Numbers, span: tuple[float, float], reach: Points, pitch: float) -> Marks:
    """Return the marks, rising: places of the thing's origin between the ends of *reach*; and which are in a row."""
    if reach[1] < reach[0] - SAME:
        return np.empty(0), np.empty(0, bool)
    up, down = np.add.outer(sums, flats) - span[0], -np.subtract.outer(sums, flats) - span[1]
    stacked = np.stack([np.ceil(up * FINEST - ON), np.floor(down * FINEST + ON)], axis=1) / FINEST
    stacked = np.append(reach, stacked)  # those nearest to a wall come first
    stacked = stacked[(stacked > reach[0] - SAME) & (stacked < reach[1] + SAME)]
    if math.isinf(pitch):
        kept = _spaced(stacked, SAME)
        return kept, np.ones(len(kept), bool)
    kept = _spaced(stacked, max(CLOSE * pitch, SAME))
    between = [np.linspace(a, b, int(np.ceil((b - a) / pitch - 1e-6)) + 1)[:-1] for a, b in pairwise(kept)]
    marks = np.round(np.concatenate([*between, kept[-1:]]) * FINEST) / FINEST
    return marks, np.isin(marks, kept)


def _spaced(marks: Numbers, least: float) -> Numbers:
    """Return the marks, rising, without those that come after one nearer than *least*."""
    kept: list[float] = []
    for mark in marks.tolist():
        at = bisect(kept, mark)
        if (at == 0 or mark - kept[at - 1] >= least) and (at == len(kept) or kept[at] - mark >= least):
            kept.insert(at, mark)
    return np.array(kept)
