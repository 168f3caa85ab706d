"""The template of a piece: what is cut, what is marked and what is written on it, all mm, up the sheet."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
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
from tapeloft.model.cutting.outline import polygons
from tapeloft.model.cutting.perforated import Pierced
from tapeloft.model.cutting.plane import Plane
from tapeloft.viewer.template.block import Block, block_in
from tapeloft.viewer.template.lettering import CLEAR, Room, Written, along, broad, ground, placed_in, standing

Spot = tuple[float, float]
PLANED = 1.0  # degrees: a bevel that is worth saying
SHORT = 12.0  # mm: an edge that is too short to write on
EDGES = (3.0, 2.5, 2.1, 1.8)  # mm, letters along edges
SEEN = 0.05  # mm: a line no farther from an edge runs along it
BOLD, ROUND_IT = 1.15, 0.35  # of a letter's breadth, as it is drawn on a sheet; of its height, left free over and under
NUMBERS = 4.0  # mm, letters of a bar's number
WIDER, NARROWER = "bevel +: wider than the line on this face", "bevel -: wider than it on the other face"


@dataclass(frozen=True)
class Lying:
    """What lies under a piece, or on it: its outline, m, in the plane's axes, and what is said of it there."""

    outline: Polygon
    said: str = ""
    under: bool = True


@dataclass(frozen=True)
class Template:
    """A piece at true scale: x to the right and y up from the left bottom of what encloses it, mm.

    cut: closed rings, outlines counter-clockwise and holes clockwise, without a last point that repeats the first;
    marks: lines on its face; under: lines of what lies under it; written: all that is, with the block; holes: round
    ones, (n, 3), middle and radius; frame: a ring round all of it, of a sheet that it is cut from; note: what else is
    to be said of that. A block that has no room on it stands beside it.
    """

    name: str
    cut: tuple[tuple[Spot, ...], ...]
    marks: tuple[tuple[Spot, ...], ...]
    written: tuple[Written, ...]
    holes: tuple[tuple[float, float, float], ...] = ()
    block: Block | None = None
    frame: tuple[Spot, ...] = ()
    note: str = ""
    under: tuple[tuple[Spot, ...], ...] = ()

    @cached_property
    def bores(self) -> NDArray[np.float64]:
        """Its holes, (n, 3): middle and radius, mm."""
        return np.array(self.holes, np.float64).reshape(-1, 3)

    @property
    def drawn(self) -> tuple[tuple[Spot, ...], ...]:
        """The lines besides what is cut that paper has to show, wherever the block comes to lie."""
        block = self.block.marks if self.block and not self.block.beside else ()
        bores = tuple(((x - r, y), (x + r, y)) for x, y, r in self.holes)
        beside = (self.block.beside,) if self.block and self.block.beside else ()
        return (*(line for line in self.marks if line not in block), *self.under, *bores, *beside)

    @property
    def size(self) -> tuple[float, float]:
        """Its breadth and height, mm."""
        beside = self.block.beside if self.block else ()
        corners = np.array([spot for ring in (*self.cut, self.frame, beside) for spot in ring])
        wide, high = corners.max(axis=0).tolist()
        return wide, high


