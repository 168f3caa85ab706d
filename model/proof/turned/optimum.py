"""The most that a branch can hold: an interior method, and a Lagrange dual value that is valid whatever it did.

For weights λ ≥ 0 on the rows and any sides s > 0, since log is under its tangent at s, nothing in the branch has more
than λ · limits + Σ (log s − 1 + log_start / s) + the most of c · u in its bounds, c = log_rows / s + gain − λ · rows.
"""

import math
from typing import NamedTuple

import numpy as np

from tapeloft.model.proof.compiled import part
from tapeloft.model.proof.interior import eliminated
from tapeloft.model.proof.program import MARGIN, NEVER, Numbers
from tapeloft.model.proof.turned.form import Form

STEPS = 40
START = 3.0  # complementarity, all together, that it starts from: with less, things of given sizes stay undecided


class Within(NamedTuple):
    """The bounds on what is free: u, then the free components of ω."""

    low: Numbers  # (N,)
    high: Numbers  # (N,)


@part
def set_sides(form: Form, at: Numbers, sides: Numbers) -> None:
    """Set *sides*, (L,), to the terms under the logarithms at *at*."""
    for s in range(form.log_start.shape[0]):
        sides[s] = form.log_start[s]
        for v in range(form.low.shape[0]):
            sides[s] += form.log_rows[s, v] * at[v]


@part
def worth(form: Form, at: Numbers, sides: Numbers) -> float:
    """Return the objective at *at*; NEVER where a side is none."""
    total = 0.0
    for s in range(sides.shape[0]):
        if sides[s] <= 0:
            return NEVER
        total += math.log(sides[s])
    for v in range(form.low.shape[0]):
        total += form.gain[v] * at[v]
    return total


@part
def dual(
    form: Form, rows: Numbers, limits: Numbers, count: int, weights: Numbers, sides: Numbers, within: Within
) -> float:
    """Return the Lagrange dual value: an upper limit over the first *count* rows, valid for weights ≥ 0, sides > 0."""
    size = within.low.shape[0]
    pull = np.zeros(size)
    total, slack = tangents(form, sides, pull)
    for j in range(count):
        if weights[j] > 0.0:
            total += weights[j] * limits[j]
            slack += weights[j]
            for v in range(size):
                pull[v] -= weights[j] * rows[j, v]
    for v in range(size):
        total += max(pull[v] * within.low[v], pull[v] * within.high[v])
    return float(total + slack * MARGIN)


@part
def tangents(form: Form, sides: Numbers, pull: Numbers) -> tuple[float, float]:
    """Set *pull* to the slope of the objective's tangent at *sides*; return its constant, and the size of its terms."""
    total, slack = 0.0, 10.0
    pull[: form.low.shape[0]] = form.gain
    for s in range(form.log_start.shape[0]):
        if not sides[s] > 0:
            return 1e300, slack
        total += math.log(sides[s]) - 1.0 + form.log_start[s] / sides[s]
        slack += 1.0 / sides[s]
        for v in range(form.low.shape[0]):
            pull[v] += form.log_rows[s, v] / sides[s]
    return total, slack


class System(NamedTuple):
    """Where the interior method stands: rows · at + slack = limits, and the bounds below and above."""

    at: Numbers  # (N,)
    slack: Numbers  # (m,)
    pressure: Numbers  # (m,)
    miss: Numbers  # (m,)
    gap: Numbers  # (2, N) from the lower and to the upper bound
    push: Numbers  # (2, N) weights of the bounds
    hessian: Numbers  # (N, N)
    step: Numbers  # (N,)
    sides: Numbers  # (L,)


