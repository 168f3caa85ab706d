"""Readings grossly off the line of the same mark at the stations around: where to begin when something is wrong.

Least squares spreads a gross slip over its neighbours and then blames one of them; a slip of a digit is looked for
here first, before anything is adjusted.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tapeloft.model.tapes.levels import Array, Whole
from tapeloft.model.tapes.readings import TapeNet

NEIGHBOURS = 3  # stations whose line a reading is held against
LEAST = 0.025  # m off that line, and
SHARE = 0.12  # of the middling reading of the mark, that are one measure of how far off it is
FAR = 1.0  # of that measure, from which a reading is a suspect
MOST = 6  # suspects worth setting aside in turn


@dataclass(frozen=True)
class Strayed:
    """A reading off its neighbours' line: its number, the value they expect, m, compartment axes, and how far off."""

    reading: int
    expected: float
    far: float


def strayed(net: TapeNet) -> list[Strayed]:
    """Return the readings that leave the line of their three nearest neighbours most, the farthest first."""
    found = expected(net).values()
    return sorted((one for one in found if one.far > FAR), key=lambda one: -one.far)[:MOST]


def expected(net: TapeNet) -> dict[int, Strayed]:
    """Return, by the numbers of those readings that have neighbours to be held against, what these expect."""
    lines: dict[tuple[str, str], list[int]] = {}
    for k, one in enumerate(net.readings):
        mark = net.corners[one.corners[0]][1] if len(one.corners) == 1 else ""
        if mark:
            lines.setdefault((mark, one.kind), []).append(k)
    return {one.reading: one for line in lines.values() if len(line) > 2 for one in _off(net, line)}


def _off(net: TapeNet, line: Sequence[int]) -> list[Strayed]:
    along = np.array([net.offsets[net.readings[k].corners[0], 0] for k in line])
    columns = [int(net.columns[net.readings[k].corners[0], 0]) for k in line]
    along += np.append(net.start, 0.0)[columns]
    read = np.array([net.readings[k].value for k in line])
    measure = max(LEAST, SHARE * float(np.median(np.abs(read))))
    near = _nearest(along)
    expected = _on_line(along[near], read[near], along)
    far = np.abs(read - expected) / measure
    return [Strayed(*one) for one in zip(line, expected.tolist(), far.tolist(), strict=True)]


def _nearest(along: Array) -> Whole:
    """Return of each place along a line the nearest others, (n, `NEIGHBOURS` or all there are).

    >>> _nearest(np.array([0.0, 1.0, 2.1, 3.3, 4.6])).tolist()
    [[1, 2, 3], [0, 2, 3], [1, 3, 0], [2, 4, 1], [3, 2, 1]]
    """
    count, order = len(along), np.argsort(along, kind="stable")
    around = np.arange(count)[:, None] + np.array([k for k in range(-NEIGHBOURS, NEIGHBOURS + 1) if k])
    beyond = (around < 0) | (around >= count)
    others = order[np.clip(around, 0, count - 1)]
    apart = np.where(beyond, np.inf, np.abs(along[others] - along[order][:, None]))
    ranked = np.take_along_axis(others, np.argsort(apart, axis=1, kind="stable"), axis=1)
    nearest = np.empty((count, min(NEIGHBOURS, count - 1)), np.int64)
    nearest[order] = ranked[:, : nearest.shape[1]]
    return nearest


def _on_line(along: Array, read: Array, at: Array) -> Array:
    """Return where the straight lines nearest to readings are at a distance; their mean where they lie at one.

    along, read (n, k): of the readings of each line; at (n,).

    >>> _on_line(np.array([[0.0, 1, 3], [2, 2, 2]]), np.array([[1.0, 3, 7], [1, 2, 6]]), np.array([2.0, 5])).tolist()
    [5.0, 3.0]
    """
    middle, mean = along.mean(axis=1, keepdims=True), read.mean(axis=1, keepdims=True)
    spread = ((along - middle) ** 2).sum(axis=1)
    rises = ((along - middle) * (read - mean)).sum(axis=1)
    slope = np.divide(rises, spread, out=np.zeros_like(rises), where=spread > 0)
    on_line: Array = mean[:, 0] + slope * (at - middle[:, 0])
    return on_line
