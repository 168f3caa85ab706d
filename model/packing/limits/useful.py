"""The part of a space that things can reach: the rest need not be reckoned with."""

import math

import numpy as np

from tapeloft.model.moments import Points
from tapeloft.model.packing.limits.cells import Cells
from tapeloft.model.packing.turns import yaw
from tapeloft.model.solid import Solid

AROUND = 16  # ways level, and half as many up and as many down, that are cut from
LEAST = 1e-3  # m: cuts of less are left
OUTWARD = 1e-7  # m


def reached(space: Solid, cells: Cells, around: list[Points], beside: float) -> Solid:
    """Return the part of a space that things in *cells* can reach, cut by planes: around the corners of each base.

    around: corners, (n, 3), of a body around the thing for each base; beside: m around the thing that are its own too.
    """
    if not len(cells.base):
        return space ^ space.moved((1e3, 0, 0))
    sets, which = np.unique(np.column_stack([cells.base, cells.angle]), axis=0, return_inverse=True)
    for way in _ways():
        placed = cells.place @ way + cells.half @ np.abs(way)
        far = float((placed + _turned(sets, around, way)[which.ravel()]).max()) + beside + OUTWARD
        if far < float((space.vertices @ way).max()) - LEAST:
            space = space.split(way.tolist(), far)[1]
        if space.is_empty:
            break
    return space


def _turned(sets: Points, around: list[Points], way: Points) -> Points:
    """Return how far along a unit vector a thing reaches from its place, for sets of base, angle and spread, (n,)."""
    reach = np.empty(len(sets))
    for k, (base, angle, spread) in enumerate(sets.tolist()):
        corners = around[int(base)]
        out = 2 * math.sin(spread / 2) * float(np.hypot(*corners[:, :2].T).max()) * float(np.hypot(*way[:2]))
        reach[k] = float((corners @ yaw(angle).T @ way).max()) + out
    return reach


def _ways() -> Points:
    """Return unit vectors, (n, 3)."""
    found = [np.array([0, 0, 1.0]), np.array([0, 0, -1.0])]
    for rise, many in ((0.0, AROUND), (0.7, AROUND // 2), (-0.7, AROUND // 2)):
        for k in range(many):
            angle = 2 * math.pi * k / many
            flat = math.sqrt(1 - rise * rise)
            found.append(np.array([flat * math.cos(angle), flat * math.sin(angle), rise]))
    return np.array(found)
