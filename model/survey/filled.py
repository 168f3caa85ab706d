"""Readings put into a sheet where it asks for them: its text with nothing else changed.

A sheet asks with "?" in a reading's place, "p ?" for one to port; a station without a section asks for every letter.
"""

import json
import re
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from copy import deepcopy
from dataclasses import dataclass, fields
from typing import Any

from tapeloft.model.errors import Problem, SurveyError
from tapeloft.model.survey.copied import name_of, unit_of
from tapeloft.model.survey.paper import Paper
from tapeloft.model.survey.places import Place
from tapeloft.model.survey.sheet import StationSheet

ASKED = re.compile(r"(?:(p|s|port|starboard)\s+)?\?")
QUOTED = re.compile(r"""(["'])(?:(?:p|s|port|starboard)\s+)?\?\1""")
KINDS = ("half-breadth", "height", "own distance")
KEYS = {one.name for one in fields(StationSheet)} - {"corners"}
SECTIONS = ("point", "points", "half_breadths")
FIGURES = {"mm": (1e3, 4), "cm": (1e2, 5), "m": (1.0, 7)}
"""By unit: how many to the metre, and to how many figures behind the point a reading is written."""


@dataclass(frozen=True)
class Wanted:
    """A reading that a sheet asks for: its place, what it is in words, and the side that is written before it."""

    place: Place
    station: str
    measure: str
    side: str = ""


def wanted(paper: Paper) -> list[Wanted]:
    """Return the readings that a sheet asks for, as they are taken: station by station its distance, then its letters
    in order, half-breadth before height; then the check tapes.

    Raises SurveyError where it asks for none, or for letters that it does not name.
    """
    stations = paper.data.get("station")
    found = list(_of_stations(paper, stations if isinstance(stations, Mapping) else {}))
    for path in (("check",), ("twin", "check")):
        checks = _at(paper.data, path)
        found += [
            Wanted((*path, name), "", f"check {name}")
            for name, value in (checks.items() if isinstance(checks, Mapping) else ())
            if _asks(value) is not None
        ]
    if not found:
        what, mend = "the sheet asks for no reading", 'write "?" where one is to be put in: B = ["?", "?"]'
        raise SurveyError([Problem(what, mend, paper.file, compartment=name_of(paper))])
    return found


def _at(data: Mapping[str, Any], path: Sequence[str | int]) -> object:
    here: object = data
    for step in path:
        here = here.get(step) if isinstance(here, Mapping) else None
    return here


def _asks(value: object) -> str | None:
    """Return the side that a "?" is written with, "" for none; None where nothing is asked."""
    found = ASKED.fullmatch(value.strip()) if isinstance(value, str) else None
    return None if found is None else found[1] or ""


def _of_stations(paper: Paper, stations: Mapping[str, object]) -> Iterator[Wanted]:
    order = _at(paper.data, ("marks", "order"))
    for name, one in stations.items():
        if not isinstance(one, Mapping):
            continue
        if _asks(one.get("at")) is not None:
            yield Wanted(("station", name, "at"), name, "distance")
        own = one.get("order", order)
        marks = [mark for mark in own if isinstance(mark, str)] if isinstance(own, list) else []
        written = [key for key in one if key not in KEYS]
        if not written and not any(key in one for key in SECTIONS):
            yield from _whole(paper, name, marks)
        for mark in [*(mark for mark in marks if mark in one), *(mark for mark in written if mark not in marks)]:
            yield from _of_corner(name, mark, one[mark])


def _whole(paper: Paper, name: str, marks: Sequence[str]) -> Iterator[Wanted]:
    if not marks:
        what, mend = "no letters are named for its corners", 'name them in order: [marks] order = ["A", "B", "C", "D"]'
        line = paper.line(("station", name))
        raise SurveyError([Problem(what, mend, paper.file, line, name_of(paper), name)])
    for mark in marks:
        for k in (0, 1):
            yield Wanted(("station", name, mark, k), name, f"{mark}, {KINDS[k]}")


