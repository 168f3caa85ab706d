"""What the corners of a section want of check tapes: two, whose directions differ as far as lines there allow."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tapeloft.model.moments import Points

DIFFERING = 30.0  # degrees between two tapes at a letter, where the section allows it (common practice, no source)
FULL = 2  # tapes at each letter: one shows that something is wrong, the second which letter
UNTOUCHED = 2.0  # what the first tape at a letter is worth more than the second
FLAT = 1e-3  # radians: lines that differ by less do not differ

Line = tuple[int, int]
"""A line between two corners of a section, by their numbers, the lower first."""


@dataclass(frozen=True, eq=False)
class Wants:
    """What each corner wants.

    along (n, n, n): the cosine of the angle at the first corner between the lines to the two others. tapes: how many
    each corner can have, up to two. apart: how far apart they are to lie, radians.
    """

    along: NDArray[np.float64]
    tapes: dict[int, int]
    apart: dict[int, float]

    def lacking(self, corner: int, others: Sequence[int]) -> float:
        """Return what a corner still lacks that has tapes to *others*; 0 where they give it all that it can get."""
        share = self._spread(corner, others) / self.apart[corner] if self.apart[corner] > FLAT else 1.0
        apart = 1 - share / 2 if share < 1 - 1e-6 else 0.0
        return UNTOUCHED * (not others) + max(0, self.tapes[corner] - len(others)) + float(apart)

    def _spread(self, corner: int, others: Sequence[int]) -> float:
        if len(others) < 2:
            return 0.0
        return float(np.arccos(self.along[corner][others][:, others].min()))


def wants(spots: Points, lines: Sequence[Line]) -> Wants:
    """Return what the corners *spots* (n, 3) m can want where these *lines* are all that can be taped.

    >>> square = np.array([[0, 0, 0], [0, 1, 0], [0, 1, 1], [0, 0, 1.0]])
    >>> asked = wants(square, [(0, 1), (0, 2), (1, 2)])
    >>> asked.tapes, round(asked.lacking(0, [1]), 6), round(asked.lacking(0, [1, 2]), 6)
    ({0: 2, 1: 2, 2: 2}, 2.0, 0.0)
    """
    ways = spots[None] - spots[:, None]
    ways = ways / np.maximum(np.linalg.norm(ways, axis=2, keepdims=True), 1e-12)
    met: dict[int, list[int]] = {}
    for line in lines:
        for k, other in (line, line[::-1]):
            met.setdefault(k, []).append(other)
    whole = Wants(np.clip(np.abs(ways @ ways.transpose(0, 2, 1)), 0, 1), {}, {})
    widest = {k: min(np.radians(DIFFERING), whole._spread(k, met[k])) for k in sorted(met)}
    return Wants(whole.along, {k: min(FULL, len(met[k])) for k in sorted(met)}, widest)


def met_by(corner: int, lines: Sequence[Line]) -> list[int]:
    """Return the corners at the other ends of those of *lines* that meet a corner."""
    return [b if a == corner else a for a, b in lines if corner in (a, b)]
