"""In which order crates go out.

What is taken out is in no other's way any more: whichever goes first, none that could go is held by that. So one after
another is taken, those first that are shown to go as simply as can be, until no way is found for any that is left.
"""

import math
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import shapely

from tapeloft.model.crating.levels import Levels, plan_of
from tapeloft.model.crating.moves import Room, upright
from tapeloft.model.crating.ways import Going, Stowed, Way, proved
from tapeloft.model.solid import hulled

Ways = Callable[[Going, float], Iterator[Way]]
KINDS: tuple[tuple[Ways, slice], ...] = (  # each with which of the heights
    (Going.level, slice(0, 1)), (Going.level, slice(1, None)), (Going.turned, slice(None)), (Going.tipped, slice(None)),
)  # fmt: skip


@dataclass(frozen=True, eq=False)
class Left:
    """A crate that goes out, where it stood, and how; they come in their order."""

    one: Stowed
    way: Way


def leaving(levels: Levels, stowed: Sequence[Stowed], until: float = math.inf) -> tuple[Left, ...]:
    """Return which of the crates stowed go out, in their order, as far as ways are found.

    until: by the clock of `time.perf_counter`, when no more are looked for.
    """
    gone: list[Left] = []
    rest = _nearest_first(levels, stowed)
    tries = dict.fromkeys(rest, 0)
    while rest and levels.falls:
        found = _next(levels, rest, tries, until)
        if found is None:
            break
        gone.append(found)
        rest.remove(found.one)
    return tuple(gone)


def _next(levels: Levels, rest: Sequence[Stowed], tries: dict[Stowed, int], until: float) -> Left | None:
    """Return the one that goes next, those first that were tried in vain the least often."""
    going = {one: _going(levels, one, rest) for one in rest}
    for number, (ways, which) in enumerate(KINDS):
        for one in sorted(rest, key=lambda each: tries[each]) if number > 1 else rest:
            if time.perf_counter() > until:
                return None
            for height in levels.heights(one.at[2])[which]:
                way = proved(ways(going[one], height), going[one].room)
                if way is not None:
                    return Left(one, way)
            tries[one] += number > 1
    return None


def _going(levels: Levels, one: Stowed, rest: Sequence[Stowed]) -> Going:
    others = [other for other in rest if other is not one]
    plans = [(plan_of(levels.form, other.heading, *other.at[:2]), other.at[2]) for other in others]
    bodies = tuple(hulled(upright(levels.form, other.heading, other.at)) for other in others)
    return Going(levels, one, plans, Room(levels.open, bodies))


def _nearest_first(levels: Levels, stowed: Sequence[Stowed]) -> list[Stowed]:
    lids = shapely.union_all([fall.plan for fall in levels.falls])

    def key(one: Stowed) -> tuple[float, ...]:
        plan = plan_of(levels.form, one.heading, *one.at[:2])
        return round(plan.distance(lids), 4), round(plan.centroid.distance(lids.centroid), 4), *one.at

    return sorted(stowed, key=key)
