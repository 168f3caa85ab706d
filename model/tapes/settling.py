"""What a compartment is built from: its corners as the check tapes settle them, or its readings as they stand."""

from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import Literal

from tapeloft.model.survey.survey import Survey
from tapeloft.model.tapes.adjusting import Adjustment, Unsettled, adjusted
from tapeloft.model.tapes.readings import TapeNet, moved, net_of
from tapeloft.model.tapes.suspects import agrees

Basis = Literal["adjusted", "unchecked", "disagreeing"]
WORDS = {
    "adjusted": "built from adjusted corners ({count} agree{s})",
    "unchecked": "built from the readings as taped: no check tapes",
    "disagreeing": "built from the readings as taped: the check tapes do not agree, see tapeloft check",
}


@dataclass(frozen=True, eq=False)
class Settled:
    """A survey as it is built from.

    survey: with adjusted corners where the check tapes agree, else as read. own: the survey as the person wrote it.
    adjustment: what the tapes say, where there are any and they can be adjusted at all.
    """

    survey: Survey
    own: Survey
    basis: Basis
    net: TapeNet = field(repr=False)
    adjustment: Adjustment | None = field(repr=False)

    @property
    def words(self) -> str:
        """What the compartment is built from, in one short line."""
        count = len(self.own.checks)
        tapes = f"{count} check tape{'' if count == 1 else 's'}"
        return WORDS[self.basis].format(count=tapes, s="s" if count == 1 else "")


@lru_cache(maxsize=64)
def settled(survey: Survey) -> Settled:
    """Return what *survey* is built from.

    Its corners are adjusted where there are check tapes and all readings agree as well as such readings do; where they
    do not, nothing is moved, for an adjustment would spread the slip over the corners around it.
    """
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
