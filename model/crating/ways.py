"""How a crate gets out through a lid: carried on the level to under it, turned or tipped there if need be, and up.

Ways are looked for in this order, and the first that is proved is taken:

- level: at the height that it stands at, then lifted over what stands there; to where it goes straight up as it is.
  Along the level it goes the shortest path; there is none where this is not seen, for one heading and height.
- turned: the same, turned about the vertical where its middle may be at both headings.
- tipped: swung up about a lower edge by 15° to 90° under the lid, and straight out: upward, or along itself.
- laid over: raised, turned over by 90° about a level line through its middle, where there is room for that; and from
  there, as a crate of those sides, level or turned.

A way is proved by what it sweeps: each leg is straight or a swing, the hulls that cover it (`moves`) lie in the space
opened at its lids, and meet no crate that is still there. Where none is found, that is no proof that there is none.
"""

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import islice, pairwise

import numpy as np
import shapely
import shapely.ops
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from tapeloft.model.crating.levels import Levels, apart
from tapeloft.model.crating.moves import STEP, Room, pushed, swung, upright
from tapeloft.model.crating.path import Spot, path
from tapeloft.model.crating.tipping import tips
from tapeloft.model.fall import Fall
from tapeloft.model.gear.forms import Block
from tapeloft.model.moments import Points

TOUCH = 1e-5  # m
HAIR = 5e-4  # m: a crate that is slid by less goes straight up
HEADINGS = 12  # to a half turn, that a crate is turned to
TRIED = 3  # places to each side that it is carried to
CHECKS = 60  # ways of one kind that are held against the space; then it is given up


@dataclass(frozen=True)
class Stowed:
    """A crate where it stands: heading, radians, and the middle of its bottom, compartment axes, m."""

    heading: float
    at: tuple[float, float, float]


@dataclass(frozen=True, eq=False)
class Way:
    """How a crate goes out: lifted and carried so far, m, turned and tipped by so much, radians; then straight out.

    legs: the clouds of points, m, whose hulls cover what it sweeps, in order. then: how it goes on once it is
    laid over; its legs are among these.
    """

    lifted_m: float
    carried_m: float
    turned: float = 0.0
    tipped: float = 0.0
    legs: tuple[Points, ...] = ()
    then: "Way | None" = None

    @property
    def how(self) -> str:
        """In words."""
        moves = [f"lifted {self.lifted_m * 1000:.0f} mm"] if self.lifted_m else []
        if self.carried_m > HAIR:
            moves.append("carried" if self.lifted_m else "slid")
        moves += [f"turned {abs(math.degrees(self.turned)):.0f}°"] if self.turned else []
        if self.then:
            return f"{', '.join([*moves, 'laid over on another side'])}; {self.then.how}"
        moves += [f"tipped {math.degrees(self.tipped):.0f}°"] if self.tipped else []
        if not moves:
            return "straight up"
        *most, last = moves
        return f"{', '.join(most)} and {last}, then up" if most else f"{last}, then up"


@dataclass(frozen=True, eq=False)
class Going:
    """One crate on its way out: what it is moved in, and past what: plans, and from which height to which, m."""

    levels: Levels
    one: Stowed
    others: tuple[tuple[Polygon, float, float], ...]
    room: Room


@dataclass(frozen=True, eq=False)
class End:
    """The end of a way: a spot on a level, and what is done from there on, so far turned and tipped, radians."""

    spot: Spot
    legs: tuple[Points, ...]
    turned: float = 0.0
    tipped: float = 0.0
    then: Way | None = None


Ends = Callable[[Going, float, Polygon], Iterator[End]]
"""Ends of ways, at a height, m, from where its middle is carried to there, x, y."""


