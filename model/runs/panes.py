"""Rectangles of the plane that a solid is seen on: what lies over each, and how long a clear line it can hold."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tapeloft.model.moments import Points
from tapeloft.model.runs.shadow import Numbers, Shadow

Indices = NDArray[np.int64]
Flags = NDArray[np.bool_]

QUARTERS = np.array([[-0.5, -0.5], [-0.5, 0.5], [0.5, -0.5], [0.5, 0.5]])
WIDER = 3.0  # times the nearness of triangles: every edge that bounds one over a pane is seen to meet the pane


@dataclass(frozen=True, eq=False)
class Panes:
    """c panes of one size, and the p pairs of a pane and a triangle over it, sorted by pane and triangle."""

    centre: Points  # (c, 2) m
    half: Points  # (2,) m
    pane: Indices  # (p,)
    triangle: Indices  # (p,)
    inside: Numbers  # (p, 3) distance of the pane's centre from each edge of the triangle, inward
    reach: Numbers  # (p, 3) how far from its centre the pane goes that way

    def counts(self) -> Indices:
        """Return how many triangles lie over each pane, (c,)."""
        return np.bincount(self.pane, minlength=len(self.centre))

    def chosen(self, keep: Flags) -> "Panes":
        """Return only the panes where *keep*, (c,), says so."""
        pairs = keep[self.pane]
        number = np.cumsum(keep) - 1
        rest = (self.triangle[pairs], self.inside[pairs], self.reach[pairs])
        return Panes(self.centre[keep], self.half, number[self.pane[pairs]], *rest)

    def halved(self, seen: Shadow) -> "Panes":
        """Return each pane cut both ways, in four."""
        centre = (self.centre[:, None] + QUARTERS * self.half).reshape(-1, 2)
        pane = (4 * self.pane[:, None] + np.arange(4)).ravel()
        return _over(seen, centre, self.half / 2, pane, np.repeat(self.triangle, 4))


def one_pane(seen: Shadow) -> Panes:
    """Return the one pane around the whole solid."""
    n = len(seen.leaves)
    return _over(seen, np.zeros((1, 2)), seen.half, np.zeros(n, np.int64), np.arange(n))


def meeting(seen: Shadow, panes: Panes) -> Flags:
    """Return which edges of the triangles over a pane meet the pane, (p, 3)."""
    close = np.abs(panes.inside) <= panes.reach + WIDER * seen.near
    middle, half = (box[panes.triangle] for box in seen.edge_boxes)
    near = np.abs(middle - panes.centre[panes.pane][:, None]) - half <= panes.half + WIDER * seen.near
    met: Flags = close & near[..., 0] & near[..., 1]
    return met


def heights(seen: Shadow, at: Points, triangle: Indices) -> Numbers:
    """Return where along the axis the plane of each triangle, (p,), stands over a point, (p, 2)."""
    plane = seen.level[triangle] + np.einsum("pj,pj->p", seen.slope[triangle], at)
    clipped: Numbers = np.clip(plane, seen.least[triangle], seen.most[triangle])
    return clipped


def longest_possible(seen: Shadow, panes: Panes) -> Numbers:
    """Return a length, (c,) m, that no clear line through each pane passes.

    A sheet of surface, joined from edge to edge, that does not end within the pane stands across every line
    through it: between its lowest and its highest point over the pane the line is stopped. So a clear line lies
    between two sheets that follow each other by their lowest points.
    """
    low, high = _spans(seen, panes)
    sheet, whole = _sheets(seen, panes)
    sheet_low, sheet_high = low.copy(), high.copy()
    np.minimum.at(sheet_low, sheet, low)
    np.maximum.at(sheet_high, sheet, high)
    torn = np.bincount(panes.pane[~whole], minlength=len(panes.centre)) > 0
    first = np.flatnonzero(np.diff(panes.pane, prepend=-1))
    bottom, top = np.minimum.reduceat(low, first)[torn], np.maximum.reduceat(high, first)[torn]
    across = np.flatnonzero(whole & (sheet == np.arange(len(sheet))))
    ends = np.flatnonzero(torn)
    pane = np.concatenate([ends, panes.pane[across], ends])
    low = np.concatenate([bottom, sheet_low[across], top])
    high = np.concatenate([bottom, sheet_high[across], top])
    leaves = np.concatenate([0 * ends, seen.leaves[panes.triangle[across]], 0 * ends])
    order = np.lexsort((low, pane))
    pane, low, high, leaves = pane[order], low[order], high[order], leaves[order]
    gap = np.where(pane[1:] == pane[:-1], high[1:] - low[:-1], 0.0)
    mixed = np.bincount(pane[1:][(pane[1:] == pane[:-1]) & (high[:-1] > low[1:])], minlength=len(panes.centre)) > 0
    gap[(leaves[:-1] > 0) & ~(mixed | torn)[pane[:-1]]] = 0.0  # outside the solid from one sheet to the next
    bound = np.zeros(len(panes.centre))
    np.maximum.at(bound, pane[:-1], gap)
    return bound


def _spans(seen: Shadow, panes: Panes) -> tuple[Numbers, Numbers]:
    """The lowest and highest point along the axis of each triangle over its pane, or lower and higher."""
    slope, least, most = seen.slope[panes.triangle], seen.least[panes.triangle], seen.most[panes.triangle]
    middle = seen.level[panes.triangle] + np.einsum("pj,pj->p", slope, panes.centre[panes.pane])
    swing = np.abs(slope) @ (panes.half + seen.near)
    return np.clip(middle - swing, least, most), np.clip(middle + swing, least, most)


def _sheets(seen: Shadow, panes: Panes) -> tuple[Indices, Flags]:
    """For each pair the first pair of its sheet, (p,), and whether that sheet has no end within the pane."""
    met, mates = meeting(seen, panes), seen.mates[panes.triangle]
    own = np.arange(len(mates))
    key = panes.pane * len(seen.leaves) + panes.triangle
    sought = panes.pane[:, None] * len(seen.leaves) + mates
    at = np.minimum(np.searchsorted(key, sought), len(key) - 1)
    joined = met & (mates >= 0) & (key[at] == sought)
    beside = np.where(joined, at, own[:, None])
    sheet = own
    while True:
        lower = np.minimum(sheet, sheet[beside].min(axis=1))
        lower = lower[lower]
        if (lower == sheet).all():
            break
        sheet = lower
    ended = np.bincount(sheet[(met & (mates < 0)).any(axis=1)], minlength=len(own)) > 0
    return sheet, ~ended[sheet]


def _over(seen: Shadow, centre: Points, half: Points, pane: Indices, triangle: Indices) -> Panes:
    """Keep the pairs that meet, parted by no side of the pane and no edge, and the panes that have any."""
    middle, around = (box[triangle] for box in seen.boxes)
    near = np.abs(centre[pane] - middle) - around <= half + seen.near
    close = np.flatnonzero(near[:, 0] & near[:, 1])
    pane, triangle = pane[close], triangle[close]
    inside = np.einsum("pij,pj->pi", seen.inward[triangle], centre[pane]) - seen.offset[triangle]
    reach = np.abs(seen.inward[triangle]) @ half
    over = inside + reach >= -seen.near
    meet = np.flatnonzero(over[:, 0] & over[:, 1] & over[:, 2])
    meet = meet[np.lexsort((triangle[meet], pane[meet]))]
    pane, triangle = pane[meet], triangle[meet]
    used = np.bincount(pane, minlength=len(centre)) > 0
    return Panes(centre[used], half, (np.cumsum(used) - 1)[pane], triangle, inside[meet], reach[meet])
