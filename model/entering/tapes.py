"""Check tapes on the walk: which would show a slip, and whether one agrees with the corners that it joins."""

import math
from collections.abc import Mapping, Sequence
from itertools import pairwise

from tapeloft.model.survey.survey import Check, Survey
from tapeloft.model.units import figure

ALLOWED = 3.0  # standard deviations that a tape may be off its corners: 997 in 1000 are within (normal distribution)


def suggested(marks: Mapping[str, Sequence[str]]) -> list[str]:
    """Return check tapes, by their labels, that touch each corner: across each section, and crossed in each bay.

    marks: the letters of each station in order round it, stations in order along the tape. A tape goes from each letter
    to the one half way round; two letters as far apart as that are joined between stations, both ways.

    >>> suggested({"0": "ABCD", "1": "ABCD"})
    ['0A-0C', '0B-0D', '1A-1C', '1B-1D', '0A-1C', '0C-1A']
    """
    across = [
        f"{name}{letters[k]}-{name}{letters[(k + len(letters) // 2) % len(letters)]}"
        for name, letters in marks.items()
        if len(letters) > 2
        for k in range((len(letters) + 1) // 2)
    ]
    crossed: list[str] = []
    for (a, before), (b, after) in pairwise((name, letters) for name, letters in marks.items() if len(letters) > 2):
        first, second = before[0], before[len(before) // 2]
        crossed += [f"{a}{p}-{b}{q}" for p, q in ((first, second), (second, first)) if q in after]
    return across + crossed


def off(survey: Survey, check: Check) -> str:
    """Return in words by how much a check tape is off its corners, "" where that is within what accuracies allow.

    The accuracies of the readings it joins are carried into the distance (law of propagation of variances, readings
    independent; JCGM 100:2008, 5.1.2) and added to the tape's own.
    """
    spots = {(station.name, corner.name): corner.at for station in survey.stations for corner in station.corners}
    if not all(end in spots for end in check.corners):
        return ""
    legs = [(spots[a], spots[b]) for a, b in pairwise(check.corners)]
    between = sum(math.dist(a, b) for a, b in legs)
    allowed = ALLOWED * math.sqrt(_own(survey, check) ** 2 + sum(_of_leg(survey, a, b) for a, b in legs))
    if abs(check.length - between) <= allowed:
        return ""
    taped, apart, differ, may = (
        figure(value, survey.unit) for value in (check.length, between, abs(check.length - between), allowed)
    )
    more = "more" if check.length > between else "less"
    return f"taped {taped}, but its corners are {apart} apart: {differ} {more}, where {may} may be"


def _own(survey: Survey, check: Check) -> float:
    if len(check.corners) > 2:
        return survey.accuracy.girth
    (first, _), (last, _) = check.corners
    return survey.accuracy.check if first == last else survey.accuracy.long_check


def _of_leg(survey: Survey, a: Sequence[float], b: Sequence[float]) -> float:
    """Return the variance, m², of the distance between two corners."""
    length = math.dist(a, b) or 1.0
    sigma = (survey.accuracy.station, survey.accuracy.half_breadth, survey.accuracy.height)
    return sum(2 * ((p - q) / length * s) ** 2 for p, q, s in zip(a, b, sigma, strict=True))
