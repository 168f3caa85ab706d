"""The bounds of a branch drawn in by the weights of its own program: what lies further in cannot be worth enough.

The reduced costs of mixed-integer programming, of rows as well as of bounds (Ryoo, Sahinidis, J. Global Optimization
8, 1996, from memory): value − Σ weight · slack is over whatever is worth something there.
"""

import numpy as np

from tapeloft.model.proof.compiled import part
from tapeloft.model.proof.program import Numbers
from tapeloft.model.proof.turned.cells import View
from tapeloft.model.proof.turned.form import Form
from tapeloft.model.proof.turned.optimum import Within, tangents
from tapeloft.model.proof.turned.tightening import drawn_in

SWEEPS = 2
LIGHT = 1e-6  # a weight or a slope under which nothing is drawn in


@part
def squeezed(
    form: Form, rows: Numbers, limits: Numbers, count: int, weights: Numbers, sides: Numbers, within: Within,
    value: float, enough: float,
) -> bool:  # fmt: skip
    """Draw all bounds, (N,), in by *weights* and *sides* whose dual value is *value*; False if none is left.

    What is worth more than *enough* can give away no more than *value* has over that, all together: the slack of a
    row costs its weight, the way from a bound the slope there, a side the gap of its logarithm under the tangent.
    """
    spare = value - enough
    _off_bounds(form, rows, limits, count, weights, sides, within, spare)
    for _ in range(SWEEPS):
        if not _sides_held(form, sides, within, spare):
            return False
        for j in range(count):
            least = limits[j] - spare / weights[j] if weights[j] > LIGHT else -1e300
            if not _drawn_between(rows[j], least, limits[j], within):
                return False
    return True


@part
def _off_bounds(
    form: Form, rows: Numbers, limits: Numbers, count: int, weights: Numbers, sides: Numbers, within: Within,
    spare: float,
) -> None:  # fmt: skip
    """Draw a bound in toward the other one, where the slope to that is worth more than is to spare."""
    pull = np.zeros(within.low.shape[0])
    tangents(form, sides, pull)
    for v in range(pull.shape[0]):
        for j in range(count):
            pull[v] -= weights[j] * rows[j, v]
        if pull[v] > LIGHT:
            within.low[v] = max(within.low[v], within.high[v] - spare / pull[v] - 1e-12)
        elif pull[v] < -LIGHT:
            within.high[v] = min(within.high[v], within.low[v] - spare / pull[v] + 1e-12)


@part
def _sides_held(form: Form, sides: Numbers, within: Within, spare: float) -> bool:
    """Draw the bounds in by how far sides can be from those of the tangents; False if none is left.

    t − 1 − log t > g for t < 1 − √(2g) and for t > 1 + √(2g) + g, by its series, and as Laurent and Massart have it
    (Annals of Statistics 28, 2000, lemma 1, from memory).
    """
    row, below = np.zeros(within.low.shape[0]), np.sqrt(2.0 * spare)
    for s in range(sides.shape[0]):
        for v in range(form.low.shape[0]):
            row[v] = form.log_rows[s, v]
        least, most = sides[s] * (1.0 - below), sides[s] * (1.0 + below + spare)
        if not _drawn_between(row, least - form.log_start[s], most - form.log_start[s], within):
            return False
    return True


@part
def _drawn_between(row: Numbers, least: float, most: float, within: Within) -> bool:
    """Draw the bounds in by least ≤ row · (u, ω) ≤ most."""
    size = within.low.shape[0]
    if not drawn_in(row, most, size, within.low, within.high):
        return False
    return least < -1e299 or drawn_in(-row, -least, size, within.low, within.high)


@part
def narrowed(form: Form, view: View, within: Within) -> View:
    """Return what of a cell is within the bounds."""
    low, high, square = view.low.copy(), view.high.copy(), view.square.copy()
    most, n = 0.0, form.low.shape[0]
    for a in range(form.axes.shape[0]):
        low[form.axes[a]], high[form.axes[a]] = within.low[n + a], within.high[n + a]
    for i in range(3):
        most += max(low[i] * low[i], high[i] * high[i])
    square[0] = min(square[0], most * (1.0 + 1e-14))
    return View(view.frame, low, high, square)
