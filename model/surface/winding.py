"""Which way round, and from which corner on, each section was read: what was slipped there, and what was mended."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise

import numpy as np

from tapeloft.model.errors import Problem
from tapeloft.model.moments import Points
from tapeloft.model.surface.sweeps import crossing_edges
from tapeloft.model.survey.station import Station
from tapeloft.model.survey.survey import Survey

CLOSE, FAR = 0.1, 0.5  # of a section's size, corner to corner: so near lie letters that belong together, so far others


def signed_area(points: Points) -> float:
    """Return the area of a loop (n, 3) seen from forward, m²; negative if it runs clockwise."""
    y, z = points[:, 1] - points[0, 1], points[:, 2] - points[0, 2]
    return float(y[:-1] @ z[1:] - z[:-1] @ y[1:]) / 2  # the last corner's share is nought: the first is the origin


def misread(survey: Survey, loops: Sequence[Points]) -> list[Problem]:
    """Return the sections whose corners cannot be where they are said to be.

    loops: for each station its corners (n, 3), m, as they were listed.
    """
    crossed = [_crossing(survey, station, loop) for station, loop in zip(survey.stations, loops, strict=True)]
    kept = [k for k, problem in enumerate(crossed) if problem is None]
    lettered = [k for k in kept if all(c.name for c in survey.stations[k].corners) and signed_area(loops[k])]
    turning = Counter(signed_area(loops[k]) > 0 for k in lettered)
    usual = turning[True] >= turning[False] if turning[True] != turning[False] else _first_way(loops, lettered)
    against = [k for k in lettered if (signed_area(loops[k]) > 0) != usual]
    what = "the corners run the other way round here than at the other stations"
    mend = "measure them again: two letters exchanged, or a corner on the wrong side of the others?"
    problems = [problem for problem in crossed if problem]
    problems += [survey.problem(("station", survey.stations[k].name), what, mend) for k in against]
    ways = {k: loops[k] for k in lettered if k not in against}
    return [*problems, *_turned(survey, ways)]


def _first_way(loops: Sequence[Points], lettered: Sequence[int]) -> bool:
    return not lettered or signed_area(loops[lettered[0]]) > 0


def _crossing(survey: Survey, station: Station, loop: Points) -> Problem | None:
    found = crossing_edges(loop[None, :, 1:])
    if not len(found):
        return None
    names = [corner.name or f"corner {k + 1}" for k, corner in enumerate(station.corners)]
    one, other = (f"{names[k]}-{names[(k + 1) % len(names)]}" for k in found[0, 1:].tolist())
    mend = "measure these corners again; are two letters exchanged?"
    return survey.problem(("station", station.name), f"the line {one} crosses the line {other}", mend)


def _turned(survey: Survey, loops: Mapping[int, Points]) -> Iterator[Problem]:
    """Yield the sections where each letter stands where, at most others, another one does."""
    shifts: dict[int, int] = dict.fromkeys(list(loops)[:1], 0)
    for before, here in pairwise(loops):
        names = [[corner.name for corner in survey.stations[k].corners] for k in (before, here)]
        shift = _shift(loops[before], loops[here]) if names[0] == names[1] else 0
        shifts[here] = (shifts[before] + shift) % max(len(names[1]), 1)
    usual = Counter(shifts.values()).most_common(1)[0][0] if shifts else 0
    for k, shift in shifts.items():
        if shift != usual:
            corners = survey.stations[k].corners
            first = corners[(shift - usual) % len(corners)].name
            what = f"the letters are turned round: {first} stands here where {corners[0].name} does at other stations"
            yield survey.problem(("station", survey.stations[k].name), what, "letter the corners anew, or the readings")


def _shift(one: Points, other: Points) -> int:
    """Return by how many corners *other* must be turned to lie on *one*; 0 unless that fits far better than it is.

    >>> square = np.array([[0, 0, 0], [0, 1, 0], [0, 1, 1], [0, 0, 1.0]])
    >>> _shift(square, np.roll(square, 1, axis=0)), _shift(square, square * 1.1)
    (1, 0)
    """
    flat = [loop[:, 1:] - loop[:, 1:].mean(axis=0) for loop in (one, other)]
    size = np.sqrt((flat[0] ** 2).sum(axis=1).mean())
    by = np.arange(len(one))
    turned = flat[1][(by[:, None] + by) % len(one)]
    off = np.sqrt(((flat[0] - turned) ** 2).sum(axis=2).mean(axis=1))
    best = int(np.argmin(off))
    return best if off[best] <= CLOSE * size and off[0] >= FAR * size else 0
