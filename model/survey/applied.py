"""A sheet as read, with its options applied: the survey, or its twin's."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import pairwise
from typing import Annotated, Any, Literal

from tapeloft.model.errors import nearest
from tapeloft.model.survey.corners import Written, stations
from tapeloft.model.survey.places import Place
from tapeloft.model.survey.reader import Reader
from tapeloft.model.survey.reading import read
from tapeloft.model.survey.sheet import Changes, Obstruction, Part, SharedChanges, Sheet, StationSheet, Twin
from tapeloft.model.survey.station import Station
from tapeloft.model.survey.survey import Check, Survey
from tapeloft.model.survey.tabled import readings_of
from tapeloft.shapes.readings import Height

Placed = tuple[Place, Changes]
"""Changes, and where they stand in the file."""


def survey_of(reader: Reader, sheet: Sheet, lent: Sequence[SharedChanges], options: Sequence[str]) -> Survey:
    """Return the survey that *sheet* makes with those of the *options* that it knows; what is amiss is refused.

    lent: the changes of those options that the boat's own sheet states.
    """
    rows = readings_of(reader, sheet)
    _look_over(reader, sheet, rows)
    return _survey(reader, sheet, rows, lent, _chosen(sheet, options))


def twin_of(
    reader: Reader, sheet: Sheet, twin: Twin, sister: Survey, lent: Sequence[SharedChanges], options: Sequence[str]
) -> Survey:
    """Return the twin of *sister* in her axes; the compartment is mirrored once it is a solid."""
    rows = readings_of(reader, sheet)
    bare = replace(sheet, check={}) if twin.check else sheet
    other = _survey(reader, bare, rows, lent, [(("twin",), twin), *_chosen(sheet, options)])
    checks = _checks(reader, twin.check, other.stations, ("twin", "check"))
    name = twin.name or f"{sister.name}, twin"
    if not checks:
        return replace(other, name=name, mirrored=True)
    return replace(other, name=name, mirrored=True, checks=checks, sister=_shared(sister, other))


def _shared(sister: Survey, other: Survey) -> tuple[Check, ...]:
    """Return the check tapes of a sister between corners that her twin has in the same places."""
    spots = [{(s.name, c.name): c.at for s in one.stations for c in s.corners} for one in (sister, other)]
    alike = {corner for corner, at in spots[0].items() if spots[1].get(corner) == at}
    return tuple(check for check in sister.checks if alike.issuperset(check.corners))


def _chosen(sheet: Sheet, options: Sequence[str]) -> list[Placed]:
    return [(("option", name), sheet.option[name]) for name in options if name in sheet.option]


def _survey(
    reader: Reader,
    sheet: Sheet,
    rows: Mapping[str, StationSheet],
    lent: Sequence[SharedChanges],
    changes: Sequence[Placed],
) -> Survey:
    through = stations(reader, sheet, rows, [(path, change.station) for path, change in changes])
    face = sheet.offsets.inner_face if sheet.offsets and sheet.offsets.readings == "from_face" else None
    standing: list[tuple[Place, Obstruction]] = _left("obstruction", sheet, lent, changes)
    parts: list[tuple[Place, Part]] = _left("part", sheet, lent, changes)
    _check_names(reader, sheet, [*standing, *parts])
    return Survey(
        name=sheet.survey.compartment,
        space=sheet.survey,
        datum=sheet.datum,
        stations=through,
        accuracy=sheet.accuracy,
        checks=_checks(reader, sheet.check, through, ("check",)),
        obstructions=tuple(one for _, one in standing),
        openings=sheet.opening,
        drains=sheet.drain,
        grate=sheet.grate,
        parts=tuple(one for _, one in parts),
        about=tuple(sheet.marks.about.items()),
        options=tuple(str(path[1]) for path, _ in changes if path[0] == "option"),
        parameters=tuple(reader.how.parameters.items()),
        side=reader.how.side,
        read_from=face or 0.0,
        unit=reader.how.unit or "mm",
        source=reader.source,
    )


def _left(
    kind: Literal["obstruction", "part"], sheet: Sheet, lent: Sequence[SharedChanges], changes: Sequence[Placed]
) -> list[tuple[Place, Any]]:
    """Return what stands in the space, with its place in the file: as the twin has it, then as the options do.

    What the twin leaves out is what the sheet has of that name; where it has none, what an option puts in.
    """
    own = [(path, change) for path, change in changes if path == ("twin",)]
    chosen = [(path, change) for path, change in changes if path != ("twin",)]
    standing: list[tuple[Place, Any]] = [((kind, k), one) for k, one in enumerate(getattr(sheet, kind))]
    for path, change in (*own, *(((), change) for change in lent), *chosen):
        standing = [(place, one) for place, one in standing if one.name not in change.leave_out]
        if isinstance(change, Changes):
            standing += [((*path, kind, k), one) for k, one in enumerate(getattr(change, kind))]
    of_sheet = {*(one.name for one in sheet.obstruction), *(one.name for one in sheet.part)}
    never = {name for _, change in own for name in change.leave_out if name not in of_sheet}
    return [(place, one) for place, one in standing if one.name not in never or place[0] == "twin"]


def _look_over(reader: Reader, sheet: Sheet, rows: Mapping[str, StationSheet]) -> None:
    """Refuse whatever is wrong with any option and with the twin, chosen or not."""
    every: list[Placed] = [(("option", name), change) for name, change in sheet.option.items()]
    every += [(("twin",), sheet.twin)] if sheet.twin else []
    tables: list[Sheet | Changes] = [sheet, *(change for _, change in every)]
    known = [one.name for table in tables for one in table.obstruction]
    known += [one.name for table in tables for one in table.part]
    for path, change in every:
        for number, name in enumerate(change.leave_out):
            if name not in known:
                what = f'nothing called "{name}" stands in it, to leave out{nearest(name, known)}'
                reader.refuse((*path, "leave_out", number), what, "name an obstruction or a part")
        _look_over_lengths(reader, (*path, "set"), change)
        _look_over_stations(reader, rows, (*path, "station"), change.station)
        if change.station:
            stations(reader, sheet, rows, [(path, change.station)])


def _look_over_lengths(reader: Reader, path: Place, change: Changes) -> None:
    known = reader.how.parameters
    for name, value in change.set.items():
        if name not in known:
            hint = nearest(name, list(known))
            reader.refuse((*path, name), f'no parameter is called "{name}"{hint}', "state it under [parameter]")
            continue
        read(reader, Annotated[float, Height()], value, (*path, name))


def _look_over_stations(reader: Reader, rows: Mapping[str, StationSheet], path: Place, change: Written) -> None:
    for name in change:
        if name not in rows:
            what = f'there is no station "{name}" to change{nearest(name, list(rows))}'
            reader.refuse((*path, name), what, "name a station")
        elif not rows[name].corners:
            reader.refuse((*path, name), "this station has no lettered corners to change", "write its section anew")


def _check_names(reader: Reader, sheet: Sheet, standing: Sequence[tuple[Place, Obstruction | Part]]) -> None:
    """Refuse a name that two things of one kind bear: no answer could tell them apart."""
    both = "obstructions or parts" if any(isinstance(one, Part) for _, one in standing) else "obstructions"
    every: dict[str, list[tuple[Place, str]]] = {
        both: [(place, one.name) for place, one in standing],
        "openings": [(("opening", k), one.name) for k, one in enumerate(sheet.opening)],
        "drains": [(("drain", k), one.name) for k, one in enumerate(sheet.drain)],
    }
    for kind, listed in every.items():
        names = [name for _, name in listed]
        for number, (path, name) in enumerate(listed):
            if name in names[:number]:
                reader.refuse(path, f'two {kind} are called "{name}"', "rename one")


def _checks(
    reader: Reader, raw: Mapping[str, float], through: Sequence[Station], path: tuple[str, ...]
) -> tuple[Check, ...]:
    labels = {
        station.name + corner.name: (station.name, corner.name) for station in through for corner in station.corners
    }
    labels = {label: (station, mark) for label, (station, mark) in labels.items() if mark}
    checks: list[Check] = []
    for key, value in raw.items():
        ends = key.split("-")
        unknown = [end for end in ends if end not in labels]
        if unknown or len(ends) < 2:
            hint = nearest((unknown or ends)[0], sorted(labels)) if labels else ""
            reader.refuse((*path, key), f'"{key}" does not name two corners{hint}', 'write station and mark: "1A-1D"')
        elif any(a == b for a, b in pairwise(ends)):
            reader.refuse((*path, key), f'"{key}" goes from a corner to itself', "correct one of its marks")
        else:
            checks.append(Check(tuple(labels[end] for end in ends), value))
    return tuple(checks)
