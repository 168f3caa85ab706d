"""Is the lofted surface sound: does no part of it meet another? And if one does, which, and where?

Neither the boolean kernel nor a check for open edges sees a surface that runs through itself; the volume is then
simply wrong. So this is asked before anything is meshed, of the ribs alone.

**Why the answer is right.** Say a station is *straight* if all its corners have one x.

1. Every rib rises, in x, from station to station, or has no length. So what lies between two straight stations
   stays between their planes and meets them only in the stations themselves, and each such piece can be looked at
   alone. A leaning station parts the space the same way if its corners lie in a plane (to `planes.FLAT`), all corners
   aft of it lie behind that plane and all forward of it before: a cell lies in the convex hull of its four corners.
2. Between two neighbouring straight stations the surface cut at any x is a loop whose corners go straight from
   one station's to the other's, and the surface is sound if that loop is simple at every share of the way. It is
   simple at the start, and can cease to be so only when a corner comes onto an edge: see `sweeps`, by formula.
3. The mesh of the ruled surface is itself such a surface: half-way along, each cell's middle; from there to either
   station, straight edges. So the same test, with three corners a rib and a row at each half, decides for the mesh.
4. Where a station leans, sections at equal shares are not plane and 2 proves nothing (projected sections can all be
   simple while the surface runs through itself). There the triangles of the mesh are held against each other.

Margins: nothing under a nanometre is told from touching, and touching is refused. What runs through within `FLAT` of a
leaning station, or on both sides of it within `cells.INWARD` of the way, is not seen. The first and the last station
may close to a point or an edge, or touch themselves; the section `INWARD` of the way in is then looked at instead,
and between straight stations the mesh only from the first cut on: up to there the ruled surface, `skin.FLATNESS` off.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby

import numpy as np

from tapeloft.model.moments import Points
from tapeloft.model.surface.cells import Cell, Ends, Place, moved_in, overlaps, patch, rows_of, warp
from tapeloft.model.surface.planes import groups_of, is_straight, is_thin
from tapeloft.model.surface.sweeps import SAME, are_empty, areas, crossing_edges, first_meetings


@dataclass(frozen=True)
class CrossedSection:
    """Edge k to k + 1 of a section crosses edge m to m + 1, about *place* (m)."""

    station: int
    edges: tuple[int, int]
    place: Place


@dataclass(frozen=True)
class TouchedSection:
    """A corner of a section lies on an edge, *edge* to *edge* + 1, that is not its own."""

    station: int
    point: int
    edge: int
    place: Place


@dataclass(frozen=True)
class NoArea:
    """A section encloses nothing, or, with a negative area (m²), runs clockwise seen from forward."""

    station: int
    area: float


@dataclass(frozen=True)
class FallingRibs:
    """Ribs *points* of a bay do not rise from its aft station to its forward one; *least* is the worst rise, m."""

    bay: int
    points: tuple[int, ...]
    least: float


@dataclass(frozen=True)
class Meeting:
    """On the way along a bay rib *point* first meets the surface of edge *edge*, at *share* of the way, at *place*."""

    bay: int
    share: float
    point: int
    edge: int
    place: Place


@dataclass(frozen=True)
class Overlap:
    """Two cells, each (bay, edge), meet about *place*, m. Edge −1 is the bulkhead that ends the bay."""

    cells: tuple[Cell, Cell]
    place: Place


Fault = CrossedSection | TouchedSection | NoArea | FallingRibs | Meeting | Overlap


def faults(bays: Sequence[Points]) -> tuple[Fault, ...]:
    """Return what makes the surface lofted over *bays* unsound; nothing if it is sound, and its mesh too.

    bays: for each two neighbouring stations, aft to forward, the two ends of its N ribs, (2, N, 3) float64, m,
    counter-clockwise seen from forward. N may differ from bay to bay, where ribs end between the corners of a
    station. Corners of a station are numbered as in the bay forward of it, those of the last as in the last bay.
    Faults of a station or of a rib hide what they cause in the bays beside them.

    >>> square = np.array([[0, 0, 0], [0, 1, 0], [0, 1, 1], [0, 0, 1.0]])
    >>> bay = np.stack([square, square + [1, 0, 0]])
    >>> faults([bay])
    ()
    >>> turned = np.stack([square, np.roll(square, 2, axis=0) + [1, 0, 0]])
    >>> faults([turned])[0].share
    0.5
    """
    bays = [np.asarray(bay, np.float64) for bay in bays]
    closing = (_closes(bays[0][0]), _closes(bays[-1][1]))
    ends = [(closing[0] and i == 0, closing[1] and i == len(bays) - 1) for i in range(len(bays))]
    moved = [moved_in(bay, which) for bay, which in zip(bays, ends, strict=True)]
    stations = [*(bay[0] for bay in moved), moved[-1][1]]
    found: list[Fault] = [*_of_sections(stations), *_of_ribs(bays)]
    bad = {bay for fault in found for bay in _beside(fault)}
    groups = [group for group in groups_of(bays) if bad.isdisjoint(group)]
    straight = [group for group in groups if len(group) == 1 and all(map(is_straight, bays[group[0]]))]
    found += _of_straight([group[0] for group in straight], bays, ends)
    found += (fault for group in groups if group not in straight for fault in _of_triangles(group, bays, ends))
    return tuple(found)


def _closes(loop: Points) -> bool:
    """Whether a section touches itself, or is too thin to tell."""
    return is_thin(loop) or any(True for _ in _of_sections([loop]))


def _of_sections(stations: Sequence[Points]) -> Iterator[CrossedSection | TouchedSection | NoArea]:
    first = 0
    for _, alike in groupby(stations, key=len):
        loops = np.stack(list(alike))
        yield from _of_loops(first, loops)
        first += len(loops)


def _of_loops(first: int, loops: Points) -> Iterator[CrossedSection | TouchedSection | NoArea]:
    """Look for what is wrong with stations of as many corners each, numbered from *first*, (h, n, 3)."""
    flat = loops[:, :, 1:]
    crossed = crossing_edges(flat)
    touches = first_meetings(flat, flat)
    yield from (_crossed(first + row, loops[row], k, m) for row, k, m in crossed.tolist())
    touched = np.isfinite(touches.share)
    touched[crossed[:, 0]] = False
    for row in np.flatnonzero(touched).tolist():
        k, m = int(touches.point[row]), int(touches.edge[row])
        yield TouchedSection(first + row, k, m, _place(loops[row, k]))
    yield from (NoArea(first + row, float(areas(flat)[row])) for row in np.flatnonzero(are_empty(flat)).tolist())


def _crossed(station: int, loop: Points, k: int, m: int) -> CrossedSection:
    """Say where edges k and m cross, as seen from forward."""
    a, b, c, d = (loop[i % len(loop)] for i in (k, k + 1, m, m + 1))
    sides = np.column_stack([(b - a)[1:], (c - d)[1:]])
    along = np.linalg.solve(sides, (c - a)[1:])[0]
    return CrossedSection(station, (k, m), _place(a + along * (b - a)))


def _of_ribs(bays: Sequence[Points]) -> Iterator[FallingRibs]:
    for number, (aft, forward) in enumerate(bays):
        rise = forward[:, 0] - aft[:, 0]
        falling = (rise <= SAME) & (np.abs(forward - aft) > SAME).any(axis=1)
        if falling.any():
            yield FallingRibs(number, tuple(np.flatnonzero(falling).tolist()), float(rise[falling].min()))


def _beside(fault: Fault) -> tuple[int, ...]:
    """Return the bays whose surface a fault of a section or a rib leaves undecided."""
    match fault:
        case CrossedSection(station) | TouchedSection(station) | NoArea(station):
            return station - 1, station
        case FallingRibs(bay):
            return (bay,)
        case _:
            return ()


def _of_straight(numbers: Sequence[int], bays: Sequence[Points], ends: Sequence[Ends]) -> Iterator[Meeting | Overlap]:
    """Look for what meets between two straight stations: in the ruled surface, and if nothing does, in its mesh."""
    for _, alike in groupby(numbers, key=lambda i: bays[i].shape[1]):
        some = list(alike)
        found = list(_on_the_way(some, np.stack([moved_in(bays[i], ends[i]) for i in some])))
        yield from found
        met = {fault.bay if isinstance(fault, Meeting) else fault.cells[0][0] for fault in found}
        warped = [i for i in some if i not in met and warp(bays[i]) > SAME]
        if warped:
            rows = [rows_of(bays[i]) for i in warped]
            # walls that come together at an end are nearer each other there than a mesh is to the surface it stands for
            yield from _of_rows(
                warped, [r[2 * ends[i][0] : len(r) - 2 * ends[i][1]] for i, r in zip(warped, rows, strict=True)]
            )


def _on_the_way(numbers: Sequence[int], bays: Points) -> Iterator[Meeting | Overlap]:
    """Look for what meets in the ruled surface of bays of as many ribs each, (h, 2, N, 3)."""
    aft, forward = np.moveaxis(bays[..., 1:], 1, 0)
    meetings = first_meetings(aft, forward)
    for row in np.flatnonzero(np.isfinite(meetings.share)).tolist():
        share, k, m = float(meetings.share[row]), int(meetings.point[row]), int(meetings.edge[row])
        place = (1 - share) * bays[row, 0, k] + share * bays[row, 1, k]
        yield Meeting(numbers[row], share, k, m, _place(place))
    middle = bays.mean(axis=1)
    for row, k, m in crossing_edges(middle[..., 1:]).tolist():
        if not np.isfinite(meetings.share[row]):
            yield Overlap(((numbers[row], k), (numbers[row], m)), _crossed(0, middle[row], k, m).place)


def _of_rows(numbers: Sequence[int], rows: Sequence[Points]) -> Iterator[Overlap]:
    """Look for what meets in the mesh of bays between two straight stations.

    Every other row is a section of the ruled surface, known to be sound. What is left: the rows through the middles of
    cells, the way from row to row, and whether it sets out well where several corners part from one.
    """
    aft, forward = (np.concatenate(some) for some in ([r[:-1] for r in rows], [r[1:] for r in rows]))
    bay = np.repeat(numbers, [len(r[1:]) for r in rows])
    middle, halves = (aft + forward) / 2, forward[::2]
    found: dict[tuple[Cell, Cell], Place] = {}
    for first, last, step in ((halves, halves, 2), (aft, forward, 1)):
        meetings = first_meetings(first[..., 1:], last[..., 1:])
        for row in np.flatnonzero(np.isfinite(meetings.share)).tolist():
            k, m = int(meetings.point[row]), int(meetings.edge[row])
            number = int(bay[row * step])
            found.setdefault(((number, k // 3), (number, m // 3)), _place(last[row, k]))
    for row, k, m in crossing_edges(middle[..., 1:]).tolist():
        found.setdefault(((int(bay[row]), k // 3), (int(bay[row]), m // 3)), _place(middle[row, k]))
    yield from (Overlap(cells, place) for cells, place in found.items())


def _of_triangles(group: range, bays: Sequence[Points], ends: Sequence[Ends]) -> Iterator[Overlap]:
    """Look for what meets in the mesh of bays that lean.

    Neighbouring bays need not share corners. So they are held against each other twice, with a sliver left out first
    on the one side of the station between them, then on the other.
    """
    leaning = [not is_straight(loop) and not is_thin(loop) for loop in (bays[0][0], bays[-1][1])]
    found: dict[tuple[Cell, Cell], Place] = {}
    for left_out in ((False, False),) if len(group) == 1 else ((True, False), (False, True)):
        parts = []
        for i in group:
            rows = moved_in(rows_of(bays[i]), (ends[i][0] or left_out[0], ends[i][1] or left_out[1]))
            parts.append(patch(i, rows, (leaning[0] and i == 0, leaning[1] and i == len(bays) - 1)))
        found |= overlaps(parts)
    yield from (Overlap(cells, place) for cells, place in found.items())


def _place(point: Points) -> Place:
    x, y, z = point.tolist()
    return x, y, z
