"""Whether the bodies searched are all of a space but the boxes that were taken from it before."""

from itertools import combinations
from typing import Any, NamedTuple

import numpy as np

from tapeloft.model.recheck.places import Indices, are_apart, is_closed, met, nearest, windings
from tapeloft.model.recheck.rows import Numbers
from tapeloft.model.recheck.tree import Unsound

DRAWN = 2e-6  # of the diagonal: to what a place is clear
LOOSE = 1e-9  # m: how far boxes are drawn in, so that faces back to back do not meet
ON_IT = 1e-7  # m: a corner no farther from a surface is on it
SIGNS = np.vstack([-np.eye(3), np.eye(3)])
CORNERS = np.array([[(k >> i & 1) * 3 + i for i in range(3)] for k in range(8)])


class Box(NamedTuple):
    """A box with what is kept clear of it: its corners, (8, 3) m, the normals of its faces, (6, 3), its volume, m³."""

    corners: Numbers
    normals: Numbers
    volume: float


def mesh_of(given: dict[str, Any]) -> Numbers:
    """Return the triangles of a closed mesh, (m, 3, 3) m."""
    triangles: Indices = np.array(given["triangles"], np.int64).reshape(-1, 3)
    if not len(triangles) or not is_closed(triangles):
        raise Unsound("a mesh is not closed")
    mesh: Numbers = np.array(given["vertices_m"], np.float64)[triangles]
    return mesh


def enclosed(given: dict[str, Any]) -> float:
    """Return the volume of a body, m³: no box in it is larger."""
    a, b, c = np.moveaxis(mesh_of(given), 1, 0)
    return float((a * np.cross(b, c)).sum() / 6)


def _boxes(asked: dict[str, Any], by: float) -> list[Box]:
    """Return the boxes before, their faces moved out by what is kept between boxes and by so many metres more."""
    found = []
    for one in asked["before"]:
        turn, low, high = (np.array(one[key], np.float64) for key in ("turn", "low_m", "high_m"))
        if abs(turn @ turn.T - np.eye(3)).max() > 1e-9 or not (high > low).all() or not asked["apart_m"] >= 0:
            raise Unsound("a box before it is none")
        low, high = low - asked["apart_m"] - by, high + asked["apart_m"] + by
        corners = np.concatenate([low, high])[CORNERS] @ turn.T
        found.append(Box(corners, SIGNS @ turn.T, float(np.prod(high - low))))
    return found


def check_left(said: dict[str, Any], failures: list[str]) -> None:
    """Tell whether what was searched is the space less the boxes before.

    Those lie in the space, apart from each other; no wall of what was searched goes into one, no corner of it is
    outside the space, and its volume is that of the space less theirs, but for the film that is kept between boxes.
    """
    asked, space = said["asked"], mesh_of(said["space"])
    boxes = _boxes(asked, -LOOSE)
    _check_taken(asked, _boxes(asked, -asked["apart_m"] - DRAWN * said["frame"]["diagonal_m"]), space, failures)
    for given in said["parts"]:
        mesh = mesh_of(given)
        corners = np.unique(mesh.reshape(-1, 3), axis=0)
        off = corners[nearest(corners, space) > ON_IT]
        if (windings(off, space) < 0.99).any():
            failures.append("what was searched is not all of the space")
        middles = np.array([box.corners.mean(axis=0) for box in boxes])
        if (windings(middles, mesh) > 0.01).any() or any(len(met(b.corners, b.normals, mesh)) for b in boxes):
            failures.append("a box before it lies in what was searched")
    left = sum(enclosed(given) for given in said["parts"])
    if left + sum(box.volume for box in boxes) < enclosed(said["space"]) * (1 - 1e-9):
        failures.append("what was searched is not all that the boxes before leave of the space")


def _check_taken(asked: dict[str, Any], boxes: list[Box], space: Numbers, failures: list[str]) -> None:
    middles = np.array([box.corners.mean(axis=0) for box in boxes])
    if (windings(middles, space) < 0.99).any() or any(len(met(box.corners, box.normals, space)) for box in boxes):
        failures.append("a box before it is not in the space")
    if not all(are_apart(a.corners, a.normals, b.corners, b.normals) for a, b in combinations(boxes, 2)):
        failures.append("two boxes before it are in the same place")


def check_clear(asked: dict[str, Any], stands: Numbers, normals: Numbers, failures: list[str]) -> None:
    """Tell whether a thing in its place, corners and normals of its faces, is clear of the boxes before."""
    if not all(are_apart(stands, normals, box.corners, box.normals) for box in _boxes(asked, -LOOSE)):
        failures.append("the box is not clear of those before it")
