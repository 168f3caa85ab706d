"""A branch's bound: its cuts, its bounds tightened by them, and walls brought in only where they are broken."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from tapeloft.model.proof.compiled import part
from tapeloft.model.proof.program import NEVER, Numbers
from tapeloft.model.proof.turned.cells import View, set_back, set_turned
from tapeloft.model.proof.turned.form import Form, set_places
from tapeloft.model.proof.turned.optimum import Within, dual, solved
from tapeloft.model.proof.turned.rows import Planes, best_pieces, set_omega, wall_row, witness_row

Indices = NDArray[np.int64]
KEPT = 16  # walls remembered with a branch
MOST = 160  # rows in one program
ROUNDS = 10
BROKEN = 1e-7  # unit frame: a wall passed by less is brought in no more
SWEEPS = 2
AROUND = 6  # planes that come first, square to the world's axes


class Cuts(NamedTuple):
    """Witness points and which way past each was taken: beyond a face (sense 1), or covered by it (−1)."""

    points: Numbers  # (m, 3)
    faces: Indices  # (m,)
    senses: Numbers  # (m,)


class Solution(NamedTuple):
    """Where a branch has the most, what that is at most, and the weights that show it."""

    at: Numbers  # (N,)
    walls: Indices  # (KEPT, 3) plane, corner, pieces; plane −1 for none
    weights: Numbers  # (KEPT + m,) of the walls, then of the cuts
    sides: Numbers  # (L,)


@part
def tightened(form: Form, view: View, reach: Numbers, enough: float, rows: Numbers, limits: Numbers, count: int,
              low: Numbers, high: Numbers) -> bool:  # fmt: skip
    """Draw the bounds, (n,), of u in by rows, the reach of the solid and what would be enough; False if none is left.

    reach (6,): how far the solid goes along the thing's own axes, low and high, anywhere in the cell.
    """
    n = form.low.shape[0]
    omega = Within(np.empty(form.axes.shape[0]), np.empty(form.axes.shape[0]))
    for a in range(form.axes.shape[0]):
        omega.low[a], omega.high[a] = view.low[form.axes[a]], view.high[form.axes[a]]
    for _ in range(SWEEPS):
        if not _within_reach(form, reach, low, high) or not _enough(form, enough, low, high):
            return False
        for j in range(count):
            limit = limits[j]
            for a in range(omega.low.shape[0]):
                limit -= min(rows[j, n + a] * omega.low[a], rows[j, n + a] * omega.high[a])
            if not _drawn_in(rows[j], limit, n, low, high):
                return False
    return True


@part
def _drawn_in(row: Numbers, limit: float, n: int, low: Numbers, high: Numbers) -> bool:
    """Draw the bounds in by row · u ≤ limit."""
    least = 0.0
    for v in range(n):
        least += min(row[v] * low[v], row[v] * high[v])
    spare = limit - least
    if spare < 0.0:
        return False
    for v in range(n):
        if row[v] > 1e-9:
            high[v] = min(high[v], low[v] + spare / row[v] + 1e-12)
        elif row[v] < -1e-9:
            low[v] = max(low[v], high[v] + spare / row[v] - 1e-12)
    return True


@part
def _within_reach(form: Form, reach: Numbers, low: Numbers, high: Numbers) -> bool:
    """Draw the bounds in by this: along its own axes the thing is no longer than the solid, nor, unmoved, beyond it."""
    n = form.low.shape[0]
    row = np.empty(n)
    moved = _is_moved(form)
    for i in range(3):
        one, other = form.ends[i, 0], form.ends[i, 1]
        first, last = form.corner_start[one, i], form.corner_start[other, i]
        for v in range(n):
            row[v] = form.corner_rows[other, i, v] - form.corner_rows[one, i, v]
        if not _drawn_in(row, reach[3 + i] - reach[i] - last + first, n, low, high):
            return False
        if moved:
            continue
        for v in range(n):
            row[v] = form.corner_rows[other, i, v]
        if not _drawn_in(row, reach[3 + i] - last, n, low, high):
            return False
        for v in range(n):
            row[v] = -form.corner_rows[one, i, v]
        if not _drawn_in(row, first - reach[i], n, low, high):
            return False
    return True


@part
def _is_moved(form: Form) -> bool:
    """Whether the thing is moved in the world's axes, besides where its corners lie in its own."""
    for i in range(3):
        if form.shift_start[i] != 0.0:
            return True
        for v in range(form.low.shape[0]):
            if form.shift_rows[i, v] != 0.0:
                return True
    return False


