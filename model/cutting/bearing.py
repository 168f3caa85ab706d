"""Where the bearers of a section lie, so that every batten is borne."""

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely
from shapely import MultiPolygon, Polygon

from tapeloft.model.cutting.breadth import least_breadth
from tapeloft.model.cutting.inset import without_necks
from tapeloft.model.cutting.outline import polygons

STOUT = 0.6  # of its breadth: a batten along a curved side is not planed narrower
SHORTEST = 3.0  # of its breadth: a batten that is shorter is left off
SEATED = 0.5  # of a batten's breadth that has to lie on a bearer
ENOUGH = 1.001  # so that rounding does not unseat what lies on just enough
PROBES, HALVINGS = 9, 16  # along a batten, for where it may be borne; then between two of them
NEAR_ENDS = 0.15  # of a span, at each end: there a batten may be half as broad as between
YIELDING = 0.06  # of what it lacks there: so much less broad it is taken, for going down farther
A_TENTH = 0.1  # of what stands out: as broad as it is there, it gives way no less than one that runs to a point
INSET = 0.06  # m: how far from a batten's end the middle of its last bearer lies at most, common practice, no source
STEPS_IN: list[float] = np.linspace(0.0, INSET, 7).tolist()

Stretch = tuple[float, float]
"""From, to along the battens, m."""
Spans = Callable[[float], tuple[float, float]]
"""Between bearers, and beyond the last, at most, m, by how broad a batten is, m."""


@dataclass(frozen=True)
class Borne:
    """Battens that are borne and their bearers, outlines m; between bearers at most, m; how many are left off."""

    battens: tuple[Polygon, ...]
    bearers: tuple[Polygon, ...]
    spacing: float
    dropped: int


def borne(
    part: Polygon, lower: MultiPolygon, starts: Sequence[float], across: int, breadth: float, bearer: float,
    spans: Spans,
) -> Borne:  # fmt: skip
    """Return the battens of a section, and bearers near enough to both ends of each and to one another.

    lower: where bearers may lie; starts: where strips of battens begin, m across. A batten that is planed narrower
    along a side spans less there. Battens that cannot be borne are left off and counted.
    """
    along = 1 - across
    strips = [band(part, across, start, breadth) for start in starts]
    every = [one for strip in strips for one in without_necks(_cut(part, strip), STOUT * breadth).geoms]
    room = polygons(shapely.intersection(lower, part))
    shortest = max(SHORTEST * breadth, 2 * bearer)
    reached = [one for batten in every for one in _reached(batten, room, along, breadth, bearer / 2, spans)]
    battens = [one for one, _ in reached if _extent(one, along)[2] >= shortest]
    ends = [its for one, its in reached if _extent(one, along)[2] >= shortest]
    middles = _middles(battens, ends, along, spans, bearer)
    laid = {at: _cut(room, band(room, along, at - bearer / 2, bearer)) for at in middles}
    seated = [_seats(one, laid, breadth * bearer) for one in battens]
    kept = [k for k, one in enumerate(battens) if _is_borne(one, seated[k], along, spans)]
    bearers = [
        bar
        for at, strip in laid.items()
        for bar in _trimmed(strip, [battens[k] for k in kept if at in seated[k]], across).geoms
    ]
    steps = [b - a for k in kept for a, b in pairwise(seated[k])]
    return Borne(tuple(battens[k] for k in kept), tuple(bearers), max(steps, default=0.0), len(every) - len(kept))


def crossing(
    part: Polygon, bars: Sequence[Polygon], starts: Sequence[float], across: int, breadth: float,
    spans: Spans,
) -> tuple[Polygon, ...]:  # fmt: skip
    """Return bars across *bars*, each borne by two of them or more, and cut back to what it may stand out, m.

    starts: where strips of them begin, m across. A bar that crosses fewer than two, or spans too far between two, is
    none.
    """
    along, whole = 1 - across, breadth * breadth
    strips = [band(part, across, start, breadth) for start in starts]
    found = []
    for one in (one for strip in strips for one in without_necks(_cut(part, strip), STOUT * breadth).geoms):
        seats = sorted(
            (bar.bounds[along] + bar.bounds[along + 2]) / 2
            for bar in bars
            if bar.intersection(one).area > SEATED * whole
        )
        if len(seats) < 2:
            continue
        reach = _within_reach(one, (seats[0], seats[-1]), along, spans)
        found += [bar for bar in reach.geoms if _is_borne(bar, seats, along, spans)]
    return tuple(found)


