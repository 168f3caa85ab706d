"""STL, binary, in millimetres: one body, named in the header only.

Written here because trimesh leaves the header empty, and the header is the only place for the unit.
Corners are float32: with the furthest coordinate at c, each lies within √3·c·2⁻²⁴ of its place (0.4 µm at
4 m), and a volume V of surface A is kept within that times A.
"""

import struct
from collections.abc import Sequence

import numpy as np

from tapeloft.model.files.formats.registry import Format, NamedSolid, millimetres, register

HEADER = 80  # bytes
FACET = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])


def _encoded(parts: Sequence[NamedSolid]) -> bytes:
    (part,) = parts
    points = millimetres(part.solid)
    corners = points.astype("<f4")[part.solid.triangles]
    # one whose corners fall together in float32 is left out: what remains still closes
    apart = ~(corners == np.roll(corners, 1, axis=1)).all(axis=2).any(axis=1)
    a, b, c = np.moveaxis(points[part.solid.triangles[apart]], 1, 0)
    across = np.cross(b - a, c - a)
    length = np.linalg.norm(across, axis=1, keepdims=True)
    facets = np.zeros(len(across), FACET)
    facets["normal"] = across / np.where(length > 0, length, 1.0)
    facets["corners"] = corners[apart]
    header = f"tapeloft, unit mm: {part.name}".encode("ascii", "replace")[:HEADER].ljust(HEADER)
    return header + struct.pack("<I", len(facets)) + facets.tobytes()


register(Format("stl", "STL, binary: one body, no names", "mm", False, True, _encoded))
