"""The half-spaces of a branch in terms of what is free, u and ω, each valid over its whole cell of turns.

Two kinds. A witness row: a point that stays outside lies beyond face j, or, where that way past it was taken before,
is covered by it. A wall row: a corner of the thing keeps to a plane that has the whole solid behind it. In both, ω
meets terms of u in products, which are held by McCormick's planes (Math. Programming 10, 1976), and what is of second
order in ω is bounded.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from tapeloft.model.proof.compiled import part
from tapeloft.model.proof.program import MARGIN, Numbers
from tapeloft.model.proof.turned.cells import View, set_back
from tapeloft.model.proof.turned.form import Form

Indices = NDArray[np.int64]


class Planes(NamedTuple):
    """Half-spaces that hold the solid: normals · p ≤ limits."""

    normals: Numbers  # (h, 3) unit
    limits: Numbers  # (h,)


@part
def term_span(rates: Numbers, start: float, low: Numbers, high: Numbers) -> tuple[float, float]:
    """Return the least and the most of rates · u + start while low ≤ u ≤ high."""
    least = most = start
    for v in range(rates.shape[0]):
        least += min(rates[v] * low[v], rates[v] * high[v])
        most += max(rates[v] * low[v], rates[v] * high[v])
    return least, most


@part
def add_product(
    rates: Numbers, start: float, span: tuple[float, float], pull: Numbers, upper: bool, view: View,
    n: int, axes: Indices, row: Numbers,
) -> float:  # fmt: skip
    """Add to *row* a plane under x · w, x = rates · u + start in *span*, w = pull · ω; return what the limit gains.

    Of McCormick's two: the one that holds where both are small, or where both are large (upper).
    """
    least = most = 0.0
    for i in range(3):
        least += min(pull[i] * view.low[i], pull[i] * view.high[i])
        most += max(pull[i] * view.low[i], pull[i] * view.high[i])
    edge, end = (span[1], most) if upper else (span[0], least)
    for v in range(n):
        row[v] += end * rates[v]
    for a in range(axes.shape[0]):
        row[n + a] += edge * pull[axes[a]]
    return edge * end - end * start


@part
def holds_above(x: float, span: tuple[float, float], pull: Numbers, view: View, omega: Numbers) -> bool:
    """Whether the plane that holds where both are large holds better at x and *omega*."""
    least, most, w = 0.0, 0.0, 0.0
    for i in range(3):
        least += min(pull[i] * view.low[i], pull[i] * view.high[i])
        most += max(pull[i] * view.low[i], pull[i] * view.high[i])
        w += pull[i] * omega[i]
    return (span[1] - x) * (most - w) < (x - span[0]) * (w - least)


@part
def term_at(rates: Numbers, start: float, at: Numbers) -> float:
    """Return rates · u + start at *at*."""
    for v in range(rates.shape[0]):
        start += rates[v] * at[v]
    return start


@part
def set_omega(form: Form, at: Numbers, omega: Numbers) -> None:
    """Set *omega*, (3,), to the turn that *at*, (n + axes,), has."""
    omega[:] = 0.0
    for a in range(form.axes.shape[0]):
        omega[form.axes[a]] = at[form.low.shape[0] + a]


@part
def rest_most(f: Numbers, span: Numbers, sign: float, view: View) -> float:
    """Return an upper limit of sign · rest over the cell and all q in *span*, (2, 3).

    rest is what (Q(ω)·f)·q has besides f·q + ω·(f × q). By Rodrigues' formula, with r = ω/2, it is
    −|r|²/(1+|r|²) · ω·(f × q) + ½/(1+|r|²) · M, M = (ω·f)(ω·q) − (f·q)|ω|². M is a quadratic form in ω; it is
    bounded by its largest eigenvalue, (|f||q| ∓ f·q)/2, and by its terms one by one.
    """
    dot, square, size = 0.0, 0.0, np.empty(3)
    for i in range(3):
        size[i] = max(abs(span[0, i]), abs(span[1, i]))
        square += size[i] ** 2
        dot += min(sign * f[i] * span[0, i], sign * f[i] * span[1, i])
    length = np.sqrt((f[0] ** 2 + f[1] ** 2 + f[2] ** 2) * square)
    whole, terms, third = view.square[0] * max(0.0, 0.5 * (length - dot)), 0.0, 0.0
    for i in range(3):
        j, k = (i + 1) % 3, (i + 2) % 3
        reach = max(-view.low[i], view.high[i])
        aside = max(-sign * f[j] * span[0, j], -sign * f[j] * span[1, j])
        aside += max(-sign * f[k] * span[0, k], -sign * f[k] * span[1, k])
        terms += max(0.0, aside) * reach * reach
        across = size[j] * abs(f[k]) + size[k] * abs(f[j])
        terms += across * max(-view.low[j], view.high[j]) * max(-view.low[k], view.high[k])
        third += across * reach
    quarter = 0.25 * view.square[0]
    return float(0.5 * min(whole, terms) + third * quarter / (1.0 + quarter))


@part
def add_leaning(
    form: Form, view: View, f: Numbers, rates: Numbers, start: Numbers, sense: float, low: Numbers, high: Numbers,
    at: Numbers, row: Numbers,
) -> float:  # fmt: skip
    """Add to *row* what is at most sense · (R f) · z, z = rates · u + start, (3,); return what the limit gains.

    f: of the thing's own axes; rates (3, n). at: where its products are best held.
    """
    n, limit, omega, pull, r = form.low.shape[0], 0.0, np.empty(3), np.empty(3), np.empty(3)
    span = np.zeros((2, 3))
    set_omega(form, at, omega)
    for i in range(3):
        for k in range(3):
            r[k] = view.frame[i, k]  # the world's axis i as the middle of the cell has it
        along = sense * (r[0] * f[0] + r[1] * f[1] + r[2] * f[2])
        for v in range(n):
            row[v] += along * rates[i, v]
        limit -= along * start[i]
        least, most = term_span(rates[i], start[i], low, high)
        for k in range(3):
            span[0, k] += min(r[k] * least, r[k] * most)
            span[1, k] += max(r[k] * least, r[k] * most)
            a, b = (k + 1) % 3, (k + 2) % 3
            pull[k] = sense * (f[a] * r[b] - f[b] * r[a])
        upper = holds_above(term_at(rates[i], start[i], at), (least, most), pull, view, omega)
        limit += add_product(rates[i], start[i], (least, most), pull, upper, view, n, form.axes, row)
    return float(limit + rest_most(f, span, -sense, view))


@part
def add_turned(
    form: Form, view: View, normal: Numbers, rates: Numbers, start: Numbers, pieces: int, low: Numbers, high: Numbers,
    row: Numbers,
) -> float:  # fmt: skip
    """Add to *row* what is at most normal · R x, x = rates · u + start, (3,); return what the limit gains.

    normal: of the world's axes. pieces: a bit for each coordinate, which of McCormick's two planes holds its product.
    """
    n, limit, m, span, pull = form.low.shape[0], 0.0, np.empty(3), np.empty((2, 3)), np.empty(3)
    set_back(view.frame, normal, m)
    for i in range(3):
        span[0, i], span[1, i] = term_span(rates[i], start[i], low, high)
        for v in range(n):
            row[v] += m[i] * rates[i, v]
        limit -= m[i] * start[i]
        if form.axes.shape[0] > 0:
            _set_pull(m, i, pull)
            upper = (pieces >> i & 1) == 1
            limit += add_product(
                rates[i], start[i], (span[0, i], span[1, i]), pull, upper, view, n, form.axes, row
            )  # fmt: skip
    return float(limit + rest_most(m, span, -1.0, view))


@part
def _set_pull(m: Numbers, i: int, pull: Numbers) -> None:
    """Set *pull* to e_i × m: (Q(ω)·x)·m is x·m + Σ x_i (e_i × m)·ω to first order."""
    j, k = (i + 1) % 3, (i + 2) % 3
    pull[i], pull[k], pull[j] = 0.0, m[j], -m[k]


@part
def best_pieces(
    form: Form, view: View, normal: Numbers, rates: Numbers, start: Numbers, low: Numbers, high: Numbers, at: Numbers
) -> int:  # fmt: skip
    """Return which of McCormick's planes hold best at *at*, (n + axes,), in `add_turned`."""
    m, omega, pull = np.empty(3), np.empty(3), np.empty(3)
    set_back(view.frame, normal, m)
    set_omega(form, at, omega)
    pieces = 0
    for i in range(3):
        _set_pull(m, i, pull)
        x, span = term_at(rates[i], start[i], at), term_span(rates[i], start[i], low, high)
        if holds_above(x, span, pull, view, omega):
            pieces |= 1 << i
    return pieces


