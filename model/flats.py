"""Where a box can stand: the flats of the sole, and the space over one in which its bottom is borne everywhere."""

import math

import numpy as np
from numpy.typing import NDArray

from tapeloft.model.moments import Points
from tapeloft.model.solid import Solid

Numbers = NDArray[np.float64]

RESTS = 0.01  # m: a box stands on a sole that is nowhere farther below its bottom than this
LEVEL = math.cos(math.radians(10.0))  # a flat slopes no more
LEAST = 0.0025  # m²: a flat smaller than this is none
MOST = 40  # flats that are told of


def flats(solid: Solid) -> tuple[float, ...]:
    """Return the heights, z in m, of the flats of its sole on which a box can stand level, largest first.

    A flat is what of the sole lies within RESTS of a height and not above it; at least LEAST in area, level within
    ten degrees. A sole that slopes has one flat above another, each as deep as it may be.

    >>> from tapeloft.model.facets import body
    >>> from tapeloft.shapes.polyhedron import box
    >>> flats(body(box((0, 0, 0), (2, 1, 1))) - body(box((1.5, -1, -1), (3, 2, 0.25))))
    (0.0, 0.25)
    """
    a, b, c = np.moveaxis(solid.vertices[solid.triangles], 1, 0)
    across = np.cross(b - a, c - a) / 2
    sole = -across[:, 2] > LEVEL * np.linalg.norm(across, axis=1)
    areas, tops, bottoms = _bands(np.sort(np.stack([a, b, c])[:, sole, 2], axis=0), -across[sole, 2])
    found: list[float] = []
    while len(tops) and len(found) < MOST:
        levels = np.unique(tops)
        borne = [areas[(tops <= level) & (bottoms >= level - RESTS)].sum() for level in levels]
        level = levels[int(np.argmax(borne))]
        if max(borne) < LEAST:
            break
        found.append(float(level))
        rest = (tops > level) | (bottoms < level - RESTS)
        areas, tops, bottoms = areas[rest], tops[rest], bottoms[rest]
    return tuple(found)


def _bands(heights: Points, areas: Numbers) -> tuple[Numbers, Numbers, Numbers]:
    """Return the plan areas, tops and bottoms of triangles, (3, m) heights rising, cut into level bands in RESTS."""
    low, middle, high = heights
    counts = np.maximum(1, np.ceil((high - low) / RESTS - 1e-9)).astype(int)
    which = np.repeat(np.arange(len(areas)), counts)
    number = np.arange(len(which)) - np.repeat(np.cumsum(counts) - counts, counts)
    step = ((high - low) / counts)[which]
    bottoms = low[which] + number * step
    tops = np.where(number + 1 == counts[which], high[which], bottoms + step)

    def share_below(z: Numbers) -> Numbers:
        """A triangle's share below a level goes with the square of the distance from its lowest or highest corner."""
        rise, left = z - low[which], high[which] - z
        whole, lower, upper = (np.where(s > 0, s, 1.0)[which] for s in (high - low, middle - low, high - middle))
        under, over = rise**2 / (whole * lower), 1 - left**2 / (whole * upper)
        share: Numbers = np.where(left <= 0, 1.0, np.where(z <= middle[which], under, over))
        return share

    return areas[which] * (share_below(tops) - np.where(number == 0, 0.0, share_below(bottoms))), tops, bottoms


def room_over(level: float, space: Solid, sole: Solid) -> Solid:
    """Return what of *space* lies above the height *level*, m, less all that is above a drop in *sole*.

    Over a drop the space of *sole* goes on down, unbroken, for more than RESTS below the level. A box that is in the
    room returned and touches its bottom stands on the sole with the whole of its own.

    >>> from tapeloft.model.facets import body
    >>> from tapeloft.shapes.polyhedron import box
    >>> stepped = body(box((0, 0, 0), (2, 1, 1))) - body(box((1.5, -1, -1), (3, 2, 0.25)))
    >>> room_over(0.25, stepped, stepped).bounds.round(9).tolist()
    [[1.5, 0.0, 0.25], [2.0, 1.0, 1.0]]
    """
    over, _ = space.split((0, 0, 1), level)
    return over - sole.over_drops(level, RESTS)
