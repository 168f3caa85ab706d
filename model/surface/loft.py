"""How neighbouring sections are joined: corners of one letter by straight ribs, and what lies between by share."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tapeloft.model.errors import GeometryError
from tapeloft.model.moments import Points
from tapeloft.model.surface.sections import Section

NEAR = 1e-9  # share of an edge within which two points on it are one


@dataclass(frozen=True, eq=False)
class Band:
    """How two neighbouring loops are joined: N ribs.

    aft, forward (N,): where each rib meets its loop, as corner number plus share of the edge that follows.
    ends (2, N, 3): the ends of the ribs, m. strips: the part of the surface after each rib, "A-B" by its marks.
    """

    aft: NDArray[np.float64]
    forward: NDArray[np.float64]
    ends: Points
    strips: tuple[str, ...]


def joined(aft: Section, forward: Section) -> Band:
    """Return how two sections are joined: marks they share meet; between those, points at equal shares of the girth.

    Raises GeometryError where the shared marks do not run the same way round.
    """
    if aft.pointed or forward.pointed:
        return _to_a_point(aft, forward)
    shared = [m for m in aft.names if m and m in forward.names]
    first, second = (_girths(s, shared) for s in (aft, forward))
    if shared and not _same_order(aft, forward, shared):
        raise GeometryError(f"the marks {', '.join(shared)} do not run the same way round")
    along = np.unique(np.concatenate([first.shares, second.shares]))
    along = along[np.concatenate([[True], np.diff(along) > NEAR])]
    a, b = first.at(along), second.at(along)
    ends = np.stack([point_at(aft.points, a), point_at(forward.points, b)])
    fuller = first if len(aft.names) >= len(forward.names) else second
    return Band(a, b, ends, tuple(fuller.strip_after(t) for t in along))


@dataclass(frozen=True, eq=False)
class _Girth:
    """A loop's corners by their share of the girth between shared marks: n corners, shares in [0, K)."""

    names: tuple[str, ...]
    shares: NDArray[np.float64]
    corners: NDArray[np.float64]

    def at(self, shares: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return corner number plus share of the edge, for each share of the girth."""
        n, period = len(self.corners), math.floor(self.shares[-1]) + 1.0
        k = np.searchsorted(self.shares, shares + NEAR, side="right") - 1
        ahead = np.append(self.shares, period)
        gap = ahead[k + 1] - ahead[k]
        part = np.where(gap > NEAR, (shares - ahead[k]) / np.where(gap > NEAR, gap, 1.0), 0.0)
        part = np.where(np.abs(part) < NEAR, 0.0, part)
        where: NDArray[np.float64] = (self.corners[k] + np.clip(part, 0.0, 1.0)) % n
        return where

    def strip_after(self, share: float) -> str:
        """Name the part of the surface that follows a share of the girth by the marks on either hand of it."""
        k = int(np.searchsorted(self.shares, share + NEAR, side="right")) - 1
        here, following = self.names[k], self.names[(k + 1) % len(self.names)]
        return f"{here}-{following}" if here and following else "side"


def _girths(section: Section, shared: Sequence[str]) -> _Girth:
    n = len(section.points)
    start = section.names.index(shared[0]) if shared else _lowest_inboard(section.points)
    order = [(start + k) % n for k in range(n)]
    lengths = np.linalg.norm(section.points[[*order[1:], start]] - section.points[order], axis=1)
    knots = [k for k, i in enumerate(order) if section.names[i] in shared] if shared else [0]
    shares = np.zeros(n)
    for number, (k, end) in enumerate(zip(knots, [*knots[1:], n], strict=True)):
        run = lengths[k:end]
        total = run.sum()
        before = np.concatenate([[0.0], np.cumsum(run)[:-1]])
        shares[k:end] = number + (before / total if total > 0 else np.arange(end - k) / (end - k))
    return _Girth(tuple(section.names[i] for i in order), shares, np.array(order, np.float64))


def _lowest_inboard(points: Points) -> int:
    return int(np.lexsort((np.abs(points[:, 1]), points[:, 2]))[0])


def _same_order(aft: Section, forward: Section, shared: Sequence[str]) -> bool:
    there = [m for m in forward.names if m in shared]
    k = there.index(shared[0])
    return there[k:] + there[:k] == list(shared)


def _to_a_point(aft: Section, forward: Section) -> Band:
    full = forward if aft.pointed else aft
    n = len(full.points)
    ring, tip = np.arange(n, dtype=np.float64), np.zeros(n)
    strips = _Girth(full.names, ring, ring)
    labels = tuple(strips.strip_after(t) for t in ring)
    ends = [np.repeat(s.points[:1], n, axis=0) if s.pointed else s.points for s in (aft, forward)]
    return Band(tip if aft.pointed else ring, tip if forward.pointed else ring, np.stack(ends), labels)


def point_at(points: Points, where: NDArray[np.float64]) -> Points:
    """Return the points at corner numbers plus shares of the following edge, on a loop, or several, (…, n, 3)."""
    size = points.shape[-2]
    k = np.floor(where).astype(int) % size
    part = (where - np.floor(where))[:, None]
    here: Points = points[..., k, :] * (1 - part) + points[..., (k + 1) % size, :] * part
    return np.where(part == 0.0, points[..., k, :], here)
