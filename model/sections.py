"""The sections of a survey, made ready to be joined: wound one way, on the grid, each a simple loop.

A section is wound counter-clockwise seen from forward. What had to be mended is told; what cannot be is refused.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from tapeloft.model.corners import Station
from tapeloft.model.errors import Problem, SurveyError
from tapeloft.model.moments import Points
from tapeloft.model.solid import on_grid
from tapeloft.model.survey import Survey

SMALLEST, LARGEST = 0.03, 40.0  # m: a space outside these was written in another unit
UNEVEN = 3.0  # longest over shortest distance between stations that is worth a word
ODD = 8.0  # a corner this many times farther off its neighbours' line than most are is worth a word
ODD_LEAST = 0.015  # m: and no nearer than this


@dataclass(frozen=True, eq=False)
class Section:
    """One station's corners, (n, 3) m, counter-clockwise seen from forward; names as chalked, "" where guessed."""

    station: str
    names: tuple[str, ...]
    points: Points
    pointed: bool = False
    step: bool = False


def sections(survey: Survey) -> tuple[tuple[Section, ...], tuple[Problem, ...]]:
    """Return the sections of *survey*, aft to forward, and what is worth a second look.

    Raises SurveyError with every section that cannot be used.
    """
    flat = [_section(station) for station in survey.stations]
    areas = [signed_area(section.points) for section in flat]
    notes = list(_winding_notes(survey, flat, areas))
    wound = tuple(_turned(s) if a < 0 else s for s, a in zip(flat, areas, strict=True))
    problems = [*_size_problems(survey, wound), *_area_problems(survey, wound)]
    if problems:
        raise SurveyError(problems)
    notes += [*_spacing_notes(survey), *_guessed_notes(survey, wound), *_odd_notes(survey, wound)]
    return wound, tuple(notes)


def signed_area(points: Points) -> float:
    """Return the area of a loop (n, 3) seen from forward, m²; negative if it runs clockwise."""
    y, z = points[:, 1] - points[0, 1], points[:, 2] - points[0, 2]
    return float(y @ np.roll(z, -1) - z @ np.roll(y, -1)) / 2


def _section(station: Station) -> Section:
    points = on_grid(np.array([corner.at for corner in station.corners]))
    return Section(station.name, tuple(c.name for c in station.corners), points, station.pointed, station.step)


def _turned(section: Section) -> Section:
    return Section(section.station, section.names[::-1], section.points[::-1], section.pointed, section.step)


def _winding_notes(survey: Survey, flat: Sequence[Section], areas: Sequence[float]) -> list[Problem]:
    """Say which sections were written clockwise; on a sheet for the starboard side all of them rightly are."""
    real = [a for a in areas if a]
    if all(a > 0 for a in real) or (all(a < 0 for a in real) and any(s.names[0] for s in flat)):
        return []
    mend = "nothing, if the corners are right; else list them the same way round at every station"
    return [
        survey.problem(("station", s.station), "the section runs clockwise; it was taken the other way round", mend)
        for s, a in zip(flat, areas, strict=True)
        if a < 0
    ]


def _size_problems(survey: Survey, flat: Sequence[Section]) -> list[Problem]:
    points = np.vstack([s.points for s in flat])
    extent = float((points.max(axis=0) - points.min(axis=0)).max())
    if SMALLEST <= extent <= LARGEST:
        return []
    size = f"{extent * 1000:.3g} mm" if extent < 1 else f"{extent:.3g} m"
    what = f"the whole space is {size} at its largest"
    mend = f"the unit is {survey.unit}: were these metres, centimetres or inches?"
    return [survey.problem(("unit",), what, mend)]


def _area_problems(survey: Survey, flat: Sequence[Section]) -> list[Problem]:
    problems = []
    for section in flat[1:-1]:
        if signed_area(section.points) == 0.0:
            what, mend = (
                "the section has no area",
                "only the first and the last station may close to a point or an edge",
            )
            problems.append(survey.problem(("station", section.station), what, mend))
    if signed_area(flat[0].points) == signed_area(flat[-1].points) == 0.0 and len(flat) == 2:
        problems.append(survey.problem(("station",), "both stations have no area", "measure a section between them"))
    return problems


def _spacing_notes(survey: Survey) -> list[Problem]:
    gaps = [b.x - a.x for a, b in pairwise(survey.stations) if b.x > a.x]
    if not gaps or max(gaps) <= UNEVEN * min(gaps):
        return []
    what = f"the distance between stations goes from {min(gaps) * 1000:.0f} to {max(gaps) * 1000:.0f} mm"
    return [survey.problem(("station",), what, "a station more in the longest gap would tell more")]


def _guessed_notes(survey: Survey, flat: Sequence[Section]) -> list[Problem]:
    nameless = [s.station for s in flat if not s.pointed and not any(s.names)]
    if not nameless:
        return []
    what = f"corners have no letters at station {', '.join(nameless)}: which meets which was guessed"
    return [survey.problem(("station", nameless[0]), what, "chalk a letter on each corner and use it at every station")]


def _odd_notes(survey: Survey, flat: Sequence[Section]) -> list[Problem]:
    """Point at corners that leave the line of their neighbours far more than most corners do."""
    misses: list[tuple[float, str, str]] = []
    for before, here, after in zip(flat, flat[1:], flat[2:], strict=False):
        for mark in filter(None, here.names):
            if mark in before.names and mark in after.names:
                a, b, c = (s.points[s.names.index(mark)] for s in (before, here, after))
                share = (b[0] - a[0]) / (c[0] - a[0]) if c[0] > a[0] else 0.5
                misses.append((math.dist(b[1:], (a + share * (c - a))[1:]), here.station, mark))
    usual = float(np.median([m for m, _, _ in misses])) if len(misses) >= 5 else math.inf
    return [
        survey.problem(
            ("station", station, mark),
            f"lies {miss * 1000:.0f} mm off the line of its neighbours, where most lie within {usual * 1000:.0f} mm",
            "measure again, or say nothing if the structure has a knuckle there",
        )
        for miss, station, mark in misses
        if miss > max(ODD * usual, ODD_LEAST)
    ]
