"""Which turns are tried: as the rule allows, square to the axes first, then along the walls, then on sloping ones."""

import math

import numpy as np

from tapeloft.model.gear.forms import Capsule
from tapeloft.model.gear.turn import Turn
from tapeloft.model.moments import Points, triangle_areas
from tapeloft.model.packing.pieces import Thing
from tapeloft.model.solid import Solid
from tapeloft.shapes.polyhedron import Round

MOST = 18  # turns tried
WALLS, SLOPES = 2, 2  # directions of walls, and sloping walls, that things are laid along
SHARE = 0.04  # of the surface that such walls must have
NEAR = math.radians(3)  # walls nearer in direction than this are one
ALIKE = 6  # decimals to which shares and directions are one
STEEP = 0.5  # of 1: along walls whose normals rise or fall by less than this things are laid as seen from above
SLOPING = 0.2  # of 1: and flat on those whose normals rise or fall by more, where they may be tilted


def turns(turn: Turn, thing: Thing, space: Solid) -> Points:
    """Return the rotations tried, (k, 3, 3), for a thing that may be turned so; the first leaves it as it is.

    Turns that leave the thing the same are tried once. Square to the axes, and along the largest steep walls of
    *space* where it may be turned about the vertical; with any tilt, flat on its largest sloping walls too.

    >>> from tapeloft.model.facets import body
    >>> from tapeloft.model.gear.forms import Block, Cylinder
    >>> from tapeloft.shapes.polyhedron import box
    >>> room = body(box((0, 0, 0), (2, 1, 1)))
    >>> [len(turns(rule, Block(0.6, 0.4, 0.28), room)) for rule in Turn]
    [1, 2, 6, 6]
    >>> [len(turns(rule, Cylinder(0.2, 0.6), room)) for rule in Turn]
    [1, 1, 3, 3]
    """
    bases = faces_down() if turn in (Turn.ANY_FACE, Turn.ANY_TILT) else [np.eye(3)]
    about = [0.0] if turn is Turn.AS_GIVEN else [0.0, *_wall_directions(space)]
    quarters = 1 if turn is Turn.AS_GIVEN else 4
    found = [yaw(angle, k) @ base for angle in about for base in bases for k in range(quarters)]
    if turn is Turn.ANY_TILT:
        found += [frame @ yaw(0.0, k) @ base for frame in _slopes(space) for base in bases for k in range(quarters)]
    return np.array(different(found, thing)[:MOST])


def yaw(angle: float, quarters: int = 0) -> Points:
    """Return the rotation about z by *angle*, rad, and so many quarter turns, which are exact; (3, 3)."""
    c, s = math.cos(angle), math.sin(angle)
    for _ in range(quarters % 4):
        c, s = -s, c
    return np.array([[c, -s, 0.0], [s, c, 0.0], [0.0, 0.0, 1.0]]) + 0.0


def faces_down() -> list[Points]:
    """Return the six rotations that put each face of an upright box down."""
    x, y, z = np.eye(3)
    columns = [(x, y, z), (x, -y, -z), (x, z, -y), (x, -z, y), (-z, y, x), (z, y, -x)]
    return [np.column_stack(axes) + 0.0 for axes in columns]


def is_ball(thing: Thing) -> bool:
    """Whether every turn leaves a thing as it is, though not the body with straight sides that stands for it."""
    return isinstance(thing, Capsule) and thing.length == thing.diameter


def different(rotations: list[Points], thing: Thing) -> list[Points]:
    """Return the rotations without those that leave the thing as an earlier one does."""
    if is_ball(thing):
        return rotations[:1]
    corners = thing.drawn(Round.OUTSIDE).vertices
    seen, kept = set(), []
    for rotation in rotations:
        if thing.symmetry == "round":
            axis = np.round(rotation[:, 2], 6)
            key = (axis * np.sign(axis[np.flatnonzero(axis)[0]]) + 0.0).tobytes()
        else:
            placed = np.round(corners @ rotation.T, 6) + 0.0
            key = placed[np.lexsort(placed.T)].tobytes()
        if key not in seen:
            seen.add(key)
            kept.append(rotation)
    return kept


def _normals(space: Solid) -> tuple[Points, Points]:
    """Return the outward unit normal of each triangle that has one, and its share of the whole surface."""
    areas = triangle_areas(space.vertices, space.triangles)
    a, b, c = np.moveaxis(space.vertices[space.triangles], 1, 0)
    wide = areas > 1e-12
    normals = np.cross(b - a, c - a)[wide] / (2 * areas[wide, None])
    return normals, areas[wide] / areas.sum()


def _wall_directions(space: Solid) -> list[float]:
    """Return the directions, rad, of the largest steep walls, as seen from above, that are not square to the axes."""
    normals, shares = _normals(space)
    steep = np.abs(normals[:, 2]) < STEEP
    angles, shares = np.arctan2(normals[steep, 1], normals[steep, 0]) % (math.pi / 2), shares[steep]
    slant = np.abs((angles + math.pi / 4) % (math.pi / 2) - math.pi / 4) > NEAR
    return _peaks(angles[slant], shares[slant])


def _peaks(angles: Points, shares: Points) -> list[float]:
    """Return the middles of the widest bundles of angles, which repeat every quarter turn."""
    order = np.argsort(angles)
    angles, shares = angles[order], shares[order]
    found: list[float] = []
    while len(found) < WALLS and len(angles):
        off = (angles[:, None] - angles + math.pi / 4) % (math.pi / 2) - math.pi / 4
        near = np.abs(off) < NEAR
        k = int(np.round(near @ shares, ALIKE).argmax())  # of walls as large the first, whatever the mesh
        total = float(shares[near[k]].sum())
        if total < SHARE:
            break
        found.append(float(angles[k] - (off[k, near[k]] * shares[near[k]]).sum() / total))
        angles, shares = angles[~near[k]], shares[~near[k]]
    return found


def _slopes(space: Solid) -> list[Points]:
    """Return for each of the largest sloping walls a rotation that lays a thing flat on it."""
    normals, shares = _normals(space)
    sloping = (np.abs(normals[:, 2]) >= SLOPING) & (np.abs(normals[:, 2]) < math.cos(NEAR))
    order = np.lexsort(np.round(normals[sloping], ALIKE).T)
    normals, shares = normals[sloping][order], shares[sloping][order]
    found: list[Points] = []
    while len(found) < SLOPES and len(normals):
        near = normals @ normals.T > math.cos(NEAR)
        k = int(np.round(near @ shares, ALIKE).argmax())
        if shares[near[k]].sum() < SHARE:
            break
        inward = -(shares[near[k], None] * normals[near[k]]).sum(axis=0)
        up = inward / np.linalg.norm(inward)
        along = np.cross([0.0, 0.0, 1.0], up)
        along /= np.linalg.norm(along)
        found.append(np.column_stack([along, np.cross(up, along), up]))
        normals, shares = normals[~near[k]], shares[~near[k]]
    return found
