"""A branch's bound: its cuts, its bounds tightened by them, and walls brought in only where they are broken."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from tapeloft.model.proof.compiled import part
from tapeloft.model.proof.program import Numbers
from tapeloft.model.proof.turned.bringing import MOST, brought_in, set_again, with_broken, with_cut, with_wall
from tapeloft.model.proof.turned.cells import View
from tapeloft.model.proof.turned.form import Form, set_places
from tapeloft.model.proof.turned.optimum import Within, dual, solved
from tapeloft.model.proof.turned.rows import Planes, best_pieces, parting_row, wall_row, witness_row
from tapeloft.model.proof.turned.squeezing import narrowed, squeezed
from tapeloft.model.proof.turned.tightening import is_moved, tightened, within_planes

Indices = NDArray[np.int64]
KEPT = 16  # walls remembered with a branch
ROUNDS = 10
SQUEEZES = 4
WORTH_WHILE = 0.9  # of what was left free: drawn in by less, a program is not solved again
LIGHT = 1e-7  # a weight under which a row is not remembered
AROUND = 6  # planes that come first, square to the world's axes


class Cuts(NamedTuple):
    """What keeps a branch from other ways past what is in the way of them.

    Kind −1: a witness point lies beyond a face (sense 1), or is covered by it (−1). Else a corner keeps to a plane
    through a point (1), or reaches over it (−1): see `rows.parting_row`.
    """

    points: Numbers  # (m, 3)
    faces: Indices  # (m,) or corners
    senses: Numbers  # (m,)
    kinds: Indices  # (m,)
    edges: Numbers  # (m, 3)


class Solution(NamedTuple):
    """Where a branch has the most, what that is at most, and the weights that show it."""

    at: Numbers  # (N,)
    walls: Indices  # (KEPT, 3) plane, corner, pieces; plane −1 for none, corner K for the ball
    weights: Numbers  # (KEPT + m,) of the walls, then of the cuts
    sides: Numbers  # (L,)


@part
def bounded(
    form: Form, planes: Planes, view: View, cuts: Cuts, cut_rows: Numbers, cut_limits: Numbers, again: bool, old: int,
    reach: Numbers, enough: float, near: float, narrow: float, low: Numbers, high: Numbers, solution: Solution,
) -> float:  # fmt: skip
    """Return an upper limit of a branch; draw *low* and *high* in, set *solution*, that comes in as its parent's.

    The bounds are drawn in by what is worth more than *enough*, so that the limit is never less. cut_rows (m + AROUND,
    N), cut_limits (m + AROUND,): rows of the cuts, then of the sides, as `set_cuts` and `set_sides_held` set them; the
    former are set *again* in the bounds drawn in. The first *old* cuts are the parent's: they are brought in only where
    they weigh or are broken. narrow: radians from its middle within which a cell's programs are solved again in what
    bounds they leave.
    """
    n, size, count = form.low.shape[0], solution.at.shape[0], cuts.faces.shape[0]
    held = within_planes(form, planes, low, high)
    if not held or not tightened(form, view, reach, enough, cut_rows, cut_limits, count + AROUND, low, high):
        return enough
    if again or is_moved(form):
        set_cuts(form, view, cuts, low, high, solution.at, cut_rows, cut_limits)
    within = Within(np.empty(size), np.empty(size))
    within.low[:n], within.high[:n] = low, high
    within.low[n:], within.high[n:] = view.low[form.axes], view.high[form.axes]
    rows, limits = np.zeros((MOST, size)), np.empty(MOST)
    used, weights = np.empty((MOST, 3), np.int64), np.zeros(MOST)
    total = _recalled(form, planes, view, solution, old, low, high, cut_rows, cut_limits, used, weights, rows, limits)
    bound = dual(form, rows, limits, total, weights, solution.sides, within)
    if bound <= enough:
        return enough
    for j in range(old, count):
        total = with_cut(j, total, cut_rows, cut_limits, used, rows, limits)
    least = _drawn_tighter(
        form, planes, view, cuts, cut_rows, cut_limits, enough, near, narrow, low, high, solution, total, within,
        used, weights, rows, limits,
    )  # fmt: skip
    return max(min(bound, least), enough)


@part
def _drawn_tighter(
    form: Form, planes: Planes, view: View, cuts: Cuts, cut_rows: Numbers, cut_limits: Numbers, enough: float,
    near: float, narrow: float, low: Numbers, high: Numbers, solution: Solution, total: int, within: Within,
    used: Indices, weights: Numbers, rows: Numbers, limits: Numbers,
) -> float:  # fmt: skip
    """Solve a program, and again within the bounds that its weights leave, while that draws them in; return its limit.

    Rows set in narrower bounds hold products of what is free the closer. They hold for what is worth more than
    *enough*, as those bounds do.
    """
    best, n = 1e300, form.low.shape[0]
    for squeezes in range(SQUEEZES + 1):
        best, value, total = _solved_with_broken(
            form, planes, view, cut_rows, cut_limits, cuts.faces.shape[0], enough, near, low, high, solution, total,
            within, used, weights, rows, limits, best,
        )  # fmt: skip
        if best <= enough or squeezes == SQUEEZES or view.square[0] >= narrow**2:
            break
        wide = (within.high[:n] - within.low[:n]).sum()
        if not squeezed(form, rows, limits, total, weights, solution.sides, within, value, enough):
            return enough
        if (within.high[:n] - within.low[:n]).sum() > WORTH_WHILE * wide:
            break
        low[:], high[:] = within.low[:n], within.high[:n]
        view = narrowed(form, view, within)
        set_cuts(form, view, cuts, low, high, solution.at, cut_rows, cut_limits)
        set_again(form, planes, view, low, high, cut_rows, cut_limits, used, total, rows, limits)
    return best


@part
def _solved_with_broken(
    form: Form, planes: Planes, view: View, cut_rows: Numbers, cut_limits: Numbers, count: int, enough: float,
    near: float, low: Numbers, high: Numbers, solution: Solution, total: int, within: Within, used: Indices,
    weights: Numbers, rows: Numbers, limits: Numbers, best: float,
) -> tuple[float, float, int]:  # fmt: skip
    """Solve, bringing in what is broken until nothing is; return the least limit met, the last, and how many rows."""
    value, before = best, total
    for _ in range(ROUNDS):
        value = solved(form, rows, limits, total, within, enough, near, solution.at, weights, solution.sides)
        if value < best:
            best = value
            _remembered(solution, used, weights, total)
        before = total
        total = with_broken(solution.at, count, total, cut_rows, cut_limits, used, rows, limits)
        total = brought_in(form, planes, view, low, high, solution.at, total, used, rows, limits)
        if best <= enough or total == before:
            break
    return best, value, before


@part
def set_cuts(
    form: Form, view: View, cuts: Cuts, low: Numbers, high: Numbers, at: Numbers, rows: Numbers, limits: Numbers
) -> None:  # fmt: skip
    """Set *rows* and *limits* to those of the cuts."""
    for j in range(cuts.faces.shape[0]):
        point, which, sense = cuts.points[j], cuts.faces[j], cuts.senses[j]
        if cuts.kinds[j] < 0:
            limits[j] = witness_row(form, view, point, which, sense, low, high, at, rows[j])
        else:
            limits[j] = parting_row(
                form, view, point, cuts.kinds[j], cuts.edges[j], which, sense, low, high, at, rows[j]
            )  # fmt: skip


@part
def set_sides_held(
    form: Form, planes: Planes, view: View, low: Numbers, high: Numbers, at: Numbers, rows: Numbers, limits: Numbers
) -> None:  # fmt: skip
    """Set the first AROUND rows to the first planes, square to the world's axes, for the corner most over it."""
    places = np.empty((form.corner_start.shape[0], 3))
    set_places(form, view.frame, at, places)
    for p in range(AROUND):
        normal, worst, most = planes.normals[p], 0, -1e300
        for k in range(places.shape[0]):
            along = normal[0] * places[k, 0] + normal[1] * places[k, 1] + normal[2] * places[k, 2]
            if along > most:
                worst, most = k, along
        x, x0 = form.corner_rows[worst], form.corner_start[worst]
        pieces = best_pieces(form, view, normal, x, x0, low, high, at)
        limits[p] = wall_row(form, view, normal, planes.limits[p], worst, pieces, low, high, rows[p])


