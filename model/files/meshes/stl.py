"""STL: loose triangles, as text or binary. Format: 3D Systems, 1989 (from memory)."""

import numpy as np

from tapeloft.model.files.meshes import BadMesh, Faces, numbers
from tapeloft.model.moments import Points

HEAD = 84
FACET = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])
WORDS = (b"solid", b"facet", b"outer", b"endloop", b"endfacet", b"endsolid")


def read(data: bytes) -> tuple[Points, Faces]:
    """Return corners, (3m, 3), three for each triangle, and the triangles.

    >>> read(bytes(80) + (50_000_000).to_bytes(4, "little") + bytes(116))
    Traceback (most recent call last):
    tapeloft.model.files.meshes.BadMesh: declares 50000000 triangles, which take 2500000084 bytes, and has 200
    """
    declared = int.from_bytes(data[HEAD - 4 : HEAD], "little")
    takes = HEAD + FACET.itemsize * declared
    if len(data) >= HEAD and len(data) == takes:
        corners = np.frombuffer(data, FACET, offset=HEAD)["corners"].reshape(-1, 3).astype(np.float64)
    elif data.lstrip()[:5].lower() == b"solid" and b"\0" not in data:
        corners = _text(data)
    elif len(data) < HEAD:
        raise BadMesh("is no STL file: it is shorter than the head of one")
    else:
        raise BadMesh(f"declares {declared} triangles, which take {takes} bytes, and has {len(data)}")
    return corners, (np.arange(len(corners)).reshape(-1, 3),)


def _text(data: bytes) -> Points:
    rows: list[list[bytes]] = []
    faces = 0
    for number, line in enumerate(data.splitlines(), 1):
        words = line.split()
        word = words[0].lower() if words else b"solid"
        if word == b"vertex" and len(words) == 4:
            rows.append(words[1:])
        elif word not in WORDS:
            raise BadMesh(f"line {number} is no line of an STL file")
        faces += word == b"outer"
        if word in (b"outer", b"endfacet") and len(rows) != 3 * (faces - (word == b"outer")):
            raise BadMesh(f"the face that ends near line {number} has not three corners")
    if len(rows) != 3 * faces:
        raise BadMesh("ends in the middle of a face")
    return numbers(rows)
