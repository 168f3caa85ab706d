"""The branches that take each way past what a branch would swallow, bounded all at once."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from tapeloft.model.proof.compiled import compiled, part
from tapeloft.model.proof.program import Numbers
from tapeloft.model.proof.turned.cells import View
from tapeloft.model.proof.turned.form import Form
from tapeloft.model.proof.turned.relaxed import AROUND, KEPT, Cuts, Solution, bounded, set_cuts
from tapeloft.model.proof.turned.rows import Planes
from tapeloft.model.proof.turned.ways import PER, Ways, copy_cut, no_cuts, past_point, past_triangle

Indices = NDArray[np.int64]
APART = 12  # open ways before it that a branch is kept apart from
NEW = PER + APART  # cuts at most that a child has and its parent has not


class Children(NamedTuple):
    """What each child has that its parent has not: the cuts of its way, and of ways before it that it does not take."""

    order: Indices  # (W,) in which the ways were taken
    bounds: Numbers  # (W,)
    counts: Indices  # (W,) of new cuts
    cuts: Cuts  # (W · NEW,)
    rows: Numbers  # (W, NEW, N)
    limits: Numbers  # (W, NEW)
    low: Numbers  # (W, n)
    high: Numbers  # (W, n)
    at: Numbers  # (W, N)
    walls: Indices  # (W, KEPT, 3)
    weights: Numbers  # (W, KEPT + old + NEW)
    sides: Numbers  # (W, L)


@compiled
def past_it(
    form: Form, planes: Planes, view: View, cuts: Cuts, rows: Numbers, limits: Numbers, reach: Numbers,
    enough: float, near: float, narrow: float, low: Numbers, high: Numbers, solution: Solution, bound: float,
    point: Numbers, losses: Numbers, triangle: Numbers, whole: bool,
) -> Children:  # fmt: skip
    """Return the children of a branch past a triangle, (3, 3), as a *whole*, for a box; or past a point.

    losses (F,): what each face would have to give to lie beyond the point; the cheapest way is taken first.
    """
    ways = past_triangle(form, view, triangle, solution.at) if whole else past_point(form, point)
    many, old, n, size = ways.counts.shape[0], cuts.faces.shape[0], form.low.shape[0], solution.at.shape[0]
    out, most = _room(many, old, n, size, solution.sides.shape[0]), old + NEW
    out.order[:] = np.argsort(
        _losses(form, view, low, high, solution.at, ways) if whole else losses, kind="mergesort"
    )  # fmt: skip
    own, own_rows, own_limits = no_cuts(most), np.empty((most + AROUND, size)), np.empty(most + AROUND)
    for j in range(old):
        copy_cut(own, j, cuts, j)
    before, apart = 0, np.empty(APART, np.int64)
    for k in range(many):
        way, count = out.order[k], old
        own_rows[:old], own_limits[:old] = rows, limits
        out.low[k], out.high[k] = low, high
        child = _child(solution, old, old + NEW, out, k)
        if ways.counts[way] == 0:
            out.bounds[k] = enough
            continue
        for c in range(ways.counts[way]):
            copy_cut(own, count, ways.cuts, way * PER + c)
            count += 1
        for b in range(before):
            copy_cut(own, count, ways.others, apart[b])
            count += 1
        taken = Cuts(
            own.points[:count], own.faces[:count], own.senses[:count], own.kinds[:count], own.edges[:count]
        )  # fmt: skip
        solution_k = Solution(child.at, child.walls, child.weights[: KEPT + count], child.sides)
        value = bounded(
            form, planes, view, taken, own_rows, own_limits, old, old, reach, enough, near, narrow,
            out.low[k], out.high[k], solution_k,
        )  # fmt: skip
        out.bounds[k], out.counts[k] = min(bound, value), count - old
        for c in range(count - old):
            copy_cut(out.cuts, k * NEW + c, own, old + c)
        out.rows[k, : count - old], out.limits[k, : count - old] = own_rows[old:count], own_limits[old:count]
        if ways.apart[way] and before < APART and (out.bounds[k] > enough or not whole):
            apart[before] = way
            before += 1
    return out


@part
def _losses(form: Form, view: View, low: Numbers, high: Numbers, at: Numbers, ways: Ways) -> Numbers:
    """Return how far the thing at *at* would have to give for each way, (W,)."""
    many, size = ways.counts.shape[0], at.shape[0]
    rows, limits, losses = np.empty((PER, size)), np.empty(PER), np.zeros(many)
    for w in range(many):
        first, count = w * PER, ways.counts[w]
        last, cuts = first + count, ways.cuts
        some = Cuts(
            cuts.points[first:last], cuts.faces[first:last], cuts.senses[first:last], cuts.kinds[first:last],
            cuts.edges[first:last],
        )  # fmt: skip
        set_cuts(form, view, some, 0, low, high, at, rows, limits)
        losses[w] = -1e300 if count else 1e300
        for c in range(count):
            over = -limits[c]
            for v in range(size):
                over += rows[c, v] * at[v]
            losses[w] = max(losses[w], over)
    return losses


@part
def _room(many: int, old: int, n: int, size: int, sides: int) -> Children:
    return Children(
        np.zeros(many, np.int64), np.empty(many), np.zeros(many, np.int64), no_cuts(many * NEW),
        np.empty((many, NEW, size)), np.empty((many, NEW)), np.empty((many, n)), np.empty((many, n)),
        np.empty((many, size)), np.empty((many, KEPT, 3), np.int64), np.zeros((many, KEPT + old + NEW)),
        np.empty((many, sides)),
    )  # fmt: skip


@part
def _child(solution: Solution, old: int, count: int, out: Children, k: int) -> Solution:
    """Return the place of child *k*'s solution, set to its parent's."""
    out.at[k], out.walls[k], out.sides[k] = solution.at, solution.walls, solution.sides
    out.weights[k, : KEPT + old] = solution.weights[: KEPT + old]
    return Solution(out.at[k], out.walls[k], out.weights[k, : KEPT + count], out.sides[k])
