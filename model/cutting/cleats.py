"""The cleats that a board is fastened by: how much of it lies along each wall."""

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import shapely
from shapely import LineString, MultiPolygon, Polygon

from tapeloft.model.cutting.board import Edge, Piece
from tapeloft.model.cutting.outline import polygons
from tapeloft.model.survey.survey import Survey

SHORTEST = 0.06  # m: an edge along a wall that is shorter gets none; common practice, no source
APART = 0.15  # m between two screws at the most; common practice, no source


@dataclass(frozen=True)
class Cleat:
    """A cleat along a wall: the piece that it holds, its length m, and its screws, none where it is bonded."""

    piece: str
    wall: str
    length_m: float
    screws: int


def structural(survey: Survey) -> tuple[str, ...]:
    """Return the names of what is structural in a space: nothing is screwed to it."""
    return tuple(one.name for one in survey.obstructions if one.structural)


def held_in(survey: Survey, pieces: Sequence[Piece]) -> tuple[Cleat, ...]:
    """Return the cleats of a board's pieces in a space; bonded in a gas locker, whose walls are to stay whole."""
    found = cleats(pieces, structural(survey))
    return tuple(replace(one, screws=0) for one in found) if survey.space.use == "gas" else found


def cleats(pieces: Sequence[Piece], spared: Collection[str] = ()) -> tuple[Cleat, ...]:
    """Return the cleats of a board's pieces, one for each edge along a wall that is long enough for one.

    spared: the names of what nothing is screwed to.
    """
    return tuple(
        Cleat(piece.letter, edge.wall, _long(edge), math.ceil(_long(edge) / APART) + 1)
        for piece in pieces
        for edge in _held(piece, spared)
    )


def under_cleats(piece: Piece, breadth: float, spared: Collection[str]) -> MultiPolygon:
    """Return what of a piece its cleats lie on, m, so broad."""
    return _along(piece, _held(piece, spared), breadth)


def along_cleats(pieces: Sequence[Piece], breadth: float, spared: Collection[str]) -> MultiPolygon:
    """Return what of some pieces lies along walls that have cleats, m, so broad.

    Along an edge that is too short for a cleat of its own as well: its wall goes on beyond a joint.
    """
    walls = {edge.wall for piece in pieces for edge in _held(piece, spared)}
    beside = [_along(one, [edge for edge in one.edges if edge.wall in walls], breadth) for one in pieces]
    return polygons(shapely.union_all(beside))


def _along(piece: Piece, edges: Sequence[Edge], breadth: float) -> MultiPolygon:
    lines = [LineString(edge.line) for edge in edges]
    beside = [shapely.buffer(one, breadth, cap_style="square", join_style="mitre") for one in lines]
    return polygons(shapely.intersection(Polygon(piece.outline.exterior), shapely.union_all(beside)))


def _held(piece: Piece, spared: Collection[str]) -> list[Edge]:
    """Return the edges of a piece that have a cleat."""
    return [edge for edge in piece.edges if edge.wall not in ("", *spared) and _long(edge) >= SHORTEST]


def _long(edge: Edge) -> float:
    return sum(math.dist(a, b) for a, b in pairwise(edge.line))
