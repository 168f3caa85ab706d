"""Which one mistake explains most of what the tapes disagree about, and which others explain as much.

Every reading by itself, and every named mistake, is allowed for in turn, the readings are adjusted again, and what
chi-square is left is held against what others leave. A reading grossly off its neighbours' line begins where they
would have it. Named mistakes and single readings stand on one footing: one cause each, and the one that leaves the
least is the likeliest. What leaves nearly as little explains it as well, and the tapes cannot tell which it was. A
mistake larger than its cause can make it explains nothing.
"""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import islice

import numpy as np

from tapeloft.model.tapes.adjusting import Adjustment, Unsettled, adjusted
from tapeloft.model.tapes.levels import Array
from tapeloft.model.tapes.mistakes import Mistake, mistakes, slipped
from tapeloft.model.tapes.possible import possible
from tapeloft.model.tapes.readings import TapeNet
from tapeloft.model.tapes.screening import expected, strayed
from tapeloft.model.tapes.tails import limit, two_sided

RARE = 0.01
"""In what share of sound surveys chi-square may raise a false alarm."""
RARE_READING = 0.03
"""Likewise the worst reading: one slip alone, which is what mostly is wrong, shows best there."""
RARE_NAMED = 0.01
"""Likewise the worst of the named mistakes: five in a hundred false alarms in all, at the most."""
ALIKE = 8  # decimals to which readings that stand out alike are one test, and raise one false alarm between them
AS_WELL = 4.0  # chi-square within which two explanations are as good: odds of e² to one
CLOSE_LOOKS = 8  # single readings that stand out most, and named mistakes, that are allowed for in turn
MARGIN, MARGIN_SHARE = 20.0, 0.2
"""By how much less than the best, in chi-square and as a share of it, a mistake may promise and yet be allowed for."""
FAIRER, FAIRER_LEAST = 0.5, 0.015
"""Of a slip, and m: how much nearer its neighbours' line a reading comes, for that to speak for the slip."""
ROUNDS = 4  # of allowing for a mistake anew where the adjustment has moved
STILL = 1e-3  # chi-square that a step in a mistake's size must gain to be worth taking
WHOLE = 200  # mistakes of no size that are undone to see what becomes of the readings as they stand
NEARLY = 0.8  # of what a further mistake must gain to be told of, that it must promise to be allowed for
TRADED = 3  # mistakes of no size that are allowed for though the adjustment does not speak for them
SEVERAL = 5  # mistakes of one survey, beyond which it is to be measured anew
SPARE = 2  # readings to spare for each mistake: with one for each, any explain anything
STATIONS = 60  # at which named mistakes are looked for: those where readings stand out most
AT_ONCE = 64


@dataclass(frozen=True, eq=False)
class Explanation:
    """A mistake allowed for: its size and sigma, m (1 and 0 for one that has no size), and chi-square left.

    adjustment, sizes: what leaves it, and the sizes of all mistakes allowed for there, this one the last.
    """

    mistake: Mistake
    size: float
    sigma: float
    left: float
    adjustment: Adjustment
    sizes: Array


@dataclass(frozen=True, eq=False)
class Finding:
    """One thing wrong: what explains it best, what else does as well, and by how much chi-square falls for it."""

    best: Explanation
    others: tuple[Explanation, ...]
    gain: float


def agrees(net: TapeNet, found: Adjustment) -> bool:
    """Whether the readings agree as well as such readings do: all together, each by itself, and all named mistakes."""
    if found.freedom < 1:
        return True
    if found.chi2 > limit(RARE, found.freedom):
        return False
    if float(np.abs(found.standing_out).max()) > too_far(found):
        return False
    named = list(_weighed(found, mistakes(net, found.unknowns, _stations(net, found))))
    gains = [gain for _, gain in named]
    return not gains or math.sqrt(max(*gains, 0.0)) <= two_sided(RARE_NAMED / len(gains))


