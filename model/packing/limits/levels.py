"""How much of a plane square to an axis a thing takes up: weights on planes limit how many go in, as on points.

Whatever its yaw, a thing at some height takes up the same area of each level plane, and of a plane no more is taken
up than there is. So if weights for each square metre, one for each level, give every thing at least 1 at whatever
height it is, no more things go in than the whole area weighs. Things that are not turned take up as much of planes
across and along, too.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tapeloft.model.capacity import filled_to
from tapeloft.model.moments import Points
from tapeloft.model.packing.limits.cells import Cells
from tapeloft.model.packing.limits.placements import FLUSH, Body
from tapeloft.model.packing.limits.weighing import weighed
from tapeloft.model.packing.pieces import hulled
from tapeloft.model.proof.walls import Numbers
from tapeloft.model.solid import Solid, closed

STEPS = 24  # levels over the least height of a body
MANY = 400  # levels at most
BESIDE = 0.37  # of a step: how far over the bottom the first level is, clear of steps in the space
SAMPLES = 65  # heights at which a body's section is measured
WITHIN = 1e-7  # of a body's height: how far within its ends the first and the last of them are
SMALLER = 1 - 1e-9  # on the area of a section, for rounding


@dataclass(frozen=True, eq=False)
class Planes:
    """Planes square to one axis: where they are, the area of the space in each, and the section of each body.

    profiles: for each body, heights about its origin, rising, and the square root of its area there, (2, k). Between
    the heights the straight line is no more than the root, for a convex body has one that is concave.
    """

    axis: int
    levels: Numbers  # (n,) m
    areas: Numbers  # (n,) m²
    profiles: tuple[Numbers, ...]


def planes(space: Solid, bodies: Sequence[Body], axis: int, steps: int = STEPS, many: int = MANY) -> Planes:
    """Return planes square to an axis, so many over the least size of a body that way, but no more than *many*."""
    low, high = space.bounds[:, axis].tolist()
    step = max(min(float(np.ptp(body.corners[:, axis])) for body in bodies) / steps, (high - low) / many)
    levels = np.arange(low + BESIDE * step, high, step)
    upright = closed(np.roll(space.vertices, 2 - axis, axis=1), space.triangles)
    profiles = tuple(_profile(np.roll(body.core, 2 - axis, axis=1)) for body in bodies)
    return Planes(axis, levels, filled_to(upright, levels).plan_area_m2, profiles)


def taken_up(some: Planes, cells: Cells) -> Numbers:
    """Return the least area, m², that each cell takes up of each plane at every placement in it, (cells, planes)."""
    found = np.zeros((len(cells.base), len(some.levels)))
    for base, (heights, roots) in enumerate(some.profiles):
        own = cells.base == base
        off = some.levels - cells.place[own, some.axis, None]
        half = cells.half[own, some.axis, None]
        ends = [np.interp(off + way * half, heights, roots, left=0.0, right=0.0) for way in (-1, 1)]
        found[own] = np.minimum(*ends) ** 2
    return found


def levelled(space: Solid, bodies: Sequence[Body], axis: int = 2, bounds: Points | None = None) -> float:
    """Return a limit on how many things go in a space, each of which holds one of *bodies* somewhere.

    By planes square to an axis; where bodies are yawed, to z only. bounds (2, 3): a box that all bodies are in, grown
    by all of the clearance, if that is not the box around the space: of the space only what they can take up matters.

    >>> from tapeloft.model.facets import body
    >>> from tapeloft.model.gear.forms import Block
    >>> from tapeloft.model.gear.turn import Turn
    >>> from tapeloft.model.packing.limits.within import bodies_within
    >>> from tapeloft.shapes.polyhedron import box
    >>> shed = body(box((0, 0, 0), (1, 1, 1.9)))
    >>> round(levelled(shed, bodies_within(Block(0.5, 0.5, 1.0), Turn.UPRIGHT, 0.0)), 6)
    4.0
    """
    level = planes(space, bodies, axis)
    ends = (space.bounds if bounds is None else bounds)[:, axis]
    rows = np.vstack([taken_up(level, heights(base, one, ends, axis)) for base, one in enumerate(bodies)])
    return weighed(level.areas, rows)[0] if len(rows) else 0.0


def heights(base: int, one: Body, ends: Numbers, axis: int) -> Cells:
    """Return cells that tell nothing but where along an axis a body is that lies between two *ends*."""
    low, high = ends - [one.corners[:, axis].min() + FLUSH, one.corners[:, axis].max() - FLUSH]
    many = math.ceil((high - low) / float(np.ptp(one.corners[:, axis])) * 2 * STEPS) + 1 if high >= low else 0
    half = (high - low) / max(many, 1) / 2
    place = np.zeros((many, 3))
    place[:, axis] = low + half * (2 * np.arange(many) + 1)
    return Cells(np.full(many, base), np.zeros((many, 2)), place, np.full((many, 3), half + 1e-12))


def _profile(corners: Numbers) -> Numbers:
    """Return heights, rising, and the square root of the area of the section there of a hull, (2, k)."""
    solid = hulled(corners)
    low, high = corners[:, 2].min(), corners[:, 2].max()
    heights = np.linspace(low + WITHIN * (high - low), high - WITHIN * (high - low), SAMPLES)
    return np.stack([heights, np.sqrt(filled_to(solid, heights).plan_area_m2 * SMALLER)])
