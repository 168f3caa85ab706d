"""What the loops of the packer look at: every turned thing as numbers, and what rules out what."""

from collections.abc import Sequence
from itertools import combinations_with_replacement
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from tapeloft.model.moments import Points
from tapeloft.model.packing.pieces import Piece
from tapeloft.model.proof.walls import Numbers
from tapeloft.shapes.polyhedron import PER_METRE

Indices = NDArray[np.int64]

FINEST = 2 * PER_METRE  # per metre: the middle of a thing of whole hundredths of a millimetre lies on whole halves
TOUCH = 1e-9  # m: two upright boxes on the grid that meet by no more than this only touch
APART = 2e-6  # m: how far all else is kept apart, so that rounding joins nothing
LEVEL = 1e-9  # of 1: a side whose normal rises or falls by less is upright
ON = 1e-9  # m: a corner this near the grid is on it


class Bodies(NamedTuple):
    """Every turned thing, about its own origin, with its clearance from the walls; K turned things of P pieces."""

    first: Indices  # (K + 1,) where each one's pieces start
    spans: Numbers  # (P, 6) upright box around each piece: lowest x, y, z, highest x, y, z
    sides: Numbers  # (…, 4)
    first_side: Indices  # (P + 1,)
    corners: Numbers  # (…, 3)
    first_corner: Indices  # (P + 1,)
    exact: NDArray[np.bool_]  # (K, 3) along each axis each piece ends on the grid: flush with a wall there is clear
    middles: Numbers  # (P, 3) a point well within each piece
    kind: Indices  # (K,) which thing it is


class Pairs(NamedTuple):
    """For each pair of pieces where one rules out the other: the body of all b − a at which b meets a.

    a and b are places of the things that the pieces are of; pair a · P + b. For upright lines the sides stand here
    once more, as tops z < r0 − r1 x − r2 y, as bottoms z > r0 − r1 x − r2 y, and upright ones as 0 < r0 − r1 x − r2 y,
    drawn in by TOUCH.
    """

    sides: Numbers  # (…, 4)
    first: Indices  # (P² + 1,)
    spans: Numbers  # (P², 6)
    tops: Numbers  # (…, 3)
    first_top: Indices  # (P² + 1,)
    bottoms: Numbers  # (…, 3)
    first_bottom: Indices  # (P² + 1,)
    sheers: Numbers  # (…, 3)
    first_sheer: Indices  # (P² + 1,)


def bodies(turned: Sequence[Sequence[Piece]], kinds: Sequence[int], clearance: float) -> Bodies:
    """Return the turned things as the loops take them; kinds says which thing each of them is."""
    pieces = [piece.grown(clearance) for one in turned for piece in one]
    return Bodies(
        first=_starts([len(one) for one in turned]),
        spans=np.array([np.append(p.corners.min(axis=0), p.corners.max(axis=0)) for p in pieces]),
        sides=np.vstack([p.sides for p in pieces]),
        first_side=_starts([len(p.sides) for p in pieces]),
        corners=np.vstack([p.corners for p in pieces]),
        first_corner=_starts([len(p.corners) for p in pieces]),
        exact=np.array([_on_grid([piece.grown(clearance) for piece in one]) for one in turned]),
        middles=np.array([p.corners.mean(axis=0) for p in pieces]),
        kind=np.array(kinds, np.int64),
    )


def _on_grid(pieces: Sequence[Piece]) -> NDArray[np.bool_]:
    """Along which axes both ends of every piece lie on the grid, with the origin of the thing on it; (3,)."""
    ends = np.array([[p.corners.min(axis=0), p.corners.max(axis=0)] for p in pieces]) * FINEST
    return np.array([(np.abs(ends[..., axis] - np.round(ends[..., axis])) < ON * FINEST).all() for axis in range(3)])


def pairs(turned: Sequence[Sequence[Piece]], clearance: float) -> Pairs:
    """Return where each piece of a turned thing rules out each other one, kept *clearance* m apart.

    And `APART` more, but where both end on the grid along an axis and lie one after the other that way.
    """
    pieces = [piece for one in turned for piece in one]
    exact = [_on_grid(one) for one in turned for _ in one]
    met: dict[tuple[int, int], Points] = {}
    for i, j in combinations_with_replacement(range(len(pieces)), 2):
        sides = meeting(pieces[i], pieces[j])
        square = (np.abs(sides[:, :3]) == 1.0) & exact[i] & exact[j]
        sides[:, 3] += clearance + np.where(square.any(axis=1), 0.0, APART)
        met[i, j] = sides
        met[j, i] = sides * [-1, -1, -1, 1]
    found = [met[i, j] for i in range(len(pieces)) for j in range(len(pieces))]
    reach = clearance + APART
    low = [a.corners.min(axis=0) - b.corners.max(axis=0) - reach for a in pieces for b in pieces]
    high = [a.corners.max(axis=0) - b.corners.min(axis=0) + reach for a in pieces for b in pieces]
    rising = [_rising(sides) for sides in found]
    tops, bottoms, sheers = (np.vstack([three[k] for three in rising]) for k in range(3))
    starts = [_starts([len(three[k]) for three in rising]) for k in range(3)]
    return Pairs(
        np.vstack(found),
        _starts([len(sides) for sides in found]),
        np.hstack([low, high]),
        tops,
        starts[0],
        bottoms,
        starts[1],
        sheers,
        starts[2],
    )


def _rising(sides: Points) -> tuple[Points, Points, Points]:
    """Return sides as tops, bottoms and upright ones, each (n, 3); see `Pairs`."""
    up, rows = sides[:, 2], np.column_stack([sides[:, 3] - TOUCH, sides[:, :2]])
    over, under = up > LEVEL, up < -LEVEL
    return rows[over] / up[over, None], rows[under] / up[under, None], rows[~over & ~under]


def meeting(a: Piece, b: Piece) -> Points:
    """Return the sides, (m, 4), of the body of all d such that b moved by d meets a: a and −b added up.

    Its normals are those of a, those of −b, and products of an edge of each where both are touched along it.
    """
    across = np.cross(a.edges[:, None], b.edges[None]).reshape(-1, 3)
    length = np.linalg.norm(across, axis=1)
    across = across[length > 1e-6] / length[length > 1e-6, None]
    across = np.vstack([across, -across])
    on_a, on_b = a.corners @ across.T, -b.corners @ across.T
    size = 1e-9 * max(float(np.ptp(a.corners)), float(np.ptp(b.corners)))
    edge = ((on_a > on_a.max(axis=0) - size).sum(axis=0) > 1) & ((on_b > on_b.max(axis=0) - size).sum(axis=0) > 1)
    normals = np.vstack([a.sides[:, :3], -b.sides[:, :3], across[edge]])
    _, first = np.unique(np.round(normals, 9) + 0.0, axis=0, return_index=True)
    normals = normals[np.sort(first)]
    offsets = (a.corners @ normals.T).max(axis=0) + (-b.corners @ normals.T).max(axis=0)
    return np.column_stack([normals, offsets])


def _starts(counts: Sequence[int]) -> Indices:
    return np.concatenate([[0], np.cumsum(counts)]).astype(np.int64)
