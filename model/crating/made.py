"""A crate made to measure: the largest that stands under a lid and goes straight up through it, and its boards."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import Polygon

from tapeloft.model.boxes import BoxFound, largest_box
from tapeloft.model.crating.ground import Floor, standing_on
from tapeloft.model.cutting.board import OUTSIDE, PLYWOOD, Piece, standing
from tapeloft.model.cutting.outline import polygons
from tapeloft.model.cutting.passing import passages
from tapeloft.model.cutting.plane import Plane
from tapeloft.model.errors import GeometryError
from tapeloft.model.fall import Fall
from tapeloft.model.gear.turn import Turn
from tapeloft.model.openings import ClearOpening
from tapeloft.model.solid import Solid, united

THINNEST, THICKEST = 0.002, 0.05  # m, of a wall
HANGS = 0.005  # m: so far under its frame the deck round a lid may hang
WIDEST = 0.5  # m, of a clearance
SMALLEST = 0.05  # m, of a crate's least side, inside
HOLE = (
    0.110,
    0.035,
    0.045,
)  # m: a hand hole, long, high, and how far its middle is under the rim; common practice, no source
ENOUGH = 0.18  # m: an end must be so wide, and as high, for a hand hole in it


@dataclass(frozen=True, eq=False)
class Board:
    """A board of a crate: the piece, and the plane of the face that is away from its thickness."""

    piece: Piece
    plane: Plane


@dataclass(frozen=True, eq=False)
class Made:
    """A crate made to measure: length, breadth and height over all, m; what it holds, m³; its boards.

    limit_m3: over all no crate that stands in one of the falls and goes straight up is larger, proved; proved: whether
    that is within the tolerance of the search. at, heading_deg: the middle of its bottom, compartment axes. fall: that
    it goes up through.
    """

    sizes: tuple[float, float, float]
    holds_m3: float
    volume_m3: float
    limit_m3: float
    proved: bool
    at: tuple[float, float, float]
    heading_deg: float
    fall: str
    boards: tuple[Board, ...]
    outside_m3: float


def made_to_measure(
    floors: Sequence[Floor], falls: Sequence[Fall], openings: Sequence[ClearOpening], wall: float, clearance: float,
    height: float | None, within_s: float,
) -> Made | None:  # fmt: skip
    """Return the largest crate of a *wall* thickness, m, that goes straight up through a lid; None where none does.

    openings: that its boards might go in by, one by one. clearance: m, to all walls and to the lid. height: over all,
    m, or as high as it goes. within_s: s in all. Raises GeometryError where a size is absurd.
    """
    if not THINNEST <= wall <= THICKEST:
        raise GeometryError(f"a crate's wall of {wall * 1000:g} mm: it has to be 2 to 50 mm")
    if not 0 <= clearance <= WIDEST:
        raise GeometryError(f"a clearance of {clearance * 1000:g} mm: it has to be 0 to 500 mm")
    if height is not None and not SMALLEST <= height <= 5.0:
        raise GeometryError(f"a crate {height * 1000:g} mm high: it has to be 50 to 5000 mm")
    share = within_s / max(1, len(floors) * len(falls))
    found = [
        (box, floor, fall)
        for floor in floors
        for fall in falls
        if (box := _largest(floor, fall, clearance, height, share)) is not None
    ]
    best = max(found, key=lambda one: round(one[0].volume_m3, 6), default=None)
    if best is None:
        return None
    limit = max(box.limit_m3 for box, _, _ in found)
    return _boarded(best[0], best[1], best[2], openings, wall, limit)


def _largest(floor: Floor, fall: Fall, clearance: float, height: float | None, within_s: float) -> BoxFound | None:
    """Return the largest box over a floor within a fall, the same for a space and its mirror image, mirrored."""
    high = fall.under - floor.height - max(clearance, HANGS) if height is None else height
    if high < SMALLEST or high > fall.under - floor.height - clearance:
        return None
    plan = floor.straight_up(fall, high)
    if plan.area < SMALLEST**2:
        return None
    low = floor.height
    space = standing_on(plan, low, low + high + clearance)  # clear up to there: no wall is over a crate under a lid
    box = largest_box(
        space, space, turn=Turn.UPRIGHT, clearance=clearance, height=high, on_grate=low, within_s=within_s
    )
    return box if box is not None and box.volume_m3 > 0 else None


def _boarded(
    box: BoxFound, floor: Floor, fall: Fall, openings: Sequence[ClearOpening], wall: float, limit: float
) -> Made | None:  # fmt: skip
    turn, low, high = np.array(box.turn), np.array(box.low), np.array(box.high)
    whole = np.floor((high - low) * 1000 + 1e-6) / 1000  # whole millimetres, as a saw is set
    low = low + (high - low - whole) / 2 * [1.0, 1.0, 0.0]
    high = low + whole
    length, breadth, height = whole.tolist()
    if breadth > length:
        turn = np.column_stack([turn[:, 1], -turn[:, 0], turn[:, 2]])
        low, high = np.array([low[1], -high[0], low[2]]), np.array([high[1], -low[0], high[2]])
        length, breadth = breadth, length
    if min(breadth - 2 * wall, height - wall) < SMALLEST:
        return None
    boards = tuple(_boards(turn, low, (length, breadth, height), wall, openings))
    lost = (united(one.piece.solid for one in boards) - floor.inside).volume
    if lost > OUTSIDE:
        raise GeometryError(f"the crate would stand {lost * 1e6:.3f} ml outside the space: it is not given")
    middle = turn @ np.array([(low[0] + high[0]) / 2, (low[1] + high[1]) / 2, low[2]])
    holds = (length - 2 * wall) * (breadth - 2 * wall) * (height - wall)
    heading = math.degrees(math.atan2(float(turn[1, 0]), float(turn[0, 0])))
    x, y, z = middle.tolist()
    return Made(
        (length, breadth, height), holds, length * breadth * height, limit, box.proved, (x, y, z), heading, fall.name,
        boards, lost,
    )  # fmt: skip


def _boards(
    turn: np.ndarray, low: np.ndarray, sizes: tuple[float, float, float], wall: float,
    openings: Sequence[ClearOpening],
) -> list[Board]:  # fmt: skip
    """Return bottom, two sides over its whole length, and two ends between them, standing on it."""
    length, breadth, height = sizes
    x, y, z = np.eye(3)
    upright = height - wall
    square = ((length, breadth), (length, upright), (breadth - 2 * wall, upright))
    flat, side, end = (shapely.box(0, 0, *size) for size in square)
    end = _with_hole(end, *square[2])
    laid = (
        ("bottom", flat, (0.0, 0.0, 0.0), x, y, "upper face"), ("side 1", side, (0.0, wall, wall), x, z, "outer face"),
        ("side 2", side, (length, breadth - wall, wall), -x, z, "outer face"),
        ("end 1", end, (wall, breadth - wall, wall), -y, z, "outer face"),
        ("end 2", end, (length - wall, wall, wall), y, z, "outer face"),
    )  # fmt: skip
    boards = []
    called = {"bottom": ("along", "across"), "end 1": ("across", "up"), "end 2": ("across", "up")}
    for letter, outline, start, right, up, face in laid:
        plane = Plane(_three(turn @ (low + np.array(start))), _three(turn @ right), _three(turn @ up),
                      called.get(letter, ("along", "up")), face, "crate")  # fmt: skip
        solid: Solid = standing(outline, plane, wall)
        ways, mass = passages(outline, wall, openings), outline.area * wall * PLYWOOD
        boards.append(Board(Piece(letter, outline, solid, (), ways, mass), plane))
    return boards


def _with_hole(end: Polygon, wide: float, high: float) -> Polygon:
    """Return a crate's end with a hand hole, rounded, where it is large enough for one."""
    if min(wide, high) < ENOUGH:
        return end
    long, tall, under = HOLE
    x, y, half = wide / 2, high - under, (long - tall) / 2
    hole = shapely.LineString([(x - half, y), (x + half, y)]).buffer(tall / 2)
    return polygons(end.difference(hole)).geoms[0]


def _three(point: np.ndarray) -> tuple[float, float, float]:
    x, y, z = (point + 0.0).tolist()
    return x, y, z
