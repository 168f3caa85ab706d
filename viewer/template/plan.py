"""The plan of a part, dimensioned: how it lies, over all, and where its bearers run; not to scale on paper."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import shapely
from shapely import Polygon

from tapeloft.model.cutting.plane import Plane
from tapeloft.viewer.form.ink import FINE, Line, Mark, Spot, Words, centred

OUTLINE, UNDER = 0.6, 0.35  # pt
SIZE = 7.0  # pt of figures
ROW = 6.0  # mm between rows of dimensions
ROOM = 22.0  # mm left round the plan for its dimensions
NEAREST = 8.0  # mm on paper: two figures nearer to one another would run together
TICK = 1.2


Place = Callable[[float, float], Spot]
"""Where a point of the plan, m, comes to lie on paper, mm."""


@dataclass(frozen=True)
class Plan:
    """A part seen on its face, m, in the axes of its plane: named outlines, and what lies under or on them.

    stretch: the axis across which its bearers lie; ways: what right and up are called on board.
    """

    outlines: tuple[tuple[str, Polygon], ...]
    strips: tuple[tuple[str, Polygon], ...]
    stretch: int
    ways: tuple[str, str]


def plan_of(
    outlines: Sequence[tuple[str, Polygon]], strips: Sequence[tuple[str, Polygon]], plane: Plane, stretch: int
) -> Plan:
    """Return the plan of a part from its outlines and what bears it, m, in the axes of its plane."""
    return Plan(tuple(outlines), tuple(strips), stretch, plane.ways)


def drawn_plan(plan: Plan, box: tuple[float, float, float, float]) -> Iterator[Mark]:
    """Yield the marks of a plan in a box on paper: left, top, breadth, height, mm."""
    left, top, wide, high = box
    x0, y0, x1, y1 = shapely.union_all([one for _, one in (*plan.outlines, *plan.strips)]).bounds
    scale = min((wide - 2 * ROOM) / (x1 - x0), (high - 2 * ROOM) / (y1 - y0))
    start: Spot = left + (wide - (x1 - x0) * scale) / 2, top + high - (high - (y1 - y0) * scale) / 2

    def at(x: float, y: float) -> Spot:
        return start[0] + (x - x0) * scale, start[1] - (y - y0) * scale

    for name, one in (*plan.strips, *plan.outlines):
        for ring in (one.exterior, *one.interiors):
            under = name == "bearer"
            yield Line(
                tuple(at(*spot) for spot in ring.coords[:-1]), UNDER if under else OUTLINE, closed=True, dashed=under
            )
    yield from _across(at, (x0, x1), y0, (x1 - x0) * 1000, ROW * 2)
    yield from _upward(at, (y0, y1), x0, (y1 - y0) * 1000, ROW * 2)
    yield from _bearers(plan, at, scale, (x0, y0, x1, y1))
    corner = left + wide - 30, top + high - 8
    yield from _arrows(corner, plan.ways)


def _across(at: Place, span: Spot, y: float, length: float, off: float) -> Iterator[Mark]:
    """Yield a dimension that runs to the right, under the plan."""
    a, b = (at(x, y) for x in span)
    line = a[1] + off
    yield Line(((a[0], line), (b[0], line)), FINE)
    for x in (a[0], b[0]):
        yield Line(((x, a[1] + 1), (x, line + TICK)), FINE)
        yield Line(((x - TICK, line + TICK), (x + TICK, line - TICK)), FINE)
    yield centred(f"{length:.0f}", ((a[0] + b[0]) / 2, line - 2.5), SIZE)


def _upward(at: Place, span: Spot, x: float, length: float, off: float) -> Iterator[Mark]:
    """Yield a dimension that runs upward, to the left of the plan."""
    a, b = (at(x, y) for y in span)
    line = a[0] - off
    yield Line(((line, a[1]), (line, b[1])), FINE)
    for y in (a[1], b[1]):
        yield Line(((a[0] - 1, y), (line - TICK, y)), FINE)
        yield Line(((line - TICK, y + TICK), (line + TICK, y - TICK)), FINE)
    yield centred(f"{length:.0f}", (line - 4, (a[1] + b[1]) / 2 + 1), SIZE)


def _bearers(plan: Plan, at: Place, scale: float, bounds: tuple[float, ...]) -> Iterator[Mark]:
    """Yield where the middles of bearers lie, counted from the low end of the plan."""
    axis, low = plan.stretch, bounds[plan.stretch]
    middles = sorted({
        round((one.bounds[axis] + one.bounds[axis + 2]) / 2 - low, 4) for name, one in plan.strips if name == "bearer"
    })  # fmt: skip
    last = -NEAREST
    for middle in middles:
        spot = at(low + middle, bounds[3]) if axis == 0 else at(bounds[2], low + middle)
        way = (0.0, -3.0) if axis == 0 else (3.0, 0.0)
        yield Line((spot, (spot[0] + way[0], spot[1] + way[1])), FINE)
        if middle * scale - last >= NEAREST:
            last = middle * scale
            yield centred(f"{middle * 1000:.0f}", (spot[0] + 3 * way[0], spot[1] + 2 * way[1]), SIZE)


def _arrows(foot: Spot, ways: tuple[str, str]) -> Iterator[Mark]:
    for tip, name in (((foot[0] + 10, foot[1]), ways[0]), ((foot[0], foot[1] - 10), ways[1])):
        yield Line((foot, tip), FINE)
        yield Words(name, (tip[0] + 1, tip[1] + (1 if name == ways[0] else -1)), SIZE)
