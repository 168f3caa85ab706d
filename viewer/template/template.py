"""The template of a piece: what is cut, what is marked and what is written on it, all mm, up the sheet."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from tapeloft.model.cutting.board import Edge, Piece
from tapeloft.model.cutting.eggcrate import Crossed
from tapeloft.model.cutting.grate import Bars
from tapeloft.model.cutting.laying import Section
from tapeloft.model.cutting.nesting import Filled, Placed
from tapeloft.model.cutting.perforated import Pierced
from tapeloft.model.cutting.plane import Plane

Spot = tuple[float, float]
LARGEST, SMALLEST = 5.0, 1.8  # mm, letters
PITCH = 1.45
WORD = 0.62  # of its height: how broad a letter is about
PLANED = 1.0  # degrees: a bevel that is worth saying
SHORT = 25.0  # mm: an edge that is too short to write on


@dataclass(frozen=True)
class Written:
    """A line of text from the left end of the line it stands on; height mm of its capitals."""

    text: str
    at: Spot
    height: float


@dataclass(frozen=True, eq=False)
class Block:
    """What is written in the middle of a piece, with its arrows; room: where it may lie, mm."""

    lines: tuple[str, ...]
    ways: tuple[str, str]
    room: Polygon
    written: tuple[Written, ...]
    marks: tuple[tuple[Spot, ...], ...]


@dataclass(frozen=True)
class Template:
    """A piece at true scale: x to the right and y up from the left bottom of what encloses it, mm.

    cut: closed rings, outlines counter-clockwise and holes clockwise, without a last point that repeats the first;
    marks: lines on its face; written: all that is, with the block; holes: round ones, (n, 3), middle and radius;
    frame: a ring round all of it, of a sheet that it is cut from.
    """

    name: str
    cut: tuple[tuple[Spot, ...], ...]
    marks: tuple[tuple[Spot, ...], ...]
    written: tuple[Written, ...]
    holes: tuple[tuple[float, float, float], ...] = ()
    block: Block | None = None
    frame: tuple[Spot, ...] = ()

    @cached_property
    def bores(self) -> NDArray[np.float64]:
        """Its holes, (n, 3): middle and radius, mm."""
        return np.array(self.holes, np.float64).reshape(-1, 3)

    @property
    def size(self) -> tuple[float, float]:
        """Its breadth and height, mm."""
        corners = np.array([spot for ring in (*self.cut, self.frame) for spot in ring])
        wide, high = corners.max(axis=0).tolist()
        return wide, high


def template_of(piece: Piece, plane: Plane, lines: Sequence[str]) -> Template:
    """Return the template of a piece, seen on the face that its plane looks to, with *lines* of text on it."""
    start = piece.outline.bounds[:2]
    outline = _in_mm(piece.outline, start)
    block = block_in(outline, tuple(lines), plane.ways)
    bevels = [_bevel(edge, start, outline) for edge in piece.edges]
    written = (*block.written, *(one for one in bevels if one))
    return Template(piece.letter, tuple(_rings(outline)), block.marks, written, block=block)


def under_piece(template: Template, piece: Piece, bars: Sequence[Polygon]) -> Template:
    """Return the template of a piece with what lies under it marked on it; bars m, in the plane's axes."""
    start = piece.outline.bounds[:2]
    own = [shapely.intersection(piece.outline, one) for one in bars]
    parts = [part for one in own for part in shapely.get_parts(one) if isinstance(part, Polygon) and part.area]
    rings = [(*ring, ring[0]) for one in parts for ring in _rings(_in_mm(one, start))]
    return replace(template, marks=(*template.marks, *rings))


def template_of_bars(bars: Bars, plane: Plane, lines: Sequence[str]) -> Template:
    """Return the template of a section of a grate: its battens to cut, numbered, and its bearers marked under them."""
    return _of_bars(bars.letter, bars, bars.battens, bars.bearers, plane, lines)


def templates_of_crossed(crossed: Crossed, plane: Plane, lines: Sequence[str]) -> tuple[Template, Template]:
    """Return the templates of a section of an egg-crate: bars on the bearers, then bars across, with their crossings.

    On each the bars of the other way are marked: there a bar is halved.
    """
    under = (*crossed.across, *crossed.bearers)
    over = _of_bars(crossed.letter, crossed, crossed.bars, under, plane, lines)
    return over, _of_bars(f"{crossed.letter}-across", crossed, crossed.across, crossed.bars, plane, lines)


def template_of_pierced(pierced: Pierced, plane: Plane, lines: Sequence[str]) -> Template:
    """Return the template of a section of a perforated sheet: outline and holes to cut, its bearers marked under it."""
    start = pierced.outline.bounds[:2]
    outline = _in_mm(pierced.outline, start)
    block = block_in(outline, tuple(lines), plane.ways)
    under = [(*ring, ring[0]) for one in pierced.bearers for ring in _rings(_in_mm(one, start))]
    middles, radius = (pierced.middles - np.array(start)) * 1000, pierced.bore * 500
    holes = tuple((x, y, radius) for x, y in middles.tolist())
    cut, marks = tuple(_rings(outline)), (*under, *block.marks)
    return Template(pierced.letter, cut, marks, block.written, holes, block)