def template_of(piece: Piece, plane: Plane, lines: Sequence[str], lying: Sequence[Lying] = ()) -> Template:
    """Return the template of a piece, seen on the face that its plane looks to, with *lines* of text on it.

    lying: what lies under it or on it, marked on it as far as it is its own.
    """
    start = piece.outline.bounds[:2]
    outline = _in_mm(piece.outline, start)
    bevels = [angle for edge in piece.edges if _is_bevelled(edge) for angle in edge.bevel]
    signs = [*([WIDER] if max(bevels, default=0.0) > 0 else []), *([NARROWER] if min(bevels, default=0.0) < 0 else [])]
    under, on = (
        tuple(line for one in lying if one.under is far for line in _within(outline, _in_mm(one.outline, start)))
        for far in (True, False)
    )
    called = [one for lain in lying if (one := _said_of(lain, outline, start))]
    room = Room(shapely.buffer(outline, -CLEAR))
    free = shapely.difference(room.area, shapely.union_all([Polygon(ground(one)) for one in called]))
    block = block_in(Room(polygons(free), lines=(*under, *on)), (*lines, *signs), plane.ways)
    taken = [shapely.box(*one.box) for one in called] + ([] if block.beside else [block.outline])
    edges = [one for edge in piece.edges if (one := _said_along(edge, start, room, taken))]
    name = [_named(piece.letter, room, taken)] if block.beside else []
    written = (*block.written, *called, *edges, *filter(None, name))
    return Template(piece.letter, tuple(_rings(outline)), (*on, *block.marks), written, block=block, under=under)


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
    """Return the template of a section of a perforated sheet: outline and holes to cut, what bears it marked."""
    start = pierced.outline.bounds[:2]
    outline = _in_mm(pierced.outline, start)
    borne = *pierced.ledges, *pierced.bearers
    under = tuple((*ring, ring[0]) for one in borne for ring in _rings(_in_mm(one, start)))
    middles, radius = (pierced.middles - np.array(start)) * 1000, pierced.bore * 500
    holes = tuple((x, y, radius) for x, y in middles.tolist())
    bores = np.array(holes, np.float64).reshape(-1, 3)
    block = block_in(Room(shapely.buffer(outline, -CLEAR), bores, under), tuple(lines), plane.ways)
    return Template(pierced.letter, tuple(_rings(outline)), block.marks, block.written, holes, block, under=under)


def template_of_sheet(filled: Filled, number: int, templates: Sequence[Template]) -> Template:
    """Return a sheet with what is cut from it: outlines and holes in their places, each with its letter."""
    own = {one.name: one for one in templates}
    cut, holes, written = [], [], []
    for one in filled.placed:
        outline = _in_mm(one.outline, (0.0, 0.0))
        cut += list(_rings(outline))
        bores = _moved(own[one.piece], one) if one.piece in own else []
        written.append(_lettered(one.piece, outline, np.array(bores, np.float64).reshape(-1, 3)))
        holes += bores
    wide, high = filled.sheet.length * 1000, filled.sheet.breadth * 1000
    frame = ((0.0, 0.0), (wide, 0.0), (wide, high), (0.0, high))
    return Template(
        f"sheet-{number}",
        tuple(cut),
        (),
        tuple(written),
        tuple(holes),
        frame=frame,
        note=f"offcut {filled.offcut * 100:.1f} %",
    )


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


def _lettered(letter: str, outline: Polygon, bores: NDArray[np.float64]) -> Written:
    """Return a piece's letter on a sheet, mm: as large as its holes let it be, upright rather than up the sheet."""
    for height in (60.0, 40.0, 28.0, 20.0, 14.0):
        long, deep, foot = broad(letter) * height * BOLD, height * (1 + 2 * ROUND_IT), ROUND_IT * height
        level, upward = (placed_in(Room(outline, bores), size) for size in ((long, deep), (deep, long)))
        if level is not None:
            return Written(letter, (level[0], level[1] + foot), height)
        if upward is not None:
            return Written(letter, (upward[0] + deep - foot, upward[1]), height, 90.0)
    spot = outline.representative_point()
    return Written(letter, (float(spot.x), float(spot.y)), 10.0)


def _of_bars(
    name: str, section: Section, cut: Sequence[Polygon], marked: Sequence[Polygon], plane: Plane, lines: Sequence[str]
) -> Template:
    start = shapely.union_all([*cut, *marked]).bounds[:2]
    bars, others = ([_in_mm(one, start) for one in some] for some in (cut, marked))
    under = tuple((*ring, ring[0]) for one in others for ring in _rings(one))
    numbers = [
        _numbered(f"{section.letter}{'' if name == section.letter else '-'}{k}", one)
        for k, one in enumerate(bars, start=1)
    ]
    free = shapely.difference(
        shapely.buffer(shapely.union_all(bars), -CLEAR),
        shapely.union_all([shapely.box(*one.box).buffer(CLEAR) for one in numbers]),
    )
    block = block_in(Room(polygons(free), lines=under), tuple(lines), plane.ways)
    rings = tuple(ring for one in bars for ring in _rings(one))
    return Template(name, rings, block.marks, (*block.written, *numbers), block=block, under=under)


