"""How a crate gets to where it goes straight up: as it stands, slid along the floor, or slid and turned there.

What it sweeps is held against what is free: the hull of its plan at both ends of a straight slide; of a turn the plans
at every TURN, grown by how far a corner strays between two of them.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
import shapely.ops
from shapely import MultiPolygon, Polygon, affinity
from shapely.geometry.base import BaseGeometry

from tapeloft.model.cutting.centres import centres
from tapeloft.model.gear.forms import Block

TOUCH = 1e-6  # m
HAIR = 5e-4  # m: a crate that is slid by less goes straight up
TURN = math.radians(3.0)
HEADINGS = 12  # to a half turn, that a crate is turned to
TRIED = 4  # places to each side that it is slid to


@dataclass(frozen=True)
class Way:
    """How a crate goes out, in words, and how far it is slid first, m."""

    how: str
    slid_m: float


def plan_of(form: Block, heading: float, x: float, y: float) -> Polygon:
    """Return the plan of a crate, turned by *heading* radians, its middle at x, y, m."""
    a, b = form.length / 2, form.breadth / 2
    square = shapely.box(-a, -b, a, b)
    return affinity.translate(affinity.rotate(square, heading, origin=(0, 0), use_radians=True), x, y)


def way_out(
    form: Block, heading: float, at: tuple[float, float], free: MultiPolygon, ups: Sequence[MultiPolygon]
) -> Way | None:
    """Return the way of a crate at x, y, m, through what is *free* of a floor to one of some places where it goes up.

    heading: radians. None where none is seen, which is no proof that there is none.
    """
    room = shapely.buffer(free, TOUCH)
    places = shapely.union_all([_places(form, heading, up) for up in ups])
    if not places.is_empty:
        if places.distance(shapely.Point(at)) < TOUCH:
            return Way("straight up", 0.0)
        for spot in _spots(places, at):
            if _slides(form, heading, at, spot, room):
                slid = math.dist(at, spot)
                return Way("slid, then up", slid) if slid > HAIR else Way("straight up", slid)
    for k in range(1, HEADINGS):
        other = heading + (math.pi * ((k + 1) // 2) / HEADINGS) * (1 if k % 2 else -1)
        for spot in _spots(shapely.union_all([_places(form, other, up) for up in ups]), at):
            if _turns(form, heading, other, spot, room) and _slides(form, heading, at, spot, room):
                return Way("slid and turned, then up", math.dist(at, spot))
    return None


def _places(form: Block, heading: float, up: MultiPolygon) -> BaseGeometry:
    seen = affinity.rotate(up, -heading, origin=(0, 0), use_radians=True)
    return affinity.rotate(centres(seen, form.length, form.breadth), heading, origin=(0, 0), use_radians=True)


def _spots(places: BaseGeometry, at: tuple[float, float]) -> list[tuple[float, float]]:
    """Return places to slide to: the nearest, and those nearest to spots spread evenly and straight aside, near ones
    first.
    """
    if places.is_empty:
        return []
    x0, y0, x1, y1 = places.bounds
    spread = [(x, y) for x in (at[0], *np.linspace(x0, x1, TRIED)) for y in (at[1], *np.linspace(y0, y1, TRIED))]
    near = shapely.ops.nearest_points
    found = {near(places, shapely.Point(spot))[0].coords[0] for spot in spread}
    return sorted(((float(x), float(y)) for x, y in found), key=lambda one: math.dist(one, at))


def _slides(
    form: Block, heading: float, at: tuple[float, float], spot: tuple[float, float], room: BaseGeometry
) -> bool:
    """Whether a crate slides straight to a spot, or along its own two axes one after the other, either first."""
    if not room.contains(plan_of(form, heading, *spot)):
        return False
    way = np.subtract(spot, at)
    along = np.array([math.cos(heading), math.sin(heading)])
    corner = np.array(at) + along * (way @ along)
    other = np.array(spot) - along * (way @ along)
    return any(
        all(_swept(form, heading, a, b, room) for a, b in legs)
        for legs in (((at, spot),), ((at, corner), (corner, spot)), ((at, other), (other, spot)))
    )


def _swept(form: Block, heading: float, a: Sequence[float], b: Sequence[float], room: BaseGeometry) -> bool:
    both = shapely.union(plan_of(form, heading, a[0], a[1]), plan_of(form, heading, b[0], b[1]))
    return bool(room.contains(both.convex_hull))


def _turns(form: Block, heading: float, other: float, spot: tuple[float, float], room: BaseGeometry) -> bool:
    count = max(1, math.ceil(abs(other - heading) / TURN))
    strays = math.hypot(form.length, form.breadth) / 2 * (1 - math.cos((other - heading) / count / 2))
    plans = [plan_of(form, heading + (other - heading) * k / count, *spot) for k in range(count + 1)]
    return bool(room.contains(shapely.buffer(shapely.union_all(plans), abs(strays) * 1.001, join_style="mitre")))