@part
def _enough(form: Form, enough: float, low: Numbers, high: Numbers) -> bool:
    """Draw the bounds in by what a thing worth more than *enough* needs: of each side, given the most of the others."""
    n, many = form.low.shape[0], form.log_start.shape[0]
    row = np.empty(n)
    if many == 0:
        for v in range(n):
            row[v] = -form.gain[v]
        return _drawn_in(row, -enough, n, low, high)
    most, total = np.empty(many), 0.0
    for s in range(many):
        most[s] = form.log_start[s]
        for v in range(n):
            most[s] += max(form.log_rows[s, v] * low[v], form.log_rows[s, v] * high[v])
        if most[s] <= 0.0:
            return False
        total += np.log(most[s])
    if total <= enough:
        return False
    for s in range(many):
        for v in range(n):
            row[v] = -form.log_rows[s, v]
        least = np.exp(enough - total + np.log(most[s])) * (1.0 - 1e-12)
        if not _drawn_in(row, form.log_start[s] - least, n, low, high):
            return False
    return True


@part
def reached(form: Form, view: View, corners: Numbers, reach: Numbers) -> None:
    """Set *reach*, (6,), to how far *corners*, (k, 3), go along the thing's own axes, at most, anywhere in the cell.

    A point q of the middle's axes lies at (Q(ω)·e)·q along e, within √ω² of q by the angle it can turn.
    """
    q = np.empty(3)
    reach[:3], reach[3:] = 1e300, -1e300
    theta = 2.0 * np.arctan(0.5 * np.sqrt(view.square[0]))
    for c in range(corners.shape[0]):
        set_back(view.frame, corners[c], q)
        size = np.sqrt(q[0] ** 2 + q[1] ** 2 + q[2] ** 2) + 1e-300
        for i in range(3):
            angle, length = np.arccos(min(1.0, max(-1.0, q[i] / size))), size
            spread = theta if form.axes.shape[0] > 0 else 0.0
            if form.axes.shape[0] == 1:
                spread, length = 0.0, size
                if i < 2:
                    length = np.sqrt(q[0] ** 2 + q[1] ** 2) + 1e-300
                    angle, spread = np.arccos(min(1.0, max(-1.0, q[i] / length))), theta
            reach[i] = min(reach[i], length * np.cos(min(np.pi, angle + spread)) - 1e-12)
            reach[3 + i] = max(reach[3 + i], length * np.cos(max(0.0, angle - spread)) + 1e-12)


@part
def bounded(
    form: Form, planes: Planes, view: View, cuts: Cuts, reach: Numbers, enough: float, near: float,
    low: Numbers, high: Numbers, solution: Solution,
) -> float:  # fmt: skip
    """Return an upper limit of a branch; draw *low* and *high* in, set *solution*, that comes in as its parent's."""
    n, axes = form.low.shape[0], form.axes.shape[0]
    count, size = cuts.faces.shape[0], n + axes
    rows, limits = np.zeros((MOST, size)), np.empty(MOST)
    _set_cuts(form, view, cuts, low, high, solution.at, rows, limits)
    _set_sides(form, planes, view, low, high, solution.at, count, rows, limits)
    if not tightened(form, view, reach, enough, rows, limits, count + AROUND, low, high):
        return enough
    _set_cuts(form, view, cuts, low, high, solution.at, rows, limits)
    within = Within(np.empty(size), np.empty(size))
    for v in range(size):
        within.low[v] = low[v] if v < n else view.low[form.axes[v - n]]
        within.high[v] = high[v] if v < n else view.high[form.axes[v - n]]
    used, weights = np.empty((MOST, 3), np.int64), np.zeros(MOST)
    walls = _recalled(form, planes, view, solution, count, low, high, used, weights, rows, limits)
    bound = dual(form, rows, limits, count + walls, weights, solution.sides, within)
    if bound <= enough:
        return bound
    for turn in range(ROUNDS):
        value = solved(
            form, rows, limits, count + walls, within, enough, near, solution.at, weights, solution.sides
        )  # fmt: skip
        if value < bound or turn == 0:
            bound = min(bound, value)
            _remembered(solution, used, weights, count, walls)
        if bound <= enough:
            break
        walls, new = brought_in(form, planes, view, low, high, solution.at, count, walls, used, rows, limits)
        if new == 0:
            break
    return bound


@part
def _set_cuts(
    form: Form, view: View, cuts: Cuts, low: Numbers, high: Numbers, at: Numbers, rows: Numbers, limits: Numbers
) -> None:
    for j in range(cuts.faces.shape[0]):
        limits[j] = witness_row(
            form, view, cuts.points[j], cuts.faces[j], cuts.senses[j], low, high, at, rows[j]
        )  # fmt: skip


