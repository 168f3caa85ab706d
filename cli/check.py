"""tapeloft check."""

from typing import TYPE_CHECKING

import typer

from tapeloft.cli.options import AsJson, Given, Options, SurveyFile, UnitsOption

if TYPE_CHECKING:
    from tapeloft.cli.printing import Table
    from tapeloft.model.errors import Problem
    from tapeloft.model.survey import Survey


def check(
    survey: SurveyFile,
    as_json: AsJson = False,
    given: Given = None,
    option: Options = None,
    units: UnitsOption = "mm",
) -> None:
    """Read a survey and say what was understood, all that is wrong, and what is worth a second look."""
    from tapeloft.cli.asking import settings
    from tapeloft.cli.printing import plain, print_json, print_tables, say
    from tapeloft.cli.progress import each
    from tapeloft.model.survey import examined

    boat, found = examined(survey, given=settings(given), options=tuple(option or ()))
    problems = list(found)
    notes: list[Problem] = []
    for one in each(boat.compartments, "building"):
        wrong, odd = _built(one)
        problems += wrong
        notes += odd
    if as_json:
        read = [_as_json(one) for one in boat.compartments]
        print_json("check", good=not problems, compartments=read, problems=plain(problems), notes=plain(notes))
    else:
        print_tables(table for one in boat.compartments for table in _tables(one, units))
        for problem in problems:
            say(f"wrong: {problem}")
        for note in notes:
            say(f"look again: {note}")
        say(_verdict(len(boat.compartments), len(problems), len(notes)))
    raise typer.Exit(1 if problems else 0)


def _built(one: "Survey") -> "tuple[tuple[Problem, ...], tuple[Problem, ...]]":
    from tapeloft.model.compartment import build
    from tapeloft.model.errors import SurveyError

    try:
        return (), build(one).notes
    except SurveyError as bad:
        return bad.problems, ()


def _verdict(compartments: int, problems: int, notes: int) -> str:
    def count(n: int, word: str) -> str:
        return f"{n} {word}{'' if n == 1 else 's'}"

    good = "can be used" if not problems else "cannot be used yet"
    return f"{count(compartments, 'compartment')}, {count(problems, 'problem')}, {count(notes, 'second look')}: {good}"


def _as_json(one: "Survey") -> dict[str, object]:
    return {
        "name": one.name,
        "use": one.space.use,
        "mirrored": one.mirrored,
        "stations": [
            {"name": s.name, "x_m": s.x, "corners": [{"mark": c.name, "at_m": c.at} for c in s.corners]}
            for s in one.stations
        ],
        "obstructions": [
            {"name": o.name, "removable": o.removable, "structural": o.structural} for o in one.obstructions
        ],
        "openings": one.openings,
        "drains": one.drains,
        "checks": [{"corners": ["".join(c) for c in check.corners], "length_m": check.length} for check in one.checks],
        "parameters_m": dict(one.parameters),
        "options": one.options,
    }


def _tables(one: "Survey", units: str) -> "list[Table]":
    """Return what was read, in the order of a measuring sheet: hold it against the paper."""
    from tapeloft.cli.printing import Table
    from tapeloft.model.units import format_length

    def shown(value: float) -> str:
        return format_length(value, units).removesuffix(f" {units}")

    ahead = -1.0 if one.datum.x_positive == "aft" else 1.0
    rows = []
    for station in one.stations[:: int(ahead)]:
        for k, corner in enumerate(station.corners):
            x, y, z = corner.at
            place = (station.name, shown(ahead * station.x)) if not k else ("", "")
            own = "" if x == station.x else shown(ahead * x)
            side = "" if y == 0 else "p" if y > 0 else "s"
            rows.append((*place, corner.name or str(k + 1), shown(abs(y)), side, shown(z), own))
    kind = f"{one.name}: {one.space.use}, measured to {one.space.measured_to}" + (", mirrored" if one.mirrored else "")
    head = ("station", f"at, {units}", "mark", "half-breadth", "side", "height", "its own at")
    tables = [Table(kind, head, rows)]
    if one.obstructions:
        standing = [
            (o.name, type(o.shape).__name__.lower(), _told(o), _readings(o.shape, shown)) for o in one.obstructions
        ]
        tables.append(Table("standing in it", ("obstruction", "shape", "", f"readings, {units}"), standing))
    if one.openings:
        lids = [(o.name, o.wall, " × ".join(map(shown, o.clear)), shown(o.depth)) for o in one.openings]
        tables.append(Table("openings", ("opening", "in", f"clear, {units}", "depth"), lids))
    if one.checks:
        tapes = [("-".join("".join(c) for c in check.corners), shown(check.length)) for check in one.checks]
        tables.append(Table("check tapes, read and kept", ("from, to", units), tapes))
    if one.parameters:
        tables.append(Table("parameters", ("name", units), [(n, shown(v)) for n, v in one.parameters]))
    return tables


def _told(one: object) -> str:
    words = [word for word in ("removable", "structural") if getattr(one, word)]
    return ", ".join(words) or "fixed"


def _readings(shape: object, shown):  # type: ignore[no-untyped-def]
    from dataclasses import fields

    told = []
    for known in fields(shape):  # type: ignore[arg-type]
        value = getattr(shape, known.name)
        if isinstance(value, float):
            told.append(f"{known.name} {shown(value)}")
        elif isinstance(value, tuple) and value and all(isinstance(v, float) for v in value):
            told.append(f"{known.name} {' to '.join(map(shown, value))}")
    return ", ".join(told) or "from wall to wall"
