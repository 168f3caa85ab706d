"""How the areas of a space's surface change as it moves: strip by strip, and of what stands in it.

The area of flat triangles changes with their corners, A = ½ n·Σ a×b, n the face's own normal, which a small move does
not turn (to first order). A corner of the skin moves as the skin does. Where the skin meets what stands there, the
corner stays on every face that it is on: the skin's, as they move, and the thing's, which do not. Along a straight
line that they leave it, it may lie where it will: no area hangs on that.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tapeloft.model.moments import Points, cross
from tapeloft.model.plusminus.moving import Moving, Numbers, Skin
from tapeloft.model.solid import Solid

ONE_PLANE = 1e-4  # squared sine below which two faces count as one plane, and leave a corner a way between them


@dataclass(frozen=True, eq=False)
class Coated:
    """How the area of each part of the net surface changes with each unknown: names, and (n, parts), m each."""

    names: tuple[str, ...]
    areas: Points


def coated(space: Moving) -> Coated:
    """Return how the areas of the net surface of a space change with the unknowns."""
    names = np.array(space.part_names(space.net))
    parts = tuple(dict.fromkeys(names.tolist()))
    normals = _normals(space.net)
    slopes = [_slopes(space.net, normals, names == part) for part in parts]
    carried = _carried(space.net, normals, space.skins)
    return Coated(parts, space.gathered([_poured(space.net, skin, carry, slopes)
                                         for skin, carry in zip(space.skins, carried, strict=True)]))  # fmt: skip


def _normals(net: Solid) -> Points:
    """Return the unit normal of the face that each triangle is of, (t, 3): slivers have their face's, not their own."""
    a, b, c = np.moveaxis(net.vertices[net.triangles], 1, 0)
    _, face = np.unique(np.column_stack([net.origins, net.faces]), axis=0, return_inverse=True)
    face = face.ravel()
    twice = cross(b - a, c - a)
    whole = np.column_stack([np.bincount(face, twice[:, axis]) for axis in range(3)])[face]
    size = np.linalg.norm(whole, axis=1, keepdims=True)
    normals: Points = np.divide(whole, size, out=np.zeros_like(whole), where=size > 0)
    return normals


def _slopes(net: Solid, normals: Points, part: "np.ndarray[tuple[int], np.dtype[np.bool_]]") -> Points:
    """Return how the area of some triangles changes with the vertices of the net surface, (v, 3)."""
    corners, normal = net.triangles[part], normals[part]
    at = net.vertices[corners]
    across = np.roll(at, -1, axis=1) - np.roll(at, 1, axis=1)
    pulls = cross(across, normal[:, None]) / 2
    return _summed(corners.ravel(), pulls.reshape(-1, 3), len(net.vertices))


def _summed(places: Numbers, terms: Points, size: int) -> Points:
    return np.column_stack([np.bincount(places, column, size) for column in terms.T])


def _carried(net: Solid, normals: Points, skins: Sequence[Skin]) -> list[Points]:
    """Return for each skin how the vertices of the net surface move with it, (v, 3, 3)."""
    corners, size = net.triangles, len(net.vertices)
    outer = np.repeat((normals[:, :, None] * normals[:, None, :]).reshape(-1, 9), 3, axis=0)
    held = _summed(corners.ravel(), outer, size).reshape(-1, 3, 3)
    own = [np.isin(net.origins, skin.origin) for skin in skins]
    touched = np.array([np.bincount(corners[mine].ravel(), minlength=size) for mine in own]) > 0
    others = np.bincount(corners[~np.any(own, axis=0)].ravel(), minlength=size) > 0
    shared = np.flatnonzero(touched.any(axis=0) & (others | (touched.sum(axis=0) > 1)))
    freed = np.linalg.pinv(held[shared], rcond=ONE_PLANE, hermitian=True)
    carried = []
    for mine, touches in zip(own, touched, strict=True):
        moves = touches[:, None, None] * np.eye(3)
        by = _summed(corners[mine].ravel(), outer[np.repeat(mine, 3)], size).reshape(-1, 3, 3)
        moves[shared] = freed @ by[shared]
        carried.append(moves)
    return carried


def _poured(net: Solid, skin: Skin, carry: Points, slopes: Sequence[Points]) -> list[Points]:
    """Return for each of *slopes*, by vertex of the net surface, how the figure changes with those of a skin."""
    mine = np.flatnonzero(net.origins == skin.origin)
    vertices, first = np.unique(net.triangles[mine].ravel(), return_index=True)
    faces = net.faces[mine[first // 3]]
    shares = skin.shared(faces, net.vertices[vertices][:, None])[:, 0]
    return [skin.poured(faces, shares, np.einsum("vij,vi->vj", carry[vertices], one[vertices])) for one in slopes]
