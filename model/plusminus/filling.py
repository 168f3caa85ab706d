"""How what lies below a height changes as the surface round a space moves: volume, and the area of the level.

The level stays where it is, so that only the skin below it counts: dV = ∫ n·v dA over that. Of a triangle that the
level crosses it is the part below, or all of it less the part above: a triangle similar to none, with its tip at the
lowest or the highest corner and two corners where the level cuts the sides from there. The area of the level is the
volume's own slope in height, so what changes it is the slope of that integral. The moment about a point changes by
∫ x (n·v) dA over the same, and the centroid by the moment about it, over the volume.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tapeloft.model.capacity import Capacity
from tapeloft.model.moments import Points, cross
from tapeloft.model.plusminus.moving import Moving, Skin
from tapeloft.model.solid import Solid

Each = Callable[[Sequence[Sequence[float]]], Iterator[Sequence[float]]]
AT_ONCE = 64  # heights
Mask = NDArray[np.bool_]
TOUCH = 1e-9  # m: a face no higher above a level lies in it, and counts as below


@dataclass(frozen=True, eq=False)
class Filling:
    """How volumes below heights, and the areas of the levels, change with each unknown: (n, heights) each, m² and m."""

    volumes: Points
    plan_areas: Points


def filling(space: Moving, body: Solid, heights: Sequence[float], each: Each = iter) -> Filling:
    """Return how *body*, the net space or a bay of it, fills to *heights*, m, as its surface moves.

    each: goes through batches of heights, and may tell how far it is.
    """
    cut = [_cut(body, skin) for skin in space.skins]
    volumes, areas = [], []
    for some in each([heights[first : first + AT_ONCE] for first in range(0, len(heights), AT_ONCE)]):
        told = space.gathered([[one for h in some for one in level.swept(h)] for level in cut])
        volumes.append(told[:, ::2])
        areas.append(told[:, 1::2])
    return Filling(np.hstack(volumes), np.hstack(areas))


def shifting(space: Moving, body: Solid, filled: Capacity, each: Each = iter) -> Points:
    """Return how the centroid of what lies in *body* below each height changes with each unknown, (n, heights, 3).

    filled: what lies there. Not a number where nothing does.
    """
    cut = [_cut(body, skin) for skin in space.skins]
    heights, centres = filled.heights_m.tolist(), iter(filled.centroid_m.tolist())
    found = []
    for some in each([heights[first : first + AT_ONCE] for first in range(0, len(heights), AT_ONCE)]):
        here = [(height, next(centres)) for height in some]
        told = space.gathered([[one for h, centre in here for one in level.turned(h, centre)] for level in cut])
        found.append(told.reshape(len(told), len(some), 3))
    return np.concatenate(found, axis=1) / filled.volume_m3[:, None]


@dataclass(frozen=True, eq=False)
class _Cut:
    """The triangles of a body that are a skin's, (t,), each with its corners rising.

    at (t, 3, 3); normal (t, 3): as large as the triangle; shares (t, 3, 3): of the skin's corners, corner by corner.
    """

    skin: Skin
    faces: NDArray[np.int64]
    at: Points
    normal: Points
    shares: Points

    def swept(self, height: float) -> tuple[Points, Points]:
        """Return how the volume below *height*, and the area of the level, change with the skin's vertices."""
        low, middle, high = self.at[:, :, 2].T
        below, under, over = self._parted(height)
        volume, area = np.zeros((len(low), 3)), np.zeros((len(low), 3))
        volume[below] = 1 / 3
        volume[under], area[under] = _tip(height - low[under], middle[under] - low[under], high[under] - low[under])
        rest, slope = _tip(high[over] - height, high[over] - middle[over], high[over] - low[over])
        volume[over], area[over] = 1 / 3 - rest[:, [2, 1, 0]], slope[:, [2, 1, 0]]
        told = [np.einsum("ti,tij->tj", one, self.shares) for one in (volume, area)]
        return self.skin.poured(self.faces, told[0], self.normal), self.skin.poured(self.faces, told[1], self.normal)

    def turned(self, height: float, centre: Sequence[float]) -> list[Points]:
        """Return how the moments, x, y, z, about a *centre* of what lies below *height* change likewise."""
        below, under, over = self._parted(height)
        arm = self.at - np.array(centre)
        weights = _weighed(arm)
        weights[~(below | over)] = 0.0
        weights[under] = _tip_weighed(arm[under], height - centre[2])
        weights[over] -= _tip_weighed(arm[over][:, ::-1], height - centre[2])[:, ::-1]
        told = np.einsum("tix,tij->xtj", weights, self.shares)
        return [self.skin.poured(self.faces, one, self.normal) for one in told]

    def _parted(self, height: float) -> tuple[Mask, Mask, Mask]:
        """Return which triangles lie below *height*, and which it crosses: with one corner below, and with two."""
        low, middle, high = self.at[:, :, 2].T
        below, above = high <= height + TOUCH, low >= height
        crossed = ~(below | above)
        under = crossed & (middle > height)  # the tip below the level is its lowest corner
        return below, under, crossed & ~under


def _cut(body: Solid, skin: Skin) -> _Cut:
    own = body.origins == skin.origin
    at, faces = body.vertices[body.triangles[own]], body.faces[own]
    normal = cross(at[:, 1] - at[:, 0], at[:, 2] - at[:, 0]) / 2
    rising = np.argsort(at[:, :, 2], axis=1)
    at = np.take_along_axis(at, rising[:, :, None], axis=1)
    return _Cut(skin, faces, at, normal, skin.shared(faces, at))


def _weighed(arm: Points) -> Points:
    """Return by what a moment over triangles weighs what is at their corners, as a share of their area, (t, 3, 3).

    arm (t, 3, 3): of each corner, along each axis.
    """
    weighed: Points = (arm + arm.sum(axis=1, keepdims=True)) / 12
    return weighed


def _tip_weighed(arm: Points, level: float) -> Points:
    """Return the same for the tip that a level, by its arm, cuts off triangles with the tip first, then the nearer."""
    up = arm[:, :, 2]
    share = ((level - up[:, :1]) / (up[:, 1:] - up[:, :1]))[:, :, None]
    cut = arm[:, 1:] * share + arm[:, :1] * (1 - share)
    own = _weighed(np.concatenate([arm[:, :1], cut], axis=1)) * share.prod(axis=1, keepdims=True)
    tip = own[:, :1] + (own[:, 1:] * (1 - share)).sum(axis=1, keepdims=True)
    return np.concatenate([tip, own[:, 1:] * share], axis=1)


def _tip(off: Points, near: Points, far: Points) -> tuple[Points, Points]:
    """Return what the tip of a triangle weighs its corners by, as a share of its area, and the slope of that: (t, 3).

    off (t,): of the level from the tip; near, far (t,): of the two other corners, nearer first.
    """
    one, other = off / near, off / far
    share = np.column_stack([3 - one - other, one, other]) * (one * other / 3)[:, None]
    slope = np.column_stack([2 - one - other, one, other]) * (off / (near * far))[:, None]
    return share, slope