def _reached(
    batten: Polygon, room: MultiPolygon, along: int, breadth: float, half: float, spans: Spans
) -> Iterator[tuple[Polygon, tuple[Stretch, Stretch]]]:
    """Yield a batten cut back to where bearers reach, and the stretches where each end asks for one's middle.

    half: m, of a bearer's breadth.
    """
    places = _seatable(polygons(shapely.intersection(room, batten)), along, breadth, half)
    if places is None:
        return
    first, last = places
    for one in _within_reach(batten, places, along, spans).geoms if first < last else ():
        low, high, _ = _extent(one, along)
        after, forward = max(low + half, first), min(high - half, last)
        near = _farthest_in(one, low, 1, along, half, spans), _farthest_in(one, high, -1, along, half, spans)
        yield one, ((after, max(low + near[0], after)), (min(high - near[1], forward), forward))


def _within_reach(batten: Polygon, places: Stretch, along: int, spans: Spans) -> MultiPolygon:
    """Return a batten cut back to what it may stand out beyond the first and the last place of a bearer."""
    first, last = places
    after, forward = _farthest_out(batten, first, 1, along, spans), _farthest_out(batten, last, -1, along, spans)
    return _cut(batten, band(batten, along, first - after, last - first + after + forward))


def _farthest_out(batten: Polygon, place: float, inward: int, along: int, spans: Spans) -> float:
    """Return how far beyond a place a batten may stand out, m, with its bearer there or a little farther in.

    Farther in a slanting end is broader, and stands out farther.
    """
    low, high, _ = _extent(batten, along)
    tip = low if inward > 0 else high
    return max(_stands_out(batten, place + inward * step, tip, along, spans) - step for step in STEPS_IN)


def _farthest_in(batten: Polygon, tip: float, inward: int, along: int, half: float, spans: Spans) -> float:
    """Return how far in from the tip of a batten its last bearer may lie, m."""
    does = (step for step in STEPS_IN[::-1] if step <= _stands_out(batten, tip + inward * step, tip, along, spans))
    return max(half, next(does, 0.0))


def _stands_out(batten: Polygon, seat: float, tip: float, along: int, spans: Spans) -> float:
    """Return how far a batten may stand out over a bearer, toward its tip, m, as broad as it is there."""
    a_tenth_out = seat + (tip - seat) * A_TENTH
    return spans(least_breadth(batten, along, *sorted((seat, a_tenth_out))))[1]


def _seatable(seat: MultiPolygon, along: int, breadth: float, half: float) -> Stretch | None:
    """Return the first and the last middle of a bearer that enough of a batten lies on; None where there is none.

    At a slanting end a batten runs out to a point: what lies on a bearer there is held as an area, not as a length.
    """
    if seat.is_empty:
        return None
    low, high = seat.bounds[along] + half, seat.bounds[along + 2] - half
    enough = SEATED * breadth * 2 * half * ENOUGH

    def seats(at: float) -> bool:
        return float(_cut(seat, band(seat, along, at - half, 2 * half)).area) > enough

    inner = [at for at in np.linspace(low, high, PROBES).tolist() if low <= high and seats(at)]
    if not inner:
        return None
    return _outermost(seats, inner[0], low), _outermost(seats, inner[-1], high)


def _outermost(does: Callable[[float], bool], inner: float, outer: float) -> float:
    """Return the place nearest to *outer* that does, from *inner*, which does, by halving."""
    if does(outer):
        return outer
    for _ in range(HALVINGS):
        middle = (inner + outer) / 2
        inner, outer = (middle, outer) if does(middle) else (inner, middle)
    return inner


