"""The plan of a part, dimensioned: how it lies, over all, and where its bearers run; not to scale on paper."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import shapely
from shapely import LineString, Point, Polygon

from tapeloft.model.cutting.plane import Plane
from tapeloft.model.units import figure
from tapeloft.viewer.form.ink import FINE, POINT, Line, Mark, Patch, Spot, Words, arrow, centred, width

OUTLINE, UNDER = 0.6, 0.35  # pt
SIZE = 7.0  # pt of figures
ROW = 6.0  # mm between rows of dimensions
ROOM = 22.0  # mm left round the plan for its dimensions
FIGURE, SMALLEST, NAME = 6.5, 4.5, 10.0  # pt, of figures on bearers, and of the letters of sections
TICK = 1.2
BENEATH = ("bearer", "ledge")  # strips that lie under the part, and are dashed


Place = Callable[[float, float], Spot]
"""Where a point of the plan, m, comes to lie on paper, mm."""


@dataclass(frozen=True)
class Plan:
    """A part seen on its face, m, in the axes of its plane: named outlines, and what lies under or on them.

    stretch: the axis across which its bearers lie; ways: what right and up are called on board; unit: what its
    figures are in.
    """

    outlines: tuple[tuple[str, Polygon], ...]
    strips: tuple[tuple[str, Polygon], ...]
    stretch: int
    ways: tuple[str, str]
    unit: str


def plan_of(
    outlines: Sequence[tuple[str, Polygon]],
    strips: Sequence[tuple[str, Polygon]],
    plane: Plane,
    stretch: int,
    unit: str,
) -> Plan:
    """Return the plan of a part from its outlines and what bears it, m, in the axes of its plane."""
    return Plan(tuple(outlines), tuple(strips), stretch, plane.ways, unit)


def drawn_plan(plan: Plan, box: tuple[float, float, float, float]) -> Iterator[Mark]:
    """Yield the marks of a plan in a box on paper: left, top, breadth, height, mm."""
    left, top, wide, high = box
    x0, y0, x1, y1 = shapely.union_all([one for _, one in (*plan.outlines, *plan.strips)]).bounds
    scale = min((wide - 2 * ROOM) / (x1 - x0), (high - 2 * ROOM) / (y1 - y0))
    start: Spot = left + (wide - (x1 - x0) * scale) / 2, top + high - (high - (y1 - y0) * scale) / 2

    def at(x: float, y: float) -> Spot:
        return start[0] + (x - x0) * scale, start[1] - (y - y0) * scale

    def drawn(one: Polygon, weight: float, dashed: bool = False) -> Iterator[Mark]:
        for ring in (one.exterior, *one.interiors):
            yield Line(tuple(at(*spot) for spot in ring.coords[:-1]), weight, closed=True, dashed=dashed)

    for _, one in (strip for strip in plan.strips if strip[0] in BENEATH):
        yield from drawn(one, UNDER, dashed=True)
    yield from _bearers(plan, at, scale, (x0, y0))
    for _, one in (*(strip for strip in plan.strips if strip[0] not in BENEATH), *plan.outlines):
        yield from drawn(one, OUTLINE)
    yield from _across(at, (x0, x1), y0, figure(x1 - x0, plan.unit), ROW * 2)
    yield from _upward(at, (y0, y1), x0, figure(y1 - y0, plan.unit), ROW * 2)
    yield from _names(plan, at)
    yield from _arrows((left + wide - 30, top + 12), plan.ways)


def origin(plan: Plan) -> str:
    """Return in words where the low ends of a level plan lie on board."""
    x, y = shapely.union_all([one for _, one in (*plan.outlines, *plan.strips)]).bounds[:2]
    along = f"the aft end lies {figure(abs(x), plan.unit)} {'forward' if x >= 0 else 'aft'} of the datum"
    return f"{along}, the starboard end {figure(abs(y), plan.unit)} to {'port' if y >= 0 else 'starboard'} of it"


def _across(at: Place, span: Spot, y: float, length: str, off: float) -> Iterator[Mark]:
    """Yield a dimension that runs to the right, under the plan."""
    a, b = (at(x, y) for x in span)
    line = a[1] + off
    yield Line(((a[0], line), (b[0], line)), FINE)
    for x in (a[0], b[0]):
        yield Line(((x, a[1] + 1), (x, line + TICK)), FINE)
        yield Line(((x - TICK, line + TICK), (x + TICK, line - TICK)), FINE)
    yield centred(length, ((a[0] + b[0]) / 2, line - 2.5), SIZE)


def _upward(at: Place, span: Spot, x: float, length: str, off: float) -> Iterator[Mark]:
    """Yield a dimension that runs upward, to the left of the plan."""
    a, b = (at(x, y) for y in span)
    line = a[0] - off
    yield Line(((line, a[1]), (line, b[1])), FINE)
    for y in (a[1], b[1]):
        yield Line(((a[0] - 1, y), (line - TICK, y)), FINE)
        yield Line(((line - TICK, y + TICK), (line + TICK, y - TICK)), FINE)
    yield _turned(length, (line - 2.5, (a[1] + b[1]) / 2), SIZE)


def _bearers(plan: Plan, at: Place, scale: float, low: Spot) -> Iterator[Mark]:
    """Yield on each bearer where its middle lies, counted from the low end of the plan; its lines are broken there."""
    axis, written = plan.stretch, list[Polygon]()
    for strip in (one for name, one in plan.strips if name == "bearer"):
        middle = (strip.bounds[axis] + strip.bounds[axis + 2]) / 2
        text = figure(middle - low[axis], plan.unit)
        across = shapely.intersection(strip, _line(strip, axis, middle))
        y = (across.bounds[1 - axis] + across.bounds[3 - axis]) / 2
        place = at(middle, y) if axis == 0 else at(y, middle)
        size = _size(strip, (middle, y) if axis == 0 else (y, middle), scale)
        one = _turned(text, place, size) if axis == 0 else centred(text, place, size)
        box = shapely.box(*one.extent)
        room = (across.bounds[3 - axis] - across.bounds[1 - axis]) * scale
        if room > width(text, size) and not any(box.intersects(other) for other in written):
            written.append(box)
            yield Patch(tuple(box.exterior.coords[:-1]), white=True)
            yield one


def _line(strip: Polygon, axis: int, middle: float) -> LineString:
    x0, y0, x1, y1 = strip.bounds
    return LineString([(middle, y0), (middle, y1)] if axis == 0 else [(x0, middle), (x1, middle)])


def _size(strip: Polygon, at: Spot, scale: float) -> float:
    """Return how large a figure may be that lies within a bearer at a point, pt."""
    broad = 2 * float(strip.boundary.distance(Point(at))) * scale / POINT
    return min(FIGURE, max(SMALLEST, broad / 1.1))


def _turned(text: str, middle: Spot, size: float) -> Words:
    """Return a figure that reads upward about a point."""
    return Words(text, (middle[0] + 0.36 * size * POINT, middle[1] + width(text, size) / 2), size, turn_deg=90.0)


def _names(plan: Plan, at: Place) -> Iterator[Mark]:
    """Yield the letters of what is drawn, each clear of bearers where there is room."""
    bearers = shapely.union_all([one for _, one in plan.strips])
    for name, one in plan.outlines:
        free = shapely.difference(one, bearers)
        spot = shapely.maximum_inscribed_circle(free if not free.is_empty else one, tolerance=0.002)
        x, y = spot.coords[0]
        yield centred(name, at(float(x), float(y)), NAME, bold=True)


def _arrows(foot: Spot, ways: tuple[str, str]) -> Iterator[Mark]:
    for tip, name, off in (((foot[0] + 11, foot[1]), ways[0], 1.2), ((foot[0], foot[1] - 11), ways[1], 0.0)):
        yield from arrow(foot, tip, FINE, head=2.2)
        yield Words(name, (tip[0] + 1.2, tip[1] + off), SIZE)
