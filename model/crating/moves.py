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
from tapeloft.model.solid import Solid, hulled

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


def about(axis: Spot, angle: float | Points) -> Points:
    """Return the turn by an angle, radians, about a unit axis (Rodrigues), (3, 3); of many angles (…,), (…, 3, 3)."""
    x, y, z = axis
    across = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
    sin, cos = np.sin(angle)[..., None, None], np.cos(angle)[..., None, None]
    turn: Points = np.eye(3) + sin * across + (1 - cos) * (across @ across)
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
    turns = about(axis, np.linspace(0.0, angle, count + 1))
    every: Points = np.einsum("kij,pj->kpi", turns, corners - pivot)
    start, end = every[:-1], every[1:]
    on_axis = (start @ along)[..., None] * along
    meet = on_axis + (start - on_axis) @ about(axis, step / 2).T / math.cos(step / 2)
    return list(np.concatenate([start, meet, end], axis=1) + pivot)


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
        return self.met(clouds) is None

    def met(self, clouds: Sequence[Points], first: int = -1) -> int | None:
        """Return which cloud's hull, looked at after those before it, leaves the space or meets what stands there.

        Counted from the last, which is −1; *first* is looked at first, then all others from the last to the first; None
        where all are clear together.
        """
        spilled = 0.0
        for number in sorted(range(-len(clouds), 0), key=lambda each: (each != first, -each)):
            spilled += self._spilled(clouds[number])
            if spilled > MEETS:
                return number
        return None

    def _spilled(self, cloud: Points) -> float:
        """Return how much of a hull is not clear, m³; what two that stand there share would count twice."""
        low, high = cloud.min(axis=0), cloud.max(axis=0)
        near = ((self._bounds[:, 0] < high) & (self._bounds[:, 1] > low)).all(axis=1)
        body = hulled(cloud)
        return (body - self.space).volume + sum((body ^ self.standing[k]).volume for k in np.flatnonzero(near))
