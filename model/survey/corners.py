"""From the readings on a sheet to the corners of each section, in compartment axes.

Three ways to write a section: lettered corners, a row of a table of offsets, bare points. Any of them may
lean or run askew (raked bulkheads) or close to a point.
"""

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import pairwise
from typing import Annotated

from tapeloft.model.errors import nearest
from tapeloft.model.survey import offsets
from tapeloft.model.survey.factors import fitting
from tapeloft.model.survey.measures import shown
from tapeloft.model.survey.places import Place
from tapeloft.model.survey.reader import Reader
from tapeloft.model.survey.reading import read
from tapeloft.model.survey.sheet import Offsets, Sheet, StationSheet
from tapeloft.model.survey.station import Corner, Point, Station, leaning
from tapeloft.model.units import format_length
from tapeloft.shapes.readings import Breadth, Height
from tapeloft.shapes.readings import Station as Along

Written = Mapping[str, Mapping[str, tuple[str | float, ...]]]
"""Corners as written, by station and mark."""
LEAST_SLOPE = 0.001  # m over which a bulkhead's lean can be read

DECIMAL_COMMA = re.compile(r"\[\s*\d+,\d+,\s")


def stations(
    reader: Reader, sheet: Sheet, rows: Mapping[str, StationSheet], changes: Sequence[tuple[Place, Written]] = ()
) -> tuple[Station, ...]:
    """Return the sections of *sheet*, aft to forward, with the corners that *changes* read otherwise.

    rows: the sheet's stations, with those of its table. changes: where each stands in the file, and what it says.
    What cannot be read is refused, and told of once.
    """
    order = mark_order(sheet, rows)
    _check_marks(reader, sheet, order)
    found: list[Station] = []
    for name, one in rows.items():
        if not name.strip() or not name.isprintable():
            reader.refuse(("station", name), f"{shown(name)} is no name for a station", "give it a number")
        places: dict[str, Place] = {mark: ("station", name, mark) for mark in one.corners}
        written = dict(one.corners)
        for path, change in changes:
            places |= {mark: (*path, "station", name, mark) for mark in change.get(name, {})}
            written |= change.get(name, {})
        corners = _corners(reader, sheet, replace(one, corners=written), name, order, places)
        found.append(Station(name, one.at, corners, one.point is not None, one.step))
    _in_order(reader, found)
    return tuple(found) if reader.how.ahead > 0 else _turned(found)


def _turned(found: Sequence[Station]) -> tuple[Station, ...]:
    """Return stations that were measured from forward aft to forward: where it steps, the other one says so."""
    turned = found[::-1]
    steps = [False, *(one.step for one in turned)]
    return tuple(replace(one, step=step) for one, step in zip(turned, steps, strict=False))


def mark_order(sheet: Sheet, rows: Mapping[str, StationSheet]) -> tuple[str, ...]:
    """Return the marks in order round the section: as the sheet says, or as the station with the most of them does."""
    stated = sheet.marks.order if len(set(sheet.marks.order)) == len(sheet.marks.order) else ()
    return stated or max((tuple(one.corners) for one in rows.values()), key=len, default=())


def _check_marks(reader: Reader, sheet: Sheet, order: Sequence[str]) -> None:
    """Refuse a mark that is ordered twice or cannot be called out, and a word about a mark that is not there."""
    for number, mark in enumerate(sheet.marks.order):
        if mark in sheet.marks.order[:number]:
            reader.refuse(("marks", "order"), f"mark {mark} is named twice", "take one out, or correct its letter")
    for mark in dict.fromkeys((*sheet.marks.order, *order)):
        if not mark.strip() or not mark.isprintable():
            reader.refuse(("marks", "order"), f"{shown(mark)} is no mark", "give each corner a letter")
    known = {*order, *(mark[:-1] for mark in order if mark[-1:] in ("p", "s"))}
    for mark in [mark for mark in sheet.marks.about if mark not in known]:
        hint = nearest(mark, ["side", "order", *sorted(known)])
        reader.refuse(("marks", mark), f'"{mark}" is no mark of this sheet{hint}', "correct it, or take it out")


