"""What is odd about the sections of a survey, taken together: worth a second look, and perhaps quite right."""

import math
import statistics
from collections import Counter
from collections.abc import Container, Iterator, Mapping, Sequence
from itertools import pairwise

from tapeloft.model.errors import Problem
from tapeloft.model.survey.example import examples_left
from tapeloft.model.survey.slips import slips
from tapeloft.model.survey.station import Station
from tapeloft.model.survey.survey import Survey

VAST = 15.0  # m: a space larger than this is worth a word
UNEVEN = 3.0  # longest over shortest distance between stations that is worth a word
ODD = 8.0  # a corner this many times farther off its neighbours' line than most are is worth a word
ODD_SECTION = 4.0  # likewise a whole section, the middling corner of it; the line of the rest is drawn without it
ODD_LEAST = 0.015  # m: and no nearer than this
STRAYED = 2.0  # of the bay's length or the section's height: a corner farther off its station is worth a word
ENOUGH = 5  # corners off a line, from which what most do can be told

Spot = tuple[float, float, float]


def oddities(survey: Survey) -> list[Problem]:
    """Return what to look at again: slips, what is left of an example, uneven spacing, what leaves its line."""
    slipped = slips(survey)
    told = {(note.station, note.measure) for note in slipped}
    whole = [note for run in _runs(survey.stations) for note in _odd_section(survey, run)]
    told_whole = {note.station for note in (*whole, *slipped) if not note.measure}
    corners = [
        note
        for run in _runs(survey.stations)
        for note in _odd_corners(survey, run, told)
        if note.station not in told_whole
    ]
    return [
        *_left_over(survey),
        *slipped,
        *_vast(survey),
        *_uneven(survey),
        *_strayed(survey),
        *_guessed(survey),
        *whole,
        *corners,
    ]


def _left_over(survey: Survey) -> Iterator[Problem]:
    """Say where numbers of the example that a sheet is begun from still stand in it."""
    left = examples_left(survey.source.data) if survey.source else 0
    if left:
        what = f"{left} readings of corners are those of the example that `tapeloft new` writes"
        mend = "put your own in their place; nothing if you did read the same"
        yield survey.problem(("station",), what, mend)


def _runs(stations: Sequence[Station]) -> list[list[Station]]:
    """Return the stations in order, parted where the space steps."""
    runs: list[list[Station]] = [[]]
    for station in stations:
        runs += [[]] if station.step else []
        runs[-1].append(station)
    return runs


def _vast(survey: Survey) -> Iterator[Problem]:
    spots = [corner.at for station in survey.stations for corner in station.corners]
    size = max((max(axis) - min(axis) for axis in zip(*spots, strict=True)), default=0.0)
    if size > VAST:
        what = f"the space is {size:.1f} m at its largest, which few lockers are"
        yield survey.problem(("unit",), what, f"are its readings in {survey.unit}? nothing if it is so large")


def _uneven(survey: Survey) -> list[Problem]:
    gaps = [b.x - a.x for a, b in pairwise(survey.stations) if b.x > a.x]
    if not gaps or max(gaps) <= UNEVEN * min(gaps):
        return []
    what = f"the distance between stations goes from {min(gaps) * 1000:.0f} to {max(gaps) * 1000:.0f} mm"
    return [survey.problem(("station",), what, "a station more in the longest gap would tell more")]


def _strayed(survey: Survey) -> Iterator[Problem]:
    """Point at corners whose own distance takes them far from their station: no bulkhead leans so much."""
    for k, station in enumerate(survey.stations):
        spots = [corner.at for corner in station.corners]
        beside = [abs(s.x - station.x) for s in survey.stations[max(k - 1, 0) : k + 2] if s.x != station.x]
        size = max((max(at[2] for at in spots) - min(at[2] for at in spots)) if spots else 0.0, *beside, 0.0)
        for corner in station.corners:
            off = abs(corner.at[0] - station.x)
            if off > STRAYED * size:
                what = f"lies {off * 1000:.0f} mm from its station, fore and aft"
                mend = "read its own distance again; nothing if the bulkhead leans so far"
                yield survey.problem(("station", station.name, corner.name), what, mend)


