"""Whether the accuracies that a survey states can be believed: by its class of tape, and by how its readings scatter.

With so few readings to spare, what they scatter tells little of what they are good to, so the stated accuracies are
what slips are held against, and this is only told beside it. (Judged by their own scatter, Pope's τ, slips of 50 mm
in thinly checked sections were found in 18 of 100 simulated surveys, and in all of them by the stated accuracies.)
"""

import math
from collections.abc import Iterator

from tapeloft.model.survey.survey import Survey
from tapeloft.model.tapes.permitted import uncertainty
from tapeloft.model.tapes.readings import Kind, TapeNet
from tapeloft.model.tapes.tails import beyond
from tapeloft.model.units import format_length

RARE = 0.01  # in what share of surveys readings that are as good as stated agree better than is worth a word
SENSELESS = 3.0  # times as far as stated, from which readings are no rough ones but wrong ones
FINEST = 0.001  # m, one standard deviation
ENOUGH = 5  # readings to spare, from which their scatter says anything


def scatter(chi2: float, freedom: int) -> float:
    """Return how many times as far as stated readings lie off, s₀ = √(χ²/freedom); not a number with none to spare.

    >>> round(scatter(146.625 / 25, 5), 3)  # the level net of eight readings of 5 mm, [vv] = 146.625 mm²: 5.42 mm
    1.083
    """
    return math.sqrt(chi2 / freedom) if freedom > 0 else math.nan


def doubted(survey: Survey, net: TapeNet, chi2: float, freedom: int, *, explained: bool) -> tuple[str, ...]:
    """Return in words what speaks against the accuracies stated; chi2, freedom: of what is left with slips undone."""
    said = list(_finer_than_the_tape(survey, net))
    times = scatter(chi2, freedom)
    if not explained and freedom >= ENOUGH and times <= SENSELESS:
        said.append(
            f"or nothing slipped, and all were read more roughly: {_as_good_as(survey, times)}; "
            "if they could be read no better, write larger lengths in [accuracy] and check again"
        )
    elif freedom >= ENOUGH and beyond(chi2, freedom) > 1 - RARE:
        said.append(
            f"tapes and corners agree better than they need: {_as_good_as(survey, times)}; every ± is wider than it "
            "need be, which is the safe side: leave it, or write in [accuracy] what you know of your tape and hand"
        )
    return tuple(said)


def _as_good_as(survey: Survey, times: float) -> str:
    """Return in words how good readings look that lie so many times as far off as stated: by the half-breadths.

    Nobody reads a tape to less than `FINEST`, so no smaller figure is put in anybody's head.
    """
    stated = survey.accuracy.half_breadth
    looks, said = (format_length(round(m, 4), survey.unit) for m in (max(times * stated, FINEST), stated))
    about = "about" if times * stated > FINEST else "less than"
    return f"as if half-breadths were good to {about} {looks}, where [accuracy] says {said}, and the rest in proportion"


def _finer_than_the_tape(survey: Survey, net: TapeNet) -> Iterator[str]:
    """Yield accuracies that a tape of the class, II where none is told, does not have: of the longest of each kind."""
    tape = survey.space.tape.accuracy_class or "II"
    longest: dict[Kind, tuple[float, float]] = {}
    for one in net.readings:
        read = abs(one.on_paper(one.value))
        longest[one.kind] = max(longest.get(one.kind, (0.0, 0.0)), (read, one.sigma))
    for kind, (read, sigma) in longest.items():
        own = uncertainty(read, tape)
        if sigma < own:
            stated, length, floor = (format_length(round(m, 5), survey.unit) for m in (sigma, read, own))
            what = f"a tape of class {tape} over {length} is no better than {floor} by itself"
            yield f"[accuracy] {kind} = {stated} is finer than the tape: {what}"
