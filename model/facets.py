"""From the plane polygons of a shape to a solid."""

import numpy as np

from tapeloft.model.errors import GeometryError
from tapeloft.model.moments import Points, Triangles
from tapeloft.model.solid import Solid, closed, triangulated, united
from tapeloft.shapes.polyhedron import Bounds, Polyhedron, Round
from tapeloft.shapes.registry import Shape


def standing(shape: Shape, space: Bounds, how: Round) -> Solid:
    """Return *shape* as it stands in *space*: the union of its bodies, not yet cut to the compartment.

    space in compartment axes, m; how says how circles are drawn. Empty where the shape has no body (a tube too
    thin to be drawn within itself). Raises ValueError, in words fit to show, where the readings make no body.

    >>> from tapeloft.shapes.block import Box
    >>> standing(Box(None, None, (0.0, 0.25)), Bounds((0, 0, 0), (2, 1, 1)), Round.OUTSIDE).bounds.tolist()
    [[-0.001, -0.001, 0.0], [2.001, 1.001, 0.25]]
    """
    solids = [body(polyhedron) for polyhedron in shape.bodies(space, how)]
    return solids[0] if len(solids) == 1 else united(solids)


def body(polyhedron: Polyhedron) -> Solid:
    """Return the solid within *polyhedron*, each triangle numbered after the face it is part of.

    Raises GeometryError where the faces do not close.

    >>> from tapeloft.shapes.polyhedron import box
    >>> solid = body(box((0, 0, 0), (2, 1, 0.5)))
    >>> round(solid.volume, 12), sorted(set(solid.faces.tolist()))
    (1.0, [0, 1, 2, 3, 4, 5])
    """
    triangles, faces = [], []
    corners = np.array([len(face) for face in polyhedron.faces])
    for count in np.unique(corners):
        numbers = np.flatnonzero(corners == count)
        loops = np.array([polyhedron.faces[number] for number in numbers])
        parts = filled(polyhedron.vertices, loops)
        triangles.append(parts.reshape(-1, 3))
        faces.append(np.repeat(numbers, parts.shape[1]))
    return closed(polyhedron.vertices, np.concatenate(triangles), np.concatenate(faces))


def filled(vertices: Points, loops: Triangles) -> Triangles:
    """Return the triangles, (faces, n − 2, 3), of plane loops of n corners each, (faces, n).

    Loops are counter-clockwise from outside; every edge is kept. Raises GeometryError where a loop crosses itself.

    >>> filled(np.array([[0, 0, 0], [2, 0, 0], [1, 0.5, 0], [1, 2, 0]]), np.array([[0, 1, 2, 3]])).tolist()
    [[[2, 3, 0], [0, 1, 2]]]
    """
    n = loops.shape[1]
    if n == 3:
        return loops[:, None]
    corners = vertices[loops]
    ahead = np.roll(corners, -1, axis=1) - corners
    turns = np.cross(np.roll(ahead, 1, axis=1), ahead)
    normals = np.cross(corners - corners[:, :1], np.roll(corners, -1, axis=1) - corners[:, :1]).sum(axis=1)
    convex = ((turns * normals[:, None]).sum(axis=2) > 0).all(axis=1)
    fan = np.stack([np.zeros(n - 2, int), np.arange(1, n - 1), np.arange(2, n)], axis=1)
    parts: Triangles = loops[:, fan]
    for k in np.flatnonzero(~convex):
        within = triangulated([_seen_flat(corners[k], normals[k])])
        if len(within) != n - 2:
            raise GeometryError(f"a face of {n} corners crosses itself")
        parts[k] = loops[k][within]
    return parts


def _seen_flat(loop: Points, normal: Points) -> Points:
    """Return a plane loop, (n, 3), as it is seen against its normal along the nearest axis, (n, 2)."""
    axis = int(np.abs(normal).argmax())
    flat: Points = loop[:, [(axis + 1) % 3, (axis + 2) % 3]]
    return flat if normal[axis] > 0 else flat[:, ::-1]
