"""A board cut from the net space at a plane: its pieces, their edges and bevels, proved to lie in the space."""

import math
import string
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely
from shapely import MultiPolygon, Polygon

from tapeloft.model.compartment import Compartment
from tapeloft.model.cutting.inset import Gaps, inset, relieved, without_necks
from tapeloft.model.cutting.outline import clear_outline, polygons
from tapeloft.model.cutting.passing import Passage, least_width, passages, widest
from tapeloft.model.cutting.plane import Plane
from tapeloft.model.cutting.splitting import Lacking, Line, Parted, parted, straight_cuts
from tapeloft.model.cutting.walls import Spot, Walled, walled
from tapeloft.model.errors import GeometryError
from tapeloft.model.openings import ClearOpening, clear_openings
from tapeloft.model.solid import Solid, prism, united

OUTSIDE = 1e-9  # m³: a cubic millimetre, what a part may have outside the space by rounding
THINNEST, THICKEST = 0.0005, 0.2  # m, of a board
SLIVER = 0.04  # m: no piece of a parted board is narrower
FARTHEST = 0.5  # m, of a gap
PLYWOOD = 600.0  # kg/m³: hardwood plywood is sold at 500 to 700, common practice, no source
LIGHTEST, DENSEST = 20.0, 9000.0  # kg/m³: from foam to metal
KEPT = 1e-4  # m: an edge so near its gap keeps it
NO_JOINTS = "none of the joints that were tried does, straight and all one way"
WHOLE = "it is drawn whole, and will not do as it is"
WAYS = {"forward face": ("forward", "aft"), "upper face": ("up", "down"), "port face": ("to port", "to starboard")}
CORNER = math.cos(math.radians(25))


@dataclass(frozen=True)
class Cut:
    """How a board is cut: gaps, cutter's radius in inside corners, narrowest web, the gap of a joint; m.

    heaviest: kg that a piece may weigh.
    """

    gaps: Gaps = field(default_factory=Gaps)
    cutter: float = 0.003
    web: float = 0.02
    joint: float = 0.002
    heaviest: float = math.inf


@dataclass(frozen=True)
class Edge:
    """An edge of a piece, as long as one wall faces it without a corner, m, in the plane's axes; wall "" at a joint.

    line: (n, 2), material to the left. bevel: degrees off square, least and most, that the wall stands at; positive
    where the board might be wider on the face that the plane looks to.
    """

    line: tuple[tuple[float, float], ...]
    wall: str
    bevel: tuple[float, float]


@dataclass(frozen=True, eq=False)
class Piece:
    """A piece of a board: its outline, m, in the plane's axes; its solid, in the compartment's.

    passages: how it goes straight in, by opening; none where no opening is known to let it in. mass_kg: dry.
    """

    letter: str
    outline: Polygon
    solid: Solid
    edges: tuple[Edge, ...]
    passages: tuple[Passage, ...]
    mass_kg: float

    @property
    def size(self) -> tuple[float, float]:
        """Its length and breadth along the plane's axes, m."""
        x0, y0, x1, y1 = self.outline.bounds
        return x1 - x0, y1 - y0


@dataclass(frozen=True, eq=False)
class Board:
    """A board in its pieces; plane: of the face that the others are measured from, thickness m toward its normal.

    clear: the largest outline without any gap. outside_m3: what of it lies outside the net space, no more than
    rounding. joints: their middles, m, in the plane's axes. notes: what a person should know before the saw goes in.
    """

    plane: Plane
    thickness: float
    clear: MultiPolygon
    pieces: tuple[Piece, ...]
    joints: tuple[Line, ...]
    outside_m3: float
    notes: tuple[str, ...]


