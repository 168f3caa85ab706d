"""Where crates stand and where they go straight up: the level floors of a space, and what of them is under a lid."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import MultiPolygon

from tapeloft.model.compartment import Compartment
from tapeloft.model.cutting.outline import clear_outline, polygons
from tapeloft.model.cutting.plane import at_height
from tapeloft.model.errors import GeometryError
from tapeloft.model.fall import Fall, opened
from tapeloft.model.flats import flats, room_over
from tapeloft.model.parts.registry import STAGES, Stage
from tapeloft.model.platforms import Platform, platforms_of
from tapeloft.model.solid import Solid, prism, united

GRID = 2e-5  # m: by so much an outline is drawn in, so that its corners rounded to the kernel's grid lie in the space
LEAST = 0.01  # m²: a floor smaller than this bears no crate


@dataclass(frozen=True, eq=False)
class Floor:
    """A level floor, at a height m, and the space over it: where a thing that stands there is borne everywhere.

    inside, outside: as `Compartment` has them.
    """

    height: float
    inside: Solid
    outside: Solid

    def plan(self, high: float) -> MultiPolygon:
        """Return where it is clear from the floor up to *high* m over it, x, y, m."""
        return _drawn_in(clear_outline(self.inside, at_height(self.height), high))

    def widest(self, high: float) -> MultiPolygon:
        """Return the same for what is to be refused: never smaller than it is."""
        return polygons(
            shapely.buffer(clear_outline(self.outside, at_height(self.height), high), GRID, join_style="mitre")
        )

    def straight_up(self, fall: Fall, high: float) -> MultiPolygon:
        """Return where within a fall it is clear up through the lid, and *high* m with the lid shut."""
        column = clear_outline(opened(self.inside, [fall]), at_height(self.height), fall.lip - self.height)
        shut = clear_outline(self.inside, at_height(self.height), high)
        return _drawn_in(shapely.intersection(column, shapely.intersection(fall.plan, shut)))


def floors_of(compartment: Compartment, on: Sequence[float] | None = None) -> tuple[Floor, ...]:
    """Return the floors of a compartment: flats of its sole and grates, or those laid at heights *on*, m, borne there.

    On what else is built in, treads and shelves, nothing is stowed unasked. Raises GeometryError where there is none.
    """
    inside, outside = compartment.inside, compartment.outside
    if on is not None:
        every = [Floor(z, inside.split((0, 0, 1), z)[0], outside.split((0, 0, 1), z)[0]) for z in on]
    else:
        built = united(one.solid for one in compartment.fitted if STAGES[type(one.part.kind)] is not Stage.LINING)
        every = [
            *(Floor(z, room_over(z, inside, inside), room_over(z, outside, outside)) for z in flats(inside + built)),
            *(_on(one, inside, outside) for one in platforms_of(compartment)),
        ]
    found = tuple(one for one in every if not one.inside.is_empty and one.plan(0.01).area > LEAST)
    if not found:
        what = f"{compartment.name}: nothing level bears a crate there"
        raise GeometryError(f"{what}\n    mend: name a height with --on, of a grate or a shelf")
    return found


def _on(one: Platform, inside: Solid, outside: Solid) -> Floor:
    """Return the floor that a grate is, within its outline."""
    high = float(max(inside.bounds[1, 2], outside.bounds[1, 2]))
    over = standing_on(one.plan, one.height, high + 1.0)
    return Floor(one.height, inside ^ over, outside ^ over)


def standing_on(plan: MultiPolygon, low: float, high: float) -> Solid:
    """Return what stands over a plan between two heights, m."""
    loops = [np.array(ring.coords)[:-1] for one in plan.geoms for ring in (one.exterior, *one.interiors)]
    return prism(loops, low, high)


def _drawn_in(area: MultiPolygon) -> MultiPolygon:
    return polygons(shapely.buffer(area, -GRID, join_style="mitre"))
