"""GLB, the binary form of glTF 2.0, in metres: each part a named node.

Written here because trimesh neither turns z up into glTF's y up nor is needed for what is one header and two
arrays a part. Corners are float32: a volume is kept as in STL.
"""

import json
import struct
from collections.abc import Sequence
from typing import Any

from numpy.typing import NDArray

from tapeloft.model.files.formats.registry import AXES, Format, NamedSolid, register

FLOAT, UINT = 5126, 5125  # component types
VERTICES, INDICES = 34962, 34963  # buffer targets
# glTF looks along +z with +y up and +x to the left: x forward becomes z, y to port x, z up y
TURNED = (-0.5, -0.5, -0.5, 0.5)


def _encoded(parts: Sequence[NamedSolid]) -> bytes:
    blocks: list[bytes] = []
    views: list[dict[str, object]] = []
    accessors: list[dict[str, object]] = []

    def stored(array: NDArray[Any], target: int, kind: int, **shape: object) -> int:
        start = sum(map(len, blocks))
        blocks.append(array.tobytes())
        views.append({"buffer": 0, "byteOffset": start, "byteLength": len(blocks[-1]), "target": target})
        accessors.append({"bufferView": len(views) - 1, "componentType": kind, **shape})
        return len(accessors) - 1

    meshes = []
    for part in parts:
        points = part.solid.vertices.astype("<f4")
        corners = part.solid.triangles.astype("<u4").ravel()
        span = {"min": points.min(axis=0).tolist(), "max": points.max(axis=0).tolist()}
        position = stored(points, VERTICES, FLOAT, count=len(points), type="VEC3", **span)
        indices = stored(corners, INDICES, UINT, count=len(corners), type="SCALAR")
        meshes.append({"name": part.name, "primitives": [{"attributes": {"POSITION": position}, "indices": indices}]})
    nodes = [{"name": part.name, "mesh": number} for number, part in enumerate(parts)]
    root = {"name": AXES, "rotation": TURNED, "children": list(range(1, len(parts) + 1))}
    scene = {
        "asset": {"version": "2.0", "generator": "tapeloft"},
        "scene": 0,
        "scenes": [{"nodes": [0]}],
        "nodes": [root, *nodes],
        "meshes": meshes,
        "accessors": accessors,
        "bufferViews": views,
        "buffers": [{"byteLength": sum(map(len, blocks))}],
    }
    text = json.dumps(scene, separators=(",", ":"), ensure_ascii=False).encode()
    body = _chunk(b"JSON", text + b" " * (-len(text) % 4)) + _chunk(b"BIN\0", b"".join(blocks))
    return struct.pack("<4sII", b"glTF", 2, 12 + len(body)) + body


def _chunk(kind: bytes, data: bytes) -> bytes:
    return struct.pack("<I4s", len(data), kind) + data


register(Format("glb", "GLB (glTF 2.0): each part a named node, y up", "m", True, True, _encoded))
