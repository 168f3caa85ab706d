"""What the tapes could not have shown, and which tapes more would show most of it.

The largest slip that would not be noticed is 4.132 σ/√r for a reading (Baarda 1968), and for a mistake that puts many
readings off together likewise. What counts is the worst, not the mean: it is the one that a panel is cut from. A tape
more adds to what shows of each mistake by a rank-one update, so that every tape that could be taken is tried, on paper.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations, islice, product

import numpy as np

from tapeloft.model.survey.station import Station
from tapeloft.model.survey.survey import Check
from tapeloft.model.tapes.adjusting import Adjustment
from tapeloft.model.tapes.levels import Array
from tapeloft.model.tapes.mistakes import mistakes, off_in_words
from tapeloft.model.tapes.readings import TAPES, TapeNet, moved, net_of
from tapeloft.model.tapes.tails import NOTICEABLE

CANDIDATES = 400  # tapes that are tried, at the stations where least is noticed first
STATIONS = 12  # at which mistakes of a whole station are thought of
TAPES_MORE = 2
LEAST_LENGTH = 0.05  # m: no tape worth taking is shorter
OF_STATIONS = ("datum", "string")
BLIND = 0.5  # m: what passes unnoticed up to more than this is not shown at all


@dataclass(frozen=True, eq=False)
class Unnoticed:
    """A mistake in words, and the size, m, up to which it is not noticed; infinite where nothing would show it."""

    words: str
    up_to: float


@dataclass(frozen=True)
class NextTape:
    """A tape to take: its corners, the length to expect, m, and what could then not be noticed at most, m.

    blind: of how many mistakes nothing would show even then; *worst* is of the others.
    """

    label: str
    length: float
    worst: float
    blind: int


@dataclass(frozen=True, eq=False)
class Plan:
    """What could not be noticed, the worst first; of how many mistakes nothing shows; and the tapes to take next."""

    unnoticed: tuple[Unnoticed, ...]
    blind: int
    tapes: tuple[NextTape, ...]


@dataclass(frozen=True, eq=False)
class _Outlook:
    """What shows of each mistake (d,), what each tape would add to it (d, k), and what tapes tell in common (k, k)."""

    shows: Array
    adds: Array
    common: Array

    def with_one_more(self) -> Array:
        """Return what would show of each mistake with each tape taken, (d, k)."""
        more: Array = self.shows[:, None] + self.adds**2 / (1.0 + np.diagonal(self.common))
        return more

    def after(self, tape: int) -> "_Outlook":
        """Return the outlook with one of the tapes taken."""
        share = self.common[tape] / (1.0 + self.common[tape, tape])
        return _Outlook(
            self.with_one_more()[:, tape],
            self.adds - np.outer(self.adds[:, tape], share),
            self.common - np.outer(self.common[:, tape], share),
        )


def planned(net: TapeNet, found: Adjustment) -> Plan:
    """Return what could not be noticed in *net*, and the one or two tapes that would help most."""
    tapes = list(islice(_candidates(net, found), CANDIDATES))
    more = net_of(replace(net.survey, checks=(*net.survey.checks, *tapes)))
    words, outlook = _looked_out(net, found, more)
    up_to = _up_to(outlook.shows)
    order = np.argsort(-up_to, kind="stable").tolist()
    chosen: list[NextTape] = []
    taken: list[int] = []
    while len(chosen) < min(TAPES_MORE, len(tapes)):
        best = _best(outlook, taken)
        if best is None:
            break
        taken.append(best)
        outlook = outlook.after(best)
        left = _up_to(outlook.shows)
        label = "-".join(station + mark for station, mark in tapes[best].corners)
        worst = float(left[np.isfinite(left)].max(initial=0.0))
        chosen.append(NextTape(label, tapes[best].length, worst, int(np.isinf(left).sum())))
    by_words = {words[k]: Unnoticed(words[k], float(up_to[k])) for k in reversed(order)}
    unnoticed = sorted(by_words.values(), key=lambda one: -one.up_to)
    return Plan(tuple(unnoticed), sum(math.isinf(one.up_to) for one in unnoticed), tuple(chosen))


def _looked_out(net: TapeNet, found: Adjustment, more: TapeNet) -> tuple[list[str], _Outlook]:
    """Return the mistakes that move corners, in words, and the outlook; *more* is the net with every tape to try."""
    count = len(net.readings)
    telling = [k for k, one in enumerate(net.readings) if one.kind not in TAPES]
    slopes = more.predicted(found.unknowns).slopes
    added = slopes.rows >= count
    tries = np.zeros((len(found.unknowns), len(more.readings) - count))
    sigmas = more.sigmas
    np.add.at(
        tries,
        (slopes.columns[added], slopes.rows[added] - count),
        slopes.slopes[added] / sigmas[slopes.rows[added]],
    )
    solved = found.factor.solved(found.factor.halved(tries))
    between = found.slopes.times(solved)
    stations = list(dict.fromkeys(net.readings[k].station for k in _worst(net, found)))[:STATIONS]
    named = [one for one in mistakes(more, found.unknowns, stations) if one.kind in OF_STATIONS]
    along = np.column_stack([np.zeros((len(more.readings), 0)), *(one.along[:, None] for one in named)])
    weighed = along / sigmas[:, None]
    shows, _ = found.shown_alone(along[:count])
    own = np.append(found.redundancies[telling] / found.sigmas[telling] ** 2, shows)
    adds = np.vstack([-between[telling] / found.sigmas[telling, None], weighed[count:].T - weighed[:count].T @ between])
    words = [*(off_in_words(net.readings[k]) for k in telling), *(one.words for one in named)]
    return words, _Outlook(own, adds, tries.T @ solved)


def _up_to(shows: Array) -> Array:
    """Return the sizes, m, up to which mistakes are not noticed, for what shows of one metre of them."""
    seen = shows > (NOTICEABLE / BLIND) ** 2
    return np.where(seen, NOTICEABLE / np.sqrt(np.where(seen, shows, 1.0)), np.inf)


def _best(outlook: _Outlook, taken: Sequence[int]) -> int | None:
    """Return the tape, of those not *taken*, that leaves the fewest mistakes unseen, then the least worst one.

    None where none helps.
    """
    if not outlook.common.size:
        return None
    left = _up_to(outlook.with_one_more())
    unseen = np.isinf(left).sum(axis=0)
    capped = np.where(np.isinf(left), 0.0, left)
    keys = list(zip(unseen.tolist(), capped.max(axis=0).tolist(), capped.sum(axis=0).tolist(), strict=True))
    now = _up_to(outlook.shows)
    best = min((k for k in range(len(keys)) if k not in taken), key=keys.__getitem__)
    finite = np.where(np.isinf(now), 0.0, now)
    return best if keys[best] < (int(np.isinf(now).sum()), float(finite.max()), float(finite.sum())) else None


def _worst(net: TapeNet, found: Adjustment) -> list[int]:
    """Return the readings in the order of how much of a slip in them would not be noticed, the most first."""
    order: list[int] = np.argsort(-found.noticeable, kind="stable").tolist()
    return order


def _candidates(net: TapeNet, found: Adjustment) -> Iterator[Check]:
    """Yield the tapes that could be taken: between lettered corners of one station, or of two that follow."""
    stations = [station for station in moved(net.survey, net, found.unknowns) if not station.pointed]
    taken = {frozenset(check.corners) for check in net.survey.checks if len(check.corners) == 2}
    wanted = list(dict.fromkeys(net.readings[k].station for k in _worst(net, found)))
    place = {station.name: k for k, station in enumerate(stations)}
    for name in wanted:
        k = place.get(name)
        if k is None:
            continue
        here = _lettered(stations[k])
        after = _lettered(stations[k + 1]) if k + 1 < len(stations) else []
        for (one, a), (other, b) in (*combinations(here, 2), *product(here, after)):
            length = math.dist(a, b)
            if length >= LEAST_LENGTH and frozenset((one, other)) not in taken:
                yield Check((one, other), length)


def _lettered(station: Station) -> Sequence[tuple[tuple[str, str], tuple[float, float, float]]]:
    return [((station.name, corner.name), corner.at) for corner in station.corners if corner.name]
