"""A laser meter's list brought into a sheet that asks for readings: which row is which reading, and the new text."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from tapeloft.model.errors import Problem
from tapeloft.model.survey.copied import name_of
from tapeloft.model.survey.filled import Wanted, filled, wanted
from tapeloft.model.survey.laserlist import Held, LaserList, Shot
from tapeloft.model.survey.paper import Paper
from tapeloft.model.units import format_length

KINDS = ("half_breadth", "height", "check", "long_check")


@dataclass(frozen=True)
class Paired:
    """Rows of a list by the readings that a sheet asks for, in order, as far as both go.

    problems: where the two are not as many; notes: what is worth a second look in the list.
    """

    pairs: tuple[tuple[Wanted, Shot], ...]
    problems: tuple[Problem, ...]
    notes: tuple[Problem, ...]


def paired(paper: Paper, shots: LaserList) -> Paired:
    """Return which row of a list is which reading of the sheet; raises SurveyError where the sheet asks for none."""
    asked = wanted(paper)
    pairs = tuple(zip(asked, shots.shots, strict=False))
    problems = [*_over(shots, len(asked)), *_short(paper, shots, asked)]
    return Paired(pairs, tuple(problems), shots.notes)


def _over(shots: LaserList, asked: int) -> list[Problem]:
    more = shots.shots[asked:]
    if not more:
        return []
    twice = [note.line for note in shots.notes if "the row before" in note.what]
    hint = f"; line {', '.join(map(str, twice))} reads what the row before reads" if twice else ""
    what = f"{len(shots.shots)} readings, and the sheet asks for {asked}: from this row on none is asked for{hint}"
    return [Problem(what, "find the reading that was taken twice, and take its row out", shots.file, more[0].line)]


def _short(paper: Paper, shots: LaserList, asked: Sequence[Wanted]) -> list[Problem]:
    left = asked[len(shots.shots) :]
    if not left:
        return []
    what = f"{len(shots.shots)} readings, and the sheet asks for {len(asked)}: from this one on there is no row"
    mend = "find the reading that was not taken, and take it; what was not to be read, write in the sheet yourself"
    line = paper.line(left[0].place)
    return [Problem(what, mend, paper.file, line, name_of(paper), left[0].station, left[0].measure)]


def brought_in(paper: Paper, found: Paired, held: Held, source: str, accuracy: float | None) -> str:
    """Return the sheet's text with the readings in it, and at its end where they came from.

    accuracy: one standard deviation that is stated for the meter, m; written unless the sheet has its own. Raises
    SurveyError where the readings cannot be put in.
    """
    after = [f"\n# Readings from {Path(source).name}: the meter counted from its {held.counts_from} edge,"]
    after[0] += f" and was held at its {held.held_at} edge"
    if held.added:
        way = "added to" if held.added > 0 else "taken off"
        after[0] += f"; {format_length(abs(held.added), 'mm')} was {way} each"
    after[0] += "."
    if accuracy is not None and "accuracy" not in paper.data:
        told = f'"{format_length(accuracy, "mm")}"'
        after += ["", "[accuracy]                        # one standard deviation, as stated for the meter"]
        after += [f"{kind} = {told}" for kind in KINDS]
    return filled(paper, [(one, shot.length) for one, shot in found.pairs], "\n".join(after) + "\n")
