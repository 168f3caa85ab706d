"""An upright box: a battery box, a tank, a raised sole."""

from dataclasses import dataclass

from tapeloft.shapes.polyhedron import Bounds, Polyhedron, Round
from tapeloft.shapes.readings import Across, Along, Up
from tapeloft.shapes.registry import shape


@shape("box")
@dataclass(frozen=True)
class Box:
    """A box with its faces square to the boat; a side left out runs to the walls.

    >>> Box((0.1, 0.5), None, (0.0, 0.3)).bodies(Bounds((0, 0, 0), (2, 1, 1)), Round.INSIDE)[0].vertices[0].tolist()
    [0.1, -0.001, 0.0]
    """

    x: Along = (0.2, 0.6)
    y: Across = (0.5, 0.9)
    z: Up = (0.0, 0.34)

    def bodies(self, space: Bounds, how: Round) -> tuple[Polyhedron, ...]:
        """Return the box itself; ValueError where it has no size one way."""
        return (space.box(self.x, self.y, self.z),)
