"""A primal-dual interior method for the convex program, and half-spaces brought in only where they are broken."""

import math
from typing import NamedTuple

import numpy as np

from tapeloft.model.proof.compiled import compiled, part
from tapeloft.model.proof.program import Halfspaces, Indices, Numbers, Wish, dual_bound, log_volume

KEPT = 12  # half-spaces remembered with a branch
MOST = 120  # half-spaces in one program
STEPS = 40
ROUNDS = 12
BROKEN = 1e-7  # unit frame: a half-space passed by less is brought in no more


class System(NamedTuple):
    """The program in terms of what is free, matrix · u + slack = offset, and where the solver stands."""

    matrix: Numbers  # (m, k)
    offset: Numbers  # (m,)
    slack: Numbers  # (m,)
    pressure: Numbers  # (m,) the weights
    miss: Numbers  # (m,) how far from equal
    at: Numbers  # (k,)
    hessian: Numbers  # (k, k)
    step: Numbers  # (k,)


@part
def solved(
    rows: Numbers, limits: Numbers, count: int, reach: Numbers, wish: Wish,
    enough: float, near: float, box: Numbers, weights: Numbers,
) -> float:  # fmt: skip
    """Solve the program over the first *count* half-spaces; return the least dual value met.

    Stops once that is at most *enough*, or *box*, (6,), set, within *near* of it. *weights*, (≥ count,), are set to
    those of the value returned.
    """
    system = _system(rows, limits, count, reach, wish)
    best = 1e300
    for _ in range(STEPS):
        value = dual_bound(rows, limits, count, system.pressure, reach, wish)
        if value < best:
            best = value
            for j in range(count):
                weights[j] = system.pressure[j]
        violation = _missed(system, wish, box)
        done = violation < 1e-9 and best - log_volume(box, wish, 0.0) < near
        if best <= enough or done or not _stepped(system, box, wish):
            break
    return best


@part
def _system(rows: Numbers, limits: Numbers, count: int, reach: Numbers, wish: Wish) -> System:
    """Return the rows, and the reach as rows, in terms of what is free; started in the middle of the reach."""
    free = wish.turn.shape[1]
    matrix, offset = np.zeros((count + 6, free)), np.empty(count + 6)
    for j in range(count):
        offset[j] = limits[j]
        for i in range(6):
            offset[j] -= rows[j, i] * wish.start[i]
            for v in range(free):
                matrix[j, v] += rows[j, i] * wish.turn[i, v]
    for i in range(6):
        sign = -1.0 if i < 3 else 1.0
        offset[count + i] = 1.0  # a face that is given binds nothing: 0 · u ≤ 1
        for v in range(free):
            if wish.turn[i, v] != 0:
                matrix[count + i, v] = sign * wish.turn[i, v]
                offset[count + i] = sign * (reach[i] - wish.start[i])
    at, slack = _middle(reach, wish), np.empty(count + 6)
    pressure, miss = np.empty(count + 6), np.empty(count + 6)
    for j in range(count + 6):
        slack[j] = max(offset[j] - _along(matrix, j, at), 0.02)
        pressure[j] = 3.0 / (count + 6) / slack[j]
    return System(matrix, offset, slack, pressure, miss, at, np.empty((free, free)), np.empty(free))


@part
def _middle(reach: Numbers, wish: Wish) -> Numbers:
    """Return the free terms, (k,), of a box of positive sides in the middle of *reach*."""
    at = np.zeros(wish.turn.shape[1])
    v = 0
    for i in range(6):
        axis = i % 3
        width = reach[3 + axis] - reach[axis]
        side = max(0.4 * width, wish.grown[axis] + 0.1 * width)
        if not math.isnan(wish.size[axis]):
            side = wish.size[axis]
        low = 0.5 * (reach[axis] + reach[3 + axis] - side)
        if not math.isnan(wish.level[axis]):
            low = wish.level[axis]
        if math.isnan(wish.level[axis]) if i < 3 else math.isnan(wish.size[axis]):
            at[v] = low if i < 3 else low + side
            v += 1
    return at