def _guessed(survey: Survey) -> Iterator[Problem]:
    """Say where corners had to be matched by their share of the girth, for want of a letter."""
    full = [station for station in survey.stations if not station.pointed]
    nameless = [s.name for s in full if not any(c.name for c in s.corners)]
    if nameless:
        what = f"corners have no letters at station {', '.join(nameless)}: which meets which was guessed"
        mend = "chalk a letter on each corner and use it at every station"
        yield survey.problem(("station", nameless[0]), what, mend)
    marks = {s.name: {c.name for c in s.corners} for s in full if s.name not in nameless}
    count = Counter(mark for here in marks.values() for mark in here)
    for name, here in marks.items():
        missing = [mark for mark in count if mark not in here and 2 * count[mark] >= len(marks)]
        if missing:
            what = f"{', '.join(sorted(missing))} is read at other stations and not here: where it would be was guessed"
            yield survey.problem(("station", name), what, "read it, or nothing if the corner is not there")


def _odd_corners(survey: Survey, run: Sequence[Station], told: Container[tuple[str, str]]) -> Iterator[Problem]:
    """Point at corners that leave the line of their neighbours far more than most corners do.

    told: corners, by station and mark, that are told of already: the line of the others is drawn without them.
    """
    lines = {
        mark: {station: at for station, at in line.items() if (station, mark) not in told}
        for mark, line in _lines(run).items()
    }
    every = [miss for line in lines.values() for miss in _misses(line).values()]
    usual = statistics.median(every) if len(every) >= ENOUGH else math.inf
    for mark, line in lines.items():
        left = dict(line)
        while misses := _misses(left):
            station = max(misses, key=misses.__getitem__)
            if misses[station] <= max(ODD * usual, ODD_LEAST):
                break
            del left[station]
            what = (
                f"lies {misses[station] * 1000:.0f} mm off the line of its neighbours, "
                f"where most lie within {usual * 1000:.0f} mm"
            )
            mend = "measure it again, here and beside; nothing if the structure has a knuckle there"
            yield survey.problem(("station", station, mark), what, mend)


def _odd_section(survey: Survey, run: Sequence[Station]) -> Iterator[Problem]:
    """Point at the section that leaves the line of its neighbours far more than the others would without it."""
    lines, between = list(_lines(run).values()), [station.name for station in run[1:-1]]
    offs = _middling(lines)
    odd: list[tuple[float, float, str]] = []
    for k, station in enumerate(between):
        beside = [run[j].name for j in (k - 1, k, k + 2, k + 3) if 0 <= j < len(run)]
        near = [{s: line[s] for s in beside if s in line} for line in lines]
        others = [off for s, off in offs.items() if s not in (*beside, station)] + list(_middling(near).values())
        if station in offs and others:
            odd.append((offs[station], max(others), station))
    off, usual, station = max(odd, default=(0.0, 0.0, ""))
    if off > max(ODD_SECTION * usual, ODD_LEAST):
        what = (
            f"most of the section lies {off * 1000:.0f} mm or more off the line of its neighbours, "
            f"where the others lie within {usual * 1000:.0f} mm"
        )
        mend = "read its distance and its datum again; nothing if the space is so"
        yield survey.problem(("station", station), what, mend)


def _middling(lines: Sequence[Mapping[str, Spot]]) -> dict[str, float]:
    """Return how far the middling corner of each station lies off its line, m, where it has three corners at least."""
    every: dict[str, list[float]] = {}
    for line in lines:
        for station, miss in _misses(line).items():
            every.setdefault(station, []).append(miss)
    return {station: statistics.median(misses) for station, misses in every.items() if len(misses) > 2}


def _lines(stations: Sequence[Station]) -> dict[str, dict[str, Spot]]:
    """Return, by mark, where it is at each station that has it, aft to forward."""
    lines: dict[str, dict[str, Spot]] = {}
    for station in stations:
        for corner in station.corners:
            if corner.name:
                lines.setdefault(corner.name, {})[station.name] = corner.at
    return lines


def _misses(line: Mapping[str, Spot]) -> dict[str, float]:
    """Return how far each station's corner lies off the straight line between its neighbours, m, athwart."""
    misses = {}
    spots = list(line.items())
    for (_, a), (station, b), (_, c) in zip(spots, spots[1:], spots[2:], strict=False):
        share = (b[0] - a[0]) / (c[0] - a[0]) if c[0] > a[0] else 0.5
        misses[station] = math.dist(b[1:], [p + share * (q - p) for p, q in zip(a[1:], c[1:], strict=True)])
    return misses
