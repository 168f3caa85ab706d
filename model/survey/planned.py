"""A sheet on which readings are still to be written: its names, its stations and its letters, and no corner yet."""

from collections.abc import Sequence
from dataclasses import dataclass

from tapeloft.model.survey.corners import mark_order
from tapeloft.model.survey.offsets import marks_of_a_row
from tapeloft.model.survey.reader import Reader
from tapeloft.model.survey.sheet import Offsets, Sheet, StationSheet
from tapeloft.model.survey.station import Station
from tapeloft.model.survey.survey import Survey


@dataclass(frozen=True)
class Plan:
    """A survey to be made: *survey* has stations without corners; marks: the letters of each, () where it has none."""

    survey: Survey
    marks: tuple[tuple[str, ...], ...]


def planned(reader: Reader, sheet: Sheet) -> Plan:
    """Return what *sheet* says is to be measured, whatever has been read of it already; never to answer from."""
    order = mark_order(sheet, sheet.station)
    rows = sorted(sheet.station.items(), key=lambda row: row[1].at)
    survey = Survey(
        name=reader.compartment,
        space=sheet.survey,
        datum=sheet.datum,
        stations=tuple(Station(name, one.at, (), one.point is not None, one.step) for name, one in rows),
        accuracy=sheet.accuracy,
        obstructions=sheet.obstruction,
        openings=sheet.opening,
        drains=sheet.drain,
        grate=sheet.grate,
        about=tuple(sheet.marks.about.items()),
        side=reader.how.side,
        unit=reader.how.unit or "mm",
        source=reader.source,
    )
    return Plan(survey, tuple(_marks(reader, one, sheet.offsets, order) for _, one in rows))


def _marks(reader: Reader, one: StationSheet, offsets: Offsets | None, order: Sequence[str]) -> tuple[str, ...]:
    if one.point is not None or one.points:
        return ()
    heights = one.heights or (offsets.heights if offsets else ())
    if offsets and heights and not one.corners:
        return marks_of_a_row(heights, reader.how.side, reader.how.unit or "mm", inner=bool(one.inner))
    return one.order or tuple(order)
