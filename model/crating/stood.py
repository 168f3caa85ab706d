"""How many crates of a size stand side by side, and how many of them go out through the lid.

What is proved, and on what it rests:

- Side by side: at least so many are laid out, each on a level floor, and the boolean kernel leaves nothing of one
  outside the net space or within another; at most so many, by `packing.limits`, for every place and heading. Layouts
  are sought by `layouts`; of those of equal number that is taken of which most come out.
- Out through the lid: a crate goes out, in its order, past those that are still there, by the ways of `ways`; what it
  sweeps is held against the space. Any other is undecided, not refused. What does not pass the clear opening level in
  any heading (Carver's criterion, corners taken as sharp) does not go out level: proved.

What is tried is counted, so that the answer is the same each time, on any machine; the time only ends it, and then it
is told what was cut off.
"""

import math
import time
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import islice

import numpy as np
import shapely
from shapely import MultiPolygon, Polygon, affinity

from tapeloft.model.crating.arranged import Arranged, arranged, corner_layouts
from tapeloft.model.crating.ground import Floor, standing_on
from tapeloft.model.crating.layouts import layouts
from tapeloft.model.crating.levels import Levels, plan_of
from tapeloft.model.crating.ways import Stowed, Way
from tapeloft.model.cutting.board import OUTSIDE
from tapeloft.model.cutting.centres import centres
from tapeloft.model.cutting.outline import polygons
from tapeloft.model.errors import GeometryError
from tapeloft.model.fall import Fall
from tapeloft.model.gear.forms import Block
from tapeloft.model.gear.turn import Turn
from tapeloft.model.packing.limits.limit import limits
from tapeloft.model.solid import Solid, united

SMALLEST = 0.05  # m, of a crate's side
WIDEST = 0.5  # m, of a clearance
SOUGHT, SHARES = ("layouts", "limits", "ways out"), (0.4, 0.7, 1.0)  # by which share of the time each is ended
LIMITS = 3  # of those of `packing.limits` that are asked for: any more take many times as long
LOW = 2e-4  # m: so much less than its height a crate is packed with, for it stands at one height alone


@dataclass(frozen=True, eq=False)
class Crate:
    """A crate where it stands, in compartment axes: middle of its bottom, m, heading, degrees, and its plan.

    way: how it goes out; None where that is undecided. order: in which it goes out, from 1; 0 where undecided.
    """

    at: tuple[float, float, float]
    heading_deg: float
    plan: Polygon
    solid: Solid
    way: Way | None = None
    order: int = 0

    @property
    def out(self) -> str:
        """How it goes out, in words, or "undecided"."""
        return self.way.how if self.way else "undecided"


@dataclass(frozen=True, eq=False)
class Stood:
    """How many crates of a size stand side by side, at least those laid out, and what is known of their way out.

    crates: those of one layout, in the order that they go out, the undecided ones last. freed: the same of the layout
    of which most come out, where it is another; only those that do. looked: at how many layouts. passes: whether one
    goes level through some lid: in some heading, in none (False, proved), or None, undecided at rounded corners.
    straight_least, straight_most: how many can stand where they go straight up. cut: what the time cut off.
    """

    crates: tuple[Crate, ...]
    freed: tuple[Crate, ...]
    looked: int
    most: int
    passes: bool | None
    straight_least: int
    straight_most: int
    cut: tuple[str, ...]

    @property
    def out(self) -> int:
        """How many of those laid out go out through the lid, proved."""
        return sum(one.order > 0 for one in self.crates)

    @property
    def most_out(self) -> int:
        """How many go out through the lid, proved, of the layout of which most do."""
        return max(self.out, len(self.freed))


def stood(
    space: Solid, floors: Sequence[Floor], falls: Sequence[Fall], form: Block, clearance: float, within_s: float
) -> Stood:
    """Return how many crates of a form stand side by side on some floors, one layer, and go out through some lids.

    space: all that is clear, m. clearance: m, between any two and to walls. within_s: about so many seconds in all;
    what is not looked at by then is undecided. Raises GeometryError where a size is absurd, or a crate that was laid
    out is not clear by the boolean kernel.
    """
    held_size(form)
    ends = [time.perf_counter() + share * within_s for share in SHARES]
    passed = []
    levels = Levels(space, floors, falls, form)
    by_floor = corner_layouts(levels, clearance, ends[0])
    ups = [polygons(shapely.union_all([floor.straight_up(fall, form.height) for fall in falls])) for floor in floors]
    straight = [layouts(floor, up, form, clearance, ends[0])[:1] for floor, up in zip(floors, ups, strict=True)]
    by_floor = [sorted([*some, *up], key=len, reverse=True) for some, up in zip(by_floor, straight, strict=True)]
    passed.append(time.perf_counter() > ends[0])
    most = straight_least = straight_most = 0
    for floor, some, up, ahead in zip(floors, by_floor, ups, straight, strict=True):
        few = sum(map(len, ahead))
        most += _at_most(floor, floor.widest(form.height), form, clearance, max(map(len, some), default=0), ends[1])
        straight_least += few
        straight_most += _at_most(floor, up, form, clearance, few, ends[1])
    passed.append(time.perf_counter() > ends[1])
    fullest, out, looked = arranged(levels, by_floor, ends[2])
    passed.append(bool(fullest.undecided) and time.perf_counter() > ends[2])
    freed = crates_of(out, form)[: len(out.left)] if len(out.left) > len(fullest.left) else ()
    crates = crates_of(fullest, form)
    for laid_out in (crates, freed):
        hold_clear(laid_out, space)
    cut = tuple(what for what, over in zip(SOUGHT, passed, strict=True) if over)
    return Stood(crates, freed, looked, most, _passes(form, falls), straight_least, straight_most, cut)


