"""The ± beside figures: in tables, in JSON, and what it rests on in words."""

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from tapeloft.model.units import INCH

SPREADS = {"mm": (1e3, 1), "cm": (1e2, 2), "m": (1.0, 4), "in": (float(1 / INCH), 2)}
"""How a standard deviation is told: units in a metre, and digits."""

if TYPE_CHECKING:
    from tapeloft.cli.printing import Table
    from tapeloft.model.compartment import Compartment
    from tapeloft.model.plusminus.stated import BodyOff, FilledOff, Stated


def litres_beside(m3: float, sd_m3: float | None) -> str:
    """Return a volume in litres, with its ± where one is stated."""
    return f"{m3 * 1000:.1f}" + ("" if sd_m3 is None else f" ± {sd_m3 * 1000:.1f}")


def litres_off(off: "BodyOff | None") -> tuple[str, str]:
    """Return a volume's standard deviation and its 95 % interval, litres."""
    if off is None:
        return "", ""
    low, high = off.volume_95_m3
    return f"{off.volume_sd_m3 * 1000:.2f}", f"{low * 1000:.1f} to {high * 1000:.1f}"


def place_off(off: "BodyOff | None", units: str) -> tuple[str, ...]:
    """Return the standard deviations of a centroid, to a tenth of a millimetre or a hundredth of an inch."""
    return ("", "", "") if off is None else tuple(spread_of(one, units) for one in off.centroid_sd_m)


def spread_of(metres: float, units: str) -> str:
    """Return a standard deviation in *units*, finer than a length is told.

    >>> [spread_of(0.00123, unit) for unit in ("mm", "cm", "m", "in", "ft-in-8")]
    ['1.2', '0.12', '0.0012', '0.05', '0.05 in']
    """
    per, digits = SPREADS.get(units, SPREADS["in"])
    return f"{metres * per:.{digits}f}" + ("" if units in SPREADS else " in")


def spread_or_none(metres: float | None, units: str) -> str:
    """Return a standard deviation as `spread_of` does, nothing where none is known."""
    return "" if metres is None or metres != metres else spread_of(metres, units)


def square_off(square_metres: float | None) -> str:
    """Return the standard deviation of an area, m²; nothing where none is known."""
    return "" if square_metres is None else f"{square_metres:.4f}"


def square_beside(square_metres: float, off: float | None) -> str:
    """Return an area, m², with its ± where one is stated."""
    return " ± ".join(filter(None, [f"{square_metres:.4f}", square_off(off)]))


def systematic_table(one: "Stated", units: str) -> "list[Table]":
    """Return a table of what is in no ±; none where no ± is stated."""
    from tapeloft.cli.printing import Table

    rows = [
        (
            effect.words,
            f"± {abs(effect.volume_m3) * 1000:.1f}" if effect.either else f"{effect.volume_m3 * 1000:.1f}",
            spread_of(max(map(abs, effect.centroid_m)), units) if effect.centroid_m else "",
            effect.source,
        )
        for effect in one.systematic
    ]
    head = ("were it so", "net, l", f"centroid, {units}", "its size from")
    return [Table("in no ±, for it would put all readings off one way", head, rows, words=(3,))] if rows else []


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
