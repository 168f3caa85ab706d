"""In which order crates go out.

What is taken out is in no other's way any more: whichever goes first, none that could go is held by that. So one after
another is taken, those first that are shown to go as simply as can be, until no way is found for any that is left.
"""

import math
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import shapely
from shapely import Polygon

from tapeloft.model.crating.levels import Levels, plan_of
from tapeloft.model.crating.moves import Room, upright
from tapeloft.model.crating.ways import Ends, Going, Stowed, Way, laid_over, level, tipped, turned, way_out
from tapeloft.model.solid import hulled

KINDS: tuple[tuple[Ends, slice], ...] = (  # each with which of the heights
    (level, slice(0, 1)), (level, slice(1, None)), (turned, slice(None)), (tipped, slice(None)),
    (laid_over, slice(None)),
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
    bodies = {one: hulled(upright(levels.form, one.heading, one.at)) for one in stowed}
    plans = {one: plan_of(levels.form, one.heading, *one.at[:2]) for one in stowed}
    rest = _nearest_first(levels, plans)
    tries = dict.fromkeys(rest, 0)

    def going(one: Stowed) -> Going:
        others = [other for other in rest if other is not one]
        room = Room(levels.open, tuple(bodies[other] for other in others))
        return Going(
            levels, one, tuple((plans[other], other.at[2], other.at[2] + levels.form.height) for other in others), room
        )

    while rest and levels.falls:
        found = _next(levels, rest, going, tries, until)
        if found is None:
            break
        gone.append(found)
        rest.remove(found.one)
    return tuple(gone)


def _next(
    levels: Levels, rest: Sequence[Stowed], going: Callable[[Stowed], Going], tries: dict[Stowed, int], until: float
) -> Left | None:
    """Return the one that goes next, those first that were tried in vain the least often."""
    for number, (ends, which) in enumerate(KINDS):
        for one in sorted(rest, key=lambda each: tries[each]) if number > 1 else rest:
            if time.perf_counter() > until:
                return None
            past = going(one)
            for height in levels.heights(one.at[2])[which]:
                way = way_out(past, height, ends)
                if way is not None:
                    return Left(one, way)
            tries[one] += number > 1
    return None


def _nearest_first(levels: Levels, plans: Mapping[Stowed, Polygon]) -> list[Stowed]:
    lids = shapely.union_all([fall.plan for fall in levels.falls])

    def key(one: Stowed) -> tuple[float, ...]:
        plan = plans[one]
        return round(plan.distance(lids), 4), round(plan.centroid.distance(lids.centroid), 4), *one.at

    return sorted(plans, key=key)
