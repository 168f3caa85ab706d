"""The ± beside figures: in tables, in JSON, and what it rests on in words."""

import math
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from tapeloft.model.units import INCH

SPREADS = {"mm": (1e3, 1), "cm": (1e2, 2), "m": (1.0, 4), "in": (float(1 / INCH), 2)}
"""How a standard deviation is told: units in a metre, and digits."""
ROUNDED = 1e-9
"""m, m², m³: what no more than arithmetic rounds by is off by nothing."""

if TYPE_CHECKING:
    from tapeloft.cli.printing import Table
    from tapeloft.model.compartment import Compartment
    from tapeloft.model.plusminus.stated import BodyOff, FilledOff, Stated


def deviation(off: float | None, per: float, digits: int) -> str:
    """Return a standard deviation in a unit of which *per* make a metre, or one of its square or cube.

    It has *digits* behind the point, or where it would round to nothing as many as its first two figures want. Nothing
    where none is known, and of what is off by no more than arithmetic rounds by: no tape has a part in that.

    >>> [deviation(off, 1e3, 1) for off in (0.00123, 0.000033, 3e-16, None)]
    ['1.2', '0.033', '', '']
    """
    if off is None or not off > ROUNDED:
        return ""
    told = f"{off * per:.{digits}f}"
    return told if float(told) else f"{off * per:.{1 - math.floor(math.log10(off * per))}f}"


def beside(told: str, off: str) -> str:
    """Return a figure with its standard deviation, alone where that is nothing.

    >>> beside("12.5", "0.3"), beside("12.5", "")
    ('12.5 ± 0.3', '12.5')
    """
    return " ± ".join(filter(None, (told, off)))


def litres_beside(m3: float, sd_m3: float | None, digits: int = 1) -> str:
    """Return a volume in litres, with its ± where one is stated."""
    return beside(f"{m3 * 1000:.{digits}f}", deviation(sd_m3, 1e3, digits))


def square_beside(m2: float, sd_m2: float | None, digits: int = 4) -> str:
    """Return an area, m², with its ± where one is stated."""
    return beside(f"{m2:.{digits}f}", square_off(sd_m2, digits))


def litres_off(off: "BodyOff | None") -> tuple[str, str]:
    """Return a volume's standard deviation and its 95 % interval, litres."""
    if off is None:
        return "", ""
    low, high = off.volume_95_m3
    return deviation(off.volume_sd_m3, 1e3, 2), f"{low * 1000:.1f} to {high * 1000:.1f}"


def place_off(off: "BodyOff | None", units: str) -> tuple[str, ...]:
    """Return the standard deviations of a centroid, as `spread_of` does."""
    return ("", "", "") if off is None else tuple(spread_of(one, units) for one in off.centroid_sd_m)


def spread_of(metres: float | None, units: str) -> str:
    """Return a standard deviation in *units*, finer than a length is told; nothing where none is known.

    >>> [spread_of(0.00123, unit) for unit in ("mm", "cm", "m", "in", "ft-in-8")]
    ['1.2', '0.12', '0.0012', '0.05', '0.05 in']
    """
    told = deviation(metres, *SPREADS.get(units, SPREADS["in"]))
    return told if units in SPREADS or not told else f"{told} in"


def square_off(square_metres: float | None, digits: int = 4) -> str:
    """Return the standard deviation of an area, m²; nothing where none is known."""
    return deviation(square_metres, 1.0, digits)


def systematic_table(one: "Stated", units: str) -> "list[Table]":
    """Return a table of what is in no ±; none where no ± is stated."""
    from tapeloft.cli.printing import Table

    rows = [
        (
            effect.words,
            _either(effect.volume_m3) if effect.either else f"{effect.volume_m3 * 1000:.1f}",
            spread_of(max(map(abs, effect.centroid_m)), units) if effect.centroid_m else "",
            effect.source,
        )
        for effect in one.systematic
    ]
    head = ("were it so", "net, l", f"centroid, {units}", "its size from")
    return [Table("in no ±, for it would put all readings off one way", head, rows, words=(3,))] if rows else []


def _either(m3: float) -> str:
    told = deviation(abs(m3), 1e3, 1)
    return f"± {told}" if told else "0"


def said_of(one: "Stated") -> dict[str, Any]:
    """Return the ± of a compartment by its names, each measure ending in its unit."""
    return {field: getattr(one, field) for field in one.__dataclass_fields__ if field not in ("compartment", "felt")}


def say_plusminus(every: "Iterable[Stated]") -> None:
    """Print what the ± of compartments rests on, those alike on one line, to standard error."""
    from tapeloft.cli.printing import say

    named: dict[str, list[str]] = {}
    stated = False
    for one in every:
        named.setdefault(one.words, []).append(one.compartment)
        stated |= one.gross is not None
    for words, names in named.items():
        say(words if len(named) == 1 else f"{'; '.join(names)}: {words}")
    if stated:
        say(
            "± is one standard deviation, 1.96 of them make 95 %; what stands in there is taken as it was typed, "
            "and the sides as they run from station to station"
        )


def say_filled_off(one: "Compartment", off: "FilledOff | None") -> None:
    """Print what the ± of heights and what lies below them rests on, to standard error."""
    from tapeloft.cli.printing import say
    from tapeloft.model.plusminus.spread import SAID

    if off is not None:
        say(f"{off.words}; one standard deviation, heights taken from where the datum was put")
    elif one.settled is not None:
        say(SAID[one.settled.basis])
