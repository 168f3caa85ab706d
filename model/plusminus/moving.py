"""How volume and centre of a space change as the surface round it moves.

A volume changes by what its surface sweeps: dV = ∫ n·v dA, over what moves. Obstructions and parts stand where they
stand, so of a net space only what is left of the skin counts. The moment about a point changes by ∫ x (n·v) dA, and
both are exact: each triangle of the net surface is cut from one triangle of the skin, over which v is linear.

Reynolds' transport theorem; the integrals of products of two linear functions over a triangle are from memory.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tapeloft.model.compartment import Compartment
from tapeloft.model.moments import Points
from tapeloft.model.plusminus.following import Following, followed
from tapeloft.model.plusminus.woven import Woven, woven
from tapeloft.model.solid import Solid, closed, united
from tapeloft.model.tapes.readings import TapeNet
from tapeloft.model.tapes.settling import Settled

Numbers = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Slopes:
    """How a body changes with each unknown of the net: volume (n,), m² each, and centroid (n, 3)."""

    name: str
    volume: Points
    centroid: Points


@dataclass(frozen=True, eq=False)
class Skin:
    """A loft as it moves: its surface, whose corners it follows, and the solid whose faces are its triangles."""

    surface: Woven
    following: Following
    solid: Solid

    @property
    def origin(self) -> int:
        """By what number triangles cut from it tell that they are."""
        return int(self.solid.origins[0])


def skins(compartment: Compartment, settled: Settled) -> tuple[Skin, ...]:
    """Return the surfaces that *compartment* is closed by, in the frame of its readings, and the corners of each."""
    found = []
    for following in followed(settled.survey, compartment.lofts):
        surface = woven(following.loft)
        faces = np.arange(len(surface.triangles))
        found.append(Skin(surface, following, closed(surface.vertices, surface.triangles, faces)))
    return tuple(found)


def slopes(compartment: Compartment, settled: Settled) -> tuple[Slopes, ...]:
    """Return how gross, net and, where there are several, each bay of *compartment* change with the unknowns."""
    skinned = skins(compartment, settled)
    whole = skinned[0].solid if len(skinned) == 1 else united([skin.solid for skin in skinned])
    stands = [piece.body for piece in compartment.pieces] + [part.solid for part in compartment.fitted]
    bodies = [body.mirrored() for body in stands] if compartment.survey.mirrored else stands
    net = whole.cleared_of(bodies)
    asked = [("gross", whole), ("net", net), *_bays(compartment, net)]
    return tuple(_slopes(asked, skinned, settled.net))


def _bays(compartment: Compartment, net: Solid) -> Iterator[tuple[str, Solid]]:
    """Yield the parts of *net* that the bays are, by where they lie."""
    if len(compartment.bays) < 2:
        return
    parts = net.parts()
    side = np.array([1.0, -1.0 if compartment.survey.mirrored else 1.0, 1.0])
    for bay in compartment.bays:
        yield bay.name, min(parts, key=lambda part: _apart(part, bay.solid, side))


def _apart(part: Solid, bay: Solid, side: Points) -> float:
    return float(np.linalg.norm(part.bounds - np.sort(bay.bounds * side, axis=0)))


def _slopes(bodies: Sequence[tuple[str, Solid]], skinned: Sequence[Skin], net: TapeNet) -> Iterator[Slopes]:
    told = np.zeros((len(net.start), 4 * len(bodies)))
    for skin in skinned:
        swept = [skin.surface.gathered(one) for _, solid in bodies for one in _by_vertex(solid, skin)]
        told += skin.following.gathered(net, swept)
    for k, (name, solid) in enumerate(bodies):
        yield Slopes(name, told[:, 4 * k], told[:, 4 * k + 1 : 4 * k + 4] / solid.volume)


def _by_vertex(solid: Solid, skin: Skin) -> list[Points]:
    """Return how volume, and each moment about the centroid, changes with the vertices of a skin, (v, 3) each."""
    own = solid.origins == skin.origin
    at, faces = solid.vertices[solid.triangles[own]], solid.faces[own]
    normal = np.cross(at[:, 1] - at[:, 0], at[:, 2] - at[:, 0]) / 2
    arm = at - solid.centroid
    weights = [np.full(at.shape[:2], 1 / 3)]
    weights += [(arm[:, :, axis] + arm[:, :, axis].sum(axis=1, keepdims=True)) / 12 for axis in range(3)]
    corners = skin.surface.triangles[faces]
    shares = barycentric(at, skin.surface.vertices[corners])
    return [_poured(corners, np.einsum("ti,tij->tj", w, shares), normal, len(skin.surface.vertices)) for w in weights]


def _poured(corners: Numbers, shares: Points, normal: Points, size: int) -> Points:
    """Return the sums (size, 3) by vertex of what triangles give to their corners (t, 3): shares (t, 3) of a normal."""
    sums = [np.bincount(corners.ravel(), (shares * normal[:, [axis]]).ravel(), size) for axis in range(3)]
    poured: Points = np.column_stack(sums)
    return poured


def barycentric(points: Points, triangles: Points) -> Points:
    """Return points (t, k, 3) in the planes of triangles (t, 3, 3) as shares of their corners, (t, k, 3).

    A triangle without area has its points at its first corner.

    >>> corners = np.array([[[0, 0, 0], [2, 0, 0], [0, 4, 0.0]]])
    >>> barycentric(np.array([[[0.5, 1, 0]]]), corners).tolist()
    [[[0.5, 0.25, 0.25]]]
    """
    first = triangles[:, 0]
    one, other = triangles[:, 1] - first, triangles[:, 2] - first
    normal = np.cross(one, other)
    size = (normal**2).sum(axis=1)
    out = points - first[:, None]
    along = np.einsum("tkj,tj->tk", out, np.cross(other, normal))
    up = np.einsum("tkj,tj->tk", out, np.cross(normal, one))
    scale = np.divide(1.0, size, out=np.zeros_like(size), where=size > 0)[:, None]
    second, third = along * scale, up * scale
    return np.stack([1 - second - third, second, third], axis=2)
