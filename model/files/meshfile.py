"""From a mesh file to the closed surface of an obstruction, or to what is wrong with it.

A file is mended only where there is one way to: corners with the same coordinates are one corner, a surface that
is inside out is turned, bodies that overlap are counted once, a cavity is no space to stow in. Each is remarked.
"""

import math
import stat
from collections.abc import Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from tapeloft.model.errors import GeometryError
from tapeloft.model.facets import filled
from tapeloft.model.files.meshes import BadMesh, Faces, obj, ply, stl
from tapeloft.model.files.meshes.edges import check_closed
from tapeloft.model.files.meshes.passing import crossing
from tapeloft.model.moments import Points, Triangles, volume_and_centroid
from tapeloft.model.solid import closed, united
from tapeloft.shapes.polyhedron import Polyhedron

__all__ = ["BadMesh", "read_mesh"]

READERS = {".stl": stl.read, ".obj": obj.read, ".ply": ply.read}
MOST_BYTES = 200_000_000
MOST_TRIANGLES = 500_000  # more than an obstruction in a locker needs, and seconds to cut with
FARTHEST = 1e9  # in any unit farther than a boat is long
FLAT = 1e-9  # of its size cubed: a surface that encloses less encloses nothing
REDUCE = "reduce its triangles in the program that made it"
PLACE = "name a file by its place relative to the survey"
Shell = tuple[Points, Triangles]


def read_mesh(path: str | Path) -> Polyhedron:
    """Return the closed surface in an STL, OBJ or PLY file, in the file's own unit, facing outward.

    Its remarks say what was mended. Raises BadMesh, with what is wrong and what would mend it.
    """
    place = Path(path)
    try:
        reader = READERS.get(place.suffix.lower())
        if reader is None:
            raise BadMesh("has not the name of an STL, OBJ or PLY file", "save it as one of these")
        return _surface(*_checked(*reader(contents(place, MOST_BYTES))))
    except BadMesh as bad:
        raise BadMesh(f'"{place.name}" {bad.what}', bad.mend) from None
    except GeometryError as bad:
        raise BadMesh(f'"{place.name}" bounds no body: {bad}') from None


def contents(place: Path, most: int) -> bytes:
    """Return the whole of a mesh file of at most so many bytes; raises BadMesh."""
    if "\0" in str(place):
        raise BadMesh("is not there", PLACE)
    try:
        found = place.stat()
        if stat.S_ISDIR(found.st_mode):
            raise BadMesh("is a folder", "name the file in it")
        if not stat.S_ISREG(found.st_mode):
            raise BadMesh("is no ordinary file", "name an STL, OBJ or PLY file")
        if found.st_size > most:
            raise BadMesh(f"is larger than {most // 10**6} MB", REDUCE)
        data = place.read_bytes()
    except FileNotFoundError:
        raise BadMesh("is not there", PLACE) from None
    except OSError as bad:
        raise BadMesh(f"cannot be read: {bad.strerror}", "see that it may be read") from None
    if not data.strip():
        raise BadMesh("is empty")
    return data


def _checked(corners: Points, faces: Faces) -> Shell:
    """Return one corner for each place and the triangles, a triangle with two corners in one place left out."""
    count = sum(len(loops) * (loops.shape[1] - 2) for loops in faces)
    if not count:
        raise BadMesh("holds no faces")
    if count > MOST_TRIANGLES:
        raise BadMesh(f"has {count} triangles, more than {MOST_TRIANGLES}", REDUCE)
    if any(loops.min() < 0 or loops.max() >= len(corners) for loops in faces):
        raise BadMesh("has a face that names a corner which is not there")
    wild = np.flatnonzero(~(np.abs(corners) <= FARTHEST).all(axis=1))
    if len(wild):
        raise BadMesh(
            f"has a coordinate that is no number (NaN or infinite) or beyond all size, at corner {wild[0] + 1}"
        )
    if not np.ptp(corners, axis=0).any():
        raise BadMesh("has no size: all its corners lie in one place")
    triangles = np.concatenate([filled(corners, loops).reshape(-1, 3) for loops in faces])
    places, number = _places(corners)
    welded = number[triangles]
    return places, welded[(welded != np.roll(welded, 1, axis=1)).all(axis=1)]


