"""An upright box: a battery box, a tank, a raised sole."""

from dataclasses import dataclass

from tapeloft.shapes.polyhedron import Bounds, Polyhedron, Round, box
from tapeloft.shapes.readings import Across, Along, Up
from tapeloft.shapes.registry import shape


@shape("box")
@dataclass(frozen=True)
class Box:
    """A box with its faces square to the boat; a side left out runs to the walls.

    >>> Box(x=(0.1, 0.5), z=(0.0, 0.3)).bodies(Bounds((0, 0, 0), (2, 1, 1)), Round.OUTSIDE)[0].vertices[0].tolist()
    [0.1, -0.001, 0.0]
    """

    x: Along = None
    y: Across = None
    z: Up = None

    def bodies(self, space: Bounds, how: Round) -> tuple[Polyhedron, ...]:
        """Return the box itself."""
        spans = [space.reach(axis, span) for axis, span in enumerate((self.x, self.y, self.z))]
        (x0, x1), (y0, y1), (z0, z1) = spans
        if not (x0 < x1 and y0 < y1 and z0 < z1):
            raise ValueError("the box has no thickness in one direction")
        return (box((x0, y0, z0), (x1, y1, z1)),)
