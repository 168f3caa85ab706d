"""PLY, binary, in millimetres, float64: the parts one after another, their names and faces told in the header.

Written here because trimesh writes float32 and states neither unit nor parts. A number of the part on each
face would be plainer, but stops some readers. A volume is kept to 1e-12 by readers that keep float64.
"""

from collections.abc import Sequence

import numpy as np

from tapeloft.model.files.formats.registry import AXES, Format, NamedSolid, millimetres, register

FACE = np.dtype([("corners", "u1"), ("vertices", "<i4", 3)])


def _encoded(parts: Sequence[NamedSolid]) -> bytes:
    vertices = [millimetres(part.solid) for part in parts]
    first_vertices = np.cumsum([0, *map(len, vertices)])
    first_faces = np.cumsum([0, *(len(part.solid.triangles) for part in parts)])
    faces = np.zeros(first_faces[-1], FACE)
    faces["corners"] = 3
    faces["vertices"] = np.concatenate(
        [part.solid.triangles + first for part, first in zip(parts, first_vertices, strict=False)]
    )
    header = [
        "ply",
        "format binary_little_endian 1.0",
        f"comment tapeloft, unit mm, {AXES}",
        *(
            f"comment faces {first} to {end - 1}: {part.name}"
            for part, first, end in zip(parts, first_faces, first_faces[1:], strict=False)
        ),
        f"element vertex {first_vertices[-1]}",
        *(f"property double {axis}" for axis in "xyz"),
        f"element face {len(faces)}",
        "property list uchar int vertex_indices",
        "end_header",
        "",
    ]
    return "\n".join(header).encode() + np.concatenate(vertices).astype("<f8").tobytes() + faces.tobytes()


register(Format("ply", "PLY, binary: the parts one after another, named in the header", "mm", True, False, _encoded))
