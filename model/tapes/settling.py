"""What a compartment is built from: its corners as the check tapes settle them, or its readings as they stand."""

from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import Literal

from tapeloft.model.survey.survey import Check, Survey
from tapeloft.model.tapes.adjusting import Adjustment, Unsettled, adjusted
from tapeloft.model.tapes.readings import TapeNet, moved, net_of
from tapeloft.model.tapes.sister import SisterHeld, held_against
from tapeloft.model.tapes.suspects import agrees

Basis = Literal["adjusted", "unchecked", "disagreeing", "unclosed", "sister", "unlike"]
WORDS = {
    "adjusted": "built from adjusted corners ({count} agree{s})",
    "unchecked": "built from the readings as taped: no check tapes",
    "disagreeing": "built from the readings as taped: the check tapes do not agree, see tapeloft check",
    "sister": "built from her sister's corners ({count} of her own agree{s})",
    "unlike": "built from her sister's readings as taped: the twin's own check tapes do not agree, see tapeloft check",
    "unclosed": "built from the readings as taped: the corners as adjusted make no closed space",
}


@dataclass(frozen=True, eq=False)
class Settled:
    """A survey as it is built from.

    survey: with adjusted corners where the check tapes agree, else as read. own: the survey as the person wrote it.
    adjustment: what the tapes say, where there are any and they can be adjusted at all. held: how a twin's own tapes
    agree with her sister.
    """

    survey: Survey
    own: Survey
    basis: Basis
    net: TapeNet = field(repr=False)
    adjustment: Adjustment | None = field(repr=False)
    held: SisterHeld | None = field(default=None, repr=False)

    @property
    def words(self) -> str:
        """What the compartment is built from, in one short line."""
        count = len(self.own.checks)
        tapes = f"{count} check tape{'' if count == 1 else 's'}"
        return WORDS[self.basis].format(count=tapes, s="s" if count == 1 else "")


def as_read(one: Settled) -> Settled:
    """Return what is built from where the adjusted corners make no closed space and the readings do."""
    return replace(one, survey=one.own, basis="unclosed")


@lru_cache(maxsize=64)
def settled(survey: Survey) -> Settled:
    """Return what *survey* is built from.

    Its corners are adjusted where there are check tapes and all readings agree as well as such readings do; where they
    do not, nothing is moved, for an adjustment would spread the slip over the corners around it.
    """
    if survey.sister is not None:
        return _as_her_sister(survey, survey.sister)
    net = net_of(survey)
    if not survey.checks:
        return Settled(survey, survey, "unchecked", net, None)
    try:
        found = adjusted(net.predicted, net.start, net.read, net.sigmas)
    except Unsettled:
        return Settled(survey, survey, "disagreeing", net, None)
    if not agrees(net, found):
        return Settled(survey, survey, "disagreeing", net, found)
    return Settled(replace(survey, stations=moved(survey, net, found.unknowns)), survey, "adjusted", net, found)


def _as_her_sister(survey: Survey, hers: tuple[Check, ...]) -> Settled:
    """Return what a twin is built from whose readings were taken in her sister, as *hers* were, and some tapes in her.

    A few tapes move no corner of her: they tell whether she is her sister mirrored, within what building does.
    """
    one = settled(replace(survey, checks=hers, sister=None))
    if one.basis == "disagreeing":
        return replace(one, survey=survey, own=survey)
    held = held_against(one.own, survey.checks, one.adjustment)
    if not held.alike:
        return replace(one, survey=survey, own=survey, basis="unlike", held=held)
    return replace(one, survey=replace(survey, stations=one.survey.stations), own=survey, basis="sister", held=held)
