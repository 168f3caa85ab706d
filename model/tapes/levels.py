"""A sparse least-squares problem taken apart into levels, each joined to the next alone, and factored level by level.

The unknowns are ordered by how many observations lie between them and one of them (Cuthill and McKee 1969): no
observation then reaches past a neighbouring level, and orthogonal elimination goes from level to level, as a section
is joined to the next. Thousands of readings along a hull cost what so many sections cost, and no more.
"""

from collections import deque
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Whole = npt.NDArray[np.int64]
LEAST = 1e-9  # of the length of an unknown's column: what is left of it where others have not taken it all

WORTH = 24  # unknowns, from which a level costs more than the bookkeeping of it


class Undetermined(ValueError):
    """Some unknowns are told by no observation; `unknowns` are their numbers."""

    def __init__(self, unknowns: Sequence[int]) -> None:
        self.unknowns = tuple(unknowns)
        super().__init__(f"no reading tells unknowns {', '.join(map(str, self.unknowns))}")


@dataclass(frozen=True)
class Rows:
    """A sparse matrix (m, n): entry k is slopes[k] at row rows[k], column columns[k]; columns differ in a row."""

    rows: Whole
    columns: Whole
    slopes: Array
    shape: tuple[int, int]

    def times(self, x: Array) -> Array:
        """Return the product with *x*, (n,) or (n, k)."""
        return _gathered(self.rows, (self.slopes * x[self.columns].T), self.shape[0], x.ndim)

    def turned(self, x: Array) -> Array:
        """Return the product of the transpose with *x*, (m,) or (m, k), of which most rows may be nought."""
        held = np.any(x.reshape(len(x), -1), axis=1)[self.rows]
        return _gathered(self.columns[held], self.slopes[held] * x[self.rows[held]].T, self.shape[1], x.ndim)


def _gathered(places: Whole, terms: Array, size: int, dimensions: int) -> Array:
    """Return the sums of *terms* (k,), or of each row of them, by place."""
    sums: list[Array] = [
        np.bincount(places, weights=row, minlength=size).astype(np.float64) for row in np.atleast_2d(terms)
    ]
    return sums[0] if dimensions == 1 else np.array(sums).reshape(-1, size).T


@dataclass(frozen=True, eq=False)
class Factor:
    """R of A = QR, level by level: A'A = R'R.

    order: the unknowns of each level. inverse: of R's block on the diagonal, one a level. ahead: R's block to the
    right of it, which reaches into the next level.
    """

    order: tuple[Whole, ...]
    inverse: tuple[Array, ...]
    ahead: tuple[Array, ...]

    def halved(self, x: Array) -> Array:
        """Return R'⁻¹x for *x* (n, k): its columns' squares sum to the variances of what x weighs the unknowns by."""
        half, before = np.zeros_like(x), np.zeros((0, x.shape[1]))
        weighed = np.any(x, axis=1)
        for k, (here, inverse) in enumerate(zip(self.order, self.inverse, strict=True)):
            if not len(before) and not weighed[here].any():
                continue  # R' is lower triangular: nought up to the first unknown that x weighs
            left = x[here] - self.ahead[k - 1].T @ before if len(before) else x[here]
            before = inverse.T @ left
            half[here] = before
        return half

    def solved(self, half: Array) -> Array:
        """Return R⁻¹ of *half* (n, k); of `halved(x)` it is (A'A)⁻¹x."""
        whole, after = np.zeros_like(half), np.zeros((0, half.shape[1]))
        for k in reversed(range(len(self.order))):
            here = self.order[k]
            left = half[here] - self.ahead[k] @ after if len(after) else half[here]
            after = self.inverse[k] @ left
            whole[here] = after
        return whole

    def leverages(self, matrix: Rows) -> Array:
        """Return the diagonal of A(A'A)⁻¹A' for the matrix A that was factored, or one with as few neighbours."""
        found = np.zeros(matrix.shape[0])
        after = np.zeros((0, 0))
        levels_ = zip(self.inverse, self.ahead, _blocks(self.order, matrix), strict=True)
        for inverse, ahead, block in reversed(list(levels_)):
            over = -inverse @ ahead @ after
            own = inverse @ inverse.T - over @ (inverse @ ahead).T
            here, beyond = block.here, block.beyond
            found[block.rows] = (
                ((here @ own) * here).sum(axis=1)
                + ((beyond @ after) * beyond).sum(axis=1)
                + 2 * ((here @ over) * beyond).sum(axis=1)
            )
            after = own
        return found


