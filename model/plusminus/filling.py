"""How what lies below a height changes as the surface round a space moves: volume, and the area of the level.

The level stays where it is, so that only the skin below it counts: dV = ∫ n·v dA over that. Of a triangle that the
level crosses it is the part below, or all of it less the part above: a triangle similar to none, with its tip at the
lowest or the highest corner and two corners where the level cuts the sides from there. The area of the level is the
volume's own slope in height, so what changes it is the slope of that integral.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tapeloft.model.moments import Points, cross
from tapeloft.model.plusminus.moving import Moving, Skin
from tapeloft.model.solid import Solid

Each = Callable[[Sequence[Sequence[float]]], Iterator[Sequence[float]]]
AT_ONCE = 64  # heights
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


@dataclass(frozen=True, eq=False)
class _Cut:
    """The triangles of a body that are a skin's, (t,), each with its corners rising.

    z (t, 3), normal (t, 3): as large as the triangle; shares (t, 3, 3): of the skin's corners, corner by corner.
    """

    skin: Skin
    faces: NDArray[np.int64]
    z: Points
    normal: Points
    shares: Points

    def swept(self, height: float) -> tuple[Points, Points]:
        """Return how the volume below *height*, and the area of the level, change with the skin's vertices."""
        low, middle, high = self.z.T
        below, above = high <= height + TOUCH, low >= height
        crossed = ~(below | above)
        under = crossed & (middle > height)  # the tip below the level is its lowest corner
        over = crossed & ~under
        volume, area = np.zeros_like(self.z), np.zeros_like(self.z)
        volume[below] = 1 / 3
        volume[under], area[under] = _tip(height - low[under], middle[under] - low[under], high[under] - low[under])
        rest, slope = _tip(high[over] - height, high[over] - middle[over], high[over] - low[over])
        volume[over], area[over] = 1 / 3 - rest[:, [2, 1, 0]], slope[:, [2, 1, 0]]
        told = [np.einsum("ti,tij->tj", one, self.shares) for one in (volume, area)]
        return self.skin.poured(self.faces, told[0], self.normal), self.skin.poured(self.faces, told[1], self.normal)


def _cut(body: Solid, skin: Skin) -> _Cut:
    own = body.origins == skin.origin
    at, faces = body.vertices[body.triangles[own]], body.faces[own]
    normal = cross(at[:, 1] - at[:, 0], at[:, 2] - at[:, 0]) / 2
    rising = np.argsort(at[:, :, 2], axis=1)
    at = np.take_along_axis(at, rising[:, :, None], axis=1)
    return _Cut(skin, faces, at[:, :, 2], normal, skin.shared(faces, at))


def _tip(off: Points, near: Points, far: Points) -> tuple[Points, Points]:
    """Return what the tip of a triangle weighs its corners by, as a share of its area, and the slope of that: (t, 3).

    off (t,): of the level from the tip; near, far (t,): of the two other corners, nearer first.
    """
    one, other = off / near, off / far
    share = np.column_stack([3 - one - other, one, other]) * (one * other / 3)[:, None]
    slope = np.column_stack([2 - one - other, one, other]) * (off / (near * far))[:, None]
    return share, slope