def _places(corners: Points) -> tuple[Points, NDArray[np.int64]]:
    """Return the different corners, and for each corner the number of its place; only equal coordinates are one."""
    order = np.lexsort((corners + 0.0).T)
    in_order = corners[order]
    new = np.concatenate([[True], (in_order[1:] != in_order[:-1]).any(axis=1)])
    number = np.empty(len(corners), np.int64)
    number[order] = np.cumsum(new) - 1
    return in_order[new], number


def _surface(vertices: Points, triangles: Triangles) -> Polyhedron:
    """Return what the triangles bound, facing outward, and what was mended in it."""
    if not len(triangles):
        raise BadMesh("has no size: each of its faces lies on a line")
    check_closed(vertices, triangles)
    shells = _shells(vertices, triangles)
    for shell in shells:
        _check_sound(*shell)
    volumes = [volume_and_centroid(*shell)[0] for shell in shells]
    bodies = [shell for shell, volume in zip(shells, volumes, strict=True) if volume > 0]
    inward = [shell for shell, volume in zip(shells, volumes, strict=True) if volume < 0]
    inside_out = [shell for shell in inward if not any(_surrounds(body, shell[0][0]) for body in bodies)]
    remarks = []
    if inside_out:
        remarks.append("was inside out, and is turned")
    if len(inward) > len(inside_out):
        remarks.append("has a cavity inside, which is no space to stow in")
    (points, faces), more = _one([*bodies, *((v, t[:, ::-1]) for v, t in inside_out)])
    return Polyhedron(points, tuple(map(tuple, faces.tolist())), (*remarks, *more))


def _shells(vertices: Points, triangles: Triangles) -> list[Shell]:
    """Return the connected parts of the surface, each with its own corners."""
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    ends = triangles[:, [0, 1, 1, 2]].reshape(-1, 2).T
    n = len(vertices)
    number, part = connected_components(coo_array((np.ones(ends.shape[1], bool), tuple(ends)), (n, n)), directed=False)
    if number == 1:
        return [(vertices, triangles)]
    parts = [triangles[part[triangles[:, 0]] == label] for label in np.unique(part[triangles[:, 0]])]
    used = [np.unique(faces, return_inverse=True) for faces in parts]
    return [(vertices[corners], local.reshape(-1, 3)) for corners, local in used]


def _check_sound(vertices: Points, triangles: Triangles) -> None:
    """Refuse a shell that runs through itself, touches itself other than corner on corner, or is flat."""
    through = crossing(vertices, triangles)
    if through is not None:
        where = "({:g}, {:g}, {:g})".format(*(through + 0.0))
        mend = "unite its parts in the program that made it; these numbers are the file's own"
        raise BadMesh(f"runs through itself, or touches itself, at {where}", mend)
    size = float(np.ptp(vertices, axis=0).max())
    if abs(volume_and_centroid(vertices, triangles)[0]) <= FLAT * size**3:
        raise BadMesh("has a part that is flat, and encloses nothing", "take it out, or give it its thickness")


def _surrounds(shell: Shell, point: Points) -> bool:
    """Whether *point* lies within an outward shell: the solid angle that it takes up is then 4π, else 0.

    Formula: van Oosterom and Strackee, IEEE Trans. Biomed. Eng. 30 (1983), from memory.
    """
    vertices, triangles = shell
    a, b, c = np.moveaxis((vertices - point)[triangles], 1, 0)
    la, lb, lc = (np.linalg.norm(side, axis=1) for side in (a, b, c))
    over = np.einsum("ij,ij->i", a, np.cross(b, c))
    under = la * lb * lc + (a * b).sum(1) * lc + (b * c).sum(1) * la + (c * a).sum(1) * lb
    return bool(np.arctan2(over, under).sum() > math.pi)


def _one(shells: Sequence[Shell]) -> tuple[Shell, tuple[str, ...]]:
    """Return the union of outward shells, and what there is to say of it."""
    if len(shells) == 1:
        return shells[0], ()
    solids = [closed(*shell) for shell in shells]
    whole = united(solids)
    shared = sum(solid.volume for solid in solids) - whole.volume
    remarks = [f"holds {len(shells)} separate bodies, which stand as one obstruction"]
    if shared > 1e-9 * whole.volume:
        remarks.append("has bodies that overlap: what they share is counted once")
    return (whole.vertices, whole.triangles), tuple(remarks)