@part
def _along(matrix: Numbers, j: int, at: Numbers) -> float:
    total = 0.0
    for v in range(at.shape[0]):
        total += matrix[j, v] * at[v]
    return total


@part
def _missed(system: System, wish: Wish, box: Numbers) -> float:
    """Set *box* and the misses to where the solver stands; return the most by which a row is broken."""
    for i in range(6):
        box[i] = wish.start[i] + _along(wish.turn, i, system.at)
    most = 0.0
    for j in range(system.offset.shape[0]):
        over = _along(system.matrix, j, system.at) - system.offset[j]
        system.miss[j] = over + system.slack[j]
        most = max(most, over)
    return most


@part
def _stepped(system: System, box: Numbers, wish: Wish) -> bool:
    """Take one Newton step toward a tenth of the present complementarity; False where there is none to take."""
    rows = system.offset.shape[0]
    aim = 0.0
    for j in range(rows):
        aim += 0.1 * system.pressure[j] * system.slack[j] / rows
    system.hessian[:, :] = 0.0
    system.step[:] = 0.0
    for i in range(3):
        if math.isnan(wish.size[i]):
            _add_side(system, wish, i, box[3 + i] - box[i] - wish.grown[i])
    for j in range(rows):
        _add_row(system, j, aim)
    if not eliminated(system.hessian, system.step):
        return False
    share = _longest(system, box, wish, aim)
    for j in range(rows):
        change, gain = _changes(system, j, aim)
        system.slack[j] = max(system.slack[j] + share * change, 1e-300)
        system.pressure[j] = max(system.pressure[j] + share * gain, 1e-300)
    for v in range(system.at.shape[0]):
        system.at[v] += share * system.step[v]
    return True


@part
def _add_side(system: System, wish: Wish, i: int, side: float) -> None:
    """Add the slope and curvature of log(side) to the Newton system."""
    for v in range(system.at.shape[0]):
        pull = (wish.turn[3 + i, v] - wish.turn[i, v]) / side
        system.step[v] += pull
        for z in range(system.at.shape[0]):
            system.hessian[v, z] += pull * (wish.turn[3 + i, z] - wish.turn[i, z]) / side


@part
def _add_row(system: System, j: int, aim: float) -> None:
    """Add the pull of one half-space to the Newton system."""
    push = (aim + system.pressure[j] * system.miss[j]) / system.slack[j]
    stiff = system.pressure[j] / system.slack[j]
    for v in range(system.at.shape[0]):
        part = system.matrix[j, v]
        if part != 0.0:
            system.step[v] -= part * push
            for z in range(system.at.shape[0]):
                system.hessian[v, z] += stiff * part * system.matrix[j, z]


@part
def eliminated(matrix: Numbers, vector: Numbers) -> bool:
    """Solve matrix · x = vector in place, the matrix symmetric and positive definite; False where it is not."""
    n = vector.shape[0]
    for j in range(n):
        pivot = matrix[j, j] * (1.0 + 1e-13)
        if not 0.0 < pivot < 1e300:
            return False
        for r in range(j + 1, n):
            share = matrix[r, j] / pivot
            vector[r] -= share * vector[j]
            for c in range(j + 1, n):
                matrix[r, c] -= share * matrix[j, c]
    for j in range(n - 1, -1, -1):
        for c in range(j + 1, n):
            vector[j] -= matrix[j, c] * vector[c]
        vector[j] /= matrix[j, j]
    return True


@part
def _changes(system: System, j: int, aim: float) -> tuple[float, float]:
    """Return how a whole step changes the slack and the pressure of a row."""
    change = -system.miss[j] - _along(system.matrix, j, system.step)
    return change, (aim - system.pressure[j] * change) / system.slack[j] - system.pressure[j]


