"""A cylinder lying down: a water heater, a calorifier, a gas bottle in its cradle."""

import math
from dataclasses import dataclass
from typing import Annotated, Literal

from tapeloft.shapes.asked import run, size, spot
from tapeloft.shapes.polyhedron import Bounds, Polyhedron, Round, circle, prism
from tapeloft.shapes.readings import AcrossOrAt, AlongOrAt, Height, Length, Word
from tapeloft.shapes.registry import shape


@shape("cylinder")
@dataclass(frozen=True)
class Cylinder:
    """A cylinder lying down, fore and aft (axis x) or athwartships (axis y), on something level.

    The reading along the axis is from, to; the other one is that of its centre.

    >>> lying = Cylinder(axis="x", x=(0.5, 1.2), y=0.5, lies_on=0.02, diameter=0.3)
    >>> float(lying.bodies(Bounds((0, 0, 0), (2, 1, 1)), Round.OUTSIDE)[0].vertices[:, 2].min().round(12))
    0.02
    """

    axis: Annotated[Literal["x", "y"], Word("the way that it lies")] = "x"
    x: AlongOrAt = (0.6, 1.3)
    y: AcrossOrAt = 0.6
    lies_on: Annotated[float, Height("height of what it lies on")] = 0.03
    diameter: Annotated[float, Length("its diameter")] = 0.3

    def bodies(self, space: Bounds, how: Round) -> tuple[Polyhedron, ...]:
        """Return the cylinder; ValueError where its readings do not go with its axis."""
        radius = size(self.diameter, "its diameter") / 2
        floor = space.wall(2, self.lies_on) if self.lies_on == -math.inf else spot(self.lies_on, "lies_on, a height")
        if self.axis == "x":
            low, high = run(space, 0, self.x)
            return (prism(circle((spot(self.y, "y, its centre"), floor + radius), radius, how), low, high, 0),)
        low, high = run(space, 1, self.y)
        return (prism(circle((spot(self.x, "x, its centre"), floor + radius), radius, how), low, high, 1),)
