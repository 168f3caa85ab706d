"""The blocks that hold a grate's bearers up off what lies under them: where, how high, and on what they stand."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, MultiPoint, Polygon

from tapeloft.model.areas import named_triangles
from tapeloft.model.compartment import Compartment
from tapeloft.model.moments import Points

NONE = 5e-4  # m: a bearer that lies no higher rests there by itself


@dataclass(frozen=True)
class Block:
    """A block under a bearer, square and as broad: its middle, x, y, m; its height at the corners of what it holds, m.

    on: what it stands on. Of no height where the bearer rests there by itself.
    """

    at_m: tuple[float, float]
    least_m: float
    most_m: float
    on: str


@dataclass(frozen=True)
class Blocked:
    """A bearer, by its name, and its blocks from its after or starboard end on."""

    bearer: str
    blocks: tuple[Block, ...]


@dataclass(frozen=True, eq=False)
class Under:
    """What lies under a height, m, in the net space of a compartment."""

    compartment: Compartment
    height: float

    @cached_property
    def _floors(self) -> tuple[Points, NDArray[np.int64]]:
        net = self.compartment.net
        corners = net.vertices[net.triangles]
        across = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])[:, 2]
        facing = (across < -1e-12) & (corners[..., 2].min(axis=1) < self.height + NONE)  # out of the space, and so down
        return corners[facing], np.flatnonzero(facing)

    @cached_property
    def _names(self) -> list[str]:
        return named_triangles(self.compartment)

    def at(self, spot: Sequence[float]) -> tuple[float, str] | None:
        """Return the height, m, of the first floor under a spot, x, y, and what that is of; None over none."""
        corners, which = self._floors
        a, b, c = (corners[:, k, :2] for k in range(3))
        whole = _cross(b - a, c - a)
        shares = np.stack([_cross(b - spot, c - spot), _cross(c - spot, a - spot), _cross(a - spot, b - spot)]) / whole
        heights = (shares * corners[..., 2].T).sum(axis=0)
        over = (shares > -1e-9).all(axis=0) & (heights < self.height + NONE)
        if not over.any():
            return None
        first = int(np.flatnonzero(over)[heights[over].argmax()])
        return float(heights[first]), self._names[int(which[first])]


def blocks_under(
    under: Under, bearers: Sequence[tuple[str, Polygon]], breadth: float, apart: float
) -> tuple[Blocked, ...]:
    """Return the blocks of bearers, outlines m of a *breadth*, whose lower faces lie at the height of *under*.

    One at each end of a bearer, and as many between as it takes that they are no farther *apart*, m.
    """
    return tuple(Blocked(name, _blocks(under, one, breadth, apart)) for name, one in bearers)


def stands_out(over: Sequence[Polygon], blocked: Sequence[Blocked]) -> float:
    """Return how far, m, what is stood on reaches out beyond all the blocks that hold it up: there it tips.

    over: outlines, m.
    """
    held = MultiPoint([block.at_m for one in blocked for block in one.blocks]).convex_hull
    corners = shapely.points(np.concatenate([one.exterior.coords for one in over]))
    return float(shapely.distance(corners, held).max()) if not held.is_empty else math.inf


def _blocks(under: Under, bearer: Polygon, breadth: float, apart: float) -> tuple[Block, ...]:
    """Return the blocks along the middle of a bearer, which may bend, half its breadth in from its ends."""
    ring = np.array(shapely.oriented_envelope(bearer).exterior.coords)
    along, across = sorted((ring[1] - ring[0], ring[2] - ring[1]), key=lambda side: -float(np.hypot(*side)))
    along = along if (along[0], along[1]) > (0.0, 0.0) else -along
    long, deep = float(np.hypot(*along)), float(np.hypot(*across))
    broad, ahead, middle = min(deep, breadth), along / long, ring[:4].mean(axis=0)
    reach = max(0.0, long / 2 - broad / 2)
    count = 1 + math.ceil(2 * reach / apart - 1e-9) if reach else 1
    seats = [_seat(bearer, middle + ahead * step, across, broad) for step in np.linspace(-reach, reach, count)]
    return tuple(block for place, corners in seats if (block := _block(under, place, corners)))


def _seat(bearer: Polygon, place: Points, across: Points, broad: float) -> tuple[Points, Points]:
    """Return the middle of a bearer where a line across it passes a place, and the corners of what a block holds."""
    passing = shapely.intersection(bearer, LineString([place - across, place + across]))
    widest = max(shapely.get_parts(passing), key=shapely.length, default=passing)
    at = np.array(shapely.centroid(widest if not widest.is_empty else shapely.Point(place)).coords[0])
    aside = across / float(np.hypot(*across)) * broad / 2
    onward = np.array([aside[1], -aside[0]])
    square = Polygon([at + onward + aside, at + onward - aside, at - onward - aside, at - onward + aside])
    held = shapely.intersection(bearer, square)
    return at, shapely.get_coordinates(held if not held.is_empty else square)


def _block(under: Under, place: Points, corners: Points) -> Block | None:
    found = [one for spot in (place, *corners) if (one := under.at(spot))]
    if not found:
        return None
    heights = [max(0.0, under.height - height) for height, _ in found]
    most = max(heights) if max(heights) > NONE else 0.0
    x, y = place.tolist()
    return Block((x, y), min(heights) if most else 0.0, most, found[0][1])


def _cross(one: Points, other: Points) -> Points:
    crossed: Points = one[:, 0] * other[:, 1] - one[:, 1] * other[:, 0]
    return crossed
