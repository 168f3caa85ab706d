"""A scan as its file has it: a cloud of points, or a mesh, whose surface is sampled so that both are treated alike."""

import io
import json
import struct
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from tapeloft.model.errors import FileError, Problem
from tapeloft.model.facets import filled
from tapeloft.model.files.meshes import BadMesh, Faces, obj, ply, stl
from tapeloft.model.files.meshfile import contents
from tapeloft.model.moments import Points, Triangles, triangle_areas

READERS = {".stl": stl.read, ".obj": obj.read, ".ply": ply.read}
MOST_BYTES = 1_000_000_000
SAMPLES = 600_000  # points taken of a mesh's surface: some thousands in a hand's breadth of a locker
FARTHEST = 1e9  # in any unit farther than a boat is long
DOES = {"is", "has", "holds", "declares", "ends", "cannot"}
PACKED = ("compression", "quantization")  # what the names of extensions that pack a GLB's points end in
THIN_OUT = "thin it out in the program that made it"


@dataclass(frozen=True, eq=False)
class Cloud:
    """The points of a scan, (n, 3), in the file's own unit and axes.

    meshed: the triangles that they were taken from, 0 for a cloud; corners of no triangle are points too. left_out:
    points, or triangles, that have no coordinates. in_metres: the format itself says that its unit is the metre.
    """

    points: Points
    meshed: int = 0
    left_out: int = 0
    in_metres: bool = False


def read_cloud(path: str | Path, seed: int = 0) -> Cloud:
    """Return the points of a PLY, OBJ, STL or GLB file; a mesh is sampled evenly over its surface.

    The same file and seed give the same points. Raises FileError, with what is wrong and what would mend it.
    """
    place = Path(path)
    try:
        if place.suffix.lower() == ".glb":
            corners, triangles = _glb(contents(place, MOST_BYTES))
        elif reader := READERS.get(place.suffix.lower()):
            corners, triangles = _plain(*reader(contents(place, MOST_BYTES)))
        else:
            raise BadMesh("has not the name of a PLY, OBJ, STL or GLB file", "save the scan as one of these")
        return _cloud(corners, triangles, seed, place.suffix.lower() == ".glb")
    except BadMesh as bad:
        mend = THIN_OUT if "larger than" in bad.what else bad.mend
        raise FileError(str(Problem(f"the scan {_told(bad.what)}", mend, str(path)))) from None


def _told(what: str) -> str:
    """Return what is wrong so that it can stand after "the scan": a clause of its own, or what the scan does.

    >>> _told("is empty"), _told("face 2 has only 2 of its corners")
    ('is empty', 'cannot be used: face 2 has only 2 of its corners')
    """
    return what if what.split(" ", 1)[0] in DOES else f"cannot be used: {what}"


def _plain(corners: Points, faces: Faces) -> tuple[Points, Triangles]:
    if any(loops.min(initial=0) < 0 or loops.max(initial=-1) >= len(corners) for loops in faces):
        raise BadMesh("has a face that names a corner which is not there")
    parts = [filled(corners, loops).reshape(-1, 3) for loops in faces if len(loops)]
    return corners, np.concatenate(parts) if parts else np.zeros((0, 3), np.int64)


def _glb(data: bytes) -> tuple[Points, Triangles]:
    """Return the corners and triangles of every part of a GLB, each in its place. Format: glTF 2.0, lengths in metres.

    Read with trimesh.
    """
    import trimesh

    _refuse_packed(data)
    try:
        scene = trimesh.load_scene(io.BytesIO(data), file_type="glb", process=False)
        corners, triangles, count = [], [], 0
        for node in scene.graph.nodes_geometry:
            placed, name = scene.graph[node]
            part = scene.geometry[name]
            own = np.asarray(part.vertices, np.float64)
            corners.append(own @ placed[:3, :3].T + placed[:3, 3])
            triangles.append(np.asarray(getattr(part, "faces", np.zeros((0, 3))), np.int64) + count)
            count += len(own)
        if not count:
            raise BadMesh("holds no points")
        return np.vstack(corners), np.vstack(triangles)
    except BadMesh:
        raise
    except Exception:  # whatever a damaged file makes the library stumble over
        raise BadMesh("cannot be read as GLB") from None


def _refuse_packed(data: bytes) -> None:
    """Refuse a GLB whose points are packed: its reader would take them for noughts, or for metres."""
    try:
        size = struct.unpack_from("<I", data, 12)[0]
        needed = json.loads(data[20 : 20 + size]).get("extensionsRequired", [])
    except (struct.error, ValueError, AttributeError):
        return  # no GLB at all, which its reader says
    packed = [name for name in needed if isinstance(name, str) and name.endswith(PACKED)]
    if packed:
        raise BadMesh(f"has its points packed ({packed[0]}), which is not read here", "save it without compression")


def _cloud(corners: Points, triangles: Triangles, seed: int, in_metres: bool) -> Cloud:
    sound: NDArray[np.bool_] = np.all(np.abs(corners) <= FARTHEST, axis=1)
    if not len(triangles):
        if not sound.any():
            raise BadMesh("holds no points")
        return Cloud(corners[sound], 0, int((~sound).sum()), in_metres)
    whole = sound[triangles].all(axis=1)
    if not whole.any():
        raise BadMesh("has no triangle with all its coordinates")
    loose = sound.copy()
    loose[triangles.reshape(-1)] = False
    points = np.vstack([_sampled(corners, triangles[whole], seed), corners[loose]])
    return Cloud(points, int(whole.sum()), int((~whole).sum()), in_metres)


def _sampled(corners: Points, triangles: Triangles, seed: int) -> Points:
    """Return points spread evenly over the triangles (Osada and others, ACM Trans. Graphics 21, 2002, from memory)."""
    areas = triangle_areas(corners, triangles)
    if not areas.sum() > 0:
        raise BadMesh("has no size: each of its faces lies on a line")
    chance = np.random.default_rng(seed)
    a, b, c = np.moveaxis(corners[triangles[chance.choice(len(areas), SAMPLES, p=areas / areas.sum())]], 1, 0)
    r, s = np.sqrt(chance.random((SAMPLES, 1))), chance.random((SAMPLES, 1))
    spots: Points = (1 - r) * a + r * (1 - s) * b + r * s * c
    return spots
