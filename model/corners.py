"""From the readings on a sheet to the corners of each section, in compartment axes.

Three ways to write a section: lettered corners, a row of a table of offsets, bare points. Any of them may
lean or run askew (raked bulkheads) or close to a point.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Annotated

from tapeloft.model.errors import nearest
from tapeloft.model.reading import Path_, Reader
from tapeloft.model.readings_table import readings_of
from tapeloft.model.sheet import Offsets, Sheet, StationSheet
from tapeloft.shapes.readings import Breadth, Height
from tapeloft.shapes.readings import Station as Along

Point = tuple[float, float, float]
Corners = tuple[str | float, ...]


@dataclass(frozen=True)
class Corner:
    """A corner of a section: its letter ("" where it has none) and where it is, m, compartment axes."""

    name: str
    at: Point


@dataclass(frozen=True)
class Station:
    """One section: its distance x from zero, m, and its corners in order round it.

    pointed: all corners meet in one point. step: the space changes size here, in the plane of the station before.
    """

    name: str
    x: float
    corners: tuple[Corner, ...]
    pointed: bool = False
    step: bool = False


def stations(
    reader: Reader, sheet: Sheet, changes: Sequence[Mapping[str, Mapping[str, Corners]]]
) -> tuple[Station, ...]:
    """Return the sections of *sheet*, aft to forward, with the corners that *changes* read otherwise."""
    sheets, offsets = readings_of(reader, sheet), sheet.offsets or Offsets()
    order = sheet.marks.order or _first_order(sheets)
    read: list[Station] = []
    for name, one in sheets.items():
        changed = {mark: value for change in changes for mark, value in change.get(name, {}).items()}
        corners = _corners(reader, sheet, replace(one, corners={**one.corners, **changed}), name, order, offsets)
        read.append(Station(name, one.at, corners, one.point is not None, one.step))
    for change in changes:
        for name in set(change) - set(sheets):
            reader.refuse(("station",), f'no station "{name}" to change{nearest(name, list(sheets))}', "name a station")
    _in_order(reader, read)
    return tuple(read[:: 1 if reader.ahead > 0 else -1])


def _first_order(sheets: Mapping[str, StationSheet]) -> tuple[str, ...]:
    """Return the order of the marks as first written: the station with the most of them leads."""
    return max((tuple(one.corners) for one in sheets.values()), key=len, default=())


def _corners(
    reader: Reader, sheet: Sheet, one: StationSheet, name: str, order: tuple[str, ...], offsets: Offsets
) -> tuple[Corner, ...]:
    path: Path_ = ("station", name)
    ways = [bool(one.corners), bool(one.points), bool(one.half_breadths), one.point is not None]
    if sum(ways) != 1:
        what = "no corners are given" if not any(ways) else "the section is written in two ways at once"
        reader.refuse(path, what, "give lettered corners, or points, or half_breadths, or one point")
        return ()
    if one.half_breadths:
        return _from_offsets(reader, sheet, one, path, offsets)
    if one.corners:
        return _lettered(reader, one, path, order)
    bare = [one.point] if one.point is not None else list(one.points)
    key = "point" if one.point is not None else "points"
    spots = [_spot(reader, one, list(p), (*path, key), 0.0) for p in bare]
    if key == "points" and len(spots) < 3:
        reader.refuse((*path, key), f"{len(spots)} points make no section", "give three or more, in order round it")
    return tuple(Corner("", p) for p in spots if p)


def _lettered(reader: Reader, one: StationSheet, path: Path_, order: tuple[str, ...]) -> tuple[Corner, ...]:
    corners: list[Corner] = []
    for mark in one.corners:
        if mark not in order:
            known = [*order, *(f for f in StationSheet.__dataclass_fields__ if f != "corners")]
            reader.refuse(
                (*path, mark), f"unknown key or mark {mark!r}{nearest(mark, known)}", "name it in [marks] order"
            )
    own = one.order or order
    for mark in own:
        if mark in one.corners:
            spot = _spot(reader, one, list(one.corners[mark]), (*path, mark), _side(mark, order))
            corners += [Corner(mark, spot)] if spot else []
    if one.order and not _same_way_round([m for m in one.order if m in order], [m for m in order if m in one.order]):
        reader.refuse((*path, "order"), "the marks are named in another order here", f"keep to {', '.join(order)}")
    if len(one.corners) < 3:
        reader.refuse(path, f"{len(one.corners)} corners make no section", "read three or more, or close it to a point")
    return tuple(corners)


def _same_way_round(a: list[str], b: list[str]) -> bool:
    return len(a) == len(b) and (not a or any(a[k:] + a[:k] == b for k in range(len(a))))


def _side(mark: str, order: Sequence[str]) -> float:
    """Return the side that a mark's own letter names: Cp is to port, Cs to starboard; 0 where it names none."""
    other = mark[:-1] + {"p": "s", "s": "p"}.get(mark[-1:], "")
    return (
        {"p": 1.0, "s": -1.0}[mark[-1]] if len(mark) > 1 and mark[-1] in "ps" and mark[:-1] and other in order else 0.0
    )


