"""What a certificate says was sought: a box of free or given sides, one of a proportion, or a thing; as a `Sought`."""

import math
from itertools import combinations
from typing import Any

import numpy as np

from tapeloft.model.recheck.places import is_hull
from tapeloft.model.recheck.rows import ROUND, Numbers, Sought
from tapeloft.model.recheck.tree import Unsound

SIGNS = np.vstack([-np.eye(3), np.eye(3)])
EIGHT = np.array([[(k >> i & 1) * 3 + i for i in range(3)] for k in range(8)])


def sought_in(said: dict[str, Any], given: dict[str, Any], root: dict[str, Any]) -> Sought:
    """Return what is sought in a body, from a root of its trees, as shares of the diagonal."""
    asked, floor = said["asked"], given["floor_m"]
    if asked["what"] != "box":
        return _thing(said, floor, root)
    return _box(said, floor) if asked.get("proportion") is None else _scaled(said, floor)


def _box(said: dict[str, Any], floor: float | None) -> Sought:
    """Return a box, with its clearance: free of it are its low faces, then its high ones, along its own axes.

    Where some side must be so long at least, its sides are free in place of its high faces.
    """
    asked, frame = said["asked"], said["frame"]
    diagonal, sizes, least = frame["diagonal_m"], asked["sizes_m"], np.array(asked.get("least_m", [0.0] * 3))
    grown, rates, start = np.full(3, 2 * asked["clearance_m"] / diagonal), np.eye(6), np.zeros(6)
    free, low = np.ones(6, np.bool_), np.full(6, -1.0)
    if floor is not None:
        grown[2] /= 2
        free[2], rates[2], start[2] = False, 0.0, (floor - frame["middle_m"][2]) / diagonal
    for i, size in enumerate(sizes):
        if size is not None:
            free[3 + i], rates[3 + i] = False, rates[i]
            start[3 + i] = start[i] + size / diagonal + grown[i]
        elif least.any():
            rates[3 + i], start[3 + i] = rates[3 + i] + rates[i], start[i]
            low[3 + i] = least[i] / diagonal + grown[i] - ROUND
    rates = rates[:, free]
    n, given = rates.shape[1], np.array([size is None for size in sizes])
    sides, side_start = rates[3:] - rates[:3], start[3:] - start[:3] - grown
    sign = SIGNS.sum(axis=1)
    return Sought(
        SIGNS, sign[:, None] * rates, sign * start, rates[EIGHT], start[EIGHT], np.zeros((3, n)), np.zeros(3),
        sides[given], side_start[given], np.zeros(n), low[free], np.full(n, 1.0), None, False,
    )  # fmt: skip


def _scaled(said: dict[str, Any], floor: float | None) -> Sought:
    """Return a box of a proportion, with its clearance: free are where its middle is and the scale of its sides.

    Where it stands, it is its bottom's middle. The product of its shares is one, so that of its sides is the scale³.
    """
    asked, frame = said["asked"], said["frame"]
    shares = np.array(asked["proportion"], np.float64)
    if (
        not (np.isfinite(shares) & (shares > 0)).all()
        or asked["sizes_m"] != [None] * 3
        or any(asked.get("least_m", []))
    ):
        raise Unsound("it is asked for in proportion, and otherwise too")
    if len(shares) != 3 or not (np.isfinite(shares) & (shares > 0)).all():
        raise Unsound("its proportion is none")
    shares /= math.prod(shares) ** (1 / 3)
    start, rates, level = np.full(6, asked["clearance_m"] / frame["diagonal_m"]), np.tile(shares / 2, 2), 0.0
    shift = np.eye(3)
    if floor is not None:
        start[2], rates[2], rates[5] = 0.0, 0.0, shares[2]
        shift, level = shift[:, :2], (floor - frame["middle_m"][2]) / frame["diagonal_m"]
    n, sign = shift.shape[1] + 1, SIGNS.sum(axis=1)
    last, low = np.eye(n)[-1], np.full(n, -1.0)
    low[-1] = 0.0
    return Sought(
        SIGNS, rates[:, None] * last, start, (sign * rates)[EIGHT][..., None] * last, (sign * start)[EIGHT],
        np.hstack([shift, np.zeros((3, 1))]), np.array([0.0, 0.0, level]), np.tile(last, (3, 1)), np.zeros(3),
        np.zeros(n), low, np.full(n, 1.0), (float(start.min()) - ROUND, 0.0), False,
    )  # fmt: skip


