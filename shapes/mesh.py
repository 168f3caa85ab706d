"""A body from a mesh file: an engine, a tank, a casting."""

from dataclasses import dataclass, replace
from typing import Annotated, Literal

import numpy as np

from tapeloft.shapes.polyhedron import Bounds, Polyhedron, Round
from tapeloft.shapes.readings import AtX, AtY, AtZ, FilePath, Several, Word
from tapeloft.shapes.registry import shape

METRES = {"mm": 1e-3, "cm": 1e-2, "m": 1.0, "in": 0.0254}
SHOWN = Polyhedron(
    np.array([[0, 0, 0], [400, 0, 0], [0, 300, 0], [0, 0, 200.0]]), ((0, 2, 1), (0, 1, 3), (0, 3, 2), (1, 2, 3))
)


@shape("mesh")
@dataclass(frozen=True)
class Mesh:
    """A body from a mesh file, STL, OBJ or PLY, that must be closed; its axes are the compartment's.

    file holds the surface in the file's own numbers, and no file says what unit they are in.

    >>> mesh = Mesh(unit="cm", at=(0.5, 0.0, 0.1))
    >>> mesh.bodies(Bounds((0, 0, 0), (9, 9, 9)), Round.OUTSIDE)[0].vertices[1].tolist()
    [4.5, 0.0, 0.1]
    """

    file: Annotated[Polyhedron, FilePath("the mesh file, beside the survey")] = SHOWN
    unit: Annotated[Literal["mm", "cm", "m", "in"], Word("the unit of the file")] = "mm"
    at: Annotated[tuple[AtX, AtY, AtZ] | None, Several("where the file's zero lies; left out: at the datum")] = (
        0.3,
        0.2,
        0.1,
    )

    def bodies(self, space: Bounds, how: Round) -> tuple[Polyhedron, ...]:
        """Return what the file holds, in its place; ValueError where that place is a wall."""
        place = np.array(self.at or (0.0, 0.0, 0.0))
        if not np.isfinite(place).all():
            raise ValueError("at must be three readings: a mesh cannot be placed by a wall")
        return (replace(self.file, vertices=self.file.vertices * METRES[self.unit] + place),)
