"""Whether the triangles of a file close, and where they do not."""

import numpy as np
from numpy.typing import NDArray

from tapeloft.model.files.meshes import BadMesh
from tapeloft.model.moments import Points, Triangles

Edges = NDArray[np.int64]


def check_closed(vertices: Points, triangles: Triangles) -> None:
    """Raise BadMesh unless every edge has two triangles that run along it in opposite directions.

    >>> check_closed(np.eye(3), np.array([[0, 1, 2]]))
    Traceback (most recent call last):
    tapeloft.model.files.meshes.BadMesh: is not closed: 3 open edges in 1 hole, 4.24264 round, from (0, 1, 0) to (1, 0, 0)
    """  # noqa: E501
    ahead = triangles[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2)
    along = ahead[:, 0] < ahead[:, 1]
    key = ahead.min(axis=1) * len(vertices) + ahead.max(axis=1)
    _, first, edge, count = np.unique(key, return_index=True, return_inverse=True, return_counts=True)
    if (count == 1).any():
        _refuse_open(vertices, ahead[first[count == 1]])
    if (count > 2).any():
        ends = vertices[ahead[first[np.argmax(count > 2)]]]
        many = "1 edge" if (count > 2).sum() == 1 else f"{(count > 2).sum()} edges"
        what = f"has {many} where more than two faces meet, from {_at(ends[0])} to {_at(ends[1])}"
        raise BadMesh(what, "take out faces inside the body, and part bodies that touch along an edge")
    turned = np.bincount(edge, weights=along) != 1
    if turned.any():
        ends = vertices[ahead[first[np.argmax(turned)]]]
        what = f"has faces turned against their neighbours, two of them along {_at(ends[0])} to {_at(ends[1])}"
        raise BadMesh(what, "turn all normals outward in the program that made it")


def _refuse_open(vertices: Points, edges: Edges) -> None:
    loops = _loops(edges)
    lengths = [float(np.linalg.norm(np.diff(vertices[loop], axis=0), axis=1).sum()) for loop in loops]
    longest = vertices[loops[int(np.argmax(lengths))]]
    way = int(np.ptp(longest, axis=0).argmax())
    ends = _at(longest[longest[:, way].argmin()]), _at(longest[longest[:, way].argmax()])
    holes = "1 hole" if len(loops) == 1 else f"{len(loops)} holes, the largest"
    what = f"is not closed: {len(edges)} open edges in {holes}, {max(lengths):g} round, from {ends[0]} to {ends[1]}"
    raise BadMesh(what, "close it in the program that made it; these numbers are the file's own")


def _loops(edges: Edges) -> list[list[int]]:
    """Return directed edges, (k, 2), strung together end to start; each edge is used once."""
    onward: dict[int, list[int]] = {}
    for start, end in edges.tolist():
        onward.setdefault(start, []).append(end)
    loops = []
    while onward:
        loop = [next(iter(onward))]
        while loop[-1] in onward:
            ends = onward[loop[-1]]
            here = loop[-1]
            loop.append(ends.pop())
            if not ends:
                del onward[here]
        loops.append(loop)
    return loops


def _at(point: Points) -> str:
    return "({:g}, {:g}, {:g})".format(*(point + 0.0))
