"""The gross space of a survey: its sections joined, checked and closed."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from tapeloft.model.errors import GeometryError, Problem, SurveyError
from tapeloft.model.solid import Solid, closed, united
from tapeloft.model.surface.embedding import faults
from tapeloft.model.surface.fairing import faired
from tapeloft.model.surface.loft import Band, joined
from tapeloft.model.surface.sections import Section, sections
from tapeloft.model.surface.skin import AFT_END, FIRST_STRIP, FORWARD_END, Surface, lofted
from tapeloft.model.surface.soundness import unsound
from tapeloft.model.survey.slips import slips
from tapeloft.model.survey.survey import Survey


@dataclass(frozen=True, eq=False)
class Loft:
    """A surface, the sections it goes through, and the bands that join them.

    through, fair: the same where it is straight between sections; where it is faired, what that carried in between.
    """

    is_faired: bool

    sections: tuple[Section, ...]
    bands: tuple[Band, ...]
    through: tuple[Section, ...]
    fair: tuple[Band, ...]
    surface: Surface


@dataclass(frozen=True, eq=False)
class Gross:
    """The closed space within the measured surfaces, and what each of its faces is part of.

    parts: by (origin, face number) of a triangle, as `Solid.origins` and `Solid.faces` tell them, the name of the
    part of the surface: "aft end", "forward end", or the strip between two marks, "A-B". lofts: the surfaces, one for
    each run of sections without a step.
    """

    solid: Solid
    parts: dict[tuple[int, int], str]
    notes: tuple[Problem, ...]
    lofts: tuple[Loft, ...]


def gross(survey: Survey) -> Gross:
    """Return the gross space of *survey*, in its own axes, m.

    Raises SurveyError with all that forbids it, and with the readings that look like the cause.
    """
    try:
        return _closed(survey)
    except SurveyError as bad:
        raise SurveyError([*bad.problems, *slips(survey)]) from None


def _closed(survey: Survey) -> Gross:
    through, notes = sections(survey)
    solids: list[Solid] = []
    parts: dict[tuple[int, int], str] = {}
    lofts = [_loft(survey, run) for run in _runs(through)]
    for surface in (loft.surface for loft in lofts):
        solid = closed(surface.vertices, surface.triangles, surface.faces)
        solids.append(solid)
        parts |= {(int(solid.origins[0]), number): name for number, name in face_names(surface).items()}
    whole = solids[0] if len(solids) == 1 else united(solids)
    if len(whole.parts()) != 1:
        step = next(s for s in through if s.step)
        raise SurveyError([survey.problem(("station", step.station), *_APART)])
    return Gross(whole, parts, notes, tuple(lofts))


_APART = (
    "the sections before and after the step do not overlap, so the space falls apart",
    "read both stations again, or survey two compartments",
)


def face_names(surface: Surface) -> dict[int, str]:
    """Return what each face number of a surface is part of: an end, or the strip between two marks."""
    named = {AFT_END: "aft end", FORWARD_END: "forward end"}
    return named | {FIRST_STRIP + k: name for k, name in enumerate(surface.strips)}


def _runs(through: Sequence[Section]) -> list[list[Section]]:
    """Split the sections where the space steps in the plane of a station."""
    runs: list[list[Section]] = [[]]
    for section in through:
        if section.step:
            runs.append([])
        runs[-1].append(section)
    return runs


def _loft(survey: Survey, run: Sequence[Section]) -> Loft:
    if len(run) < 2:
        what, mend = "a step needs a station on either side of it", "add the station where the space goes on"
        raise SurveyError([survey.problem(("station", run[0].station), what, mend)])
    bands = _joined(survey, run)
    problems = unsound(survey, run, bands)
    if problems:
        raise SurveyError(problems)
    if survey.space.between == "straight":
        return Loft(False, tuple(run), tuple(bands), tuple(run), tuple(bands), lofted(run, bands))
    try:
        through, fair = faired(run, bands)
    except GeometryError as bad:
        path = ("survey", "between")
        raise SurveyError([survey.problem(path, str(bad), 'name them all, or say between = "straight"')]) from None
    if faults([band.ends for band in fair]):
        what, mend = "the faired surface runs through itself", 'add a station, or say between = "straight"'
        raise SurveyError([survey.problem(("survey", "between"), what, mend)])
    return Loft(True, tuple(run), tuple(bands), tuple(through), tuple(fair), lofted(through, fair))


def _joined(survey: Survey, run: Sequence[Section]) -> list[Band]:
    bands, problems = [], []
    for aft, forward in pairwise(run):
        try:
            bands.append(joined(aft, forward))
        except GeometryError as bad:
            path = ("station", forward.station)
            mend = f"name the corners in one order at stations {aft.station} and {forward.station}"
            problems.append(survey.problem(path, f"{bad} at station {aft.station} and here", mend))
    if problems:
        raise SurveyError(problems)
    return bands
