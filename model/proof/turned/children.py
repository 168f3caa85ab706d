"""The branches that take each way past what a branch would swallow, bounded all at once."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from tapeloft.model.proof.compiled import compiled, part
from tapeloft.model.proof.program import Numbers
from tapeloft.model.proof.turned.cells import View
from tapeloft.model.proof.turned.form import Form
from tapeloft.model.proof.turned.relaxed import AROUND, KEPT, Cuts, Solution, bounded, set_cuts, set_sides_held
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
    way_rows, way_limits = _way_rows(form, view, low, high, solution.at, ways)
    out.order[:] = np.argsort(_losses(solution.at, ways, way_rows, way_limits) if whole else losses, kind="mergesort")
    own, own_rows, own_limits = no_cuts(most), np.empty((most + AROUND, size)), np.empty(most + AROUND)
    _copy_cuts(own, 0, cuts, 0, old)
    side_rows, side_limits = np.empty((AROUND, size)), np.empty(AROUND)
    set_sides_held(form, planes, view, low, high, solution.at, side_rows, side_limits)
    before, apart, apart_rows, apart_limits = 0, no_cuts(APART), np.empty((APART, size)), np.empty(APART)
    for k in range(many):
        way = out.order[k]
        out.low[k], out.high[k] = low, high
        child = _child(solution, old, old + NEW, out, k)
        if ways.counts[way] == 0:
            out.bounds[k] = enough
            continue
        first, last = way * PER, way * PER + ways.counts[way]
        taken, count = old + last - first, old + last - first + before
        _copy_cuts(own, old, ways.cuts, first, last)
        _copy_cuts(own, taken, apart, 0, before)
        own_rows[:old], own_limits[:old] = rows, limits
        own_rows[old:taken], own_limits[old:taken] = way_rows[first:last], way_limits[first:last]
        own_rows[taken:count], own_limits[taken:count] = apart_rows[:before], apart_limits[:before]
        own_rows[count : count + AROUND], own_limits[count : count + AROUND] = side_rows, side_limits
        solution_k = Solution(child.at, child.walls, child.weights[: KEPT + count], child.sides)
        value = bounded(
            form, planes, view, _some(own, slice(0, count)), own_rows, own_limits, False, old, reach, enough, near,
            narrow, out.low[k], out.high[k], solution_k,
        )  # fmt: skip
        out.bounds[k], out.counts[k] = min(bound, value), count - old
        _copy_cuts(out.cuts, k * NEW, own, old, count)
        out.rows[k, : count - old], out.limits[k, : count - old] = own_rows[old:count], own_limits[old:count]
        if ways.apart[way] and before < APART and (out.bounds[k] > enough or not whole):
            copy_cut(apart, before, ways.others, way)
            of = slice(before, before + 1)
            set_cuts(form, view, _some(apart, of), low, high, solution.at, apart_rows[of], apart_limits[of])
            before += 1
    return out


@part
def _way_rows(
    form: Form, view: View, low: Numbers, high: Numbers, at: Numbers, ways: Ways
) -> tuple[Numbers, Numbers]:  # fmt: skip
    """Return the rows, (W · PER, N), and limits, (W · PER,), of the cuts of all ways."""
    rows, limits = np.empty((ways.cuts.faces.shape[0], at.shape[0])), np.empty(ways.cuts.faces.shape[0])
    for way in range(ways.counts.shape[0]):
        of = slice(way * PER, way * PER + ways.counts[way])
        set_cuts(form, view, _some(ways.cuts, of), low, high, at, rows[of], limits[of])
    return rows, limits


@part
def _copy_cuts(into: Cuts, k: int, cuts: Cuts, first: int, last: int) -> None:
    for j in range(first, last):
        copy_cut(into, k + j - first, cuts, j)


@part
def _some(cuts: Cuts, of: slice) -> Cuts:
    return Cuts(cuts.points[of], cuts.faces[of], cuts.senses[of], cuts.kinds[of], cuts.edges[of])


@part
def _losses(at: Numbers, ways: Ways, rows: Numbers, limits: Numbers) -> Numbers:
    """Return how far the thing at *at* would have to give for each way, (W,), given the rows of its cuts."""
    losses = np.zeros(ways.counts.shape[0])
    for w in range(losses.shape[0]):
        losses[w] = -1e300 if ways.counts[w] else 1e300
        for c in range(w * PER, w * PER + ways.counts[w]):
            over = -limits[c]
            for v in range(at.shape[0]):
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
