"""Check tapes on the walk: which would show a slip, and whether one agrees with the corners that it joins."""

import math
from collections.abc import Sequence
from functools import lru_cache
from itertools import pairwise

from tapeloft.model.measuring.nominal import nominal_corners
from tapeloft.model.measuring.section import Section
from tapeloft.model.measuring.tapes import check_tapes
from tapeloft.model.survey.survey import Check, Survey
from tapeloft.model.units import figure

ALLOWED = 3.0  # standard deviations that a tape may be off its corners: 997 in 1000 are within (normal distribution)


@lru_cache(maxsize=16)
def suggested(stations: tuple[tuple[str, float, tuple[str, ...]], ...], side: float) -> tuple[str, ...]:
    """Return the check tapes, by their labels, that an empty sheet on paper asks for, in its order.

    stations: name, distance along the tape, m, and letters in order round the section, of each in order; side: +1 to
    port, -1 to starboard. Where letters lie is about as `nominal_corners` has them, on paper as here.

    >>> suggested((("0", 0.0, tuple("ABCD")), ("1", 0.6, tuple("ABCD"))), 1.0)
    ('0A-0C', '0B-0D', '0C-0D', '0A-0B', '0B-0C-0D', '0A-1C', '0C-1A', '1A-1C', '1B-1D', '1C-1D', '1A-1B', '1B-1C-1D')
    """
    sections = [Section(name, x, marks, nominal_corners(marks, x, side)) for name, x, marks in stations if marks]
    if not sections:
        return ()
    tapes = check_tapes(sections)
    bays = [*tapes.along, ()]
    each = [tape for one, bay in zip(tapes.across, bays, strict=True) for tape in (*one.tapes, *one.girths, *bay)]
    return tuple(dict.fromkeys(tape.label for tape in (*each, *tapes.over_all)))


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
