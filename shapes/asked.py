"""Readings that a shape cannot do without, and the words that ask for them."""

import math

from tapeloft.shapes.polyhedron import Bounds, on_grid

Reading = float | tuple[float, float] | None


def size(reading: float | None, what: str) -> float:
    """Return a size, m, that must be there and more than nothing; ValueError otherwise.

    >>> size(None, "its diameter")
    Traceback (most recent call last):
    ValueError: its diameter is missing
    """
    if reading is None:
        raise ValueError(f"{what} is missing")
    if not 0 < reading < math.inf:
        raise ValueError(f"{what} must be more than nothing")
    return reading


def spot(reading: Reading, what: str) -> float:
    """Return one reading, m, on the grid; ValueError where it is missing, from, to, or a wall.

    >>> spot((0.1, 0.2), "y, half-breadth of its centre")
    Traceback (most recent call last):
    ValueError: y, half-breadth of its centre, must be one reading, not from, to
    """
    if reading is None:
        raise ValueError(f"{what}, is missing")
    if isinstance(reading, tuple):
        raise ValueError(f"{what}, must be one reading, not from, to")
    if math.isinf(reading):
        raise ValueError(f"{what}, must be a reading, not a wall")
    return on_grid(reading)


def run(space: Bounds, axis: int, reading: Reading) -> tuple[float, float]:
    """Return from, to along *axis*, carried through the walls; ValueError where it is one reading or has no size.

    >>> run(Bounds((0, 0, 0), (2, 1, 1)), 2, 0.4)
    Traceback (most recent call last):
    ValueError: z must be from, to; left out, it runs to the walls
    """
    if isinstance(reading, int | float):
        raise ValueError(f"{'xyz'[axis]} must be from, to; left out, it runs to the walls")
    return space.run(axis, reading)