def board_at(
    compartment: Compartment,
    plane: Plane,
    thickness: float,
    cut: Cut,
    density: float = PLYWOOD,
    *,
    clear_of: Sequence[tuple[str, Solid]] = (),
    within: Polygon | None = None,
) -> Board:
    """Return the largest board of a *thickness*, m, that lies in the net space of a compartment on a plane, less gaps.

    density: kg/m³, for what its pieces weigh. clear_of: what else it keeps clear of, as an obstruction, by its name.
    within: m, in the plane's axes, what it goes no farther than; its edges there are open, and have no gap. Raises
    GeometryError where a size is absurd, the plane misses the space, or nothing is left within the gaps.
    """
    _sound(thickness, cut)
    if not LIGHTEST <= density <= DENSEST:
        raise GeometryError(f"a board of {density:g} kg/m³: it has to be {LIGHTEST:g} to {DENSEST:g}")
    clear = clear_outline(compartment.inside.cleared_of([solid for _, solid in clear_of]), plane, thickness)
    if clear.is_empty:
        what = "the board would lie outside the space, or nowhere go through its thickness"
        raise GeometryError(f"{what}\n    mend: {_reach(compartment, plane, thickness)}")
    edges = walled(compartment, plane, thickness, clear, clear_of)
    drawn_in = inset(clear, edges, cut.gaps)
    if within is not None:
        clear, drawn_in = (polygons(shapely.intersection(area, within)) for area in (clear, drawn_in))
    stout = without_necks(drawn_in, cut.web)
    if stout.is_empty:
        what = f"within the gaps nothing is left that is {cut.web * 1000:.0f} mm wide"
        raise GeometryError(f"{what}\n    mend: give less gap, or a narrower web")
    whole, openings = relieved(stout, cut.cutter), clear_openings(compartment)
    found, notes = _parted(whole, thickness, cut, openings, density)
    made = tuple(
        piece_of(name, one, plane, thickness, edges, cut.gaps, openings, density)
        for name, one in zip(letters(len(found.pieces)), _in_order(found.pieces), strict=True)
    )
    lost = drawn_in.area - stout.area
    if lost > cut.web**2:
        notes += (f"{lost * 1e4:.0f} cm² of tongues and necks narrower than {cut.web * 1000:.0f} mm are left off",)
    return Board(plane, thickness, clear, made, found.joints, outside(compartment, made), notes)


def piece_of(
    letter: str,
    outline: Polygon,
    plane: Plane,
    thickness: float,
    walls: Sequence[Walled],
    gaps: Gaps,
    openings: Sequence[ClearOpening],
    density: float = PLYWOOD,
) -> Piece:
    """Return a piece of a board with its solid in place, its edges by their walls, its ways in, its mass."""
    ways = passages(outline, thickness, openings)
    mass = outline.area * thickness * density
    return Piece(letter, outline, standing(outline, plane, thickness), _edges(outline, walls, gaps), ways, mass)


def standing(outline: Polygon, plane: Plane, thickness: float) -> Solid:
    """Return the solid of a piece, where it lies in the compartment."""
    loops = [np.array(ring.coords)[:-1] for ring in (outline.exterior, *outline.interiors)]
    return plane.placed(prism(loops, 0.0, thickness))


def outside(compartment: Compartment, pieces: Sequence[Piece]) -> float:
    """Return how much of some pieces lies outside the net space, m³, by the boolean kernel; raises where it shows."""
    left_over = (united(piece.solid for piece in pieces) - compartment.inside).volume
    if left_over > OUTSIDE:
        raise GeometryError(f"the part would stand {left_over * 1e6:.3f} ml outside the space: it is not given")
    return left_over