def way_out(going: Going, height: float, ends: Ends, most: int = CHECKS) -> Way | None:
    """Return the first way at a height, m, that sweeps nothing but what is clear; None where none is of *most* ends.

    What one end is held up by holds up the next as a rule: that is looked at first, and how it gets there last.
    """
    area = _reached(going, height)
    if area is None:
        return None
    worst: int | None = -1  # the lid is where most fail
    for end in islice(ends(going, height, area), most):
        worst = going.room.met(end.legs, -1 if worst is None else worst)
        way = _carried(going, height, area, end) if worst is None else None
        if way is not None:
            return way
    return None


def level(going: Going, height: float, area: Polygon) -> Iterator[End]:
    """Yield ends that are never turned."""
    heading = going.one.heading
    for spot in _spots(going, shapely.intersection(area, _up(going, heading, height))):
        yield End(spot, tuple(pushed(_standing(going, heading, spot, height), _out(going, height))))


def turned(going: Going, height: float, area: Polygon) -> Iterator[End]:
    """Yield ends that are turned on the level about the vertical."""
    for angle in _angles():
        other = going.one.heading + angle
        for spot in _spots(going, shapely.intersection(area, _up(going, other, height))):
            legs = _spun(going, spot, height, angle)
            yield End(spot, (*legs, *pushed(_standing(going, other, spot, height), _out(going, height))), angle)


def tipped(going: Going, height: float, area: Polygon) -> Iterator[End]:
    """Yield ends that are tipped up about a lower edge; as it is turned, or turned square to the lid first."""
    levels = going.levels
    for angle in (0.0, *_square_to(levels.falls, going.one.heading)):
        heading = going.one.heading + angle
        free = area if not angle else shapely.intersection(area, _free(going, heading, height))
        for tip in tips(levels.form, heading, levels.falls, height) if not free.is_empty else ():
            windows = levels.windows(tip.fall, tip.low, tip.along, tip.window, tip.broad)
            for spot in _spots(going, shapely.intersection(free, _moved(windows, tip.aside))):
                swept = tip.swept(_standing(going, heading, spot, height), spot, height)
                yield End(spot, (*_spun(going, spot, height, angle), *swept), angle, tip.angle)


def laid_over(going: Going, height: float, area: Polygon) -> Iterator[End]:
    """Yield ends that are laid over on another side and go on from there, level or turned.

    Its corners keep to a circle: however it is moved, turned over it is as broad as its diagonal on the way.
    """
    form, heading = going.levels.form, going.one.heading
    for along, long, broad in (
        (heading, form.length, form.breadth),
        (heading + math.pi / 2, form.breadth, form.length),
    ):
        across = math.hypot(long, form.height) / math.cos(STEP / 2)  # the hulls of a swing reach so far
        side = going.levels.of(Block(form.height, broad, long))
        up, hub = np.array([0.0, 0.0, (across - form.height) / 2]), height + across / 2
        hinge = (math.sin(along), -math.cos(along), 0.0)
        found = 0
        for spot in _spots(going, shapely.intersection(area, going.levels.girths(hub, along, across, broad))):
            flat = _standing(going, heading, spot, height)
            legs = [*pushed(flat, up), *swung(flat + up, (*spot, hub), hinge, math.pi / 2)]
            if found < TRIED and going.room.is_clear(legs):
                found += 1
                then = _going_on(replace(going, levels=side, one=Stowed(along, (*spot, hub - long / 2))))
                if then is not None:
                    yield End(spot, (*legs, *then.legs), tipped=math.pi / 2, then=then)


def _going_on(going: Going) -> Way | None:
    """Return how a crate that is laid over goes on."""
    for ends in (level, turned):
        for height in going.levels.heights(going.one.at[2]):
            way = way_out(going, height, ends)
            if way is not None:
                return way
    return None