@part
def witness_row(
    form: Form, view: View, point: Numbers, face: int, sense: float, low: Numbers, high: Numbers, at: Numbers,
    row: Numbers,
) -> float:  # fmt: skip
    """Set *row*, (n + axes,), to: *point* lies beyond *face* (sense 1) or is covered by it (−1); return its limit.

    offset(u) + (R f) · (shift(u) − point) ≤ 0, sense times. at: where its products are best held.
    """
    start = np.empty(3)
    row[:] = 0.0
    for v in range(form.low.shape[0]):
        row[v] = sense * form.face_rows[face, v]
    for i in range(3):
        start[i] = form.shift_start[i] - point[i]
    f, limit = form.normals[face], -sense * form.face_start[face]
    return float(limit + add_leaning(form, view, f, form.shift_rows, start, sense, low, high, at, row) + MARGIN)


@part
def wall_row(
    form: Form, view: View, normal: Numbers, limit: float, corner: int, pieces: int, low: Numbers, high: Numbers,
    row: Numbers,
) -> float:  # fmt: skip
    """Set *row* to: *corner* keeps to normal · p ≤ limit; return its own limit."""
    row[:] = 0.0
    for i in range(3):
        limit -= normal[i] * form.shift_start[i]
        for v in range(form.low.shape[0]):
            row[v] += normal[i] * form.shift_rows[i, v]
    rates, start = form.corner_rows[corner], form.corner_start[corner]
    return float(limit + add_turned(form, view, normal, rates, start, pieces, low, high, row) + 2 * MARGIN)