def factored(matrix: Rows, right: Array, order: tuple[Whole, ...]) -> tuple[Factor, Array]:
    """Return the factor of *matrix*, and the least-squares solution (n,) for the right side *right* (m,).

    order: its levels. Raises Undetermined where the columns are not independent.
    """
    inverses: list[Array] = []
    aheads: list[Array] = []
    tops: list[Array] = []
    carried = np.zeros((0, 1 + (len(order[0]) if order else 0)))
    for here, block in zip(order, _blocks(order, matrix), strict=True):
        size, beyond = len(here), block.beyond.shape[1]
        new = np.hstack([block.here, block.beyond, right[block.rows, None]])
        old = np.hstack([carried[:, :size], np.zeros((len(carried), beyond)), carried[:, size:]])
        stacked = np.vstack([old, new, np.zeros((max(0, size - len(old) - len(new)), size + beyond + 1))])
        upper: Array = np.linalg.qr(stacked, mode="r")  # type: ignore[assignment]  # told as all modes' results
        _refuse_loose(upper[:size, :size], stacked[:, :size], here)
        inverses.append(np.linalg.inv(upper[:size, :size]).astype(np.float64))
        aheads.append(upper[:size, size:-1])
        tops.append(upper[:size, -1:])
        carried = upper[size:, size:]
    factor = Factor(order, tuple(inverses), tuple(aheads))
    half = np.zeros((matrix.shape[1], 1))
    for here, top in zip(order, tops, strict=True):
        half[here] = top
    return factor, factor.solved(half)[:, 0]


def _refuse_loose(upper: Array, columns: Array, here: Whole) -> None:
    lengths = np.linalg.norm(columns, axis=0)
    loose = np.abs(np.diagonal(upper)) <= LEAST * np.maximum(lengths, np.finfo(float).tiny)
    if loose.any():
        raise Undetermined(here[loose].tolist())


def levels(matrix: Rows) -> tuple[Whole, ...]:
    """Return the unknowns of each level: those of one observation lie in one level, or in two that follow."""
    joined = _joined(matrix)
    seen: set[int] = set()
    found: list[Whole] = []
    for start in range(matrix.shape[1]):
        if start not in seen:
            far = _outward(joined, start)[-1][0]
            outward = _outward(joined, far)
            seen.update(unknown for level in outward for unknown in level)
            found += [np.array(level, dtype=np.int64) for level in outward]
    return tuple(_gathered_in(found))


def _gathered_in(found: Sequence[Whole]) -> Iterator[Whole]:
    """Yield neighbouring levels in one, so that each is worth a factoring of its own."""
    together: list[Whole] = []
    for level in found:
        together.append(level)
        if sum(map(len, together)) >= WORTH:
            yield np.concatenate(together)
            together = []
    if together:
        yield np.concatenate(together)


def _joined(matrix: Rows) -> list[set[int]]:
    together: list[list[int]] = [[] for _ in range(matrix.shape[0])]
    for row, column in zip(matrix.rows.tolist(), matrix.columns.tolist(), strict=True):
        together[row].append(column)
    joined: list[set[int]] = [set() for _ in range(matrix.shape[1])]
    for unknowns in together:
        for one in unknowns:
            joined[one].update(unknowns)
    return joined


def _outward(joined: Sequence[set[int]], start: int) -> list[list[int]]:
    depth, todo = {start: 0}, deque([start])
    while todo:
        one = todo.popleft()
        for other in joined[one]:
            if other not in depth:
                depth[other] = depth[one] + 1
                todo.append(other)
    outward: list[list[int]] = [[] for _ in range(max(depth.values()) + 1)]
    for unknown, far in depth.items():
        outward[far].append(unknown)
    return outward


@dataclass(frozen=True)
class _Block:
    """The rows of a matrix whose first level is one level: dense, over that level's unknowns and the next one's."""

    rows: Whole
    here: Array
    beyond: Array


def _blocks(order: Sequence[Whole], matrix: Rows) -> list[_Block]:
    """Return the rows of *matrix* level by level; a row that holds no unknown lies in the first."""
    sizes = [*map(len, order), 0]
    level, place = np.zeros((2, matrix.shape[1]), dtype=np.int64)
    for k, here in enumerate(order):
        level[here], place[here] = k, np.arange(len(here))
    lowest = np.full(matrix.shape[0], len(order))
    np.minimum.at(lowest, matrix.rows, level[matrix.columns])
    lowest[lowest == len(order)] = 0
    rows, entries = _parted(lowest, len(order)), _parted(lowest[matrix.rows], len(order))
    number = np.zeros(matrix.shape[0], dtype=np.int64)
    blocks = []
    for k, (mine, held) in enumerate(zip(rows, entries, strict=True)):
        number[mine] = np.arange(len(mine))
        dense = np.zeros((len(mine), sizes[k] + sizes[k + 1]))
        columns = matrix.columns[held]
        dense[number[matrix.rows[held]], place[columns] + sizes[k] * (level[columns] - k)] = matrix.slopes[held]
        blocks.append(_Block(mine, dense[:, : sizes[k]], dense[:, sizes[k] :]))
    return blocks


def _parted(level: Whole, count: int) -> list[Whole]:
    """Return the numbers of what is in each level."""
    ordered = np.argsort(level, kind="stable")
    edges = np.searchsorted(level[ordered], np.arange(count + 1))
    return [ordered[a:b] for a, b in pairwise(edges.tolist())]
