"""How volume and centre of a space change as the surface round it moves.

A volume changes by what its surface sweeps: dV = ∫ n·v dA, over what moves. Obstructions and parts stand where they
stand, so of a net space only what is left of the skin counts. The moment about a point changes by ∫ x (n·v) dA, and
both are exact: each triangle of the net surface is cut from one triangle of the skin, over which v is linear.

Reynolds' transport theorem; the integrals of products of two linear functions over a triangle are from memory.
"""

from dataclasses import dataclass

import numpy as np

from tapeloft.model.moments import Points, cross
from tapeloft.model.plusminus.moving import Moving, Skin
from tapeloft.model.solid import Solid


@dataclass(frozen=True, eq=False)
class Slopes:
    """How a body changes with each unknown of the net: volume (n,), m² each, and centroid (n, 3)."""

    name: str
    volume: Points
    centroid: Points


def slopes(space: Moving) -> tuple[Slopes, ...]:
    """Return how gross, net and, where there are several, each bay of a space change with the unknowns."""
    asked = [("gross", space.whole), ("net", space.net), *space.bays]
    told = space.gathered([[one for _, solid in asked for one in _by_vertex(solid, skin)] for skin in space.skins])
    return tuple(
        Slopes(name, told[:, 4 * k], told[:, 4 * k + 1 : 4 * k + 4] / solid.volume)
        for k, (name, solid) in enumerate(asked)
    )


def _by_vertex(solid: Solid, skin: Skin) -> list[Points]:
    """Return how volume, and each moment about the centroid, changes with the vertices of a skin, (v, 3) each."""
    own = solid.origins == skin.origin
    at, faces = solid.vertices[solid.triangles[own]], solid.faces[own]
    normal = cross(at[:, 1] - at[:, 0], at[:, 2] - at[:, 0]) / 2
    arm = at - solid.centroid
    weights = [np.full(at.shape[:2], 1 / 3)]
    weights += [(arm[:, :, axis] + arm[:, :, axis].sum(axis=1, keepdims=True)) / 12 for axis in range(3)]
    shares = skin.shared(faces, at)
    return [skin.poured(faces, np.einsum("ti,tij->tj", w, shares), normal) for w in weights]
