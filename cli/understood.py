"""What was read from a survey, told as it stands on paper, to hold one against the other."""

import math
import types
from collections.abc import Callable, Iterator
from dataclasses import Field, fields
from typing import TYPE_CHECKING, Annotated, Any, Union, get_args, get_origin

from tapeloft.cli.printing import Table
from tapeloft.model.survey.measures import FAR
from tapeloft.model.survey.reading import type_hints
from tapeloft.model.units import INCH, format_length
from tapeloft.shapes.polyhedron import Polyhedron
from tapeloft.shapes.readings import Angle, Breadth, Choice, Length, Mass, Reading, Station
from tapeloft.shapes.registry import SHAPES

if TYPE_CHECKING:
    from tapeloft.model.survey.survey import Survey

SIXTEENTHS = 1e-6  # of one, that a reading may lie off the mark and be told in fractions
SUFFIX: dict[type[Reading], str] = {Mass: "_kg", Angle: "_deg"}
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


def tables(one: "Survey", units: str) -> Iterator[Table]:
    """Yield what was read of a compartment, in the order of a measuring sheet."""

    def shown(value: float) -> str:
        return on_paper(value, units)

    def words(hint: Any, value: Any) -> str:
        return told(hint, value, shown, _ahead(one))

    read = f"readings, {units}"
    standing = [(o.name, _shape(o.shape), _kind(o), _readings(o.shape, words)) for o in one.obstructions]
    openings, drains = ([(o.name, _readings(o, words)) for o in listed] for listed in (one.openings, one.drains))
    grate = [("grate", _readings(one.grate, words))] if one.grate else []
    tapes = [("-".join("".join(c) for c in check.corners), shown(check.length)) for check in one.checks]
    yield _corners(one, units)
    every = (
        Table("standing in it", ("obstruction", "shape", "", read), standing),
        Table("openings", ("opening", read), openings),
        Table("drains", ("drain", read), drains),
        Table("grate", ("", read), grate),
        Table("check tapes, read and kept", ("from, to", units), tapes),
        Table("parameters", ("name", units), [(name, shown(value)) for name, value in one.parameters]),
    )
    yield from (table for table in every if table.rows)


def _ahead(one: "Survey") -> float:
    return -1.0 if one.datum.x_positive == "aft" else 1.0


def _corners(one: "Survey", units: str) -> Table:
    ahead, rows = _ahead(one), []
    for station in one.stations[:: int(ahead)]:
        for k, corner in enumerate(station.corners):
            x, y, z = corner.at
            place = (station.name, on_paper(ahead * station.x, units)) if not k else ("", "")
            own = "" if x == station.x else on_paper(ahead * x, units)
            side = "" if y == 0 else "p" if y > 0 else "s"
            read = on_paper(abs(y - one.read_from), units)
            rows.append((*place, corner.name or str(k + 1), read, side, on_paper(z, units), own))
    space = one.space
    title = f"{one.name}: {space.use}, measured to {space.measured_to}, {space.between} between stations"
    title += ", mirrored: its sister's readings" if one.mirrored else ""
    breadth = f"from face at {on_paper(abs(one.read_from), units)}" if one.read_from else "half-breadth"
    return Table(title, ("station", f"at, {units}", "mark", breadth, "side", "height", "its own at"), rows)


def _shape(shape: Any) -> str:
    return next(name for name, kind in SHAPES.items() if kind is type(shape))


def _kind(one: object) -> str:
    return ", ".join(word for word in ("removable", "structural") if getattr(one, word)) or "fixed"


def _readings(thing: Any, words: Callable[[Any, Any], str]) -> str:
    hints = type_hints(type(thing))
    kept = [f.name for f in fields(thing) if f.name not in ("name", "note") and not _as_usual(thing, f, hints[f.name])]
    each = ((name, words(hints[name], getattr(thing, name))) for name in kept)
    return ", ".join(f"{name} {text}" for name, text in each if text) or "from wall to wall"


def _as_usual(thing: Any, one: Field[Any], hint: Any) -> bool:
    """Whether a field is a choice of words that nobody need have made."""
    return isinstance(_marker(hint), Choice) and getattr(thing, one.name) == one.default


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
    if isinstance(marker, Breadth):
        return f"{'p' if value > 0 else 's' if value < 0 else ''} {shown(abs(value))}".strip()
    return shown(ahead * value if isinstance(marker, Station) else value) if marker else f"{value:g}"


def as_json(thing: Any) -> dict[str, Any]:
    """Return a table of a survey by its names, each ending in the unit of its numbers; a far wall by its name.

    >>> from tapeloft.shapes.block import Box
    >>> as_json(Box(x=(0.1, math.inf), y=None, z=(0.0, 0.3)))
    {'x_m': [0.1, 'forward'], 'y_m': None, 'z_m': [0.0, 0.3]}
    """
    hints = type_hints(type(thing))
    found: dict[str, Any] = {}
    for one in fields(thing):
        marker = _marker(hints[one.name])
        measured = marker is not None and _holds_float(hints[one.name])
        key = one.name + (SUFFIX.get(type(marker), "_m") if measured and marker else "")
        found[key] = _value(hints[one.name], getattr(thing, one.name))
    return found


def _marker(hint: Any) -> Reading | None:
    if get_origin(hint) is Annotated:
        return next((a for a in get_args(hint)[1:] if isinstance(a, Reading)), None)
    return None


def _holds_float(hint: Any) -> bool:
    return hint is float or any(_holds_float(arg) for arg in get_args(hint))


def _value(hint: Any, value: Any, marker: Reading | None = None) -> Any:
    marker = _marker(hint) or marker
    bare = get_args(hint)[0] if get_origin(hint) is Annotated else hint
    if isinstance(value, tuple):
        args = next((get_args(a) for a in (bare, *get_args(bare)) if get_origin(a) is tuple), ())
        each = [args[0]] * len(value) if args and args[-1] is Ellipsis else list(args) or [float] * len(value)
        return [_value(kind, one, marker) for kind, one in zip(each, value, strict=True)]
    if isinstance(value, Polyhedron):
        return {"faces": len(value.faces)}
    if isinstance(value, float) and math.isinf(value) and marker:
        return WALLS[type(marker)][value]
    return math.degrees(value) if isinstance(value, float) and isinstance(marker, Angle) else value