def _numbered(number: str, bar: Polygon) -> Written:
    """Return a bar's number, by its left or low end."""
    x0, y0, x1, y1 = bar.bounds
    for height in (NUMBERS, NUMBERS / 2):
        size = broad(number) * height, height
        end = (x0 + size[0], (y0 + y1) / 2) if x1 - x0 >= y1 - y0 else ((x0 + x1) / 2, y0 + 2 * height)
        found = placed_in(Room(shapely.buffer(bar, -CLEAR)), size, end)
        if found is not None:
            return Written(number, found, height)
    spot = bar.representative_point()
    return Written(number, (float(spot.x), float(spot.y)), NUMBERS / 2)


def _in_mm(outline: Polygon, start: Sequence[float]) -> Polygon:
    return shapely.transform(outline, lambda points: (points - [start[0], start[1]]) * 1000.0)


def _within(outline: Polygon, other: Polygon) -> Iterator[tuple[Spot, ...]]:
    """Yield the lines round another outline as far as they run within this one, mm, and not along its edge."""
    inner = shapely.intersection(other.boundary, shapely.buffer(outline, -SEEN))
    merged = shapely.line_merge(inner) if inner.geom_type == "MultiLineString" else inner
    for part in shapely.get_parts(merged):
        if isinstance(part, shapely.LineString) and part.length > SEEN:
            yield tuple((float(x), float(y)) for x, y in part.coords)


def _said_of(lying: Lying, outline: Polygon, start: Sequence[float]) -> Written | None:
    """Return what is said of what lies under a piece or on it, where it does."""
    area = shapely.buffer(shapely.intersection(outline, _in_mm(lying.outline, start)), -CLEAR)
    found = standing(Room(polygons(area)), lambda turn: [(broad(lying.said), 1.0)]) if lying.said else None
    return Written(lying.said, found[0].at, found[0].height, found[0].turn_deg) if found else None


def _rings(outline: Polygon) -> Iterator[tuple[Spot, ...]]:
    for ring in (outline.exterior, *outline.interiors):
        yield tuple((float(x), float(y)) for x, y in ring.coords[:-1])


def _is_bevelled(edge: Edge) -> bool:
    return bool(edge.wall) and max(map(abs, edge.bevel)) >= PLANED


def _said_along(edge: Edge, start: Sequence[float], room: Room, taken: list[Polygon]) -> Written | None:
    """Return what is written along an edge of the wall that it stands at; nothing where it is too short."""
    line = (np.array(edge.line) - [start[0], start[1]]) * 1000.0
    if not edge.wall or shapely.LineString(line).length < SHORT:
        return None
    said = f"{edge.wall}: bevel {_angle(edge.bevel)}" if _is_bevelled(edge) else edge.wall
    for height in EDGES:
        found = along(said, line, room, taken, height)
        if found is not None:
            taken.append(shapely.box(*found.box))
            return found
    return None


def _named(letter: str, room: Room, taken: list[Polygon]) -> Written | None:
    """Return what a piece is called, on it, where what else is to be said stands beside it."""
    left = Room(polygons(shapely.difference(room.area, shapely.union_all(taken))), room.holes)
    for height in EDGES:
        found = placed_in(left, (broad(letter) * height, height))
        if found is not None:
            return Written(letter, found, height)
    return None


def _angle(bevel: tuple[float, float]) -> str:
    least, most = bevel
    return f"{least:+.0f}°" if round(least) == round(most) else f"{least:+.0f}° to {most:+.0f}°"
