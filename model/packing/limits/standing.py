"""At most how many round things stand side by side: circles do not fill a plane, and at its edge still less.

Points of a convex figure of area A and perimeter P that are no nearer to each other than d number no more than
2 A / (√3 d²) + P / (2 d) + 1 (Groemer, "Über die Einlagerung von Kreisen in einen konvexen Bereich", Math. Z. 73 (1960)
285-294; as hulls of circles in "Groemer theorem", MathWorld). An upright round thing takes up a circle of each level
plane that meets its upright sides; the middles of the circles are such points, in the hull of what the plane cuts out
of the space, drawn in by the radius. Weights on planes do the rest, as in `limits.levels`.
"""

import math
from itertools import pairwise

import numpy as np

from tapeloft.model.moments import Points
from tapeloft.model.packing.limits.levels import heights, planes
from tapeloft.model.packing.limits.placements import Body
from tapeloft.model.packing.limits.weighing import weighed
from tapeloft.model.proof.walls import Numbers
from tapeloft.model.solid import Solid

CELL = 2 * math.sqrt(3)  # of the square of a circle's radius: the least that it takes up in a plane full of them
NARROWER = 1 - 1e-9  # on the radius of a circle, for rounding
LOOSE = 1e-6  # m: by how much less than its radius the hull is drawn in
MORE = 1e-6  # of 1: on a count, for rounding


def stood(space: Solid, one: Body, bounds: Points, kept: Points) -> float:
    """Return a limit on how many upright round things go in a space; infinite where they have no upright sides.

    one: the body that each holds, which any spin about z leaves within it; bounds (2, 3): a box that it is in, grown by
    all of the clearance; kept (n, 3): the corners of one, grown by as much of the clearance as the space has for it.

    >>> from tapeloft.model.facets import body
    >>> from tapeloft.model.gear.forms import Cylinder
    >>> from tapeloft.model.gear.turn import Turn
    >>> from tapeloft.model.packing.limits.within import bodies_within
    >>> from tapeloft.shapes.polyhedron import box
    >>> shelf = body(box((0, 0, 0), (1, 1, 0.3)))
    >>> (can,) = bodies_within(Cylinder(0.1, 0.3), Turn.UPRIGHT, 0.0)
    >>> math.floor(stood(shelf, can, shelf.bounds, can.corners))
    112
    """
    (radius, low, high), outer = _column(one.core), _column(kept)[0]
    if not low < high:
        return math.inf
    ends = heights(0, one, bounds[:, 2], 2)
    if not len(ends.base):
        return 0.0
    level = planes(space, [one], 2)
    off, half = level.levels - ends.place[:, 2, None], ends.half[:, 2, None]
    covers = (off - half >= low) & (off + half <= high)
    full = np.floor(level.areas / (math.pi * radius**2) + MORE)
    beside = [_beside(space, height, radius, outer) for height in level.levels.tolist()]
    return weighed(np.minimum(full, beside), covers.astype(np.float64))[0]


def _column(corners: Points) -> tuple[float, float, float]:
    """Return the radius of what a hull of corners is widest as, spun about z, and from where to where it is so wide.

    What any spin leaves as it is holds all that the hull sweeps.
    """
    out = np.hypot(corners[:, 0], corners[:, 1])
    radius = float(out.max()) * NARROWER
    widest = corners[out >= radius, 2]
    return radius, float(widest.min()), float(widest.max())


def _beside(space: Solid, height: float, radius: float, outer: float) -> int:
    """Return how many circles of a radius go side by side where a level plane cuts a space, each in one of *outer*."""
    figure = _drawn_in(_outline(space, height), outer - LOOSE)
    if not len(figure):
        return 0
    along = np.roll(figure, -1, axis=0)
    area = float((figure[:, 0] * along[:, 1] - figure[:, 1] * along[:, 0]).sum()) / 2
    around = float(np.linalg.norm(along - figure, axis=1).sum())
    return math.floor((area / (CELL * radius**2) + around / (4 * radius) + 1) * (1 + MORE))


def _outline(space: Solid, height: float) -> Points:
    """Return the corners, anticlockwise, of the hull of what a level plane cuts out of a space, (n, 2)."""
    from scipy.spatial import ConvexHull, QhullError

    corners = space.vertices[space.triangles]
    here, there = corners.reshape(-1, 3), np.roll(corners, -1, axis=1).reshape(-1, 3)
    over, under = here[:, 2] - height, there[:, 2] - height
    met = over * under <= 0
    share = np.divide(over, over - under, out=np.zeros_like(over), where=met & (over != under))[:, None]
    points = np.vstack([(here + share * (there - here))[met], there[met & (under == 0)]])
    try:
        hull = ConvexHull(points[:, :2])
    except (QhullError, ValueError):  # no more than a line, which holds no circle
        return np.empty((0, 2))
    found: Points = points[hull.vertices, :2]
    return found


def _drawn_in(figure: Points, by: float) -> Points:
    """Return a convex figure, anticlockwise, without all that is nearer than so much to its edge."""
    found = figure
    for a, b in pairwise([*figure, *figure[:1]]):
        length = float(np.linalg.norm(b - a))
        if length > 0:
            inward = np.array([a[1] - b[1], b[0] - a[0]]) / length
            found = _before(found, found @ inward - float(a @ inward) - by)
    return found


def _before(figure: Points, off: Numbers) -> Points:
    """Return the part of a convex figure where *off*, known at its corners, is no less than 0."""
    kept = []
    for k in range(len(figure)):
        after = (k + 1) % len(figure)
        if off[k] >= 0:
            kept.append(figure[k])
        if (off[k] < 0) != (off[after] < 0):
            kept.append(figure[k] + off[k] / (off[k] - off[after]) * (figure[after] - figure[k]))
    return np.array(kept).reshape(-1, 2)
