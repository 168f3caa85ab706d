"""Plane loops whose corners move on straight lines: when does a corner first come onto an edge?

At share t of the way the loop's corners are (1−t)·aft + t·forward. The loop can cease to be simple only at an
instant when a corner lies on an edge that is not its own. Twice the area spanned by edge m and corner k,
f(t) = (P[m+1] − P[m]) × (P[k] − P[m]), is a quadratic in t, and at a root of f the corner is on the edge, not
beyond its ends, if g(t) = (P[k] − P[m])·(P[k] − P[m+1]) ≤ 0, another quadratic. Where f vanishes throughout, corner
and edge stay on one line and the roots of g tell when they meet. So every instant comes from a formula; nothing
is sampled. (Own derivation; the orientation test is the usual one of computational geometry.)

All loops are (h, n, 2) float64, m: h loops of n corners each, edge k from corner k to corner k + 1.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Loops = NDArray[np.float64]
Numbers = NDArray[np.int64]
Mask = NDArray[np.bool_]

SAME = 1e-9  # m: corners that follow each other closer than this are one
NEAR = 1e-9  # the share of the way at either end that is left to the checks of the loops there
LEAST_AREA = 1e-13  # of the square of the size: a loop of no more than that encloses nothing
ROUNDING = 64 * np.finfo(np.float64).eps  # of size times length: what the signs of f and g may be wrong by
BATCH = 1 << 18  # pairs of corner and edge looked at in one go, so that many corners need no large memory


@dataclass(frozen=True, eq=False)
class Meetings:
    """For each loop the first time a corner comes onto another's edge; share is inf where none does. All (h,)."""

    share: Loops
    point: Numbers
    edge: Numbers


def first_meetings(aft: Loops, forward: Loops) -> Meetings:
    """Return when, on the way from *aft* to *forward*, a corner of a loop first comes onto an edge of it.

    Corners that follow each other and coincide at both ends count as one. Touching is meeting. With *aft* the same
    as *forward* this tells whether a loop at rest touches itself.

    >>> square = np.array([[[0, 0], [1, 0], [1, 1], [0, 1.0]]])
    >>> first_meetings(square, 2 * square).share, first_meetings(square, 1 - square).share
    (array([inf]), array([0.5]))
    """
    share, point, edge = np.full(len(aft), np.inf), np.zeros(len(aft), np.int64), np.zeros(len(aft), np.int64)
    for rows in _batches(aft):
        row, k, m = _pairs_in_reach(aft[rows], forward[rows])
        times = _times(aft[rows], forward[rows], row, k, m)
        order = np.lexsort((times, row))
        first, which = np.unique(row[order], return_index=True)
        best = order[which]
        share[rows][first], point[rows][first], edge[rows][first] = times[best], k[best], m[best]
    return Meetings(share, point, edge)


def crossing_edges(loops: Loops) -> Numbers:
    """Return (loop, edge, edge) for each two edges of a loop that cross in their middles, (c, 3).

    >>> crossing_edges(np.array([[[0, 0], [1, 1], [1, 0], [0, 1.0]]])).tolist()
    [[0, 0, 2]]
    """
    found = [_crossing(loops[rows]) + np.array([rows.start, 0, 0]) for rows in _batches(loops)]
    return np.concatenate([*found, np.zeros((0, 3), np.int64)])


