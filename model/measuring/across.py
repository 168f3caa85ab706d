"""Check tapes within one section, chosen so that a slip at any letter shows, and shows where."""

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass
from itertools import combinations

import networkx as nx
import numpy as np

from tapeloft.model.measuring.section import NEAR, Section, Tape, area, inside
from tapeloft.model.measuring.wants import Line, Wants, met_by, wants
from tapeloft.model.moments import Points

STEEP = 0.35  # rise over run from which a side counts as hull and not as sole or deck (common practice, no source)
NEED = 10.0  # what it is worth that a letter gets a tape, or a direction, that it lacks, against the following
LONGER, ALONG, USUAL = 1.0, 1.0, 1.5  # a long tape gains, one along a side loses, one as at the station before gains
WORST = 0.01  # what a tape is worth at the least that helps at all
HINDERED = 9.0  # what a tape loses that something stands in the way of: it is taken only where no other will do

Blocked = Callable[[Points, Points], bool]
"""Whether something stands between two points (3,) m."""


@dataclass(frozen=True)
class Across:
    """The tapes of one section, in the order of their worth: the first *enough* of them touch every letter."""

    tapes: tuple[Tape, ...]
    enough: int
    girths: tuple[Tape, ...]


def never(a: Points, b: Points) -> bool:
    """Say that nothing stands between two points."""
    return False


def tapes_across(
    section: Section,
    named: Collection[tuple[str, str]],
    had: Sequence[Tape] = (),
    blocked: Blocked = never,
    usual: Collection[frozenset[str]] = (),
) -> Across:
    """Return the check tapes of one section that make slips show, as few as will do.

    Each letter is touched by two tapes or more that lie 30° apart (`wants.DIFFERING`), or as far apart as lines within
    the section allow: a slip then shows in two tapes that have only that letter in common. No tape runs through
    the section's sides. named: the corners, (station, mark), that a label can name; others are left out. had: tapes
    that the survey already has, which count. blocked: what stands in the way; such a tape is taken where no other
    does. usual: pairs of marks taped at the station before, taken here too where they do as well.

    How many are needed (half a tape a letter shows that there is a slip, one a letter where) is from simulation of
    slips of 50 mm on sections of 6 to 10 corners. Method: round by round the tapes that share no letter and together
    give most of what letters still lack, a matching of greatest weight (Edmonds 1965, as networkx has it).

    >>> corners = ((0, 0.5, 0.0), (0, 0.9, 0.0), (0, 1.1, 0.7), (0, 0.5, 0.72))
    >>> square = Section("1", 0.0, ("A", "B", "C", "D"), corners)
    >>> chosen = tapes_across(square, {("1", mark) for mark in "ABCD"})
    >>> [tape.label for tape in chosen.tapes], chosen.enough, [tape.label for tape in chosen.girths]
    (['1A-1C', '1B-1D', '1C-1D', '1A-1B'], 2, ['1B-1C-1D'])
    """
    numbers = {mark: k for k, mark in enumerate(section.marks)}
    own = [tape for tape in had if _is_here(section, tape)]
    fixed = [_line(numbers[tape.corners[0][1]], numbers[tape.corners[1][1]]) for tape in own]
    worth = _worth(section, _spots_of_their_own(section, named), blocked, usual)
    asked = wants(section.spots, [*worth, *fixed])
    chosen, enough = _covering_first(_pruned(asked, _gathered(asked, worth, fixed), fixed, worth))
    told = dict(zip(fixed, own, strict=True))
    tapes = [told.get(line) or Tape(tuple((section.station, section.marks[k]) for k in line)) for line in chosen]
    return Across(tuple(tapes), enough, _girths(section, named, had))


def _line(a: int, b: int) -> Line:
    return (min(a, b), max(a, b))


def _is_here(section: Section, tape: Tape) -> bool:
    return len(tape.corners) == 2 and all(
        station == section.station and mark in section.marks for station, mark in tape.corners
    )


def _spots_of_their_own(section: Section, named: Collection[tuple[str, str]]) -> list[int]:
    """Return the corners that tapes can go to: of those that share a spot, the first."""
    usable: list[int] = []
    for k, mark in enumerate(section.marks):
        gaps = np.linalg.norm(section.spots[usable] - section.spots[k], axis=1)
        if (section.station, mark) in named and not (gaps < NEAR).any():
            usable.append(k)
    return usable


