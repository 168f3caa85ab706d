"""Convex bodies within a thing, turned as the rule allows but for a yaw: what limits reckon with."""

import math

import numpy as np

from tapeloft.model.facets import body
from tapeloft.model.fits.convex import thinned
from tapeloft.model.gear.hulls import convex_within
from tapeloft.model.gear.turn import Turn
from tapeloft.model.moments import Points
from tapeloft.model.packing.limits.placements import Body
from tapeloft.model.packing.pieces import Thing
from tapeloft.model.packing.turns import different, faces_down, is_ball, yaw
from tapeloft.shapes.polyhedron import Round

CONVEX = 1e-6  # of its hull's volume: a thing that is short of it by no more is convex
ALIKE = 12  # decimals to which two sides are one
WAYS = np.array([[x, y, z] for x in (-1, 0, 1) for y in (-1, 0, 1) for z in (-1, 0, 1) if x or y or z], np.float64)


def bodies_within(thing: Thing, turn: Turn, clearance: float) -> list[Body]:
    """Return convex bodies of which each placement of a thing holds one, at some yaw: empty where none is known.

    With any tilt that is a ball; of a ball, the body within it as it is drawn, which it holds at every turn.

    >>> from tapeloft.model.gear.forms import Block, Cylinder
    >>> [[round(b.period, 2) for b in bodies_within(Block(0.6, 0.4, 0.28), rule, 0.0)] for rule in Turn]
    [[0.0], [3.14], [3.14, 3.14, 3.14], [0.0]]
    >>> [[round(b.period, 2) for b in bodies_within(Cylinder(0.2, 0.6), rule, 0.0)] for rule in Turn]
    [[0.0], [0.0], [0.0, 3.14], [0.0]]
    """
    corners, around = _corners_within(thing), thing.drawn(Round.OUTSIDE).vertices
    if corners is None:
        return []
    turn = Turn.AS_GIVEN if is_ball(thing) else turn
    if turn is Turn.ANY_TILT:
        middle, radius = _ball_within(corners)
        farthest = float(np.linalg.norm(around - middle, axis=1).max())
        return [_body(radius * WAYS / np.linalg.norm(WAYS, axis=1)[:, None], clearance, farthest * WAYS, 0.0)]
    bases = [np.eye(3)]
    if turn is Turn.ANY_FACE:
        bases = {"box": faces_down()[0::2], "round": faces_down()[0::2][:2], "none": faces_down()}[thing.symmetry]
    once = 2 * math.pi if thing.symmetry == "none" else math.pi
    found = []
    for base in bases:
        still = turn is Turn.AS_GIVEN or (thing.symmetry == "round" and abs(base[2, 2]) == 1)
        found.append(_body(corners @ base.T, clearance, around @ base.T, 0.0 if still else once))
    return found


def bodies_square(thing: Thing, turn: Turn, clearance: float) -> list[Body]:
    """Return the same for a thing that stands square to the axes: at quarter turns only, which are told apart.

    >>> from tapeloft.model.gear.forms import Block
    >>> [len(bodies_square(Block(0.6, 0.4, 0.28), rule, 0.0)) for rule in Turn]
    [1, 2, 6, 6]
    """
    corners, around = _corners_within(thing), thing.drawn(Round.OUTSIDE).vertices
    if corners is None:
        return []
    bases = faces_down() if turn in (Turn.ANY_FACE, Turn.ANY_TILT) else [np.eye(3)]
    quarters = 1 if turn is Turn.AS_GIVEN else 4
    turned = different([yaw(0.0, k) @ base for base in bases for k in range(quarters)], thing)
    return [_body(corners @ rotation.T, clearance, around @ rotation.T, 0.0) for rotation in turned]


def is_convex(thing: Thing) -> bool:
    """Whether a thing is its own hull."""
    solid = body(thing.drawn(Round.INSIDE))
    return solid.hull().volume <= solid.volume * (1 + CONVEX)


def is_box(thing: Thing) -> bool:
    """Whether a thing is an upright box."""
    drawn = thing.drawn(Round.OUTSIDE)
    return len(drawn.vertices) == 8 and body(drawn).volume >= float(np.ptp(drawn.vertices, axis=0).prod()) * (1 - 1e-9)


def volume_within(thing: Thing, clearance: float) -> float:
    """Return a volume that a thing keeps all others out of, m³: its own and half the clearance around it."""
    from scipy.spatial import ConvexHull

    corners = _corners_within(thing)
    own = body(thing.drawn(Round.INSIDE)).volume
    return own if corners is None else max(own, float(ConvexHull(_grown(corners, clearance / 2)).volume))


def _corners_within(thing: Thing) -> Points | None:
    """Return the corners of a convex body within a thing, (n, 3), or None where none is known."""
    drawn = thing.drawn(Round.INSIDE)
    if is_convex(thing):
        return thinned(drawn.vertices)
    solid = body(drawn)
    within = convex_within(solid.vertices, solid.triangles)
    return None if within is None else within.vertices


def _ball_within(corners: Points) -> tuple[Points, float]:
    """Return the middle and the radius of the largest ball in the hull of *corners*."""
    from scipy.optimize import linprog

    sides = _sides(corners)
    rows = np.column_stack([sides[:, :3], np.ones(len(sides))])
    found = linprog([0, 0, 0, -1], A_ub=rows, b_ub=sides[:, 3], bounds=[(None, None)] * 3 + [(0, None)])
    middle: Points = found.x[:3]
    return middle, float((sides[:, 3] - sides[:, :3] @ middle).min())


def _body(corners: Points, clearance: float, around: Points, period: float) -> Body:
    core, wide = _grown(corners, clearance / 2), _grown(corners, clearance)
    return Body(_sides(core), core, _sides(wide), wide, around, period)


def _grown(corners: Points, by: float) -> Points:
    """Return points whose hull is within that of *corners* with a ball of radius *by* rolled round it."""
    if by == 0:
        return corners
    ways = np.vstack([_sides(corners)[:, :3], WAYS / np.linalg.norm(WAYS, axis=1)[:, None]])
    return _hull_corners((corners[:, None] + by * ways).reshape(-1, 3))


def _hull_corners(points: Points) -> Points:
    from scipy.spatial import ConvexHull

    corners: Points = points[ConvexHull(points).vertices]
    return corners


def _sides(corners: Points) -> Points:
    """Return the sides of a hull, (m, 4): unit normal and offset, each as unlike those before it as can be.

    So a point beyond some side is beyond one of the first few, as a rule.
    """
    from scipy.spatial import ConvexHull

    sides: Points = np.unique(np.round(ConvexHull(corners).equations, ALIKE), axis=0) * [1, 1, 1, -1] + 0.0
    order = [int(sides[:, 3].argmin())]
    nearest = sides[:, :3] @ sides[order[0], :3]
    while len(order) < len(sides):
        nearest[order[-1]] = np.inf
        order.append(int(nearest.argmin()))
        nearest = np.maximum(nearest, sides[:, :3] @ sides[order[-1], :3])
    return sides[order]
