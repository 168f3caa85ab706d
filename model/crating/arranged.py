"""Which of several layouts: that of most crates, and that of which most are proved to come out."""

import math
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from tapeloft.model.crating.layouts import Layout, layouts
from tapeloft.model.crating.leaving import Left, leaving
from tapeloft.model.crating.levels import Levels

TRIED = 4  # layouts of the most crates that are looked at, and as many of one less on some floor


@dataclass(frozen=True, eq=False)
class Arranged:
    """Crates stowed, and which of them come out, in their order."""

    stowed: Layout
    left: tuple[Left, ...]

    @property
    def undecided(self) -> Layout:
        """Those for which no way out was found."""
        return tuple(one for one in self.stowed if all(one is not gone.one for gone in self.left))


def corner_layouts(levels: Levels, clearance: float, until: float = math.inf) -> list[list[Layout]]:
    """Return layouts for each floor, those of most crates first; the same each time where no time ends it."""
    form = levels.form
    return [layouts(floor, floor.plan(form.height), form, clearance, until) for floor in levels.floors]


def arranged(
    levels: Levels, by_floor: Sequence[Sequence[Layout]], until: float = math.inf
) -> tuple[Arranged, Arranged, int]:
    """Return a layout of most crates, as many of them as may be known to come out; that of which most come out; and how
    many layouts were looked at.

    by_floor: layouts for each floor, those of most crates first. until: by the clock of `time.perf_counter`.
    """
    fullest = out = Arranged((), ())
    looked = 0
    for stowed in _wholes(by_floor):
        one = Arranged(stowed, leaving(levels, stowed, until))
        looked += 1
        fullest = max(fullest, one, key=lambda each: (len(each.stowed), len(each.left)))
        out = max(out, one, key=lambda each: (len(each.left), len(each.stowed)))
        if not fullest.undecided or time.perf_counter() > until:
            break
    return fullest, out, looked


def _wholes(by_floor: Sequence[Sequence[Layout]]) -> Iterator[Layout]:
    """Yield layouts of all floors together: of the most crates on each, then of fewer."""
    some = [each for each in by_floor if each]
    fewer = [[one for one in each if len(one) < len(each[0])] or list(each) for each in some]
    tried = dict.fromkeys(
        tuple(one for each in level for one in each[min(number, len(each) - 1)])
        for level in (some, fewer)
        for number in range(TRIED)
    )
    yield from (one for one in tried if one)
