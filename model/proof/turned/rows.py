"""The half-spaces of a branch in terms of what is free, u and ω, each valid over its whole cell of turns.

Four kinds. A witness row: a point that stays outside lies beyond face j, or, where that way past it was taken before,
is covered by it. A wall row: a corner of the thing keeps to a plane that has the whole solid behind it. In both, ω
meets terms of u in products, which are held by McCormick's planes (Math. Programming 10, 1976), and what is of second
order in ω is bounded. A ball row: so does a ball within the thing, where ω says nothing. A
parting row: a corner keeps to a plane between the thing and a triangle, that may turn with it.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from tapeloft.model.proof.compiled import part
from tapeloft.model.proof.program import MARGIN, Numbers
from tapeloft.model.proof.turned.cells import View
from tapeloft.model.proof.turned.form import Form

Indices = NDArray[np.int64]
Three = tuple[float, float, float]


class Planes(NamedTuple):
    """Half-spaces that hold the solid: normals · p ≤ limits."""

    normals: Numbers  # (h, 3) unit
    limits: Numbers  # (h,)


@part
def term_span(rates: Numbers, i: int, start: float, low: Numbers, high: Numbers) -> tuple[float, float]:
    """Return the least and the most of rates[i] · u + start while low ≤ u ≤ high."""
    least = most = start
    for v in range(rates.shape[1]):
        least += min(rates[i, v] * low[v], rates[i, v] * high[v])
        most += max(rates[i, v] * low[v], rates[i, v] * high[v])
    return least, most


@part
def turn_span(pull: Three, view: View) -> tuple[float, float]:
    """Return the least and the most of pull · ω over the cell."""
    least = most = 0.0
    for i in range(3):
        least += min(pull[i] * view.low[i], pull[i] * view.high[i])
        most += max(pull[i] * view.low[i], pull[i] * view.high[i])
    return least, most


@part
def add_product(
    rates: Numbers, i: int, start: float, span: tuple[float, float], pull: Three, turns: tuple[float, float],
    upper: bool, n: int, axes: Indices, row: Numbers,
) -> float:  # fmt: skip
    """Add to *row* a plane under x · w, x = rates[i] · u + start in *span*, w = pull · ω in *turns*.

    Of McCormick's two: the one that holds where both are small, or where both are large (upper). Returns what the
    limit gains.
    """
    edge, end = (span[1], turns[1]) if upper else (span[0], turns[0])
    for v in range(n):
        row[v] += end * rates[i, v]
    for a in range(axes.shape[0]):
        row[n + a] += edge * pull[axes[a]]
    return edge * end - end * start


@part
def holds_above(x: float, span: tuple[float, float], w: float, turns: tuple[float, float]) -> bool:
    """Whether the plane that holds where both are large holds better at x and w."""
    return (span[1] - x) * (turns[1] - w) < (x - span[0]) * (w - turns[0])


@part
def term_at(rates: Numbers, i: int, start: float, at: Numbers) -> float:
    """Return rates[i] · u + start at *at*."""
    for v in range(rates.shape[1]):
        start += rates[i, v] * at[v]
    return start


@part
def omega_of(form: Form, at: Numbers) -> Three:
    """Return the turn that *at*, (n + axes,), has."""
    omega = (0.0, 0.0, 0.0)
    for a in range(form.axes.shape[0]):
        along = at[form.low.shape[0] + a]
        omega = (
            along if form.axes[a] == 0 else omega[0],
            along if form.axes[a] == 1 else omega[1],
            along if form.axes[a] == 2 else omega[2],
        )
    return omega


@part
def set_omega(form: Form, at: Numbers, omega: Numbers) -> None:
    """Set *omega*, (3,), to the turn that *at*, (n + axes,), has."""
    omega[0], omega[1], omega[2] = omega_of(form, at)


@part
def rest_most(f: Three, low: Three, high: Three, sign: float, view: View) -> float:
    """Return an upper limit of sign · rest over the cell and all low ≤ q ≤ high.

    rest is what (Q(ω)·f)·q has besides f·q + ω·(f × q). By Rodrigues' formula, with r = ω/2, it is
    −|r|²/(1+|r|²) · ω·(f × q) + ½/(1+|r|²) · M, M = (ω·f)(ω·q) − (f·q)|ω|². M is a quadratic form in ω; it is
    bounded by its largest eigenvalue, (|f||q| ∓ f·q)/2, and by its terms one by one.
    """
    dot, square = 0.0, 0.0
    for i in range(3):
        square += max(abs(low[i]), abs(high[i])) ** 2
        dot += min(sign * f[i] * low[i], sign * f[i] * high[i])
    length = np.sqrt((f[0] ** 2 + f[1] ** 2 + f[2] ** 2) * square)
    whole, terms, third = view.square[0] * max(0.0, 0.5 * (length - dot)), 0.0, 0.0
    for i in range(3):
        j, k = (i + 1) % 3, (i + 2) % 3
        reach = max(-view.low[i], view.high[i])
        aside = max(-sign * f[j] * low[j], -sign * f[j] * high[j])
        aside += max(-sign * f[k] * low[k], -sign * f[k] * high[k])
        terms += max(0.0, aside) * reach * reach
        across = max(abs(low[j]), abs(high[j])) * abs(f[k]) + max(abs(low[k]), abs(high[k])) * abs(f[j])
        terms += across * max(-view.low[j], view.high[j]) * max(-view.low[k], view.high[k])
        third += across * reach
    quarter = 0.25 * view.square[0]
    return float(0.5 * min(whole, terms) + third * quarter / (1.0 + quarter))


@part
def add_leaning(
    form: Form, view: View, f: Three, rates: Numbers, start: Three, sense: float, low: Numbers, high: Numbers,
    at: Numbers, row: Numbers,
) -> float:  # fmt: skip
    """Add to *row* what is at most sense · (R f) · z, z = rates · u + start, (3,); return what the limit gains.

    f: of the thing's own axes; rates (3, n). at: where its products are best held.
    """
    n, limit, omega = form.low.shape[0], 0.0, omega_of(form, at)
    least, most = (0.0, 0.0, 0.0), (0.0, 0.0, 0.0)
    for i in range(3):
        r = (view.frame[i, 0], view.frame[i, 1], view.frame[i, 2])  # the world's axis i as the cell's middle has it
        along = sense * (r[0] * f[0] + r[1] * f[1] + r[2] * f[2])
        for v in range(n):
            row[v] += along * rates[i, v]
        limit -= along * start[i]
        span = term_span(rates, i, start[i], low, high)
        least = (
            least[0] + min(r[0] * span[0], r[0] * span[1]),
            least[1] + min(r[1] * span[0], r[1] * span[1]),
            least[2] + min(r[2] * span[0], r[2] * span[1]),
        )
        most = (
            most[0] + max(r[0] * span[0], r[0] * span[1]),
            most[1] + max(r[1] * span[0], r[1] * span[1]),
            most[2] + max(r[2] * span[0], r[2] * span[1]),
        )
        pull = (
            sense * (f[1] * r[2] - f[2] * r[1]),
            sense * (f[2] * r[0] - f[0] * r[2]),
            sense * (f[0] * r[1] - f[1] * r[0]),
        )
        turns, w = turn_span(pull, view), pull[0] * omega[0] + pull[1] * omega[1] + pull[2] * omega[2]
        upper = holds_above(term_at(rates, i, start[i], at), span, w, turns)
        limit += add_product(rates, i, start[i], span, pull, turns, upper, n, form.axes, row)
    return float(limit + rest_most(f, least, most, -sense, view))


@part
def add_turned(
    form: Form, view: View, normal: Numbers, rates: Numbers, start: Numbers, pieces: int, low: Numbers, high: Numbers,
    row: Numbers,
) -> float:  # fmt: skip
    """Add to *row* what is at most normal · R x, x = rates · u + start, (3,); return what the limit gains.

    normal: of the world's axes. pieces: a bit for each coordinate, which of McCormick's two planes holds its product.
    """
    n, limit, m = form.low.shape[0], 0.0, seen_from(view, normal)
    x = term_span(rates, 0, start[0], low, high)
    y = term_span(rates, 1, start[1], low, high)
    z = term_span(rates, 2, start[2], low, high)
    for i in range(3):
        span = x if i == 0 else (y if i == 1 else z)
        for v in range(n):
            row[v] += m[i] * rates[i, v]
        limit -= m[i] * start[i]
        if form.axes.shape[0] > 0:
            pull, upper = pull_of(m, i), (pieces >> i & 1) == 1
            limit += add_product(
                rates, i, start[i], span, pull, turn_span(pull, view), upper, n, form.axes, row
            )  # fmt: skip
    return float(limit + rest_most(m, (x[0], y[0], z[0]), (x[1], y[1], z[1]), -1.0, view))


@part
def seen_from(view: View, normal: Numbers) -> Three:
    """Return a direction in the axes of the cell's middle."""
    r, x, y, z = view.frame, normal[0], normal[1], normal[2]
    return (
        r[0, 0] * x + r[1, 0] * y + r[2, 0] * z,
        r[0, 1] * x + r[1, 1] * y + r[2, 1] * z,
        r[0, 2] * x + r[1, 2] * y + r[2, 2] * z,
    )