@part
def solved(
    form: Form, rows: Numbers, limits: Numbers, count: int, within: Within, enough: float, near: float,
    at: Numbers, weights: Numbers, sides: Numbers,
) -> float:  # fmt: skip
    """Solve over the first *count* rows; return the least dual value met, its *weights*, (≥ count,), and *sides* set.

    Stops once it is at most *enough*, or *at*, (N,), set, within *near* of it.
    """
    system = _begun(form, rows, limits, count, within)
    best = 1e300
    for _ in range(STEPS):
        set_sides(form, system.at, system.sides)
        value = dual(form, rows, limits, count, system.pressure, system.sides, within)
        if value < best:
            best = value
            for j in range(count):
                weights[j] = system.pressure[j]
            for s in range(sides.shape[0]):
                sides[s] = system.sides[s]
        missed = _missed(rows, limits, count, system)
        for v in range(at.shape[0]):
            at[v] = system.at[v]
        done = missed < 1e-9 and best - worth(form, system.at, system.sides) < near
        if best <= enough or done or not _stepped(form, rows, count, system):
            break
    return best


@part
def _begun(form: Form, rows: Numbers, limits: Numbers, count: int, within: Within) -> System:
    size = within.low.shape[0]
    at, gap, push = np.empty(size), np.empty((2, size)), np.empty((2, size))
    for v in range(size):
        at[v] = 0.5 * (within.low[v] + within.high[v])
    sides = np.empty(form.log_start.shape[0])
    set_sides(form, at, sides)
    for s in range(sides.shape[0]):
        if sides[s] <= 1e-3:
            _opened(form, s, sides[s], within, at)
    set_sides(form, at, sides)
    slack, pressure, miss = np.empty(count), np.empty(count), np.empty(count)
    total = count + 2 * size
    for j in range(count):
        over = -limits[j]
        for v in range(size):
            over += rows[j, v] * at[v]
        slack[j] = max(-over, 0.02)
        pressure[j] = START / total / slack[j]
    for v in range(size):
        gap[0, v], gap[1, v] = max(at[v] - within.low[v], 1e-12), max(within.high[v] - at[v], 1e-12)
        push[0, v], push[1, v] = START / total / gap[0, v], START / total / gap[1, v]
    return System(at, slack, pressure, miss, gap, push, np.empty((size, size)), np.empty(size), sides)


@part
def _opened(form: Form, s: int, side: float, within: Within, at: Numbers) -> None:
    """Move *at* toward its bounds until side *s*, as it stands none, is some of what it can be."""
    most = form.log_start[s]
    for v in range(form.low.shape[0]):
        most += max(form.log_rows[s, v] * within.low[v], form.log_rows[s, v] * within.high[v])
    if most <= side:
        return
    share = min(0.98, (0.3 * max(most, 0.0) - side) / (most - side))
    for v in range(form.low.shape[0]):
        if form.log_rows[s, v] != 0.0:
            end = within.high[v] if form.log_rows[s, v] > 0 else within.low[v]
            at[v] += share * (end - at[v])


@part
def _missed(rows: Numbers, limits: Numbers, count: int, system: System) -> float:
    """Set the misses; return the most by which a row is broken."""
    most = 0.0
    for j in range(count):
        over = -limits[j]
        for v in range(system.at.shape[0]):
            over += rows[j, v] * system.at[v]
        system.miss[j] = over + system.slack[j]
        most = max(most, over)
    return most


@part
def _stepped(form: Form, rows: Numbers, count: int, system: System) -> bool:
    """Take one Newton step toward a tenth of the present complementarity; False where there is none to take."""
    size = system.at.shape[0]
    aim = 0.0
    for j in range(count):
        aim += system.pressure[j] * system.slack[j]
    for v in range(size):
        aim += system.push[0, v] * system.gap[0, v] + system.push[1, v] * system.gap[1, v]
    aim *= 0.1 / (count + 2 * size)
    _add_objective(form, aim, system)
    for j in range(count):
        _add_row(rows[j], j, aim, system)
    for v in range(size):
        for z in range(v):
            system.hessian[z, v] = system.hessian[v, z]
    if not eliminated(system.hessian, system.step):
        return False
    _advanced(form, rows, count, aim, system)
    return True


