"""What is sought: a convex thing that depends linearly on what is free.

u is what is free besides the turn: where the thing is, and its sides or how much larger it might be. In its own axes
face j lies at face_rows[j]·u + face_start[j] along normals[j], corner k at corner_rows[k]·u + corner_start[k]; turned
by R it is moved by shift_rows·u + shift_start. Sought is the most of Σ log(log_rows·u + log_start) + gain·u.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from tapeloft.model.proof.compiled import part
from tapeloft.model.proof.program import Numbers, Wish

Indices = NDArray[np.int64]


class Form(NamedTuple):
    """A thing sought, in the unit frame; n free terms besides the turn."""

    normals: Numbers  # (F, 3)
    face_rows: Numbers  # (F, n)
    face_start: Numbers  # (F,)
    corner_rows: Numbers  # (K, 3, n)
    corner_start: Numbers  # (K, 3)
    ends: Indices  # (3, 2) corners lowest and highest along each of its axes
    shift_rows: Numbers  # (3, n)
    shift_start: Numbers  # (3,)
    log_rows: Numbers  # (L, n)
    log_start: Numbers  # (L,)
    gain: Numbers  # (n,)
    low: Numbers  # (n,)
    high: Numbers  # (n,)
    ball: Numbers  # (2,) radius of a ball about its origin that it holds, whatever its turn: start + rate · gain·u
    axes: Indices  # which of the three components of ω are free


NONE = -10.0  # radius of a ball that is none: it is beyond no plane
FACES = np.vstack([-np.eye(3), np.eye(3)])
CORNERS = np.array([[(k >> i & 1) * 3 + i for i in range(3)] for k in range(8)])


def box_form(wish: Wish, axes: Indices) -> Form:
    """Return the Form of the largest box of a *wish*: its own u, where its faces lie along its own, turning axes."""
    sign = np.array([-1.0] * 3 + [1.0] * 3)
    free = np.isnan(wish.size)
    sides, start = wish.turn[3:] - wish.turn[:3], wish.start[3:] - wish.start[:3] - wish.grown
    n = wish.turn.shape[1]
    return Form(
        FACES.copy(), sign[:, None] * wish.turn, sign * wish.start,
        np.ascontiguousarray(wish.turn[CORNERS]), np.ascontiguousarray(wish.start[CORNERS]),
        np.ascontiguousarray(CORNERS[[0, 7]].T // 3 * 7), np.zeros((3, n)), np.zeros(3),
        np.ascontiguousarray(sides[free]), np.ascontiguousarray(start[free]),
        np.zeros(n), np.full(n, -1.0), np.full(n, 1.0), np.array([NONE, 0.0]), axes,
    )  # fmt: skip


def _columns(free: NDArray[np.bool_]) -> Numbers:
    """Return the unit columns, (3, k), of the axes that are free."""
    columns: Numbers = np.eye(3)[:, free]
    return columns


def _ends(corners: Numbers) -> Indices:
    return np.ascontiguousarray(np.stack([corners.argmin(axis=0), corners.argmax(axis=0)], axis=1))


def thing_form(
    normals: Numbers, offsets: Numbers, corners: Numbers, face_gain: Numbers, corner_gain: Numbers,
    least: float, most: float, level: float, axes: Indices,
) -> Form:  # fmt: skip
    """Return the Form of a convex thing, {y: normals · y ≤ offsets} with *corners* (K, 3), sought as large as can be.

    face_gain (F,), corner_gain (K, 3): how its faces and corners move for each unit m that it grows, least ≤ m ≤ most.
    level: the height of its own origin, NaN where it is free. u is where its origin is, as far as that is free, and m.
    """
    moved = _columns(np.isnan(np.array([np.nan, np.nan, level])))
    n = moved.shape[1] + 1
    none = np.zeros((3, 1))
    corner_rows = np.zeros((len(corners), 3, n))
    corner_rows[:, :, -1] = corner_gain
    face_rows = np.zeros((len(normals), n))
    face_rows[:, -1] = face_gain
    low, high = np.full(n, -1.0), np.full(n, 1.0)
    low[-1], high[-1] = least, most
    return Form(
        np.ascontiguousarray(normals), face_rows, np.ascontiguousarray(offsets),
        corner_rows, np.ascontiguousarray(corners), _ends(corners), np.ascontiguousarray(np.hstack([moved, none])),
        np.array([0.0, 0.0, np.nan_to_num(level)]),
        np.empty((0, n)), np.empty(0), np.eye(n)[-1], low, high, _ball(offsets, face_gain, least, most), axes,
    )  # fmt: skip


def _ball(offsets: Numbers, gain: Numbers, least: float, most: float) -> Numbers:
    """Return the radius of a ball about the origin that a growing thing holds: the chord under a concave least."""
    ends = [float((offsets + m * gain).min()) for m in (least, most)]
    if min(ends) < 0.0:
        return np.array([NONE, 0.0])
    rate = (ends[1] - ends[0]) / (most - least)
    return np.array([ends[0] - rate * least - 1e-14, rate])


@part
def set_shift(form: Form, at: Numbers, shift: Numbers) -> None:
    """Set *shift*, (3,), to how far the thing is moved at *at*, (≥ n,)."""
    for i in range(3):
        shift[i] = form.shift_start[i]
        for v in range(form.low.shape[0]):
            shift[i] += form.shift_rows[i, v] * at[v]


@part
def set_places(form: Form, turn: Numbers, at: Numbers, places: Numbers) -> None:
    """Set *places*, (K, 3), to the thing's corners, turned and moved."""
    shift, x = np.empty(3), np.empty(3)
    set_shift(form, at, shift)
    for k in range(places.shape[0]):
        for i in range(3):
            x[i] = form.corner_start[k, i]
            for v in range(form.low.shape[0]):
                x[i] += form.corner_rows[k, i, v] * at[v]
        for i in range(3):
            places[k, i] = shift[i] + turn[i, 0] * x[0] + turn[i, 1] * x[1] + turn[i, 2] * x[2]
