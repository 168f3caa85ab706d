"""Readings that look like another unit, or like a figure lost or doubled, held against their neighbours.

A reading is told of when one of the usual slips (`model.factors`) would bring it onto the line of the same mark at
the stations around it. Distances are held against an even spacing, check tapes against the corners they join.
"""

import math
import statistics
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from tapeloft.model.errors import Problem
from tapeloft.model.survey.factors import candidates
from tapeloft.model.survey.places import Place
from tapeloft.model.survey.survey import Survey
from tapeloft.model.units import format_length

NEAR = 0.25  # of what its neighbours say: as close as a reading must come once the slip is undone
BESIDE = 0.5  # of the reading at the next station, likewise: a line drawn on past the last two may lead anywhere
GAIN = 0.2  # and this share of how far it was off before
LEAST = 0.03  # m that a reading must be off at all
LEAST_SHARE = 0.05  # and this share of the largest size of the space
EVEN = 3.0  # longest over shortest distance between stations that is nothing odd
TAPE = 0.1  # of the distance between its corners, as `NEAR`
SEVERAL = 3  # readings of one station that slip the same way: the station was read in another unit


@dataclass(frozen=True)
class _Slip:
    """A reading of a series, by its number there, what it should be, and the slip."""

    number: int
    meant: float
    slip: str


@dataclass(frozen=True)
class _Series:
    """One kind of reading of one mark along the stations: where each is written, x and reading, m."""

    places: list[Place]
    along: list[float]
    readings: list[float]


def slips(survey: Survey) -> list[Problem]:
    """Return which readings look like a slip of the unit or of a figure; nothing where all look right."""
    found = [(one.places[slip.number], one.readings[slip.number], slip) for one in _series(survey) for slip in _of(one)]
    sides = Counter((place[1], slip.slip) for place, _, slip in found)
    told = [
        survey.problem(place, *_said(survey, reading, slip))
        for place, reading, slip in found
        if sides[place[1], slip.slip] < SEVERAL
    ]
    for (station, slip), count in sides.items():
        if count >= SEVERAL:
            what = f"{count} readings look wrong, held against the stations beside it: {slip}?"
            told.append(survey.problem(("station", station), what, "was the whole station read in another unit?"))
    return [*told, *_distances(survey), *_tapes(survey)]


def _said(survey: Survey, reading: float, slip: _Slip) -> tuple[str, str]:
    read, meant = format_length(reading, survey.unit), format_length(round(slip.meant, 3), survey.unit)
    return f"{read} looks wrong, for its neighbours say about {meant}: {slip.slip}?", "read it again"


def _series(survey: Survey) -> Iterator[_Series]:
    full = [station for station in survey.stations if not station.pointed]
    size = _size(survey)
    names = dict.fromkeys(corner.name for station in full for corner in station.corners if corner.name)
    for name in names:
        met = [(s, corner.at) for s in full for corner in s.corners if corner.name == name]
        for part in (0, 1):
            readings = [abs(at[1] - survey.read_from) if part == 0 else at[2] for _, at in met]
            if len(met) > 1 and max(readings) - min(readings) >= max(LEAST, LEAST_SHARE * size):
                yield _Series([("station", s.name, name, part) for s, _ in met], [s.x for s, _ in met], readings)


def _size(survey: Survey) -> float:
    """Return the larger of breadth and height, m, of the middling one of the sections."""
    spans = [
        max(max(c.at[axis] for c in s.corners) - min(c.at[axis] for c in s.corners) for axis in (1, 2))
        for s in survey.stations
        if s.corners
    ]
    return statistics.median(spans) if spans else 0.0


def _of(series: _Series) -> list[_Slip]:
    """Return the slips in a series, the one that leaves the line smoothest first; each is undone before the next."""
    along, readings = series.along, list(series.readings)
    found: list[_Slip] = []
    for _ in range(SEVERAL):
        likely = [slip for k in range(len(readings)) for slip in _likely(along, readings, k)]
        likely = [slip for slip in likely if slip.number not in {one.number for one in found}]
        if not likely:
            break
        best = min(likely, key=lambda slip: _roughness(along, _undone(readings, slip)))
        readings = _undone(readings, best)
        found.append(best)
    return found


