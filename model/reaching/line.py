"""The line that a rail lies on: along a side at a height, so far off it, clear of lids, as far as an arm reaches."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
import shapely
from shapely import LineString, MultiLineString, MultiPolygon
from shapely.geometry.base import BaseGeometry

from tapeloft.model.compartment import Compartment
from tapeloft.model.cutting.inset import Gaps, inset
from tapeloft.model.cutting.outline import clear_outline
from tapeloft.model.cutting.plane import Plane, at_height
from tapeloft.model.cutting.walls import Walled, walled
from tapeloft.model.moments import Points
from tapeloft.model.reaching.arm import Arm, Lid

SideName = Literal["port", "starboard"]
ASIDE = 0.2  # of a wall's way out, at least, that looks to a side for the wall to be of that side
PLUMB = 45.0  # degrees off plumb at the most, of a side: what lies flatter is deck or sole
NEAR = 1e-4  # m
SCALLOP = 3e-3  # m: by so much the distance to the side may be more, at the corners of a side that is drawn in facets
TURNED = 0.87  # the cosine of a turn that is round a corner
FINE = 5e-4  # m: how finely the ends of what is in reach are looked for


@dataclass(frozen=True, eq=False)
class Level:
    """A height at which a rail may lie, its middle; m.

    plane: of its underside. clear: where all its depth is in the space; edges: that outline's, with their walls. room:
    where its middle may be. lines: where the middle keeps its distance from the side, from aft forward.
    """

    height: float
    plane: Plane
    clear: MultiPolygon
    edges: tuple[Walled, ...]
    lines: tuple[LineString, ...]


def level_at(
    compartment: Compartment, side: SideName, height: float, depth: float, off: float, gap: float, falls: BaseGeometry
) -> Level:
    """Return what a height offers a rail *depth* deep whose middle is *off* the side, m, and *gap* from all else.

    The distance to the side is kept to within SCALLOP, so that the rail runs fair where the side is drawn in facets.
    falls: what stays clear, x, y, the rail's middle not within it.
    """
    plane = at_height(height - depth / 2)
    clear = clear_outline(compartment.inside, plane, depth)
    edges = walled(compartment, plane, depth, clear)
    sides = [(one.start, one.end) for one in edges if one.kind == "side" and _looks(one, side)]
    room = inset(clear, edges, Gaps(off, gap, gap))
    kept = shapely.buffer(MultiLineString(sides), off + SCALLOP)
    along = shapely.difference(shapely.intersection(room.boundary, kept), falls)
    merged = shapely.line_merge(along) if isinstance(along, MultiLineString) else along
    fair = min(SCALLOP, (off - gap) / 2) if off > gap else 0.0
    pieces = (one for one in shapely.get_parts(merged) if isinstance(one, LineString))
    parts = [shapely.simplify(_without_hooks(one), fair) for one in pieces]
    return Level(height, plane, clear, edges, tuple(_forward(one) for one in parts if one.length > NEAR))


def in_reach(level: Level, lids: Sequence[Lid], arm: Arm) -> LineString | None:
    """Return the longest stretch of a level's lines that an arm reaches all along; None where it reaches none."""
    stretches = [one for line in level.lines for one in _stretches(line, level.height, lids, arm)]
    return max(stretches, key=lambda one: round(one.length, 6), default=None)


def nearest(level: Level, lids: Sequence[Lid]) -> float:
    """Return how far the nearest place of a level's lines is from the shoulder, m; infinite where it has none."""
    every = [_off(_spots(line)[1], level.height, lids).min() for line in level.lines]
    return min(every, default=float("inf"))


def at_height_of(points: Points, height: float) -> Points:
    """Return points x, y, (n, 2), at a height, (n, 3) m."""
    return np.column_stack([points, np.full(len(points), height)])


def _stretches(line: LineString, height: float, lids: Sequence[Lid], arm: Arm) -> list[LineString]:
    at, spots = _spots(line)
    near = _off(spots, height, lids) <= arm.reach
    ends = np.flatnonzero(np.diff(np.concatenate([[False], near, [False]]).astype(int)))
    pairs = [(at[first], at[last - 1]) for first, last in zip(ends[::2], ends[1::2], strict=True)]
    return [_between(line, start, end) for start, end in pairs if end - start > NEAR]


def _between(line: LineString, start: float, end: float) -> LineString:
    from shapely.ops import substring

    part = substring(line, start, end)
    assert isinstance(part, LineString)
    return part


def _spots(line: LineString) -> tuple[Points, Points]:
    at = np.linspace(0.0, line.length, max(2, int(line.length / FINE) + 1))
    return at, shapely.get_coordinates(shapely.line_interpolate_point(line, at))


def _off(spots: Points, height: float, lids: Sequence[Lid]) -> Points:
    points = at_height_of(spots, height)
    distances: Points = np.min([lid.off(points) for lid in lids], axis=0)
    return distances


def _looks(edge: Walled, side: SideName) -> bool:
    """Whether a wall is nearer to plumb than to level, and its way out, to the right of its edge, is to a side."""
    if abs(edge.bevel) > PLUMB:
        return False
    x, y = np.subtract(edge.end, edge.start)
    out = -x / max(float(np.hypot(x, y)), 1e-12)
    return bool(out > ASIDE if side == "port" else out < -ASIDE)


def _without_hooks(line: LineString) -> LineString:
    """Return a line without the short turns at its ends where it runs round a corner of the room."""
    corners = list(line.coords)
    for last in (0, -1):
        if len(corners) > 2 and _is_hook(corners[last], *(corners[1:3] if last == 0 else corners[-2:-4:-1])):
            del corners[last]
    return LineString(corners)


def _is_hook(end: Sequence[float], corner: Sequence[float], beyond: Sequence[float]) -> bool:
    a, b = np.subtract(corner, end), np.subtract(beyond, corner)
    size = float(np.hypot(*a))
    return size <= 2 * SCALLOP and float(a @ b) < TURNED * size * float(np.hypot(*b))


def _forward(line: LineString) -> LineString:
    return line if line.coords[0][0] <= line.coords[-1][0] else LineString(line.coords[::-1])
