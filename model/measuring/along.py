"""Check tapes along a compartment: two that cross in each bay, and two over its whole length."""

from collections.abc import Collection, Iterator, Sequence
from itertools import pairwise, product

import numpy as np

from tapeloft.model.measuring.across import Blocked, never
from tapeloft.model.measuring.section import NEAR, Section, Tape, contains
from tapeloft.model.moments import Points

LEVEL = 0.1  # m that a long tape must rise or fall at least, where the bay allows it, to tell heights from breadths
TAUT = 0.01  # m that a tape may run into a side that was read a little off, before it counts as going through it
SHUT = 4.0  # what a pair of tapes loses in worth for each that cannot run straight
INBOARD = 0.2  # what a tape over all loses for each metre from the centreline: inboard the structure runs straight
ENDS = 8  # letters, of the lowest and of the highest, that are looked at
AGAIN = 0.05  # what a pair loses for each letter that the bay before used too


def tapes_along(
    sections: Sequence[Section],
    named: Collection[tuple[str, str]],
    had: Sequence[Tape] = (),
    blocked: Blocked = never,
) -> tuple[tuple[Tape, ...], ...]:
    """Return for each bay, from one section to the next, two long tapes that cross: one rises, one falls.

    Tapes within the sections cannot see a station at a wrong distance, nor one whose datum or string has moved; two
    long ones that cross can. From bay to bay they change letters, so that at no station one letter carries all. named,
    had, blocked: as for `across.tapes_across`; what the survey has between two sections stands first and is made up to
    such a pair. A bay has none where it has no length, as at a step, or no letters.

    >>> corners = ((0, 0.5, 0.0), (0, 0.9, 0.0), (0, 1.1, 0.7), (0, 0.5, 0.72))
    >>> moved = tuple((0.8, y, z) for _, y, z in corners)
    >>> two = [Section("0", 0.0, tuple("ABCD"), corners), Section("1", 0.8, tuple("ABCD"), moved)]
    >>> [[tape.label for tape in bay] for bay in tapes_along(two, {(k, mark) for k in "01" for mark in "ABCD"})]
    [['0A-1C', '0C-1A']]
    """
    bays: list[tuple[Tape, ...]] = []
    used: set[str] = set()
    for one, other in pairwise(sections):
        own = [tape for tape in had if _joins(tape, one, other)]
        bay = (*own, *_made_up(own, _crossing(one, other, named, used, blocked), one, other))
        used = {mark for tape in bay for station, mark in tape.corners if station == other.station}
        bays.append(bay)
    return tuple(bays)


def tapes_over_all(
    sections: Sequence[Section],
    named: Collection[tuple[str, str]],
    had: Sequence[Tape] = (),
    blocked: Blocked = never,
) -> tuple[Tape, ...]:
    """Return the tapes over the whole length: one low, at the sole, and one high, at the deck.

    From the first section that has letters to the last, each at the letter whose tape runs straightest, which is most
    often one inboard. named, had, blocked: as for `across.tapes_across`. None where there are fewer than three such
    sections: the long tapes of the one bay say it all.
    """
    lettered = [one for one in sections if any((one.station, mark) in named for mark in one.marks)]
    own = [tape for tape in had if len(tape.corners) == 2 and not _near(tape, sections)]
    if len(lettered) < 3 or abs(lettered[-1].x - lettered[0].x) < NEAR:
        return tuple(own)
    first, last = lettered[0], lettered[-1]
    shared = [mark for mark in first.marks if {(first.station, mark), (last.station, mark)} <= set(named)]
    if not shared:
        return tuple(own)
    place = {mark: first.spots[first.marks.index(mark)] for mark in shared}
    levels = sorted(float(at[2]) for at in place.values())
    middle = (levels[0] + levels[-1]) / 2
    found = []
    for band in ([m for m in shared if place[m][2] <= middle], [m for m in shared if place[m][2] > middle]):
        if band:
            end = levels[0] if place[band[0]][2] <= middle else levels[-1]
            best = max(band, key=lambda mark: _end_to_end(mark, place[mark], end, lettered, blocked))
            found.append(Tape(((first.station, best), (last.station, best))))
    return (*own, *(tape for tape in found if not any(set(tape.corners) == set(one.corners) for one in own)))


def _joins(tape: Tape, one: Section, other: Section) -> bool:
    return len(tape.corners) == 2 and {station for station, _ in tape.corners} == {one.station, other.station}


def _near(tape: Tape, sections: Sequence[Section]) -> bool:
    """Whether a tape stays within one section or goes only to the next."""
    names = [one.station for one in sections]
    at = [names.index(station) for station, _ in tape.corners if station in names]
    return len(at) < 2 or max(at) - min(at) < 2


