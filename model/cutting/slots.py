"""Holes in a board: slots that let air through, and holes for a hand, nowhere nearer than a web to an edge."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely import LineString, MultiPolygon, Polygon

from tapeloft.model.cutting.board import Board, Piece, standing
from tapeloft.model.cutting.outline import polygons
from tapeloft.model.errors import GeometryError

LEAST, MOST = 0.003, 1.0  # m: sizes that slots and hand holes have
MANY = 50  # hand holes
STEP = 0.005  # m that a hand hole is moved aside to find room
ROUND = 16  # sides of a quarter circle


@dataclass(frozen=True)
class Holes:
    """What holes a board is to have.

    hands: how many hand holes; hand, slot: their length and breadth, m, over all, with round ends; down: m from the
    board's upper edge to the middle of a hand hole. vent: m², that the slots add up to at least; 0 for none. web: m.
    """

    hands: int = 0
    hand: tuple[float, float] = (0.100, 0.035)
    down: float = 0.070
    vent: float = 0.0
    slot: tuple[float, float] = (0.120, 0.020)
    web: float = 0.030


@dataclass(frozen=True, eq=False)
class Pierced:
    """A board with its holes: how many slots, and the area, m², that they leave open as they are drawn."""

    board: Board
    slots: int
    vent_m2: float
    hands: int


def pierced(board: Board, holes: Holes) -> Pierced:
    """Return *board* with its holes, in its pieces: half the slots high and half low, for air rises and falls.

    Raises GeometryError where a size is absurd, or the board has no room for what is asked.
    """
    _sound(holes)
    room = polygons(shapely.union_all([shapely.buffer(one.outline, -holes.web) for one in board.pieces]))
    hands = _hands(board, room, holes)
    left = polygons(shapely.difference(room, shapely.union_all([shapely.buffer(one, holes.web) for one in hands])))
    slots = _slots(left, holes) if holes.vent > 0 else []
    made = tuple(_cut(one, board, [*hands, *slots]) for one in board.pieces)
    return Pierced(replace(board, pieces=made), len(slots), sum(one.area for one in slots), len(hands))


def _sound(holes: Holes) -> None:
    sizes = {"hand hole": holes.hand, "slot": holes.slot}
    for name, (length, breadth) in sizes.items():
        if not LEAST <= breadth <= length <= MOST:
            what = f"a {name} {length * 1000:g} × {breadth * 1000:g} mm: it has to be 3 to 1000 mm, longer than broad"
            raise GeometryError(what)
    if not 0 <= holes.hands <= MANY:
        raise GeometryError(f"{holes.hands} hand holes: it has to be 0 to {MANY}")
    if not 0 <= holes.vent <= 100:
        raise GeometryError(f"a vent of {holes.vent:g} m²: it has to be 0 to 100")
    for name, size in (("web", holes.web), ("distance of hand holes from the upper edge", holes.down)):
        if not 0 < size <= MOST:
            raise GeometryError(f"a {name} of {size * 1000:g} mm: it has to be more than 0, and no more than 1000 mm")


def rounded_slot(x: float, y: float, size: tuple[float, float]) -> Polygon:
    """Return a slot about (x, y), m, its ends round."""
    length, breadth = size
    half = max(length - breadth, 1e-6) / 2
    return shapely.buffer(LineString([(x - half, y), (x + half, y)]), breadth / 2, quad_segs=ROUND)


def _hands(board: Board, room: MultiPolygon, holes: Holes) -> list[Polygon]:
    whole = shapely.union_all([one.outline for one in board.pieces])
    low, high = whole.bounds[0], whole.bounds[2]
    found: list[Polygon] = []
    for k in range(holes.hands):
        middle = low + (high - low) * (k + 1) / (holes.hands + 1)
        reach = (high - low) / (holes.hands + 1) / 2
        aside = sorted(np.arange(-reach, reach + STEP / 2, STEP).tolist(), key=abs)
        free = polygons(shapely.difference(room, shapely.union_all([shapely.buffer(one, holes.web) for one in found])))
        placed = (_hand(whole, middle + off, holes) for off in (0.0, *aside))
        hole = next((one for one in placed if one is not None and shapely.covers(free, one)), None)
        if hole is None:
            what = f"hand hole {k + 1} of {holes.hands} finds no room that leaves a web of {holes.web * 1000:g} mm"
            raise GeometryError(f"{what}\n    mend: give fewer or smaller holes, another distance down, or less web")
        found.append(hole)
    return found


def _hand(whole: Polygon | MultiPolygon, x: float, holes: Holes) -> Polygon | None:
    """Return a hand hole at a place across the board, so far below its upper edge there."""
    upright = shapely.intersection(whole, LineString([(x, whole.bounds[1] - 1), (x, whole.bounds[3] + 1)]))
    return None if upright.is_empty else rounded_slot(x, upright.bounds[3] - holes.down, holes.hand)


def _slots(room: MultiPolygon, holes: Holes) -> list[Polygon]:
    """Return slots that add up to the vent: half from the upper end down, half from the lower end up."""
    every = list(_rows(room, holes))
    fullest = max(map(len, every), default=0)
    rows = [row for row in every if 2 * len(row) >= fullest]
    middle = (room.bounds[0] + room.bounds[2]) / 2
    half = (len(rows) + 1) // 2
    found: list[Polygon] = []
    for some, enough in ((rows[:half], holes.vent / 2), (rows[half:][::-1], holes.vent), (rows[:half], holes.vent)):
        for one in _from_middle(some, middle):
            if one not in found and sum(slot.area for slot in found) < enough:
                found.append(one)
    has = sum(one.area for one in found)
    if has < holes.vent:
        what = f"the board has room for {has * 1e4:.0f} cm² of slots, not for {holes.vent * 1e4:.0f}"
        raise GeometryError(f"{what}\n    mend: give a smaller vent, other slots, or less web")
    return found


def _from_middle(rows: Sequence[list[Polygon]], middle: float) -> list[Polygon]:
    """Return the slots of each row in turn, those nearest to the middle first."""
    return [one for row in rows for one in sorted(row, key=lambda slot: round(abs(slot.centroid.x - middle), 6))]


def _rows(room: MultiPolygon, holes: Holes) -> Iterator[list[Polygon]]:
    """Yield the rows of slots that the board has room for, from its upper end, evenly laid about its middle."""
    if room.is_empty:
        return
    x0, y0, x1, y1 = room.bounds
    across, up = _even(x0, x1, holes.slot[0], holes.web), _even(y0, y1, holes.slot[1], holes.web)
    for y in up[::-1]:
        row = [rounded_slot(x, y, holes.slot) for x in across]
        kept = [one for one in row if shapely.covers(room, one)]
        if kept:
            yield kept


def _even(low: float, high: float, size: float, web: float) -> list[float]:
    count = math.floor((high - low + web) / (size + web) + 1e-9)
    first = (low + high - (count * (size + web) - web) + size) / 2
    return [first + k * (size + web) for k in range(count)]


def _cut(piece: Piece, board: Board, holes: Sequence[Polygon]) -> Piece:
    own = [one for one in holes if shapely.intersects(piece.outline, one)]
    if not own:
        return piece
    (outline,) = polygons(shapely.difference(piece.outline, shapely.union_all(own))).geoms
    mass = piece.mass_kg * outline.area / piece.outline.area
    return replace(piece, outline=outline, solid=standing(outline, board.plane, board.thickness), mass_kg=mass)
