"""Whether a turned thing at a place is clear of the walls; told by planes that part it from each triangle."""

from typing import NamedTuple

import numpy as np

from tapeloft.model.packing.forms import APART, TOUCH, Bodies, Indices
from tapeloft.model.proof.compiled import compiled, part
from tapeloft.model.proof.walls import BLOCK, Numbers, Walls, walls
from tapeloft.model.proof.winding import UNSURE, winding
from tapeloft.model.solid import Solid


class Room(NamedTuple):
    """The walls, and how far each piece of each turned thing at 0 lies over and under the plane of each triangle."""

    walls: Walls
    normals: Numbers  # (T, 3) unit, or 0 where a triangle has none
    level: Indices  # (T,) to which axis a triangle is square, or −1
    under: Numbers  # (P, T) m, from the plane along the normal to the piece; negative where it reaches through
    over: Numbers  # (P, T) m, from the piece along the normal to the plane


CLEAR = -1  # no triangle in the way
CORNERS = 64  # of a triangle that is cut by the sides of a piece, more than `pieces.FEW` + 3
BESIDE = -2  # clear of all triangles, but not inside
ASIDE = 1.7e-5  # m: how far from the middle of a piece points are looked at, where edges are right above it


def room(space: Solid, bodies: Bodies) -> Room:
    """Return *space* as the loops take it."""
    surface = walls(space.vertices[space.triangles])
    a, b, c = np.moveaxis(surface.corners, 1, 0)
    across = np.cross(b - a, c - a)
    length = np.linalg.norm(across, axis=1)
    normals = across / np.where(length > 0, length, 1.0)[:, None]
    off = (normals * a).sum(axis=1)
    along = np.split(bodies.corners @ normals.T, bodies.first_corner[1:-1])
    return Room(
        surface,
        normals,
        np.where(np.abs(normals).max(axis=1) >= 1 - 1e-12, np.abs(normals).argmax(axis=1), -1),
        np.array([one.min(axis=0) for one in along]) - off,
        off - np.array([one.max(axis=0) for one in along]),
    )


@part
def hindrance(bodies: Bodies, turn: int, place: Numbers, room: Room, last: int) -> int:
    """Return a triangle that a thing meets, CLEAR where it is inside and meets none, or BESIDE.

    last: the triangle to look at first, or −1.
    """
    around, polygon = np.empty(6), np.empty((2, CORNERS, 3))
    for piece in range(bodies.first[turn], bodies.first[turn + 1]):
        if last >= 0 and _meets(bodies, turn, piece, place, room, last, polygon):
            return last
        for i in range(3):
            around[i] = bodies.spans[piece, i] + place[i] - APART
            around[3 + i] = bodies.spans[piece, 3 + i] + place[i] + APART
        met = _met(bodies, turn, piece, place, room, around, polygon)
        if met >= 0:
            return met
    return CLEAR if _inside(bodies, turn, place, room.walls) else BESIDE


@part
def _met(bodies: Bodies, turn: int, piece: int, place: Numbers, room: Room, around: Numbers, polygon: Numbers) -> int:
    """Return the first triangle that a piece at a place meets, or −1; *around* (6,) is a box that holds it."""
    blocks, spans, normals = room.walls.blocks, room.walls.spans, room.normals
    under, over = room.under[piece], room.over[piece]
    for block in range(blocks.shape[0]):
        if _misses(blocks, block, around):
            continue
        for t in range(block * BLOCK, min(spans.shape[0], (block + 1) * BLOCK)):
            along = normals[t, 0] * place[0] + normals[t, 1] * place[1] + normals[t, 2] * place[2]
            if max(under[t] + along, over[t] - along) >= APART or _misses(spans, t, around):
                continue
            if _meets(bodies, turn, piece, place, room, t, polygon):
                return t
    return -1


@part
def _misses(spans: Numbers, number: int, box: Numbers) -> bool:
    """Whether one of the upright boxes *spans* and another have no inner point in common."""
    return bool(
        spans[number, 3] <= box[0] or spans[number, 0] >= box[3] or spans[number, 4] <= box[1]
        or spans[number, 1] >= box[4] or spans[number, 5] <= box[2] or spans[number, 2] >= box[5]
    )  # fmt: skip


