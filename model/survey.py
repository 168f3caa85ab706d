"""A boat's compartments as surveyed: every reading in metres and compartment axes, with its options applied.

`read_survey` is the way in. A boat is a folder with a boat.toml and one file a compartment; any one file
stands alone too.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from tapeloft.model.corners import Station, stations
from tapeloft.model.errors import FileError, Problem, SurveyError, UnknownName, nearest
from tapeloft.model.formula import BadFormula, resolved
from tapeloft.model.paper import Paper, read_paper
from tapeloft.model.reading import Reader
from tapeloft.model.sheet import (
    Accuracy,
    BoatSheet,
    Changes,
    Craft,
    Datum,
    Drain,
    Grate,
    Obstruction,
    Opening,
    Sheet,
    Space,
    Trim,
    Twin,
)
from tapeloft.model.source import Source

DEFAULT_UNITS = ("mm", "cm", "m", "in", "ft", "ft-in-8")


@dataclass(frozen=True)
class Check:
    """A check tape: from corner to corner, (station, mark) each; three corners or more are a girth."""

    corners: tuple[tuple[str, str], ...]
    length: float


@dataclass(frozen=True)
class Survey:
    """One compartment, as surveyed. Lengths m; x forward, y to port, z up from the compartment's own datum."""

    name: str
    space: Space
    datum: Datum
    stations: tuple[Station, ...]
    accuracy: Accuracy = field(default_factory=Accuracy)
    checks: tuple[Check, ...] = ()
    obstructions: tuple[Obstruction, ...] = ()
    openings: tuple[Opening, ...] = ()
    drains: tuple[Drain, ...] = ()
    grate: Grate | None = None
    options: tuple[str, ...] = ()
    parameters: tuple[tuple[str, float], ...] = ()
    mirrored: bool = False
    unit: str = field(default="mm", compare=False)
    source: Source | None = field(default=None, compare=False, repr=False)

    @property
    def placement(self) -> tuple[float, float, float]:
        """Where the compartment's zero lies in the boat, m; x from the boat's own zero."""
        side = -1.0 if self.mirrored else 1.0
        return (self.datum.x_zero_in_boat or 0.0, side * self.datum.y_zero_in_boat, self.datum.z_zero_in_boat)

    def problem(self, path: tuple[str | int, ...], what: str, mend: str) -> Problem:
        """Return a problem with the reading at *path* of this survey's file."""
        reader = Reader(self.source, compartment=self.name) if self.source else None
        if reader is None:
            return Problem(what, mend, compartment=self.name)
        reader.refuse(path, what, mend)
        return reader.problems[0]

    def path_to_obstruction(self, name: str) -> tuple[str | int, ...]:
        """Return where in the survey's file the obstruction called *name* is written."""
        data = self.source.data if self.source else {}
        changes = [(("option", key), table) for key, table in data.get("option", {}).items()]
        for path, table in [((), data), (("twin",), data.get("twin", {})), *changes]:
            for number, listed in enumerate(table.get("obstruction", [])):
                if listed.get("name") == name:
                    return (*path, "obstruction", number)
        return ("obstruction",)


@dataclass(frozen=True)
class Boat:
    """A boat and her compartments."""

    craft: Craft
    compartments: tuple[Survey, ...]
    trim: Trim = field(default_factory=Trim)

    def compartment(self, name: str) -> Survey:
        """Return the compartment called *name*, or the only one whose name begins so; else raise UnknownName."""
        exact = [c for c in self.compartments if c.name == name]
        begun = [c for c in self.compartments if c.name.lower().startswith(name.lower())]
        found = exact or begun
        if len(found) != 1:
            raise UnknownName("compartment", name, [c.name for c in self.compartments])
        return found[0]


def read_survey(path: str | Path, *, given: Mapping[str, str] | None = None, options: Sequence[str] = ()) -> Boat:
    """Return the boat, or the single compartment, that the survey at *path* describes.

    path: a boat's folder, its boat.toml, or one compartment's file. given: lengths that replace parameters,
    as text in the survey's notation. options: names of options to apply. Raises SurveyError with every problem
    found, FileError, or UnknownName for a parameter or option that nothing bears.
    """
    boat, problems = examined(path, given=given, options=options)
    if problems:
        raise SurveyError(problems)
    return boat


