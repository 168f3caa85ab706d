"""OBJ: corners and faces as lines of text. Format: Wavefront, 1992 (from memory)."""

from tapeloft.model.files.meshes import BadMesh, Faces, grouped, numbers, shown
from tapeloft.model.moments import Points


def read(data: bytes) -> tuple[Points, Faces]:
    """Return the corners and faces of all groups; normals, textures and materials are passed over.

    >>> corners, faces = read(b"v 0 0 0\\nv 1 0 0\\nv 1 1 0\\nf 1//1 2//1 -1//1")
    >>> faces[0].tolist()
    [[0, 1, 2]]
    """
    rows: list[list[bytes]] = []
    loops: list[list[int]] = []
    for number, line in enumerate(data.replace(b"\\\r\n", b" ").replace(b"\\\n", b" ").splitlines(), 1):
        words = line.split()
        if words[:1] == [b"v"]:
            if len(words) < 4:
                raise BadMesh(f"the corner on line {number} has not three numbers")
            rows.append(words[1:4])
        elif words[:1] == [b"f"]:
            loops.append([_corner(word, len(rows), number) for word in words[1:]])
    return numbers(rows), grouped(loops)


def _corner(word: bytes, known: int, line: int) -> int:
    """Return a corner's number from 0; a negative one is counted back from the last corner so far."""
    try:
        number = int(word.split(b"/", 1)[0])
    except ValueError:
        raise BadMesh(f"the face on line {line} names no corner: {shown(word)}") from None
    if number == 0 or number < -known:
        raise BadMesh(f"the face on line {line} names corner {number}, which is not there")
    return number - 1 if number > 0 else known + number
