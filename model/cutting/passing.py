"""Whether a flat piece goes in through an opening edge first, and how wide it may be."""

import math
from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from tapeloft.model.openings import ClearOpening

BITE = 1 - math.sqrt(0.5)  # of a corner's radius: what a rounded corner takes off the rectangle within it
NARROWED = 50  # halvings


def rectangle_passes(p: float, q: float, a: float, b: float) -> bool:
    """Whether a rectangle p × q lies in a rectangle a × b in some turn, in any one unit.

    L. Carver's criterion (American Mathematical Monthly 64, 1957; J. Wetzel, Mathematics Magazine 73, 2000).

    >>> rectangle_passes(2.0, 0.5, 1.8, 1.7339), rectangle_passes(2.0, 0.5, 1.8, 1.7337)
    (True, False)
    """
    (q, p), (b, a) = sorted((p, q)), sorted((a, b))
    if q > b:
        return False
    if p <= a:
        return True
    square = p * p + q * q - a * a
    return b >= (2 * p * q * a + (p * p - q * q) * math.sqrt(square)) / (p * p + q * q)


def goes_through(width: float, thickness: float, opening: ClearOpening) -> bool:
    """Whether a flat piece of so great a least width, m, goes straight in through an opening, edge first, in any turn.

    Enough, not needed: a rounded corner is taken as the rectangle that lies within it, and a piece that does not go
    straight may yet be worked in.
    """
    a, b = opening.clear
    if opening.is_round:
        return math.hypot(width, thickness) <= a
    taken = 2 * BITE * min(opening.corner_radius, a / 2, b / 2)
    return rectangle_passes(width, thickness, a - taken, b - taken)


def widest(thickness: float, openings: Sequence[ClearOpening]) -> float:
    """Return the greatest least width, m, of a piece that some opening lets in; 0 where none does."""
    low, high = 0.0, max((2 * sum(one.clear) for one in openings), default=0.0)
    for _ in range(NARROWED):
        middle = (low + high) / 2
        passes = any(goes_through(middle, thickness, one) for one in openings)
        low, high = (middle, high) if passes else (low, middle)
    return low


def least_width(area: BaseGeometry) -> float:
    """Return the least distance, m, between two parallel lines that hold an area between them.

    One of them lies along an edge of the convex hull (Houle and Toussaint, 1988).

    >>> round(least_width(shapely.Polygon([(0, 0), (3, 0), (3, 4), (0, 4)])), 9)
    3.0
    """
    ring = np.array(shapely.convex_hull(area).exterior.coords)[:-1]
    edges = np.roll(ring, -1, axis=0) - ring
    normals = np.column_stack([-edges[:, 1], edges[:, 0]]) / np.linalg.norm(edges, axis=1)[:, None]
    across = normals @ ring.T
    return float((across.max(axis=1) - across.min(axis=1)).min())
