"""Gear whose form is a mesh."""

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from tapeloft.model.facets import filled
from tapeloft.model.gear.forms import SHORTEST, Sizes, Symmetry
from tapeloft.model.gear.hulls import convex_around, convex_within
from tapeloft.model.moments import Triangles, volume_and_centroid
from tapeloft.model.units import LONGEST
from tapeloft.shapes.polyhedron import Polyhedron, Round

MANY = 2000
"""Faces: a mesh of more is stood for by convex bodies of some hundred corners, where they can stand for it."""


@dataclass(frozen=True)
class Body:
    """A closed body from a mesh, m, moved so that its origin is in the middle of its upright box.

    ValueError, in words fit to show, where that box has a size that no gear has.

    >>> from tapeloft.shapes.polyhedron import box
    >>> crate = Body(box((1, 1, 1), (1.6, 1.4, 1.28)))
    >>> crate.polyhedron.vertices.max(axis=0).round(9).tolist(), round(crate.volume, 9)
    ([0.3, 0.2, 0.14], 0.0672)
    """

    polyhedron: Polyhedron

    def __post_init__(self) -> None:
        corners = self.polyhedron.vertices
        low, high = corners.min(axis=0), corners.max(axis=0)
        if not ((high - low >= SHORTEST) & (high - low <= LONGEST)).all():
            told = " × ".join(f"{size:.3g}" for size in high - low)
            raise ValueError(f"it is {told} m over all; each must be from 0.1 mm to {LONGEST} m: is its unit right?")
        object.__setattr__(self, "polyhedron", replace(self.polyhedron, vertices=corners - (low + high) / 2))

    @property
    def symmetry(self) -> Symmetry:
        """What leaves it as it is: nothing that is known."""
        return "none"

    @cached_property
    def sizes(self) -> Sizes:
        """Sizes of its upright box along x, y and z, m."""
        x, y, z = np.ptp(self.polyhedron.vertices, axis=0).tolist()
        return x, y, z

    @cached_property
    def volume(self) -> float:
        """Volume within it, m³."""
        return volume_and_centroid(self.polyhedron.vertices, self.triangles)[0]

    @cached_property
    def triangles(self) -> Triangles:
        """Its surface as triangles, (m, 3), outward, into the vertices of its polyhedron."""
        vertices, faces = self.polyhedron.vertices, self.polyhedron.faces
        counts = np.array([len(face) for face in faces])
        loops = [np.array([faces[k] for k in np.flatnonzero(counts == n)]) for n in np.unique(counts)]
        return np.concatenate([filled(vertices, loop).reshape(-1, 3) for loop in loops])

    def drawn(self, how: Round) -> Polyhedron:
        """Return the mesh itself, or where it has more than `MANY` faces a convex body around or within it.

        Where no convex body comes near to filling it, the one within is the mesh itself.
        """
        if len(self.polyhedron.faces) <= MANY or how is Round.EQUAL_AREA:
            return self.polyhedron
        if how is Round.OUTSIDE:
            return convex_around(self.polyhedron.vertices)
        return convex_within(self.polyhedron.vertices, self.triangles) or self.polyhedron
