"""Half-spaces that hold for every turn of a cell, and what weights on them prove.

A turn of a cell is R = frame · Q(ω), ω = 2·(Rodrigues vector). With r = ω/2, (Q f)·q = f·q + ω·(f × q) + rest,
rest = −|r|²/(1 + |r|²) ω·(f × q) + ½/(1 + |r|²) ((ω·f)(ω·q) − (f·q)|ω|²): Rodrigues' formula. Products of ω with what
is free are held by McCormick's planes (Math. Programming 10, 1976). All lengths are shares of the diagonal.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Numbers = NDArray[np.float64]
Indices = NDArray[np.int64]
TOUCH = 1e-10  # how far inside a witness point may lie for rounding; rows give way by twice as much
ROUND = 1e-11  # for rounding: on the limit of each row, on each bound


class Sought(NamedTuple):
    """A convex thing with n free terms u: its faces, corners and how it is moved, and what it is worth."""

    normals: Numbers  # (F, 3)
    face_rows: Numbers  # (F, n)
    face_start: Numbers  # (F,)
    corner_rows: Numbers  # (K, 3, n)
    corner_start: Numbers  # (K, 3)
    shift_rows: Numbers  # (3, n)
    shift_start: Numbers  # (3,)
    log_rows: Numbers  # (L, n) worth Σ log(log_rows · u + log_start) + gain · u
    log_start: Numbers  # (L,)
    gain: Numbers  # (n,)
    low: Numbers  # (n,)
    high: Numbers  # (n,)
    ball: tuple[float, float] | None  # start and rate, by gain · u, of the radius of one about its origin in it
    core: bool  # it is in the thing that was asked about however that is turned


class View(NamedTuple):
    """A cell of turns from its middle: frame · Q(ω), low ≤ ω ≤ high, ω · ω ≤ square."""

    frame: Numbers
    low: Numbers
    high: Numbers
    square: float


class Cuts(NamedTuple):
    """Witness points that lie beyond a face (sense 1), or are covered by it (−1)."""

    points: Numbers  # (c, 3)
    faces: Indices  # (c,)
    senses: Numbers  # (c,)


def rotation(g: Numbers) -> Numbers:
    """Return the turn of a Rodrigues vector.

    >>> rotation(np.array([0, 0, 1.0])).round(12).tolist()
    [[0.0, -1.0, 0.0], [1.0, 0.0, 0.0], [0.0, 0.0, 1.0]]
    """
    cross = np.array([[0, -g[2], g[1]], [g[2], 0, -g[0]], [-g[1], g[0], 0]])
    turn: Numbers = ((1 - g @ g) * np.eye(3) + 2 * np.outer(g, g) + 2 * cross) / (1 + g @ g)
    return turn


def seen(base: Numbers, low: Numbers, high: Numbers) -> View:
    """Return the cell of base · rotation(g), low ≤ g ≤ high, from its middle."""
    middle = (low + high) / 2
    corners = np.array([[(low, high)[k >> i & 1][i] for i in range(3)] for k in range(8)])
    omega = 2 * (corners - middle - np.cross(middle, corners)) / (1 + corners @ middle)[:, None]
    square = float((omega**2).sum(axis=1).max()) + ROUND**2
    pad = 1e-14
    return View(base @ rotation(middle), omega.min(axis=0) - pad, omega.max(axis=0) + pad, square)


def spans(rates: Numbers, start: Numbers, low: Numbers, high: Numbers) -> tuple[Numbers, Numbers]:
    """Return the least and the most of rates · v + start, rates (…, n), for low ≤ v ≤ high."""
    ends = np.stack([rates * low, rates * high])
    return start + ends.min(axis=0).sum(axis=-1), start + ends.max(axis=0).sum(axis=-1)


def under(
    f: Numbers, basis: Numbers, rates: Numbers, start: Numbers, sign: Numbers, spin: float, pieces: Indices | Numbers,
    low: Numbers, high: Numbers, view: View,
) -> tuple[Numbers, Numbers]:  # fmt: skip
    """Return planes, (c, n + 3) and what their limits gain, (c,), that are at most sign · (Q(spin·ω) f) · q.

    f (c, 3); q = Σ z_i basis_i, z = rates · u + start, (c, 3, n) and (c, 3). pieces: a bit for each i, which of
    McCormick's planes is taken; or (n + 3,), a place at which the better ones are.
    """
    n = rates.shape[-1]
    least, most = spans(rates, start, low, high)
    pull = spin * sign[:, None, None] * np.cross(f[:, None, :], basis[None])
    w_least, w_most = spans(pull, np.zeros(1), view.low, view.high)
    if pieces.dtype.kind == "f":
        x, w = rates @ pieces[:n] + start, pull @ pieces[n:]
        upper = (most - x) * (w_most - w) < (x - least) * (w - w_least)
    else:
        upper = (pieces.astype(np.int64)[:, None] >> np.arange(3) & 1).astype(bool)
    edge, end = np.where(upper, most, least), np.where(upper, w_most, w_least)
    along = sign[:, None] * (f @ basis.T) + end
    rows = np.concatenate(
        [np.einsum("ci,cin->cn", along, rates), np.einsum("ci,cik->ck", edge, pull)], axis=1
    )  # fmt: skip
    ends = np.stack([least[:, :, None] * basis, most[:, :, None] * basis])
    q = ends.min(axis=0).sum(axis=1), ends.max(axis=0).sum(axis=1)
    limits = (edge * end - along * start).sum(axis=1) + _rest(f, q, -sign[:, None], view)
    return rows, limits


def _rest(f: Numbers, q: tuple[Numbers, Numbers], sign: Numbers, view: View) -> Numbers:
    """Return the most of sign · rest over a cell, for q in a box: by the largest eigenvalue, or term by term."""
    reach = np.maximum(-view.low, view.high)
    size = np.maximum(abs(q[0]), abs(q[1]))
    products = np.minimum(sign * f * q[0], sign * f * q[1])
    lengths = np.linalg.norm(f, axis=1) * np.linalg.norm(size, axis=1)
    whole = view.square * np.maximum(0, (lengths - products.sum(axis=1)) / 2)
    aside = np.roll(-products, -1, axis=1) + np.roll(-products, -2, axis=1)
    j, k = [1, 2, 0], [2, 0, 1]
    across = size[:, j] * abs(f[:, k]) + size[:, k] * abs(f[:, j])
    terms = np.maximum(0, aside) @ reach**2 + across @ (reach[j] * reach[k])
    rest: Numbers = np.minimum(whole, terms) / 2 + (across @ reach) * (view.square / 4) / (1 + view.square / 4)
    return rest


def cut_rows(
    sought: Sought, view: View, cuts: Cuts, pieces: Indices | Numbers, low: Numbers, high: Numbers
) -> tuple[Numbers, Numbers]:
    """Return rows · (u, ω) ≤ limits that say how witness points lie to faces: offset + (R f) · (shift − point) ≤ 0."""
    f, sign = sought.normals[cuts.faces], cuts.senses
    rates = np.broadcast_to(sought.shift_rows, (len(f), *sought.shift_rows.shape))
    rows, limits = under(
        f, view.frame, rates, sought.shift_start - cuts.points, sign, 1.0, pieces, low, high, view
    )  # fmt: skip
    rows[:, : len(low)] += sign[:, None] * sought.face_rows[cuts.faces]
    return rows, limits - sign * sought.face_start[cuts.faces] + 2 * TOUCH


def wall_rows(
    sought: Sought, view: View, normals: Numbers, limits: Numbers, corners: Indices, pieces: Indices | Numbers,
    low: Numbers, high: Numbers,
) -> tuple[Numbers, Numbers]:  # fmt: skip
    """Return rows · (u, ω) ≤ limits that say that corners keep to planes: normal · (shift + R corner) ≤ limit.

    The corner after the last is the ball within the thing.
    """
    is_ball = corners == len(sought.corner_start)
    which = np.where(is_ball, 0, corners)
    rows, gains = under(
        normals @ view.frame, np.eye(3), sought.corner_rows[which], sought.corner_start[which],
        np.ones(len(normals)), -1.0, pieces, low, high, view,
    )  # fmt: skip
    rows[:, : len(low)] += normals @ sought.shift_rows
    planes, limits = limits, limits + gains - normals @ sought.shift_start + ROUND
    if is_ball.any():
        own, limits[is_ball] = ball_rows(sought, normals[is_ball], planes[is_ball])
        rows[is_ball] = np.pad(own, ((0, 0), (0, 3)))
    return rows, limits


def ball_rows(sought: Sought, normals: Numbers, limits: Numbers) -> tuple[Numbers, Numbers]:
    """Return rows of u that say that the ball within the thing keeps to planes, whatever its turn; none without one."""
    if sought.ball is None:
        return np.empty((0, len(sought.low))), np.empty(0)
    start, rate = sought.ball
    return normals @ sought.shift_rows + rate * sought.gain, limits - normals @ sought.shift_start - start + ROUND


def value(
    sought: Sought, rows: Numbers, limits: Numbers, weights: Numbers, sides: Numbers, low: Numbers, high: Numbers
) -> float:
    """Return what nothing within rows and bounds, (n + 3,), is worth more than: Lagrange's dual value.

    It holds for all weights ≥ 0, and sides > 0 at which the logarithms are put under their tangents.
    """
    pull = np.append(sought.gain + (sought.log_rows / sides[:, None]).sum(axis=0), np.zeros(3)) - weights @ rows
    total = (np.log(sides) - 1 + sought.log_start / sides).sum() + weights @ limits
    margin = ROUND * (10 + weights.sum() + (1 / sides).sum())
    return float(total + np.maximum(pull * low, pull * high).sum() + margin)


def drawn_in(
    sought: Sought, fixed: tuple[Numbers, Numbers], rows: tuple[Numbers, Numbers], view: View, enough: float,
    low: Numbers, high: Numbers, sweeps: int,
) -> tuple[Numbers, Numbers] | None:  # fmt: skip
    """Return the bounds of u drawn in by rows and by what is worth more than *enough*; None if nothing is left."""
    n = len(low)
    least, _ = spans(rows[0][:, n:], np.zeros(1), view.low, view.high)
    a, b = np.vstack([fixed[0], rows[0][:, :n]]), np.concatenate([fixed[1], rows[1] - least])
    for _ in range(sweeps):
        wanted = _enough(sought, enough, low, high)
        if wanted is None:
            return None
        every, limits = np.vstack([a, wanted[0]]), np.concatenate([b, wanted[1]])
        spare = limits - spans(every, np.zeros(1), low, high)[0]
        if (spare < -ROUND).any() or (low > high + ROUND).any():
            return None
        with np.errstate(divide="ignore", invalid="ignore"):
            step = spare[:, None] / every
        new_high = np.where(every > 1e-9, low + step + ROUND, np.inf).min(axis=0)
        new_low = np.where(every < -1e-9, high + step - ROUND, -np.inf).max(axis=0)
        new_high, new_low = np.minimum(high, new_high), np.maximum(low, new_low)
        moved = max(float((high - new_high).max()), float((new_low - low).max()))
        low, high = new_low, new_high
        if moved < 1e-3 * float((high - low).max()):
            break
    return np.minimum(low, high), np.maximum(low, high)


def _enough(sought: Sought, enough: float, low: Numbers, high: Numbers) -> tuple[Numbers, Numbers] | None:
    """Return rows that what is worth more than *enough* keeps to: of each side, given the most of the others."""
    if not len(sought.log_start):
        return -sought.gain[None], np.array([-enough])
    most = spans(sought.log_rows, sought.log_start, low, high)[1]
    if (most <= 0).any() or np.log(most).sum() <= enough:
        return None
    least = most * np.exp(enough - np.log(most).sum()) * (1 - ROUND)
    return -sought.log_rows, sought.log_start - least


def reach_rows(sought: Sought, view: View, vertices: Numbers) -> tuple[Numbers, Numbers]:
    """Return rows of u: along its own axes the thing is no longer than the solid, nor, unless it is moved, beyond it.

    A turn of a cell moves a direction by no more than 2 atan ½|ω|, and leaves one that it is about where it is.
    """
    q, angle = vertices @ view.frame, 2 * np.arctan(np.sqrt(view.square) / 2)
    about_z = bool((abs(view.low[:2]) < 1e-13).all() and (abs(view.high[:2]) < 1e-13).all())
    ends = []
    for i in range(3):
        size = np.linalg.norm(q[:, :2] if about_z and i < 2 else q, axis=1) + 1e-300
        turn = 0.0 if about_z and i == 2 else angle
        at = np.arccos(np.clip(q[:, i] / size, -1, 1))
        ends.append((
            (size * np.cos(np.minimum(np.pi, at + turn))).min() - ROUND,
            (size * np.cos(np.maximum(0, at - turn))).max() + ROUND,
        ))  # fmt: skip
    rows, start = sought.corner_rows, sought.corner_start
    out: list[tuple[Numbers, float]] = []
    for i, (least, most) in enumerate(ends):
        a, b = int(start[:, i].argmin()), int(start[:, i].argmax())
        out.append((rows[b, i] - rows[a, i], most - least - start[b, i] + start[a, i]))
        if not sought.shift_rows.any() and not sought.shift_start.any():
            for k in range(len(start)):
                out += [(rows[k, i], most - start[k, i]), (-rows[k, i], start[k, i] - least)]
    return np.array([row for row, _ in out]), np.array([limit for _, limit in out])
