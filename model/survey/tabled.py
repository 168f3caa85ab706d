"""Readings that lie in a table beside the survey, brought to the form that stations have in the survey itself."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from tapeloft.model.errors import FileError, SurveyError
from tapeloft.model.survey.places import Place
from tapeloft.model.survey.reader import Reader
from tapeloft.model.survey.reading import read
from tapeloft.model.survey.sheet import Sheet, StationSheet
from tapeloft.model.survey.source import Source
from tapeloft.model.survey.table import read_table

NEEDED = ("station", "half_breadth", "height")
OTHERS = ("at", "mark", "inner", "remark")


@dataclass
class _Rows:
    """Stations as they come out of a table: what each holds, and on which line."""

    stations: dict[str, dict[str, Any]] = field(default_factory=dict)
    lines: dict[Place, int] = field(default_factory=dict)


def readings_of(reader: Reader, sheet: Sheet) -> dict[str, StationSheet]:
    """Return the stations of *sheet*, those of its table of readings first; *reader* learns where they stand.

    The table has a row a corner: station, mark, half_breadth, height; or a row an offset, without mark. `at` is
    the station's distance; it may be left blank after the first row, and one that differs is the corner's own.
    """
    if not sheet.readings:
        return sheet.station
    try:
        table = read_table(Path(reader.source.file).parent / sheet.readings, NEEDED, OTHERS)
    except SurveyError as bad:
        reader.problems += [replace(p, compartment=reader.compartment) for p in bad.problems]
        reader.faulty.append(("readings",))
        return sheet.station
    except FileError as bad:
        reader.refuse(("readings",), str(bad), "correct the file's name")
        return sheet.station
    rows = _Rows()
    reader.source = Source(reader.source.paper, table.file, rows.lines)
    lettered = any(row.get("mark") for row in table.rows)
    for row, line in zip(table.rows, table.lines, strict=True):
        if lettered and not row["mark"]:
            _blame(reader, rows, row["station"], line, *_NO_MARK)
        elif not row["station"]:
            _blame(reader, rows, "", line, *_NO_STATION)
        else:
            _add(reader, rows, row, line)
    tabled = {name: read(reader, StationSheet, raw, ("station", name)) for name, raw in rows.stations.items()}
    for name in tabled.keys() & sheet.station.keys():
        reader.refuse(("station", name), "is both in the table and in the survey", "take one out")
    return {**{name: one for name, one in tabled.items() if one}, **sheet.station}


def _add(reader: Reader, rows: _Rows, row: Mapping[str, str], line: int) -> None:
    """Add a row of the table to its station."""
    name, mark, at = row["station"], row["mark"], row["at"]
    path: Place = ("station", name)
    rows.lines.setdefault(path, line)
    station = rows.stations.setdefault(name, {})
    if at:
        rows.lines.setdefault((*path, "at"), line)
        station.setdefault("at", at)
    if mark:
        first = rows.lines.get((*path, mark), line)
        rows.lines[(*path, mark)] = line
        if mark in station:
            reader.refuse((*path, mark), *_twice(mark, line, first))
        own = [at] if at and at != station.get("at") else []
        station[mark] = [row["half_breadth"], row["height"], *own]
        return
    if at and at != station["at"]:
        reader.refuse((*path, "at"), f"the distance is {station['at']} in one row and {at} in another", "correct one")
    columns = {"half_breadths": row["half_breadth"], "heights": row["height"], "inner": row["inner"]}
    for key, cell in columns.items():
        if cell:
            rows.lines.setdefault((*path, key), line)
            rows.lines[(*path, key, len(station.setdefault(key, [])))] = line
            station[key].append(cell)


def _blame(reader: Reader, rows: _Rows, name: str, line: int, what: str, mend: str) -> None:
    """Refuse a row of the table."""
    path: Place = ("station", name)
    rows.lines.setdefault(path, line)
    reader.problems.append(replace(reader.problem(path, what, mend), line=line))
    reader.faulty.append(path)


_NO_MARK = ("the row has no mark, and others of this table have", "write the corner's letter in it")
_NO_STATION = ("the row does not say which station it belongs to", "write the station's number in every row")


def _twice(mark: str, line: int, first: int) -> tuple[str, str]:
    return (
        f"mark {mark} is read twice at this station, on lines {first} and {line}",
        "take one out, or correct its mark",
    )
