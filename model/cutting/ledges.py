"""A ledge round an area, as bars that can be sawn: one along each run of its edge, long ones whole, others between."""

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise

import numpy as np
import shapely
from shapely import LineString, MultiPolygon, Polygon

from tapeloft.model.cutting.outline import polygons
from tapeloft.model.cutting.walls import Spot, rings

BEND = math.radians(20)  # an edge that turns by less at a corner runs on: round a post it is one bar
LEAST = 0.25  # of the square of its breadth: what is left between two bars and is smaller is none


def ledges(area: Polygon, breadth: float) -> tuple[Polygon, ...]:
    """Return bars of a *breadth*, m, along the edge of an area and within it, that lie side by side.

    An area too narrow for two of them side by side is one bar.

    >>> sorted(round(bar.area, 4) for bar in ledges(shapely.box(0, 0, 1, 0.5), 0.05))
    [0.02, 0.02, 0.05, 0.05]
    """
    within = shapely.buffer(area, -breadth, join_style="mitre")
    if within.is_empty:
        return (area,)
    left = polygons(shapely.difference(area, within))
    bars: list[Polygon] = []
    for run in sorted(_runs(area), key=_long_ones_first):
        strip = shapely.buffer(run, breadth, cap_style="square", join_style="mitre", mitre_limit=2.0)
        strip = shapely.difference(strip, _across(run, breadth))
        found = [one for one in polygons(shapely.intersection(left, strip)).geoms if one.area > LEAST * breadth**2]
        left = polygons(shapely.difference(left, MultiPolygon(found)))
        bars += found
    return tuple(bars)


def _runs(area: Polygon) -> Iterator[LineString]:
    """Yield the edge of an area from one corner to the next; a ring without any in two halves."""
    for ring in rings(polygons(area)):
        spots = ring[:-1]
        at = [k for k in range(len(spots)) if abs(_turn(spots, k)) > BEND] or [0, len(spots) // 2]
        for start, end in pairwise([*at, at[0] + len(spots)]):
            yield LineString([spots[k % len(spots)] for k in range(start, end + 1)])


def _across(run: LineString, by: float) -> MultiPolygon:
    """Return the squares beyond the ends of a run on its right, where at a corner that reaches in the next run is."""
    spots, squares = np.array(run.coords), []
    for end, way, ahead in ((spots[0], spots[1] - spots[0], -by), (spots[-1], spots[-1] - spots[-2], by)):
        along = way / np.hypot(*way)
        onward, right = along * ahead, np.array([along[1], -along[0]]) * by
        squares.append(Polygon([end, end + onward, end + onward + right, end + right]))
    return polygons(shapely.union_all(squares))


def _turn(spots: Sequence[Spot], at: int) -> float:
    """Return by how much the ring turns at a corner, radians."""
    (ax, ay), (bx, by), (cx, cy) = spots[at - 1], spots[at], spots[(at + 1) % len(spots)]
    (ux, uy), (vx, vy) = (bx - ax, by - ay), (cx - bx, cy - by)
    return math.atan2(ux * vy - uy * vx, ux * vx + uy * vy)


def _long_ones_first(run: LineString) -> tuple[float, ...]:
    """Of two as long, the one that runs more fore and aft, then the one nearer the middle line: mirrored alike."""
    x0, y0, x1, y1 = run.bounds
    return -round(run.length, 4), round((y1 - y0) - (x1 - x0), 4), round(abs(y0 + y1), 4), round(x0 + x1, 4), y0
