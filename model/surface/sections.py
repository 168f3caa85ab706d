"""The sections of a survey, made ready to be joined: wound one way, on the grid, each a simple loop.

A section is wound counter-clockwise seen from forward. What had to be mended is told; what cannot be is refused.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tapeloft.model.errors import Problem, SurveyError
from tapeloft.model.moments import Points
from tapeloft.model.solid import on_grid
from tapeloft.model.surface.winding import misread, signed_area
from tapeloft.model.survey.oddities import oddities
from tapeloft.model.survey.station import Station
from tapeloft.model.survey.survey import Survey

SMALLEST, LARGEST = 0.03, 40.0  # m: a space outside these was written in another unit


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
    problems = _size_problems(survey, wound)
    problems = problems or [*misread(survey, [section.points for section in flat]), *_area_problems(survey, wound)]
    if problems:
        raise SurveyError(problems)
    return wound, (*notes, *oddities(survey))


def _section(station: Station) -> Section:
    points = on_grid(np.array([corner.at for corner in station.corners]))
    return Section(station.name, tuple(c.name for c in station.corners), points, station.pointed, station.step)


def _turned(section: Section) -> Section:
    return Section(section.station, section.names[::-1], section.points[::-1], section.pointed, section.step)


def _winding_notes(survey: Survey, flat: Sequence[Section], areas: Sequence[float]) -> list[Problem]:
    """Say which sections were written clockwise; on a sheet for the starboard side all of them rightly are."""
    real = [a for a in areas if a]
    lettered = any(any(s.names) for s in flat)
    if all(a > 0 for a in real) or (lettered and survey.side < 0 and all(a < 0 for a in real)):
        return []
    if lettered and all(a < 0 for a in real):
        what = "the marks run clockwise, seen from forward; every section was taken the other way round"
        return [survey.problem(("marks", "order"), what, "nothing, if the corners are right")]
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
