"""Best first over turns and ways: the branch with the highest limit is split until none can hold much more."""

import heapq
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field, replace
from functools import partial
from itertools import count

import numpy as np

from tapeloft.model.proof.program import NEVER, Numbers
from tapeloft.model.proof.search import Best, Going
from tapeloft.model.proof.turned.branching import Space, bound_of, obstacle, reach_of
from tapeloft.model.proof.turned.cells import Cell, View, halved, turned_by, view_of, within
from tapeloft.model.proof.turned.children import NEW, Children, past_it
from tapeloft.model.proof.turned.cuts import NO_CUTS, chosen, joined
from tapeloft.model.proof.turned.form import Form
from tapeloft.model.proof.turned.record import Node, Record
from tapeloft.model.proof.turned.relaxed import AROUND, KEPT, Cuts, Solution

CROWDED = 90  # cuts above which those that only keep branches apart are let go
EAGER = 30  # branches that are each climbed from; later one in
SELDOM = 16
NARROW = 0.04  # radians from its middle within which more is asked of a cell: see `_narrow`
CUTS = 48  # that a branch may have gathered, to be parted from whole triangles
TOGETHER = 8  # branches split at once, on any machine, so that the search goes the same way on all

Climb = Callable[
    [Form, Numbers, Numbers, Cuts], None
]  # told a form, a turn (3, 3), where it is in it, (≥ n,), its cuts


@dataclass(frozen=True, eq=False)
class Branch:
    """All that is sought of one form, in one cell of turns, that keeps to the cuts."""

    form: Form
    cell: Cell
    view: View
    reach: Numbers  # (6,)
    cuts: Cuts
    rows: Numbers  # (m, N) of the cuts
    limits: Numbers  # (m,)
    low: Numbers  # (n,)
    high: Numbers  # (n,)
    solution: Solution
    bound: float
    node: Node | None = None  # where it is recorded


def hunted(
    space: Space, sought: Sequence[tuple[Form, Cell]], ball: float, best: Best, tolerance: float, going: Going,
    climb: Climb, near: float, floor: float = NEVER, record: Record | None = None,
) -> None:  # fmt: skip
    """Lower `best.limit` to an upper limit of all that is sought, until it is within *tolerance* of the best.

    Or until it is at most *floor*, if that is more.
    *climb* is told where to look for better ones, and keeps them in *best*. ball: as in `cells.within`.
    near: how well branches are solved. record: keeps how all was split. Ends too when *going* says so, marked in
    *best*. `best.limit` holds at every moment.
    """
    open_ones = _Open()

    def enough() -> float:
        return max(best.value + tolerance, floor)

    for form, cell in sought:
        whole = _whole(form, cell, record)
        open_ones.add(whole, [_turned(whole, cell, space, enough(), near)], NEVER)
    with ThreadPoolExecutor(max_workers=TOGETHER) as workers:
        while open_ones.heap:
            best.limit = open_ones.limit
            best.stopped |= best.limit > enough() and not going(best.value, best.limit)
            if best.stopped or best.limit <= enough():
                return
            some = open_ones.taken(TOGETHER)
            split = partial(_split, space=space, ball=ball, enough=enough(), near=near)
            splits = workers.map(split, some)  # begun here, beside the climbs
            for branch in some:
                _counted(branch, best, climb)
            for branch, children in zip(some, splits, strict=True):
                if children is None:
                    _climbed(branch, climb)
                open_ones.add(branch, children, enough())
    best.limit = open_ones.closed


@dataclass
class _Open:
    """Branches that may hold more, by their limits; and the most that any of those put aside may hold."""

    heap: list[tuple[float, int, Branch]] = field(default_factory=list)
    serial: Iterator[int] = field(default_factory=count)
    closed: float = NEVER

    @property
    def limit(self) -> float:
        """The most that any branch may hold."""
        return max(-self.heap[0][0], self.closed)

    def add(self, branch: Branch, children: Sequence[Branch] | None, enough: float) -> None:
        """Add what a branch falls into; put aside what holds no more than *enough*, and a branch that does not fall."""
        for child in (branch,) if children is None else children:
            if children is not None and child.bound > enough:
                heapq.heappush(self.heap, (-child.bound, next(self.serial), child))
            else:
                self.closed = max(self.closed, child.bound)

    def taken(self, many: int) -> list[Branch]:
        """Take out the branches with the highest limits, so many or as many as there are."""
        return [heapq.heappop(self.heap)[2] for _ in range(min(many, len(self.heap)))]