def _spot(reader: Reader, one: StationSheet, raw: Sequence[object], path: Path_, side: float) -> Point | None:
    """Return the point that a corner reads: half-breadth, height, and its own station distance where it has one."""
    if len(raw) not in (2, 3):
        reader.refuse(path, f"{len(raw)} readings for one corner", "write [half-breadth, height]")
        return None
    sided = replace(reader, side=side or reader.side)
    kinds = (Annotated[float, Breadth()], Annotated[float, Height()], Annotated[float, Along()])
    got = [sided.read(kind, value, (*path, k)) for k, (kind, value) in enumerate(zip(kinds, raw, strict=False))]
    if None in got:
        return None
    y, z = got[:2]
    return (got[2] if len(got) == 3 else one.at + _lean(one, y, z), y, z)


def _lean(one: StationSheet, y: float, z: float) -> float:
    """Return how far forward of its station a point lies, where the bulkhead is raked or askew."""
    forward = 0.0
    for slope, reach in ((one.rake, z), (one.skew, y)):
        forward += slope[0] / slope[1] * reach if slope else 0.0
    return forward


def _from_offsets(reader: Reader, sheet: Sheet, one: StationSheet, path: Path_, offsets: Offsets) -> tuple[Corner, ...]:
    """Return the section that a row of offsets makes: up the outer side, down the inner face or the other side."""
    heights = one.heights or offsets.heights
    for key, row in (("half_breadths", one.half_breadths), ("inner", one.inner)):
        if row and len(row) != len(heights):
            reader.refuse((*path, key), f"{len(row)} offsets for {len(heights)} heights", "one offset a height")
            return ()
    if len(heights) < 2 or any(b <= a for a, b in pairwise(heights)):
        reader.refuse((*path, "heights"), "the heights do not rise", "give two or more, from the lowest up")
        return ()
    face = offsets.inner_face
    base = face if offsets.readings == "from_face" else 0.0
    sign = reader.side or 1.0
    outer = [base + sign * b for b in one.half_breadths]
    if not reader.side:
        inner = [-y for y in outer]
    elif one.inner:
        inner = [base + sign * b for b in one.inner]
    else:
        inner = [face] * len(heights)
    up = [(f"o{k}", y, z) for k, (y, z) in enumerate(zip(outer, heights, strict=True))]
    down = [(f"i{k}", y, z) for k, (y, z) in enumerate(zip(inner, heights, strict=True))]
    if reader.side and not one.inner:
        down = [down[0], down[-1]]
    return tuple(Corner(name, (one.at + _lean(one, y, z), y, z)) for name, y, z in [*up, *down[::-1]])


def _in_order(reader: Reader, read: Sequence[Station]) -> None:
    """Refuse stations that run back, or stand in one place without saying that the space steps there."""
    if len(read) < 2:
        reader.refuse(("station",), f"{len(read)} stations make no space", "measure at two stations or more")
    for before, after in pairwise(read):
        ahead = (after.x - before.x) * reader.ahead
        path: Path_ = ("station", after.name, "at")
        if ahead < 0:
            what = f"station {after.name} lies before station {before.name}"
            reader.refuse(path, what, "write the stations in order along the tape, or read this distance again")
        elif ahead == 0 and not after.step:
            same = [c.at for c in before.corners] == [c.at for c in after.corners]
            what = f"stations {before.name} and {after.name} are at the same distance"
            mend = "take one out" if same else "if the space changes size there, add step = true; else read it again"
            reader.refuse(path, what + (" and read the same" if same else ""), mend)
        elif after.step and ahead > 0:
            reader.refuse(path, "a step has the distance of the station before it", "give both the same distance")