def _batches(loops: Loops) -> Iterator[slice]:
    count = max(1, BATCH // max(1, loops.shape[1] ** 2))
    return (slice(start, start + count) for start in range(0, len(loops), count))


def _crossing(loops: Loops) -> Numbers:
    ends = np.stack([loops, np.roll(loops, -1, axis=1)])
    box = ends.min(axis=0), ends.max(axis=0)
    row, k, m = np.nonzero(np.triu(_boxes_meet(box, box), 2))
    a, b = ends[:, row, k]
    c, d = ends[:, row, m]
    noise = ROUNDING * _size(loops, loops)[row] * (_reach(b - a) + _reach(d - c) + _reach(c - a))
    sides = [_cross(b - a, c - a), _cross(b - a, d - a), _cross(d - c, a - c), _cross(d - c, b - c)]
    clear = (np.abs(sides) > noise).all(axis=0)
    across = clear & (sides[0] * sides[1] < 0) & (sides[2] * sides[3] < 0)
    return np.column_stack([row, k, m])[across]


def areas(loops: Loops) -> Loops:
    """Return the area of each loop, (h,) m²; negative if it runs clockwise.

    >>> areas(np.array([[[0, 0], [2, 0], [2, 1], [0, 1.0]]])).tolist()
    [2.0]
    """
    centred = loops - loops.mean(axis=1, keepdims=True)
    area: Loops = _cross(centred, np.roll(centred, -1, axis=1)).sum(axis=1) / 2
    return area


def are_empty(loops: Loops) -> Mask:
    """Return which loops, (h,), enclose nothing or run clockwise.

    >>> are_empty(np.array([[[0, 0], [2, 0], [2, 1], [0, 1.0]], [[0, 0], [2, 0], [2, 0], [0, 0.0]]])).tolist()
    [False, True]
    """
    empty: Mask = areas(loops) <= LEAST_AREA * _size(loops, loops) ** 2
    return empty


def _pairs_in_reach(aft: Loops, forward: Loops) -> tuple[Numbers, Numbers, Numbers]:
    """Return loop, corner and edge of every pair, not joined to each other, whose swept boxes meet."""
    low, high = np.minimum(aft, forward), np.maximum(aft, forward)
    slack = ROUNDING * _size(aft, forward)[:, None, None]
    edge = np.minimum(low, np.roll(low, -1, axis=1)) - slack, np.maximum(high, np.roll(high, -1, axis=1)) + slack
    row, k, m = np.nonzero(_boxes_meet((low, high), edge))
    corner = _numbered(aft, forward)
    mine, start, end = corner[row, k], corner[row, m], corner[row, (m + 1) % corner.shape[1]]
    apart = (mine != start) & (mine != end) & (start != end)
    return row[apart], k[apart], m[apart]


def _boxes_meet(one: tuple[Loops, Loops], other: tuple[Loops, Loops]) -> Mask:
    """Return for each loop which boxes of *one*, (h, n, 2) low and high, meet which of *other*, (h, n, n)."""
    along = []
    for axis in range(2):
        (low, high), (low2, high2) = ((box[0][..., axis], box[1][..., axis]) for box in (one, other))
        along.append((low[:, :, None] <= high2[:, None]) & (low2[:, None] <= high[:, :, None]))
    return along[0] & along[1]


def _numbered(aft: Loops, forward: Loops) -> Numbers:
    """Return a number for each corner, the same for those that follow each other and coincide at both ends."""
    steps = np.concatenate([loop - np.roll(loop, 1, axis=1) for loop in (aft, forward)], axis=2)
    new = (np.abs(steps) > SAME).any(axis=2)
    numbered: Numbers = np.cumsum(new, axis=1) % np.maximum(new.sum(axis=1, keepdims=True), 1)
    return numbered


def _times(aft: Loops, forward: Loops, row: Numbers, k: Numbers, m: Numbers) -> Loops:
    """Return for each corner k and edge m when the corner first comes onto the edge; inf for never.

    Counted by s = t / (1 − t), in which a quadratic has the coefficients c0, 2·c1, c2 of its Bernstein form. So what
    is small at either end, because corners come together there, keeps all its digits.
    """
    following = (m + 1) % aft.shape[1]
    ends = [(loop[row, following], loop[row, m], loop[row, k]) for loop in (aft, forward)]
    edge, arm, other = (tuple(e[i] - e[j] for e in ends) for i, j in ((0, 1), (2, 1), (2, 0)))
    noise = np.stack([_reach(u) + _reach(v) + _reach(w) for u, v, w in zip(edge, arm, other, strict=True)])
    noise *= ROUNDING * _size(aft, forward)[row]
    spanned, between = _product(edge, arm, _cross), _product(arm, other, _dot)
    on_line = (np.abs(spanned) <= [noise[0], noise.mean(axis=0), noise[1]]).all(axis=0)
    c = np.where(on_line, between, spanned)
    *roots, turn = _roots(c)
    # a corner that comes to an edge and leaves again on the same side has a double root, which rounding may hide
    turn = np.where(on_line | (np.abs(_value(c, turn)) <= _wrong(noise, turn)), turn, np.nan)
    times = np.stack([*roots, turn, *(np.where(on_line, s, np.nan) for s in (NEAR, 1 / NEAR))])
    with np.errstate(invalid="ignore"):
        met = (times >= NEAR) & (times <= 1 / NEAR) & (_value(between, times) <= _wrong(noise, times))
    first = np.where(met, times, np.inf).min(axis=0)
    share: Loops = np.divide(first, 1 + first, out=first, where=np.isfinite(first))
    return share


def _product(u: tuple[Loops, ...], v: tuple[Loops, ...], of: Callable[[Loops, Loops], Loops]) -> Loops:
    """Return the Bernstein coefficients, (3, …), of a product of vectors that each go straight from one to another."""
    return np.stack([of(u[0], v[0]), (of(u[0], v[1]) + of(u[1], v[0])) / 2, of(u[1], v[1])])


def _roots(c: Loops) -> tuple[Loops, Loops, Loops]:
    """Return both roots and the turning point of c0 + 2·c1·s + c2·s², nan or inf where there are none."""
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        q = -c[1] - np.copysign(np.sqrt(c[1] ** 2 - c[0] * c[2]), c[1])
        return q / c[2], c[0] / q, -c[1] / c[2]


def _value(c: Loops, s: Loops) -> Loops:
    with np.errstate(invalid="ignore", over="ignore"):
        value: Loops = c[0] + s * (2 * c[1] + s * c[2])
    return value


def _wrong(noise: Loops, s: Loops) -> Loops:
    """Return by how much rounding may have moved `_value`."""
    with np.errstate(invalid="ignore", over="ignore"):
        wrong: Loops = (noise[0] + s * noise[1]) * (1 + s)
    return wrong


def _cross(u: Loops, v: Loops) -> Loops:
    product: Loops = u[..., 0] * v[..., 1] - u[..., 1] * v[..., 0]
    return product


def _dot(u: Loops, v: Loops) -> Loops:
    product: Loops = u[..., 0] * v[..., 0] + u[..., 1] * v[..., 1]
    return product


def _reach(vectors: Loops) -> Loops:
    reach: Loops = np.abs(vectors).sum(axis=-1)
    return reach


def _size(aft: Loops, forward: Loops) -> Loops:
    size: Loops = np.maximum(np.abs(aft), np.abs(forward)).max(axis=(1, 2))
    return size
