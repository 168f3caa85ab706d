"""Where a board is parted, so that every piece goes in, weighs no more than it may, and goes round what stands."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely
from shapely import MultiPolygon, Polygon

from tapeloft.model.cutting.inset import without_necks
from tapeloft.model.cutting.outline import polygons
from tapeloft.model.cutting.passing import least_width

MOST = 24  # strips that a board is tried in
CRUMB = 0.1  # of a square as broad as a neck may be: what a corner loses that is no neck
SAMPLES, NARROWED = 129, 24  # of how its area grows; halvings

SLIVER = "would be a sliver"

Cuts = tuple[int, list[float]]
"""An axis, and where on it a board is cut across."""
Lacking = Callable[[Polygon], str]
"""What a piece lacks, in words; "" where nothing."""
Line = tuple[tuple[float, float], tuple[float, float]]
"""From, to, m."""


@dataclass(frozen=True)
class Parted:
    """The pieces of a board, none where none of those tried do; why: what the nearest try lacks, in words.

    joints: the middles of the joints, each as far as it runs through the board unbroken.
    """

    pieces: tuple[Polygon, ...]
    why: str
    joints: tuple[Line, ...] = ()


def parted(
    area: MultiPolygon, cuts: Iterable[Cuts], lacks: Lacking, joint: float, least: float, neck: float = 0.0
) -> Parted:
    """Return a board in the fewest pieces that some of the *cuts* make of it and that lack nothing.

    joint: m left between two pieces; least: m, the least width of a piece, so that no sliver is left; neck: m,
    nothing in a piece is narrower. Where something stands through the board a joint runs through it, for otherwise the
    piece would not go round it.
    """
    whole = _judged(area.geoms, lacks, 0.0, 0.0)
    if not whole[1]:
        return Parted(tuple(area.geoms), "")
    best, nearest, slim = None, whole, ""
    joints: tuple[Line, ...] = ()
    for axis, places in sorted(cuts, key=lambda one: len(one[1])):
        if best is not None and len(places) >= len(best):
            break
        pieces = polygons(shapely.difference(area, shapely.union_all([_kerf(area, axis, at, joint) for at in places])))
        judged = _judged(pieces.geoms, lacks, least, neck)
        if not judged[1] and (best is None or len(pieces.geoms) < len(best)):
            best = tuple(pieces.geoms)
            joints = tuple(line for at in places for line in _through(area, axis, at))
        if SLIVER in judged[1]:
            slim = ", and a narrower one " + SLIVER
        elif judged[0] <= nearest[0]:
            nearest = judged
    return Parted(best or (), "" if best else nearest[1] + slim, joints)


def _judged(pieces: Sequence[Polygon], lacks: Lacking, least: float, neck: float) -> tuple[float, str]:
    """Return the share of the pieces that lack something, and what the first of them lacks."""
    found = [_wanting(one, lacks, least, neck) for one in pieces]
    wanting = [one for one in found if one]
    return len(wanting) / max(len(found), 1), wanting[0] if wanting else ""


def _wanting(piece: Polygon, lacks: Lacking, least: float, neck: float) -> str:
    if piece.interiors:
        return "a piece would not go round what stands through it"
    lacking, width = lacks(piece), least_width(piece)
    if lacking:
        return lacking
    if width < least:
        return f"a piece {SLIVER}, {width * 1000:.0f} mm wide"
    if without_necks(MultiPolygon([piece]), neck).area < piece.area - neck * neck * CRUMB:
        return f"a piece would have a neck narrower than {neck * 1000:.0f} mm"
    return ""


def straight_cuts(area: MultiPolygon, lacks: Lacking) -> Iterator[Cuts]:
    """Yield lists of cuts across an axis.

    Evenly spaced, in strips of even area, through the middles of holes and evenly between them; and each as far from
    the last as the strip between them lacks nothing: where a part of a piece lacks nothing that the piece does not,
    no fewer straight joints across that axis do.
    """
    holes = [Polygon(ring) for polygon in area.geoms for ring in polygon.interiors]
    for axis in (0, 1):
        low, high = area.bounds[axis], area.bounds[axis + 2]
        middles = sorted({round((hole.bounds[axis] + hole.bounds[axis + 2]) / 2, 5) for hole in holes})
        places = np.linspace(low, high, SAMPLES)
        below = [shapely.intersection(area, _band(area, axis, low - 1, at)).area for at in places.tolist()]
        for strips in range(1, MOST + 1):
            shares = np.arange(1, strips) / strips
            yield axis, (low + (high - low) * shares).tolist()
            yield axis, np.interp(shares * below[-1], below, places).tolist()
            if middles:
                yield axis, _between([low, *middles, high], (high - low) / strips)
        farthest = _farthest(area, axis, lacks)
        if farthest:
            yield axis, farthest


def _between(stops: list[float], step: float) -> list[float]:
    cuts = []
    for start, end in pairwise(stops):
        parts = max(1, round((end - start) / step))
        cuts += [start + (end - start) * k / parts for k in range(1, parts + 1)]
    return cuts[:-1]


def _farthest(area: MultiPolygon, axis: int, lacks: Lacking) -> list[float]:
    """Return cuts each as far from the last as the pieces between them lack nothing; none where that is too many."""
    low, high = area.bounds[axis], area.bounds[axis + 2]
    cuts: list[float] = []
    start = low

    def does(at: float) -> bool:
        return not _judged(polygons(shapely.intersection(area, _band(area, axis, start, at))).geoms, lacks, 0.0, 0.0)[1]

    while not does(high):
        at, beyond = start, high
        for _ in range(NARROWED):
            middle = (at + beyond) / 2
            at, beyond = (middle, beyond) if does(middle) else (at, middle)
        if at - start < (high - low) / MOST:
            return []
        cuts.append(at)
        start = at
    return cuts


def _through(area: MultiPolygon, axis: int, at: float) -> Iterator[Line]:
    """Yield the lines in which a cut across an axis runs through an area."""
    x0, y0, x1, y1 = area.bounds
    ends = [(at, y0 - 1), (at, y1 + 1)] if axis == 0 else [(x0 - 1, at), (x1 + 1, at)]
    for one in shapely.get_parts(shapely.intersection(area, shapely.LineString(ends))):
        if one.length > 0:
            (ax, ay), *_, (bx, by) = one.coords
            yield (ax, ay), (bx, by)


def _kerf(area: MultiPolygon, axis: int, at: float, joint: float) -> Polygon:
    half = max(joint, 1e-6) / 2
    return _band(area, axis, at - half, at + half)


def _band(area: MultiPolygon, axis: int, start: float, end: float) -> Polygon:
    x0, y0, x1, y1 = area.bounds
    return shapely.box(start, y0 - 1, end, y1 + 1) if axis == 0 else shapely.box(x0 - 1, start, x1 + 1, end)
