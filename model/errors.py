"""What can go wrong, and how it is said.

TapeloftError            text fit to show a person
├── SurveyError          what was typed cannot be used: every problem found, each with its place and its mend
├── GeometryError        the solid asked for cannot be made
├── FileError            a file cannot be read or written
└── UnknownName          no compartment, option, parameter or bay of that name

"Does not fit" is an answer, never an exception.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from difflib import get_close_matches


@dataclass(frozen=True)
class Problem:
    """One thing wrong with a survey, or worth a second look: where, what, and what would mend it.

    >>> print(Problem("the height is missing", "write C = [half-breadth, height]", file="locker.toml", line=31,
    ...               compartment="locker", station="2", measure="C"))
    locker.toml:31: locker, station 2, C: the height is missing
        mend: write C = [half-breadth, height]
    """

    what: str
    mend: str
    file: str = ""
    line: int | None = None
    compartment: str = ""
    station: str = ""
    measure: str = ""

    def __str__(self) -> str:
        place = self.file + (f":{self.line}" if self.line else "")
        spot = ", ".join(filter(None, (self.compartment, self.station and f"station {self.station}", self.measure)))
        return ": ".join(filter(None, (place, spot, self.what))) + (f"\n    mend: {self.mend}" if self.mend else "")


class TapeloftError(Exception):
    """Root of every refusal; its text is fit to show a person."""


class SurveyError(TapeloftError):
    """A survey cannot be used; `problems` holds all that were found."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))


class GeometryError(TapeloftError):
    """A solid cannot be made from what was given."""


class FileError(TapeloftError):
    """A file cannot be read or written."""


class UnknownName(TapeloftError):
    """A name that nothing bears; says what the nearest known one is."""

    def __init__(self, kind: str, name: str, known: Sequence[str]) -> None:
        super().__init__(f"no {kind} is called {name!r}{nearest(name, known)}")


def nearest(name: str, known: Sequence[str]) -> str:
    """Return a hint at the known name closest to *name*, or a list of what is known.

    >>> nearest("heigth", ["height", "half_breadth"])
    '; did you mean "height"?'
    >>> nearest("q", ["height", "side"])
    '; known: height, side'
    >>> nearest("q", ["locker, port", "locker, starboard"])
    '; known: "locker, port", "locker, starboard"'
    """
    close = get_close_matches(name, known, n=1, cutoff=0.6)
    if close:
        return f'; did you mean "{close[0]}"?'
    told = [f'"{one}"' for one in known] if any("," in one for one in known) else known
    return f"; known: {', '.join(told)}" if known else ""
