"""Where the middle of a crate may be, for each height that it is carried at on the level, and where it goes up."""

from collections.abc import Callable, Hashable, Sequence
from copy import copy

import numpy as np
import shapely
from shapely import Polygon, affinity
from shapely.geometry.base import BaseGeometry

from tapeloft.model.crating.ground import Floor
from tapeloft.model.cutting.centres import centres
from tapeloft.model.cutting.outline import clear_outline
from tapeloft.model.cutting.plane import at_height
from tapeloft.model.fall import THROUGH, Fall, opened
from tapeloft.model.gear.forms import Block
from tapeloft.model.solid import Solid, prism, united

OVER = 1e-4  # m: so much over what stands there a crate is carried
AIR = 10.0  # m: so far round a lid, and over its lip, there is taken to be nothing
DECK = 5e-3  # m: so thick a deck and its coamings are taken to be at the least, wherever no lid is
THIN = 1e-4  # m
GRID = 2e-5  # m: by so much an area is drawn in, for its corners are rounded to the kernel's grid


class Levels:
    """A space, its floors and falls, that crates of one form are moved in; what they share is worked out once.

    An area is of middles of crates at a heading, radians, in compartment axes, m.
    """

    def __init__(self, space: Solid, floors: Sequence[Floor], falls: Sequence[Fall], form: Block) -> None:
        self.space, self.floors, self.falls, self.form = space, tuple(floors), tuple(falls), form
        self.open = _with_air(space, falls)
        self._areas: dict[Hashable, BaseGeometry] = {}
        self._sides: dict[tuple[float, ...], Levels] = {form.sizes: self}

    def of(self, form: Block) -> "Levels":
        """Return the same space for crates of another form, worked out once as well."""
        if form.sizes not in self._sides:
            other = copy(self)
            other.form, other._areas = form, {}
            self._sides[form.sizes] = other
        return self._sides[form.sizes]

    def heights(self, low: float) -> tuple[float, ...]:
        """Return the heights, m, from *low* up that a crate is carried at: on floors, over crates on them, and as high
        as it goes under the deck, where a hull that flares is widest.
        """
        on = [floor.height for floor in self.floors]
        over = [z + self.form.height + OVER for z in on]
        under = max((fall.under for fall in self.falls), default=low) - self.form.height
        return tuple(sorted({low, *(z for z in (*on, *over, under - OVER) if low < z < under)}))

    def free(self, heading: float, height: float) -> BaseGeometry:
        """Return where the middle of a crate may be at a height, were nothing else stowed."""

        def found() -> BaseGeometry:
            plan = self._kept(height, lambda: clear_outline(self.space, at_height(height), self.form.height))
            return turned_centres(plan, heading, self.form.length, self.form.breadth)

        return self._kept(("free", round(heading, 9), height), found)

    def up(self, heading: float, height: float) -> BaseGeometry:
        """Return where it goes straight up from a height through a lid."""

        def found() -> BaseGeometry:
            return shapely.union_all(
                [
                    turned_centres(self._column(fall, height), heading, self.form.length, self.form.breadth)
                    for fall in self.falls
                ]
            )

        return self._kept(("up", round(heading, 9), height), found)

    def windows(self, fall: Fall, height: float, heading: float, long: float, broad: float) -> BaseGeometry:
        """Return where a rectangle's middle is, *long* m along a heading, *broad* across, clear up from a height."""
        key = (fall.name, height, round(heading, 9), round(long, 9), round(broad, 9))
        return self._kept(key, lambda: turned_centres(self._column(fall, height), heading, long, broad))

    def girths(self, height: float, heading: float, long: float, broad: float) -> BaseGeometry:
        """Return where a rectangle's middle is, *long* m along a heading, *broad* across, clear about a height."""

        def found() -> BaseGeometry:
            clear = self._kept(("girth", height), lambda: clear_outline(self.open, at_height(height), THIN))
            return turned_centres(clear, heading, long, broad)

        return self._kept(("girths", height, round(heading, 9), round(long, 9), round(broad, 9)), found)

    def _column(self, fall: Fall, height: float) -> BaseGeometry:
        def found() -> BaseGeometry:
            low = min(height, fall.under)
            clear = clear_outline(self.open, at_height(low), fall.lip - low)
            return shapely.buffer(shapely.intersection(clear, fall.plan), -GRID, join_style="mitre")

        return self._kept(("column", fall.name, height), found)

    def _kept(self, key: Hashable, found: Callable[[], BaseGeometry]) -> BaseGeometry:
        if key not in self._areas:
            self._areas[key] = found()
        return self._areas[key]


def turned_centres(area: BaseGeometry, heading: float, long: float, broad: float) -> BaseGeometry:
    """Return where the middle of a rectangle at a heading, radians, may be so that it lies in an area, m."""
    if area.is_empty:
        return Polygon()
    seen = affinity.rotate(area, -heading, origin=(0, 0), use_radians=True)
    return affinity.rotate(centres(seen, long, broad), heading, origin=(0, 0), use_radians=True)


def apart(others: Sequence[Polygon], form: Block, heading: float) -> BaseGeometry:
    """Return where the middle of a crate at a heading must not be, for it would lie in another of some rectangles.

    Minkowski's sum with each (J. Serra, Image Analysis and Mathematical Morphology, 1982; from memory).

    >>> apart([shapely.box(0, 0, 1, 1)], Block(2.0, 1.0, 1.0), 0.0).bounds
    (-1.0, -0.5, 2.0, 1.5)
    """
    rings = shapely.get_coordinates(others).reshape(-1, 5, 1, 2)[:, :4]
    corners = shapely.get_coordinates(plan_of(form, heading, 0.0, 0.0))[:4]
    return shapely.union_all(shapely.convex_hull(shapely.multipoints((rings + corners).reshape(-1, 16, 2))))


def plan_of(form: Block, heading: float, x: float, y: float) -> Polygon:
    """Return the plan of a crate, turned by *heading* radians, its middle at x, y, m."""
    a, b = form.length / 2, form.breadth / 2
    square = shapely.box(-a, -b, a, b)
    return affinity.translate(affinity.rotate(square, heading, origin=(0, 0), use_radians=True), x, y)


def _with_air(space: Solid, falls: Sequence[Fall]) -> Solid:
    """Return a space with the air over its lids joined on, through these alone: a deck is left all round it."""
    aside = [(DECK, 0.0, 0.0), (-DECK, 0.0, 0.0), (0.0, DECK, 0.0), (0.0, -DECK, 0.0), (0.0, 0.0, DECK)]
    air, ways = [], []
    for fall in falls:
        x0, y0, x1, y1 = fall.plan.buffer(AIR, join_style="mitre").bounds
        air.append(prism([np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])], fall.lip, fall.lip + AIR))
        ways.append(fall.column(fall.under - THROUGH).moved((0.0, 0.0, 2 * DECK)))
    outer = united(air).cleared_of([space.moved(by) for by in aside])
    return united([opened(space, falls), outer, *ways])