def examined(
    path: str | Path, *, given: Mapping[str, str] | None = None, options: Sequence[str] = ()
) -> tuple[Boat, tuple[Problem, ...]]:
    """Return the compartments that can be read at *path*, and every problem with what was typed there.

    As `read_survey`, but a survey that cannot be used is told of and not raised.
    """
    where = Path(path)
    problems: list[Problem] = []
    try:
        paper = read_paper(where / "boat.toml" if where.is_dir() else where)
    except SurveyError as bad:
        return Boat(Craft(), ()), bad.problems
    if paper.data.get("format") == "tapeloft-boat":
        craft, trim, papers, shared = _boat(paper, problems)
    else:
        craft, trim, papers, shared = None, Trim(), [paper], _lent(paper)
    found = _surveys(papers, shared, given or {}, options, problems)
    boat = Boat(craft or (found[0][1] if found else Craft()), tuple(survey for survey, _ in found), trim)
    return boat, (*problems, *_doubled(boat))


def _boat(paper: Paper, problems: list[Problem]) -> "tuple[Craft, Trim, list[Paper], _Shared]":
    reader = Reader(Source(paper), _unit(paper))
    sheet: BoatSheet | None = reader.read(BoatSheet, paper.data)
    problems += reader.problems
    papers: list[Paper] = []
    for number, name in enumerate(sheet.compartments if sheet else ()):
        try:
            papers.append(read_paper(Path(paper.file).parent / name))
        except SurveyError as bad:
            problems += bad.problems
        except FileError as bad:
            reader.refuse(("compartments", number), str(bad), "correct the file's name, or take it out")
            problems.append(reader.problems[-1])
    if sheet is None:
        return Craft(), Trim(), papers, _Shared()
    return sheet.boat, sheet.trim, papers, _Shared(sheet.parameter, sheet.option, reader.unit)


@dataclass(frozen=True)
class _Shared:
    """What boat.toml lends each compartment."""

    parameters: Mapping[str, str | float] = field(default_factory=dict)
    options: Mapping[str, Changes] = field(default_factory=dict)
    unit: str | None = None


def _lent(paper: Paper) -> _Shared:
    """Return what the boat.toml beside a compartment's file lends it, if that boat lists the file."""
    beside = Path(paper.file).parent / "boat.toml"
    if not beside.is_file():
        return _Shared()
    boat = read_paper(beside)
    sheet = Reader(Source(boat), _unit(boat)).read(BoatSheet, boat.data)
    if sheet is None or Path(paper.file).name not in sheet.compartments:
        return _Shared()
    return _Shared(sheet.parameter, sheet.option, _unit(boat))


def _surveys(
    papers: Sequence[Paper], shared: _Shared, given: Mapping[str, str], options: Sequence[str], problems: list[Problem]
) -> list[tuple[Survey, Craft]]:
    """Read each compartment's file, and its twin; problems go on the list."""
    found: list[tuple[Survey, Craft]] = []
    known = {"parameter": set(shared.parameters), "option": set(shared.options)}
    for paper in papers:
        for kind in known:
            table = paper.data.get(kind)
            known[kind] |= set(table) if isinstance(table, dict) else set()
    for kind, names in (("parameter", given), ("option", options)):
        for name in names:
            if name not in known[kind]:
                raise UnknownName(kind, name, sorted(known[kind]))
    for paper in papers:
        found += _read_sheet(paper, shared, given, options, problems)
    return found


def _read_sheet(
    paper: Paper, shared: _Shared, given: Mapping[str, str], options: Sequence[str], problems: list[Problem]
) -> list[tuple[Survey, Craft]]:
    reader = Reader(Source(paper), _unit(paper) or shared.unit, compartment=_name(paper))
    reader.side = {"port": 1.0, "starboard": -1.0}.get(str(_peek(paper, "marks", "side")), 0.0)
    reader.ahead = -1.0 if _peek(paper, "datum", "x_positive") == "aft" else 1.0
    raw_options = {**_table(paper, "option"), **{k: {"set": v.set} for k, v in shared.options.items()}}
    chosen = [raw for raw in map(raw_options.get, options) if isinstance(raw, dict)]
    reader.parameters = _parameters(reader, {**shared.parameters, **_settings(chosen)}, given)
    sheet: Sheet | None = reader.read(Sheet, paper.data)
    found: list[tuple[Survey, Craft]] = []
    if sheet is not None:
        every = {**shared.options, **sheet.option}
        applied = [every[name] for name in options if name in every]
        survey = _survey(reader, sheet, applied, tuple(name for name in options if name in every))
        found.append((survey, sheet.boat))
        if sheet.twin:
            found.append((_twin(reader, sheet, sheet.twin, survey, applied), sheet.boat))
    problems += reader.problems
    return found


