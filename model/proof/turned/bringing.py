"""The rows of a branch's program: cuts and walls brought in, those first that are broken most."""

import numpy as np
from numpy.typing import NDArray

from tapeloft.model.proof.compiled import part
from tapeloft.model.proof.program import Numbers
from tapeloft.model.proof.turned.cells import View, set_turned
from tapeloft.model.proof.turned.form import Form, set_places, set_shift
from tapeloft.model.proof.turned.rows import Planes, ball_row, best_pieces, set_omega, wall_row

Indices = NDArray[np.int64]
MOST = 160  # rows in one program
FEW = 8  # cuts brought in at once
BROKEN = 1e-7  # unit frame: a wall passed by less is brought in no more


@part
def with_cut(
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
def with_wall(
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
def set_again(
    form: Form, planes: Planes, view: View, low: Numbers, high: Numbers, cut_rows: Numbers, cut_limits: Numbers,
    used: Indices, total: int, rows: Numbers, limits: Numbers,
) -> None:  # fmt: skip
    """Set the rows in use to what they are within new bounds."""
    for r in range(total):
        if used[r, 0] < 0:
            with_cut(used[r, 1], r, cut_rows, cut_limits, used, rows, limits)
        else:
            with_wall(form, planes, view, low, high, used[r, 0], used[r, 1], used[r, 2], r, used, rows, limits)


@part
def with_broken(
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
            total = with_cut(worst[k], total, cut_rows, cut_limits, used, rows, limits)
    return total


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
        more = with_wall(form, planes, view, low, high, plane[k], corner[k], pieces, total, used, rows, limits)
        over = -limits[total] if more > total else 0.0
        for v in range(rows.shape[1]):
            over += rows[total, v] * at[v] if more > total else 0.0
        if over > BROKEN:
            total = more
    return total
