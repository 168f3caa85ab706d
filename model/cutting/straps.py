"""Butt straps: a strip behind each joint of a board, as far as there is room for it beside what is there."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
import shapely
import shapely.affinity
from numpy.typing import NDArray
from shapely import LineString, MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from tapeloft.model.compartment import Compartment
from tapeloft.model.cutting.board import OUTSIDE, PLYWOOD, THICKEST, THINNEST, Board, Cut, Piece, outside, piece_of
from tapeloft.model.cutting.cleats import along_cleats, structural, under_cleats
from tapeloft.model.cutting.inset import inset, relieved, without_necks
from tapeloft.model.cutting.outline import clear_outline, polygons
from tapeloft.model.cutting.plane import Plane
from tapeloft.model.cutting.splitting import Line
from tapeloft.model.cutting.walls import Spot, Walled, walled
from tapeloft.model.errors import GeometryError
from tapeloft.model.openings import clear_openings
from tapeloft.model.solid import Solid, united

Face = Literal["", "forward", "after", "upper", "lower", "port", "starboard"]
FACES = {"forward face": ("after", "forward"), "upper face": ("lower", "upper"), "port face": ("starboard", "port")}
"""Of a plane by the face that it looks to: what the far face is called, and that one."""
STOUT = 0.5  # of its breadth: a strap is nowhere narrower
LEAST, MOST = 0.010, 0.5  # m, of a strap's breadth
SEEN = 0.005  # m of a joint that nothing lies behind: what is worth a word
STEP = 3e-4  # m: what cleats of two pieces are off in line at a joint, that no saw would follow
AHEAD = 1e-6  # m: in line
Floats = NDArray[np.float64]
NONE = "no straps are asked for: back the joints by other means"


@dataclass(frozen=True)
class Strapping:
    """What straps are asked for, m: breadth and thickness, breadth 0 for none, of the board's own stock.

    Common practice, no source: they lap each side of a joint by 30 mm, and are as thick as a board that is usual here.
    face: of the board, that they lie on; "" for the far one, away from who looks at its face. cleat: how broad the
    cleats on that face are, 0 where they are on the other; common practice, no source.
    """

    breadth: float = 0.060
    thickness: float = 0.012
    face: Face = ""
    cleat: float = 0.025


@dataclass(frozen=True)
class Backed:
    """A joint, m, between two pieces by their letters, the straps behind it, and how much of it has what behind it.

    cleats_m: of what no strap covers, where a cleat of each piece ends at the joint; bare_m: where nothing is.
    """

    between: tuple[str, str]
    length_m: float
    straps: tuple[str, ...]
    strapped_m: float
    cleats_m: float
    bare_m: float


@dataclass(frozen=True, eq=False)
class Straps:
    """The straps of a board, each a piece in the axes of *plane*, which a strap stands on as the board does on its own.

    far: whether they lie on the face that is not looked at. outside_m3: what of them is outside the net space, no more
    than rounding.
    """

    plane: Plane
    thickness: float
    far: bool
    pieces: tuple[Piece, ...]
    joints: tuple[Backed, ...]
    outside_m3: float
    notes: tuple[str, ...]

    @property
    def face(self) -> str:
        """The face of the board that they lie on."""
        return FACES[self.plane.face][0 if self.far else 1]


def strapped(
    compartment: Compartment,
    board: Board,
    asked: Strapping,
    cut: Cut,
    density: float = PLYWOOD,
    *,
    clear_of: Sequence[tuple[str, Solid]] = (),
) -> Straps:
    """Return the straps behind the joints of a *board* that was cut so, clear of the same as it is, of its holes too.

    A strap lies evenly about its joint: what keeps it off on one side keeps it off on the other as well, but for its
    ends, which follow what they end at. Raises GeometryError where a size is absurd or the board has no such face.
    """
    far = _sound(asked, board.plane)
    plane = board.plane.shifted(-asked.thickness if far else board.thickness)
    room, walls = MultiPolygon(), tuple[Walled, ...]()
    if asked.breadth and board.joints:
        clear = clear_outline(compartment.inside.cleared_of([one for _, one in clear_of]), plane, asked.thickness)
        walls = walled(compartment, plane, asked.thickness, clear, clear_of)
        room = inset(clear, walls, cut.gaps)
    spared = structural(compartment.survey)
    held = [under_cleats(piece, asked.cleat, spared) for piece in board.pieces]
    beside = shapely.simplify(_joined(along_cleats(board.pieces, asked.cleat, spared), cut), STEP)
    room = polygons(shapely.difference(shapely.intersection(room, _behind(board, cut)), beside))
    laid = []
    for line in board.joints:
        breadth = _breadth(line, board.joints, asked.breadth, cut.joint)
        own = polygons(shapely.difference(room, _of_others(line, board.joints, breadth, cut.joint)))
        laid.append(_laid(line, breadth, own, cut))
    numbers, openings = iter(range(1, sum(map(len, laid)) + 1)), clear_openings(compartment)
    pieces, joints = [], []
    for line, outlines in zip(board.joints, laid, strict=True):
        own = [
            piece_of(f"strap {next(numbers)}", one, plane, asked.thickness, walls, cut.gaps, openings, density)
            for one in outlines
        ]
        pieces += own
        joints.append(_backed(line, own, board.pieces, held, cut.joint))
    made = tuple(pieces)
    out = outside(compartment, made) if made else 0.0
    _apart(board, made)
    notes = tuple(_said(one) for one in joints if one.bare_m >= SEEN) if asked.breadth else (NONE,) * bool(joints)
    notes += tuple(_heavy(one, cut.heaviest) for one in made if one.mass_kg > cut.heaviest)
    return Straps(plane, asked.thickness, far, made, tuple(joints), out, notes)


def _sound(asked: Strapping, plane: Plane) -> bool:
    """Return whether the straps lie on the far face; raise where they cannot be as they are asked for."""
    far, near = FACES[plane.face]
    if asked.face not in ("", far, near):
        raise GeometryError(f"a strap on the {asked.face} face: this panel has the {near} and the {far} one")
    if asked.breadth and not LEAST <= asked.breadth <= MOST:
        raise GeometryError(f"a strap {asked.breadth * 1000:g} mm broad: it has to be 10 to 500 mm, or none")
    if asked.breadth and not THINNEST <= asked.thickness <= THICKEST:
        raise GeometryError(f"a strap {asked.thickness * 1000:g} mm thick: it has to be 0.5 to 200 mm")
    if not 0 <= asked.cleat <= MOST:
        raise GeometryError(f"cleats {asked.cleat * 1000:g} mm broad: it has to be 0 to 500 mm")
    return asked.face in ("", far)


def _behind(board: Board, cut: Cut) -> BaseGeometry:
    """Return what of its plane a board covers, joints and all, its holes not."""
    holes = [Polygon(ring) for one in board.pieces for ring in one.outline.interiors]
    whole = shapely.union_all([Polygon(one.outline.exterior) for one in board.pieces])
    return shapely.difference(_joined(whole, cut), shapely.union_all(holes))


def _joined(area: BaseGeometry, cut: Cut) -> BaseGeometry:
    """Return an area with what a joint leaves open of it."""
    closing = cut.joint / 2 + AHEAD
    return shapely.buffer(shapely.buffer(area, closing, join_style="mitre"), -closing, join_style="mitre")


def _breadth(line: Line, joints: Sequence[Line], most: float, between: float) -> float:
    """Return how broad the strap of a joint is: where another joint is near, each has half of what is between."""
    beside = [
        float(shapely.distance(LineString(line), LineString(other))) - between
        for other in joints
        if max(abs(_off(spot, line)) for spot in other) > AHEAD
    ]
    return min([most, *beside])


def _of_others(line: Line, joints: Sequence[Line], breadth: float, between: float) -> BaseGeometry:
    """Return what is left to the straps of joints in line with a joint: of what is between, each has half."""
    own = LineString(line)
    in_line = [one for one in joints if one != line and max(abs(_off(spot, line)) for spot in one) <= AHEAD]
    return shapely.union_all(
        [_strip(one, 2 * breadth, (float(shapely.distance(own, LineString(one))) + between) / 2) for one in in_line]
    )


def _laid(line: Line, breadth: float, room: MultiPolygon, cut: Cut) -> list[Polygon]:
    """Return the outlines of the straps of a joint, in order along it."""
    if breadth < LEAST or room.is_empty:
        return []
    own, middle = _strip(line, breadth, breadth / 2), LineString(line)
    free, blocked = shapely.intersection(own, room), shapely.difference(own, room)
    stopped = shapely.get_parts(shapely.intersection(_longer(line, breadth / 2), blocked))
    ends = [_strip((one.coords[0], one.coords[-1]), 2 * breadth, breadth / 2) for one in stopped if one.length > 0]
    aside = _mirrored(shapely.difference(blocked, shapely.union_all(ends)), line)
    stout = without_necks(polygons(shapely.difference(free, aside)), breadth * STOUT)
    along = [one for one in stout.geoms if one.intersection(middle).length >= breadth]
    shaped = [max(relieved(MultiPolygon([one]), cut.cutter).geoms, key=lambda part: part.area) for one in along]
    return sorted(shaped, key=lambda one: middle.project(one.centroid))


def _backed(
    line: Line, straps: Sequence[Piece], pieces: Sequence[Piece], held: Sequence[MultiPolygon], gap: float
) -> Backed:
    """Return what lies behind a joint; held: where the cleats of each piece are."""
    first, second = _beside(line, pieces, gap)
    own = LineString(line)
    left = shapely.difference(own, shapely.union_all([one.outline for one in straps]))
    either = [shapely.buffer(held[k], gap, join_style="mitre") for k in (first, second)]
    bare = shapely.difference(left, shapely.intersection(*either))
    return Backed(
        (pieces[first].letter, pieces[second].letter), own.length, tuple(one.letter for one in straps),
        own.length - left.length, left.length - bare.length, bare.length,
    )  # fmt: skip


def _beside(line: Line, pieces: Sequence[Piece], gap: float) -> tuple[int, int]:
    """Return which pieces a joint lies between."""
    way, middle = _way(line), (np.array(line[0]) + line[1]) / 2
    off = (gap + AHEAD) * np.array([-way[1], way[0]])
    whole = [Polygon(one.outline.exterior) for one in pieces]
    first, second = sorted(
        int(np.argmin(shapely.distance(whole, shapely.Point(middle + sign * off)))) for sign in (1, -1)
    )
    return first, second


def _apart(board: Board, straps: Sequence[Piece]) -> None:
    """Raise where straps lie in pieces or in one another, by the boolean kernel."""
    if not straps:
        return
    every, whole = united(one.solid for one in straps), united(one.solid for one in board.pieces)
    shared = (every ^ whole).volume + sum(one.solid.volume for one in straps) - every.volume
    if shared > OUTSIDE:
        raise GeometryError(f"{shared * 1e6:.3f} ml of straps would lie in the board or in other straps: none is given")


def _said(one: Backed) -> str:
    """Return in words how much of a joint nothing lies behind."""
    first, second = one.between
    joint = f"the joint of {first} and {second} is {one.length_m * 1000:.0f} mm long"
    if not one.straps:
        return f"{joint}, and no strap has room behind it: back it by other means"
    return f"{joint}, and nothing lies behind {one.bare_m * 1000:.0f} mm of it: a strap has no room there"


def _heavy(strap: Piece, most: float) -> str:
    """Return in words that a strap weighs more than a piece may: it is not parted as the board is."""
    return f"{strap.letter} weighs {strap.mass_kg:.2f} kg, {most:g} kg is the most: have it thinner or less broad"


def _way(line: Line) -> Floats:
    """Return the way that a line runs, of unit length."""
    way: Floats = np.subtract(line[1], line[0]) / math.dist(*line)
    return way


def _off(spot: Spot, line: Line) -> float:
    """Return how far a spot lies to the left of a line, which goes on without end."""
    (x, y), (c, s) = np.subtract(spot, line[0]), _way(line)
    return float(c * y - s * x)


def _longer(line: Line, by: float) -> LineString:
    """Return a line with so much more at each end."""
    way = by * _way(line)
    return LineString([line[0] - way, line[1] + way])


def _strip(line: Line, breadth: float, beyond: float) -> Polygon:
    """Return the strip along a line, and so far beyond each of its ends."""
    return shapely.buffer(_longer(line, beyond), breadth / 2, cap_style="flat")


def _mirrored(area: BaseGeometry, line: Line) -> BaseGeometry:
    """Return an area mirrored on a line."""
    (c, s), (x, y) = _way(line), line[0]
    a, b = c * c - s * s, 2 * c * s
    return shapely.affinity.affine_transform(area, [a, b, b, -a, x - a * x - b * y, y - b * x + a * y])
