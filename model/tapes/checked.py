"""How well the tapes of a survey agree, what to take again, and what could not have been noticed."""

import math
import statistics
from dataclasses import dataclass

import numpy as np

from tapeloft.model.errors import Problem
from tapeloft.model.survey.places import Place
from tapeloft.model.survey.survey import Survey
from tapeloft.model.tapes.adjusting import Unsettled, adjusted
from tapeloft.model.tapes.believed import SENSELESS, doubted, scatter
from tapeloft.model.tapes.levels import Array
from tapeloft.model.tapes.likely import Likely, likely
from tapeloft.model.tapes.mistakes import Mistake
from tapeloft.model.tapes.planning import Plan, Unnoticed, planned
from tapeloft.model.tapes.readings import TapeNet
from tapeloft.model.tapes.settling import Basis, Settled, settled
from tapeloft.model.tapes.sister import HeldTape
from tapeloft.model.tapes.suspects import RARE, Explanation, Finding, findings
from tapeloft.model.tapes.tails import limit
from tapeloft.model.units import format_length

GROSS = 20.0  # sigmas that a reading may stand out with slips undone: if one does more, they were not those
MOST = 3  # examples told of what could not be noticed, of either kind


@dataclass(frozen=True)
class TapeRead:
    """A check tape: as written, and as its corners make it, as read and adjusted; sigma_m: how good such tapes are."""

    words: str
    label: str
    written_m: float
    read_m: float
    adjusted_m: float
    sigma_m: float


@dataclass(frozen=True)
class Again:
    """One explanation of what disagrees, and what to measure again for it.

    Lengths m, as on paper. size_m: how much is off, None for a mistake that has no size. written_m, should_m, sigma_m:
    what a single reading says, what the others say, and how sure that is. probably: what it may have been.
    """

    kind: str
    words: str
    measure: str
    problem: Problem
    size_m: float | None
    sigma_m: float
    chi2_left: float
    written_m: float | None = None
    should_m: float | None = None
    probably: tuple[Likely, ...] = ()


@dataclass(frozen=True)
class Wrong:
    """One thing to measure again: what explains it best, and what explains it as well."""

    best: Again
    or_else: tuple[Again, ...]


@dataclass(frozen=True)
class Unseen:
    """What could be wrong without being noticed, up to so many metres; None where nothing would show it at all."""

    words: str
    up_to_m: float | None


@dataclass(frozen=True)
class More:
    """A tape to take next, about so long; what could be wrong unnoticed then at most, and of how many nothing shows."""

    label: str
    length_m: float
    then_up_to_m: float
    then_blind: int


@dataclass(frozen=True)
class Checked:
    """What the tapes of one compartment say.

    again: nothing where no few slips explain it: then several readings are wrong, and none is known to be. typical_m:
    half of the check tapes lie nearer than this to their corners. chi2, limit, freedom: how much the
    readings disagree, what chance alone seldom goes beyond, and how many readings there are to spare. scatter: how
    many times as far as stated they lie off with what is told undone; doubted: what speaks against what is stated.
    """

    compartment: str
    basis: Basis
    words: str
    tapes: tuple[TapeRead, ...]
    typical_m: float
    chi2: float
    limit: float
    freedom: int
    again: tuple[Wrong, ...]
    explained: bool
    blind: int
    of: int
    unseen: tuple[Unseen, ...]
    next: tuple[More, ...]
    scatter: float = math.nan
    doubted: tuple[str, ...] = ()

    @property
    def agrees(self) -> bool:
        """Whether nothing needs to be measured again."""
        return self.basis not in ("disagreeing", "unlike")


def checked(survey: Survey) -> Checked:
    """Return what the check tapes of *survey* say of its readings."""
    one = settled(survey)
    if survey.sister is not None:
        return _twin(survey, one)
    net = one.net
    try:
        found = one.adjustment or adjusted(net.predicted, net.start, net.read, net.sigmas)
    except Unsettled:
        tapes = _tapes(net, net.start)
        off = _typical(tapes)
        return Checked(survey.name, one.basis, one.words, tapes, off, math.inf, 0.0, 0, (), False, 0, 0, (), ())
    told = findings(net, found) if one.basis == "disagreeing" else ()
    plan = planned(net, found)
    best = told[-1].best.adjustment if told else found
    left = found.freedom - sum(not one_.best.mistake.whole for one_ in told)
    explained = one.basis != "disagreeing" or best.chi2 <= limit(RARE, found.freedom)
    if not explained and (scatter(best.chi2, left) > SENSELESS or np.abs(best.standing_out).max() > GROSS):
        told, best, left = (), found, found.freedom
    tapes = _tapes(net, best.unknowns)
    return Checked(
        survey.name,
        one.basis,
        one.words,
        tapes,
        _typical(tapes),
        found.chi2,
        limit(RARE, found.freedom),
        found.freedom,
        tuple(_wrong(survey, net, one_) for one_ in told),
        explained,
        plan.blind,
        len(plan.unnoticed),
        tuple(Unseen(_bare(one_.words), _known(one_.up_to)) for one_ in _shown(plan)),
        tuple(More(tape.label, tape.length, tape.worst, tape.blind) for tape in plan.tapes),
        scatter(best.chi2, left),
        doubted(survey, net, best.chi2, left, explained=explained),
    )