@part
def _recalled(
    form: Form, planes: Planes, view: View, solution: Solution, old: int, low: Numbers, high: Numbers,
    cut_rows: Numbers, cut_limits: Numbers, used: Indices, weights: Numbers, rows: Numbers, limits: Numbers,
) -> int:  # fmt: skip
    """Set rows and weights to those that weighed in the branch that this one comes from; return how many."""
    total = 0
    for j in range(old):
        if solution.weights[KEPT + j] > LIGHT and total < MOST // 2:
            weights[total] = solution.weights[KEPT + j]
            total = with_cut(j, total, cut_rows, cut_limits, used, rows, limits)
    for k in range(KEPT):
        plane, corner, pieces = solution.walls[k, 0], solution.walls[k, 1], solution.walls[k, 2]
        if plane >= 0:
            weights[total] = solution.weights[k]
            total = with_wall(form, planes, view, low, high, plane, corner, pieces, total, used, rows, limits)
    return total


@part
def _remembered(solution: Solution, used: Indices, weights: Numbers, total: int) -> None:
    """Keep the weights of the cuts, and the KEPT walls that weigh most."""
    solution.weights[:] = 0.0
    for k in range(KEPT):
        solution.walls[k, 0] = -1
    for r in range(total):
        if used[r, 0] < 0:
            solution.weights[KEPT + used[r, 1]] = weights[r]
            continue
        least = 0
        for k in range(1, KEPT):
            if solution.weights[k] < solution.weights[least]:
                least = k
        if weights[r] > max(solution.weights[least], LIGHT):
            solution.weights[least] = weights[r]
            for c in range(3):
                solution.walls[least, c] = used[r, c]
