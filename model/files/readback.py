"""A mesh file read back by another library before it leaves: does it hold what was put in?"""

import io
import math

from tapeloft.model.errors import GeometryError
from tapeloft.model.files.formats.registry import Format

CUBIC_METRES = {"mm": 1e-9, "m": 1.0}
FLOAT32 = 2.0**-24  # half the spacing of float32 at one


def read_back(data: bytes, kind: Format) -> float:
    """Return the volume, m³, that trimesh finds in the bytes of a mesh file of one of our formats.

    Vertices are taken as written, none merged: trimesh sums signed tetrahedra, so a face that is missing or turned
    changes the sum. Raises GeometryError where it finds no surface.

    >>> from tapeloft.model.export import encoded, format_of
    >>> from tapeloft.model.facets import body
    >>> from tapeloft.model.files.formats.registry import NamedSolid
    >>> from tapeloft.shapes.polyhedron import box
    >>> from pathlib import Path
    >>> tank = NamedSolid("net", body(box((0, 0, 0), (2, 1, 0.5))))
    >>> round(read_back(encoded([tank], "glb"), format_of(Path("tank.glb"))), 6)
    1.0
    """
    import trimesh

    scene = trimesh.load_scene(io.BytesIO(data), file_type=kind.ending, process=False)
    meshes = [found for found in scene.dump() if isinstance(found, trimesh.Trimesh)]
    if not meshes:
        raise GeometryError(f"the .{kind.ending} file reads back without any surface")
    return float(sum(mesh.volume for mesh in meshes)) * CUBIC_METRES[kind.unit]


def may_differ(kind: Format, area: float, reach: float) -> float:
    """Return how far, m³, a volume may differ for its format's rounding alone.

    area m²; reach m, the largest coordinate. float32 coordinates move a surface by √3 · reach · 2⁻²⁴ at most; the
    formats that keep float64 or nine decimals are held to a billionth of area × reach.
    """
    step = math.sqrt(3) * FLOAT32 if kind.single else 1e-9
    return 2 * area * reach * step