def _survey(reader: Reader, sheet: Sheet, changes: Sequence[Changes], options: tuple[str, ...]) -> Survey:
    read = stations(reader, sheet, [c.station for c in changes])
    return Survey(
        name=sheet.survey.compartment,
        space=sheet.survey,
        datum=sheet.datum,
        stations=read,
        accuracy=sheet.accuracy,
        checks=_checks(reader, sheet.check, read, ("check",)),
        obstructions=_changed(reader, sheet.obstruction, changes),
        openings=sheet.opening,
        drains=sheet.drain,
        grate=sheet.grate,
        options=options,
        parameters=tuple(reader.parameters.items()),
        unit=reader.unit or "mm",
        source=reader.source,
    )


def _twin(reader: Reader, sheet: Sheet, twin: Twin, survey: Survey, changes: Sequence[Changes]) -> Survey:
    """Return the twin in its sister's own axes; the compartment is mirrored once it is a solid."""
    name = twin.name or f"{survey.name}, twin"
    bare = sheet if not twin.check else replace(sheet, check={})
    other = _survey(reader, bare, [*changes, twin], survey.options)
    checks = _checks(reader, twin.check, other.stations, ("twin", "check"))
    return replace(other, name=name, checks=checks or other.checks, mirrored=True)


def _changed(reader: Reader, standing: tuple[Obstruction, ...], changes: Sequence[Changes]) -> tuple[Obstruction, ...]:
    known = [o.name for o in standing]
    for change in changes:
        for name in change.leave_out:
            if name not in known:
                hint = nearest(name, known)
                reader.refuse(("obstruction",), f'nothing called "{name}" to leave out{hint}', "name an obstruction")
        standing = tuple(o for o in standing if o.name not in change.leave_out) + change.obstruction
    return standing


def _checks(
    reader: Reader, raw: Mapping[str, float], read: Sequence[Station], path: tuple[str, ...]
) -> tuple[Check, ...]:
    marks = {(s.name, c.name) for s in read for c in s.corners}
    labels = {s + m: (s, m) for s, m in marks}
    checks: list[Check] = []
    for key, value in raw.items():
        ends = key.split("-")
        unknown = [end for end in ends if end not in labels]
        if unknown or len(ends) < 2:
            hint = nearest((unknown or ends)[0], sorted(labels)) if labels else ""
            reader.refuse((*path, key), f'"{key}" does not name two corners{hint}', 'write station and mark: "1A-1D"')
            continue
        checks.append(Check(tuple(labels[end] for end in ends), value))
    return tuple(checks)


def _parameters(
    reader: Reader, shared: Mapping[str, str | float], given: Mapping[str, str] | tuple[()]
) -> dict[str, float]:
    own = _table(reader.source.paper, "parameter")
    every = {**shared, **own}
    named = dict(given) if given else {}
    try:
        return resolved(every, reader.unit, {k: v for k, v in named.items() if k in every})
    except BadFormula as bad:
        for name, what, mend in bad.all:
            reader.refuse(("parameter", name), what, mend)
        return {}


def _settings(changes: Iterable[Mapping[str, object]]) -> dict[str, str | float]:
    merged: dict[str, str | float] = {}
    for change in changes:
        made = change.get("set")
        merged |= made if isinstance(made, dict) else {}
    return merged


def _unit(paper: Paper) -> str | None:
    unit = paper.data.get("unit")
    return unit if unit in DEFAULT_UNITS else None


def _name(paper: Paper) -> str:
    name = _peek(paper, "survey", "compartment")
    return name if isinstance(name, str) else Path(paper.file).stem


def _table(paper: Paper, key: str) -> dict[str, object]:
    table = paper.data.get(key)
    return table if isinstance(table, dict) else {}


def _peek(paper: Paper, table: str, key: str) -> object:
    return _table(paper, table).get(key)


def _doubled(boat: Boat) -> list[Problem]:
    """Say which names are borne twice: no answer could tell the two apart."""
    problems = []
    names = [c.name for c in boat.compartments]
    for survey in boat.compartments:
        standing = [o.name for o in survey.obstructions]
        for name in sorted({n for n in standing if standing.count(n) > 1}):
            path = survey.path_to_obstruction(name)
            problems.append(survey.problem(path, f'two obstructions are called "{name}"', "rename one"))
        if names.count(survey.name) > 1:
            problems.append(survey.problem(("survey", "compartment"), "two compartments have this name", "rename one"))
    return problems
