"""What stands between two points: a tape that would run through a battery box is not asked for where another does."""

import numpy as np
from numpy.typing import NDArray

from tapeloft.model.measuring.across import Blocked
from tapeloft.model.moments import Points
from tapeloft.model.survey.survey import Survey
from tapeloft.shapes.polyhedron import Bounds, Polyhedron, Round
from tapeloft.shapes.registry import Shape

TOUCH = 0.005  # m that a tape may cut into the box around a thing: it lies along it


def hindrance(survey: Survey, spots: Points) -> Blocked:
    """Return a question: does what stands in *survey*, and stays there, hinder a straight tape from *a* to *b*?

    spots (n, 3) m: the corners of the space. Each body counts as the upright box around it. What can be taken out is
    taken out before it is measured, and what makes no body hinders nothing.
    """
    if not len(spots):
        return lambda a, b: False
    space = Bounds(tuple(spots.min(axis=0)), tuple(spots.max(axis=0)))
    bodies = [body for one in survey.obstructions if not one.removable for body in _bodies(one.shape, space)]
    lows = np.array([body.vertices.min(axis=0) + TOUCH for body in bodies]).reshape(-1, 3)
    highs = np.array([body.vertices.max(axis=0) - TOUCH for body in bodies]).reshape(-1, 3)

    def blocked(a: Points, b: Points) -> bool:
        return bool(_cut(a, b, lows, highs).any())

    return blocked


def _bodies(shape: Shape, space: Bounds) -> tuple[Polyhedron, ...]:
    try:
        return shape.bodies(space, Round.OUTSIDE)
    except ValueError:
        return ()


def _cut(a: Points, b: Points, lows: Points, highs: Points) -> NDArray[np.bool_]:
    """Whether the line from a to b passes through each upright box: between all three pairs of its faces at once."""
    way = b - a
    still = np.abs(way) < 1e-12
    safe = np.where(still, 1.0, way)
    one, other = (lows - a) / safe, (highs - a) / safe
    enters = np.where(still, np.where((lows <= a) & (a <= highs), -np.inf, np.inf), np.minimum(one, other))
    leaves = np.where(still, np.where((lows <= a) & (a <= highs), np.inf, -np.inf), np.maximum(one, other))
    cut: NDArray[np.bool_] = (np.maximum(enters.max(axis=1), 0.0) < np.minimum(leaves.min(axis=1), 1.0)) & (
        lows < highs
    ).all(axis=1)
    return cut