@part
def _set_sides(
    form: Form, planes: Planes, view: View, low: Numbers, high: Numbers, at: Numbers, count: int,
    rows: Numbers, limits: Numbers,
) -> None:  # fmt: skip
    """Set AROUND rows after *count* to the first planes, square to the world's axes, each for the corner most over it."""
    places = np.empty(form.corner_start.shape)
    set_places(form, view.frame, at, places)
    for p in range(AROUND):
        normal, worst, most = planes.normals[p], 0, -1e300
        for k in range(places.shape[0]):
            along = normal[0] * places[k, 0] + normal[1] * places[k, 1] + normal[2] * places[k, 2]
            if along > most:
                worst, most = k, along
        pieces = best_pieces(form, view, normal, worst, low, high, at)
        limits[count + p] = wall_row(
            form, view, normal, planes.limits[p], worst, pieces, low, high, rows[count + p]
        )  # fmt: skip


@part
def _recalled(
    form: Form, planes: Planes, view: View, solution: Solution, count: int, low: Numbers, high: Numbers,
    used: Indices, weights: Numbers, rows: Numbers, limits: Numbers,
) -> int:  # fmt: skip
    """Set rows and weights to those of the branch that this one comes from; return how many are walls."""
    walls = 0
    for j in range(count):
        weights[j] = solution.weights[KEPT + j] if KEPT + j < solution.weights.shape[0] else 0.0
    for k in range(KEPT):
        plane = solution.walls[k, 0]
        if plane >= 0:
            weights[count + walls] = solution.weights[k]
            for c in range(3):
                used[walls, c] = solution.walls[k, c]
            _add(form, planes, view, low, high, used, walls, count, rows, limits)
            walls += 1
    return walls


@part
def _add(
    form: Form, planes: Planes, view: View, low: Numbers, high: Numbers, used: Indices, k: int, count: int,
    rows: Numbers, limits: Numbers,
) -> None:  # fmt: skip
    plane, corner, pieces = used[k, 0], used[k, 1], used[k, 2]
    limits[count + k] = wall_row(
        form, view, planes.normals[plane], planes.limits[plane], corner, pieces, low, high, rows[count + k]
    )  # fmt: skip


@part
def _remembered(solution: Solution, used: Indices, weights: Numbers, count: int, walls: int) -> None:
    """Keep the KEPT walls that weigh most, and the weights of the cuts."""
    for k in range(KEPT):
        solution.walls[k, 0], solution.weights[k] = -1, 0.0
    for j in range(count):
        solution.weights[KEPT + j] = weights[j]
    for w in range(walls):
        least = 0
        for k in range(1, KEPT):
            if solution.weights[k] < solution.weights[least]:
                least = k
        if weights[count + w] > max(solution.weights[least], 1e-7):
            solution.weights[least] = weights[count + w]
            for c in range(3):
                solution.walls[least, c] = used[w, c]


@part
def brought_in(
    form: Form, planes: Planes, view: View, low: Numbers, high: Numbers, at: Numbers, count: int, walls: int,
    used: Indices, rows: Numbers, limits: Numbers,
) -> tuple[int, int]:  # fmt: skip
    """Bring in the walls most broken at *at*, one for each eighth of the corners; return how many walls, and new ones."""
    corners = form.corner_start.shape[0]
    places, turn, omega = np.empty((corners, 3)), np.empty((3, 3)), np.empty(3)
    set_omega(form, at, omega)
    set_turned(view, omega, turn)
    set_places(form, turn, at, places)
    most, plane, corner = np.full(8, BROKEN), np.full(8, -1), np.zeros(8, np.int64)
    for p in range(planes.limits.shape[0]):
        m, over, worst = planes.normals[p], -1e300, 0
        for k in range(corners):
            along = m[0] * places[k, 0] + m[1] * places[k, 1] + m[2] * places[k, 2]
            if along > over:
                over, worst = along, k
        over -= planes.limits[p]
        if over > most[worst % 8]:
            most[worst % 8], plane[worst % 8], corner[worst % 8] = over, p, worst
    new = 0
    for k in range(8):
        if plane[k] >= 0 and count + walls < MOST:
            normal = planes.normals[plane[k]]
            used[walls, 0], used[walls, 1] = plane[k], corner[k]
            used[walls, 2] = best_pieces(form, view, normal, corner[k], low, high, at)
            _add(form, planes, view, low, high, used, walls, count, rows, limits)
            over = -limits[count + walls]
            for v in range(rows.shape[1]):
                over += rows[count + walls, v] * at[v]
            if over > BROKEN:
                walls, new = walls + 1, new + 1
    return walls, new

