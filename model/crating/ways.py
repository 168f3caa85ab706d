"""How a crate gets out through a lid: carried on the level to under it, turned or tipped there if need be, and up.

Ways are looked for in this order, and the first that is proved is taken:

- level: at the height that it stands at, then lifted over what stands there; to where it goes straight up as it is.
  Along the level it goes the shortest path; there is none where this is not seen, for one heading and height.
- turned: the same, turned about the vertical where its middle may be at both headings.
- tipped: swung up about a lower edge by 15° to 90° under the lid, and straight out: upward, or along itself.

A way is proved by what it sweeps: each leg is straight or a swing, the hulls that cover it (`moves`) lie in the space
opened at its lids, and meet no crate that is still there. Where none is found, that is no proof that there is none.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
import shapely
import shapely.ops
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from tapeloft.model.crating.levels import Levels, apart
from tapeloft.model.crating.moves import Room, pushed, swung, upright
from tapeloft.model.crating.path import Spot, path
from tapeloft.model.crating.tipping import tips
from tapeloft.model.fall import Fall
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

    legs: the clouds of points, m, whose hulls cover what it sweeps, in order.
    """

    lifted_m: float
    carried_m: float
    turned: float = 0.0
    tipped: float = 0.0
    legs: tuple[Points, ...] = ()

    @property
    def how(self) -> str:
        """In words."""
        moves = [f"lifted {self.lifted_m * 1000:.0f} mm"] if self.lifted_m else []
        if self.carried_m > HAIR:
            moves.append("carried" if self.lifted_m else "slid")
        moves += [f"turned {abs(math.degrees(self.turned)):.0f}°"] if self.turned else []
        moves += [f"tipped {math.degrees(self.tipped):.0f}°"] if self.tipped else []
        if not moves:
            return "straight up"
        *most, last = moves
        return f"{', '.join(most)} and {last}, then up" if most else f"{last}, then up"


class Going:
    """One crate on its way out: what it is moved in, and past what."""

    def __init__(self, levels: Levels, one: Stowed, others: Sequence[tuple[Polygon, float]], room: Room) -> None:
        self.levels, self.one, self.others, self.room = levels, one, others, room
        self.start = upright(levels.form, one.heading, one.at)

    def level(self, height: float) -> Iterator[Way]:
        """Yield ways out at a height, never turned."""
        for area in self._reached(height):
            for way, _ in self._carried(height, area, shapely.intersection(area, self._up(self.one.heading, height))):
                yield replace(way, legs=(*way.legs, *pushed(self._there(way), self._out(height))))

    def turned(self, height: float) -> Iterator[Way]:
        """Yield ways out, turned on the level about the vertical."""
        for area in self._reached(height):
            for angle in _angles():
                other = self.one.heading + angle
                spots = shapely.intersection(area, self._up(other, height))
                for way, spot in self._carried(height, area, spots):
                    legs = swung(self._there(way), (*spot, height), (0.0, 0.0, 1.0), angle)
                    last = upright(self.levels.form, other, (*spot, height))
                    yield replace(way, turned=angle, legs=(*way.legs, *legs, *pushed(last, self._out(height))))

    def tipped(self, height: float) -> Iterator[Way]:
        """Yield ways out, tipped up about a lower edge; as it is turned, or turned square to the lid first."""
        for area in self._reached(height):
            for angle in (0.0, *_square_to(self.levels.falls, self.one.heading)):
                free = area if not angle else shapely.intersection(area, self._free(self.one.heading + angle, height))
                if not free.is_empty:
                    yield from self._tips(height, area, free, angle)

    def _tips(self, height: float, area: Polygon, free: BaseGeometry, turn: float) -> Iterator[Way]:
        form, heading, old = self.levels.form, self.one.heading + turn, self.one.heading
        for tip in tips(form, heading, self.levels.falls, height):
            windows = self.levels.windows(tip.fall, tip.low, tip.along, tip.window, tip.broad)
            for way, spot in self._carried(height, area, shapely.intersection(free, _moved(windows, tip.aside))):
                there = (*spot, height)
                turned = swung(upright(form, old, there), there, (0.0, 0.0, 1.0), turn) if turn else []
                legs = (*way.legs, *turned, *tip.swept(upright(form, heading, there), spot, height))
                yield replace(way, turned=turn, tipped=tip.angle, legs=legs)

    def _reached(self, height: float) -> Iterator[Polygon]:
        """Yield where its middle may go on a level, where it can be lifted to that as it stands; nothing where not."""
        x, y, low = self.one.at
        free = self._free(self.one.heading, height)
        near = [one for one in shapely.get_parts(free) if one.distance(shapely.Point(x, y)) < TOUCH]
        if near and self.room.is_clear(pushed(self.start, (0.0, 0.0, height - low))):
            yield near[0]

    def _free(self, heading: float, height: float) -> BaseGeometry:
        area = self.levels.free(heading, height)
        return shapely.difference(area, self._taken(heading, height, height + self.levels.form.height))

    def _up(self, heading: float, height: float) -> BaseGeometry:
        return shapely.difference(self.levels.up(heading, height), self._taken(heading, height, math.inf))

    def _taken(self, heading: float, low: float, high: float) -> BaseGeometry:
        tall = self.levels.form.height
        there = [plan for plan, foot in self.others if foot < high and foot + tall > low]
        return apart(there, self.levels.form, heading)

    def _carried(self, height: float, area: Polygon, ends: BaseGeometry) -> Iterator[tuple[Way, Spot]]:
        """Yield ways to some places on a level, lifted first."""
        x, y, low = self.one.at
        for spot in spots_of(ends, (x, y)):
            chain = path(area, (x, y), spot)
            if chain is not None:
                legs = pushed(self.start, (0.0, 0.0, height - low)) if height > low else []
                for (ax, ay), (bx, by) in pairwise(chain):
                    at = self.start + np.array([ax - x, ay - y, height - low])
                    legs += pushed(at, (bx - ax, by - ay, 0.0))
                long = sum(math.dist(a, b) for a, b in pairwise(chain))
                yield Way(height - low, long if long > HAIR else 0.0, legs=tuple(legs)), spot

    def _there(self, way: Way) -> Points:
        return way.legs[-1][8:] if way.legs else self.start

    def _out(self, height: float) -> tuple[float, float, float]:
        return 0.0, 0.0, max(fall.lip for fall in self.levels.falls) - height


def proved(ways: Iterator[Way], room: Room, most: int = CHECKS) -> Way | None:
    """Return the first of some ways that sweeps nothing but what is clear; None where none of the first *most* does."""
    for _, way in zip(range(most), ways, strict=False):
        if room.is_clear(way.legs[-1:]) and room.is_clear(way.legs):  # the lid is where most fail
            return way
    return None


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