@part
def _inside(bodies: Bodies, turn: int, place: Numbers, walls: Walls) -> bool:
    """Whether the middle of each piece is inside the walls, as far as it is sure."""
    point = np.empty(3)
    for piece in range(bodies.first[turn], bodies.first[turn + 1]):
        turns = UNSURE
        for k in range(5):
            for i in range(3):
                point[i] = bodies.middles[piece, i] + place[i] + k * ASIDE * (1 + 0.618 * i)
            turns = winding(walls, point)
            if turns == 0 or turns == 1:
                break
        if turns != 1:
            return False
    return True


@part
def _meets(bodies: Bodies, turn: int, piece: int, place: Numbers, room: Room, t: int, polygon: Numbers) -> bool:
    """Whether something of a triangle is left when all beyond each side of a piece at a place is cut off.

    polygon: (2, CORNERS, 3) to work in.
    """
    if _flush(bodies, turn, piece, place, room, t):
        return False
    for k in range(3):
        for i in range(3):
            polygon[0, k, i] = room.walls.corners[t, k, i] - place[i]
    sides, source, count = bodies.sides, 0, 3
    for s in range(bodies.first_side[piece], bodies.first_side[piece + 1]):
        x, y, z, off = sides[s, 0], sides[s, 1], sides[s, 2], sides[s, 3] + APART
        inside = _before(polygon, source, count, x, y, z, off)
        if inside == 0:
            return False
        if inside < count:
            count = _cut(polygon, source, count, x, y, z, off)
            source = 1 - source
    return True


@part
def _before(polygon: Numbers, source: int, count: int, x: float, y: float, z: float, off: float) -> int:
    """Return how many corners of a polygon lie before the plane (x, y, z) · p = off."""
    inside = 0
    for k in range(count):
        if x * polygon[source, k, 0] + y * polygon[source, k, 1] + z * polygon[source, k, 2] < off:
            inside += 1
    return inside


@part
def _flush(bodies: Bodies, turn: int, piece: int, place: Numbers, room: Room, t: int) -> bool:
    """Whether a triangle is square to an axis and a piece that ends on the grid that way lies beyond it, or on it."""
    axis = room.level[t]
    if axis < 0 or not bodies.exact[turn, axis]:
        return False
    off = room.walls.corners[t, 0, axis] - place[axis]
    return bool(bodies.spans[piece, axis] >= off - TOUCH or bodies.spans[piece, 3 + axis] <= off + TOUCH)


@part
def _cut(polygon: Numbers, source: int, count: int, x: float, y: float, z: float, off: float) -> int:
    """Copy what of a polygon lies before the plane (x, y, z) · p = off into the other half; return its corner count."""
    kept = 0
    for k in range(count):
        after = k + 1 if k + 1 < count else 0
        here = x * polygon[source, k, 0] + y * polygon[source, k, 1] + z * polygon[source, k, 2] - off
        there = x * polygon[source, after, 0] + y * polygon[source, after, 1] + z * polygon[source, after, 2] - off
        if here < 0:
            for i in range(3):
                polygon[1 - source, kept, i] = polygon[source, k, i]
            kept += 1
        if (here < 0) != (there < 0):
            share = here / (here - there)
            for i in range(3):
                polygon[1 - source, kept, i] = polygon[source, k, i] + share * (
                    polygon[source, after, i] - polygon[source, k, i]
                )
            kept += 1
    return kept


@compiled
def admitted(bodies: Bodies, turn: int, room: Room, xs: Numbers, ys: Numbers, zs: Numbers) -> Indices:
    """Return the places of a lattice, (k, 3) cell numbers, at which a turned thing is inside and clear of the walls."""
    found = np.empty((xs.size * ys.size * zs.size, 3), np.int64)
    count, last = 0, -1
    place = np.empty(3)
    for i in range(xs.size):
        for j in range(ys.size):
            for k in range(zs.size):
                place[0], place[1], place[2] = xs[i], ys[j], zs[k]
                met = hindrance(bodies, turn, place, room, last)
                if met == CLEAR:
                    found[count, 0], found[count, 1], found[count, 2] = i, j, k
                    count += 1
                elif met >= 0:
                    last = met
    return found[:count].copy()
