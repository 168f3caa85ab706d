"""Where the values of a sheet come from, how they are meant, and the problems met in reading them."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from tapeloft.model.errors import Problem
from tapeloft.model.survey.measures import Convention, shown
from tapeloft.model.survey.places import Place
from tapeloft.model.survey.source import Source
from tapeloft.model.units import Misread
from tapeloft.shapes.readings import Reading

REST = {"rest": True}  # field metadata: takes every key of the table that no other field names


@dataclass(frozen=True)
class AsWritten(Reading):
    """A reading kept as it was written, for it cannot be measured before its side, or another reading, is known.

    least, most: how many of them stand together, where they stand in a list.
    """

    least: int = 1
    most: int = 1


@dataclass(frozen=True)
class Named(Reading):
    """A name, by which a person will ask for the thing: never blank, on one line."""


@dataclass
class Reader:
    """Where the values come from, how they are meant, and the problems met in reading them.

    faulty: the paths of those problems; of_all: those that one want of the whole sheet may be to blame for, by kind.
    """

    source: Source
    how: Convention = field(default_factory=Convention)
    compartment: str = ""
    problems: list[Problem] = field(default_factory=list)
    faulty: list[Place] = field(default_factory=list)
    of_all: dict[type[Misread], list[Problem]] = field(default_factory=dict)

    def problem(self, path: Place, what: str, mend: str) -> Problem:
        """Return a problem with the value at *path*."""
        station, measure = spot(path, self.source.data)
        file, line = self.source.place(path)
        return Problem(what, mend, file, line, self.compartment, station, measure)

    def refuse(self, path: Place, what: str, mend: str) -> None:
        """Note a problem with the value at *path*, once."""
        problem = self.problem(path, what, mend)
        if problem not in self.problems:
            self.problems.append(problem)
        self.faulty.append(path)


def spot(path: Place, data: object) -> tuple[str, str]:
    """Return the station and the measure that *path* points at, as a person would call them.

    >>> spot(("station", "2", "C", 0), {})
    ('2', 'C')
    >>> spot(("obstruction", 0, "x", 1), {"obstruction": [{"name": "post"}]})
    ('', 'obstruction "post", x')
    >>> spot(("option", "bin out", "station", "2", "C"), {})
    ('2', 'option "bin out", C')
    """
    station, words, here = "", list[str](), data
    for number, step in enumerate(path):
        here = _inside(here, step)
        before = path[number - 1] if number else None
        if before == "station":
            station = str(step)
        elif before == "option" and number == 1:
            words[-1] += f" {shown(step)}"
        elif isinstance(step, str):
            words += [step] if step != "station" else []
        elif isinstance(here, Mapping) and words:
            words[-1] += f" {shown(here['name'])}" if "name" in here else f" number {int(step) + 1}"
    return station, ", ".join(words)


def _inside(here: object, step: str | int) -> object:
    if isinstance(here, Mapping):
        return here.get(step)
    return here[step] if isinstance(here, list) and isinstance(step, int) and step < len(here) else None
