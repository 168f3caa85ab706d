"""One step of the search: something that the largest box would swallow, and the ways past it.

A box that does not swallow a point lies beyond it at one of six faces. A box that does not go into a triangle is
parted from it by one of 26 planes; six of them are faces again, beyond the whole triangle. Points cut best where the
surface is fine against the box, triangles where it is coarse: past a large flat triangle one plane says all.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from tapeloft.model.proof.compiled import compiled, part
from tapeloft.model.proof.interior import KEPT, MOST, relaxed
from tapeloft.model.proof.obstacles import NOTHING, face_share, obstacle, plane_share
from tapeloft.model.proof.parting import PARTINGS, parting
from tapeloft.model.proof.program import MARGIN, NEVER, Halfspaces, Indices, Numbers, Wish, dual_bound
from tapeloft.model.proof.walls import Walls

CUTS = 48  # planes that a branch may have gathered
NEAR = 0.03  # share of the tolerance to which a branch is solved


class Branch(NamedTuple):
    """All boxes that lie in *reach*, cover *must* and keep to the cuts; the largest that these and the hull leave."""

    reach: Numbers  # (6,)
    must: Numbers  # (6,) low faces lie at or below must[:3], high faces at or above must[3:]
    rows: Numbers  # (m, 6) cuts: row · box ≤ limit
    limits: Numbers  # (m,)
    box: Numbers  # (6,)
    planes: Indices  # (KEPT,) half-spaces of the hull, −1 for none, and
    weights: Numbers  # (KEPT + m,) their weights in the dual value, and those of the cuts


class Ways(NamedTuple):
    """The ways past something, in the order taken: each is the Branch that it came from but for what is here."""

    bounds: Numbers  # (26,) on the log volume; NEVER where there is none
    reach: Numbers  # (26, 6)
    must: Numbers  # (26, 6)
    box: Numbers  # (26, 6)
    planes: Indices  # (26, KEPT)
    weights: Numbers  # (26, KEPT + MOST)
    counts: Indices  # (26,) new cuts
    rows: Numbers  # (26, 26, 6)
    limits: Numbers  # (26, 26)


def ways() -> Ways:
    """Return room for all ways."""
    n = PARTINGS
    whole, faces = np.empty(n), [np.empty((n, 6)) for _ in range(3)]
    planes, weights = np.empty((n, KEPT), np.int64), np.empty((n, KEPT + MOST))
    counts, rows, limits = np.empty(n, np.int64), np.empty((n, n, 6)), np.empty((n, n))
    return Ways(whole, faces[0], faces[1], faces[2], planes, weights, counts, rows, limits)


def followed(branch: Branch, room: Ways, k: int) -> Branch:
    """Return the branch that goes way *k*."""
    new, old = int(room.counts[k]), len(branch.limits)
    rows, limits = branch.rows, branch.limits
    if new:
        rows, limits = np.vstack([rows, room.rows[k, :new]]), np.concatenate([limits, room.limits[k, :new]])
    faces = room.reach[k].copy(), room.must[k].copy()
    weights = room.weights[k, : KEPT + old + new].copy()
    return Branch(*faces, rows, limits, room.box[k].copy(), room.planes[k].copy(), weights)


@compiled
def branched(
    surface: Walls, pits: Numbers, hull: Halfspaces, wish: Wish, branch: Branch,
    bound: float, enough: float, tolerance: float, out: Ways,
) -> int:  # fmt: skip
    """Set *out* to the ways past something that the branch's largest box swallows; return how many, 0 for none.

    The ways that cost the box least come first. A later one need hold only the boxes that go none of those before:
    that cover the obstacle at those faces, and reach over those planes.
    """
    span, losses, taken = np.empty(6), np.empty(PARTINGS), np.zeros(PARTINGS, np.bool_)
    rows, limits = np.zeros((PARTINGS, 6)), np.zeros(PARTINGS)
    triangle = obstacle(surface, pits, branch.box, span)
    if triangle == NOTHING:
        return 0
    count = 6 if triangle < 0 or branch.limits.shape[0] > CUTS else PARTINGS
    for way in range(6):
        losses[way] = face_share(branch.box, span, way)
    for way in range(6, count):
        limits[way] = parting(surface.corners[triangle], way, rows[way])
        losses[way] = plane_share(branch.box, rows[way], limits[way])
    over, passed, must = np.empty(PARTINGS, np.int64), 0, branch.must.copy()
    for k in range(count):
        way = _cheapest(losses, taken, count)
        _taken(branch, span, rows, limits, way, over, passed, must, out, k)
        out.bounds[k] = min(bound, _bounded(hull, wish, branch, enough, tolerance, out, k))
        if way < 6:
            axis = way % 3
            must[way] = min(must[way], span[3 + axis]) if way < 3 else max(must[way], span[axis])
        elif out.bounds[k] > enough:
            over[passed] = way
            passed += 1
    return count


@part
def _cheapest(losses: Numbers, taken: NDArray[np.bool_], count: int) -> int:
    """Return the way not yet taken that costs least, and mark it taken."""
    way = -1
    for other in range(count):
        if not taken[other] and (way < 0 or losses[other] < losses[way]):
            way = other
    taken[way] = True
    return way


@part
def _taken(
    branch: Branch, span: Numbers, rows: Numbers, limits: Numbers, way: int,
    over: Indices, passed: int, must: Numbers, out: Ways, k: int,
) -> None:  # fmt: skip
    """Set row *k* of *out* to what holds for the boxes that go *way* and none of those before it."""
    for i in range(6):
        out.reach[k, i], out.must[k, i] = branch.reach[i], must[i]
    new = 0
    if way < 3:
        out.reach[k, way] = max(branch.reach[way], span[3 + way] - MARGIN)
    elif way < 6:
        out.reach[k, way] = min(branch.reach[way], span[way - 3] + MARGIN)
    else:
        new = 1
        out.limits[k, 0] = limits[way] + MARGIN
        for i in range(6):
            out.rows[k, 0, i] = rows[way, i]
    for p in range(passed):
        out.limits[k, new + p] = MARGIN - limits[over[p]]
        for i in range(6):
            out.rows[k, new + p, i] = -rows[over[p], i]
    out.counts[k] = new + passed


@part
def _bounded(hull: Halfspaces, wish: Wish, branch: Branch, enough: float, tolerance: float, out: Ways, k: int) -> float:
    """Return a bound for one way: NEVER if faces contradict, by its reach, by its branch's weights, or solved."""
    for i in range(3):
        if out.must[k, i] < out.reach[k, i] or out.must[k, 3 + i] > out.reach[k, 3 + i]:
            return NEVER
    rows, limits, weights = np.empty((MOST, 6)), np.empty(MOST), np.zeros(MOST)
    count = _recalled(hull, branch, out, k, rows, limits, weights)
    bound = dual_bound(rows, limits, count, np.zeros(MOST), out.reach[k], wish)
    bound = min(bound, dual_bound(rows, limits, count, weights, out.reach[k], wish))
    if bound <= enough:
        return bound
    cuts, near = branch.limits.shape[0] + out.counts[k], NEAR * tolerance
    planes, heavy, box = out.planes[k], out.weights[k], out.box[k]
    return min(bound, relaxed(hull, rows, limits, cuts, out.reach[k], wish, enough, near, planes, heavy, box))


@part
def _recalled(
    hull: Halfspaces, branch: Branch, out: Ways, k: int, rows: Numbers, limits: Numbers, weights: Numbers
) -> int:
    """Set rows, limits and weights to the cuts of way *k* and the half-spaces its branch weighed; return how many."""
    old, count = branch.limits.shape[0], 0
    for j in range(old + out.counts[k]):
        limits[j] = branch.limits[j] if j < old else out.limits[k, j - old]
        weights[j] = branch.weights[KEPT + j] if j < old else 0.0
        for i in range(6):
            rows[j, i] = branch.rows[j, i] if j < old else out.rows[k, j - old, i]
        count += 1
    for p in range(KEPT):
        plane = branch.planes[p]
        out.planes[k, p] = plane
        if plane >= 0:
            limits[count], weights[count] = hull.limits[plane], branch.weights[p]
            for i in range(6):
                rows[count, i] = hull.rows[plane, i]
            count += 1
    return count
