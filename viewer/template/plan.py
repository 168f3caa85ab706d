"""The plan of a part, dimensioned: how it lies, over all, and where its bearers run; not to scale on paper."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, Point, Polygon

from tapeloft.model.cutting.outline import polygons
from tapeloft.model.cutting.plane import Plane
from tapeloft.model.units import figure
from tapeloft.viewer.form.ink import FINE, POINT, Line, Mark, Patch, Spot, Words, arrow, centred, width

OUTLINE, UNDER = 0.6, 0.35  # pt
SIZE = 7.0  # pt of figures
ROW = 6.0  # mm between rows of dimensions
ROOM = 22.0  # mm left round the plan for its dimensions
FIGURE, SMALLEST, NAME = 6.5, 4.5, 10.0  # pt, of figures on bearers, and of the letters of sections
TICK = 1.2
JOINED = 0.003  # m: pieces no farther apart are one whole
MEASURED = ("bearer", "strap")  # have a figure on them
BENEATH = (*MEASURED, "ledge")  # lie under what is drawn
ON = " on it"  # and what of their kind is called that does not
LEAST = 3.5  # pt: a name on a strap that would be smaller is left out
ENDS = {"forward": "aft", "aft": "forward", "port": "starboard", "up": "lower"}
SIDES = {
    "forward": (0, "forward of", "aft of"), "aft": (0, "forward of", "aft of"),
    "port": (1, "to port of", "to starboard of"), "up": (2, "above", "below"),
}  # fmt: skip
Floats = NDArray[np.float64]

Place = Callable[[float, float], Spot]
"""Where a point of the plan, m, comes to lie on paper, mm."""


@dataclass(frozen=True)
class Plan:
    """A part seen on its face, m, in the axes of its plane: named outlines, and what lies under or on them.

    strips: by what they are called: bearers and straps lie under it, fiddles and what is "on it" do not. stretch: the
    axis across which its bearers or straps lie; unit: what its figures are in.
    """

    outlines: tuple[tuple[str, Polygon], ...]
    strips: tuple[tuple[str, Polygon], ...]
    plane: Plane
    stretch: int
    unit: str

    @property
    def under(self) -> tuple[Polygon, ...]:
        """What of its strips is not seen."""
        return tuple(one for name, one in self.strips if _kind(name) in BENEATH and not name.endswith(ON))

    @property
    def told(self) -> str:
        """What its figures are, and where it lies on board, in words."""
        ends, names = ENDS[self.plane.ways[self.stretch]], {_kind(name) for name, _ in self.strips}
        kinds = [kind for kind in MEASURED if kind in names]
        return "; ".join([*(f"on {kind}s: their middles, from the {ends} end" for kind in kinds), origin(self)])


def plan_of(
    outlines: Sequence[tuple[str, Polygon]],
    strips: Sequence[tuple[str, Polygon]],
    plane: Plane,
    stretch: int,
    unit: str,
) -> Plan:
    """Return the plan of a part from its outlines and what bears it, m, in the axes of its plane."""
    return Plan(tuple(outlines), tuple(strips), plane, stretch, unit)


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

    for one in plan.under:
        yield from drawn(one, UNDER, dashed=True)
    for _, one in plan.outlines:
        yield from drawn(one, OUTLINE)
    yield from _bearers(plan, at, scale, (x0, y0))
    for _, one in (strip for strip in plan.strips if strip[1] not in plan.under):
        yield Patch(tuple(at(*spot) for spot in one.exterior.coords[:-1]), white=True)
        yield from drawn(one, OUTLINE)
    yield from _straps(plan, at, scale, (x0, y0))
    yield from _across(at, (x0, x1), y0, figure(x1 - x0, plan.unit), ROW * 2)
    yield from _upward(at, (y0, y1), x0, figure(y1 - y0, plan.unit), ROW * 2)
    yield from _names(plan, at)
    yield from _arrows((left + wide - 30, top + 12), plan.plane.ways)


def origin(plan: Plan) -> str:
    """Return in words where the low ends of a plan lie on board."""
    low = np.array(shapely.union_all([one for _, one in (*plan.outlines, *plan.strips)]).bounds[:2])
    at = np.array(plan.plane.start) + low @ plan.plane.axes[:2]
    return f"the {_lies(plan, 0, at, 'lies ')} the datum, the {_lies(plan, 1, at)} it"


def _lies(plan: Plan, axis: int, at: Floats, verb: str = "") -> str:
    """Return in words where an end lies that figures along an axis of the plan are counted from."""
    way = plan.plane.ways[axis]
    on_board, more, less = SIDES[way]
    off = float(at[on_board])
    return f"{ENDS[way]} end {verb}{figure(abs(off), plan.unit)} {more if off >= 0 else less}"


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
    """Yield on each bearer where its middle lies, counted from the low end of the plan.

    Its lines are broken there, and those of a joint over it, but none that is the edge of the whole.
    """
    axis, written = plan.stretch, list[Polygon]()
    whole = shapely.buffer(shapely.union_all([one for _, one in plan.outlines]), JOINED)
    edges = [LineString([at(*spot) for spot in part.exterior.coords]) for part in polygons(whole).geoms]
    for strip in (one for name, one in plan.strips if name == "bearer"):
        middle = _middle(strip, axis)
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
            if not any(box.intersects(edge) for edge in edges):
                yield Patch(tuple(box.exterior.coords[:-1]), white=True)
            yield one


def _straps(plan: Plan, at: Place, scale: float, low: Spot) -> Iterator[Mark]:
    """Yield along one half of each strap, beside the joint, its name and where its middle lies, as of bearers."""
    axis = plan.stretch
    for name, strip in plan.strips:
        if _kind(name) != "strap":
            continue
        middle, lap = _middle(strip, axis), (strip.bounds[axis + 2] - strip.bounds[axis]) / 2
        text = f"{name.removesuffix(ON)}: {figure(middle - low[axis], plan.unit)}"
        along, room = (
            (strip.bounds[1 - axis] + strip.bounds[3 - axis]) / 2,
            strip.bounds[3 - axis] - strip.bounds[1 - axis],
        )
        size = min(FIGURE, lap * scale / POINT / 1.1)
        if size >= LEAST and width(text, size) < room * scale:
            place = at(middle + lap / 2, along) if axis == 0 else at(along, middle + lap / 2)
            yield _turned(text, place, size) if axis == 0 else centred(text, place, size)


def _middle(strip: Polygon, axis: int) -> float:
    return float(strip.bounds[axis] + strip.bounds[axis + 2]) / 2


def _kind(name: str) -> str:
    return name.split(" ")[0]


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
