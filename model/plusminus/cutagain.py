"""A part that was cut to a space, held in spaces as they might be read: how far its walls may be off, and its area.

What a board may fill hangs on the nearest of its walls through its thickness, so the space is drawn anew, and each time
it is asked how far each edge of the part would lie from the wall it was given its gap to.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon, Polygon

from tapeloft.model.cutting.outline import clear_outline
from tapeloft.model.cutting.plane import Plane
from tapeloft.model.moments import Points
from tapeloft.model.solid import Solid

DRAWN = 60  # times: a standard deviation is known to a tenth by then
TAKEN = (1 / 8, 3 / 8, 5 / 8, 7 / 8)  # where along an edge it is asked
ON = 1e-5  # m
NEAR = 1.5  # times the widest gap, beyond which an edge stands at no wall but at a joint


@dataclass(frozen=True)
class CutOff:
    """How far a part cut to a space may be off, one standard deviation each.

    clear_sd_m2: of the outline that is clear, without any gap. area_sd_m2, areas_sd_m2: of the part, and of each piece,
    were it cut anew. wall_sd_m: of the gap where that is least certain, at_m: there, in the plane's axes. touches: in
    how many of the *drawn* spaces the part as it is cut would touch a wall. Where no edge stands at a wall no space is
    drawn, and what would follow the walls is None.
    """

    clear_sd_m2: float | None
    area_sd_m2: float | None
    areas_sd_m2: tuple[float | None, ...]
    wall_sd_m: float | None
    at_m: tuple[float, float] | None
    touches: int
    drawn: int


@dataclass(frozen=True)
class OpenEdge:
    """A straight open edge, so far from the farthest of a side that it goes with it: which axis of the plane it lies
    across, and which way along that the side is, 1 or -1.
    """

    axis: int
    sign: int

    def side(self, area: MultiPolygon | Polygon) -> float:
        """Return where the farthest of that side is, m."""
        return float(area.bounds[self.axis + (2 if self.sign > 0 else 0)])

    def lengths(self, pieces: Sequence[Polygon]) -> Points:
        """Return how much of the edge each of *pieces* has, m."""
        ends = [one.bounds[self.axis + (0 if self.sign > 0 else 2)] * self.sign for one in pieces]
        found: Points = np.array([_along(one, self.axis, min(ends) * self.sign) for one in pieces])
        return found


@dataclass(frozen=True, eq=False)
class Behind:
    """What lies on a part, on a plane of its own and with a thickness, m: it touches what is there as the part does."""

    plane: Plane
    thickness: float
    outlines: tuple[Polygon, ...]

    def touches(self, spaces: Iterable[Solid]) -> NDArray[np.bool_]:
        """Return in which of the spaces any of it would touch a wall."""
        spots = np.concatenate([_along_edges(one)[:, :2] for one in self.outlines])
        outlines = (clear_outline(space, self.plane, self.thickness) for space in spaces)
        return np.array([bool((_within(spots, outline) < 0).any()) for outline in outlines])


def cut_off(
    spaces: Iterable[Solid] | None, plane: Plane, thickness: float, clear: MultiPolygon, pieces: Sequence[Polygon],
    gap: float, edge: OpenEdge | None = None, behind: Behind | None = None,
) -> CutOff | None:  # fmt: skip
    """Return how far *pieces* that were cut to the *clear* outline, on a plane and of a *thickness*, may be off.

    spaces: as they might be read, None where that is not known; then nor is this, of pieces that stand at a wall.
    gap: the widest that they were given, m. edge: the open one, where they have one that goes with a side. behind:
    what lies on them, which may touch as well.
    """
    taken = [_taken(piece, clear, gap) for piece in pieces]
    spots = np.concatenate([one[:, :2] for one in taken])
    if not len(spots):
        return CutOff(None, None, (None,) * len(pieces), None, None, 0, 0)
    if spaces is None:
        return None
    drawn = list(spaces)
    nominal, offs, areas, sides = _within(spots, clear), [], [], []
    for space in drawn:
        outline = clear_outline(space, plane, thickness)
        offs.append(_within(spots, outline) - nominal)
        areas.append(outline.area)
        sides.append(edge.side(outline) - edge.side(clear) if edge else 0.0)
    off = np.array(offs)
    of_piece = np.split(off, np.cumsum([len(one) for one in taken])[:-1], axis=1)
    grows = np.array([one @ lie[:, 2] for one, lie in zip(of_piece, taken, strict=True)])
    if edge:
        grows -= np.outer(edge.lengths(pieces), edge.sign * np.array(sides))
    worst = int(off.std(axis=0, ddof=1).argmax())
    touched = ((off + nominal) < 0).any(axis=1)
    if behind is not None:
        touched |= behind.touches(drawn)
    x, y = spots[worst].tolist()
    sd = float(off[:, worst].std(ddof=1))
    whole, each = float(grows.sum(axis=0).std(ddof=1)), tuple(grows.std(axis=1, ddof=1).tolist())
    return CutOff(float(np.std(areas, ddof=1)), whole, each, sd, (x, y), int(touched.sum()), len(off))


def worst(every: Sequence[CutOff | None]) -> CutOff | None:
    """Return that of the piece that most often touches a wall, of those alike whose gap is least certain.

    None of none, and where it is not known of every piece.
    """
    known = [one for one in every if one is not None]
    if len(known) < len(every):
        return None
    return max(known, key=lambda one: (one.touches, one.wall_sd_m or 0.0), default=None)


def _taken(piece: Polygon, clear: MultiPolygon, gap: float) -> Points:
    """Return points along the edges of a piece that stand at walls, and the length that each stands for, (k, 3) m."""
    every = _along_edges(piece)
    at_wall = _within(every[:, :2], clear) <= NEAR * gap + 1e-4
    kept: Points = every[at_wall]
    return kept


def _along_edges(piece: Polygon) -> Points:
    """Return points along all edges of a piece, and the length that each stands for, (k, 3) m."""
    found = []
    for ring in (piece.exterior, *piece.interiors):
        start = np.array(ring.coords)[:-1, :2]
        way = np.roll(start, -1, axis=0) - start
        length = np.linalg.norm(way, axis=1) / len(TAKEN)
        found += [np.column_stack([start + share * way, length]) for share in TAKEN]
    every: Points = np.concatenate(found)
    return every


def _along(piece: Polygon, axis: int, at: float) -> float:
    """Return how much of a piece's outline lies where an axis is *at*, m."""
    start = np.array(piece.exterior.coords)[:, :2]
    on = np.abs(start[:, axis] - at) < ON
    return float((np.linalg.norm(np.diff(start, axis=0), axis=1) * (on[1:] & on[:-1])).sum())


def _within(spots: Points, area: MultiPolygon) -> Points:
    """Return how far within an area points (k, 2) lie, m; negative outside it."""
    points = shapely.points(spots)
    off = shapely.distance(points, area.boundary)
    within: Points = np.where(shapely.intersects(points, area), off, -off)
    return within
