"""How much of a section the points show: holes in its walls, and points that stand within it."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from tapeloft.model.moments import Points
from tapeloft.model.scan.lines import CELL, Wall, band
from tapeloft.model.scan.slab import Slab

HOLE = 0.1  # m: a stretch without points that is worth a word
LEAST_SHARE = 0.35  # of a wall's length that points must show
LEAST_SPAN = 0.6  # of its length that they must reach over: what lies between is bridged, what lies beyond is guessed
CROWD = 12  # points that stand together within a section, and are worth a word
TOGETHER = 0.06  # m


@dataclass(frozen=True)
class Hole:
    """A stretch of wall that no point shows: half-breadth and height of its ends, m."""

    start: tuple[float, float]
    end: tuple[float, float]

    @property
    def length(self) -> float:
        """Its length, m."""
        return float(np.hypot(*np.subtract(self.end, self.start)))


@dataclass(frozen=True)
class Seen:
    """What points show of a wall: the share of its length, the share they reach over, and the holes between."""

    share: float
    span: float
    holes: tuple[Hole, ...]

    @property
    def enough(self) -> bool:
        """Whether the wall's line can be told from what was seen of it."""
        return self.share >= LEAST_SHARE and self.span >= LEAST_SPAN


@dataclass(frozen=True)
class Crowd:
    """Points that stand together within a section: how many, and half-breadth and height from and to, m."""

    points: int
    low: tuple[float, float]
    high: tuple[float, float]


def seen_of(slab: Slab, ring: Sequence[Wall], corners: Points) -> tuple[tuple[Seen, ...], Crowd | None]:
    """Return what points show of each wall, from its corner to the next, and what stands within."""
    width = 1.5 * band(slab.noise)
    size = max(CELL, _spacing(slab))
    off_all = np.full(len(slab.across), np.inf)
    seen = []
    for k, wall in enumerate(ring):
        ends = corners[[k, (k + 1) % len(ring)]]
        off = np.abs(wall.off(slab))
        t = (slab.across - ends[0]) @ _unit(ends[1] - ends[0])
        length = float(np.linalg.norm(ends[1] - ends[0]))
        on = (off <= width) & (t >= 0) & (t <= length)
        off_all = np.where((t >= -width) & (t <= length + width), np.minimum(off_all, off), off_all)
        seen.append(_along(t[on], length, size, ends))
    stranger = (off_all > 2 * width) & contained(slab.across, corners)
    return tuple(seen), _crowded(slab.across[stranger])


def left_out(slab: Slab, corners: Points, fellow: Points) -> Crowd | None:
    """Return the crowd of points without the section *corners* (n, 2) that the one beside it, *fellow*, has room for.

    None where there is none: what is seen through a lid lies without both.
    """
    width = 1.5 * band(slab.noise)
    without = ~contained(slab.across, corners) & (_off(slab.across, corners) > 2 * width)
    within = contained(slab.across, fellow) | (_off(slab.across, fellow) <= width)
    return _crowded(slab.across[without & within])


def _off(spots: Points, corners: Points) -> Points:
    """Return how far *spots* (n, 2) lie from the loop *corners* (k, 2), m."""
    nearest = np.full(len(spots), np.inf)
    for start, end in zip(corners, np.roll(corners, -1, axis=0), strict=True):
        length = float(np.linalg.norm(end - start))
        t = np.clip((spots - start) @ _unit(end - start), 0.0, length)
        nearest = np.minimum(nearest, np.linalg.norm(spots - start - t[:, None] * _unit(end - start), axis=1))
    return nearest


def _along(t: Points, length: float, size: float, ends: Points) -> Seen:
    """Return what points at *t* along a wall show of it, in stretches of about *size*, m."""
    count = max(int(np.ceil(length / size)), 1)
    shown = np.zeros(count, bool)
    shown[np.minimum((t / length * count).astype(int), count - 1)] = True
    where = np.flatnonzero(shown)
    if not len(where):
        return Seen(0.0, 0.0, (_hole(0, count, count, ends),))
    edges = np.concatenate([[-1], where, [count]])
    gaps = [(a + 1, b) for a, b in pairwise(edges.tolist()) if b - a > 1]
    holes = tuple(_hole(a, b, count, ends) for a, b in gaps if (b - a) * length / count >= HOLE)
    return Seen(len(where) / count, (where[-1] - where[0] + 1) / count, holes)


def _hole(first: int, last: int, count: int, ends: Points) -> Hole:
    (a, b), (c, d) = (ends[0] + (ends[1] - ends[0]) * (k / count) for k in (first, last))
    return Hole((float(a), float(b)), (float(c), float(d)))


def _unit(way: Points) -> Points:
    size = float(np.linalg.norm(way))
    return way / size if size > 0 else np.array([1.0, 0.0])


def _spacing(slab: Slab) -> float:
    """Return twice the usual distance between neighbouring points, m: what is shorter is no hole."""
    spots = slab.across[slab.thin]
    reached, _ = cKDTree(spots).query(spots, k=2)
    return 4.0 * float(np.median(reached[:, 1]))


def _crowded(spots: Points) -> Crowd | None:
    """Return the crowd among *spots*, which are no specks; None where there is none."""
    if len(spots) < CROWD:
        return None
    many = cKDTree(spots).query_ball_point(spots, TOGETHER, return_length=True)
    close = spots[np.asarray(many) >= CROWD]
    if not len(close):
        return None
    (a, b), (c, d) = np.percentile(close, [2, 98], axis=0).tolist()
    return Crowd(len(close), (a, b), (c, d))


def contained(spots: Points, corners: Points) -> NDArray[np.bool_]:
    """Return which of *spots* (n, 2) lie within the loop *corners* (k, 2): a ray from each crosses it an odd number
    of times.

    >>> contained(np.array([[0.5, 0.5], [1.5, 0.5]]), np.array([[0, 0], [1, 0], [1, 1], [0, 1.0]])).tolist()
    [True, False]
    """
    inside = np.zeros(len(spots), bool)
    for (ay, az), (by, bz) in zip(corners, np.roll(corners, -1, axis=0), strict=True):
        if az != bz:
            spans = (az > spots[:, 1]) != (bz > spots[:, 1])
            beside = (spots[:, 1] - az) * (by - ay) - (spots[:, 0] - ay) * (bz - az)
            inside ^= spans & ((beside > 0) if bz > az else (beside < 0))
    return inside