def _corners(
    reader: Reader,
    sheet: Sheet,
    one: StationSheet,
    name: str,
    order: Sequence[str],
    places: Mapping[str, Place],
) -> tuple[Corner, ...]:
    path: Place = ("station", name)
    ways = [bool(one.corners), bool(one.points), bool(one.half_breadths), one.point is not None]
    if not any(ways) and _is_faulty(reader, path):
        return ()
    if sum(ways) != 1:
        what = "no corners are given" if not any(ways) else "the section is written in two ways at once"
        reader.refuse(path, what, "give lettered corners, or points, or half_breadths, or one point")
        return ()
    for key, slope in (("rake", one.rake), ("skew", one.skew)):
        if slope and abs(slope[1]) < LEAST_SLOPE:
            what = f"a {key} over no {'height' if key == 'rake' else 'breadth'} cannot be told"
            reader.refuse((*path, key), what, f"write {key} = [how far forward, over how much]")
    if one.half_breadths:
        return offsets.section(reader, one, path, sheet.offsets or Offsets())
    if one.corners:
        return _lettered(reader, one, path, order, places)
    bare = [one.point] if one.point is not None else list(one.points)
    key = "point" if one.point is not None else "points"
    spots = [_spot(reader, one, p, (*path, key) if one.point else (*path, key, k)) for k, p in enumerate(bare)]
    if key == "points" and len(spots) < 3:
        told = f"{len(spots)} point{'' if len(spots) == 1 else 's'} make no section"
        reader.refuse((*path, key), told, "give three or more, in order round it")
    return tuple(Corner("", p) for p in spots if p)


def _lettered(
    reader: Reader, one: StationSheet, path: Place, order: Sequence[str], places: Mapping[str, Place]
) -> tuple[Corner, ...]:
    corners: list[Corner] = []
    for mark in one.corners:
        if mark not in order:
            fields = [f for f in StationSheet.__dataclass_fields__ if f != "corners"]
            hint = nearest(mark, [*order, *fields] if len(mark) > 2 else list(order))
            reader.refuse(places[mark], f'unknown key or mark "{mark}"{hint}', "name it under [marks] order")
    for mark in one.order or order:
        if mark in one.corners:
            spot = _spot(reader, one, one.corners[mark], places[mark], side_of(mark, order))
            corners += [Corner(mark, spot)] if spot else []
    if one.order:
        _check_order(reader, one, path, order)
    if len(one.corners) < 3 and not _is_faulty(reader, path):
        told = f"{len(one.corners)} corner{'' if len(one.corners) == 1 else 's'} make no section"
        reader.refuse(path, told, "read three or more, or close it to one point = [half-breadth, height]")
    return tuple(corners)


def _is_faulty(reader: Reader, path: Place) -> bool:
    return any(faulty[: len(path)] == path for faulty in reader.faulty)


def _check_order(reader: Reader, one: StationSheet, path: Place, order: Sequence[str]) -> None:
    here, there = [m for m in one.order if m in order], [m for m in order if m in one.order]
    stray = [m for m in one.order if m not in order]
    left = [m for m in one.corners if m in order and m not in one.order]
    if stray or left:
        what = f"{', '.join(stray or left)} {'has no reading' if stray else 'is left out of the order'} here"
        reader.refuse((*path, "order"), what, "name each corner of the station once, in order round it")
    elif len(here) != len(there) or not any(here[k:] + here[:k] == there for k in range(len(here))):
        what = "the marks are named in another order here"
        reader.refuse((*path, "order"), what, f"keep to {', '.join(there)}, as the sheet has them")


def side_of(mark: str, order: Sequence[str]) -> float:
    """Return the side that a mark's own letter names: Cp is to port, Cs to starboard; 0 where it names none."""
    if len(mark) < 2 or mark[-1] not in "ps":
        return 0.0
    other = mark[:-1] + {"p": "s", "s": "p"}[mark[-1]]
    return {"p": 1.0, "s": -1.0}[mark[-1]] if other in order else 0.0


