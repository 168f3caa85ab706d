"""A boat and her compartments, read from her folder, her boat.toml, or one compartment's file.

`read_survey` is the way in. A boat is a folder with a boat.toml and one file a compartment; any one file
stands alone too, with what the boat.toml beside it lends to it.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from tapeloft.model.called import called
from tapeloft.model.errors import FileError, Problem, SurveyError, TapeloftError, nearest
from tapeloft.model.survey.copied import Shared, transcribed, unit_of
from tapeloft.model.survey.measures import Convention, shown
from tapeloft.model.survey.paper import Paper, read_paper
from tapeloft.model.survey.parameters import Lent, parameters, scalars
from tapeloft.model.survey.places import Place
from tapeloft.model.survey.planned import Plan
from tapeloft.model.survey.reader import Reader
from tapeloft.model.survey.reading import read
from tapeloft.model.survey.sheet import BoatSheet, Craft, Trim
from tapeloft.model.survey.source import Source
from tapeloft.model.survey.survey import Survey

BOAT, SHEET = "tapeloft-boat", "tapeloft-survey"


@dataclass(frozen=True)
class Boat:
    """A boat and her compartments."""

    craft: Craft
    compartments: tuple[Survey, ...]
    trim: Trim = field(default_factory=Trim)

    def compartment(self, name: str) -> Survey:
        """Return the compartment called *name*, or the only one whose name begins so.

        Raises UnknownName where there is none, TapeloftError where several begin so.
        """
        meant = called("compartment", name, [one.name for one in self.compartments])
        return next(one for one in self.compartments if one.name == meant)


@dataclass(frozen=True)
class Examined:
    """What stands in a survey: the boat with the compartments that can be used, and every problem with the others.

    drafts: compartments with problems, as far as they could be read; never to answer from. plans: of those, what is to
    be measured.
    """

    boat: Boat
    drafts: tuple[Survey, ...]
    problems: tuple[Problem, ...]
    plans: tuple[Plan, ...] = ()


def read_survey(path: str | Path, *, given: Mapping[str, str] | None = None, options: Sequence[str] = ()) -> Boat:
    """Return the boat, or the single compartment, that the survey at *path* describes.

    path: a boat's folder, its boat.toml, or one compartment's file. given: lengths that replace parameters,
    as text in the survey's notation. options: names of options to apply. Names may be shortened to how they begin.
    Raises SurveyError with every problem found, FileError, or UnknownName for a parameter or option that nothing bears.
    """
    found = examined(path, given=given, options=options)
    if found.problems:
        raise SurveyError(found.problems)
    return found.boat


def examined(path: str | Path, *, given: Mapping[str, str] | None = None, options: Sequence[str] = ()) -> Examined:
    """Return the compartments that can be read at *path*, and every problem with what was typed there.

    As `read_survey`, but a survey that cannot be used is told of and not raised.
    """
    where = Path(path)
    try:
        paper = read_paper(_boat_file(where) if where.is_dir() else where)
    except SurveyError as bad:
        return Examined(Boat(Craft(), ()), (), bad.problems)
    problems = format_problems(paper, (SHEET, BOAT))
    if problems:
        return Examined(Boat(Craft(), ()), (), tuple(problems))
    if paper.data["format"] == SHEET:
        shared, problems = lent(paper)
        return _together(None, [paper], shared, problems, given or {}, options)
    sheet, papers, problems = _opened(paper)
    shared = _shared(sheet, paper)
    return _together(sheet, papers, shared, problems, given or {}, options)


def _boat_file(folder: Path) -> Path:
    file = folder / "boat.toml"
    if not file.exists():
        sheets = sorted(f.name for f in folder.glob("*.toml"))
        hint = f"; name one of the files in it: {', '.join(sheets[:8])}" if sheets else ", nor any other survey"
        how = 'format = "tapeloft-boat", version = 1, compartments = ["locker.toml"] and, under [boat], name = "…"'
        raise FileError(
            f"{folder}: there is no boat.toml in this folder{hint}\n    mend: one that says {how} makes it a boat"
        )
    return file


def format_problems(paper: Paper, known: Sequence[str]) -> list[Problem]:
    """Say whether a file is no survey at all, or one of another version: nothing else about it is worth saying."""
    reader = Reader(Source(paper))
    stated, version = paper.data.get("format"), paper.data.get("version")
    names = " or ".join(f'"{name}"' for name in known)
    if stated is None:
        reader.refuse(("format",), "this file does not say that it is a survey", f"begin it with format = {names}")
    elif stated not in known:
        hint = nearest(str(stated), known)
        reader.refuse(
            ("format",), f"format is {shown(stated)}, not {names}{hint if 'mean' in hint else ''}", "correct it"
        )
    elif version is None:
        reader.refuse(("version",), "version is missing", "add version = 1 under format")
    elif version != 1 or type(version) is not int:
        what = f"version {shown(version)} of the format is not known to this program"
        reader.refuse(("version",), what, "write version = 1, or use the program that the file was written for")
    return reader.problems


def _sheet(paper: Paper) -> tuple[BoatSheet | None, Reader]:
    reader = Reader(Source(paper), Convention(unit_of(paper)))
    named = parameters(reader, Lent(), scalars(paper.data.get("parameter")), [], {})
    reader.how = Convention(unit_of(paper), named)
    sheet: BoatSheet | None = read(reader, BoatSheet, paper.data)
    return sheet, reader


def _shared(sheet: BoatSheet | None, paper: Paper) -> Shared:
    unit = unit_of(paper)
    return Shared(Lent(sheet.parameter, unit), sheet.option, unit, sheet.boat.name) if sheet else Shared()


def _opened(paper: Paper) -> tuple[BoatSheet | None, list[Paper], list[Problem]]:
    """Return a boat's own sheet, the files of her compartments, and what is wrong with either."""
    sheet, reader = _sheet(paper)
    listed = paper.data.get("compartments")
    names = [name for name in listed if isinstance(name, str)] if isinstance(listed, list) else []
    if sheet and not names:
        reader.refuse(("compartments",), "no compartment is listed", 'name their files: compartments = ["locker.toml"]')
    papers: list[Paper] = []
    problems: list[Problem] = []
    for number, name in enumerate(names):
        try:
            if name in names[:number]:
                raise FileError(f"{shown(name)} is listed twice")
            one = read_paper(Path(paper.file).parent / name)
        except SurveyError as bad:
            problems += [replace(problem, compartment=Path(name).stem) for problem in bad.problems]
        except FileError as bad:
            reader.refuse(("compartments", number), str(bad), "correct the file's name, or take it out")
        else:
            wrong = format_problems(one, (SHEET,))
            problems += wrong
            papers += [] if wrong else [one]
    if sheet and papers:
        _check_shared(reader, sheet, papers)
    return sheet, papers, [*reader.problems, *problems]


