"""tapeloft check."""

import sys
from typing import TYPE_CHECKING, Any

import typer

from tapeloft.cli.options import AsJson, Given, Name, Options, OwnUnits, SurveyFile

if TYPE_CHECKING:
    from collections.abc import Iterable

    from tapeloft.model.errors import Problem
    from tapeloft.model.survey.survey import Survey
    from tapeloft.model.tapes.checked import Checked


def check(
    survey: SurveyFile,
    compartment: Name = None,
    as_json: AsJson = False,
    given: Given = None,
    option: Options = None,
    units: OwnUnits = None,
) -> None:
    """Read a survey: what was understood, what is wrong, and how well its tapes agree.

    Also what is worth a second look, and which tape to take next. Status 1 where something is wrong or must be measured
    again.
    """
    from tapeloft.cli.asking import looked_at, told_once
    from tapeloft.cli.printing import print_json, print_tables, say
    from tapeloft.cli.progress import each
    from tapeloft.cli.understood import tables
    from tapeloft.model.tapes.checked import checked

    found = looked_at(survey, given, option)
    read = [*found.boat.compartments, *found.drafts]
    problems, notes = list(found.problems), []
    if compartment is not None:
        read, problems = _of_one(read, problems, compartment)
    tapes = []
    for one in each(read, "checking"):
        wrong, odd = _built(one)
        problems += wrong
        notes += odd
        tapes.append(None if one in found.drafts else checked(one))
    problems, notes = told_once(problems), told_once(notes)
    again = sum(not (one is None or one.agrees) for one in tapes)
    if as_json:
        told = [
            _as_json(one, draft=one in found.drafts) | {"tapes": told} for one, told in zip(read, tapes, strict=True)
        ]
        print_json("check", good=not (problems or again), compartments=told, problems=problems, notes=notes)
    else:
        print_tables(table for one in read for table in tables(one, units or one.unit))
        _print_agreement(zip(read, tapes, strict=True), units)
        for problem in problems:
            say(f"wrong: {problem}")
        for note in notes:
            say(f"look again: {note}")
        say(_verdict(len(read), len(problems), len(notes), again))
    raise typer.Exit(1 if problems or again else 0)


def _print_agreement(every: "Iterable[tuple[Survey, Checked | None]]", units: str | None) -> None:
    """Print how well the tapes of each compartment agree, below those that lie farthest off where they do not."""
    from tapeloft.cli.agreeing import lines, table
    from tapeloft.cli.printing import folded, print_tables, put

    for survey, one in every:
        if one and one.tapes and not one.agrees:
            print_tables([table(one, units or survey.unit)])
        for line in lines(one, units or survey.unit) if one else ():
            put(folded(line, sys.stdout), sys.stdout)


def _of_one(read: "list[Survey]", problems: "list[Problem]", name: str) -> "tuple[list[Survey], list[Problem]]":
    """Return the surveys and the problems of the compartment asked for, or whose name begins so; and the boat's."""
    from tapeloft.model.errors import UnknownName

    begun = [one for one in read if one.name.lower().startswith(name.lower())]
    own = [one for one in problems if not one.compartment or one.compartment.lower().startswith(name.lower())]
    if not (begun or own):
        raise UnknownName("compartment", name, [one.name for one in read])
    exact = [one for one in begun if one.name.lower() == name.lower()]
    return exact or begun, own


def _built(one: "Survey") -> "tuple[list[Problem], list[Problem]]":
    from tapeloft.model.compartment import build
    from tapeloft.model.errors import SurveyError
    from tapeloft.model.survey.oddities import oddities

    try:
        return [], list(build(one).notes)
    except SurveyError as bad:
        return list(bad.problems), [note for note in oddities(one) if note not in bad.problems]


def _verdict(compartments: int, problems: int, notes: int, again: int) -> str:
    def count(n: int, word: str) -> str:
        return f"{n} {word}{'' if n == 1 else 's'}"

    good = "cannot be used yet" if problems else "can be used, as taped" if again else "can be used"
    told = f"{count(compartments, 'compartment')}, {count(problems, 'problem')}, {count(notes, 'second look')}: {good}"
    return told + (f"; {count(again, 'compartment')} to measure again" if again else "")


def _as_json(one: "Survey", *, draft: bool) -> dict[str, Any]:
    from tapeloft.cli.understood import as_json
    from tapeloft.model.parts.registry import kind_name

    return {
        "name": one.name,
        "draft": draft,
        "mirrored": one.mirrored,
        "unit": one.unit,
        "survey": as_json(one.space) | {"tape": as_json(one.space.tape)},
        "datum": as_json(one.datum),
        "accuracy": as_json(one.accuracy),
        "stations": [
            {
                "name": s.name,
                "x_m": s.x,
                "pointed": s.pointed,
                "step": s.step,
                "corners": [{"mark": c.name, "at_m": c.at} for c in s.corners],
            }
            for s in one.stations
        ],
        "checks": [{"corners": ["".join(c) for c in check.corners], "length_m": check.length} for check in one.checks],
        "obstructions": [
            {
                "name": o.name,
                "removable": o.removable,
                "structural": o.structural,
                "material": o.material,
                "note": o.note,
                "shape": _shape_json(o.shape),
            }
            for o in one.obstructions
        ],
        "parts": [
            {"name": p.name, "removable": p.removable, "note": p.note, "kind": kind_name(p.kind), **as_json(p.kind)}
            for p in one.parts
        ],
        "openings": [as_json(opening) for opening in one.openings],
        "drains": [as_json(drain) for drain in one.drains],
        "grate": as_json(one.grate) if one.grate else None,
        "parameters_m": dict(one.parameters),
        "options": one.options,
    }


def _shape_json(shape: Any) -> dict[str, Any]:
    from tapeloft.cli.understood import as_json
    from tapeloft.shapes.registry import SHAPES

    return {"name": next(name for name, kind in SHAPES.items() if kind is type(shape)), **as_json(shape)}
