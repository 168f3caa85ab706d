"""Bars cut from lengths of stock: which from which, and how few could do."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from tapeloft.model.errors import GeometryError

SHORTEST, LONGEST = 0.05, 20.0  # m, of a length of stock


@dataclass(frozen=True)
class Length:
    """A length of stock and the bars that are cut from it, by name; left_m: of it, m, kerfs taken off."""

    bars: tuple[str, ...]
    left_m: float


@dataclass(frozen=True)
class Stocked:
    """Bars of one section, m, from lengths of stock, m; at_least: no fewer do, for that is what they come to."""

    section_m: tuple[float, float]
    stock_m: float
    lengths: tuple[Length, ...]
    at_least: int
    offcut: float


def stocked(bars: Sequence[tuple[str, float]], section: tuple[float, float], stock: float, kerf: float) -> Stocked:
    """Return bars, by name and length, m, cut from lengths of *stock*, m, the longest first, each from the first that
    it still goes in.

    First fit decreasing takes no more than 11/9 of the fewest and 6/9 (G. Dósa, 2007). Raises GeometryError where
    a bar is longer than the stock.

    >>> stocked([("A", 1.2), ("B", 0.7), ("C", 0.5)], (0.04, 0.018), 2.0, 0.004).at_least
    2
    """
    if not SHORTEST <= stock <= LONGEST:
        raise GeometryError(f"a length of stock of {stock * 1000:g} mm: it has to be 50 to 20000 mm")
    longest = max(bars, key=lambda one: one[1])
    if longest[1] > stock:
        what = f"bar {longest[0]} is {longest[1] * 1000:.0f} mm long, a length of stock {stock * 1000:g}"
        raise GeometryError(f"{what}\n    mend: give longer stock, or part the grate with a lighter mass to a section")
    room: list[float] = []
    names: list[list[str]] = []
    for name, length in sorted(bars, key=lambda one: -one[1]):
        k = next((k for k, left in enumerate(room) if length <= left), len(room))
        if k == len(room):
            room.append(stock)
            names.append([])
        names[k].append(name)
        room[k] = max(0.0, room[k] - length - kerf)
    lengths = tuple(Length(tuple(own), left) for own, left in zip(names, room, strict=True))
    needed = sum(length + kerf for _, length in bars)
    least = math.ceil(needed / (stock + kerf) - 1e-9)
    return Stocked(section, stock, lengths, least, 1 - sum(length for _, length in bars) / (stock * len(lengths)))
