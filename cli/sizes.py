"""Sizes and masses of a part as they are typed: one, two, from one to another."""

import math
from typing import TYPE_CHECKING

from tapeloft.cli.spacing import length_of

if TYPE_CHECKING:
    from tapeloft.model.cutting.inset import Gaps


def size(name: str, text: str) -> float:
    """Return a size of a part, m: millimetres unless a unit stands behind it."""
    return length_of(name, text, "mm") or 0.0


def pair(name: str, text: str, what: str, example: str) -> tuple[float, float]:
    """Return two sizes, "40x18", m; mm unless a unit stands behind."""
    from tapeloft.model.errors import TapeloftError

    parts = text.lower().replace("×", "x").split("x")
    if len(parts) != 2:
        raise TapeloftError(f'--{name} {text}: write two sizes, {what}, for example "{example}"')
    return size(name, parts[0].strip()), size(name, parts[1].strip())


def span_of(name: str, text: str) -> tuple[float, float]:
    """Return the least and the most, "165..305", m; mm unless a unit stands behind."""
    from tapeloft.model.errors import TapeloftError

    parts = text.split("..")
    if len(parts) != 2:
        raise TapeloftError(f'--{name} {text}: write the least and the most, for example "165..305"')
    return size(name, parts[0].strip()), size(name, parts[1].strip())


def weight(name: str, text: str) -> float:
    """Return a mass that was asked for, kg unless a unit stands behind it."""
    from tapeloft.model.errors import TapeloftError
    from tapeloft.model.units import Misread, mass

    try:
        return mass(text, "kg")
    except Misread as bad:
        raise TapeloftError(f"--{name}: {bad}") from None


def heaviest(text: str | None) -> float:
    """Return what a piece may weigh, kg."""
    return math.inf if text is None else weight("mass", text)


def gaps_of(gap: str, end: str | None, obstruction: str | None) -> "Gaps":
    """Return the gaps that were asked for."""
    from tapeloft.model.cutting.inset import Gaps

    around = size("gap", gap)
    other = (("gap-end", end), ("gap-obstruction", obstruction))
    return Gaps(around, *(around if text is None else size(name, text) for name, text in other))
