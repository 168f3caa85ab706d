"""A run of steps: a stepped sole, a flight down through a hatch."""

import math
from dataclasses import dataclass
from itertools import accumulate, pairwise
from typing import Annotated

import numpy as np

from tapeloft.shapes.asked import run, size, spot
from tapeloft.shapes.polyhedron import TOWARD, Bounds, Points, Polyhedron, Round, on_grid, prism
from tapeloft.shapes.readings import AcrossOrAt, AlongOrAt, Height, Length, Toward
from tapeloft.shapes.registry import shape


@shape("steps")
@dataclass(frozen=True)
class Steps:
    """A run of steps, solid down to the bottom: the sole rises one way, riser by riser.

    The reading the way that it rises is where the first riser stands; the other one is from, to. Where the last
    tread is left out it runs to the wall.

    >>> steps = Steps(rises="forward", x=0.5, y=None, z=0.0, risers=(0.2, 0.15), treads=(0.3,))
    >>> steps.bodies(Bounds((0, 0, 0), (2, 1, 1)), Round.OUTSIDE)[0].vertices[:6, [0, 2]].tolist()
    [[0.5, -0.001], [0.5, 0.2], [0.8, 0.2], [0.8, 0.35], [2.001, 0.35], [2.001, -0.001]]
    """

    rises: Toward = "forward"
    x: AlongOrAt = 0.8
    y: AcrossOrAt = None
    z: Annotated[float | None, Height("height that the first riser stands on; left out: the bottom")] = None
    risers: Annotated[tuple[float, ...], Length("the risers, lowest first")] = (0.2, 0.18)
    treads: Annotated[tuple[float, ...] | None, Length("the treads, lowest first; the last may be left out")] = (0.3,)

    def bodies(self, space: Bounds, how: Round) -> tuple[Polyhedron, ...]:
        """Return the steps; ValueError where treads and risers do not go together, or run past the wall."""
        if not self.risers:
            raise ValueError("risers is empty: give at least one riser")
        axis, wall = TOWARD[self.rises]
        along = self._edges(space, axis, wall)
        levels = self._levels(space)
        low, high = run(space, 1 - axis, self.y if axis == 0 else self.x)
        return (prism(_stepped(along, levels, space.at(2, -math.inf)), low, high, 1 - axis),)

    def _edges(self, space: Bounds, axis: int, wall: float) -> list[float]:
        """Return where the risers stand and the last tread ends, in the order walked."""
        first = spot(self.x if axis == 0 else self.y, f"{'xy'[axis]}, where the first riser stands")
        treads = [math.copysign(size(tread, "each tread"), wall) for tread in self.treads or ()]
        edges = [on_grid(edge) for edge in accumulate(treads, initial=first)]
        if len(edges) == len(self.risers):
            edges.append(space.at(axis, wall))
        if len(edges) != len(self.risers) + 1:
            raise ValueError("each riser needs its tread; only the last, which runs to the wall, may be left out")
        if not all((b - a) * wall > 0 for a, b in pairwise(edges)):
            raise ValueError(f"the last riser stands beyond the wall {self.rises}, so that no tread is left for it")
        return edges

    def _levels(self, space: Bounds) -> list[float]:
        """Return the height of each tread."""
        foot = space.low[2] if self.z in (None, -math.inf) else spot(self.z, "z, what the first riser stands on")
        risers = [size(riser, "each riser") for riser in self.risers]
        levels = [on_grid(foot + rise) for rise in accumulate(risers)]
        if levels[0] <= space.at(2, -math.inf):
            raise ValueError("the first step lies below the bottom of the space")
        return levels


def _stepped(edges: list[float], levels: list[float], bottom: float) -> Points:
    """Return the side view of a run of steps, (n, 2)."""
    treads = [(edge, level) for k, level in enumerate(levels) for edge in edges[k : k + 2]]
    return np.array([(edges[0], bottom), *treads, (edges[-1], bottom)])