@part
def _add_objective(form: Form, aim: float, system: System) -> None:
    """Begin the Newton system with the pulls of the bounds, and of the objective."""
    n = form.low.shape[0]
    system.hessian[:, :] = 0.0
    for v in range(system.at.shape[0]):
        low, high = system.push[0, v] / system.gap[0, v], system.push[1, v] / system.gap[1, v]
        system.step[v] = aim / system.gap[0, v] - aim / system.gap[1, v]
        system.hessian[v, v] = low + high
    for v in range(n):
        system.step[v] += form.gain[v]
    for s in range(system.sides.shape[0]):
        for v in range(n):
            pull = form.log_rows[s, v] / system.sides[s]
            if pull != 0.0:
                system.step[v] += pull
                for z in range(n):
                    system.hessian[v, z] += pull * form.log_rows[s, z] / system.sides[s]


@part
def _add_row(row: Numbers, j: int, aim: float, system: System) -> None:
    """Add the pull of a row to the Newton system, below its diagonal."""
    push = (aim + system.pressure[j] * system.miss[j]) / system.slack[j]
    stiff = system.pressure[j] / system.slack[j]
    for v in range(row.shape[0]):
        rate = row[v]
        if rate != 0.0:
            system.step[v] -= rate * push
            for z in range(v + 1):
                system.hessian[v, z] += stiff * rate * row[z]


@part
def _advanced(form: Form, rows: Numbers, count: int, aim: float, system: System) -> None:
    """Take the step as far as slacks, gaps, weights and sides stay positive."""
    size = system.at.shape[0]
    change, gain, rise = np.empty(count), np.empty(count), np.empty((2, size))
    share = min(
        _rows_share(rows, count, aim, system, change, gain),
        _bounds_share(aim, system, rise),
        _sides_share(form, system),
    )
    for v in range(size):
        for end in range(2):
            move = system.step[v] if end == 0 else -system.step[v]
            system.gap[end, v] = max(system.gap[end, v] + share * move, 1e-300)
            system.push[end, v] = max(system.push[end, v] + share * rise[end, v], 1e-300)
        system.at[v] += share * system.step[v]
    for j in range(count):
        system.slack[j] = max(system.slack[j] + share * change[j], 1e-300)
        system.pressure[j] = max(system.pressure[j] + share * gain[j], 1e-300)


@part
def _rows_share(rows: Numbers, count: int, aim: float, system: System, change: Numbers, gain: Numbers) -> float:
    """Set how slacks and weights change in a whole step; return the share of it that keeps them positive."""
    share = 1.0
    for j in range(count):
        along = 0.0
        for v in range(system.at.shape[0]):
            along += rows[j, v] * system.step[v]
        change[j] = -system.miss[j] - along
        gain[j] = (aim - system.pressure[j] * change[j]) / system.slack[j] - system.pressure[j]
        if change[j] < 0:
            share = min(share, -0.97 * system.slack[j] / change[j])
        if gain[j] < 0:
            share = min(share, -0.97 * system.pressure[j] / gain[j])
    return share


@part
def _bounds_share(aim: float, system: System, rise: Numbers) -> float:
    """Set how the weights of the bounds rise, (2, N), in a whole step; return the share that keeps all positive."""
    share = 1.0
    for v in range(system.at.shape[0]):
        for end in range(2):
            move = system.step[v] if end == 0 else -system.step[v]
            rise[end, v] = (aim - system.push[end, v] * move) / system.gap[end, v] - system.push[end, v]
            if move < 0:
                share = min(share, -0.97 * system.gap[end, v] / move)
            if rise[end, v] < 0:
                share = min(share, -0.97 * system.push[end, v] / rise[end, v])
    return share


@part
def _sides_share(form: Form, system: System) -> float:
    """Return the share of the step that keeps the sides positive."""
    share = 1.0
    for s in range(system.sides.shape[0]):
        move = 0.0
        for v in range(form.low.shape[0]):
            move += form.log_rows[s, v] * system.step[v]
        if move < 0:
            share = min(share, -0.9 * system.sides[s] / move)
    return share