def _middles(
    battens: Sequence[Polygon], ends: Sequence[tuple[Stretch, Stretch]], along: int, spans: Spans, bearer: float
) -> list[float]:
    """Return the middles of bearers along the battens: as few as lie in every stretch, and more between them.

    After ends are gone through from aft and forward ends from forward, so that a mirrored space has mirrored bearers.
    No two lie in one another: where stretches ask for that, the bearer lies where it serves more of them, and the
    battens of the others are left to be held against what there is.
    """
    after = _stabbed([end for end, _ in ends], bearer)
    forward = [-at for at in _stabbed([(-last, -first) for _, (first, last) in ends], bearer)]
    fixed: list[float] = []
    for at in sorted([*after, *forward]):
        if fixed and at - fixed[-1] < bearer:
            fixed[-1] = _rather(fixed[-1], at, [stretch for pair in ends for stretch in pair])
        else:
            fixed.append(at)
    middles = fixed[:1]
    for start, end in pairwise(fixed):
        least = [
            _bears_as(one, along, start, end)
            for one, ((first, _), (_, last)) in zip(battens, ends, strict=True)
            if first <= start + 1e-9 and end - 1e-9 <= last
        ]
        parts = max(1, math.ceil((end - start) / spans(min(least))[0] - 1e-9)) if least else 1
        middles += [start + (end - start) * k / parts for k in range(1, parts + 1)]
    return middles


def _rather(one: float, other: float, stretches: Sequence[Stretch]) -> float:
    """Return that of two places which lies in more of the stretches, the middle of both where they are even."""
    served = [sum(first - 1e-9 <= at <= last + 1e-9 for first, last in stretches) for at in (one, other)]
    if served[0] == served[1]:
        return (one + other) / 2
    return one if served[0] > served[1] else other


def _stabbed(stretches: Sequence[Stretch], apart: float) -> list[float]:
    """Return places of which one lies in every stretch, as few as can be, *apart* from one another."""
    places: list[float] = []
    for first, last in sorted(stretches, key=lambda one: one[1]):
        if not places or (places[-1] < first - 1e-9 and last - places[-1] >= apart):
            places.append(last)
    return places


def _trimmed(strip: MultiPolygon, battens: Sequence[Polygon], across: int) -> MultiPolygon:
    """Return a bearer as far as it goes under the battens that it bears."""
    if not battens:
        return MultiPolygon()
    low = min(_extent(one, across)[0] for one in battens)
    high = max(_extent(one, across)[1] for one in battens)
    under = _cut(strip, band(strip, across, low, high - low))
    return MultiPolygon([bar for bar in under.geoms if any(bar.intersects(one) for one in battens)])


def _seats(batten: Polygon, laid: dict[float, MultiPolygon], whole: float) -> list[float]:
    """Return where bearers lie under enough of a batten's breadth; *whole*: m², all that they could cross."""
    return [at for at, strip in laid.items() if strip.intersection(batten).area > SEATED * whole]


def _is_borne(batten: Polygon, seats: Sequence[float], along: int, spans: Spans) -> bool:
    low, high, _ = _extent(batten, along)
    if len(seats) < 2:
        return False
    if any(b - a > spans(_bears_as(batten, along, a, b))[0] + 1e-9 for a, b in pairwise(seats)):
        return False
    ends = (seats[0], low), (seats[-1], high)
    return all(abs(seat - tip) <= _stands_out(batten, seat, tip, along, spans) + 1e-9 for seat, tip in ends)


def _bears_as(batten: Polygon, along: int, start: float, end: float) -> float:
    """Return how broad a straight bar is, m, that bears no more between two bearers than a batten does.

    A load at x of a span L bends it there by 4·x·(L − x)/L² of what it does in the middle: half, at an end. So it may
    be half as broad there; in the middle it then goes down by 2·(4/3)·0.15³ / (1/3) = 2.7 % more.
    """
    edge = (end - start) * NEAR_ENDS
    least, middle = (least_breadth(batten, along, start + off, end - off) for off in (0.0, edge))
    return min(2 * least, middle - YIELDING * (middle - least))


def _extent(area: Polygon, axis: int) -> tuple[float, float, float]:
    low, high = area.bounds[axis], area.bounds[axis + 2]
    return low, high, high - low


def _cut(area: Polygon | MultiPolygon, strip: Polygon) -> MultiPolygon:
    return polygons(shapely.intersection(area, strip))


def band(area: Polygon | MultiPolygon, axis: int, start: float, breadth: float) -> Polygon:
    """Return a strip of a *breadth*, m, from *start* on an axis, longer across it than the area."""
    bounds = area.bounds if not area.is_empty else (0.0, 0.0, 0.0, 0.0)
    low, high = bounds[1 - axis] - 1, bounds[3 - axis] + 1
    if axis == 0:
        return shapely.box(start, low, start + breadth, high)
    return shapely.box(low, start, high, start + breadth)