def _thing(said: dict[str, Any], floor: float | None, root: dict[str, Any]) -> Sought:
    """Return a body within the thing, with its clearance: free is where it is, and how much it is grown.

    What is claimed is claimed of it as it is, grown by nothing: so it alone must be what was asked about.
    """
    asked, frame = said["asked"], said["frame"]
    diagonal, lying = frame["diagonal_m"], np.array(asked["corners_m"]) @ np.array(root["way"]).T
    normals, corners = (np.array(root[key], np.float64) for key in ("normals", "corners"))
    most = (lying @ normals.T).max(axis=0) + asked["clearance_m"]
    core = floor is None and _is_core(lying, corners * diagonal, asked["clearance_m"])
    within = core or ((corners @ normals.T).max(axis=0) * diagonal <= most + 1e-9).all()
    if not within or not is_hull(normals, corners):
        raise Unsound("what was searched for is not the thing")
    shift, level = np.eye(3)[:, :3], 0.0
    if floor is not None:
        shift, level = shift[:, :2], float(root["level"])
        if abs((level + corners[:, 2].min()) * diagonal + frame["middle_m"][2] - floor) > 1e-9:
            raise Unsound("the thing does not stand on its floor")
    n = shift.shape[1] + 1
    face_rows, corner_rows = np.zeros((len(normals), n)), np.zeros((len(corners), 3, n))
    face_rows[:, -1], corner_rows[:, :, -1] = root["face_gain"], root["corner_gain"]
    low, high = np.full(n, -1.0), np.full(n, 1.0)
    low[-1], high[-1] = root["least"], root["most"]
    offsets = (corners @ normals.T).max(axis=0)
    if not low[-1] <= 0 <= high[-1] or offsets.min() < 0:  # with its origin within it, that is in the space too
        raise Unsound("the thing as it is was not searched for")
    return Sought(
        normals, face_rows, offsets, corner_rows, corners,
        np.hstack([shift, np.zeros((3, 1))]), np.array([0.0, 0.0, level]), np.empty((0, n)), np.empty(0),
        np.eye(n)[-1], low, high, _ball(offsets, face_rows[:, -1], low[-1], high[-1]), core,
    )  # fmt: skip


def _is_core(lying: Numbers, corners: Numbers, clearance: float) -> bool:
    """Whether corners lie in a ball about the origin that the hull of *lying*, (k, 3), holds with its clearance.

    That ball, and what it holds, is in the thing whatever its turn. How far the hull reaches is least along the normal
    of some face, and every face goes through three corners.
    """
    threes = np.array(list(combinations(range(len(lying)), 3)))
    normals = np.cross(lying[threes[:, 1]] - lying[threes[:, 0]], lying[threes[:, 2]] - lying[threes[:, 0]])
    sizes = np.linalg.norm(normals, axis=1)
    along = lying @ (normals[sizes > 1e-12] / sizes[sizes > 1e-12, None]).T
    radius = min(float(along.max(axis=0).min()), float(-along.min(axis=0).max())) + clearance
    return bool(np.linalg.norm(corners, axis=1).max() < radius + 1e-9)


def _ball(offsets: Numbers, gain: Numbers, least: float, most: float) -> tuple[float, float] | None:
    """Return start and rate of the radius of a ball about its origin that a growing thing holds, None for none.

    The least of its faces is concave in how much it is grown, and the chord between its ends is under it.
    """
    first, last = float((offsets + least * gain).min()), float((offsets + most * gain).min())
    if min(first, last) < 0:
        return None
    rate = (last - first) / (most - least)
    return first - rate * least - ROUND, rate
