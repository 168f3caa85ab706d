"""Whether a flat piece goes in through an opening edge first, by which end and how it is turned there."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from tapeloft.model.openings import ClearOpening

NARROWED = 50  # halvings
EASE = 0.005  # m: so far from the edge corners have to stay, for tape, paint and fingers; common practice, no source
ROOMY = 0.01  # m: what a hand wants at the corners
TURNS, ZOOMS = 181, 6  # turns that are tried at a time, and how often round the best of them


@dataclass(frozen=True)
class Passage:
    """How a flat piece goes straight in through a clear opening, its face along the way, an end first.

    opening, wall: which. lead: of unit length, the end that goes first, in the axes of the piece's plane; the other
    end does as well. width_m: across the way. turn_deg: its width's turn in the opening off the first axis of the
    opening's clear sizes. spare_m: how far its corners stay from the clear edge.
    """

    opening: str
    wall: str
    lead: tuple[float, float]
    width_m: float
    turn_deg: float
    spare_m: float


def passages(
    area: BaseGeometry, thickness: float, openings: Sequence[ClearOpening], ease: float = EASE
) -> tuple[Passage, ...]:
    """Return a passage for each of the openings that lets a flat piece of an outline, m, and a *thickness*, m, in.

    The piece moves square to the wall, along its own face and across its least width, so that the rectangle of width
    and thickness is all that ever crosses the opening; each passage tells a turn in which that lies within the clear
    edge, *ease*, m, from it at the least, found and held. Enough, not needed: a piece that goes in no such
    way may yet be worked in.
    """
    width, across = narrowest(area)
    found = ((one, *turned_in(width, thickness, one)) for one in openings)
    lead = (float(across[1]), float(-across[0]))
    return tuple(Passage(one.name, one.wall, lead, width, turn, spare) for one, turn, spare in found if spare >= ease)


def turned_in(width: float, thickness: float, opening: ClearOpening) -> tuple[float, float]:
    """Return the turn, degrees, in which a rectangle, m, lies best in an opening, and how far from its edge, m.

    Square to the opening where that leaves a hand's room; negative where it lies in it in no turn. The opening is its
    own mirror image both ways, so that the rectangle lies best about its middle and two of its corners say all.

    >>> from tapeloft.model.openings import ClearOpening
    >>> hatch = ClearOpening("hatch", "top", np.zeros((4, 3)), (0.5, 0.5), 0.0)
    >>> turn, spare = turned_in(0.6, 0.02, hatch)
    >>> round(turn), round(spare * 1000, 1)
    (45, 30.8)
    """
    square = np.array([0.0, 90.0])
    spare = _spare(width, thickness, opening, square)
    best = int(spare.argmax())
    if spare[best] >= ROOMY:
        return float(square[best]), float(spare[best])
    low, high = 0.0, 90.0
    for _ in range(ZOOMS):
        turns = np.linspace(low, high, TURNS)
        spare = _spare(width, thickness, opening, turns)
        best, step = int(spare.argmax()), turns[1] - turns[0]
        low, high = max(0.0, turns[best] - step), min(90.0, turns[best] + step)
    return float(turns[best]), float(spare[best])


def _spare(width: float, thickness: float, opening: ClearOpening, turns: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return how far the corners of a rectangle lie within the edge of an opening, by turn in degrees."""
    half = np.array(opening.clear) / 2
    radius = min(opening.corner_radius, float(half.min()))
    c, s = np.cos(np.radians(turns)), np.sin(np.radians(turns))
    corners = np.array([
        [width * c - thickness * s, width * s + thickness * c], [width * c + thickness * s, width * s - thickness * c]
    ]) / 2  # fmt: skip
    beyond = np.abs(corners) - (half - radius)[:, None]
    outside = np.hypot(*np.maximum(beyond, 0.0).transpose(1, 0, 2)) + np.minimum(beyond.max(axis=1), 0.0) - radius
    spare: NDArray[np.float64] = -outside.max(axis=0)
    return spare


def widest(thickness: float, openings: Sequence[ClearOpening], ease: float = EASE) -> float:
    """Return the greatest least width, m, of a piece that some opening lets in with an *ease*, m; 0 where none does."""
    low, high = 0.0, max((2 * sum(one.clear) for one in openings), default=0.0)
    for _ in range(NARROWED):
        middle = (low + high) / 2
        passes = any(turned_in(middle, thickness, one)[1] >= ease for one in openings)
        low, high = (middle, high) if passes else (low, middle)
    return low


def narrowest(area: BaseGeometry) -> tuple[float, NDArray[np.float64]]:
    """Return the least distance, m, between two parallel lines that hold an area between them, and the way across.

    One of them lies along an edge of the convex hull (Houle and Toussaint, 1988).

    >>> width, across = narrowest(shapely.Polygon([(0, 0), (3, 0), (3, 4), (0, 4)]))
    >>> round(width, 9), np.abs(across).round(9).tolist()
    (3.0, [1.0, 0.0])
    """
    ring = np.array(shapely.convex_hull(area).exterior.coords)[:-1]
    edges = np.roll(ring, -1, axis=0) - ring
    normals = np.column_stack([-edges[:, 1], edges[:, 0]]) / np.linalg.norm(edges, axis=1)[:, None]
    across = normals @ ring.T
    widths = across.max(axis=1) - across.min(axis=1)
    least = int(widths.argmin())
    return float(widths[least]), normals[least]


def least_width(area: BaseGeometry) -> float:
    """Return the least distance, m, between two parallel lines that hold an area between them."""
    return narrowest(area)[0]
