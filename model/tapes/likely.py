"""What a reading that is off probably was: the usual slips, each with how likely it is.

Bayes over the slips that people make and "some other amount": how common each is beforehand is common practice, no
source; how well what it would have been agrees with what the other tapes say is the normal density. Nothing here is
ever put in a reading's place: it tells a person what to look for when the tape is taken again.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

from tapeloft.model.survey.factors import candidates
from tapeloft.model.units import FOOT, INCH

# How common a slip is beforehand (common practice, no source); those of one kind share what the kind has.
SWAPPED, MISREAD, HUNDRED, TEN, THOUSAND, LOST, DOUBLED, UNIT, CASE, OTHER = (
    0.16, 0.2, 0.14, 0.12, 0.03, 0.04, 0.03, 0.08, 0.02, 0.18,
)  # fmt: skip
INCH_STEPS = {12: 0.08, 1: 0.14, 0.5: 0.1, 0.25: 0.08, 0.125: 0.08, 0.0625: 0.05, 10: 0.03}
ALIKE = frozenset(frozenset(pair) for pair in ("17", "14", "38", "56", "06", "49", "35", "89", "69", "27"))
ALIKE_SHARE = 3.0  # how much oftener figures that look or sound alike are taken for each other
OTHER_SPAN = 1.0  # m to either side, over which some other amount may lie
CASE_SPAN = (0.05, 0.1)  # m: the case of a pocket tape
MOST, LEAST = 3, 0.03


@dataclass(frozen=True)
class Likely:
    """What a reading may have been: the length meant, m (None for some other amount), the slip, and its probability."""

    meant: float | None
    slip: str
    probability: float


def likely(written: float, best: float, sigma: float, unit: str, end: str = "") -> tuple[Likely, ...]:
    """Return what a reading *written*, m, probably was, where the others say *best* ± *sigma*, m; likeliest first.

    unit: what the sheet is in. end: how the tape's zero was taken, as the sheet says.

    >>> [(one.slip, round(one.meant, 3)) for one in likely(0.546, 0.461, 0.004, "mm")[:1]]
    [('two figures swapped', 0.456)]
    """
    share: dict[tuple[float | None, str], float] = {}
    for meant, slip, prior in _slips(written, unit, end):
        key = (round(meant, 5), slip)
        share[key] = share.get(key, 0.0) + prior * _density((best - meant) / sigma) / sigma
    case = "the case of the tape not added, or added twice"
    low, high = CASE_SPAN
    if low <= abs(best - written) <= high:
        share[None, case] = CASE / (2 * (high - low))
    share[None, "some other amount"] = OTHER / (2 * OTHER_SPAN)
    whole = math.fsum(share.values())
    ranked = sorted(share.items(), key=lambda one: -one[1])
    return tuple(
        Likely(meant, slip, weight / whole) for (meant, slip), weight in ranked[:MOST] if weight >= LEAST * whole
    )


def _slips(written: float, unit: str, end: str) -> Iterator[tuple[float, str, float]]:
    """Yield what may have been meant, m, the slip, and how common it is."""
    by_unit = list(candidates(written))
    yield from ((meant, slip, UNIT / len(by_unit)) for meant, slip in by_unit)
    if unit in ("in", "ft", "ft-in-8"):
        yield from _in_inches(written)
        return
    figures = str(round(abs(written) * 1000))
    yield from _figures(figures)
    cut = "100 mm: the cut end of the tape not taken off, or taken off twice?" if "100" in end else "100 mm out"
    for step, prior, slip in ((0.1, HUNDRED, cut), (0.01, TEN, "10 mm out"), (1.0, THOUSAND, "a metre out")):
        yield written + step, slip, prior / 2
        if written > step:
            yield written - step, slip, prior / 2


def _figures(figures: str) -> Iterator[tuple[float, str, float]]:
    """Yield what was meant where figures were swapped, misread, lost or doubled."""
    places = range(len(figures))
    swaps = [figures[:k] + b + a + figures[k + 2 :] for k, (a, b) in enumerate(pairwise(figures)) if a != b]
    yield from ((int(one) / 1000, "two figures swapped", SWAPPED / len(swaps)) for one in swaps)
    misread = [(k, figure) for k in places for figure in "0123456789" if figure != figures[k]]
    weights = [ALIKE_SHARE if frozenset((figure, figures[k])) in ALIKE else 1.0 for k, figure in misread]
    for (k, figure), weight in zip(misread, weights, strict=True):
        meant = int(figures[:k] + figure + figures[k + 1 :]) / 1000
        yield meant, f"a {figure} taken for a {figures[k]}", MISREAD * weight / sum(weights)
    fewer = [figures[:k] + figures[k + 1 :] for k in places] if len(figures) > 1 else []
    yield from ((int(one) / 1000, "a figure too many", DOUBLED / len(fewer)) for one in fewer)
    more = [figures[:k] + figure + figures[k:] for k in range(len(figures) + 1) for figure in "0123456789"]
    yield from ((int(one) / 1000, "a figure lost", LOST / len(more)) for one in more)


def _in_inches(written: float) -> Iterator[tuple[float, str, float]]:
    """Yield what was meant where a foot, an inch or a part of one was miscounted."""
    names = {
        12: "a foot",
        1: "an inch",
        0.5: "half an inch",
        0.25: "a quarter",
        0.125: "an eighth",
        0.0625: "a sixteenth",
    }
    for inches, prior in INCH_STEPS.items():
        for step in (inches * float(INCH), -inches * float(INCH)):
            if written + step > 0:
                yield written + step, f"{names.get(inches, 'ten inches')} out", prior / 2
    whole = int(written / float(INCH) + 1e-6)
    part = written - whole * float(INCH)
    feet, inches_ = divmod(whole, 12)
    for figures, rest in ((str(whole), 0.0), (str(inches_), feet * float(FOOT))):
        for k, (a, b) in enumerate(pairwise(figures)):
            if a != b:
                swapped = int(figures[:k] + b + a + figures[k + 2 :]) * float(INCH)
                yield rest + swapped + part, "two figures swapped", SWAPPED / 2


def _density(off: float) -> float:
    return math.exp(-0.5 * off * off) / math.sqrt(2 * math.pi)
