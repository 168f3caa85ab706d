"""The bounds of a branch drawn in: by its rows, by what the solid reaches, and by what would be enough."""

import numpy as np

from tapeloft.model.proof.compiled import part
from tapeloft.model.proof.program import Numbers
from tapeloft.model.proof.turned.cells import View, set_back
from tapeloft.model.proof.turned.form import Form
from tapeloft.model.proof.turned.optimum import Within
from tapeloft.model.proof.turned.rows import Planes, ball_row

SWEEPS = 2


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
            if not drawn_in(rows[j], limit, n, low, high):
                return False
    return True


@part
def drawn_in(row: Numbers, limit: float, n: int, low: Numbers, high: Numbers) -> bool:
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
    moved = is_moved(form)
    for i in range(3):
        one, other = form.ends[i, 0], form.ends[i, 1]
        first, last = form.corner_start[one, i], form.corner_start[other, i]
        row[:] = form.corner_rows[other, i] - form.corner_rows[one, i]
        if not drawn_in(row, reach[3 + i] - reach[i] - last + first, n, low, high):
            return False
        if moved:
            continue
        row[:] = form.corner_rows[other, i]
        held = drawn_in(row, reach[3 + i] - last, n, low, high)
        row[:] = -form.corner_rows[one, i]
        if not held or not drawn_in(row, first - reach[i], n, low, high):
            return False
    return True


@part
def within_planes(form: Form, planes: Planes, low: Numbers, high: Numbers) -> bool:
    """Draw the bounds in by what holds the ball within the thing; False if none is left."""
    n, row = form.low.shape[0], np.empty(form.low.shape[0])
    if form.ball[0] < 0.0 and form.ball[1] <= 0.0:
        return True
    for p in range(planes.limits.shape[0]):
        limit = ball_row(form, planes.normals[p], planes.limits[p], row)
        if not drawn_in(row, limit, n, low, high):
            return False
    return True


@part
def is_moved(form: Form) -> bool:
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
    if many == 0:
        return drawn_in(-form.gain, -enough, n, low, high)
    most = np.empty(many)
    for s in range(many):
        most[s] = form.log_start[s]
        for v in range(n):
            most[s] += max(form.log_rows[s, v] * low[v], form.log_rows[s, v] * high[v])
        if most[s] <= 0.0:
            return False
    total = np.log(most).sum()
    if total <= enough:
        return False
    for s in range(many):
        least = np.exp(enough - total + np.log(most[s])) * (1.0 - 1e-12)
        if not drawn_in(-form.log_rows[s], form.log_start[s] - least, n, low, high):
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
