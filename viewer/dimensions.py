"""Dimension lines: which edge of an upright box each runs along, which way it stands off, and the figures it bears."""

from dataclasses import dataclass

import numpy as np

from tapeloft.model.moments import Points
from tapeloft.model.units import NEARLY, STEPS, format_length
from tapeloft.viewer.eye import Eye

END_ON = 0.05  # of its length: an edge seen shorter than this bears no dimension
"""m. A drawing shows no finer than this in each unit: a tape says no more."""


@dataclass(frozen=True, eq=False)
class Dimension:
    """A length to write: from start to end (3,) m along *axis* 0, 1 or 2; away (3,) unit, the way it stands off."""

    axis: int
    start: Points
    end: Points
    away: Points
    figures: str


def figures(metres: float, unit: str, *, down: bool = False) -> str:
    """Return a length as a drawing states it: to the millimetre or the sixteenth, without its unit.

    *down* rounds down, for a thing that must still fit if it is made to the figure.

    >>> figures(1.23456, "mm"), figures(1.2349, "m", down=True), figures(0.9, "in"), figures(1.0849, "ft-in-8")
    ('1235', '1.234', '35 7/16', '3-6-5+')
    """
    step = STEPS[unit]
    whole = np.floor(metres / step + NEARLY) if down else np.round(metres / step)
    return format_length(float(whole * step), unit).removesuffix(f" {unit}" if unit != "ft" else "")


def overall(bounds: Points, eye: Eye, unit: str) -> tuple[Dimension, ...]:
    """Return length, breadth and height over all of *bounds* (2, 3) m, each on an edge that stands clear for *eye*.

    A size seen end on is left out.
    """
    found = (_outer_edge(bounds, axis, eye, unit) for axis in range(3))
    return tuple(dimension for dimension in found if dimension is not None)


def edges_along(bounds: Points, axis: int) -> list[tuple[Points, Points, Points, Points]]:
    """Return the four edges of *bounds* (2, 3) along *axis*: start, end and the two ways outward, (3,) each."""
    one, other = (a for a in range(3) if a != axis)
    edges = []
    for i in (0, 1):
        for j in (0, 1):
            start = np.empty(3)
            start[axis], start[one], start[other] = bounds[0, axis], bounds[i, one], bounds[j, other]
            end = start.copy()
            end[axis] = bounds[1, axis]
            edges.append((start, end, np.eye(3)[one] * (2 * i - 1), np.eye(3)[other] * (2 * j - 1)))
    return edges


def sides_along(corners: Points, axis: int) -> list[tuple[Points, Points]]:
    """Return the four sides of a box in any turn along its own *axis*, start and end (3,) each.

    corners (8, 3): number 4i + 2j + k, where i, j, k are 0 or 1 along its first, second and third side.
    """
    step = 4 >> axis
    return [(corners[number], corners[number | step]) for number in range(8) if not number & step]


def side_lengths(corners: Points) -> Points:
    """Return how long the three sides of a box are, (3,) m; corners as in `sides_along`."""
    lengths: Points = np.linalg.norm(corners[[4, 2, 1]] - corners[0], axis=1)
    return lengths


def _outer_edge(bounds: Points, axis: int, eye: Eye, unit: str) -> Dimension | None:
    """Return the dimension on the edge that is lowest on the paper, or for a height the one farthest right."""
    size = float(bounds[1, axis] - bounds[0, axis])
    centre = eye.seen(bounds.mean(axis=0))
    best: tuple[float, Dimension] | None = None
    for start, end, *ways in edges_along(bounds, axis):
        line = eye.seen(end) - eye.seen(start)
        if np.linalg.norm(line) < END_ON * size * eye.scale:
            return None
        middle = eye.seen((start + end) / 2)
        for away in ways:
            side = eye.seen((start + end) / 2 + away * size * 1e-3) - middle
            apart = _apart(line, side)
            out = middle - centre
            if apart < 0.2 or out @ side <= 0:
                continue
            rank = float((out[0] - 0.01 * abs(out[1])) if axis == 2 else out[1]) + apart * 0.1 * size * eye.scale
            if best is None or rank > best[0]:
                best = rank, Dimension(axis, start, end, away, figures(size, unit))
    return best[1] if best else None


def _apart(line: Points, side: Points) -> float:
    """Return the sine of the angle between two directions on the paper; 0 if one vanishes."""
    lengths = float(np.linalg.norm(line) * np.linalg.norm(side))
    return abs(float(line[0] * side[1] - line[1] * side[0])) / lengths if lengths > 1e-9 else 0.0
