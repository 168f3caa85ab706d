"""The branches that take each way past a point that a branch would swallow, bounded all at once."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from tapeloft.model.proof.compiled import compiled, part
from tapeloft.model.proof.program import Numbers
from tapeloft.model.proof.turned.cells import View
from tapeloft.model.proof.turned.form import Form
from tapeloft.model.proof.turned.relaxed import AROUND, KEPT, Cuts, Solution, bounded
from tapeloft.model.proof.turned.rows import Planes

Indices = NDArray[np.int64]
APART = 6  # ways before it that a branch is kept apart from


class Children(NamedTuple):
    """What each child has that its parent has not: one goes beyond each face, and is covered at some taken before."""

    bounds: Numbers  # (F,)
    counts: Indices  # (F,) of new cuts
    faces: Indices  # (F, 1 + APART) of the new cuts; the first is the way taken
    rows: Numbers  # (F, 1 + APART, N)
    limits: Numbers  # (F, 1 + APART)
    low: Numbers  # (F, n)
    high: Numbers  # (F, n)
    at: Numbers  # (F, N)
    walls: Indices  # (F, KEPT, 3)
    weights: Numbers  # (F, KEPT + old + 1 + APART)
    sides: Numbers  # (F, L)


@compiled
def past_point(
    form: Form, planes: Planes, view: View, cuts: Cuts, rows: Numbers, limits: Numbers, reach: Numbers,
    enough: float, near: float, low: Numbers, high: Numbers, solution: Solution, bound: float,
    point: Numbers, order: Indices,
) -> Children:  # fmt: skip
    """Return the children of a branch past *point*, beyond each face in *order*, (F,)."""
    many, old, n, size = order.shape[0], cuts.faces.shape[0], form.low.shape[0], solution.at.shape[0]
    out, most = _room(many, old, n, size, solution.sides.shape[0]), old + 1 + APART
    own = Cuts(np.empty((most, 3)), np.empty(most, np.int64), np.empty(most))
    own_rows, own_limits = np.empty((most + AROUND, size)), np.empty(most + AROUND)
    own.points[:old], own.faces[:old], own.senses[:old] = cuts.points, cuts.faces, cuts.senses
    for k in range(many):
        own_rows[:old], own_limits[:old] = rows, limits
        new = min(k, APART) + 1
        for c in range(new):
            own.points[old + c], own.senses[old + c] = point, 1.0 if c == 0 else -1.0
            own.faces[old + c] = out.faces[k, c] = order[k] if c == 0 else order[c - 1]
        count = old + new
        taken = Cuts(own.points[:count], own.faces[:count], own.senses[:count])
        out.low[k], out.high[k] = low, high
        child = _child(solution, old, count, out, k)
        value = bounded(
            form, planes, view, taken, own_rows, own_limits, old, old, reach, enough, near,
            out.low[k], out.high[k], child,
        )  # fmt: skip
        out.bounds[k], out.counts[k] = min(bound, value), new
        out.rows[k, :new], out.limits[k, :new] = own_rows[old:count], own_limits[old:count]
    return out


@part
def _room(many: int, old: int, n: int, size: int, sides: int) -> Children:
    new = 1 + APART
    return Children(
        np.empty(many), np.zeros(many, np.int64), np.zeros((many, new), np.int64), np.empty((many, new, size)),
        np.empty((many, new)), np.empty((many, n)), np.empty((many, n)), np.empty((many, size)),
        np.empty((many, KEPT, 3), np.int64), np.zeros((many, KEPT + old + new)), np.empty((many, sides)),
    )  # fmt: skip


@part
def _child(solution: Solution, old: int, count: int, out: Children, k: int) -> Solution:
    """Return the place of child *k*'s solution, set to its parent's."""
    out.at[k], out.walls[k], out.sides[k] = solution.at, solution.walls, solution.sides
    out.weights[k, : KEPT + old] = solution.weights[: KEPT + old]
    return Solution(out.at[k], out.walls[k], out.weights[k, : KEPT + count], out.sides[k])
