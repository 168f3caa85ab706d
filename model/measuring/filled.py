"""A survey's measuring sheet: its names, letters, stations and tapes, and, where it is asked for, its readings."""

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from tapeloft.model.errors import SurveyError
from tapeloft.model.measuring.form import Form, Reading, StationLines, Thing, Told
from tapeloft.model.measuring.hindered import hindrance
from tapeloft.model.measuring.nominal import nominal_corners, side_of
from tapeloft.model.measuring.section import Section, Tape
from tapeloft.model.measuring.tapes import CheckTapes, check_tapes
from tapeloft.model.survey.planned import Plan
from tapeloft.model.survey.sheet import Craft, Opening
from tapeloft.model.survey.station import Corner, Station
from tapeloft.model.survey.survey import Survey
from tapeloft.model.survey.told import on_paper, readings_told, shape_name, told_one_by_one, way_of_tape

POINT = (0.6, 0.4)  # m, half-breadth and height at which a point that is still to be measured is drawn


def sections_of(survey: Survey) -> tuple[Section, ...]:
    """Return the sections of a survey as they were read, in the survey's own order."""
    return tuple(
        Section(one.name, one.x, tuple(c.name for c in one.corners), tuple(c.at for c in one.corners))
        for one in survey.stations
    )


def sections_planned(plan: Plan) -> tuple[Section, ...]:
    """Return the sections of a survey that is still to be made, about as they may lie; raises SurveyError for none."""
    survey = plan.survey
    if not any(plan.marks):
        mend = 'name the letters under [marks]: order = ["A", "B", "C", "D"], and write a [station.0] with at = 0'
        raise SurveyError([survey.problem(("marks", "order"), "no station has letters, so nothing to measure", mend)])
    return tuple(
        Section(one.name, one.x, marks, nominal_corners(marks, one.x, survey.side))
        if marks
        else Section(one.name, one.x, ("",), ((one.x, survey.side * POINT[0], POINT[1]),))
        for one, marks in zip(survey.stations, plan.marks, strict=True)
    )


def form_of(survey: Survey, sections: Sequence[Section], craft: Craft, *, readings: bool = False) -> Form:
    """Return the sheet of a compartment; its check tapes are the survey's own, made up to what makes slips show.

    sections: about where its letters lie, one a station, in the survey's order. readings: tell what was read, to be
    read back; else every box is empty but the stations' distances, which are set out before anything is read.
    """
    along = tuple(sections)[:: way_of_tape(survey)]
    spots = np.array([corner for one in along for corner in one.corners]).reshape(-1, 3)
    tapes = check_tapes(along, [Tape(check.corners) for check in survey.checks], hindrance(survey, spots))
    lengths = {check.corners: on_paper(check.length, survey.unit) for check in survey.checks if readings}
    return Form(
        name=survey.name,
        craft=craft,
        space=survey.space,
        datum=survey.datum,
        unit=survey.unit,
        side=survey.side,
        filled=True,
        measured_to=_typed(survey, "measured_to"),
        use=_typed(survey, "use"),
        letters=_letters(survey, along),
        stations=tuple(_stations(survey, along, tapes, lengths, readings)),
        sections=along,
        over_all=_told(tapes.over_all, lengths),
        twin=_told(tapes.twin, lengths if survey.mirrored else {}),
        obstructions=tuple(
            Thing(
                one.name,
                ", ".join(
                    [shape_name(one.shape), *(word for word in ("removable", "structural") if getattr(one, word))]
                ),
                readings=_readings(one.shape, survey, readings),
                words=readings_told(one.shape, survey, survey.unit) if readings else "",
            )
            for one in survey.obstructions
        ),
        openings=tuple(Thing(one.name, one.wall, _readings(one, survey, readings)) for one in survey.openings),
        drains=tuple(Thing(one.name, "", _readings(one, survey, readings)) for one in survey.drains),
        grate=(on_paper(survey.grate.height, survey.unit) if readings else "") if survey.grate else None,
        plan=tuple(_seen_from_above(one) for one in survey.openings if one.wall in ("top", "bottom")),
        twin_of=survey.space.compartment if survey.mirrored else "",
        from_face=on_paper(abs(survey.read_from), survey.unit) if survey.read_from else "",
    )


def _typed(survey: Survey, key: str) -> str:
    """Return what the survey's file says of the compartment under a key; "" where it leaves it to what is usual."""
    table = survey.source.data.get("survey") if survey.source else None
    return str(table.get(key, "")) if isinstance(table, Mapping) else ""


