"""Treads of one flight on one side of a lid's fall: their outlines, in the side's own axes."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import LineString, MultiPolygon, Polygon, box
from shapely.geometry.base import BaseGeometry

from tapeloft.model.cutting.centres import centres
from tapeloft.model.cutting.outline import polygons
from tapeloft.model.fall import Fall
from tapeloft.model.moments import Points

HALVINGS = 20
TOE = 0.10  # m: as far behind the nosings a foot finds what stands there; common practice, no source
AHEAD = 0.35  # m: no farther before the nosing a person stands with a foot on it; common practice, no source
NEAR = 1e-6  # m
DEEPER = 0.20  # m: so much deeper than asked for a tread may be that reaches a wall so
FASTENED = 0.10  # m: a tread that lies along a wall for less is not held by it
EVERY = 0.04  # m: the places along the opening's edge that a flight is tried at
WAYS = {"port": (0.0, 1.0), "starboard": (0.0, -1.0), "forward": (1.0, 0.0), "aft": (-1.0, 0.0)}


@dataclass(frozen=True)
class Side:
    """A side of a fall, with axes of its own: x along the opening's edge, y away from the fall, nought mid-edge, m.

    span: the edge's length.
    """

    name: str
    start: tuple[float, float]
    away: tuple[float, float]
    span: float

    @property
    def rows(self) -> Points:
        """Along and away, (2, 2)."""
        return np.array([[abs(self.away[1]), abs(self.away[0])], self.away])

    def seen(self, area: BaseGeometry) -> MultiPolygon:
        """Return an area of the compartment in the side's axes."""
        return polygons(shapely.transform(area, lambda points: (points - self.start) @ self.rows.T))

    def placed(self, area: BaseGeometry) -> MultiPolygon:
        """Return an area of the side's axes in the compartment's."""
        return polygons(shapely.transform(area, lambda points: points @ self.rows + self.start))


@dataclass(frozen=True, eq=False)
class Laid:
    """A tread: its outline, side's axes, m; nosing: its y; along: where along it a foot has the room asked for.

    held: how much of its edge lies along sides or ends of the compartment, m: what it may be fastened along.
    """

    outline: Polygon
    nosing: float
    along: BaseGeometry
    held: float


def side_of(fall: Fall, name: str) -> Side:
    """Return a side of a fall by its name: port, starboard, forward or aft."""
    x0, y0, x1, y1 = fall.plan.bounds
    ways = WAYS[name]
    start = ((x0 + x1) / 2 + ways[0] * (x1 - x0) / 2, (y0 + y1) / 2 + ways[1] * (y1 - y0) / 2)
    return Side(name, start, ways, y1 - y0 if ways[0] else x1 - x0)


def places(side: Side, narrowest: float) -> Iterator[float]:
    """Yield places along the opening's edge that a flight may have its middle at, from the edge's middle out."""
    yield 0.0
    for step in range(1, int(max(0.0, side.span / 2 - narrowest / 2) / EVERY) + 1):
        yield step * EVERY
        yield -step * EVERY


def laid(
    room: MultiPolygon, walls: BaseGeometry, at: float, nosing: float, most: tuple[float, float],
    least: tuple[float, float],
) -> Laid:  # fmt: skip
    """Return the tread that a room, side's axes, leaves behind a *nosing*, its middle *at* along the edge; m.

    walls: the strips in which an edge lies along a wall. most, least: its width and depth; it goes DEEPER where that
    brings it to a wall. `along` is empty where none is as wide and deep as the least.
    """
    first = _cut(room, walls, at, nosing, most, least)
    if first.held >= FASTENED or first.along.is_empty:
        return first
    deeper = _cut(room, walls, at, nosing, (most[0], most[1] + DEEPER), least)
    return deeper if deeper.held >= FASTENED else first


def _cut(
    room: MultiPolygon, walls: BaseGeometry, at: float, nosing: float, most: tuple[float, float],
    least: tuple[float, float],
) -> Laid:  # fmt: skip
    window = box(at - most[0] / 2, nosing, at + most[0] / 2, nosing + most[1])
    every = polygons(shapely.intersection(room, window))
    outline, along = Polygon(), shapely.GeometryCollection()
    for one in every.geoms:
        found = feet(one, nosing, *least)
        if found.length > along.length or (not found.is_empty and along.is_empty):
            outline, along = one, found
    held = shapely.intersection(outline.exterior, walls).length
    return Laid(outline, nosing, along, held)


def feet(area: BaseGeometry, nosing: float, wide: float, deep: float) -> BaseGeometry:
    """Return where along the nosing, on y = 0, the middle of *wide* × *deep* m behind it may lie within an area."""
    x0, _, x1, _ = area.bounds if not area.is_empty else (0.0, 0.0, 1.0, 0.0)
    line = LineString([(x0 - 1, nosing + deep / 2), (x1 + 1, nosing + deep / 2)])
    return _on_edge(shapely.intersection(centres(area, wide, deep), line))


def feet_on(top: MultiPolygon, nosing: float, wide: float, deep: float) -> BaseGeometry:
    """Return the same for what stands there: it may begin a toe's length behind the nosing, or stand before it."""
    free = centres(top, wide, deep)
    if free.is_empty:
        return free
    x0, _, x1, _ = free.bounds
    near = shapely.intersection(free, box(x0 - 1, nosing - AHEAD, x1 + 1, nosing + TOE + deep / 2))
    spans = [(one.bounds[0], one.bounds[2]) for one in shapely.get_parts(near) if not one.is_empty]
    return shapely.union_all([LineString([(a, 0), (max(b, a + 1e-6), 0)]) for a, b in spans])


def deepest(area: BaseGeometry, nosing: float, wide: float, most: float) -> float:
    """Return how deep, up to *most* m, a place *wide* m behind the nosing is; 0 where there is none."""
    low, high = 0.0, most
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        low, high = (middle, high) if not feet(area, nosing, wide, middle).is_empty else (low, middle)
    return low


def widest(area: BaseGeometry, nosing: float, deep: float, most: float) -> float:
    """Return how wide, up to *most* m, a place *deep* m behind the nosing is; 0 where there is none."""
    low, high = 0.0, most
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        low, high = (middle, high) if not feet(area, nosing, middle, deep).is_empty else (low, middle)
    return low


def shared(every: Sequence[BaseGeometry]) -> float | None:
    """Return the middle of the longest stretch along the edge that all have; None where they share none."""
    left = every[0]
    for one in every[1:]:
        left = shapely.intersection(left, one)
    parts = [one for one in shapely.get_parts(left) if not one.is_empty]
    best = max(parts, key=lambda one: (round(one.length, 6), -abs(one.centroid.x)), default=None)
    return None if best is None else float(best.centroid.x)


def longest(line: BaseGeometry) -> float:
    """Return the length of the longest stretch of a line along the edge, m."""
    return max((one.length for one in shapely.get_parts(line)), default=0.0)


def _on_edge(line: BaseGeometry) -> BaseGeometry:
    return shapely.transform(line, lambda points: points * [1.0, 0.0])