def _check_shared(reader: Reader, sheet: BoatSheet, papers: Sequence[Paper]) -> None:
    """Refuse what the boat's options leave out or set though no compartment has it."""
    lengths = {
        *sheet.parameter,
        *(key for one in papers for key in _keys(one.data.get("parameter"))),
    }
    standing = [name for one in papers for kind in ("obstruction", "part") for name in _names(one.data.get(kind))]
    for key, change in sheet.option.items():
        for number, name in enumerate(change.leave_out):
            if name not in standing:
                what = f'nothing called "{name}" stands in any compartment{nearest(name, standing)}'
                reader.refuse(("option", key, "leave_out", number), what, "name an obstruction or a part")
        for name in [name for name in change.set if name not in lengths]:
            what = f'no parameter is called "{name}"{nearest(name, sorted(lengths))}'
            reader.refuse(("option", key, "set", name), what, "state it under [parameter]")


def _names(listed: object) -> list[str]:
    tables = listed if isinstance(listed, list) else []
    return [str(table.get("name")) for table in tables if isinstance(table, Mapping)]


def lent(paper: Paper) -> tuple[Shared, list[Problem]]:
    """Return what the boat.toml beside a compartment's file lends it, if that boat lists the file."""
    beside = Path(paper.file).parent / "boat.toml"
    if not beside.is_file():
        return Shared(), []
    try:
        boat = read_paper(beside)
    except SurveyError as bad:
        return Shared(), list(bad.problems)
    listed = boat.data.get("compartments")
    if boat.data.get("format") != BOAT or not isinstance(listed, list) or Path(paper.file).name not in listed:
        return Shared(), []
    sheet, reader = _sheet(boat)
    return _shared(sheet, boat), reader.problems


def _together(
    sheet: BoatSheet | None,
    papers: Sequence[Paper],
    shared: Shared,
    problems: Sequence[Problem],
    given: Mapping[str, str],
    options: Sequence[str],
) -> Examined:
    """Read each compartment's file, and hold them against each other."""
    lengths, names = _meant(papers, shared, given, options)
    read_ = [transcribed(paper, shared, lengths, names) for paper in papers]
    sound = tuple(survey for one in read_ if not one.problems for survey in one.surveys)
    drafts = tuple(survey for one in read_ if one.problems for survey in one.surveys)
    every = [*problems, *(problem for one in read_ for problem in one.problems), *_doubled((*sound, *drafts))]
    craft = sheet.boat if sheet else next((one.craft for one in read_), Craft())
    craft = craft if craft.name else replace(craft, name=shared.boat)
    sound, drafts = (tuple(replace(one, boat=craft.name) for one in ones) for ones in (sound, drafts))
    plans = tuple(replace(one.plan, survey=replace(one.plan.survey, boat=craft.name)) for one in read_ if one.plan)
    return Examined(Boat(craft, sound, sheet.trim if sheet else Trim()), drafts, tuple(dict.fromkeys(every)), plans)


def _meant(
    papers: Sequence[Paper], shared: Shared, given: Mapping[str, str], options: Sequence[str]
) -> tuple[dict[str, str], tuple[str, ...]]:
    """Return lengths and options asked for by their whole names, each once; raise UnknownName where no sheet has it."""
    lengths: dict[str, str] = {}
    parameters = _known("parameter", shared.parameters.lengths, papers)
    for name, length in given.items():
        whole = called("parameter", name, parameters)
        if lengths.get(whole, length) != length:
            raise TapeloftError(f"{whole} is given two lengths, {lengths[whole]} and {length}")
        lengths[whole] = length
    known = _known("option", shared.options, papers)
    return lengths, tuple(dict.fromkeys(called("option", name, known) for name in options))


def _known(kind: str, lent: Iterable[str], papers: Sequence[Paper]) -> list[str]:
    return sorted({*lent, *(name for paper in papers for name in _keys(paper.data.get(kind)))})


def _keys(table: object) -> Iterable[str]:
    return table.keys() if isinstance(table, Mapping) else ()


def _naming(survey: Survey) -> Place:
    return ("twin", "name") if survey.mirrored else ("survey", "compartment")


def _doubled(surveys: Sequence[Survey]) -> list[Problem]:
    """Say which compartments bear one name: no answer could tell them apart."""
    names = [survey.name.lower() for survey in surveys]
    return [
        survey.problem(_naming(survey), f'two compartments are called "{survey.name}"', "rename one")
        for number, survey in enumerate(surveys)
        if survey.name.lower() in names[:number]
    ]
