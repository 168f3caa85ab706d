"""A panel: a partition, a bin board, a shelf."""

import math
from dataclasses import dataclass

from tapeloft.shapes.polyhedron import Bounds, Polyhedron, Round
from tapeloft.shapes.readings import Across, Along, Up
from tapeloft.shapes.registry import shape


@shape("panel")
@dataclass(frozen=True)
class Panel:
    """A panel that divides: both its faces are taped one way, and a side left out runs to the walls.

    >>> space = Bounds((0, 0, 0), (2, 1, 1))
    >>> Panel(x=(0.888, 0.900), z=(0.0, 0.42)).bodies(space, Round.OUTSIDE)[0].vertices[0].tolist()
    [0.888, -0.001, 0.0]
    """

    x: Along = (1.0, 1.012)
    y: Across = None
    z: Up = None

    def bodies(self, space: Bounds, how: Round) -> tuple[Polyhedron, ...]:
        """Return the panel; ValueError where no way gives its thickness, or it has none."""
        if all(span is None or math.inf in map(abs, span) for span in (self.x, self.y, self.z)):
            raise ValueError("the panel has no thickness: give both its faces in x, in y or in z")
        return (space.box(self.x, self.y, self.z),)
