"""The template of a piece: what is cut, what is marked and what is written on it, all mm, up the sheet."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely import Polygon

from tapeloft.model.cutting.board import Edge, Piece
from tapeloft.model.cutting.grate import Bars
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


@dataclass(frozen=True)
class Template:
    """A piece at true scale: x to the right and y up from the left bottom of what encloses it, mm.

    cut: closed rings, outlines counter-clockwise and holes clockwise, without a last point that repeats the first;
    marks: lines on its face.
    """

    name: str
    cut: tuple[tuple[Spot, ...], ...]
    marks: tuple[tuple[Spot, ...], ...]
    written: tuple[Written, ...]

    @property
    def size(self) -> tuple[float, float]:
        """Its breadth and height, mm."""
        corners = np.array([spot for ring in self.cut for spot in ring])
        wide, high = corners.max(axis=0).tolist()
        return wide, high


def template_of(piece: Piece, plane: Plane, lines: Sequence[str]) -> Template:
    """Return the template of a piece, seen on the face that its plane looks to, with *lines* of text on it."""
    start = piece.outline.bounds[:2]
    outline = _in_mm(piece.outline, start)
    block, marks = _block(outline, lines, plane)
    bevels = [_bevel(edge, start, outline) for edge in piece.edges]
    return Template(piece.letter, tuple(_rings(outline)), marks, (*block, *(one for one in bevels if one)))


def under_piece(template: Template, piece: Piece, bars: Sequence[Polygon]) -> Template:
    """Return the template of a piece with what lies under it marked on it; bars m, in the plane's axes."""
    start = piece.outline.bounds[:2]
    own = [shapely.intersection(piece.outline, one) for one in bars]
    parts = [part for one in own for part in shapely.get_parts(one) if isinstance(part, Polygon)]
    rings = [(*ring, ring[0]) for one in parts for ring in _rings(_in_mm(one, start))]
    return replace(template, marks=(*template.marks, *rings))


def template_of_bars(bars: Bars, plane: Plane, lines: Sequence[str]) -> Template:
    """Return the template of a section of a grate: its battens to cut, numbered, and its bearers marked under them."""
    outline = shapely.union_all([*bars.battens, *bars.bearers])
    start = outline.bounds[:2]
    battens, bearers = ([_in_mm(one, start) for one in some] for some in (bars.battens, bars.bearers))
    block, marks = _block(_in_mm(bars.outline, start), lines, plane)
    under = [(*ring, ring[0]) for one in bearers for ring in _rings(one)]
    numbers = [
        Written(f"{bars.letter}{k}", (one.bounds[0] + 4, (one.bounds[1] + one.bounds[3]) / 2 - 2), 4.0)
        for k, one in enumerate(battens, start=1)
    ]
    return Template(
        bars.letter, tuple(ring for one in battens for ring in _rings(one)), (*under, *marks), (*block, *numbers)
    )


def _in_mm(outline: Polygon, start: Sequence[float]) -> Polygon:
    return shapely.transform(outline, lambda points: (points - [start[0], start[1]]) * 1000.0)


def _rings(outline: Polygon) -> Iterator[tuple[Spot, ...]]:
    for ring in (outline.exterior, *outline.interiors):
        yield tuple((float(x), float(y)) for x, y in ring.coords[:-1])


def _block(outline: Polygon, lines: Sequence[str], plane: Plane) -> tuple[list[Written], tuple[tuple[Spot, ...], ...]]:
    """Return the lines of text in the widest circle, and the arrows over them with what they point to."""
    circle = shapely.maximum_inscribed_circle(outline, tolerance=max(outline.length / 2000, 0.1))
    (x, y), radius = circle.coords[0], float(circle.length)
    longest = max(map(len, lines)) * WORD
    height = max(SMALLEST, min(LARGEST, 1.5 * radius / longest, 1.1 * radius / (len(lines) * PITCH)))
    left, top = float(x) - longest * height / 2, float(y) + len(lines) * PITCH * height / 2
    block = [Written(text, (left, top - (k + 1) * PITCH * height), height) for k, text in enumerate(lines)]
    foot, reach = (left, top + height), min(6 * height, radius * 0.6)
    along, over = (foot[0] + reach, foot[1]), (foot[0], foot[1] + reach * 0.6)
    block += [
        Written(plane.ways[0], (along[0] + height / 2, along[1] - height / 3), height * 0.8),
        Written(plane.ways[1], (over[0] + height / 2, over[1] - height / 3), height * 0.8),
    ]
    return block, (*_arrow(foot, along), *_arrow(foot, over))


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