@part
def pull_of(m: Three, i: int) -> Three:
    """Return e_i × m: (Q(ω)·x)·m is x·m + Σ x_i (e_i × m)·ω to first order."""
    if i == 0:
        return 0.0, -m[2], m[1]
    if i == 1:
        return m[2], 0.0, -m[0]
    return -m[1], m[0], 0.0


@part
def best_pieces(
    form: Form, view: View, normal: Numbers, rates: Numbers, start: Numbers, low: Numbers, high: Numbers, at: Numbers
) -> int:  # fmt: skip
    """Return which of McCormick's planes hold best at *at*, (n + axes,), in `add_turned`."""
    m, omega, pieces = seen_from(view, normal), omega_of(form, at), 0
    for i in range(3):
        pull = pull_of(m, i)
        x, span = term_at(rates, i, start[i], at), term_span(rates, i, start[i], low, high)
        w = pull[0] * omega[0] + pull[1] * omega[1] + pull[2] * omega[2]
        if holds_above(x, span, w, turn_span(pull, view)):
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
    row[:] = 0.0
    for v in range(form.low.shape[0]):
        row[v] = sense * form.face_rows[face, v]
    s, f = form.shift_start, (form.normals[face, 0], form.normals[face, 1], form.normals[face, 2])
    start, limit = (s[0] - point[0], s[1] - point[1], s[2] - point[2]), -sense * form.face_start[face]
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