def _worth(
    section: Section, usable: Sequence[int], blocked: Blocked, usual: Collection[frozenset[str]]
) -> dict[Line, float]:
    """Return every line between two letters that a tape can take, and its worth as far as it stands alone."""
    spots, outline = section.spots, section.outline
    flat = abs(area(outline)) < NEAR * NEAR
    longest = float(np.linalg.norm(np.ptp(spots, axis=0))) or 1.0
    found = {}
    for a, b in combinations(usable, 2):
        if flat or inside(outline, outline[a], outline[b]):
            own = LONGER * float(np.linalg.norm(spots[a] - spots[b])) / longest
            own -= ALONG * (b - a in (1, len(outline) - 1)) + HINDERED * blocked(spots[a], spots[b])
            found[a, b] = own + USUAL * (frozenset((section.marks[a], section.marks[b])) in usual)
    return found


def _gathered(asked: Wants, worth: dict[Line, float], fixed: Sequence[Line]) -> list[Line]:
    """Return the lines taken round by round until every letter has what it can get; those of one round meet nowhere."""
    chosen = list(dict.fromkeys(fixed))
    while True:
        met = {k: met_by(k, chosen) for k in asked.tapes}
        lacking = {k: asked.lacking(k, others) for k, others in met.items()}
        gains = {
            (a, b): lacking[a] - asked.lacking(a, [*met[a], b]) + lacking[b] - asked.lacking(b, [*met[b], a])
            for a, b in worth
            if (a, b) not in chosen and (lacking[a] or lacking[b])
        }
        open_ = nx.Graph()
        open_.add_weighted_edges_from(  # above nothing, for a matching leaves out what is worth less
            (*line, max(NEED * gain + worth[line], WORST)) for line, gain in gains.items() if gain > 1e-6
        )
        taken = {_line(*pair) for pair in nx.max_weight_matching(open_)}
        if not taken:
            return chosen
        chosen += sorted(taken, key=lambda line: (-round(gains[line], 6), -round(worth[line], 6), line))


def _pruned(asked: Wants, chosen: list[Line], fixed: Sequence[Line], worth: dict[Line, float]) -> list[Line]:
    """Return the lines without those that no letter needs; the *fixed* ones stay."""
    for line in sorted((one for one in chosen if one not in fixed), key=lambda one: worth[one]):
        rest = [one for one in chosen if one != line]
        if all(asked.lacking(k, met_by(k, rest)) <= asked.lacking(k, met_by(k, chosen)) + 1e-9 for k in line):
            chosen = rest
    return chosen


def _covering_first(chosen: Sequence[Line]) -> tuple[list[Line], int]:
    """Return the lines with those first that touch every corner that any touches, and how many of them do so."""
    touched, first, rest = {k for line in chosen for k in line}, list[Line](), list(chosen)
    while touched:
        best = max(rest, key=lambda line: len(touched & set(line)))
        first.append(best)
        rest.remove(best)
        touched -= set(best)
    return [*first, *rest], len(first)


def _girths(section: Section, named: Collection[tuple[str, str]], had: Sequence[Tape]) -> tuple[Tape, ...]:
    """Return a girth along the hull on each side that has three letters there; those that the survey has first."""
    own = [t for t in had if len(t.corners) > 2 and all(station == section.station for station, _ in t.corners)]
    covered = {corner for tape in own for corner in tape.corners}
    found = []
    for run in _hull(section):
        corners = tuple((section.station, section.marks[k]) for k in run)
        if len(run) > 2 and set(corners) <= set(named) and not covered.issuperset(corners):
            found.append(Tape(corners))
    return (*own, *found)


def _hull(section: Section) -> list[list[int]]:
    """Return the runs of corners up the hull: from the outermost corner of a side, as far as the sides are steep."""
    outline = section.outline
    runs = []
    for side in (1.0, -1.0):
        outward = side * outline[:, 0]
        if len(outline) < 3 or outward.max() <= max(0.0, float(-outward.min()) * 0.2):
            continue
        at = int(outward.argmax())
        run = [*_steep(section, at, -1)[::-1], at, *_steep(section, at, 1)]
        rising = outline[run[0], 1] <= outline[run[-1], 1]
        if len(run) == 2:  # a flat side: on round the deck edge, for two letters make no girth
            run = [*run, (run[-1] + 1) % len(outline)] if rising else [(run[0] - 1) % len(outline), *run]
        runs.append(run if rising else run[::-1])
    return runs


def _steep(section: Section, at: int, step: int) -> list[int]:
    """Return the corners on from *at* round the section, as long as each side is steep and goes on the same way."""
    outline, run = section.outline, [at]
    while len(run) < len(outline):
        following = (run[-1] + step) % len(outline)
        run_out, rise = outline[following] - outline[run[-1]]
        before = outline[run[-1]] - outline[run[-2]] if len(run) > 1 else np.array([0.0, rise])
        if abs(rise) <= STEEP * abs(run_out) or rise * before[1] < 0 or abs(rise) < NEAR:
            break
        run.append(following)
    return run[1:]
