"""A solid seen along one axis: its triangles laid flat, and how they go on into each other."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tapeloft.model.moments import Points, Triangles
from tapeloft.model.solid import Solid

Numbers = NDArray[np.float64]
NEAR = 1e-9  # share of the solid's size within which points, seen along the axis, are one
COPLANAR = 1e-12  # difference of slope that is no crease


@dataclass(frozen=True, eq=False)
class Shadow:
    """The n triangles of a solid that are not seen edge on, laid flat along an axis.

    Plane coordinates are those of the two axes that follow, in turn, from the middle of the solid; corners run
    counter-clockwise, edge i from corner i to the next. "Along" is the third coordinate, as it stands.
    """

    axis: int
    middle: Points  # (2,) of the plane, in the solid's own axes
    half: Points  # (2,) half the sides of the rectangle around it
    near: float  # m
    corners: Points  # (n, 3, 2)
    boxes: tuple[Points, Points]  # middle and half sides of the rectangle around each triangle, (n, 2)
    edge_boxes: tuple[Points, Points]  # and around each edge, (n, 3, 2)
    inward: Points  # (n, 3, 2) unit normals of the edges; inside where inward · p ≥ offset
    offset: Numbers  # (n, 3)
    slope: Points  # (n, 2) and
    level: Numbers  # (n,): along = level + slope · p
    least: Numbers  # (n,) along, and
    most: Numbers  # (n,)
    leaves: NDArray[np.int64]  # (n,) 1 where a line along the axis leaves the solid, −1 where it enters
    mates: NDArray[np.int64]  # (n, 3) the triangle across each edge, −1 where the surface turns back or stands upright
    crease: NDArray[np.bool_]  # (n, 3) whether the slope changes at the edge


def shadow(solid: Solid, axis: int) -> Shadow:
    """Return *solid* (not empty) seen along *axis* 0, 1 or 2.

    Triangles thinner to the eye than a few billionths of the solid's size count as edge on.
    """
    plane = [(axis + 1) % 3, (axis + 2) % 3]
    low, high = solid.bounds
    middle, half = (low + high)[plane] / 2, (high - low)[plane] / 2
    near = NEAR * float(np.linalg.norm(high - low))
    flat, along = (solid.vertices[:, plane] - middle)[solid.triangles], solid.vertices[:, axis][solid.triangles]
    edge = np.roll(flat, -1, axis=1) - flat
    twice = _cross(edge[:, 0], edge[:, 1])
    length = np.linalg.norm(edge, axis=2)
    kept = np.flatnonzero(np.abs(twice) > 4 * near * length.max(axis=1))
    numbers = np.full(len(flat) + 1, -1)
    numbers[kept] = np.arange(len(kept))
    mates = numbers[_across(solid.triangles)[kept]]
    flat, along, leaves = flat[kept], along[kept], np.sign(twice[kept]).astype(np.int64)
    back = leaves < 0
    flat[back], along[back], mates[back] = flat[back][:, [0, 2, 1]], along[back][:, [0, 2, 1]], mates[back][:, ::-1]
    mates[(mates >= 0) & (leaves[mates] != leaves[:, None])] = -1
    edge = np.roll(flat, -1, axis=1) - flat
    inward = np.stack([-edge[:, :, 1], edge[:, :, 0]], axis=2) / np.linalg.norm(edge, axis=2)[:, :, None]
    offset = np.einsum("nij,nij->ni", inward, flat)
    slope = _slopes(flat, along)
    level = along[:, 0] - np.einsum("nj,nj->n", slope, flat[:, 0])
    bent = np.abs(slope[mates] - slope[:, None]).max(axis=2) > COPLANAR
    low, high = flat.min(axis=1), flat.max(axis=1)
    boxes, edge_boxes = ((low + high) / 2, (high - low) / 2), (flat + edge / 2, np.abs(edge) / 2)
    return Shadow(
        axis, middle, half, near, flat, boxes, edge_boxes, inward, offset, slope, level,
        along.min(axis=1), along.max(axis=1), leaves, mates, bent | (mates < 0),
    )  # fmt: skip


def _slopes(flat: Points, along: Numbers) -> Points:
    (ax, ay), (bx, by) = (flat[:, 1] - flat[:, 0]).T, (flat[:, 2] - flat[:, 0]).T
    a, b = along[:, 1] - along[:, 0], along[:, 2] - along[:, 0]
    slopes: Points = np.column_stack([a * by - b * ay, b * ax - a * bx]) / (ax * by - ay * bx)[:, None]
    return slopes


def _cross(a: Points, b: Points) -> Numbers:
    turn: Numbers = a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0]
    return turn


def _across(triangles: Triangles) -> Triangles:
    """The triangle on the other side of each edge, (m, 3); −1 where more than two meet in it."""
    begin, end = triangles, np.roll(triangles, -1, axis=1)
    most = int(triangles.max()) + 1
    ahead, back = (begin * most + end).ravel(), (end * most + begin).ravel()
    order = np.argsort(ahead)
    ranked = ahead[order]
    first = np.searchsorted(ranked, back, "left")
    alone = np.searchsorted(ranked, back, "right") - first == 1
    across: Triangles = np.where(alone, order[np.minimum(first, len(order) - 1)] // 3, -1).reshape(-1, 3)
    return across