def _told(tapes: Sequence[Tape], lengths: Mapping[tuple[tuple[str, str], ...], str]) -> tuple[Told, ...]:
    return tuple((tape.label, lengths.get(tape.corners, "")) for tape in tapes)


def _readings(thing: Any, survey: Survey, readings: bool) -> dict[str, str]:
    return told_one_by_one(thing, survey, survey.unit) if readings else {}


def _stations(
    survey: Survey,
    along: Sequence[Section],
    tapes: CheckTapes,
    lengths: Mapping[tuple[tuple[str, str], ...], str],
    readings: bool,
) -> list[StationLines]:
    ways = way_of_tape(survey)
    bays, onto = [*tapes.along, ()], [*(one.station for one in along[1:]), ""]
    found = []
    for k, station in enumerate(survey.stations[::ways]):
        written = _written(survey, station.name)
        leaning = [f"{key} {' over '.join(map(str, written[key]))}" for key in ("rake", "skew") if key in written]
        own = not leaning and any(corner.at[0] != station.x for corner in station.corners)
        found.append(
            StationLines(
                name=station.name,
                at=on_paper(ways * station.x, survey.unit),
                readings=_boxes(survey, station, along[k], own, readings),
                across=_told(tapes.across[k].tapes, lengths),
                enough=tapes.across[k].enough,
                girths=_told(tapes.across[k].girths, lengths),
                onward=_told(bays[k], lengths),
                onto=onto[k],
                leans="; ".join(leaning),
                pointed=station.pointed,
                step=station.step,
                own=own,
                photo=str(written.get("photo", "")) if readings else "",
                remark=str(written.get("remark", "")) if readings else "",
            )
        )
    return found


def _written(survey: Survey, station: str) -> Mapping[str, Any]:
    """Return a station's table as it stands in the survey's file; empty where it stands in a table beside it."""
    tables = survey.source.data.get("station", {}) if survey.source else {}
    table = tables.get(station, {}) if isinstance(tables, Mapping) else {}
    return table if isinstance(table, Mapping) else {}


def _boxes(survey: Survey, station: Station, section: Section, own: bool, readings: bool) -> tuple[Reading, ...]:
    """Return a box for each letter; of a table of offsets only the side that is taped, with its heights."""
    corners = station.corners or tuple(Corner(mark, (station.x, 0.0, 0.0)) for mark in section.marks)
    if _is_offsets(survey, station):
        taped = [corner for corner in corners if corner.name[:1] in ("o", "p")]
        return tuple(
            Reading(c.name, _breadth(survey, c) if readings else "", on_paper(c.at[2], survey.unit)) for c in taped
        )
    if not readings:
        return tuple(Reading(corner.name or str(k)) for k, corner in enumerate(corners, start=1))
    ways = way_of_tape(survey)
    return tuple(
        Reading(
            corner.name or str(k),
            _breadth(survey, corner),
            on_paper(corner.at[2], survey.unit),
            on_paper(ways * corner.at[0], survey.unit) if own else "",
        )
        for k, corner in enumerate(corners, start=1)
    )


def _breadth(survey: Survey, corner: Corner) -> str:
    return on_paper(abs(corner.at[1] - survey.read_from), survey.unit)


def _is_offsets(survey: Survey, station: Station) -> bool:
    return bool(survey.source and "offsets" in survey.source.data and station.corners and not station.pointed) and all(
        corner.name.startswith(("o ", "i ", "p ", "s ")) for corner in station.corners
    )


def _letters(survey: Survey, along: Sequence[Section]) -> tuple[Told, ...]:
    """Return each letter with what it is; Ap and As are one letter where the sheet says one thing of both."""
    about = dict(survey.about)
    marks = list(dict.fromkeys(mark for one in along for mark in one.marks if mark))
    if survey.source and "offsets" in survey.source.data:
        return ()
    bases = dict.fromkeys(mark if mark in about or not side_of(mark, marks) else mark[:-1] for mark in marks)
    return tuple((base, about.get(base, "")) for base in bases)


def _seen_from_above(one: Opening) -> tuple[float, float, float, float]:
    x, y = one.x or 0.0, one.y or 0.0
    return (x - one.clear[0] / 2, y - one.clear[1] / 2, x + one.clear[0] / 2, y + one.clear[1] / 2)
