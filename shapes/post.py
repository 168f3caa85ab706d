"""A straight post: a compression post, a stanchion foot, a chain pipe, a rudder-stock tube."""

from dataclasses import dataclass
from typing import Annotated, Literal

import numpy as np

from tapeloft.shapes.asked import run, size, spot
from tapeloft.shapes.polyhedron import Bounds, Polyhedron, Round, circle, prism, tube
from tapeloft.shapes.readings import AcrossOrAt, AlongOrAt, Choice, Length, UpOrAt
from tapeloft.shapes.registry import shape

AXES = {"x": 0, "y": 1, "z": 2}
CENTRE = {"x": "station", "y": "half-breadth", "z": "height"}
SQUARE = np.array([[-0.5, -0.5], [0.5, -0.5], [0.5, 0.5], [-0.5, 0.5]])


@shape("post")
@dataclass(frozen=True)
class Post:
    """A straight post, round, square or a tube, upright or lying along an axis.

    The two readings square to its axis are those of its centre; the one along the axis is from, to, or left out.
    A tube's closed bore is no space of the compartment; an open bore is.

    >>> post = Post(x=0.96, y=0.505, diameter=0.06).bodies(Bounds((0, 0, 0), (2, 1, 1)), Round.INSIDE)[0]
    >>> float(post.vertices[:, 2].max()), float(np.hypot(*(post.vertices[0, :2] - (0.96, 0.505))).round(12))
    (1.001, 0.03)
    """

    x: AlongOrAt = 1.0
    y: AcrossOrAt = 0.5
    z: UpOrAt = None
    axis: Annotated[Literal["x", "y", "z"], Choice("the way that it runs")] = "z"
    section: Annotated[Literal["round", "square", "tube"], Choice("its section")] = "round"
    diameter: Annotated[float | None, Length("outside diameter of a round post or a tube")] = 0.06
    side: Annotated[float | None, Length("side of a square post")] = None
    wall: Annotated[float | None, Length("wall thickness of a tube, where its bore is open")] = None
    bore: Annotated[Literal["closed", "open"], Choice("open: what is inside the tube is space too")] = "closed"

    def bodies(self, space: Bounds, how: Round) -> tuple[Polyhedron, ...]:
        """Return the post; ValueError where its size is missing, or its readings do not go with its axis."""
        self._check_section()
        axis = AXES[self.axis]
        low, high = run(space, axis, getattr(self, self.axis))
        a, b = (
            spot(getattr(self, name), f"{name}, {of} of its centre") for name, of in CENTRE.items() if name != self.axis
        )
        if self.section == "square":
            return (prism(SQUARE * size(self.side, "the side of a square post") + (a, b), low, high, axis),)
        radius = size(self.diameter, "its diameter") / 2
        outer = circle((a, b), radius, how)
        if self.bore == "closed":
            return (prism(outer, low, high, axis),)
        inner = circle((a, b), self._inner_radius(radius), how.turned())
        if how is Round.INSIDE and np.ptp(inner) >= np.ptp(outer):
            return ()  # too thin for straight sides to lie within it
        return (tube(outer, inner, low, high, axis),)

    def _check_section(self) -> None:
        if self.side is not None and self.section != "square":
            raise ValueError(f'side is for section = "square", and the section is "{self.section}"')
        if (self.wall is not None or self.bore == "open") and self.section != "tube":
            raise ValueError(f'wall and bore are for section = "tube", and the section is "{self.section}"')

    def _inner_radius(self, radius: float) -> float:
        wall = size(self.wall, "the wall thickness of a tube with an open bore")
        if wall >= radius:
            raise ValueError("the wall of the tube is as thick as half its diameter: it has no bore")
        return radius - wall
