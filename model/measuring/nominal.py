"""About where the letters of a section lie that nobody has measured yet: enough to draw it and to choose tapes by."""

from collections.abc import Sequence

import numpy as np

from tapeloft.model.measuring.section import Section
from tapeloft.model.survey.station import Point

SOLE, BILGE, BEAM, DEPTH = 0.35, 0.7, 1.0, 0.85  # m: inboard, sole at the hull, deck at the hull, height of that
SPACING = 0.6  # m from station to station
CAMBER = 0.06  # m that the deck rises towards the centreline
OTHER = {"p": "s", "s": "p"}


def nominal_sections(marks: Sequence[str], count: int, side: float = 1.0) -> tuple[Section, ...]:
    """Return so many sections with the same *marks*, evenly spaced, as `nominal_corners` has them."""
    places = [k * SPACING for k in range(count)]
    return tuple(Section(str(k), x, tuple(marks), nominal_corners(marks, x, side)) for k, x in enumerate(places))


def side_of(mark: str, marks: Sequence[str]) -> int:
    """Return +1 for a mark to port, -1 for one to starboard, 0 where its name and its fellow do not tell.

    >>> [side_of(mark, ("Ap", "p 120", "D", "s 120", "As", "p")) for mark in ("Ap", "s 120", "D", "p")]
    [1, -1, 0, 0]
    """
    if len(mark) > 1 and mark[-1] in OTHER and mark[:-1] + OTHER[mark[-1]] in marks:
        return 1 if mark[-1] == "p" else -1
    if mark[:2] in ("p ", "s ") and OTHER[mark[0]] + mark[1:] in marks:
        return 1 if mark[0] == "p" else -1
    return 0


def nominal_corners(marks: Sequence[str], x: float, side: float = 1.0) -> tuple[Point, ...]:
    """Return about where *marks*, in order round a section at *x* m, may lie: a flared side, a level sole, a deck.

    side: +1 to port, -1 to starboard, of a section whose letters name no side. The figures are those of no boat and
    are never told as readings.

    >>> [[round(y, 2), round(z, 2)] for _, y, z in nominal_corners("ABCD", 0.0)]
    [[0.35, 0.0], [0.7, 0.0], [1.0, 0.85], [0.35, 0.91]]
    """
    sides = [side_of(mark, marks) for mark in marks]
    flat = _across(marks, sides) if any(sides) else _one_side(len(marks), side or 1.0)
    return tuple((x, float(y), float(z)) for y, z in flat)


def _one_side(count: int, side: float) -> list[tuple[float, float]]:
    if count < 4:
        return [(side * SOLE, 0.0), (side * BEAM, DEPTH), (side * SOLE, DEPTH + CAMBER)][:count]
    up = [(side * y, z) for y, z in _hull(count - 2)]
    return [(side * SOLE, 0.0), *up, (side * SOLE, DEPTH + CAMBER)]


def _hull(count: int) -> list[tuple[float, float]]:
    """Return so many points up the hull, from the sole to the deck: a chine or more lies outside the straight line."""
    up = np.linspace(0.0, 1.0, count) if count > 1 else np.ones(1)
    out = BILGE + (BEAM - BILGE) * up + 0.12 * np.sin(np.pi * up)
    return [(float(y), float(z)) for y, z in zip(out, DEPTH * up, strict=True)]


def _across(marks: Sequence[str], sides: Sequence[int]) -> list[tuple[float, float]]:
    places: dict[int, tuple[float, float]] = {}
    high: list[int] = []
    for side in (1, -1):
        run = [k for k, one in enumerate(sides) if one == side]
        rising = sorted(run, key=lambda k: (marks[k].strip("ps "), k)) if marks[run[0]][-1] in OTHER else run[::side]
        places |= {k: (side * y, z) for k, (y, z) in zip(rising, _hull(len(rising)), strict=True)}
        high.append(rising[-1])
    middle = [k for k, one in enumerate(sides) if one == 0]
    for k in middle:
        beside = [(k + step * reach) % len(marks) for step in (1, -1) for reach in range(1, len(marks))]
        first = next(one for one in beside if sides[one])
        places[k] = (0.0, DEPTH + CAMBER) if first in high else (0.0, -CAMBER)
    return [places[k] for k in range(len(marks))]


def letters(count: int, *, across: bool) -> tuple[str, ...]:
    """Return so many letters for a new sheet; *across* the centreline all but the last have a port and a starboard.

    >>> letters(4, across=False), letters(3, across=True)
    (('A', 'B', 'C', 'D'), ('Ap', 'Bp', 'C', 'Bs', 'As'))
    """
    plain = [chr(ord("A") + k) for k in range(count)]
    if not across:
        return tuple(plain)
    port = [f"{letter}p" for letter in plain[:-1]]
    return (*port, plain[-1], *(f"{letter}s" for letter in plain[-2::-1]))
