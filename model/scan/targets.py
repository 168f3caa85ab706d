"""The targets of a scan, as a person writes them down: where each lies in the scan, and where the tape puts it."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Annotated, Literal

import numpy as np

from tapeloft.model.errors import Problem, SurveyError, nearest
from tapeloft.model.moments import Points
from tapeloft.model.survey.measures import Convention
from tapeloft.model.survey.paper import read_paper
from tapeloft.model.survey.reader import Named, Reader
from tapeloft.model.survey.reading import read
from tapeloft.model.survey.sheet import Datum, Side, Unit
from tapeloft.model.survey.source import Source
from tapeloft.model.units import UNITS
from tapeloft.shapes.readings import AtX, AtY, AtZ, Length, Reading, Several

SIDES = {"port": 1.0, "starboard": -1.0}
Figure = Annotated[float, Reading("a coordinate as the scan has it")]


@dataclass(frozen=True)
class Target:
    """A point that can be found in the scan: its coordinates there and, where it was taped, its place in the space.

    scan: as the scan's file has them, in its unit. taped: distance, half-breadth and height, m, compartment axes.
    """

    scan: Annotated[tuple[Figure, Figure, Figure], Several("coordinates in the scan")]
    taped: Annotated[tuple[AtX, AtY, AtZ] | None, Several("distance, half-breadth, height")] = None


@dataclass(frozen=True)
class TargetSheet:
    """A file of targets. up: the scan's axis that points up, where it is known: "y" in most phone scans."""

    format: Literal["tapeloft-targets"]
    version: Literal[1]
    compartment: Annotated[str, Named("what it is called on board")]
    target: dict[str, Target]
    unit: Unit | None = None
    side: Side = "both"
    up: Literal["x", "y", "z", "-x", "-y", "-z", ""] = ""
    datum: Datum = field(default_factory=Datum)
    length: Annotated[dict[str, float], Length("a taped length between two targets", least=1e-3)] = field(
        default_factory=dict
    )


@dataclass(frozen=True, eq=False)
class Targets:
    """What a file of targets says, read. taped: the names of those that were taped; datum: as it was written."""

    sheet: TargetSheet
    reader: Reader

    @property
    def unit(self) -> str:
        """The unit of what was taped."""
        return self.sheet.unit or "mm"

    @property
    def taped(self) -> tuple[str, ...]:
        """The names of the targets whose place was taped."""
        return tuple(name for name, one in self.sheet.target.items() if one.taped is not None)

    @property
    def ahead(self) -> float:
        """+1 where distances rise forward, -1 where they rise aft."""
        return self.reader.how.ahead

    def in_scan(self, names: Sequence[str]) -> Points:
        """Return where targets lie in the scan, (n, 3), in its unit."""
        return np.array([self.sheet.target[name].scan for name in names], np.float64).reshape(-1, 3)

    def in_space(self, names: Sequence[str]) -> Points:
        """Return where the tape puts targets, (n, 3) m, compartment axes."""
        return np.array([self.sheet.target[name].taped for name in names], np.float64).reshape(-1, 3)

    def lengths(self) -> list[tuple[str, str, float]]:
        """Return the taped lengths: from which target to which, and m."""
        return [(*_ends(name), length) for name, length in self.sheet.length.items()]

    def problem(self, path: tuple[str | int, ...], what: str, mend: str) -> Problem:
        """Return a problem with what stands at *path* of the file."""
        return self.reader.problem(path, what, mend)


def read_targets(path: str | Path) -> Targets:
    """Return the targets in the file at *path*; raises FileError, and SurveyError with all that is wrong with it."""
    paper = read_paper(path)
    data = paper.data
    datum, unit, side = (data.get(key) for key in ("datum", "unit", "side"))
    how = Convention(
        unit if unit in UNITS else None,
        side=SIDES.get(side, 0.0) if isinstance(side, str) else 0.0,
        ahead=-1.0 if isinstance(datum, dict) and datum.get("x_positive") == "aft" else 1.0,
    )
    compartment = data.get("compartment")
    reader = Reader(Source(paper), how, compartment if isinstance(compartment, str) else "")
    sheet: TargetSheet | None = read(reader, TargetSheet, data)
    if sheet is not None:
        _check_lengths(reader, sheet)
    if reader.problems or sheet is None:
        raise SurveyError(reader.problems)
    return Targets(sheet, reader)


def _ends(name: str) -> tuple[str, str]:
    first, _, second = name.partition("-")
    return first.strip(), second.strip()


def _check_lengths(reader: Reader, sheet: TargetSheet) -> None:
    """Refuse a length between what are no two targets."""
    for name in sheet.length:
        ends = _ends(name)
        stray = [end for end in ends if end not in sheet.target]
        if stray:
            what = f'"{stray[0]}" is no target{nearest(stray[0], list(sheet.target))}'
            reader.refuse(("length", name), what, "name it as T1-T2 = 1843, both under [target]")
        elif ends[0] == ends[1]:
            reader.refuse(("length", name), "a length from a target to itself", "name two targets")
