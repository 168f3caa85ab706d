"""Mesh files as they are written: corners, and faces as corner numbers; one module a format.

Strict, so that a damaged file is refused rather than read in part, and every count that a file declares is held
against its size before anything is made of it. Faces come as one array for each number of corners, (m, k).
"""

from collections.abc import Sequence

import numpy as np

from tapeloft.model.moments import Points, Triangles

Faces = tuple[Triangles, ...]
SAVE_AGAIN = "save it again from the program that made it"


class BadMesh(ValueError):
    """A mesh file that gives no body: `what` is wrong with it, and what would `mend` it."""

    def __init__(self, what: str, mend: str = SAVE_AGAIN) -> None:
        super().__init__(what)
        self.what, self.mend = what, mend


def numbers(rows: Sequence[Sequence[bytes]]) -> Points:
    """Return rows of three texts as an array, (n, 3); BadMesh names the first that is no number.

    >>> numbers([[b"0", b"1e-3", b"zwei"]])
    Traceback (most recent call last):
    tapeloft.model.files.meshes.BadMesh: the coordinate "zwei" is no number
    """
    try:
        return np.array(rows, dtype=np.bytes_).reshape(-1, 3).astype(np.float64)
    except ValueError:
        bad = next(text for row in rows for text in row if not _is_number(text))
        raise BadMesh(f"the coordinate {shown(bad)} is no number") from None


def grouped(loops: Sequence[Sequence[float]] | Points) -> Faces:
    """Return faces by their number of corners; BadMesh where one has fewer than three, or no whole number for a corner.

    >>> [faces.tolist() for faces in grouped([[0, 1, 2], [0, 1, 2, 3], [2, 1, 0]])]
    [[[0, 1, 2], [2, 1, 0]], [[0, 1, 2, 3]]]
    """
    if isinstance(loops, np.ndarray) and loops.ndim == 2 and loops.shape[1] > 2:
        return (_whole(loops.astype(np.float64)),)
    by_count: dict[int, list[Sequence[float]]] = {}
    for number, loop in enumerate(loops, 1):
        if len(loop) < 3:
            raise BadMesh(f"face {number} has only {len(loop)} of its corners")
        by_count.setdefault(len(loop), []).append(loop)
    return tuple(_whole(np.array(by_count[count], np.float64)) for count in sorted(by_count))


def _whole(faces: Points) -> Triangles:
    if not (np.abs(faces) < 2**53).all() or (faces != np.round(faces)).any():
        raise BadMesh("a face names a corner by something else than a whole number")
    return faces.astype(np.int64)


def shown(text: bytes) -> str:
    """Return a scrap of a file, fit to show.

    >>> shown(b"\\x00\\xff" * 40)
    '"��������…"'
    """
    plain = "".join(c if c.isprintable() else "\ufffd" for c in text[:41].decode("ascii", "replace"))
    return f'"{plain}"' if len(text) <= 24 else f'"{plain[:8]}…"'


def _is_number(text: bytes) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True