@part
def _longest(system: System, box: Numbers, wish: Wish, aim: float) -> float:
    """Return the share of the step that keeps slacks, pressures and sides positive."""
    share = 1.0
    for j in range(system.offset.shape[0]):
        change, gain = _changes(system, j, aim)
        if change < 0:
            share = min(share, -0.97 * system.slack[j] / change)
        if gain < 0:
            share = min(share, -0.97 * system.pressure[j] / gain)
    for i in range(3):
        if math.isnan(wish.size[i]):
            change = _along(wish.turn, 3 + i, system.step) - _along(wish.turn, i, system.step)
            if change < 0:
                share = min(share, -0.9 * (box[3 + i] - box[i] - wish.grown[i]) / change)
    return share


@compiled
def relaxed(
    hull: Halfspaces, rows: Numbers, limits: Numbers, cuts: int, reach: Numbers, wish: Wish, enough: float, near: float,
    planes: Indices, weights: Numbers, box: Numbers,
) -> float:  # fmt: skip
    """Return an upper limit of the log volume over *hull*, some cuts and *reach*; set *box*, (6,), to where it is.

    rows (MOST, 6), limits (MOST,): the first *cuts* are half-spaces besides the hull's, the rest is room for those of
    the hull that are brought in. planes (KEPT,): those of the hull to begin with, −1 for none. planes and weights,
    (KEPT + cuts,), are set to those that weigh most, and their weights, and after them the weights of the cuts.
    """
    pressure, used, broken = np.zeros(MOST), np.empty(MOST, np.int64), np.empty(8, np.int64)
    count, bound = _begun(planes, used), 1e300
    for _ in range(ROUNDS):
        _brought_in(hull, used, count, rows, limits, cuts)
        value = solved(rows, limits, cuts + count, reach, wish, enough, near, box, pressure)
        if value < bound:
            bound = value
            _remembered(used, pressure, cuts, count, planes, weights)
        if bound <= enough or _broken(hull, box, broken) == 0:
            break
        if cuts + count + 8 > MOST:
            count = _begun(planes, used)
        for corner in range(8):
            if broken[corner] >= 0:
                used[count] = broken[corner]
                count += 1
    return bound


@part
def _brought_in(hull: Halfspaces, used: Indices, count: int, rows: Numbers, limits: Numbers, cuts: int) -> None:
    """Set the rows and limits after the cuts to the half-spaces used."""
    for k in range(count):
        limits[cuts + k] = hull.limits[used[k]]
        for i in range(6):
            rows[cuts + k, i] = hull.rows[used[k], i]


@part
def _begun(planes: Indices, used: Indices) -> int:
    """Set the first of *used* to the half-spaces remembered; return how many."""
    count = 0
    for k in range(KEPT):
        if planes[k] >= 0:
            used[count] = planes[k]
            count += 1
    return count


@part
def _remembered(
    used: Indices, pressure: Numbers, cuts: int, count: int, planes: Indices, weights: Numbers
) -> None:  # fmt: skip
    """Set *planes* and *weights* to the KEPT half-spaces of the hull that weigh most, and the rest to the cuts'."""
    for k in range(KEPT):
        planes[k], weights[k] = -1, 0.0
    for j in range(cuts):
        weights[KEPT + j] = pressure[j]
    for j in range(count):
        least = 0
        for k in range(1, KEPT):
            if weights[k] < weights[least]:
                least = k
        if pressure[cuts + j] > max(weights[least], 1e-7):
            planes[least], weights[least] = used[j], pressure[cuts + j]


@part
def _broken(hull: Halfspaces, box: Numbers, worst: Indices) -> int:
    """Set *worst*, (8,), to the half-space that each corner of *box* breaks most, −1 for none; return how many."""
    most = np.full(8, BROKEN)
    worst[:] = -1
    found = 0
    for p in range(hull.limits.shape[0]):
        over = -hull.limits[p]
        corner = 0
        for i in range(3):
            over += hull.rows[p, i] * box[i] + hull.rows[p, 3 + i] * box[3 + i]
            corner += (1 << i) if hull.rows[p, 3 + i] > 0 else 0
        if over > most[corner]:
            found += worst[corner] < 0
            most[corner], worst[corner] = over, p
    return found