def _made_up(own: Sequence[Tape], pair: Sequence[Tape], one: Section, other: Section) -> Iterator[Tape]:
    """Yield those of a crossing pair that go a way that none of the survey's own tapes goes."""
    ways = [_rise(tape, one, other) for tape in own]
    for tape in pair:
        rise = _rise(tape, one, other)
        if not any(way * rise > 0 and abs(way) > min(LEVEL, abs(rise)) for way in ways):
            yield tape


def _rise(tape: Tape, one: Section, other: Section) -> float:
    """Return how far a tape rises from the one section to the other, m."""
    heights = {}
    for section in (one, other):
        for station, mark in tape.corners:
            if station == section.station and mark in section.marks:
                heights[station] = section.corners[section.marks.index(mark)][2]
    return heights.get(other.station, 0.0) - heights.get(one.station, 0.0)


def _crossing(
    one: Section, other: Section, named: Collection[tuple[str, str]], used: Collection[str], blocked: Blocked
) -> tuple[Tape, ...]:
    """Return the best pair of tapes from low to high and from high to low between the same two letters."""
    if abs(other.x - one.x) < NEAR:
        return ()
    rising = sorted(range(len(one.marks)), key=lambda k: one.corners[k][2])
    low_high = [
        (low, high)
        for low, high in product(rising[:ENDS], rising[-ENDS:])
        if low != high and _both(one, other, (low, high), named)
    ]
    if not low_high:
        return _to_what_is_left(one, other, named)
    best = max(low_high, key=lambda pair: (round(_worth(one, other, pair, used, blocked), 9), -pair[0], -pair[1]))
    a, b = one.marks[best[0]], one.marks[best[1]]
    return (Tape(((one.station, a), (other.station, b))), Tape(((one.station, b), (other.station, a))))


def _both(one: Section, other: Section, pair: tuple[int, int], named: Collection[tuple[str, str]]) -> bool:
    """Whether both letters stand at both sections, and the first is the lower at each."""
    marks = [one.marks[k] for k in pair]
    if not all(mark in other.marks and {(one.station, mark), (other.station, mark)} <= set(named) for mark in marks):
        return False
    return _heights(one, marks)[0] < _heights(one, marks)[1] and _heights(other, marks)[0] < _heights(other, marks)[1]


def _heights(section: Section, marks: Sequence[str]) -> list[float]:
    return [section.corners[section.marks.index(mark)][2] for mark in marks]


def _worth(one: Section, other: Section, pair: tuple[int, int], used: Collection[str], blocked: Blocked) -> float:
    """Return what a crossing pair is worth: how much of a station's shift, whichever way, it shows at the least."""
    marks = [one.marks[k] for k in pair]
    seen, hindered = [], 0
    for a, b in (marks, marks[::-1]):
        start, end = one.spots[one.marks.index(a)], other.spots[other.marks.index(b)]
        seen.append(np.abs(end - start) / max(float(np.linalg.norm(end - start)), 1e-9))
        hindered += (not _runs_clear(one, other, start, end)) or blocked(start, end)
    least = float(np.max(seen, axis=0).min())
    return least - SHUT * hindered - AGAIN * sum(mark in used for mark in marks)


def _runs_clear(one: Section, other: Section, start: Points, end: Points) -> bool:
    """Whether a line between two sections stays within the section that lies between them, a quarter way and on."""
    if one.marks != other.marks:
        return True  # what is joined to what is not known here
    return all(
        contains(
            one.outline * (1 - share) + other.outline * share, (start + (end - start) * share)[None, 1:], TAUT
        ).all()
        for share in (0.25, 0.5, 0.75)
    )


def _to_what_is_left(one: Section, other: Section, named: Collection[tuple[str, str]]) -> tuple[Tape, ...]:
    """Return two tapes between sections that share no two letters, lowest to highest and highest to lowest."""
    here, there = (
        sorted(
            (mark for mark in section.marks if (section.station, mark) in named),
            key=lambda mark, section=section: section.corners[section.marks.index(mark)][2],  # type: ignore[misc]
        )
        for section in (one, other)
    )
    if not (here and there):
        return ()
    ends = dict.fromkeys([(here[0], there[-1]), (here[-1], there[0])])
    return tuple(Tape(((one.station, a), (other.station, b))) for a, b in ends)


def _end_to_end(mark: str, place: Points, level: float, sections: Sequence[Section], blocked: Blocked) -> float:
    """Return what a tape at one letter from the first section to the last is worth: less for all that hinders it."""
    first, last = sections[0], sections[-1]
    start, end = first.spots[first.marks.index(mark)], last.spots[last.marks.index(mark)]
    through = 0
    for one in sections[1:-1]:
        share = (one.x - first.x) / (last.x - first.x)
        through += not contains(one.outline, (start + (end - start) * share)[None, 1:], TAUT).all()
    return -SHUT * (through + blocked(start, end)) - INBOARD * abs(float(place[1])) - abs(float(place[2]) - level)