def letters(count: int) -> list[str]:
    """Return A to Z, then AA and on.

    >>> letters(28)[-3:]
    ['Z', 'AA', 'AB']
    """
    alphabet = string.ascii_uppercase
    return [alphabet[k] if k < 26 else alphabet[k // 26 - 1] + alphabet[k % 26] for k in range(count)]


def _sound(thickness: float, cut: Cut) -> None:
    gaps = cut.gaps
    if not THINNEST <= thickness <= THICKEST:
        raise GeometryError(f"a board {thickness * 1000:g} mm thick: it has to be 0.5 to 200 mm")
    for name, size in (
        ("gap to the sides", gaps.side), ("gap to the ends", gaps.end), ("gap to obstructions", gaps.obstruction),
        ("cutter's radius", cut.cutter), ("web", cut.web), ("joint", cut.joint),
    ):  # fmt: skip
        if not 0 <= size <= FARTHEST:
            raise GeometryError(f"a {name} of {size * 1000:g} mm: it has to be 0 to 500 mm")
    sound_limit(cut.heaviest)


def sound_limit(heaviest: float) -> None:
    """Raise where no piece could weigh so little."""
    if not heaviest > 0:
        raise GeometryError(f"pieces of {heaviest:g} kg at most: no piece weighs nothing\n    mend: give a mass over 0")


def kept_to(width: float, heaviest: float, mass: Callable[[Polygon], float]) -> Lacking:
    """Return what says of a piece that it is too wide to go in, m, or too heavy, kg; mass: of a piece, kg."""

    def lacks(piece: Polygon) -> str:
        wide = least_width(piece)
        if wide > width:
            return (
                f"a piece {wide * 1000:.0f} mm wide goes in through no opening, {width * 1000:.0f} mm is the most there"
            )
        if math.isfinite(heaviest) and mass(piece) > heaviest:
            return f"a piece of {wide * 1000:.0f} mm's width weighs {mass(piece):.2f} kg, {heaviest:g} kg is the most"
        return ""

    return lacks


def _reach(compartment: Compartment, plane: Plane, thickness: float) -> str:
    """Return in words which way a plane that misses has to go, and how far."""
    ends = plane.seen(compartment.net).bounds[:, 2] - [0.0, thickness]
    low, high = (ends * 1000).round(3).tolist()
    onward, back = WAYS[plane.face]
    if low > 0:
        return f"set it {math.ceil(low)} to {math.floor(high)} mm farther {onward}"
    if high < 0:
        return f"set it {math.ceil(-high)} to {math.floor(-low)} mm farther {back}"
    return f"the space goes {math.floor(-low)} mm farther {back}, and {math.floor(high)} mm farther {onward}"


def _parted(
    whole: MultiPolygon, thickness: float, cut: Cut, openings: Sequence[ClearOpening], density: float
) -> tuple[Parted, tuple[str, ...]]:
    """Return a board in its pieces, whole where no joints do, and what there is to say of that."""
    most = widest(thickness, openings) if openings else math.inf
    notes: tuple[str, ...] = (
        () if openings else ("no opening is in the survey: whether the pieces go in through the lid is not known",)
    )
    lacks = kept_to(most, cut.heaviest, lambda piece: piece.area * thickness * density)
    found = parted(whole, straight_cuts(whole, lacks), lacks, cut.joint, max(cut.web, SLIVER), cut.web)
    if not found.pieces:
        return Parted(tuple(whole.geoms), found.why), (*notes, f"{NO_JOINTS}: {found.why}; {WHOLE}")
    if len(found.pieces) > len(whole.geoms):
        least = sum(2 if one.interiors or lacks(one) else 1 for one in whole.geoms)
        notes += (_why_parted(whole, len(found.pieces), least, cut, bool(openings)),)
    return found, notes


def _why_parted(whole: MultiPolygon, count: int, least: int, cut: Cut, known: bool) -> str:
    """Return why a board is in so many pieces; *least*: no fewer can be, as each that lacks something is parted."""
    why = [
        "goes in" if known else "",
        f"weighs no more than {cut.heaviest:g} kg" if math.isfinite(cut.heaviest) else "",
        "goes round what stands through it" if any(one.interiors for one in whole.geoms) else "",
    ]
    so_that = " and ".join(filter(None, why))
    fewest = "and no fewer do" if count == least else "the fewest of the straight joints tried"
    return f"it is parted into {count}, {fewest}, so that every piece {so_that}"


def _in_order(pieces: Sequence[Polygon]) -> list[Polygon]:
    return sorted(pieces, key=lambda one: (round(one.centroid.x, 3), round(one.centroid.y, 3)))


def _edges(outline: Polygon, walls: Sequence[Walled], gaps: Gaps) -> tuple[Edge, ...]:
    near = shapely.STRtree([shapely.LineString([w.start, w.end]) for w in walls])
    found: list[Edge] = []
    for ring in (outline.exterior, *outline.interiors):
        own: list[Edge] = []
        for a, b in zip(ring.coords[:-1], ring.coords[1:], strict=True):
            edge = _faced((float(a[0]), float(a[1])), (float(b[0]), float(b[1])), walls, near, gaps)
            own.append(_joined(own.pop(), edge) if own and _goes_on(own[-1], edge) else edge)
        if len(own) > 1 and _goes_on(own[-1], own[0]):  # a ring may begin amidst an edge
            own[0] = _joined(own.pop(), own[0])
        found += own
    return tuple(found)


def _faced(a: Spot, b: Spot, walls: Sequence[Walled], near: shapely.STRtree, gaps: Gaps) -> Edge:
    """Return an edge with the wall that it keeps its gap to; none at a joint, a relief, or where a tongue was."""
    middle = shapely.Point((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)
    wall = walls[int(near.nearest(middle))]
    off = shapely.distance(middle, shapely.LineString([wall.start, wall.end]))
    if off > gaps.of(wall.kind) * 1.01 + KEPT:
        return Edge((a, b), "", (0.0, 0.0))
    return Edge((a, b), wall.wall, (round(wall.bevel, 1) + 0.0,) * 2)


def _joined(last: Edge, edge: Edge) -> Edge:
    bevels = (*last.bevel, *edge.bevel)
    return Edge((*last.line, *edge.line[1:]), edge.wall, (min(bevels), max(bevels)))


def _goes_on(last: Edge, edge: Edge) -> bool:
    """Whether an edge goes on with the same wall, and with no corner that a saw would see."""
    before, after = np.subtract(last.line[-1], last.line[-2]), np.subtract(edge.line[1], edge.line[0])
    along = float(before @ after) / (math.hypot(*before) * math.hypot(*after))
    return last.wall == edge.wall and along > CORNER
