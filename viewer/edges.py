"""Which edges of a solid an engraver draws: its creases, its outline, and where the near side was taken away."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tapeloft.model.moments import Points, Triangles
from tapeloft.viewer.eye import Eye

CREASE = np.cos(np.radians(25))  # two faces that meet more sharply than this are drawn with an edge between them
SLIVER = 1e-10  # m²: the normal of a smaller triangle says nothing
EDGE_ON = 1e-6  # cosine: a face so nearly edge on is not seen from either side


@dataclass(frozen=True, eq=False)
class Edges:
    """Edges to draw, each (k, 2) vertex numbers."""

    outline: Triangles  # between a face that looks at the eye and one that does not
    far: Triangles  # creases between two faces that look away: those seen once the near side is off
    near: Triangles  # creases between two faces that look at the eye


def normals(vertices: Points, triangles: Triangles) -> Points:
    """Return the unit normal of each triangle, (m, 3); zero for a sliver."""
    a, b, c = np.moveaxis(vertices[triangles], 1, 0)
    twice = np.cross(b - a, c - a)
    size = np.linalg.norm(twice, axis=1, keepdims=True)
    unit: Points = np.where(size > 2 * SLIVER, twice / np.maximum(size, 1e-300), 0.0)
    return unit


def soft_normals(vertices: Points, triangles: Triangles, named: NDArray[np.int64]) -> Points:
    """Return a normal for each corner of each triangle, (m, 3, 3), turning evenly over each named part of the surface.

    named (m,): the number of the part a triangle is of; 0, of none, stays flat, as does what meets at a crease.
    """
    a, b, c = np.moveaxis(vertices[triangles], 1, 0)
    weighted = np.cross(b - a, c - a)
    flat = np.repeat(normals(vertices, triangles)[:, None], 3, axis=1)
    _, group = np.unique(np.stack([triangles, np.repeat(named[:, None], 3, axis=1)], axis=-1).reshape(-1, 2), axis=0,
                         return_inverse=True)  # fmt: skip
    sums = np.zeros((int(group.max()) + 1 if len(group) else 0, 3))
    np.add.at(sums, group.ravel(), np.repeat(weighted, 3, axis=0))
    even = (sums / np.maximum(np.linalg.norm(sums, axis=1, keepdims=True), 1e-300))[group.ravel()].reshape(-1, 3, 3)
    soft = (np.einsum("ijk,ijk->ij", even, flat) > CREASE) & (named > 0)[:, None]
    turned: Points = np.where(soft[..., None], even, flat)
    return turned


def creases(vertices: Points, triangles: Triangles, named: NDArray[np.int64]) -> Triangles:
    """Return the edges, (k, 2), at which a closed mesh turns sharply or passes from one named part to another.

    >>> v = np.array([[0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1.0]])
    >>> len(creases(v, np.array([[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]]), np.zeros(4, int)))
    6
    """
    pairs, one, other = _adjoining(triangles)
    return pairs[_sharp(normals(vertices, triangles), named, one, other)]


def edges_seen(vertices: Points, triangles: Triangles, named: NDArray[np.int64], eye: Eye) -> Edges:
    """Return the edges of a closed mesh worth drawing for *eye*.

    vertices (n, 3) m; triangles (m, 3), outward; named (m,) the number of the part of the surface each is of, 0 if
    of none. A cube seen from a corner shows six outline edges, three far ones and three near ones.
    """
    facing = normals(vertices, triangles)
    pairs, one, other = _adjoining(triangles)
    looks = np.asarray(eye.faces(vertices[triangles[:, 0]], facing) > EDGE_ON)
    whole = (facing != 0).any(axis=1)
    outline = (looks[one] != looks[other]) & whole[one] & whole[other]
    inner = _sharp(facing, named, one, other) & ~outline
    return Edges(pairs[outline], pairs[inner & ~looks[one]], pairs[inner & looks[one]])


def _sharp(
    facing: Points, named: NDArray[np.int64], one: NDArray[np.int64], other: NDArray[np.int64]
) -> NDArray[np.bool_]:
    whole = (facing != 0).any(axis=1)
    turn = np.einsum("ij,ij->i", facing[one], facing[other])
    seam = (named[one] != named[other]) & (named[one] > 0) & (named[other] > 0)
    return np.asarray(((turn < CREASE) | seam) & whole[one] & whole[other], np.bool_)


def _adjoining(triangles: Triangles) -> tuple[Triangles, NDArray[np.int64], NDArray[np.int64]]:
    """Return every edge once, (k, 2), with the numbers of the two triangles that meet there, (k,) each.

    Where solids touch along an edge more than two meet: they are paired as they come.
    """
    ends = np.asarray(triangles, np.int64)[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2)
    owner = np.repeat(np.arange(len(triangles)), 3)
    order = np.lexsort((owner, ends.max(axis=1), ends.min(axis=1)))
    pairs = np.sort(ends[order], axis=1)
    return pairs[::2], owner[order][::2], owner[order][1::2]
