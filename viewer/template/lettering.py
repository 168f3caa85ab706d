"""Where words stand on a piece: clear of what is cut and of one another, as large as there is room for, mm."""

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon, Polygon

from tapeloft.model.cutting.outline import polygons
from tapeloft.viewer.form.ink import POINT, Words, width

Spot = tuple[float, float]
Floats = NDArray[np.float64]
INK = 0.72  # of the size of letters: how high their capitals are
PITCH = 1.45  # of their height, from line to line
HEIGHTS = (5.0, 4.2, 3.6, 3.0, 2.5)  # mm of capitals that are read without stooping
SMALL = (2.1, 1.8)  # and that are still read
TURNED = 0.7  # of their height: words that are turned are read like so much smaller ones
GRID = 17  # places tried across the room, and as many up it
CLEAR = 1.2  # mm that words keep off what is cut
SHARES = (0.5, *(0.5 + side * k / 24 for k in range(1, 12) for side in (1, -1)))  # of an edge, where words are tried
NO_HOLES: Floats = np.zeros((0, 3))


@dataclass(frozen=True)
class Written:
    """A line of text from the left end of the line it stands on; height mm of its capitals; turned to the left.

    others: where it would stand as well.
    """

    text: str
    at: Spot
    height: float
    turn_deg: float = 0.0
    others: tuple[Spot, ...] = ()

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Left, low, right and high of what encloses it, mm."""
        words = Words(self.text, (self.at[0], -self.at[1]), self.height / INK / POINT, turn_deg=self.turn_deg)
        left, top, right, low = words.extent
        return left, -low, right, -top


@dataclass(frozen=True, eq=False)
class Room:
    """What of a piece may be written on: an area, mm; round holes in it, (n, 3) middle and radius; lines drawn on it.

    Words keep off the holes, and off the lines where they can.
    """

    area: Polygon | MultiPolygon
    holes: Floats = field(default_factory=lambda: NO_HOLES)
    lines: tuple[tuple[Spot, ...], ...] = ()

    @cached_property
    def nearest_hole(self) -> shapely.STRtree:
        """Finds the hole whose middle is nearest to a spot."""
        return shapely.STRtree(shapely.points(self.holes[:, :2]))

    def within(self, window: Polygon) -> "Room":
        """Return what of it lies in a window."""
        return Room(polygons(shapely.intersection(self.area, window)), self.holes, self.lines)


@dataclass(frozen=True)
class Stand:
    """Where something stands: its left bottom, mm, turned to the left about that, for letters of a height."""

    at: Spot
    turn_deg: float
    height: float


def standing(room: Room, sizes: Callable[[float], Sequence[Spot]]) -> tuple[Stand, int] | None:
    """Return where something has room, and in which of its forms; None where it has none.

    sizes: for letters 1 mm high, turned by so many degrees, the breadth and height of each form, the better first.
    """
    if room.area.is_empty:
        return None
    near = _middle(room)
    turns = _turns(room.area)
    for heights, lines in ((HEIGHTS, room.lines), (HEIGHTS, ()), (SMALL, room.lines), (SMALL, ())):
        kept = Room(room.area, room.holes, lines)
        for _, height, turn in sorted(
            (-height * (TURNED if turn else 1.0), height, turn) for height in heights for turn in turns
        ):
            for form, (wide, high) in enumerate(sizes(turn)):
                at = _found(kept, (wide * height, high * height), turn, near)
                if at is not None:
                    return Stand(at, turn, height), form
    return None


def turned_by(at: Spot, turn_deg: float, spot: Spot) -> Spot:
    """Return a spot of axes that start *at* a spot and are turned to the left."""
    c, s = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
    return at[0] + spot[0] * c - spot[1] * s, at[1] + spot[0] * s + spot[1] * c


def broad(text: str) -> float:
    """Return how broad a text is in letters 1 mm high, mm."""
    return width(text, 1 / INK / POINT)


def along(text: str, line: Floats, room: Room, taken: Sequence[Polygon], height: float) -> Written | None:
    """Return a text along a line (n, 2), to its left, where it keeps clear of what is cut and *taken*; None if nowhere.

    What else is free along the line comes with it.
    """
    path = shapely.LineString(line)
    found: list[Written] = []
    for share in SHARES:
        for off in (0.9, 2.0):
            one = _beside(text, path, share, off, height)
            box = Polygon(ground(one))
            if _is_free(room, box) and not any(shapely.intersects(box, other) for other in taken):
                found.append(one)
                break
    if not found:
        return None
    first = found[0]
    alike = tuple(one.at for one in found[1:] if one.turn_deg == first.turn_deg)
    return Written(text, first.at, height, first.turn_deg, alike)


def placed_in(room: Room, size: Spot, middle: Spot | None = None) -> Spot | None:
    """Return the left bottom of an upright box of a size, mm, near the *middle* of a room; None where it has none."""
    if room.area.is_empty:
        return None
    return _found(room, size, 0.0, middle or _middle(room))


def _middle(room: Room) -> Spot:
    """Return the middle of the widest of a room."""
    widest = shapely.maximum_inscribed_circle(room.area, tolerance=max(room.area.length / 2000, 0.1))
    x, y = widest.coords[0]
    return float(x), float(y)


def _beside(text: str, path: shapely.LineString, share: float, off: float, height: float) -> Written:
    """Return a text about a point of a path, along it as it runs there, a bit to its left, upright for a reader."""
    reach = broad(text) * height / 2 / path.length
    ends = [path.interpolate(min(max(share + side, 0.0), 1.0), normalized=True) for side in (-reach, reach)]
    way = np.array([ends[1].x - ends[0].x, ends[1].y - ends[0].y])
    way /= max(float(np.hypot(*way)), 1e-9)
    inward = np.array([-way[1], way[0]])
    there = path.interpolate(share, normalized=True)
    turn = math.degrees(math.atan2(way[1], way[0]))
    flipped = not -89.0 < turn <= 91.0
    turn = round((turn + 180.0 if flipped else turn + 360.0) % 360.0, 3)
    base = np.array([there.x, there.y]) + inward * height * (off + flipped)
    at = base - (-way if flipped else way) * broad(text) * height / 2
    return Written(text, (float(at[0]), float(at[1])), height, turn)


def ground(one: Written) -> tuple[Spot, ...]:
    """Return the corners of the box of a line of text, a bit larger, as it is turned."""
    wide, high = broad(one.text) * one.height, one.height
    corners = ((-0.5, -0.4 * high), (wide + 0.5, -0.4 * high), (wide + 0.5, 1.2 * high), (-0.5, 1.2 * high))
    return tuple(turned_by(one.at, one.turn_deg, corner) for corner in corners)


def _turns(area: Polygon | MultiPolygon) -> list[float]:
    """Return by how much words may be turned: not at all, up the sheet, along the longest way of the area."""
    largest = max(polygons(area).geoms, key=lambda one: one.area)
    box = shapely.minimum_rotated_rectangle(largest)
    if not isinstance(box, Polygon):
        return [0.0, 90.0]
    corners = np.array(box.exterior.coords)
    ways = corners[1:3] - corners[:2]
    way = ways[int(np.linalg.norm(ways, axis=1).argmax())]
    turn = math.degrees(math.atan2(way[1], way[0]))
    turn = round((turn + 90.0) % 180.0 - 90.0, 3)
    return [0.0, 90.0, turn] if 0.5 < abs(turn) < 89.5 else [0.0, 90.0]


def _found(room: Room, size: Spot, turn: float, near: Spot) -> Spot | None:
    """Return the left bottom of the box of a size, turned, nearest to a spot of all places tried that are free."""
    x0, y0, x1, y1 = room.area.bounds
    if math.hypot(x1 - x0, y1 - y0) < max(size):
        return None
    half = [turned_by((0.0, 0.0), turn, (x * size[0] / 2, y * size[1] / 2)) for x, y in _CORNERS]
    middles = np.array(list(_places(room, near)))
    corners = middles[:, None, :] + np.array(half)
    outlines = shapely.polygons(corners)
    shapely.prepare(room.area)
    free = shapely.contains(room.area, outlines)
    for line in room.lines:
        free[free] = ~shapely.intersects(shapely.LineString(line), outlines[free])
    if len(room.holes) and free.any():
        _, off = room.nearest_hole.query_nearest(shapely.points(middles[free]), return_distance=True, all_matches=False)
        free[free] = off > min(size) / 2  # else a hole's middle is within the box
    order = np.flatnonzero(free)[np.linalg.norm(middles[free] - near, axis=1).argsort(kind="stable")]
    for k in order:
        if _misses(room.holes, middles[k], size, turn):
            x, y = corners[k][0].tolist()
            return x, y
    return None


_CORNERS = ((-1, -1), (1, -1), (1, 1), (-1, 1))


def _places(room: Room, near: Spot) -> Iterator[Spot]:
    x0, y0, x1, y1 = room.area.bounds
    yield near
    for x in np.linspace(x0, x1, 2 * GRID + 1)[1::2]:
        for y in np.linspace(y0, y1, 2 * GRID + 1)[1::2]:
            yield float(x), float(y)
    for one in polygons(room.area).geoms:
        spot = one.representative_point()
        yield float(spot.x), float(spot.y)


def _is_free(room: Room, box: Polygon) -> bool:
    if not room.area.contains(box):
        return False
    x, y = box.centroid.coords[0]
    near = room.holes[np.hypot(room.holes[:, 0] - x, room.holes[:, 1] - y) < room.holes[:, 2] + box.length / 2]
    return all(box.distance(shapely.Point(*one[:2])) > one[2] + CLEAR for one in near)


def _misses(holes: Floats, middle: Floats, size: Spot, turn: float) -> bool:
    """Whether a turned box about a middle keeps clear of round holes."""
    if not len(holes):
        return True
    c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    own = (holes[:, :2] - middle) @ np.array([[c, -s], [s, c]])
    beyond = np.maximum(np.abs(own) - np.array(size) / 2, 0.0)
    return bool((np.hypot(beyond[:, 0], beyond[:, 1]) > holes[:, 2] + CLEAR).all())
