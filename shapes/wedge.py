"""A wedge: a ramp, the slope over a stern tube, a tank with a sloping top."""

import math
from dataclasses import dataclass
from typing import Annotated

import numpy as np

from tapeloft.shapes.asked import run, spot
from tapeloft.shapes.polyhedron import NO_SIZE, TOWARD, Bounds, Points, Polyhedron, Round, prism
from tapeloft.shapes.readings import Across, Along, Height, Toward
from tapeloft.shapes.registry import shape


@shape("wedge")
@dataclass(frozen=True)
class Wedge:
    """A wedge or ramp: upright sides, and a top that slopes evenly from a low end to a high one.

    low and high are taped at the ends of its range, or at the walls where that is left out.

    >>> wedge = Wedge(rises="port", x=(0.2, 0.6), y=(0.1, 0.5), z=0.0, low=0.0, high=0.3)
    >>> wedge.bodies(Bounds((0, 0, 0), (2, 1, 1)), Round.OUTSIDE)[0].vertices[:3, 1:].tolist()
    [[0.1, 0.0], [0.5, 0.0], [0.5, 0.3]]
    """

    rises: Toward = "forward"
    x: Along = (1.2, 1.9)
    y: Across = None
    z: Annotated[float | None, Height("its underside; left out: the bottom")] = None
    low: Annotated[float, Height("height of its top at the low end")] = 0.1
    high: Annotated[float, Height("height of its top at the high end")] = 0.4

    def bodies(self, space: Bounds, how: Round) -> tuple[Polyhedron, ...]:
        """Return the wedge; ValueError where its top does not rise, or lies below its underside."""
        axis, _ = TOWARD[self.rises]
        low, high = run(space, 1 - axis, self.y if axis == 0 else self.x)
        return (prism(self._side_view(space, axis), low, high, 1 - axis),)

    def _side_view(self, space: Bounds, axis: int) -> Points:
        span = (self.x if axis == 0 else self.y) or (-math.inf, math.inf)
        carried = run(space, axis, span)
        taped = [space.wall(axis, end) for end in sorted(span)]
        if not taped[0] < taped[1]:
            raise ValueError(f"it has no size in {'xy'[axis]}: {NO_SIZE}")
        under, tops = self._heights(space)
        slope = (tops[1] - tops[0]) / (taped[1] - taped[0])
        ends = []
        for end, at, top in zip(carried, taped, tops, strict=True):
            through = top + slope * (end - at)
            ends.append((end, through) if through > under else (at, top))  # a feather edge stops at the wall
        (a, top_a), (b, top_b) = ends
        corners = [(a, under), (b, under), (b, top_b), (a, top_a)]
        return np.array([corner for k, corner in enumerate(corners) if k < 2 or corner[1] > under])

    def _heights(self, space: Bounds) -> tuple[float, list[float]]:
        """Return its underside, and its top at both ends along the axis."""
        under = space.at(2, -math.inf if self.z is None else self.z)
        tops = [spot(self.low, "low, the height of its low end"), spot(self.high, "high, the height of its high end")]
        if not tops[0] < tops[1]:
            raise ValueError("its top does not rise: high must lie above low; for a level top take a box")
        if tops[0] < under:
            raise ValueError("its low end lies below its underside")
        return under, tops if TOWARD[self.rises][1] > 0 else tops[::-1]
