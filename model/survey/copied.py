"""One compartment's file, transcribed to surveys: named lengths resolved, options applied, the twin beside it."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from tapeloft.model.errors import Problem
from tapeloft.model.survey.applied import survey_of, twin_of
from tapeloft.model.survey.measures import Convention, NoSide
from tapeloft.model.survey.paper import Paper
from tapeloft.model.survey.parameters import Lent, parameters, scalars
from tapeloft.model.survey.places import Place
from tapeloft.model.survey.planned import Plan, planned
from tapeloft.model.survey.reader import Reader
from tapeloft.model.survey.reading import read
from tapeloft.model.survey.sheet import Craft, SharedChanges, Sheet, Twin
from tapeloft.model.survey.source import Source
from tapeloft.model.survey.survey import Survey
from tapeloft.model.units import UNITS, Misread, NoUnit, TooLong

SIDES = {"port": 1.0, "starboard": -1.0}
SHAPING = ("format", "version", "unit", "station", "marks", "offsets", "readings", "parameter")
"""Tables of a sheet without which its surface cannot be made, so that nothing more can be said of it."""
FLOOD = 3  # readings at fault for the same want of the whole sheet that are one problem


@dataclass(frozen=True)
class Shared:
    """What boat.toml lends each compartment."""

    parameters: Lent = field(default_factory=Lent)
    options: Mapping[str, SharedChanges] = field(default_factory=dict)
    unit: str | None = None
    boat: str = ""


@dataclass(frozen=True)
class FairCopy:
    """What a compartment's file gives: its survey, with its twin's, and every problem with what was typed.

    Where there are problems the surveys hold only what could be read: good to look for more problems in, never to
    answer from. plan: what is to be measured, where there are problems.
    """

    surveys: tuple[Survey, ...]
    craft: Craft
    problems: tuple[Problem, ...]
    plan: Plan | None = None


def transcribed(
    paper: Paper, shared: Shared, given: Mapping[str, str] | None = None, options: Sequence[str] = ()
) -> FairCopy:
    """Return the surveys in the file *paper*: given lengths and options applied, as far as it knows them."""
    reader = reader_of(paper, shared, given or {}, options)
    sheet: Sheet | None = read(reader, Sheet, paper.data)
    if sheet is None:
        sheet = _without_faults(reader, paper)
    surveys = _surveys(reader, sheet, shared, given or {}, options) if sheet else ()
    if any(path[0] in SHAPING or path[1:2] == ("x_positive",) for path in reader.faulty if path):
        surveys = ()
    plan = planned(reader, sheet) if sheet and reader.problems else None
    return FairCopy(surveys, sheet.boat if sheet else Craft(), tuple(_summed_up(reader)), plan)


def reader_of(
    paper: Paper, shared: Shared, given: Mapping[str, str] | None = None, options: Sequence[str] = ()
) -> Reader:
    """Return the reader of a file, that knows how what stands there is meant: unit, side, named lengths."""
    reader = Reader(Source(paper), compartment=name_of(paper))
    _convention(reader, shared, given or {}, options)
    return reader


def name_of(paper: Paper) -> str:
    """Return what the compartment of a file is called; the file's own name where it does not say."""
    name = _peek(paper, "survey", "compartment")
    return name if isinstance(name, str) and name.strip() else Path(paper.file).stem


def unit_of(paper: Paper) -> str | None:
    """Return the unit that a file states, None where it states none that is known."""
    unit = paper.data.get("unit")
    return unit if unit in UNITS else None


def _peek(paper: Paper, table: str, key: str) -> object:
    found = paper.data.get(table)
    return found.get(key) if isinstance(found, Mapping) else None


def _convention(reader: Reader, shared: Shared, given: Mapping[str, str], options: Sequence[str]) -> None:
    """Settle how what stands on the sheet is meant, before it is read."""
    paper = reader.source.paper
    side = _peek(paper, "marks", "side")
    reader.how = Convention(
        unit_of(paper) or shared.unit,
        side=SIDES.get(side, 0.0) if isinstance(side, str) else 0.0,
        ahead=-1.0 if _peek(paper, "datum", "x_positive") == "aft" else 1.0,
    )
    own, settings = scalars(paper.data.get("parameter")), _settings(paper, shared, options)
    reader.how = replace(reader.how, parameters=parameters(reader, shared.parameters, own, settings, given))


