"""One step of the search: a point that the largest box would swallow, and the six ways round it."""

from typing import NamedTuple

import numpy as np

from tapeloft.model.proof.climb import PAD
from tapeloft.model.proof.compiled import compiled, part
from tapeloft.model.proof.interior import KEPT, relaxed
from tapeloft.model.proof.program import MARGIN, NEVER, Halfspaces, Indices, Numbers, Wish, dual_bound
from tapeloft.model.proof.walls import Walls, deepest, depth, draw_in, middle_within

SHALLOW = 0.2  # depth below which the middle of the box is looked at too
NEAR = 0.03  # share of the tolerance to which a branch is solved


class Branch(NamedTuple):
    """All boxes that lie in *reach* and cover *must*, the largest box that the half-spaces leave, and its proof."""

    reach: Numbers  # (6,)
    must: Numbers  # (6,) low faces lie at or below must[:3], high faces at or above must[3:]
    box: Numbers  # (6,)
    planes: Indices  # (KEPT,) half-spaces, −1 for none, and
    weights: Numbers  # (KEPT,) their weights in the dual value


class Ways(NamedTuple):
    """The ways round a witness point that are worth following: row k of each is a Branch."""

    bounds: Numbers  # (6,) on the log volume, or NEVER where the way is none
    reach: Numbers  # (6, 6)
    must: Numbers  # (6, 6)
    box: Numbers  # (6, 6)
    planes: Indices  # (6, KEPT)
    weights: Numbers  # (6, KEPT)


def ways() -> Ways:
    """Return room for six ways."""
    rows = [np.empty((6, 6)) for _ in range(3)]
    return Ways(np.empty(6), rows[0], rows[1], rows[2], np.empty((6, KEPT), np.int64), np.empty((6, KEPT)))


@part
def witness(surface: Walls, pits: Numbers, box: Numbers, point: Numbers) -> bool:
    """Set *point* to one deep in *box* that is not inside the surface; False where there is none.

    On a triangle, among the *pits*, (n, 3), or, where those are shallow, in the middle of the box.
    """
    inner, middle = np.empty(6), np.empty(3)
    draw_in(box, 0.0, PAD, inner)
    best = 0.0
    for k in range(pits.shape[0]):
        deep = depth(pits[k], inner)
        if deep > best:
            best = deep
            for i in range(3):
                point[i] = pits[k, i]
    best = deepest(surface, inner, best, point)[0]
    if best < SHALLOW and middle_within(surface, inner, middle) == 0:
        best = 1.0
        for i in range(3):
            point[i] = middle[i]
    return best > 0.0


@compiled
def branched(
    surface: Walls, pits: Numbers, hull: Halfspaces, wish: Wish, branch: Branch,
    bound: float, enough: float, tolerance: float, out: Ways,
) -> bool:  # fmt: skip
    """Set *out* to the ways round a witness point; False where the branch's largest box swallows none.

    A box without the point lies beyond it at one of six faces. The way with the highest bound comes first; those
    after it need hold only the boxes that do not go it, which must cover the point at that face.
    """
    point = np.empty(3)
    if not witness(surface, pits, branch.box, point):
        return False
    for side in range(6):
        for i in range(6):
            out.reach[side, i] = branch.reach[i]
        at = point[side % 3]
        if side < 3:
            out.reach[side, side] = max(branch.reach[side], at - MARGIN)
        else:
            out.reach[side, side] = min(branch.reach[side], at + MARGIN)
        out.bounds[side] = min(bound, _bounded(hull, wish, branch, enough, tolerance, out, side))
    _shared_out(branch, point, out)
    return True


@part
def _bounded(
    hull: Halfspaces, wish: Wish, branch: Branch, enough: float, tolerance: float, out: Ways, side: int
) -> float:
    """Return a bound for one way: by its reach alone, by the weights of the branch, or, if need be, solved."""
    rows, limits = np.empty((KEPT, 6)), np.empty(KEPT)
    weights, none = np.empty(KEPT), np.zeros(KEPT)
    count = _recalled(hull, branch, rows, limits, weights)
    for k in range(KEPT):
        out.planes[side, k] = branch.planes[k]
    bound = dual_bound(rows, limits, count, none, out.reach[side], wish)
    bound = min(bound, dual_bound(rows, limits, count, weights, out.reach[side], wish))
    if bound <= enough:
        return bound
    near = NEAR * tolerance
    found = relaxed(hull, out.reach[side], wish, enough, near, out.planes[side], out.weights[side], out.box[side])
    return min(bound, found)


@part
def _recalled(hull: Halfspaces, branch: Branch, rows: Numbers, limits: Numbers, weights: Numbers) -> int:
    """Set rows, limits and weights to the half-spaces of a branch; return how many."""
    count = 0
    for k in range(KEPT):
        plane = branch.planes[k]
        if plane >= 0:
            limits[count], weights[count] = hull.limits[plane], branch.weights[k]
            for i in range(6):
                rows[count, i] = hull.rows[plane, i]
            count += 1
    return count


@part
def _shared_out(branch: Branch, point: Numbers, out: Ways) -> None:
    """Give each box to the first way that holds it, the ways taken from the highest bound down."""
    must = branch.must.copy()
    taken = np.zeros(6, np.bool_)
    for _ in range(6):
        side = -1
        for k in range(6):
            if not taken[k] and (side < 0 or out.bounds[k] > out.bounds[side]):
                side = k
        taken[side] = True
        for i in range(6):
            out.must[side, i] = must[i]
        for i in range(3):
            if must[i] < out.reach[side, i] or must[3 + i] > out.reach[side, 3 + i]:
                out.bounds[side] = NEVER
        must[side] = min(must[side], point[side % 3]) if side < 3 else max(must[side], point[side % 3])
