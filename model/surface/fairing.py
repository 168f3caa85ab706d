"""Curved instead of straight between stations: each rib's points carried along a shape-keeping cubic."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from tapeloft.model.errors import GeometryError
from tapeloft.model.moments import Points
from tapeloft.model.surface.loft import Band
from tapeloft.model.surface.sections import Section

CLOSE = 0.00025  # m that the chords between inserted loops may leave the curve
MOST = 64  # straight pieces between two stations, at most


def faired(run: Sequence[Section], bands: Sequence[Band]) -> tuple[list[Section], list[Band]]:
    """Return the sections and bands of a fair surface through *run*, cut fine enough to be straight between.

    Raises GeometryError where the bands do not share their ribs, for then there is no line to fair along.
    """
    if any(not np.array_equal(a.forward, b.aft) for a, b in pairwise(bands)):
        raise GeometryError("to be faired, every station needs the same marks")
    loops = np.stack([bands[0].ends[0], *(band.ends[1] for band in bands)])
    rows = carried(loops, counts(loops))
    ring: NDArray[np.float64] = np.arange(loops.shape[1], dtype=np.float64)
    through = [Section("", (), row) for row in rows]
    return through, [Band(ring, ring, np.stack(ends), bands[0].strips) for ends in pairwise(rows)]


def counts(loops: Points) -> tuple[int, ...]:
    """Return into how many straight pieces each gap between *loops*, (S, N, 3) m, is cut to keep near the curve."""
    return tuple(piece.pieces() for piece in _curved(loops))


def carried(loops: Points, pieces: Sequence[int]) -> list[Points]:
    """Return the rows, (…, N, 3) m each, of the fair surface through *loops*, (S, …, N, 3) m, *pieces* to each gap.

    The axes between are those of several surfaces.
    """
    rows: list[Points] = [loops[0]]
    for k, (piece, count) in enumerate(zip(_curved(loops), pieces, strict=True)):
        rows += [*piece.at(np.arange(1, count) / count), loops[k + 1]]
    return rows


def _curved(loops: Points) -> list["_Piece"]:
    along = loops[..., 0].mean(axis=-1)
    slopes, gaps = shape_keeping_slopes(along, loops), np.diff(along, axis=0)[..., None, None]
    return [_Piece(loops[k : k + 2], slopes[k : k + 2] * gap) for k, gap in enumerate(gaps)]


def shape_keeping_slopes(along: NDArray[np.float64], values: Points) -> Points:
    """Return slopes at the stations for which cubic Hermite pieces never leave the readings' own range.

    along (S,) rising; values (S, …); or for several, (S, m) and (S, m, …). Fritsch and Butland (1984): the harmonic
    mean of the two neighbouring slopes, weighted by the spacing, nought at a turn; one-sided three-point slopes,
    limited, at the ends.

    >>> shape_keeping_slopes(np.array([0.0, 1, 2]), np.array([0.0, 1, 1])).tolist()
    [1.5, 0.0, 0.0]
    """
    gaps = np.diff(along, axis=0)
    gaps = gaps.reshape(*gaps.shape, *[1] * (values.ndim - gaps.ndim))
    rise = np.diff(values, axis=0) / gaps
    if len(along) == 2:
        return np.concatenate([rise, rise])
    before, after = 2 * gaps[1:] + gaps[:-1], gaps[1:] + 2 * gaps[:-1]
    turns = rise[:-1] * rise[1:] <= 0
    safe = [np.where(turns, 1.0, r) for r in (rise[:-1], rise[1:])]
    inner = np.where(turns, 0.0, (before + after) / (before / safe[0] + after / safe[1]))
    first = _end_slope(gaps[0], gaps[1], rise[0], rise[1])
    last = _end_slope(gaps[-1], gaps[-2], rise[-1], rise[-2])
    return np.concatenate([first[None], inner, last[None]])


def _end_slope(near: Points, far: Points, first: Points, second: Points) -> Points:
    slope = ((2 * near + far) * first - near * second) / (near + far)
    slope = np.where(slope * first <= 0, 0.0, slope)
    steep = (first * second <= 0) & (np.abs(slope) > 3 * np.abs(first))
    return np.where(steep, 3 * first, slope)


@dataclass(frozen=True, eq=False)
class _Piece:
    """The cubic between two stations: (…, N, 3) points carried over a gap; ends and slopes × gap, (2, …, N, 3) m."""

    ends: Points
    runs: Points

    def at(self, share: NDArray[np.float64]) -> Points:
        """Return the points at shares of the gap, (k, …, N, 3)."""
        t = share.reshape(-1, *[1] * (self.ends.ndim - 1))
        (a, b), (u, v) = self.ends, self.runs
        points: Points = (1 + 2 * t) * (1 - t) ** 2 * a + t * t * (3 - 2 * t) * b + t * (1 - t) * ((1 - t) * u - t * v)
        return points

    def pieces(self) -> int:
        """Return how many straight pieces keep within `CLOSE` of the cubic: chords miss by h²/8 of its bend."""
        (a, b), (u, v) = self.ends, self.runs
        bends = (6 * (b - a) - 4 * u - 2 * v, 6 * (a - b) + 2 * u + 4 * v)
        bend = max(float(np.linalg.norm(bend, axis=1).max()) for bend in bends)
        return min(MOST, max(1, math.ceil(math.sqrt(bend / (8 * CLOSE)))))
