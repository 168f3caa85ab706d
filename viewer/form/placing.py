"""Where a name goes beside a corner so that it lies on nothing else."""

from collections.abc import Sequence

import numpy as np

from tapeloft.model.moments import Points
from tapeloft.viewer.form.ink import Extent, Spot, Words, centred

TURNS = (0, 25, -25, 50, -50, 75, -75, 100, -100, 130, -130)  # degrees from straight outward, nearest first
REACHES = (4.6, 5.8, 7.4, 9.4, 11.8, 14.5)  # mm from the corner, nearest first


def clear(extent: Extent, taken: Sequence[Extent], gap: float = 0.4) -> bool:
    """Whether a box is clear of others by *gap* mm."""
    a, b, c, d = extent
    return all(
        c + gap <= left or right + gap <= a or d + gap <= top or bottom + gap <= b for left, top, right, bottom in taken
    )


def cuts(extent: Extent, start: Spot, end: Spot) -> bool:
    """Whether a straight line passes through a box.

    >>> cuts((0, 0, 2, 1), (-1, 0.5), (3, 0.5)), cuts((0, 0, 2, 1), (-1, 0.5), (1, 3))
    (True, False)
    """
    near, far = 0.0, 1.0
    for k in (0, 1):
        low, high, way = extent[k] - start[k], extent[k + 2] - start[k], end[k] - start[k]
        if abs(way) < 1e-12:
            if low > 0 or high < 0:
                return False
            continue
        near, far = max(near, min(low / way, high / way)), min(far, max(low / way, high / way))
    return near < far


def beside_corner(
    name: str,
    corner: Points,
    outward: Points,
    size: float,
    radius: float,
    taken: Sequence[Extent],
    lines: Sequence[tuple[Spot, Spot]],
    frame: Extent,
) -> tuple[Words, Extent] | None:
    """Return a name beside a corner, and the box that it takes, *radius* mm about its middle where that is more.

    The nearest place within *frame*, straight outward before others, that lies on nothing *taken* and on none of the
    *lines*; None where there is no such place.
    """
    start = float(np.arctan2(outward[1], outward[0]))
    for reach in REACHES:
        for turn in TURNS:
            angle = start + np.radians(turn)
            middle = (float(corner[0] + reach * np.cos(angle)), float(corner[1] + reach * np.sin(angle)))
            words = centred(name, middle, size, bold=True)
            extent = _around(words.extent, middle, radius)
            if _within(extent, frame) and clear(extent, taken) and not any(cuts(extent, a, b) for a, b in lines):
                return words, extent
    return None


def _within(extent: Extent, frame: Extent) -> bool:
    return all(a >= b for a, b in zip(extent[:2], frame[:2], strict=True)) and all(
        a <= b for a, b in zip(extent[2:], frame[2:], strict=True)
    )


def _around(extent: Extent, middle: Spot, radius: float) -> Extent:
    x, y = middle
    left, top, right, bottom = extent
    half = max(radius, (right - left) / 2)
    tall = max(radius, y - top, bottom - y)
    return (x - half, y - tall, x + half, y + tall)
