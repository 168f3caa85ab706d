"""A prism on an outline: a fuel tank that follows the side, a knee, a moulded seat."""

from dataclasses import dataclass
from typing import Annotated

import numpy as np

from tapeloft.shapes.outline import sound
from tapeloft.shapes.polyhedron import Bounds, Polyhedron, Round, prism
from tapeloft.shapes.readings import Across, Along, AtX, AtY, AtZ, Several, Up
from tapeloft.shapes.registry import shape

PLANES = {"plan": 2, "profile": 1, "section": 0}  # each is seen along the axis that it is carried along
OTHERS = {"plan": "x and y", "profile": "x and z", "section": "y and z"}

Plan = Annotated[tuple[tuple[AtX, AtY], ...] | None, Several("corners seen from above, station and half-breadth each")]
Profile = Annotated[tuple[tuple[AtX, AtZ], ...] | None, Several("corners seen from the side, station and height each")]
Section = Annotated[
    tuple[tuple[AtY, AtZ], ...] | None, Several("corners seen from the end, half-breadth and height each")
]


@shape("prism")
@dataclass(frozen=True)
class Prism:
    """A body with the same outline all the way: a plan carried in height, a profile in breadth, or a section in length.

    Exactly one outline is given, in order round it, and the range square to it; that left out runs to the walls.

    >>> knee = Prism(plan=None, profile=((0.0, 0.0), (0.3, 0.0), (0.0, 0.4)), y=(0.5, 0.52), z=None)
    >>> knee.bodies(Bounds((0, 0, 0), (2, 1, 1)), Round.OUTSIDE)[0].vertices[:3].tolist()
    [[0.0, 0.5, 0.4], [0.3, 0.5, 0.0], [0.0, 0.5, 0.0]]
    """

    plan: Plan = ((0.2, 0.6), (0.9, 0.5), (1.1, 0.8), (0.2, 0.9))
    profile: Profile = None
    section: Section = None
    x: Along = None
    y: Across = None
    z: Up = (0.0, 0.35)

    def bodies(self, space: Bounds, how: Round) -> tuple[Polyhedron, ...]:
        """Return the prism; ValueError where the outline is missing, doubled, or meets itself."""
        given = [name for name in PLANES if getattr(self, name) is not None]
        if len(given) != 1:
            raise ValueError("a prism needs one outline: plan, profile or section")
        axis = PLANES[given[0]]
        spans = (self.x, self.y, self.z)
        if any(span is not None for k, span in enumerate(spans) if k != axis):
            raise ValueError(f"the {given[0]} already tells {OTHERS[given[0]]}: leave them out")
        across = [k for k in range(3) if k != axis]
        outline = [
            [space.at(k, reading) for k, reading in zip(across, point, strict=True)]
            for point in getattr(self, given[0])
        ]
        low, high = space.run(axis, spans[axis])
        return (prism(sound(np.array(outline).reshape(-1, 2)), low, high, axis),)