def _counted(branch: Branch, best: Best, climb: Climb) -> None:
    """Count a branch; climb from some, from the first and now and then."""
    best.nodes += 1
    if best.nodes < EAGER or best.nodes % SELDOM == 0:
        _climbed(branch, climb)


def _climbed(branch: Branch, climb: Climb) -> None:
    climb(branch.form, _turn(branch), branch.solution.at, branch.cuts)


def _whole(form: Form, cell: Cell, record: Record | None) -> Branch:
    """Return the branch of all turns of a cell, not yet bounded."""
    node = None
    if record is not None:
        node = Node()
        record.roots.append((form, cell, node))
    n = len(form.low)
    view = view_of(cell.base, cell.low, cell.high)
    at = np.zeros(n + len(form.axes))
    solution = Solution(at, np.full((KEPT, 3), -1), np.zeros(KEPT), np.full(len(form.log_start), 0.1))
    return Branch(
        form,
        cell,
        view,
        np.zeros(6),
        NO_CUTS,
        np.empty((0, len(at))),
        np.empty(0),
        form.low,
        form.high,
        solution,
        np.inf,
        node,
    )


def _sizes(branch: Branch) -> Numbers:
    """Return the sizes, (3,), along its own axes, of what the branch has most of."""
    form, at = branch.form, branch.solution.at[: len(branch.form.low)]
    sizes: Numbers = np.ptp(form.corner_rows @ at + form.corner_start, axis=0)
    return sizes


def _turn(branch: Branch) -> Numbers:
    """Return the turn, (3, 3), at which the branch has the most."""
    omega = np.zeros(3)
    omega[branch.form.axes] = branch.solution.at[len(branch.form.low) :]
    return turned_by(branch.view.frame, omega)


def _turned(branch: Branch, cell: Cell, space: Space, enough: float, near: float) -> Branch:
    """Return what of a branch lies in a smaller cell, bounded."""
    form, cuts, view, reach = branch.form, branch.cuts, view_of(cell.base, cell.low, cell.high), np.empty(6)
    reach_of(form, view, space.corners, reach)
    inner, parent = replace(branch, cell=cell, view=view, reach=reach), branch.solution
    low, high, many = branch.low.copy(), branch.high.copy(), len(cuts.faces)
    rows, limits = np.empty((many + AROUND, len(parent.at))), np.empty(many + AROUND)
    solution = Solution(parent.at.copy(), parent.walls.copy(), parent.weights.copy(), parent.sides.copy())
    bound = bound_of(
        form, space.planes, view, cuts, rows, limits, reach, enough, near, _narrow(inner), low, high, solution
    )  # fmt: skip
    if branch.node is not None:
        branch.node.ended(cuts, solution)
    return replace(
        inner, rows=rows[:many], limits=limits[:many], low=low, high=high, solution=solution,
        bound=min(branch.bound, bound),
    )  # fmt: skip


def _split(branch: Branch, space: Space, ball: float, enough: float, near: float) -> list[Branch] | None:
    """Return the branches that a branch falls into, None where nothing is in the way of its largest."""
    point, losses = np.empty(3), np.empty(len(branch.form.normals))
    deep, loose, triangle = obstacle(
        space, branch.form, branch.view, branch.cuts, branch.solution.at, point, losses
    )  # fmt: skip
    turns = bool((branch.cell.high - branch.cell.low).max() > 0)
    if turns and loose > max(deep, 1e-6):
        return _halves(branch, space, ball, enough, near)
    if deep < 0:
        return None
    return _ways(branch, point, losses, triangle, space, enough, near)


