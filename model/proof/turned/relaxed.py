"""A branch's bound: its cuts, its bounds tightened by them, and walls brought in only where they are broken."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from tapeloft.model.proof.compiled import part
from tapeloft.model.proof.program import Numbers
from tapeloft.model.proof.turned.cells import View, set_turned
from tapeloft.model.proof.turned.form import Form, set_places, set_shift
from tapeloft.model.proof.turned.optimum import Within, dual, solved
from tapeloft.model.proof.turned.rows import (
    Planes,
    ball_row,
    best_pieces,
    parting_row,
    set_omega,
    wall_row,
    witness_row,
)
from tapeloft.model.proof.turned.tightening import is_moved, tightened, within_planes

Indices = NDArray[np.int64]
KEPT = 16  # walls remembered with a branch
MOST = 160  # rows in one program
ROUNDS = 10
FEW = 8  # cuts brought in at once
LIGHT = 1e-7  # a weight under which a row is not remembered
BROKEN = 1e-7  # unit frame: a wall passed by less is brought in no more
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
    form: Form, planes: Planes, view: View, cuts: Cuts, cut_rows: Numbers, cut_limits: Numbers, known: int, old: int,
    reach: Numbers, enough: float, near: float, low: Numbers, high: Numbers, solution: Solution,
) -> float:  # fmt: skip
    """Return an upper limit of a branch; draw *low* and *high* in, set *solution*, that comes in as its parent's.

    The bounds are drawn in by what is worth more than *enough*, so that the limit is never less. cut_rows (m + AROUND,
    N), cut_limits (m + AROUND,): rows of the cuts, the first *known* of them of the same cell and set already, the rest
    to be set; and room. The first *old* cuts are the parent's: they are brought in only where they weigh or are broken.
    """
    n, size, count = form.low.shape[0], solution.at.shape[0], cuts.faces.shape[0]
    set_cuts(form, view, cuts, known, low, high, solution.at, cut_rows, cut_limits)
    _set_sides(form, planes, view, low, high, solution.at, count, cut_rows, cut_limits)
    held = within_planes(form, planes, low, high)
    if not held or not tightened(form, view, reach, enough, cut_rows, cut_limits, count + AROUND, low, high):
        return enough
    if is_moved(form) or known == 0:  # rows that depend on the bounds, or were set before these were drawn in
        set_cuts(form, view, cuts, 0, low, high, solution.at, cut_rows, cut_limits)
    within = Within(np.empty(size), np.empty(size))
    within.low[:n], within.high[:n] = low, high
    within.low[n:], within.high[n:] = view.low[form.axes], view.high[form.axes]
    rows, limits = np.zeros((MOST, size)), np.empty(MOST)
    used, weights = np.empty((MOST, 3), np.int64), np.zeros(MOST)
    total = _recalled(form, planes, view, solution, old, low, high, cut_rows, cut_limits, used, weights, rows, limits)
    bound, best = dual(form, rows, limits, total, weights, solution.sides, within), 1e300
    if bound <= enough:
        return enough
    for j in range(old, count):
        total = _with_cut(j, total, cut_rows, cut_limits, used, rows, limits)
    for _ in range(ROUNDS):
        value = solved(form, rows, limits, total, within, enough, near, solution.at, weights, solution.sides)
        if value < best:
            best = value
            _remembered(solution, used, weights, total)
        before = total
        total = _with_broken(solution.at, count, total, cut_rows, cut_limits, used, rows, limits)
        total = brought_in(form, planes, view, low, high, solution.at, total, used, rows, limits)
        if best <= enough or total == before:
            break
    return max(min(bound, best), enough)


@part
def set_cuts(
    form: Form, view: View, cuts: Cuts, known: int, low: Numbers, high: Numbers, at: Numbers, rows: Numbers,
    limits: Numbers,
) -> None:  # fmt: skip
    """Set *rows* and *limits* to those of the cuts from the one after the *known* on."""
    for j in range(known, cuts.faces.shape[0]):
        point, which, sense = cuts.points[j], cuts.faces[j], cuts.senses[j]
        if cuts.kinds[j] < 0:
            limits[j] = witness_row(form, view, point, which, sense, low, high, at, rows[j])
        else:
            limits[j] = parting_row(
                form, view, point, cuts.kinds[j], cuts.edges[j], which, sense, low, high, at, rows[j]
            )  # fmt: skip


@part
def _set_sides(
    form: Form, planes: Planes, view: View, low: Numbers, high: Numbers, at: Numbers, count: int,
    rows: Numbers, limits: Numbers,
) -> None:  # fmt: skip
    """Set AROUND rows after *count* to the first planes, square to the world's axes, for the corner most over it."""
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
        limits[count + p] = wall_row(
            form, view, normal, planes.limits[p], worst, pieces, low, high, rows[count + p]
        )  # fmt: skip


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
            total = _with_cut(j, total, cut_rows, cut_limits, used, rows, limits)
    for k in range(KEPT):
        plane, corner, pieces = solution.walls[k, 0], solution.walls[k, 1], solution.walls[k, 2]
        if plane >= 0:
            weights[total] = solution.weights[k]
            total = _with_wall(form, planes, view, low, high, plane, corner, pieces, total, used, rows, limits)
    return total