def _carried(going: Going, height: float, area: Polygon, end: End) -> Way | None:
    """Return the way to an end, lifted and carried on the level; None where that is not clear."""
    x, y, low = going.one.at
    chain = path(area, (x, y), end.spot)
    if chain is None:
        return None
    start = _standing(going, going.one.heading, (x, y), low)
    legs = pushed(start, (0.0, 0.0, height - low)) if height > low else []
    for (ax, ay), (bx, by) in pairwise(chain):
        legs += pushed(start + np.array([ax - x, ay - y, height - low]), (bx - ax, by - ay, 0.0))
    if not going.room.is_clear([*legs, *end.legs]):
        return None
    long = sum(math.dist(a, b) for a, b in pairwise(chain))
    return Way(height - low, long if long > HAIR else 0.0, end.turned, end.tipped, (*legs, *end.legs), end.then)


def _reached(going: Going, height: float) -> Polygon | None:
    """Return where its middle may go on a level, where it can be lifted to that as it stands; None where not."""
    x, y, low = going.one.at
    free = _free(going, going.one.heading, height)
    near = [one for one in shapely.get_parts(free) if one.distance(shapely.Point(x, y)) < TOUCH]
    lift = pushed(_standing(going, going.one.heading, (x, y), low), (0.0, 0.0, height - low))
    return near[0] if near and going.room.is_clear(lift) else None


def _free(going: Going, heading: float, height: float) -> BaseGeometry:
    area = going.levels.free(heading, height)
    return shapely.difference(area, _taken(going, heading, height, height + going.levels.form.height))


def _up(going: Going, heading: float, height: float) -> BaseGeometry:
    return shapely.difference(going.levels.up(heading, height), _taken(going, heading, height, math.inf))


def _taken(going: Going, heading: float, low: float, high: float) -> BaseGeometry:
    there = [plan for plan, foot, top in going.others if foot < high and top > low]
    return apart(there, going.levels.form, heading)


def _spots(going: Going, places: BaseGeometry) -> list[Spot]:
    return spots_of(places, going.one.at[:2])


def _standing(going: Going, heading: float, spot: Spot, height: float) -> Points:
    return upright(going.levels.form, heading, (*spot, height))


def _spun(going: Going, spot: Spot, height: float, angle: float) -> list[Points]:
    """Return what it sweeps where it is turned by an angle, radians, from its heading; nothing where by none."""
    flat = _standing(going, going.one.heading, spot, height)
    return swung(flat, (*spot, height), (0.0, 0.0, 1.0), angle) if angle else []


def _out(going: Going, height: float) -> tuple[float, float, float]:
    return 0.0, 0.0, max(fall.lip for fall in going.levels.falls) - height


def spots_of(places: BaseGeometry, at: Spot) -> list[Spot]:
    """Return places to carry to: the nearest, and those nearest to spots spread evenly, the near ones first."""
    if places.is_empty:
        return []
    x0, y0, x1, y1 = places.bounds
    spread = [(x, y) for x in (at[0], *np.linspace(x0, x1, TRIED)) for y in (at[1], *np.linspace(y0, y1, TRIED))]
    near = [shapely.ops.nearest_points(places, shapely.Point(spot))[0].coords[0] for spot in spread]
    found = {(round(float(x), 7), round(float(y), 7)) for x, y in near}
    return sorted(found, key=lambda one: (round(math.dist(one, at), 6), one))


def _moved(area: BaseGeometry, by: Points) -> BaseGeometry:
    return shapely.transform(area, lambda points: points + by)


def _angles() -> list[float]:
    """Return the turns that are tried, the small ones first."""
    step = math.pi / HEADINGS
    return [sign * number * step for number in range(1, HEADINGS // 2 + 1) for sign in (1, -1)]


def _square_to(falls: Sequence[Fall], heading: float) -> list[float]:
    """Return the turns, other than none, that bring a heading square to the axes, as lids lie; the least first."""
    off = (heading + math.pi / 4) % (math.pi / 2) - math.pi / 4
    turns = {round(-off, 9), round(-off + math.pi / 2, 9), round(-off - math.pi / 2, 9)} if falls else set()
    return sorted((one for one in turns if abs(one) > 1e-6), key=lambda one: (abs(one), one))
