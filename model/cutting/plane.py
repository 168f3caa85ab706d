"""The plane that a board lies in, and its own axes: level, square to the keel, fore and aft, or leaning."""

import math
from dataclasses import dataclass, replace

import numpy as np

from tapeloft.model.errors import GeometryError
from tapeloft.model.moments import Points
from tapeloft.model.solid import Solid

STEEPEST = 60.0  # degrees that a plane leans

Three = tuple[float, float, float]


@dataclass(frozen=True)
class Plane:
    """A plane with axes of its own, in compartment axes, m.

    right and up span it and toward is square to it, so that the face it looks to is seen with right to the right and
    up up. ways: what right and up are called on board; face: what the face is that looks toward.
    """

    start: Three
    right: Three
    up: Three
    ways: tuple[str, str]
    face: str
    told: str

    @property
    def axes(self) -> Points:
        """The rows right, up and toward, (3, 3), right-handed."""
        return np.array([self.right, self.up, np.cross(self.right, self.up)]) + 0.0  # no negative zeros

    @property
    def beneath(self) -> str:
        """Where what its face hides lies, in words."""
        return "under" if self.face == "upper face" else "behind"

    def shifted(self, by: float) -> "Plane":
        """Return it *by* m farther along its normal."""
        x, y, z = (np.array(self.start) + by * self.axes[2]).tolist()
        return replace(self, start=(x, y, z))

    def seen(self, solid: Solid) -> Solid:
        """Return a solid in the plane's axes."""
        return solid.turned(self.axes).moved((-self.axes @ self.start).tolist())

    def placed(self, solid: Solid) -> Solid:
        """Return a solid of the plane's axes where it lies in the compartment."""
        return solid.turned(self.axes.T).moved(self.start)

    def spots(self, points: Points) -> Points:
        """Return points, (…, 3) m, in the plane's axes."""
        there: Points = (points - np.array(self.start)) @ self.axes.T
        return there


def at_height(height: float, lean: float = 0.0) -> Plane:
    """Return the plane at a *height*, m, that rises forward by *lean* degrees through x = 0; seen from above.

    >>> at_height(0.3).axes.tolist()
    [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]]
    """
    c, s = _turn(lean)
    return Plane((0.0, 0.0, height), (c, 0.0, s), (0.0, 1.0, 0.0), ("forward", "port"), "upper face", "height")


def at_station(at: float, lean: float = 0.0) -> Plane:
    """Return the plane at a distance *at*, m forward, whose top leans forward by *lean* degrees about z = 0.

    >>> at_station(0.7).axes.tolist()
    [[0.0, 1.0, 0.0], [0.0, 0.0, 1.0], [1.0, 0.0, 0.0]]
    """
    c, s = _turn(lean)
    return Plane((at, 0.0, 0.0), (0.0, 1.0, 0.0), (s, 0.0, c), ("port", "up"), "forward face", "station")


def at_half_breadth(y: float, lean: float = 0.0) -> Plane:
    """Return the plane fore and aft at *y*, m to port, whose top leans to port by *lean* degrees about z = 0.

    >>> at_half_breadth(0.3).axes.tolist()
    [[-1.0, 0.0, 0.0], [0.0, 0.0, 1.0], [0.0, 1.0, 0.0]]
    """
    c, s = _turn(lean)
    return Plane((0.0, y, 0.0), (-1.0, 0.0, 0.0), (0.0, s, c), ("aft", "up"), "port face", "half-breadth")


def _turn(lean: float) -> tuple[float, float]:
    if not -STEEPEST <= lean <= STEEPEST:
        raise GeometryError(f"a lean of {lean:g}°: it has to be -{STEEPEST:g} to {STEEPEST:g}")
    return math.cos(math.radians(lean)), math.sin(math.radians(lean))