@part
def _with_cut(
    j: int, total: int, cut_rows: Numbers, cut_limits: Numbers, used: Indices, rows: Numbers, limits: Numbers
) -> int:  # fmt: skip
    """Bring a cut in where there is room; return how many rows there are now."""
    if total >= MOST:
        return total
    limits[total], used[total, 0], used[total, 1] = cut_limits[j], -1, j
    for v in range(rows.shape[1]):
        rows[total, v] = cut_rows[j, v]
    return total + 1


@part
def _with_wall(
    form: Form, planes: Planes, view: View, low: Numbers, high: Numbers, plane: int, corner: int, pieces: int,
    total: int, used: Indices, rows: Numbers, limits: Numbers,
) -> int:  # fmt: skip
    """Bring a wall in where there is room; return how many rows there are now."""
    if total >= MOST:
        return total
    used[total, 0], used[total, 1], used[total, 2] = plane, corner, pieces
    normal, limit = planes.normals[plane], planes.limits[plane]
    if corner == form.corner_start.shape[0]:
        limits[total] = ball_row(form, normal, limit, rows[total])
    else:
        limits[total] = wall_row(form, view, normal, limit, corner, pieces, low, high, rows[total])
    return total + 1


@part
def _with_broken(
    at: Numbers, count: int, total: int, cut_rows: Numbers, cut_limits: Numbers, used: Indices, rows: Numbers,
    limits: Numbers,
) -> int:  # fmt: skip
    """Bring in the cuts most broken at *at*, a few; return how many rows there are now."""
    worst, most = np.full(FEW, -1), np.full(FEW, BROKEN)
    for j in range(count):
        over = -cut_limits[j]
        for v in range(at.shape[0]):
            over += cut_rows[j, v] * at[v]
        if over > most[j % FEW]:
            most[j % FEW], worst[j % FEW] = over, j
    for k in range(FEW):
        if worst[k] >= 0:
            total = _with_cut(worst[k], total, cut_rows, cut_limits, used, rows, limits)
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


@part
def _find_broken(form: Form, planes: Planes, view: View, at: Numbers, plane: Indices, corner: Indices) -> None:
    """Set *plane* and *corner*, (8,), to the walls broken most at *at*, one for each eighth of the corners."""
    places, turn, omega = np.empty((form.corner_start.shape[0], 3)), np.empty((3, 3)), np.empty(3)
    set_omega(form, at, omega)
    set_turned(view, omega, turn)
    set_places(form, turn, at, places)
    most = np.full(8, BROKEN)
    for p in range(planes.limits.shape[0]):
        m, over, worst = planes.normals[p], -1e300, 0
        for k in range(places.shape[0]):
            along = m[0] * places[k, 0] + m[1] * places[k, 1] + m[2] * places[k, 2]
            if along > over:
                over, worst = along, k
        over -= planes.limits[p]
        if over > most[worst % 8]:
            most[worst % 8], plane[worst % 8], corner[worst % 8] = over, p, worst


@part
def _most_over(form: Form, planes: Planes, at: Numbers) -> int:
    """Return the plane that the ball within the thing is most over; −1 for none."""
    worst, most, shift, radius = -1, BROKEN, np.empty(3), form.ball[0]
    set_shift(form, at, shift)
    for v in range(form.low.shape[0]):
        radius += form.ball[1] * form.gain[v] * at[v]
    for p in range(planes.limits.shape[0]):
        m = planes.normals[p]
        over = m[0] * shift[0] + m[1] * shift[1] + m[2] * shift[2] + radius - planes.limits[p]
        if over > most:
            worst, most = p, over
    return worst


@part
def brought_in(
    form: Form, planes: Planes, view: View, low: Numbers, high: Numbers, at: Numbers, total: int,
    used: Indices, rows: Numbers, limits: Numbers,
) -> int:  # fmt: skip
    """Bring in the walls broken most at *at*, one for each eighth of the corners and one for the ball.

    Return how many rows there are.
    """
    plane, corner = np.full(9, -1), np.full(9, form.corner_start.shape[0])
    _find_broken(form, planes, view, at, plane, corner)
    plane[8] = _most_over(form, planes, at)
    for k in range(9):
        if plane[k] < 0:
            continue
        pieces = 0
        if k < 8:
            x, x0 = form.corner_rows[corner[k]], form.corner_start[corner[k]]
            pieces = best_pieces(form, view, planes.normals[plane[k]], x, x0, low, high, at)
        more = _with_wall(form, planes, view, low, high, plane[k], corner[k], pieces, total, used, rows, limits)
        over = -limits[total] if more > total else 0.0
        for v in range(rows.shape[1]):
            over += rows[total, v] * at[v] if more > total else 0.0
        if over > BROKEN:
            total = more
    return total
