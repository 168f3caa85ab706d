"""From what is written in one place of a sheet to a number: lengths, half-breadths with their side, far walls."""

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, field

from tapeloft.model.survey.formula import evaluated
from tapeloft.model.units import Misread, length, mass
from tapeloft.shapes.readings import Angle, Breadth, Height, Length, Mass, Reading, Station

FAR: dict[type[Reading], dict[str, float]] = {
    Station: {"aft": -math.inf, "forward": math.inf},
    Breadth: {"port": math.inf, "starboard": -math.inf},
    Height: {"bottom": -math.inf, "top": math.inf},
}
WALLS = {word for ends in FAR.values() for word in ends}
SIDES = {"p": 1.0, "port": 1.0, "s": -1.0, "starboard": -1.0}
_BEFORE = re.compile(r"(port|starboard|p|s)(?![a-z])\s*(.+)", re.DOTALL)
_AFTER = re.compile(r"(.+?)(?<![a-z])\s*(port|starboard|p|s)", re.DOTALL)


class NoSide(Misread):
    """A half-breadth that is on neither side, on a sheet that states none."""


@dataclass(frozen=True)
class Convention:
    """How what is written on a sheet is meant: the unit of bare numbers, the named lengths in m, the ways that rise.

    side is +1 where bare half-breadths are to port, -1 to starboard, 0 where they must say; ahead is +1 where
    station distances rise forward, -1 where they rise aft; walls tells whether "top", "port" … may stand for a far
    wall, as they may in shapes.
    """

    unit: str | None = None
    parameters: Mapping[str, float] = field(default_factory=dict)
    side: float = 0.0
    ahead: float = 1.0
    walls: bool = False

    def measured(self, raw: object, marker: Reading | None) -> float:
        """Return *raw* as the kind of reading that *marker* says; a far wall is infinite. Raises Misread, BadFormula.

        >>> port = Convention("mm", {"step": 0.165}, side=1.0, walls=True)
        >>> port.measured("s 40", Breadth()), port.measured("=step * 2", Height()), port.measured("top", Height())
        (-0.04, 0.33, inf)
        """
        if isinstance(raw, str) and raw.strip().lower() in WALLS:
            return self._wall(raw.strip().lower(), marker)
        if isinstance(marker, Breadth):
            return self._half_breadth(raw)
        if isinstance(marker, Station):
            return self.ahead * self._length(raw)
        if isinstance(marker, Mass):
            return mass(scalar(raw))
        if isinstance(marker, Height | Length):
            return self._length(raw)
        number = _figure(raw)
        return math.radians(number) if isinstance(marker, Angle) else number

    def _wall(self, word: str, marker: Reading | None) -> float:
        far = FAR.get(type(marker), {}) if self.walls and marker else {}
        if word not in far:
            words = "".join(f'"{end}" or ' for end in far)
            raise Misread(f'"{word}" is no reading here', f"write {words}the reading itself")
        return far[word]

    def _half_breadth(self, raw: object) -> float:
        side, rest = _sided(raw)
        value = self._length(rest)
        if value < 0:
            mend = 'half-breadths have none on paper: name the side, "p 40" or "s 40"'
            raise Misread(f"{shown(raw)} has a sign", mend)
        if value and not (side or self.side):
            raise NoSide(f"{shown(raw)} does not say which side it is on", f'write "p {raw}" or "s {raw}"')
        return value * (side or self.side or 1.0)

    def _length(self, raw: object) -> float:
        if isinstance(raw, str) and raw.lstrip().startswith("="):
            return evaluated(raw, self.parameters, self.unit)
        return length(scalar(raw), self.unit)


def _sided(raw: object) -> tuple[float, object]:
    """Return the side that a half-breadth names, 0 for none, and the rest of what is written.

    >>> _sided("p 4-11-3"), _sided("240 mm s"), _sided("5 inches"), _sided("=step")
    ((1.0, '4-11-3'), (-1.0, '240 mm'), (0.0, '5 inches'), (0.0, '=step'))
    """
    if not isinstance(raw, str) or raw.lstrip().startswith("="):
        return 0.0, raw
    text = raw.strip().lower()
    if found := _BEFORE.fullmatch(text):
        return SIDES[found[1]], found[2]
    if found := _AFTER.fullmatch(text):
        return SIDES[found[2]], found[1].rstrip()
    return 0.0, raw


def _figure(raw: object) -> float:
    if isinstance(raw, bool) or not isinstance(raw, int | float) or not abs(raw) < 1e12:  # nor where it is NaN
        raise Misread(f"{shown(raw)} is no plain number", "write a plain number, without a unit")
    return float(raw)


def scalar(raw: object) -> str | float:
    """Return *raw* where it can be a measure at all; raises Misread for a table, a list, a date, true or false."""
    if isinstance(raw, bool) or not isinstance(raw, str | int | float):
        raise Misread(f"{shown(raw)} is no measure", 'write a number, or text such as "18 3/8 in"')
    return raw


def shown(raw: object) -> str:
    """Return what was written as a message quotes it, cut short.

    >>> shown(True), shown("abc"), shown([1, 2]), shown({"a": 1})
    ('true', '"abc"', '[1, 2]', 'a table')
    """
    if isinstance(raw, bool):
        return "true" if raw else "false"
    if isinstance(raw, int) and abs(raw) > 10**40:
        return "a number of more than 40 digits"
    text = f'"{raw}"' if isinstance(raw, str) else "a table" if isinstance(raw, Mapping) else str(raw)
    text = "".join(letter if letter.isprintable() else "·" for letter in text[:41])
    return text if len(text) <= 40 else text[:37] + "…"
