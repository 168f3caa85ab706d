"""The order in which a search for a place is made: quick turns first, then all, and a little longer for how much."""

import math
import time
from collections.abc import Callable
from dataclasses import dataclass, replace

from tapeloft.model.fits.core import core_of
from tapeloft.model.fits.fitting import Kept, Sought, Stand, sought
from tapeloft.model.fits.turns import Turns, turns_of
from tapeloft.model.gear.gear import Firm
from tapeloft.model.gear.turn import Turn
from tapeloft.model.proof.search import Frame, Going
from tapeloft.model.proof.turned.record import Kept as Recorded

NEAR = 1e-6  # of the diagonal: to what each branch is solved
CLOSE = 2e-4  # of the diagonal: how near the limit of the clearance is to come to the one found
SOON = 1.0  # s that are given to the core of a thing
QUICK = 0.1  # s that are given to turns that are few

NARROWER = {
    Turn.AS_GIVEN: (),
    Turn.UPRIGHT: (Turn.AS_GIVEN,),
    Turn.ANY_FACE: (Turn.AS_GIVEN,),
    Turn.ANY_TILT: (Turn.AS_GIVEN, Turn.ANY_FACE),
}

Progress = Callable[[float, float], None]  # told the growth found and its limit so far, m


@dataclass(frozen=True, eq=False)
class Asked:
    """A thing, its turns and the bodies that stand for it; drawn: by how much, m, it is drawn in when checked."""

    form: Firm
    turn: Turn
    inner: Kept
    outer: Kept
    frame: Frame
    drawn: float

    @property
    def flush(self) -> float:
        """How little too large a thing may have been found to be, m, that is still clear when it is drawn in."""
        return self.drawn / 2

    def fits(self, growth: float) -> bool:
        """Whether a thing that can be grown by so much, m, fits."""
        return growth >= -self.flush


@dataclass
class Watch:
    """Says when to stop, and tells how far the search has come, ten times a second."""

    diagonal: float
    end: float
    progress: Progress | None
    told: float = 0.0
    stopped: bool = False

    def until(self, end: float, done: Callable[[float], bool]) -> Going:
        """Return what a search asks before each branch."""

        def going(value: float, limit: float) -> bool:
            now = time.perf_counter()
            if self.progress is not None and now - self.told > 0.1:
                self.told = now
                self.progress(value * self.diagonal, limit * self.diagonal)
            return now < min(end, self.end) and not done(value * self.diagonal)

        return going


def decided(
    asked: Asked, stand: Stand, found: Sought, watch: Watch, more: float, kept: Recorded | None
) -> float:  # fmt: skip
    """Look until it is known whether the thing fits, and then *more* seconds for how much; return the limit, m."""
    every, close = turns_of(asked.turn, asked.form.symmetry), CLOSE * stand.frame.diagonal
    for rule in NARROWER[asked.turn]:
        for turns in turns_of(rule, asked.form.symmetry):
            _looked(asked, stand, turns, found, watch, time.perf_counter() + QUICK, None)
    limit = _limit_by_core(asked, stand, found, watch, kept)
    if limit > -asked.drawn:
        limits = [_looked(asked, stand, turns, found, watch, math.inf, kept) for turns in every]
        limit = min(limit, max(limits))
    going = watch.until(time.perf_counter() + more, _never)
    closer = max(_sought(asked, stand, turns, found, close, -math.inf, going, None) for turns in every)
    return closer if asked.fits(found.growth_m) else min(limit, closer)


def _looked(
    asked: Asked, stand: Stand, turns: Turns, found: Sought, watch: Watch, end: float, kept: Recorded | None
) -> float:  # fmt: skip
    """Look among some turns until it is known whether the thing fits; return the limit, m."""
    if asked.fits(found.growth_m):
        return math.inf
    return _sought(asked, stand, turns, found, 0.0, -asked.drawn, watch.until(end, asked.fits), kept)


def _sought(
    asked: Asked, stand: Stand, turns: Turns, found: Sought, tolerance: float, floor: float, going: Going,
    kept: Recorded | None,
) -> float:  # fmt: skip
    return sought(
        stand, asked.inner, asked.outer, turns, found, tolerance=tolerance, floor=floor,
        near=NEAR * stand.frame.diagonal, going=going, kept=kept,
    )  # fmt: skip


def _limit_by_core(
    asked: Asked, stand: Stand, found: Sought, watch: Watch, kept: Recorded | None
) -> float:  # fmt: skip
    """Return how much too large a thing is at least, m, if what it holds at any tilt does not go in; else infinity."""
    core = core_of(asked.inner) if asked.turn is Turn.ANY_TILT and not asked.fits(found.growth_m) else None
    if core is None:
        return math.inf
    trial, record = Sought(-math.inf), None if kept is None else Recorded()
    core_asked = replace(asked, inner=core, outer=core)
    (as_given,) = turns_of(Turn.AS_GIVEN, asked.form.symmetry)
    limit = _looked(core_asked, stand, as_given, trial, watch, time.perf_counter() + SOON, record)
    found.branches += trial.branches
    if limit > -asked.drawn:
        return math.inf
    if kept is not None and record is not None:
        kept.bodies += record.bodies
    going = watch.until(time.perf_counter() + SOON / 2, _never)
    closer = _sought(core_asked, stand, as_given, trial, CLOSE * stand.frame.diagonal, -math.inf, going, None)
    return min(limit, closer)


def _never(value: float) -> bool:
    return False
