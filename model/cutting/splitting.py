"""Where a board is parted, so that every piece goes in through an opening and round what stands through it."""

from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise

import shapely
from shapely import MultiPolygon, Polygon

from tapeloft.model.cutting.outline import polygons
from tapeloft.model.cutting.passing import least_width

MOST = 24  # strips that a board is tried in


Cuts = tuple[int, list[float]]
"""An axis, and where on it a board is cut across."""


def parted(
    area: MultiPolygon, cuts: Iterable[Cuts], widest: float, joint: float, least: float
) -> tuple[Polygon, ...] | None:
    """Return the pieces of a board, in as few strips as go; None where no number of straight strips does.

    cuts: what is tried, fewest first; widest: m, the greatest least width that goes in; joint: m left between two
    pieces; least: m, the least width of a piece, so that no sliver is left. Where something stands through the board
    a joint runs through it, for otherwise the piece would not go round it.
    """
    if _do(area.geoms, widest, 0.0):
        return tuple(area.geoms)
    for axis, places in sorted(cuts, key=lambda one: len(one[1])):
        pieces = polygons(shapely.difference(area, shapely.union_all([_kerf(area, axis, at, joint) for at in places])))
        if _do(pieces.geoms, widest, least):
            return tuple(pieces.geoms)
    return None


def _do(pieces: Sequence[Polygon], widest: float, least: float) -> bool:
    return all(not one.interiors and least <= least_width(one) <= widest for one in pieces)


def straight_cuts(area: MultiPolygon) -> Iterator[Cuts]:
    """Yield lists of cuts across an axis: evenly spaced, and through the middles of holes and evenly between them."""
    holes = [Polygon(ring) for polygon in area.geoms for ring in polygon.interiors]
    for axis in (0, 1):
        low, high = area.bounds[axis], area.bounds[axis + 2]
        middles = sorted({round((hole.bounds[axis] + hole.bounds[axis + 2]) / 2, 5) for hole in holes})
        for strips in range(1, MOST + 1):
            yield axis, [low + (high - low) * k / strips for k in range(1, strips)]
            if middles:
                yield axis, _between([low, *middles, high], (high - low) / strips)


def _between(stops: list[float], step: float) -> list[float]:
    cuts = []
    for start, end in pairwise(stops):
        parts = max(1, round((end - start) / step))
        cuts += [start + (end - start) * k / parts for k in range(1, parts + 1)]
    return cuts[:-1]


def _kerf(area: MultiPolygon, axis: int, at: float, joint: float) -> Polygon:
    x0, y0, x1, y1 = area.bounds
    half = max(joint, 1e-6) / 2
    if axis == 0:
        return shapely.box(at - half, y0 - 1, at + half, y1 + 1)
    return shapely.box(x0 - 1, at - half, x1 + 1, at + half)
