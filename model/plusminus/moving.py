"""A compartment as its surface moves with the readings: its skins, what is left within them, and what each is made of.

A figure that changes with where points of the surface lie is told by terms: so much for a move, along a vector, of a
point on a triangle of the skin. Here such terms are gathered into how the figure changes with each unknown of the net.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from tapeloft.model.compartment import Compartment
from tapeloft.model.moments import Points, cross
from tapeloft.model.plusminus.following import Following, followed
from tapeloft.model.plusminus.woven import Woven, woven
from tapeloft.model.solid import Solid, closed, united
from tapeloft.model.surface.gross import face_names
from tapeloft.model.tapes.readings import TapeNet
from tapeloft.model.tapes.settling import Settled

Numbers = NDArray[np.int64]


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

    def poured(self, faces: Numbers, shares: Points, along: Points) -> Points:
        """Return, by vertex of the skin, (v, 3), the sums of vectors *along* (t, 3), shared out.

        faces (t,): the triangle of the skin that each is of; shares (t, 3): what each of its corners gets.
        """
        corners, size = self.surface.triangles[faces], len(self.surface.vertices)
        sums = [np.bincount(corners.ravel(), (shares * along[:, [axis]]).ravel(), size) for axis in range(3)]
        poured: Points = np.column_stack(sums)
        return poured

    def shared(self, faces: Numbers, points: Points) -> Points:
        """Return points (t, k, 3) on triangles *faces* (t,) of the skin as shares of their corners, (t, k, 3)."""
        return barycentric(points, self.surface.vertices[self.surface.triangles[faces]])


@dataclass(frozen=True, eq=False)
class Moving:
    """The space of a compartment as it moves, in the frame of its readings: a twin is not mirrored yet.

    whole: within the skins. net: less what stands there, whose names are by origin in *standing*.
    """

    compartment: Compartment
    tapes: TapeNet
    skins: tuple[Skin, ...]
    whole: Solid
    net: Solid
    standing: dict[int, str]

    @cached_property
    def side(self) -> Points:
        """What a point's coordinates are multiplied by between the frame of the readings and the compartment's."""
        return np.array([1.0, -1.0 if self.compartment.survey.mirrored else 1.0, 1.0])

    @cached_property
    def bays(self) -> tuple[tuple[str, Solid], ...]:
        """The parts of the net space that the bays are, by where they lie; none where it is one."""
        return tuple(self._bays())

    def _bays(self) -> Iterator[tuple[str, Solid]]:
        if len(self.compartment.bays) < 2:
            return
        parts = self.net.parts()
        for bay in self.compartment.bays:
            yield bay.name, min(parts, key=lambda part: _apart(part, bay.solid, self.side))

    def part_names(self, solid: Solid) -> list[str]:
        """Return of each triangle of a solid that was cut from these, what part of the surface, or thing, it is of."""
        own: dict[tuple[int, int], str] = {}
        for skin in self.skins:
            names = face_names(skin.following.loft.surface)
            own |= {(skin.origin, k): names[face] for k, face in enumerate(skin.surface.faces.tolist())}
        pairs = zip(solid.origins.tolist(), solid.faces.tolist(), strict=True)
        return [own.get(pair) or self.standing[pair[0]] for pair in pairs]

    def gathered(self, by_skin: Sequence[Sequence[Points]]) -> Points:
        """Return how k figures change with each unknown, (n, k), from how they do with the vertices of each skin.

        by_skin: for each skin, for each figure, (v, 3).
        """
        told = np.zeros((len(self.tapes.start), len(by_skin[0])))
        for skin, swept in zip(self.skins, by_skin, strict=True):
            told += skin.following.gathered(self.tapes, [skin.surface.gathered(one) for one in swept])
        return told


def moving(compartment: Compartment, settled: Settled) -> Moving:
    """Return the space of *compartment*, built from what was *settled*, as it moves with the readings."""
    skins = []
    for following in followed(settled.survey, compartment.lofts):
        surface = woven(following.loft)
        faces = np.arange(len(surface.triangles))
        skins.append(Skin(surface, following, closed(surface.vertices, surface.triangles, faces)))
    whole = skins[0].solid if len(skins) == 1 else united([skin.solid for skin in skins])
    stands = [(piece.name, piece.body) for piece in compartment.pieces]
    stands += [(part.name, part.solid) for part in compartment.fitted]
    bodies = [body.mirrored() if compartment.survey.mirrored else body for _, body in stands]
    named = zip(stands, bodies, strict=True)
    standing = {int(o): name for (name, _), body in named for o in np.unique(body.origins)}
    return Moving(compartment, settled.net, tuple(skins), whole, whole.cleared_of(bodies), standing)


def _apart(part: Solid, bay: Solid, side: Points) -> float:
    return float(np.linalg.norm(part.bounds - np.sort(bay.bounds * side, axis=0)))


def barycentric(points: Points, triangles: Points) -> Points:
    """Return points (t, k, 3) in the planes of triangles (t, 3, 3) as shares of their corners, (t, k, 3).

    A triangle without area has its points at its first corner.

    >>> corners = np.array([[[0, 0, 0], [2, 0, 0], [0, 4, 0.0]]])
    >>> barycentric(np.array([[[0.5, 1, 0]]]), corners).tolist()
    [[[0.5, 0.25, 0.25]]]
    """
    first = triangles[:, 0]
    one, other = triangles[:, 1] - first, triangles[:, 2] - first
    normal = cross(one, other)
    size = (normal**2).sum(axis=1)
    out = points - first[:, None]
    along = np.einsum("tkj,tj->tk", out, cross(other, normal))
    up = np.einsum("tkj,tj->tk", out, cross(normal, one))
    scale = np.divide(1.0, size, out=np.zeros_like(size), where=size > 0)[:, None]
    second, third = along * scale, up * scale
    return np.stack([1 - second - third, second, third], axis=2)