def laid_to_come_out(
    space: Solid, floors: Sequence[Floor], falls: Sequence[Fall], form: Block, clearance: float, number: int | None
) -> tuple[tuple[Crate, ...], tuple[str, ...]]:
    """Return so many crates of a form, laid to come out, the same each time; and what is to be said of them.

    number: those that come out first, and ones of which that is undecided only where more are asked for; None for all
    that come out. Raises GeometryError where a size is absurd, or no layout has so many, or any that comes out.
    """
    held_size(form)
    if not 0 <= clearance <= WIDEST:
        raise GeometryError(f"a clearance of {clearance * 1000:g} mm: it has to be 0 to 500 mm")
    if number is not None and number < 1:
        raise GeometryError(f"{number} crates: there has to be one at least")
    levels = Levels(space, floors, falls, form)
    fullest, out, looked = arranged(levels, corner_layouts(levels, clearance))
    many = len(out.left) if number is None else number
    taken = out if many <= len(out.left) else fullest
    if not 0 < many <= len(taken.stowed):
        most = f"{len(fullest.stowed)} stand side by side, {len(out.left)} of them come out"
        raise GeometryError(f"no layout of {many or 'any'} crates was found: {most}\n    mend: ask for fewer")
    crates = crates_of(taken, form)[:many]
    hold_clear(crates, space)
    ways = [f"{one.order}: {one.out}" for one in crates if one.way]
    said = [f"they come out in this order: {'; '.join(ways)}"] if ways else []
    if len(ways) < many:
        said.append(
            f"whether {many - len(ways)} come out is undecided, in {looked} layout{'s' * (looked != 1)} looked at"
        )
    return crates, tuple(said)


def held_size(form: Block) -> None:
    """Raise GeometryError where a crate is absurdly small."""
    if min(form.sizes) < SMALLEST:
        raise GeometryError(f"a crate has sides of {SMALLEST * 1000:.0f} mm at least")


def crates_of(one: Arranged, form: Block) -> tuple[Crate, ...]:
    """Return the crates of a layout, in the order that they go out, the undecided ones last."""
    out = [_crate(left.one, form, left.way, order) for order, left in enumerate(one.left, start=1)]
    return (*out, *(_crate(each, form) for each in one.undecided))


def hold_clear(crates: Sequence[Crate], space: Solid) -> None:
    """Raise GeometryError where crates are not clear of one another or of the walls, by the boolean kernel."""
    every = united(one.solid for one in crates)
    shared = sum(one.solid.volume for one in crates) - every.volume
    if (every - space).volume > OUTSIDE or shared > OUTSIDE * len(crates):
        raise GeometryError("crates laid out are not clear by a second check; is the space sound?")


def _at_most(floor: Floor, plan: MultiPolygon, form: Block, clearance: float, known: int, until: float) -> int:
    """Return how many crates stand on a plan at most, by the soonest limit that is no more than *known*, if any is."""
    if plan.is_empty or _is_narrow(plan, min(form.length, form.breadth)):
        return 0
    low, high = floor.height - clearance, floor.height + form.height + clearance  # kept at the sides alone
    space, thing = standing_on(plan, low, high), Block(form.length, form.breadth, form.height - LOW)
    counts: list[int] = []
    for limit in islice(limits(space, thing, Turn.UPRIGHT, clearance, lambda: until - time.perf_counter()), LIMITS):
        counts.append(limit.count)
        if limit.count <= known:
            break
    return min(counts)


def _is_narrow(area: MultiPolygon, narrow: float) -> bool:
    """Whether an area is empty, or nowhere as wide as the narrow side of a crate."""
    return bool(shapely.buffer(area, -narrow / 2 * (1 - 1e-6), join_style="mitre").is_empty)


def _crate(one: Stowed, form: Block, way: Way | None = None, order: int = 0) -> Crate:
    plan = plan_of(form, one.heading, *one.at[:2])
    low = one.at[2]
    solid = standing_on(MultiPolygon([plan]), low, low + form.height)
    return Crate(one.at, math.degrees(one.heading) + 0.0, plan, solid, way, order)


def rectangle_passes(p: float, q: float, a: float, b: float) -> bool:
    """Whether a rectangle p × q lies in a rectangle a × b in some turn, in any one unit.

    L. Carver's criterion (American Mathematical Monthly 64, 1957; J. Wetzel, Mathematics Magazine 73, 2000).

    >>> rectangle_passes(2.0, 0.5, 1.8, 1.7339), rectangle_passes(2.0, 0.5, 1.8, 1.7337)
    (True, False)
    """
    (q, p), (b, a) = sorted((p, q)), sorted((a, b))
    if q > b:
        return False
    if p <= a:
        return True
    square = p * p + q * q - a * a
    return b >= (2 * p * q * a + (p * p - q * q) * math.sqrt(square)) / (p * p + q * q)


def _passes(form: Block, falls: Sequence[Fall]) -> bool | None:
    """Whether a crate goes level through some lid in some heading; None where rounded corners may be in the way."""
    square = any(rectangle_passes(form.length, form.breadth, *_sides(fall)) for fall in falls)
    if not square:
        return False
    for fall in falls:
        for heading in np.linspace(0, math.pi, 72, endpoint=False):
            seen = affinity.rotate(fall.plan, -heading, origin=(0, 0), use_radians=True)
            if not centres(seen, form.length, form.breadth).is_empty:
                return True
    return None


def _sides(fall: Fall) -> tuple[float, float]:
    x0, y0, x1, y1 = fall.plan.bounds
    return x1 - x0, y1 - y0
