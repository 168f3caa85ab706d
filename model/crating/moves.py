"""What a box sweeps as it is moved: straight, or swung about an axis; clouds of points whose hulls cover it.

A convex body that is moved straight sweeps the hull of its two ends: exactly. Swung by an angle its corners run along
arcs; each lies in the triangle of its ends and of where the tangents at them meet, and so the body, at any angle
between, in the hull of these.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from tapeloft.model.gear.forms import Block
from tapeloft.model.moments import Points
from tapeloft.model.solid import Solid, hulls, united

HAIR = 3e-5  # m: so much smaller all round a box is drawn that is moved, for places are rounded to the kernel's grid
STEP = math.radians(6.0)  # of a swing, that one hull covers
MEETS = 1e-10  # m³: a tenth of a cubic millimetre, what rounding may leave of a sweep in what it must not meet

Spot = Sequence[float] | Points
"""A point or a direction, (3,) m."""


def upright(form: Block, heading: float, at: Spot) -> Points:
    """Return the corners, (8, 3) m, of a box on its bottom: its heading, radians, and the middle of the bottom."""
    a, b = form.length / 2 - HAIR, form.breadth / 2 - HAIR
    square = np.array([(x, y, z) for x in (-a, a) for y in (-b, b) for z in (HAIR, form.height - HAIR)])
    return square @ about((0.0, 0.0, 1.0), heading).T + at


def about(axis: Spot, angle: float) -> Points:
    """Return the turn by an angle, radians, about a unit axis (Rodrigues), (3, 3)."""
    x, y, z = axis
    across = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
    turn: Points = np.eye(3) + math.sin(angle) * across + (1 - math.cos(angle)) * across @ across
    return turn


def pushed(corners: Points, by: Spot) -> list[Points]:
    """Return what covers a box moved straight by (x, y, z), m."""
    return [np.vstack([corners, corners + by])]


def swung(corners: Points, pivot: Spot, axis: Spot, angle: float) -> list[Points]:
    """Return what covers a box swung by an angle, radians, about an axis through a pivot, m.

    >>> corners = upright(Block(2.0, 1.0, 1.0), 0.0, (0.0, 0.0, 0.0))
    >>> far = [np.hypot(*cloud[:, :2].T).max() for cloud in swung(corners, (0, 0, 0), (0, 0, 1), math.pi / 2)]
    >>> bool(max(far) < math.hypot(1.0, 0.5) * 1.0014), len(far)
    (True, 15)
    """
    count = max(1, math.ceil(abs(angle) / STEP - 1e-9))
    step = angle / count
    along = np.array(axis, np.float64)
    clouds = []
    for k in range(count):
        start = (corners - pivot) @ about(axis, k * step).T
        on_axis = np.outer(start @ along, along)
        meet = on_axis + (start - on_axis) @ about(axis, step / 2).T / math.cos(step / 2)
        clouds.append(np.vstack([start, meet, start @ about(axis, step).T]) + pivot)
    return clouds


@dataclass(frozen=True, eq=False)
class Room:
    """What a box is moved in: a space, opened at its lids and to the air over them, and what stands in its way."""

    space: Solid
    standing: tuple[Solid, ...]

    @cached_property
    def _bounds(self) -> Points:
        return np.array([one.bounds for one in self.standing]).reshape(-1, 2, 3)

    def is_clear(self, clouds: Sequence[Points]) -> bool:
        """Whether the hulls of some clouds of points lie in the space and meet nothing that stands there."""
        swept = hulls(clouds)
        if (swept - self.space).volume > MEETS:
            return False
        low, high = swept.bounds
        near = ((self._bounds[:, 0] < high) & (self._bounds[:, 1] > low)).all(axis=1)
        others = [one for one, is_near in zip(self.standing, near, strict=True) if is_near]
        return not others or (swept ^ united(others)).volume <= MEETS
