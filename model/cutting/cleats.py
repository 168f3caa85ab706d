"""The cleats that a board is fastened by: how much of it lies along each wall."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from tapeloft.model.cutting.board import Piece

SHORTEST = 0.06  # m: an edge along a wall that is shorter gets none; common practice, no source
APART = 0.15  # m between two screws at the most; common practice, no source


@dataclass(frozen=True)
class Cleat:
    """A cleat along a wall: the piece that it holds, its length m, and how many screws hold it."""

    piece: str
    wall: str
    length_m: float
    screws: int


def cleats(pieces: Sequence[Piece], spared: Iterable[str] = ()) -> tuple[Cleat, ...]:
    """Return the cleats of a board's pieces, one for each edge along a wall that is long enough for one.

    spared: the names of what nothing is screwed to.
    """
    none = {"", *spared}
    found = []
    for piece in pieces:
        for edge in piece.edges:
            length = sum(math.dist(a, b) for a, b in pairwise(edge.line))
            if edge.wall not in none and length >= SHORTEST:
                found.append(Cleat(piece.letter, edge.wall, length, math.ceil(length / APART) + 1))
    return tuple(found)