def _undone(readings: Sequence[float], slip: _Slip) -> list[float]:
    return [slip.meant if k == slip.number else reading for k, reading in enumerate(readings)]


def _likely(along: Sequence[float], readings: Sequence[float], k: int) -> Iterator[_Slip]:
    line, reading = _line(along, readings, k), readings[k]
    beside = [readings[j] for j in (k - 1, k + 1) if 0 <= j < len(readings)]
    off = abs(reading - line)
    for meant, slip in candidates(reading):
        left = abs(meant - line)
        likely = left <= NEAR * abs(line) and left < GAIN * off
        if off >= LEAST and likely and any(abs(meant - other) <= BESIDE * abs(other) for other in beside):
            yield _Slip(k, meant, slip)


def _line(along: Sequence[float], readings: Sequence[float], k: int) -> float:
    """Return what the neighbours of reading *k* say it should be: on the line through the two nearest along."""
    if len(readings) == 2:
        return readings[1 - k]
    a, b = (k - 1, k + 1) if 0 < k < len(readings) - 1 else (1, 2) if k == 0 else (k - 1, k - 2)
    gap = along[b] - along[a]
    return readings[a] + (readings[b] - readings[a]) * ((along[k] - along[a]) / gap if gap else 0.5)


def _roughness(along: Sequence[float], readings: Sequence[float]) -> float:
    """Return how far readings leave the line of their neighbours in all; for two, how far they lie apart in ratio."""
    if len(readings) == 2:
        return sum(abs(math.log(max(abs(reading), 1e-9))) for reading in readings)
    return sum(abs(_line(along, readings, k) - readings[k]) for k in range(1, len(readings) - 1))


def _distances(survey: Survey) -> Iterator[Problem]:
    """Point at the station whose distance, one usual slip undone, would space the stations evenly."""
    ahead = -1.0 if survey.datum.x_positive == "aft" else 1.0
    order = survey.stations[:: int(ahead)]
    along = [ahead * station.x for station in order]
    unevenness = _unevenness(along)
    if len(along) < 3 or unevenness <= EVEN:
        return
    likely: list[tuple[float, int, float, str]] = []
    for k, x in enumerate(along):
        for meant, slip in candidates(x) if x else ():
            spaced = [*along[:k], meant, *along[k + 1 :]]
            then = _unevenness(spaced)
            if then <= EVEN and 2 * then < unevenness:
                stretch = abs(math.log((spaced[-1] - spaced[0]) / max(_size(survey), LEAST)))
                likely.append((math.log(then) + stretch, k, meant, slip))
    if likely:
        _, k, meant, slip = min(likely)
        path: Place = ("station", order[k].name, "at")
        yield survey.problem(path, *_said(survey, along[k], _Slip(k, meant, slip)))


def _unevenness(along: Sequence[float]) -> float:
    """Return the longest over the shortest distance between stations; infinite where they run back."""
    gaps = [b - a for a, b in pairwise(along) if b != a]
    return max(gaps) / min(gaps) if gaps and min(gaps) > 0 else math.inf


def _tapes(survey: Survey) -> Iterator[Problem]:
    """Point at check tapes that are off the distance between their corners by a usual slip."""
    spots = {(station.name, corner.name): corner.at for station in survey.stations for corner in station.corners}
    for check in survey.checks:
        taped = sum(math.dist(spots[a], spots[b]) for a, b in pairwise(check.corners))
        for meant, slip in candidates(check.length):
            if abs(meant - taped) <= TAPE * taped:
                read, is_ = (format_length(value, survey.unit) for value in (check.length, round(taped, 3)))
                what = f"{read} looks wrong, for its corners are {is_} apart: {slip}?"
                yield survey.problem(survey.path_to_check(check), what, "read the tape again")
                break