def _settings(paper: Paper, shared: Shared, options: Sequence[str]) -> list[tuple[Place, Mapping[str, str | float]]]:
    """Return the lengths that options set, with where each set stands; a shared one sets only what is known here."""
    known = {*shared.parameters.lengths, *scalars(paper.data.get("parameter"))}
    settings: list[tuple[Place, Mapping[str, str | float]]] = []
    for name in options:
        if name in shared.options:
            lent = shared.options[name].set
            settings.append(((), {key: value for key, value in lent.items() if key in known}))
        chosen = _peek(paper, "option", name)
        if isinstance(chosen, Mapping):
            settings.append((("option", name, "set"), scalars(chosen.get("set"))))
    return settings


def _surveys(
    reader: Reader, sheet: Sheet, shared: Shared, given: Mapping[str, str], options: Sequence[str]
) -> tuple[Survey, ...]:
    """Return the survey that a sheet makes, and its twin's, which may have named lengths of its own."""
    lent = [shared.options[name] for name in options if name in shared.options]
    survey = survey_of(reader, sheet, lent, options)
    if not sheet.twin:
        return (survey,)
    if sheet.twin.set:
        own = scalars(reader.source.data.get("parameter"))
        settings = [(("twin", "set"), sheet.twin.set), *_settings(reader.source.paper, shared, options)]
        named = parameters(reader, shared.parameters, own, settings, given)
        reader.how = replace(reader.how, parameters=named)
        sheet = read(reader, Sheet, reader.source.data) or sheet
    return survey, twin_of(reader, sheet, sheet.twin or Twin(), survey, lent, options)


def _without_faults(reader: Reader, paper: Paper) -> Sheet | None:
    """Return the sheet without the parts that could not be read, None where too little is left of it."""
    data = _pruned(paper.data, reader.faulty)
    data["survey"] = {"compartment": reader.compartment, **data.get("survey", {})}
    sheet: Sheet | None = read(replace(reader, problems=[], faulty=[], of_all={}), Sheet, data)
    return sheet


def _pruned(data: Mapping[str, Any], faulty: Sequence[Place]) -> dict[str, Any]:
    """Return the tables of a file without what is faulty: a whole obstruction, a mark of a station, a key of a table.

    >>> _pruned({"drain": [{"x": 0}, {"x": 1}], "check": {"0A-0B": 1, "bad": 2}}, [("drain", 0, "x"), ("check", "bad")])
    {'drain': [{'x': 1}], 'check': {'0A-0B': 1}}
    """
    out = {path[: 3 if path[0] == "station" and path[2:3] != ("at",) else 2] for path in faulty if path}
    pruned = _less(data, (), out)
    return pruned if isinstance(pruned, dict) else {}


def _less(value: Any, path: Place, out: Collection[Place]) -> Any:
    if len(path) < 3 and isinstance(value, Mapping):
        return {key: _less(inner, (*path, key), out) for key, inner in value.items() if (*path, key) not in out}
    if len(path) < 3 and isinstance(value, list):
        return [_less(inner, (*path, k), out) for k, inner in enumerate(value) if (*path, k) not in out]
    return value


def _summed_up(reader: Reader) -> list[Problem]:
    """Return the reader's problems; many that one want of the whole sheet is to blame for are that one."""
    problems = list(reader.problems)
    tops = {path[0] for path in reader.faulty if path}
    for kind, several in reader.of_all.items():
        each = list(dict.fromkeys(several))
        path, what, mend = _WANTS[kind]
        if len(each) >= FLOOD or path[0] in tops:
            problems = [p for p in problems if p not in each]
        if len(each) >= FLOOD and path[0] not in tops:
            unit = reader.how.unit or ""
            problems.append(reader.problem(path, what.format(count=len(each), unit=unit), mend))
    own = reader.source.paper.file
    return sorted(problems, key=lambda problem: (problem.file not in ("", own), problem.line or 0))


_WANTS: dict[type[Misread], tuple[Place, str, str]] = {
    TooLong: (("unit",), "{count} readings are longer than any vessel, if they are in {unit}", "is the unit another?"),
    NoUnit: (("unit",), "no unit is stated for bare numbers", 'state it once at the top: unit = "mm"'),
    NoSide: (
        ("marks",),
        "{count} half-breadths do not say which side they are on",
        'say side = "port" or "starboard" once under [marks], or letter the corners Ap and As',
    ),
}