def too_far(found: Adjustment) -> float:
    """Return how many of its own sigmas a reading may stand out, were all sound, before it is no longer chance.

    Readings that one tape alone checks stand out alike, whatever was read: they are one test between them.
    """
    tests = len(np.unique(np.abs(found.standing_out).round(ALIKE)))
    return two_sided(RARE_READING / max(tests, 1))


def findings(net: TapeNet, found: Adjustment) -> tuple[Finding, ...]:
    """Return what is wrong with the readings, the thing that explains most first; nothing where they agree.

    The size of each is what it comes to with all of them allowed for.
    """
    told: list[Finding] = []
    here = _State(found, (), np.zeros(0))
    sure = too_far(found) ** 2
    most = min(SEVERAL, max(found.freedom // SPARE, 1))
    while len(told) < most and here.freedom > 0:
        every = sorted(_explained(net, here, sure), key=lambda one: one.left)
        gain = here.adjustment.chi2 - every[0].left if every else 0.0
        if gain < (sure if told or here.adjustment.chi2 <= limit(RARE, here.freedom) else 0.0) or not every:
            break
        best, *others = _ranked(net, [one for one in every if one.left - every[0].left < AS_WELL])
        told.append(Finding(best, tuple(others), gain))
        here = _State(best.adjustment, (*here.allowed, best.mistake), best.sizes)
    sizes = here.sizes.tolist()
    return tuple(replace(one, best=replace(one.best, size=size)) for one, size in zip(told, sizes, strict=True))


def _ranked(net: TapeNet, as_well: Sequence[Explanation]) -> list[Explanation]:
    """Return explanations that are as good, each once; first one that brings a reading onto its neighbours' line.

    The tapes cannot tell them apart, and the run of the hull can: where one of them, undone, takes a reading to where
    the stations around it have it, that is the likeliest of them.
    """
    once = {one.mistake.words: one for one in reversed(as_well)}
    ranked = [one for one in as_well if once[one.mistake.words] is one]
    line = expected(net) if len(ranked) > 1 else {}

    def fairer(one: Explanation) -> float:
        """Return by how much nearer its line a reading comes, m; 0 where it is not worth a word."""
        off = one.mistake.readings
        if len(off) != 1 or off[0] not in line:
            return 0.0
        expects, read = line[off[0]].expected, net.readings[off[0]].value
        meant = read - float(one.mistake.along[off[0]]) * one.size
        gain = abs(read - expects) - abs(meant - expects)
        return gain if gain > FAIRER * abs(one.size) and gain > FAIRER_LEAST else 0.0

    return sorted(ranked, key=lambda one: -fairer(one))


@dataclass(frozen=True, eq=False)
class _State:
    """The mistakes allowed for so far, their sizes, m, and the adjustment with them."""

    adjustment: Adjustment
    allowed: tuple[Mistake, ...]
    sizes: Array

    @property
    def freedom(self) -> int:
        return self.adjustment.freedom - sum(not one.whole for one in self.allowed)


def _explained(net: TapeNet, here: _State, sure: float) -> Iterator[Explanation]:
    """Yield what each mistake that could be one more leaves, allowed for with those that are already."""
    found = here.adjustment
    grossly = {one.reading: one.expected for one in strayed(net)} if not here.allowed else {}
    single = np.argsort(-np.abs(found.standing_out), kind="stable")[:CLOSE_LOOKS].tolist()
    named = list(_weighed(found, mistakes(net, found.unknowns, _stations(net, found))))
    traded = _undone(net, [one for one, _ in named if one.whole][:WHOLE]) if not here.allowed else []
    named.sort(key=lambda one: -one[1])
    gains = found.standing_out**2
    least = max(float(gains.max()), named[0][1] if named else 0.0)
    least = max(least - max(MARGIN, MARGIN_SHARE * least), NEARLY * sure if here.allowed else 0.0)
    single = [k for k in single if gains[k] > least]
    close = [one for one, gain in named[:CLOSE_LOOKS] if gain > least]
    done = {one.words for one in here.allowed}
    for mistake in dict.fromkeys([*(slipped(net, k) for k in dict.fromkeys([*grossly, *single])), *close, *traded]):
        if mistake.words not in done:
            yield from _allowed_for(net, here, mistake, _guess(net, mistake, grossly))


def _undone(net: TapeNet, whole: Sequence[Mistake]) -> list[Mistake]:
    """Return the mistakes of no size without which the readings as they stand, unadjusted, agree best with the tapes.

    They may be gross, and then what the adjustment says of them is worth little.
    """

    def misses(one: Mistake) -> float:
        read = net.read - one.along
        off = (net.values(_begun(net, read)) - read) / net.sigmas
        return float(off @ off)

    return sorted(whole, key=misses)[:TRADED]


def _guess(net: TapeNet, mistake: Mistake, grossly: dict[int, float]) -> float | None:
    """Return how large a mistake is to begin with where its reading is grossly off its neighbours' line."""
    off = mistake.readings
    if len(off) != 1 or off[0] not in grossly:
        return None
    return (net.readings[off[0]].value - grossly[off[0]]) * float(mistake.along[off[0]])


def _allowed_for(net: TapeNet, here: _State, mistake: Mistake, guess: float | None) -> Iterator[Explanation]:
    """Yield the explanation that *mistake* was made beside those allowed for, as large as it most likely was."""
    every = (*here.allowed, mistake)
    along = np.column_stack([one.along for one in every])
    sized = np.array([not one.whole for one in every])
    sizes = np.append(here.sizes, 0.0 if not mistake.whole else 1.0)
    found, start = here.adjustment, here.adjustment.unknowns
    if guess is not None or mistake.whole:
        sizes[-1] = 1.0 if guess is None else guess
        start = _begun(net, net.read - along @ sizes)
    elif (step := _step(found, along[:, sized])) is not None:
        sizes[sized] += step
        start = start - found.moved(along[:, sized] @ step)
    for _ in range(ROUNDS):
        try:
            found = adjusted(net.predicted, start, net.read - along @ sizes, net.sigmas, found.factor)
        except Unsettled:
            return
        step = _step(found, along[:, sized])
        if step is None:
            break
        sizes[sized] += step
        start = found.unknowns - found.moved(along[:, sized] @ step)
    shows = found.shown(along[:, -1:])[0].item()
    if shows > 0 and possible(net, zip(every, sizes.tolist(), strict=True)):
        sigma = 0.0 if mistake.whole else 1 / math.sqrt(shows)
        yield Explanation(mistake, float(sizes[-1]), sigma, found.chi2, found, sizes)


def _step(found: Adjustment, along: Array) -> Array | None:
    """Return by how much the sizes of mistakes *along* are yet to change; None where it changes nothing."""
    if not along.shape[1]:
        return None
    shows, shown = found.shown(along)
    step: Array = np.linalg.lstsq(shows, shown, rcond=None)[0].astype(np.float64)
    return step if float(step @ shows @ step) > STILL else None


def _begun(net: TapeNet, read: Array) -> Array:
    """Return the unknowns as *read*."""
    start = np.zeros(len(net.start))
    told = net.direct >= 0
    start[net.direct[told]] = read[told]
    return start


def _weighed(found: Adjustment, every: Iterable[Mistake]) -> Iterator[tuple[Mistake, float]]:
    """Yield mistakes with by how much chi-square would fall were they allowed for, by the adjustment as it is."""
    left = iter(every)
    while some := list(islice(left, AT_ONCE)):
        each = (one.tolist() for one in found.shown_alone(np.array([one.along for one in some]).T))
        for one, own, shown in zip(some, *each, strict=True):
            yield one, 2 * shown - own if one.whole else shown**2 / own if own > 0 else 0.0


def _stations(net: TapeNet, found: Adjustment) -> list[str]:
    """Return the stations where readings stand out most, a few dozen at most."""
    worst = np.argsort(-np.abs(found.standing_out), kind="stable").tolist()
    marked = (name for k in worst for name in _touched(net, k))
    return list(islice(dict.fromkeys(marked), STATIONS))


def _touched(net: TapeNet, reading: int) -> list[str]:
    one = net.readings[reading]
    return [one.station, *(net.corners[k][0] for k in one.corners)]
