"""The check tapes of a whole compartment: within its sections, from one to the next, over all, and for a twin."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tapeloft.model.measuring.across import Across, Blocked, never, tapes_across
from tapeloft.model.measuring.along import tapes_along, tapes_over_all
from tapeloft.model.measuring.section import Section, Tape, nameable

FOR_A_TWIN = 3  # tapes that a twin, or the same compartment of the next hull, is held against at the least


@dataclass(frozen=True)
class CheckTapes:
    """Check tapes: those across, one entry a section; along, one entry a bay; over_all; and those for a twin."""

    across: tuple[Across, ...]
    along: tuple[tuple[Tape, ...], ...]
    over_all: tuple[Tape, ...]
    twin: tuple[Tape, ...]


def check_tapes(sections: Sequence[Section], had: Sequence[Tape] = (), blocked: Blocked = never) -> CheckTapes:
    """Return the check tapes of a compartment, *sections* in the order of the tape, chosen so that slips show.

    What each part must do is said by `tapes_across`, `tapes_along` and `tapes_over_all`. had: tapes that the survey has
    already: they come first, and are made up to what is needed. blocked: what stands between two points.

    >>> corners = ((0, 0.5, 0.0), (0, 0.9, 0.0), (0, 1.1, 0.7), (0, 0.5, 0.72))
    >>> moved = [tuple((k * 0.8, y, z) for _, y, z in corners) for k in range(3)]
    >>> tapes = check_tapes([Section(str(k), k * 0.8, tuple("ABCD"), moved[k]) for k in range(3)])
    >>> [tape.label for tape in tapes.over_all], [tape.label for tape in tapes.twin]
    (['0A-2A', '0D-2D'], ['0A-0C', '1B-1D', '2A-2C'])
    """
    named = nameable(sections)
    across: list[Across] = []
    usual: list[frozenset[str]] = []
    for one in sections:
        across.append(tapes_across(one, named, had, blocked, usual))
        usual = [frozenset(mark for _, mark in tape.corners) for tape in across[-1].tapes] or usual
    along = tapes_along(sections, named, had, blocked)
    return CheckTapes(
        tuple(across), along, tapes_over_all(sections, named, had, blocked), _for_a_twin(sections, across)
    )


def _for_a_twin(sections: Sequence[Section], across: Sequence[Across]) -> tuple[Tape, ...]:
    """Return three tapes spread over the length, each between other letters than the one before where it can be."""
    taped = [(one, chosen.tapes) for one, chosen in zip(sections, across, strict=True) if chosen.tapes]
    picked: list[Tape] = []
    before: set[str] = set()
    for number in range(FOR_A_TWIN if taped else 0):
        one, tapes = taped[round(number * (len(taped) - 1) / (FOR_A_TWIN - 1))]
        left = [tape for tape in tapes if tape not in picked]
        ranked = sorted(left, key=lambda tape, one=one: _rank(one, tape, before))  # type: ignore[misc]
        picked += ranked[:1]
        before = {mark for tape in ranked[:1] for _, mark in tape.corners}
    return tuple(picked)


def _rank(section: Section, tape: Tape, before: set[str]) -> tuple[int, float]:
    """Return a place in the queue: tapes that have fewer letters of the one before, and of those the longest, first."""
    marks = [mark for _, mark in tape.corners]
    a, b = (section.spots[section.marks.index(mark)] for mark in marks)
    return len(before & set(marks)), -round(float(np.linalg.norm(a - b)), 6)