def _of_corner(name: str, mark: str, value: object) -> Iterator[Wanted]:
    for k, one in enumerate(value if isinstance(value, list) else ()):
        side = _asks(one)
        if side is not None and k < len(KINDS):
            yield Wanted(("station", name, mark, k), name, f"{mark}, {KINDS[k]}", side)


def filled(paper: Paper, readings: Sequence[tuple[Wanted, float]], after: str = "") -> str:
    """Return the sheet's text with *readings*, m, where it asks for them, and *after* added at its end.

    Every line that was there stays, but for the "?" in it. Raises SurveyError where a reading has no place of its own
    in the text.
    """
    unit = unit_of(paper)
    lines = paper.text.split("\n")
    end = "\r" if lines[0].endswith("\r") else ""
    expected = deepcopy(paper.data) | tomllib.loads(after)
    fresh: dict[str, dict[str, list[str]]] = {}
    for one, metres in readings:
        told = _told(metres, unit, one.side)
        _put(expected, one.place, tomllib.loads(f"v = {told}")["v"])
        if _at(paper.data, one.place[:3]) is None:
            fresh.setdefault(str(one.place[1]), {}).setdefault(str(one.place[2]), []).append(told)
            continue
        line = (paper.line(one.place) or 1) - 1
        lines[line] = _replaced(lines[line], told)
    for name, corners in fresh.items():
        at = _line_of_distance(paper, name)
        space = lines[at][: len(lines[at]) - len(lines[at].lstrip())]
        lines[at] += "".join(f"\n{space}{_key(mark)} = [{', '.join(of)}]{end}" for mark, of in corners.items())
    text = "\n".join(lines)
    text += ("" if text.endswith("\n") else f"{end}\n") + after.replace("\n", f"{end}\n")
    _check_kept(paper, text, expected)
    return text


def _line_of_distance(paper: Paper, name: str) -> int:
    """Return the line, from 0, behind which a station's corners are put: that of its distance."""
    station = paper.data["station"][name]
    line = paper.line(("station", name, "at"))
    if "at" not in station or line is None:
        what, mend = "at is missing", "add at = the station's distance from zero"
        raise SurveyError([Problem(what, mend, paper.file, line, name_of(paper), name)])
    return line - 1


def _told(metres: float, unit: str | None, side: str) -> str:
    """Return a reading as the sheet has it: a bare number where its unit is metric, else in millimetres and quotes."""
    times, figures = FIGURES.get(unit or "", FIGURES["mm"])
    number = f"{metres * times:.{figures}f}".rstrip("0").rstrip(".")
    if unit in FIGURES:
        return f'"{side} {number}"' if side else number
    return f'"{side} {number} mm"' if side else f'"{number} mm"'


def _replaced(line: str, told: str) -> str:
    return QUOTED.sub(lambda _: told, line, count=1)


def _key(mark: str) -> str:
    return mark if re.fullmatch(r"[A-Za-z0-9_-]+", mark) else json.dumps(mark, ensure_ascii=False)


def _put(data: dict[str, Any], place: Place, value: object) -> None:
    here: Any = data
    for number, step in enumerate(place[:-1]):
        if isinstance(here, dict) and step not in here:
            here[str(step)] = [] if isinstance(place[number + 1], int) else {}
        here = here[step]
    last = place[-1]
    if isinstance(here, list) and isinstance(last, int) and last == len(here):
        here.append(value)
    else:
        here[last] = value


def _check_kept(paper: Paper, text: str, expected: Mapping[str, Any]) -> None:
    """Refuse a text that does not hold all that was there, and the readings: then the sheet is written in a way that
    they cannot be put into."""
    try:
        kept = tomllib.loads(text) == expected
    except tomllib.TOMLDecodeError:
        kept = False
    if not kept:
        what = "the readings cannot be put in where this sheet asks for them"
        mend = 'give each station a heading, [station.0], and each reading its own line: B = ["?", "?"]'
        raise SurveyError([Problem(what, mend, paper.file, compartment=name_of(paper))])