def _halves(branch: Branch, space: Space, ball: float, enough: float, near: float) -> list[Branch]:
    """Return the branches of the halves of its cell that are needed."""
    halves = halved(branch.cell, _sizes(branch))
    cells = [cell if within(cell, ball) else None for cell in halves]
    nodes: list[Node | None] = [None, None]
    if branch.node is not None:
        branch.node.axis = int(np.argmax(branch.cell.high - halves[0].high))
        nodes = [None if cell is None else Node() for cell in cells]
        branch.node.children = nodes
    return [
        _turned(replace(branch, node=node), cell, space, enough, near)
        for cell, node in zip(cells, nodes, strict=True) if cell is not None
    ]  # fmt: skip


def _ways(
    branch: Branch, point: Numbers, losses: Numbers, triangle: int, space: Space, enough: float, near: float
) -> list[Branch]:  # fmt: skip
    """Return the branches that go past what is in the way; for those closed, one with their limit."""
    whole = triangle >= 0 and _is_parted(branch)
    corners = space.surface.corners[max(triangle, 0)]
    room = past_it(
        branch.form, space.planes, branch.view, branch.cuts, branch.rows, branch.limits, branch.reach, enough, near,
        _narrow(branch), branch.low, branch.high, branch.solution, branch.bound, point, losses, corners, whole,
    )  # fmt: skip
    closed = room.bounds <= enough
    if branch.node is not None:
        branch.node.passed(point, room.order, [_recorded(branch, room, k) for k in range(len(room.order))])
    children = [_child(branch, room, int(k)) for k in np.flatnonzero(~closed)]
    if closed.any():
        children.append(replace(branch, bound=float(room.bounds[closed].max()), node=None))
    return children


def _is_parted(branch: Branch) -> bool:
    """Whether a branch goes past whole triangles: in a narrow cell, where it is not crowded.

    In a wide cell a point says as much, and has fewer ways.
    """
    return len(branch.cuts.faces) < CUTS and branch.view.square[0] < _narrow(branch) ** 2


def _narrow(branch: Branch) -> float:
    """Return the radians within which more is asked of a cell: of boxes of free sides, not recorded.

    Things of given sizes often have one limit in many branches, which more cannot lower. A certificate knows no more
    than points and bounds drawn in by rows.
    """
    return NARROW if len(branch.form.log_start) > 0 and branch.node is None else 0.0


def _solved(branch: Branch, room: Children, k: int) -> tuple[Cuts, Solution]:
    """Return the cuts of a child, and what was found of it."""
    new, old = int(room.counts[k]), len(branch.cuts.faces)
    cuts = joined([branch.cuts, chosen(room.cuts, slice(k * NEW, k * NEW + new))])
    weights = room.weights[k, : KEPT + old + new].copy()
    return cuts, Solution(room.at[k].copy(), room.walls[k].copy(), weights, room.sides[k].copy())


def _recorded(branch: Branch, room: Children, k: int) -> Node:
    return Node().ended(*_solved(branch, room, k))


def _child(branch: Branch, room: Children, k: int) -> Branch:
    """Return a child that stays open."""
    new = int(room.counts[k])
    cuts, solution = _solved(branch, room, k)
    rows, limits = np.vstack([branch.rows, room.rows[k, :new]]), np.append(branch.limits, room.limits[k, :new])
    child = Branch(
        branch.form, branch.cell, branch.view, branch.reach, cuts, rows, limits, room.low[k].copy(),
        room.high[k].copy(), solution, float(room.bounds[k]),
        None if branch.node is None else branch.node.children[k],
    )  # fmt: skip
    return _thinned(child) if len(cuts.faces) > CROWDED else child


def _thinned(branch: Branch) -> Branch:
    """Return a crowded branch without the cuts that only keep it apart from others, nor those that weigh least."""
    beyond = np.flatnonzero(branch.cuts.senses > 0)
    weights = branch.solution.weights[KEPT:]
    kept = np.sort(beyond[np.argsort(-weights[beyond], kind="stable")][: CROWDED // 2])
    solution = branch.solution._replace(weights=np.concatenate([branch.solution.weights[:KEPT], weights[kept]]))
    return replace(
        branch, cuts=chosen(branch.cuts, kept), rows=branch.rows[kept], limits=branch.limits[kept], solution=solution
    )  # fmt: skip
