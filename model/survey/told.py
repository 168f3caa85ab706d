"""What was read, told in words as it stands on paper: lengths in a unit, sides as letters, walls by their names."""

import math
import types
from collections.abc import Callable
from dataclasses import Field, fields
from typing import Annotated, Any, Union, get_args, get_origin

from tapeloft.model.survey.measures import FAR
from tapeloft.model.survey.reading import type_hints
from tapeloft.model.survey.survey import Survey
from tapeloft.model.units import INCH, format_length
from tapeloft.shapes.polyhedron import Polyhedron
from tapeloft.shapes.readings import Angle, Breadth, Choice, Figure, Length, Mass, Reading, Station
from tapeloft.shapes.registry import SHAPES

SIXTEENTHS = 1e-6  # of one, that a reading may lie off the mark and be told in fractions
WALLS = {kind: {value: word for word, value in ends.items()} for kind, ends in FAR.items()}


def on_paper(metres: float, unit: str) -> str:
    """Return a length as it would be written down in *unit*, without it; inches off the sixteenths as a decimal.

    >>> on_paper(0.4382, "mm"), on_paper(0.0254 * 17.625, "in"), on_paper(0.0254 * 17.3, "in")
    ('438.2', '17 5/8', '17.3')
    """
    sixteenths = metres / float(INCH) * 16
    if unit == "in" and abs(sixteenths - round(sixteenths)) > SIXTEENTHS:
        return f"{sixteenths / 16:.4f}".rstrip("0").rstrip(".")
    return format_length(metres, unit).removesuffix(f" {unit}" if unit != "ft" else "")


def way_of_tape(one: Survey) -> int:
    """Return 1 where station distances rise forward, -1 where they rise aft."""
    return -1 if one.datum.x_positive == "aft" else 1


def shape_name(shape: Any) -> str:
    """Return what a survey calls a shape."""
    return next(name for name, kind in SHAPES.items() if kind is type(shape))


def readings_told(thing: Any, one: Survey, units: str) -> str:
    """Return the readings of a thing in the space of *one*, in words and in *units*, each behind its name."""
    each = told_one_by_one(thing, one, units)
    return ", ".join(f"{name} {text}" for name, text in each.items()) or "from wall to wall"


def told_one_by_one(thing: Any, one: Survey, units: str) -> dict[str, str]:
    """Return the readings of a thing in the space of *one*, in *units*, by their names; without those left out."""
    hints = type_hints(type(thing))
    kept = [f.name for f in fields(thing) if f.name not in ("name", "note") and not _as_usual(thing, f, hints[f.name])]
    each = (
        (name, told(hints[name], getattr(thing, name), lambda value: on_paper(value, units), way_of_tape(one)))
        for name in kept
    )
    return {name: text for name, text in each if text}


def _as_usual(thing: Any, one: Field[Any], hint: Any) -> bool:
    """Whether a field is a choice of words that nobody need have made."""
    return isinstance(marker_of(hint), Choice) and getattr(thing, one.name) == one.default


def told(hint: Any, value: Any, shown: Callable[[float], str], ahead: float, marker: Reading | None = None) -> str:
    """Return a reading in words, as paper has it: stations along the tape, sides as letters, walls by their names."""
    if get_origin(hint) is Annotated:
        bare, *about = get_args(hint)
        return told(bare, value, shown, ahead, next((a for a in about if isinstance(a, Reading)), marker))
    if value is None or value == "":
        return ""
    if get_origin(hint) in (Union, types.UnionType):
        real = [a for a in get_args(hint) if a is not types.NoneType]
        fits = [a for a in real if (get_origin(a) is tuple) == isinstance(value, tuple)]
        return told((fits or real)[0], value, shown, ahead, marker)
    if isinstance(value, tuple):
        return _several(hint, value, shown, ahead, marker)
    if isinstance(value, Polyhedron):
        return f"of {len(value.faces)} faces"
    return _one(value, shown, ahead, marker) if isinstance(value, float) else str(value)


def _several(
    hint: Any, value: tuple[Any, ...], shown: Callable[[float], str], ahead: float, marker: Reading | None
) -> str:
    args = get_args(hint)
    each = [args[0]] * len(value) if args[-1] is Ellipsis else list(args)
    parts = [told(kind, one, shown, ahead, marker) for kind, one in zip(each, value, strict=True)]
    if any(isinstance(one, tuple) for one in value):
        return "; ".join(f"({part})" for part in parts)
    span = len(parts) == 2 and args[-1] is not Ellipsis and marker is not None and args[0] is float
    if isinstance(marker, Length):
        return " × ".join(parts) if span else ", ".join(parts)
    return " to ".join(parts) if span else ", ".join(parts)


def _one(value: float, shown: Callable[[float], str], ahead: float, marker: Reading | None) -> str:
    if math.isinf(value):
        return WALLS[type(marker)][value] if marker else str(value)
    if isinstance(marker, Angle):
        return f"{math.degrees(value):g}°"
    if isinstance(marker, Mass):
        return f"{value:g} kg"
    if isinstance(marker, Figure):
        return f"{value:g}"
    if isinstance(marker, Breadth):
        return f"{'p' if value > 0 else 's' if value < 0 else ''} {shown(abs(value))}".strip()
    return shown(ahead * value if isinstance(marker, Station) else value) if marker else f"{value:g}"


def marker_of(hint: Any) -> Reading | None:
    """Return the kind of reading that a field's type is marked with, None for none."""
    if get_origin(hint) is Annotated:
        return next((a for a in get_args(hint)[1:] if isinstance(a, Reading)), None)
    return None
