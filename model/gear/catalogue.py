"""Gear written down: the catalogue that comes with the program, and files of a person's own, in the same form.

A file is TOML: a `[[gear]]` table for each piece, with its name and its form, as `model.gear.typed` reads it. Its
kind, mass, turn, source and note may be left out.
"""

from collections.abc import Callable, Mapping, Sequence
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import TypeVar

from tapeloft.model.errors import Problem, SurveyError, UnknownName, nearest
from tapeloft.model.files.naming import printable
from tapeloft.model.gear.gear import Form, Gear, remarks, usual_turn
from tapeloft.model.gear.turn import turn_called
from tapeloft.model.gear.typed import FORMS, form_typed
from tapeloft.model.survey.measures import scalar, shown
from tapeloft.model.survey.paper import Paper, read_paper
from tapeloft.model.units import Misread, mass

KEYS = ("name", "kind", "form", "mass", "turn", "source", "note")
OWN = "own gear"
EXAMPLE = "box 850x650x350"
Value = TypeVar("Value")


@cache
def catalogue() -> tuple[Gear, ...]:
    """Return the catalogue that comes with the program, a file a kind.

    >>> sorted({gear.kind for gear in catalogue()})[:3]
    ['battery', 'board', 'can']
    """
    shelf = files("tapeloft.shapes").joinpath("catalogue")
    papers = sorted((entry for entry in shelf.iterdir() if entry.name.endswith(".toml")), key=lambda entry: entry.name)
    return tuple(gear for paper in papers for gear in read_gear(str(paper)))


def of_kind(shelf: Sequence[Gear], kind: str) -> tuple[Gear, ...]:
    """Return the gear of a *kind*, named by how it begins or by a word of it, else that whose name has the word.

    Raises UnknownName where there is none.

    >>> {gear.kind for gear in of_kind(catalogue(), "Fenders")}, len(of_kind(catalogue(), "foil bag")) > 3
    ({'fender'}, True)
    """
    said = " ".join(kind.casefold().split())
    if not said:
        raise UnknownName("kind of gear", kind, sorted({gear.kind for gear in shelf}))
    of_it = tuple(gear for gear in shelf if gear.kind.startswith(said) or said in (f"{gear.kind}s", f"{gear.kind}es"))
    of_word = of_it or tuple(gear for gear in shelf if said in gear.kind)
    named = of_word or tuple(gear for gear in shelf if said in gear.name.casefold())
    if not named:
        raise UnknownName("kind of gear", kind, sorted({gear.kind for gear in shelf}))
    return named


def read_gear(path: str | Path) -> tuple[Gear, ...]:
    """Return all gear in the file at *path*.

    Raises FileError where it cannot be read, SurveyError with every problem in it.
    """
    paper = read_gear_paper(path)
    found, problems = list[Gear](), list[Problem]()
    for number in range(len(paper.data["gear"])):
        try:
            found.append(entry(paper, number))
        except SurveyError as bad:
            problems += bad.problems
    if problems:
        raise SurveyError(problems)
    return tuple(found)


def read_gear_paper(path: str | Path) -> Paper:
    """Return a file of gear whose entries have each a name of their own; nothing else in it is looked at yet.

    Raises FileError where it cannot be read, SurveyError where it is no such file.
    """
    paper = read_paper(path)
    entries = paper.data.get("gear")
    if not (isinstance(entries, list) and entries and all(isinstance(one, Mapping) for one in entries)):
        raise SurveyError([Problem("there is no gear in it", "begin each piece with a line [[gear]]", paper.file)])
    problems = [
        Problem(
            f'"{printable(key)}" is not gear', "begin each piece with a line [[gear]]", paper.file, paper.line((key,))
        )
        for key in paper.data
        if key != "gear"
    ]
    taken = set[str]()
    for number, one in enumerate(entries):
        name = one.get("name")
        if not isinstance(name, str) or not name.strip():
            problems.append(_problem(paper, number, "name", "a piece of gear has no name", 'write name = "…"'))
        elif printable(name).casefold() in taken:
            problems.append(_problem(paper, number, "name", "this name stands here twice", "give one another name"))
        else:
            taken.add(printable(name).casefold())
    if problems:
        raise SurveyError(problems)
    return paper


def names(paper: Paper) -> tuple[str, ...]:
    """Return what the gear in a file is called, in order."""
    return tuple(printable(one["name"]) for one in paper.data["gear"])


def entry(paper: Paper, number: int) -> Gear:
    """Return one piece of the gear in a file; raises SurveyError with every problem in it."""
    told: Mapping[str, object] = paper.data["gear"][number]
    name = names(paper)[number]
    problems = [
        _problem(paper, number, key, "gear has no such part", f"take it out{nearest(key, KEYS)}")
        for key in told
        if key not in KEYS
    ]
    problems += [
        _problem(paper, number, key, f"{shown(told[key])} is no text", 'write it in quotes, "…"')
        for key in ("kind", "source", "note")
        if not isinstance(told.get(key, ""), str)
    ]

    def read(key: str, reading: Callable[[object], Value]) -> Value | None:
        try:
            return reading(told[key]) if key in told else None
        except Misread as bad:
            problems.append(_problem(paper, number, key, bad.what, bad.mend))
            return None

    form = read("form", lambda written: _form(written, Path(paper.file).parent))
    mass_kg = read("mass", lambda written: mass(scalar(written)))
    turn = read("turn", turn_called)
    if "form" not in told:
        problems.append(_problem(paper, number, "form", "it has no form", f'write form = "{EXAMPLE}"'))
    if problems or form is None:
        raise SurveyError(problems)
    kind, source = (printable(str(told.get(key, OWN))) for key in ("kind", "source"))
    note = "; ".join(filter(None, (str(told.get("note", "")), *remarks(form))))
    return Gear(name, kind, form, mass_kg, turn or usual_turn(form), source, note)


def _form(written: object, folder: Path) -> Form:
    form = form_typed(written, folder) if isinstance(written, str) else None
    if form is None:
        raise Misread(f"{shown(written)} is no form", f'write one of {", ".join(FORMS)} and its sizes, as "{EXAMPLE}"')
    return form


def _problem(paper: Paper, number: int, key: str, what: str, mend: str) -> Problem:
    line = paper.line(("gear", number, key))
    name = paper.data["gear"][number].get("name")
    of = f"{printable(name)}, " if isinstance(name, str) else ""
    return Problem(what, mend, paper.file, line, measure=f"{of}{key}")