def _twin(survey: Survey, one: Settled) -> Checked:
    """Return what the tapes of a twin say whose readings were taken in her sister: whether she is like her."""
    held = one.held
    tapes = [
        TapeRead(f"tape {t.label}", t.label, t.taped_m, t.first_m, t.first_m, t.sigma_m)
        for t in (held.tapes if held else ())
    ]
    off = _typical(tuple(tapes))
    again = [_unlike(survey, k, held.tapes[k]) for k in held.unlike] if held else []
    chi2, most = (held.chi2, held.limit) if held else (math.nan, math.nan)
    told = tuple(Wrong(one_, ()) for one_ in again)
    return Checked(
        survey.name, one.basis, one.words, tuple(tapes), off, chi2, most, len(tapes), told, True, 0, 0, (), ()
    )


def _unlike(survey: Survey, number: int, tape: HeldTape) -> Again:
    written, hers = (format_length(round(m, 3), survey.unit) for m in (tape.taped_m, tape.first_m))
    near = format_length(_rounded_up(2 * tape.sigma_m), survey.unit)
    what = f"{written} is written, and her sister's corners make it {hers}, where {near} would be nothing odd"
    mend = "measure it again; if it is so, read its corners in the twin and write them under [twin.station]"
    problem = survey.problem(survey.path_to_check(survey.checks[number]), what, mend)
    off = tape.taped_m - tape.first_m
    return Again("sister", f"tape {tape.label}", f"tape {tape.label}", problem, off, tape.sigma_m, math.nan,
                 tape.taped_m, tape.first_m)  # fmt: skip


def _tapes(net: TapeNet, unknowns: Array) -> tuple[TapeRead, ...]:
    as_read, at_best = net.values(net.start), net.values(unknowns)
    return tuple(_tape(net, as_read, at_best, k) for k in net.tapes)


def _typical(tapes: tuple[TapeRead, ...]) -> float:
    return statistics.median([abs(t.written_m - t.read_m) for t in tapes] or [math.nan])


def _tape(net: TapeNet, as_read: Array, adjusted_: Array, number: int) -> TapeRead:
    one = net.readings[number]
    label = "-".join("".join(net.corners[k]) for k in one.corners)
    return TapeRead(one.words, label, one.value, float(as_read[number]), float(adjusted_[number]), one.sigma)


def _wrong(survey: Survey, net: TapeNet, found: Finding) -> Wrong:
    return Wrong(_again(survey, net, found.best), tuple(_again(survey, net, other) for other in found.others))


def _again(survey: Survey, net: TapeNet, one: Explanation) -> Again:
    mistake, unit = one.mistake, survey.unit
    size = None if mistake.whole else one.size
    if len(mistake.readings) != 1 or size is None:
        told = mistake.words
        if size is not None:
            told += ": " + _sized(mistake, size, one.sigma, unit)
        problem = survey.problem(_place(net, mistake), told, f"measure again: {mistake.again}")
        return Again(mistake.kind, mistake.words, mistake.again, problem, size, one.sigma, one.left)
    read = net.readings[mistake.readings[0]]
    written = read.on_paper(read.value)
    others = math.sqrt(max(one.sigma**2 - read.sigma**2, 0.0))
    what = (
        f"{format_length(written, unit)} is written, and the other readings say "
        f"{format_length(round(written - size, 3), unit)}, give or take {format_length(_rounded_up(others), unit)}"
    )
    problem = survey.problem(read.place, what, f"measure again: {mistake.again}")
    probably = likely(written, written - size, one.sigma, unit, survey.space.tape.end)
    return Again(
        mistake.kind,
        read.words,
        mistake.again,
        problem,
        size,
        others,
        one.left,
        written,
        written - size,
        probably,
    )


def _sized(mistake: Mistake, size: float, sigma: float, unit: str) -> str:
    much, little = ("much", "little") if size > 0 else ("little", "much")
    said = f"{format_length(round(abs(size), 3), unit)} (give or take {format_length(_rounded_up(sigma), unit)})"
    return mistake.size_words.format(size=said, much=much, little=little)


def _rounded_up(length: float) -> float:
    return math.ceil(length * 1000 - 1e-9) / 1000


def _place(net: TapeNet, mistake: Mistake) -> Place:
    """Return where the first of the readings that a mistake puts off is written; the whole station where it has one."""
    if mistake.station:
        return ("station", mistake.station)
    return net.readings[mistake.readings[0]].place[:1]


def _shown(plan: Plan) -> tuple[Unnoticed, ...]:
    """Return the worst of what could not be noticed: some that nothing shows, and the largest of the rest."""
    blind = [one for one in plan.unnoticed if math.isinf(one.up_to)]
    rest = [one for one in plan.unnoticed if not math.isinf(one.up_to)]
    return (*blind[:MOST], *rest[:MOST])


def _bare(words: str) -> str:
    return words.removesuffix(" is off")


def _known(up_to: float) -> float | None:
    return None if math.isinf(up_to) else up_to
