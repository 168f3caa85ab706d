"""Whether a person stands upright in an outline: the breadth of shoulders by the depth of a chest, turned any way."""

import math
from dataclasses import dataclass
from itertools import pairwise

import shapely
import shapely.ops
from shapely import LineString, affinity
from shapely.geometry.base import BaseGeometry

from tapeloft.model.cutting.outline import polygons
from tapeloft.model.cutting.walls import rings

HEADINGS = (0, 15, -15, 30, -30, 45, -45, 60, -60, 75, -75, 90)  # degrees off facing the steps
QUARTER = 32  # sides of a quarter circle
DRAWN = 1 / math.cos(math.pi / 4 / QUARTER)
HALVINGS = 10


@dataclass(frozen=True)
class Person:
    """A person from above: an ellipse, breadth of the shoulders by depth of the chest, m.

    580 × 330 is the body ellipse of S. Pheasant, Bodyspace, second edition, page 47 (630 × 380 with 25 mm for clothes
    all round, the largest of 95 of 100 men) without the clothes; it goes round the breadth of shoulders and the depth
    of chest that 95 of 100 men of ANSUR II (2012, public data) do not pass, 567 and 298 mm.
    """

    breadth: float = 0.580
    depth: float = 0.330


@dataclass(frozen=True)
class Stand:
    """Where a person stands: the middle, m, in the outline's axes, and the heading, degrees off along y."""

    at: tuple[float, float]
    heading: int


Middles = tuple[tuple[int, BaseGeometry], ...]
"""By heading, where in an area the middle of a person may be."""


def middles(area: BaseGeometry, person: Person) -> Middles:
    """Return where in an area a person may stand, facing along y first, then turned further, in steps of 15°."""
    found = ((heading, _middles(area, person, heading)) for heading in HEADINGS)
    return tuple((heading, free) for heading, free in found if not free.is_empty)


def stand_among(free: Middles, near: tuple[float, float], reach: float) -> Stand | None:
    """Return where a person stands, the middle no more than *reach* m from a spot *near*; None where nowhere."""
    spot = shapely.Point(near)
    for heading, area in free:
        if shapely.distance(area, spot) <= reach:
            there = shapely.ops.nearest_points(area, spot)[0]
            return Stand((float(there.x), float(there.y)), heading)
    return None


def largest_share(area: BaseGeometry, person: Person, near: tuple[float, float], reach: float) -> float:
    """Return how large a person stands there, as a share of *person* in breadth and depth, up to one."""
    low, high = 0.0, 1.0
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        one = Person(person.breadth * middle, person.depth * middle)
        low, high = (middle, high) if stand_among(middles(area, one), near, reach) else (low, middle)
    return low


def _middles(area: BaseGeometry, person: Person, heading: int) -> BaseGeometry:
    """Return where the middle may be: the ellipse made a circle, what it sweeps along the edge is left out."""
    turned = affinity.rotate(area, -heading, origin=(0, 0))
    a, b = person.breadth / 2, person.depth / 2
    round_ = affinity.scale(turned, 1 / a, 1 / b, origin=(0, 0))
    edges = [LineString(edge) for ring in rings(polygons(round_)) for edge in pairwise(ring)]
    left = shapely.difference(round_, shapely.union_all(shapely.buffer(edges, DRAWN, quad_segs=QUARTER)))
    return affinity.rotate(affinity.scale(left, a, b, origin=(0, 0)), heading, origin=(0, 0))
