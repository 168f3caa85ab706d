"""What was read from a survey, told as it stands on paper, to hold one against the other."""

import math
from collections.abc import Iterator
from dataclasses import fields
from typing import TYPE_CHECKING, Annotated, Any, get_args, get_origin

from tapeloft.cli.printing import Table
from tapeloft.model.parts.registry import kind_name
from tapeloft.model.survey.reading import type_hints
from tapeloft.model.survey.told import (
    WALLS,
    marker_of,
    on_paper,
    readings_told,
    shape_name,
    told_one_by_one,
    way_of_tape,
)
from tapeloft.shapes.polyhedron import Polyhedron
from tapeloft.shapes.readings import Angle, Figure, Mass, Reading

if TYPE_CHECKING:
    from tapeloft.model.survey.survey import Survey

SUFFIX: dict[type[Reading], str] = {Mass: "_kg", Angle: "_deg"}


def tables(one: "Survey", units: str) -> Iterator[Table]:
    """Yield what was read of a compartment, in the order of a measuring sheet."""

    read = f"readings, {units}"
    standing = [(o.name, shape_name(o.shape), _kind(o), readings_told(o.shape, one, units)) for o in one.obstructions]
    parts = [
        (p.name, kind_name(p.kind), "removable" if p.removable else "fixed", _written(p.kind, one, units))
        for p in one.parts
    ]
    openings, drains = (
        [(o.name, readings_told(o, one, units)) for o in listed] for listed in (one.openings, one.drains)
    )
    grate = [("grate", readings_told(one.grate, one, units))] if one.grate else []
    tapes = [("-".join("".join(c) for c in check.corners), on_paper(check.length, units)) for check in one.checks]
    yield _corners(one, units)
    every = (
        Table("standing in it", ("obstruction", "shape", "", read), standing),
        Table("built in", ("part", "kind", "", read), parts),
        Table("openings", ("opening", read), openings),
        Table("drains", ("drain", read), drains),
        Table("grate", ("", read), grate),
        Table("check tapes", ("from, to", units), tapes),
        Table("parameters", ("name", units), [(name, on_paper(value, units)) for name, value in one.parameters]),
    )
    yield from (table for table in every if table.rows)


def _written(kind: Any, one: "Survey", units: str) -> str:
    """Return the readings of a part that are not what they would be if they were left out."""
    usual = {f.name for f in fields(kind) if getattr(kind, f.name) == f.default}
    told = told_one_by_one(kind, one, units)
    return ", ".join(f"{name} {text}" for name, text in told.items() if name not in usual)


def _corners(one: "Survey", units: str) -> Table:
    ahead, rows = way_of_tape(one), []
    for station in one.stations[::ahead]:
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
    head = ("station", f"at, {units}", "mark", breadth, "side", "height", "its own at")
    told = len(head) if any(row[-1] for row in rows) else len(head) - 1
    return Table(title, head[:told], [row[:told] for row in rows])


def _kind(one: object) -> str:
    return ", ".join(word for word in ("removable", "structural") if getattr(one, word)) or "fixed"


def as_json(thing: Any) -> dict[str, Any]:
    """Return a table of a survey by its names, each ending in the unit of its numbers; a far wall by its name.

    >>> from tapeloft.shapes.block import Box
    >>> as_json(Box(x=(0.1, math.inf), y=None, z=(0.0, 0.3)))
    {'x_m': [0.1, 'forward'], 'y_m': None, 'z_m': [0.0, 0.3]}
    """
    hints = type_hints(type(thing))
    found: dict[str, Any] = {}
    for one in fields(thing):
        marker = marker_of(hints[one.name])
        measured = marker is not None and _holds_float(hints[one.name])
        key = one.name + (_suffix(marker) if measured and marker else "")
        found[key] = _value(hints[one.name], getattr(thing, one.name))
    return found


def _suffix(marker: Reading) -> str:
    if isinstance(marker, Figure):
        return f"_{marker.unit}" if marker.unit else ""
    return SUFFIX.get(type(marker), "_m")


def _holds_float(hint: Any) -> bool:
    return hint is float or any(_holds_float(arg) for arg in get_args(hint))


def _value(hint: Any, value: Any, marker: Reading | None = None) -> Any:
    marker = marker_of(hint) or marker
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
