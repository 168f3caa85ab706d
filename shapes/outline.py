"""Whether a body can stand on a plane outline."""

import numpy as np

from tapeloft.shapes.polyhedron import PER_METRE, Points

LARGEST = 1e4  # m, so that the products of whole hundredths of a millimetre fit 64 bits


def sound(outline: Points) -> Points:
    """Return *outline*, (n, 2) m, on the grid, when it goes once round an area without meeting itself.

    Raises ValueError, in words fit to show, that count points from 1. Exact: the grid's numbers are whole.

    >>> sound(np.array([[0, 0], [1, 1], [1, 0], [0, 1.0]]))
    Traceback (most recent call last):
    ValueError: the outline crosses itself: its side from point 1 to 2 meets the one from point 3 to 4
    """
    if len(outline) < 3:
        raise ValueError("an outline needs three points at least")
    if np.ptp(outline, axis=0).max() > LARGEST:
        raise ValueError("the outline is kilometres long: is its unit right?")
    points = np.round(outline * PER_METRE).astype(np.int64)
    local = points - points.min(axis=0)
    _check_apart(local)
    _check_turns(local)
    _check_crossings(local)
    on_grid: Points = points / PER_METRE
    return on_grid


def _check_apart(points: np.ndarray) -> None:
    places: dict[tuple[int, int], int] = {}
    for number, (a, b) in enumerate(points.tolist(), 1):
        if (a, b) in places:
            raise ValueError(f"points {places[a, b]} and {number} of the outline are the same")
        places[a, b] = number


def _check_turns(points: np.ndarray) -> None:
    """Refuse a side that runs back along the one before it."""
    back, ahead = points - np.roll(points, 1, axis=0), np.roll(points, -1, axis=0) - points
    folded = (_cross(back, ahead) == 0) & ((back * ahead).sum(axis=1) < 0)
    if folded.all() or not _cross(ahead, np.roll(ahead, -1, axis=0)).any():
        raise ValueError("the points of the outline lie on one line")
    if folded.any():
        raise ValueError(f"the outline turns back on itself at point {int(np.flatnonzero(folded)[0]) + 1}")


def _check_crossings(points: np.ndarray) -> None:
    """Refuse sides that are no neighbours and meet: both straddle each other, and the boxes round them overlap."""
    ends = np.roll(points, -1, axis=0)
    low, high = np.minimum(points, ends), np.maximum(points, ends)
    n = len(points)
    for i in range(n - 2):
        others = slice(i + 2, n - 1 if i == 0 else n)
        a, b, c, d = points[i], ends[i], points[others], ends[others]
        meets = ((low[others] <= high[i]) & (low[i] <= high[others])).all(axis=1)
        meets &= _sides(b - a, c - a, d - a) & _sides(d - c, a - c, b - c)
        if meets.any():
            k = i + 2 + int(np.flatnonzero(meets)[0])
            raise ValueError(
                f"the outline crosses itself: its side from point {i + 1} to {i + 2} "
                f"meets the one from point {k + 1} to {(k + 1) % n + 1}"
            )


def _sides(line: np.ndarray, one: np.ndarray, other: np.ndarray) -> np.ndarray:
    """Whether two points lie on opposite sides of a line, or on it."""
    straddled: np.ndarray = np.sign(_cross(line, one)) * np.sign(_cross(line, other)) <= 0
    return straddled


def _cross(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    product: np.ndarray = a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0]
    return product