def _spot(reader: Reader, one: StationSheet, raw: Sequence[object], path: Place, side: float = 0.0) -> Point | None:
    """Return the point that a corner reads: half-breadth, height, and its own station distance where it has one."""
    if len(raw) == 3 and _has_decimal_comma(reader, path):
        what = "three readings, of which two look like one with a decimal comma"
        reader.refuse(path, what, 'write 610.5, or "610,5" in quotes; with three readings put a blank after each comma')
        return None
    sided = replace(reader, how=replace(reader.how, side=side or reader.how.side))
    kinds = (Annotated[float, Breadth()], Annotated[float, Height()], Annotated[float, Along()])
    got = [read(sided, kind, value, (*path, k)) for k, (kind, value) in enumerate(zip(kinds, raw, strict=False))]
    if None in got:
        return None
    y, z = got[:2]
    return (got[2] if len(got) == 3 else one.at + leaning(one, y, z), y, z)


def _has_decimal_comma(reader: Reader, path: Place) -> bool:
    """Whether a corner's line parts figures by a comma alone in one place, and by comma and blank in another."""
    text = reader.source.paper.text
    if not DECIMAL_COMMA.search(text):
        return False
    file, line = reader.source.place(path)
    return file == reader.source.paper.file and bool(line and DECIMAL_COMMA.search(text.splitlines()[line - 1]))


def _in_order(reader: Reader, found: Sequence[Station]) -> None:
    """Refuse stations that run back, or stand in one place without saying that the space steps there."""
    if len(found) < 2 and not any(path[:1] in (("station",), ("readings",)) for path in reader.faulty):
        told = "there is no station" if not found else "one station makes no space"
        reader.refuse(("station",), told, "measure at two stations or more: [station.0], [station.1] …")
    if found and found[0].step:
        what = "nothing comes before the first station, for the space to step from"
        reader.refuse(("station", found[0].name, "step"), what, "take step out, or add the station before it")
    unit = reader.how.unit or "mm"
    for number, (before, after) in enumerate(pairwise(found), start=1):
        ahead = (after.x - before.x) * reader.how.ahead
        path: Place = ("station", after.name, "at")
        if ahead < 0:
            what = (
                f"station {after.name} lies at {format_length(after.x * reader.how.ahead, unit)}, "
                f"before station {before.name} at {format_length(before.x * reader.how.ahead, unit)}"
            )
            mend = "write the stations in order along the tape, or read this distance again"
            reader.refuse(path, what, mend + _slip(found, number, reader.how.ahead, unit))
        elif ahead == 0 and not after.step:
            same = [c.at for c in before.corners] == [c.at for c in after.corners]
            what = f"stations {before.name} and {after.name} are at the same distance"
            mend = "take one out" if same else "if the space changes size there, add step = true; else read it again"
            reader.refuse(path, what + (" and read the same" if same else ""), mend)
        elif after.step and ahead > 0:
            reader.refuse(path, "a step has the distance of the station before it", "give both the same distance")
        elif after.step and any(c.at[0] != s.x for s in (before, after) for c in s.corners):
            what = "a step stands square to the boat, and one of its two stations leans"
            reader.refuse(path, what, "step where it is square, or survey two compartments, one on either side")


def _slip(found: Sequence[Station], number: int, ahead: float, unit: str) -> str:
    """Return a hint at a distance out of order which a usual slip would put in its place."""
    along = [station.x * ahead for station in found]
    for k in (number, number - 1):
        low = along[k - 1] if k else -math.inf
        high = along[k + 1] if k + 1 < len(along) else 3 * along[k - 1] - 2 * along[0]
        meant = fitting(low, along[k], high) if k else None
        if meant is not None:
            return f"; {format_length(meant, unit)} at station {found[k].name} would fit"
    return ""
