"""How many crates of a size stand side by side, and how many of them go out through the lid.

What is proved, and on what it rests:

- Side by side: at least so many are laid out, each on a level floor, and the boolean kernel leaves nothing of one
  outside the net space or within another; at most so many, by `packing.count`, for every place and heading.
- Out through the lid: a crate that stands wholly within the fall of a lid, where it is clear up through it, goes
  straight up as it stands. One beside it goes out where it is slid along the floor past those that are still there to
  such a place, and turned there about the vertical, if need be: what it sweeps is held against the space. Any other is
  undecided, not refused: it might be tilted or lifted round. What does not pass the clear opening level in any heading
  (Carver's criterion, corners taken as sharp) does not go out level: proved.
"""

import math
import time
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely import MultiPolygon, Polygon, affinity

from tapeloft.model.crating.ground import Floor, standing_on
from tapeloft.model.crating.sliding import plan_of, way_out
from tapeloft.model.cutting.board import OUTSIDE
from tapeloft.model.cutting.centres import centres
from tapeloft.model.cutting.outline import polygons
from tapeloft.model.errors import GeometryError
from tapeloft.model.fall import Fall
from tapeloft.model.gear.forms import Block
from tapeloft.model.gear.turn import Turn
from tapeloft.model.packing.count import counted
from tapeloft.model.solid import Solid, united

SMALLEST = 0.05  # m, of a crate's side
LATER = 3.0  # s more, at the least, that are given on a floor to how crates go out
LOW = 2e-4  # m: so much less than its height a crate is packed with, for it stands at one height alone


@dataclass(frozen=True, eq=False)
class Crate:
    """A crate where it stands, in compartment axes: middle of its bottom, m, heading, degrees, and its plan.

    out: "straight up", "slid, then up" (slid_m so far), "slid and turned, then up", or "undecided". order: in which it
    goes out, from 1; 0 where that is undecided.
    """

    at: tuple[float, float, float]
    heading_deg: float
    plan: Polygon
    solid: Solid
    out: str = "undecided"
    slid_m: float = 0.0
    order: int = 0


@dataclass(frozen=True, eq=False)
class Stood:
    """How many crates of a size stand side by side, at least those laid out, and what is known of their way out.

    passes: whether one goes level through some lid: in some heading, in none (False, proved), or None, undecided at
    rounded corners. straight_least, straight_most: how many can stand where they go straight up.
    """

    crates: tuple[Crate, ...]
    most: int
    passes: bool | None
    straight_least: int
    straight_most: int

    @property
    def out(self) -> int:
        """How many of those laid out go out through the lid, proved."""
        return sum(one.order > 0 for one in self.crates)


def stood(
    floors: Sequence[Floor], falls: Sequence[Fall], form: Block, clearance: float, within_s: float
) -> Stood:  # fmt: skip
    """Return how many crates of a form stand side by side on some floors, one layer, and go out through some lids.

    clearance: m, between any two and to walls. within_s: about so many seconds in all; what is not looked at by then is
    undecided. Raises GeometryError where a size is absurd, or a crate that was laid out
    is not clear by the boolean kernel.
    """
    if min(form.sizes) < SMALLEST:
        raise GeometryError(f"a crate has sides of {SMALLEST * 1000:.0f} mm at least")
    share = within_s / max(1, 2 * len(floors))
    crates: list[Crate] = []
    most = straight_least = straight_most = 0
    for floor in floors:
        laid, limit = _laid(floor, floor.plan(form.height), floor.widest(form.height), form, clearance, share)
        up = polygons(shapely.union_all([floor.straight_up(fall, form.height) for fall in falls]))
        straight, straight_limit = _laid(floor, up, up, form, clearance, share)
        laid, limit = (laid, limit) if len(laid) >= len(straight) else (straight, limit)
        ups = [floor.straight_up(fall, form.height) for fall in falls]
        ways = _out(laid, floor.plan(form.height), ups, form, time.perf_counter() + max(share, LATER))
        crates += [replace(one, order=one.order + sum(c.order > 0 for c in crates) if one.order else 0) for one in ways]
        most, straight_least = most + limit, straight_least + len(straight)
        straight_most += straight_limit
    _hold_clear(crates, floors)
    return Stood(tuple(crates), most, _passes(form, falls), straight_least, straight_most)


def _laid(
    floor: Floor, plan: MultiPolygon, widest: MultiPolygon, form: Block, clearance: float, within_s: float
) -> tuple[list[Crate], int]:
    """Return crates laid out on a plan, and how many stand there at most."""
    if centres_any(widest, min(form.length, form.breadth)):
        return [], 0
    if plan.is_empty:
        return [], 0
    low, high = floor.height - clearance, floor.height + form.height + clearance  # kept at the sides alone
    inside, outside = standing_on(plan, low, high), standing_on(widest, low, high)
    thing = Block(form.length, form.breadth, form.height - LOW)
    found = counted(inside, outside, thing, turn=Turn.UPRIGHT, clearance=clearance, within_s=within_s)
    return [_crate(np.array(pose.turn), pose.place, floor.height, form) for pose in found.poses], found.at_most


def centres_any(area: MultiPolygon, narrow: float) -> bool:
    """Whether an area is empty, or nowhere as wide as the narrow side of a crate."""
    return bool(shapely.buffer(area, -narrow / 2 * (1 - 1e-6), join_style="mitre").is_empty)


def _crate(turn: np.ndarray, place: tuple[float, float, float], floor: float, form: Block) -> Crate:
    heading = math.atan2(float(turn[1, 0]), float(turn[0, 0]))
    plan = plan_of(form, heading, place[0], place[1])
    return Crate(
        (place[0], place[1], floor), math.degrees(heading) + 0.0, plan,
        standing_on(MultiPolygon([plan]), floor, floor + form.height),
    )  # fmt: skip


def _out(crates: list[Crate], plan: MultiPolygon, ups: Sequence[MultiPolygon], form: Block, end: float) -> list[Crate]:
    """Return crates with how each goes out, those nearest to a lid first, and in which order."""
    left, gone = list(crates), list[Crate]()
    moved = True
    while left and moved and time.perf_counter() < end:
        moved = False
        for one in sorted(left, key=lambda crate: min((crate.plan.distance(up) for up in ups), default=math.inf)):
            if time.perf_counter() > end:
                break
            others = shapely.union_all([other.plan for other in left if other is not one])
            free = polygons(shapely.difference(plan, others))
            way = way_out(form, math.radians(one.heading_deg), one.at[:2], free, ups)
            if way is not None:
                gone.append(replace(one, out=way.how, slid_m=way.slid_m, order=len(gone) + 1))
                left.remove(one)
                moved = True
                break
    return gone + left


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


def _hold_clear(crates: Sequence[Crate], floors: Sequence[Floor]) -> None:
    space = united(one.inside for one in floors)
    every = united(one.solid for one in crates)
    shared = sum(one.solid.volume for one in crates) - every.volume
    if (every - space).volume > OUTSIDE or shared > OUTSIDE * len(crates):
        raise GeometryError("crates laid out are not clear by a second check; is the space sound?")
