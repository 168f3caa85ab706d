"""Best first over turns and ways: the branch with the highest limit is split until none can hold much more."""

import heapq
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import count

import numpy as np

from tapeloft.model.proof.program import NEVER, Numbers
from tapeloft.model.proof.search import Best, Going
from tapeloft.model.proof.turned.branching import Space, bound_of, obstacle, reach_of
from tapeloft.model.proof.turned.cells import Cell, View, halved, turned_by, view_of, within
from tapeloft.model.proof.turned.form import Form
from tapeloft.model.proof.turned.relaxed import KEPT, Cuts, Solution

NEAR = 0.03  # share of the tolerance to which a branch is solved
CROWDED = 90  # cuts above which those that only keep branches apart are let go
APART = 5  # ways before it that a branch is kept apart from
EAGER = 30  # branches that are each climbed from; later one in
SELDOM = 16

Climb = Callable[[Form, Numbers, Numbers, Cuts], None]  # told a form, a turn (3, 3), where it is in it, (≥ n,), its cuts


@dataclass(frozen=True, eq=False)
class Branch:
    """All that is sought of one form, in one cell of turns, that keeps to the cuts."""

    form: Form
    cell: Cell
    view: View
    reach: Numbers  # (6,)
    cuts: Cuts
    low: Numbers  # (n,)
    high: Numbers  # (n,)
    solution: Solution
    bound: float


NO_CUTS = Cuts(np.empty((0, 3)), np.empty(0, np.int64), np.empty(0))


def hunted(
    space: Space, sought: Sequence[tuple[Form, Cell]], ball: float, best: Best, tolerance: float, going: Going,
    climb: Climb, floor: float = NEVER,
) -> None:  # fmt: skip
    """Lower `best.limit` to an upper limit of all that is sought in a space, until it is within *tolerance* of the best.

    Or until it is at most *floor*, if that is more.
    *climb* is told where to look for better ones, and keeps them in *best*. ball: as in `cells.within`.
    Ends too when *going* says so, marked in *best*. `best.limit` holds at every moment.
    """
    serial, closed = count(), NEVER
    heap: list[tuple[float, int, Branch]] = []
    queue = [_whole(form, cell) for form, cell in sought]
    near = NEAR * tolerance
    for branch in queue:
        branch = _turned(branch, branch.cell, space, max(best.value + tolerance, floor), near)
        heapq.heappush(heap, (-branch.bound, next(serial), branch))
    while heap:
        best.limit = max(-heap[0][0], closed)
        enough = max(best.value + tolerance, floor)
        if best.limit <= enough:
            return
        if not going(best.value, best.limit):
            best.stopped = True
            return
        branch = heapq.heappop(heap)[2]
        best.nodes += 1
        if best.nodes < EAGER or best.nodes % SELDOM == 0:
            climb(branch.form, _turn(branch), branch.solution.at, branch.cuts)
        enough = max(best.value + tolerance, floor)
        children = _split(branch, space, ball, enough, near)
        if children is None:
            climb(branch.form, _turn(branch), branch.solution.at, branch.cuts)
            closed = max(closed, branch.bound)
            continue
        enough = max(best.value + tolerance, floor)
        for child in children:
            if child.bound > enough:
                heapq.heappush(heap, (-child.bound, next(serial), child))
            else:
                closed = max(closed, child.bound)
    best.limit = closed


def _whole(form: Form, cell: Cell) -> Branch:
    """Return the branch of all turns of a cell, not yet bounded."""
    n = len(form.low)
    view = view_of(cell.base, cell.low, cell.high)
    at = np.zeros(n + len(form.axes))
    solution = Solution(at, np.full((KEPT, 3), -1), np.zeros(KEPT), np.full(len(form.log_start), 0.1))
    return Branch(form, cell, view, np.zeros(6), NO_CUTS, form.low, form.high, solution, np.inf)


def _turn(branch: Branch) -> Numbers:
    """Return the turn, (3, 3), at which the branch has the most."""
    omega = np.zeros(3)
    omega[branch.form.axes] = branch.solution.at[len(branch.form.low) :]
    return turned_by(branch.view.frame, omega)


def _copied(solution: Solution) -> Solution:
    return Solution(solution.at.copy(), solution.walls.copy(), solution.weights.copy(), solution.sides.copy())


def _turned(branch: Branch, cell: Cell, space: Space, enough: float, near: float) -> Branch:
    """Return what of a branch lies in a smaller cell, bounded."""
    view, reach = view_of(cell.base, cell.low, cell.high), np.empty(6)
    reach_of(branch.form, view, space.corners, reach)
    return _bounded(replace(branch, cell=cell, view=view, reach=reach), branch.cuts, space, enough, near)


def _bounded(branch: Branch, cuts: Cuts, space: Space, enough: float, near: float) -> Branch:
    """Return a branch with other cuts, bounded."""
    low, high, solution = branch.low.copy(), branch.high.copy(), _copied(branch.solution)
    more = KEPT + len(cuts.faces) - len(solution.weights)
    if more > 0:
        solution = solution._replace(weights=np.concatenate([solution.weights, np.zeros(more)]))
    bound = bound_of(
        branch.form, space.planes, branch.view, cuts, branch.reach, enough, near, low, high, solution
    )  # fmt: skip
    return replace(branch, cuts=cuts, low=low, high=high, solution=solution, bound=min(branch.bound, bound))


def _split(branch: Branch, space: Space, ball: float, enough: float, near: float) -> list[Branch] | None:
    """Return the branches that a branch falls into, None where nothing is in the way of its largest."""
    point, losses = np.empty(3), np.empty(len(branch.form.normals))
    deep, loose = obstacle(space, branch.form, branch.view, branch.cuts, branch.solution.at, point, losses)
    turns = bool((branch.cell.high - branch.cell.low).max() > 0)
    if turns and loose > max(deep, 1e-6):
        cells = [cell for cell in halved(branch.cell) if within(cell, ball)]
        return [_turned(branch, cell, space, enough, near) for cell in cells]
    if deep < 0:
        return None
    return _ways(branch, point, losses, space, enough, near)


def _ways(
    branch: Branch, point: Numbers, losses: Numbers, space: Space, enough: float, near: float
) -> list[Branch]:  # fmt: skip
    """Return the branches that go past *point*, the cheapest first; each is kept apart from some of those before."""
    children: list[Branch] = []
    passed: list[int] = []
    old = branch.cuts
    for face in np.argsort(losses, kind="stable").tolist():
        faces = [face, *passed[:APART]]
        cuts = Cuts(
            np.concatenate([old.points, np.repeat(point[None], len(faces), axis=0)]),
            np.concatenate([old.faces, np.array(faces, np.int64)]),
            np.concatenate([old.senses, [1.0], np.full(len(faces) - 1, -1.0)]),
        )
        child = _bounded(branch, cuts, space, enough, near)
        passed.append(face)
        children.append(_thinned(child) if len(cuts.faces) > CROWDED else child)
    return children


def _thinned(branch: Branch) -> Branch:
    """Return a crowded branch without the cuts that only keep it apart from others, nor those that weigh least."""
    beyond = np.flatnonzero(branch.cuts.senses > 0)
    weights = branch.solution.weights[KEPT:]
    kept = np.sort(beyond[np.argsort(-weights[beyond], kind="stable")][: CROWDED // 2])
    weights = np.concatenate([branch.solution.weights[:KEPT], weights[kept]])
    cuts = Cuts(branch.cuts.points[kept], branch.cuts.faces[kept], branch.cuts.senses[kept])
    return replace(branch, cuts=cuts, solution=branch.solution._replace(weights=weights))