def template_of_sheet(filled: Filled, number: int, templates: Sequence[Template]) -> Template:
    """Return a sheet with what is cut from it: outlines and holes in their places, each with its letter."""
    own = {one.name: one for one in templates}
    cut, holes, written = [], [], []
    for one in filled.placed:
        outline = _in_mm(one.outline, (0.0, 0.0))
        cut += list(_rings(outline))
        spot = shapely.maximum_inscribed_circle(outline, tolerance=1.0)
        (x, y), radius = spot.coords[0], float(spot.length)
        height = min(40.0, radius * 0.8 / max(len(one.piece), 1))
        at = (float(x) - len(one.piece) * WORD * height / 2, float(y) - height / 2)
        written.append(Written(one.piece, at, height))
        holes += _moved(own[one.piece], one) if one.piece in own else []
    wide, high = filled.sheet.length * 1000, filled.sheet.breadth * 1000
    frame = ((0.0, 0.0), (wide, 0.0), (wide, high), (0.0, high))
    return Template(f"sheet-{number}", tuple(cut), (), tuple(written), tuple(holes), frame=frame)


def _moved(template: Template, placed: Placed) -> list[tuple[float, float, float]]:
    """Return a template's holes where its piece lies on a sheet; both have their outline's first corner in common."""
    if not template.holes:
        return []
    c, s = math.cos(math.radians(placed.turn_deg)), math.sin(math.radians(placed.turn_deg))
    turn = np.array([[c, -s], [s, c]])
    holes = np.array(template.holes)
    first = np.array(placed.outline.exterior.coords[0]) * 1000 - turn @ np.array(template.cut[0][0])
    middles = holes[:, :2] @ turn.T + first
    return [(x, y, r) for (x, y), r in zip(middles.tolist(), holes[:, 2].tolist(), strict=True)]


def _of_bars(
    name: str, section: Section, cut: Sequence[Polygon], marked: Sequence[Polygon], plane: Plane, lines: Sequence[str]
) -> Template:
    start = shapely.union_all([*cut, *marked]).bounds[:2]
    bars, others = ([_in_mm(one, start) for one in some] for some in (cut, marked))
    block = block_in(_in_mm(section.outline, start), tuple(lines), plane.ways)
    under = [(*ring, ring[0]) for one in others for ring in _rings(one)]
    numbers = [
        Written(
            f"{section.letter}{'' if name == section.letter else '-'}{k}",
            (one.bounds[0] + 4, (one.bounds[1] + one.bounds[3]) / 2 - 2),
            4.0,
        )
        for k, one in enumerate(bars, start=1)
    ]
    rings = tuple(ring for one in bars for ring in _rings(one))
    return Template(name, rings, (*under, *block.marks), (*block.written, *numbers), block=block)


def _in_mm(outline: Polygon, start: Sequence[float]) -> Polygon:
    return shapely.transform(outline, lambda points: (points - [start[0], start[1]]) * 1000.0)


def _rings(outline: Polygon) -> Iterator[tuple[Spot, ...]]:
    for ring in (outline.exterior, *outline.interiors):
        yield tuple((float(x), float(y)) for x, y in ring.coords[:-1])


def block_in(room: Polygon, lines: tuple[str, ...], ways: tuple[str, str]) -> Block:
    """Return *lines* of text in the widest circle of a room, mm, and arrows over them with what they point to."""
    circle = shapely.maximum_inscribed_circle(room, tolerance=max(room.length / 2000, 0.1))
    (x, y), radius = circle.coords[0], float(circle.length)
    longest = max(map(len, lines)) * WORD
    height = max(SMALLEST, min(LARGEST, 1.5 * radius / longest, 1.1 * radius / (len(lines) * PITCH)))
    left, top = float(x) - longest * height / 2, float(y) + len(lines) * PITCH * height / 2
    written = [Written(text, (left, top - (k + 1) * PITCH * height), height) for k, text in enumerate(lines)]
    foot, reach = (left, top + height), min(6 * height, radius * 0.6)
    along, over = (foot[0] + reach, foot[1]), (foot[0], foot[1] + reach * 0.6)
    written += [
        Written(ways[0], (along[0] + height / 2, along[1] - height / 3), height * 0.8),
        Written(ways[1], (over[0] + height / 2, over[1] - height / 3), height * 0.8),
    ]
    return Block(lines, ways, room, tuple(written), (*_arrow(foot, along), *_arrow(foot, over)))


def _arrow(foot: Spot, tip: Spot) -> tuple[tuple[Spot, ...], ...]:
    way = np.subtract(tip, foot)
    back, side = way * 0.25, np.array([-way[1], way[0]]) * 0.12
    barbs = [(float(x), float(y)) for x, y in (tip - back + side, tip - back - side)]
    return ((foot, tip), (barbs[0], tip, barbs[1]))


def _bevel(edge: Edge, start: Sequence[float], outline: Polygon) -> Written | None:
    """Return what is written along an edge whose wall is off square; nothing where it is too short."""
    line = (np.array(edge.line) - [start[0], start[1]]) * 1000.0
    path = shapely.LineString(line)
    least, most = edge.bevel
    if not edge.wall or path.length < SHORT or max(abs(least), abs(most)) < PLANED:
        return None
    angle = f"{least:+.0f}°" if round(least) == round(most) else f"{least:+.0f}° to {most:+.0f}°"
    text, height = f"{edge.wall}: bevel {angle}", 2.5
    there, way = path.interpolate(0.5, normalized=True), line[-1] - line[0]
    inward = np.array([-way[1], way[0]]) / max(float(np.hypot(*way)), 1e-9)
    x, y = np.array([there.x, there.y]) + inward * (2 * height)
    wide = len(text) * WORD * height
    at = (float(x) - (wide if inward[0] < -0.5 else 0 if inward[0] > 0.5 else wide / 2), float(y) - height / 2)
    return Written(text, at, height) if outline.contains(shapely.Point(x, y)) else None