@part
def parting_row(
    form: Form, view: View, point: Numbers, kind: int, edge: Numbers, corner: int, sense: float, low: Numbers,
    high: Numbers, at: Numbers, row: Numbers,
) -> float:  # fmt: skip
    """Set *row* to: *corner* keeps to a plane that parts (sense 1), or reaches over it (−1); return its limit.

    The plane goes through *point*. Its normal is *edge* (kind 3), or e × edge, e the thing's own axis *kind*, turned:
    sense · (R e × edge) · (shift + R x − point) ≤ 0, and of that (R e × edge) · R x = edge · R (x × e). at: as above.
    """
    n, normal = form.low.shape[0], np.empty(3)
    for i in range(3):
        normal[i] = sense * edge[i]
    x, x0 = form.corner_rows[corner], form.corner_start[corner]
    if kind == 3:
        limit = normal[0] * point[0] + normal[1] * point[1] + normal[2] * point[2]
        pieces = best_pieces(form, view, normal, x, x0, low, high, at)
        return wall_row(form, view, normal, limit, corner, pieces, low, high, row)
    row[:] = 0.0
    b, c = (kind + 1) % 3, (kind + 2) % 3
    y, y0, z, moved = np.zeros((3, n)), np.zeros(3), np.empty((3, n)), np.empty(3)
    for v in range(n):
        y[b, v], y[c, v] = x[c, v], -x[b, v]
    y0[b], y0[c] = x0[c], -x0[b]
    for i in range(3):
        moved[i] = form.shift_start[i] - point[i]
    for i in range(3):
        j, k = (i + 1) % 3, (i + 2) % 3
        for v in range(n):
            z[i, v] = edge[j] * form.shift_rows[k, v] - edge[k] * form.shift_rows[j, v]
    start = (
        edge[1] * moved[2] - edge[2] * moved[1],
        edge[2] * moved[0] - edge[0] * moved[2],
        edge[0] * moved[1] - edge[1] * moved[0],
    )
    e = (1.0 if kind == 0 else 0.0, 1.0 if kind == 1 else 0.0, 1.0 if kind == 2 else 0.0)
    pieces = best_pieces(form, view, normal, y, y0, low, high, at)
    limit = add_turned(form, view, normal, y, y0, pieces, low, high, row)
    return float(limit + add_leaning(form, view, e, z, start, sense, low, high, at, row) + 3 * MARGIN)


@part
def ball_row(form: Form, normal: Numbers, limit: float, row: Numbers) -> float:
    """Set *row* to: the ball within the thing, that no turn moves, keeps to normal · p ≤ limit; return its limit."""
    row[:] = 0.0
    for v in range(form.low.shape[0]):
        row[v] = form.ball[1] * form.gain[v]
        for i in range(3):
            row[v] += normal[i] * form.shift_rows[i, v]
    for i in range(3):
        limit -= normal[i] * form.shift_start[i]
    return float(limit - form.ball[0] + 2 * MARGIN)
