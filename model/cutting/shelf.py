"""A shelf cut to the net space at a height: its board, a fiddle on its open edge, and bearers under it."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Literal

import shapely
from shapely import MultiPolygon, Polygon

from tapeloft.model.compartment import Compartment
from tapeloft.model.cutting.beams import Bar, Load, blocks_apart, sag, sound_load, span
from tapeloft.model.cutting.board import OUTSIDE, SLIVER, Board, Cut, board_at, standing
from tapeloft.model.cutting.breadth import least_breadth
from tapeloft.model.cutting.inset import inset, without_necks
from tapeloft.model.cutting.outline import clear_outline, polygons
from tapeloft.model.cutting.passing import Passage, least_width, passages
from tapeloft.model.cutting.plane import Plane, at_height
from tapeloft.model.cutting.sheetstock import SheetStock
from tapeloft.model.cutting.timber import TIMBERS, Timber
from tapeloft.model.cutting.walls import walled
from tapeloft.model.errors import GeometryError
from tapeloft.model.openings import clear_openings
from tapeloft.model.solid import Solid, united

Side = Literal["", "port", "starboard", "forward", "aft"]
TOWARD: dict[Side, tuple[int, int]] = {"port": (1, 1), "starboard": (1, -1), "forward": (0, 1), "aft": (0, -1)}
"""The axis that a side is looked for along, and whether it lies up that axis or down it."""
STRIP = 0.3  # m: the breadth of board that bears a load standing on it; common practice, no source
LEAST, MOST = 0.003, 0.5  # m: sizes of fiddle and bearer
FARTHEST = 20.0  # m
SHORT = 0.9  # of the open edge, that a fiddle along it is no shorter than without a word


@dataclass(frozen=True)
class Shelving:
    """What shelf is asked for, m.

    height: of its upper face. side, depth: the side that it stands against, and how far its straight open edge lies
    from the farthest of it; "" for the whole plan. fiddle: its height over the board and its thickness; height 0 for
    none. bearer: breadth and depth. timber: of all that is sawn; sheet: of the board, None for the same timber.
    """

    height: float
    side: Side = ""
    depth: float = 0.0
    thickness: float = 0.012
    fiddle: tuple[float, float] = (0.040, 0.018)
    bearer: tuple[float, float] = (0.030, 0.030)
    timber: Timber = TIMBERS["teak"]
    load: Load = field(default_factory=lambda: Load(point_kg=10.0, even_kg_m2=100.0))
    sheet: SheetStock | None = None

    @property
    def stock(self) -> Timber | SheetStock:
        """What the board is of."""
        return self.sheet or self.timber


@dataclass(frozen=True, eq=False)
class Strut:
    """A fiddle or a bearer of a shelf: its outline, m, in the plane's axes, its solid in its place, its ways in."""

    name: str
    outline: Polygon
    solid: Solid
    passages: tuple[Passage, ...]


@dataclass(frozen=True, eq=False)
class Shelf:
    """A shelf in its place.

    span_m: between bearers, at most, as the load has it, where the board is broad; spacing_m: as they lie; sag_m: how
    far the board bends at most;
    block_m: between what holds a bearer up, at most. stretch: the axis that the board spans along.
    """

    board: Board
    fiddles: tuple[Strut, ...]
    bearers: tuple[Strut, ...]
    stretch: int
    span_m: float
    spacing_m: float
    sag_m: float
    block_m: float
    mass_kg: float
    outside_m3: float
    notes: tuple[str, ...]


def shelf_at(compartment: Compartment, asked: Shelving, cut: Cut) -> Shelf:
    """Return the shelf that is asked for, in the net space of a compartment.

    Raises GeometryError where a size is absurd, the height misses the space, nothing is left within the gaps, the
    fiddle has no room over the board or no open edge to stand on, or the board spans too little to be borne.
    """
    _sound(asked)
    plane = at_height(asked.height - asked.thickness)
    within = _within(compartment, plane, asked)
    board = board_at(compartment, plane, asked.thickness, cut, asked.stock.density_kg_m3, within=within)
    fiddles, notes = _fiddles(compartment, board, asked, cut) if asked.fiddle[0] else ((), ())
    most = span(_strip_of(STRIP, asked), asked.load, STRIP)
    if most < 2 * asked.bearer[0]:
        what = f"under such a load a board {asked.thickness * 1000:g} mm thick spans {most * 1000:.0f} mm"
        raise GeometryError(f"{what}\n    mend: give a thicker board, a stiffer one, or a lighter load")
    stretch = _stretch(board, asked)
    bearers, spacing, bends, bare = _bearers(compartment, board, asked, cut, stretch)
    if bare:
        none = "1 bearer finds" if bare == 1 else f"{bare} bearers find"
        notes += (f"{none} no room under most of the board: hang it, or hold it up there by other means",)
    if any(abs(b[stretch] - a[stretch]) > abs(b[1 - stretch] - a[1 - stretch]) for a, b in board.joints):
        notes += ("a joint runs across the bearers: back it between them",)
    under = [*(one.solid for one in bearers), *(one.solid for one in fiddles)]
    outside = (united(under) - compartment.inside).volume
    if outside > OUTSIDE:
        raise GeometryError(f"the shelf would stand {outside * 1e6:.3f} ml outside the space: it is not given")
    mass = asked.timber.density_kg_m3 * sum(one.volume for one in under) + sum(one.mass_kg for one in board.pieces)
    narrowest = min((least_width(one.outline) for one in bearers), default=asked.bearer[0])
    block = blocks_apart(Bar(narrowest, asked.bearer[1], asked.timber), asked.load, spacing, asked.bearer[0])
    return Shelf(
        board, fiddles, bearers, stretch, most, spacing, bends, block, mass, board.outside_m3 + outside,
        (*board.notes, *notes),
    )  # fmt: skip


def _sound(asked: Shelving) -> None:
    sizes = {"bearer's breadth": asked.bearer[0], "bearer's depth": asked.bearer[1]}
    if asked.fiddle[0]:
        sizes |= {"fiddle's height": asked.fiddle[0], "fiddle's thickness": asked.fiddle[1]}
    for name, size in sizes.items():
        if not LEAST <= size <= MOST:
            raise GeometryError(f"a {name} of {size * 1000:g} mm: it has to be 3 to 500 mm")
    if asked.side and not 0 < asked.depth <= FARTHEST:
        raise GeometryError(f"a shelf {asked.depth * 1000:g} mm deep: it has to be more than 0, and less than 20 m")
    sound_load(asked.load, "shelf")


def _within(compartment: Compartment, plane: Plane, asked: Shelving) -> Polygon | None:
    """Return the strip along a side that the shelf keeps to; None for the whole plan."""
    if not asked.side:
        return None
    axis, sign = TOWARD[asked.side]
    clear = clear_outline(compartment.inside, plane, asked.thickness)
    if clear.is_empty:
        return None  # the board says it
    ends = [clear.bounds[axis], clear.bounds[axis + 2]]
    if asked.depth >= ends[1] - ends[0]:
        what = f"a shelf {asked.depth * 1000:g} mm deep from {asked.side} takes the whole plan there"
        raise GeometryError(f"{what}, {(ends[1] - ends[0]) * 1000:.0f} mm\n    mend: give less depth, or no side")
    far = ends[1] if sign > 0 else ends[0]
    low, high = sorted((far - sign * asked.depth, far + sign))
    return _strip(clear, axis, low, high)


def _fiddles(
    compartment: Compartment, board: Board, asked: Shelving, cut: Cut
) -> tuple[tuple[Strut, ...], tuple[str, ...]]:
    """Return the fiddle, in the pieces that it falls into, standing on the open edge."""
    high, thick = asked.fiddle
    if not asked.side:
        what = "a shelf over the whole plan has no open edge for a fiddle"
        raise GeometryError(f"{what}\n    mend: give a side and a depth, or a fiddle of no height")
    axis, sign = TOWARD[asked.side]
    whole = shapely.union_all([one.outline for one in board.pieces])
    edge = whole.bounds[axis] if sign > 0 else whole.bounds[axis + 2]
    band = _strip(whole, axis, *sorted((edge, edge + sign * thick)))
    top = board.plane.shifted(asked.thickness)
    clear = clear_outline(compartment.inside, top, high)
    room = inset(clear, walled(compartment, top, high, clear), cut.gaps) if not clear.is_empty else clear
    asked_for = polygons(shapely.intersection(whole, band))
    found = without_necks(polygons(shapely.intersection(asked_for, room)), thick * 0.9)
    if found.is_empty:
        what = f"a fiddle {high * 1000:g} mm high has no room over the shelf's open edge"
        raise GeometryError(f"{what}\n    mend: give a lower fiddle, or set the shelf lower")
    ordered = sorted(found.geoms, key=lambda one: one.centroid.coords[0][1 - axis])
    bars = _struts("fiddle", ordered, top, high, compartment)
    lacking = asked_for.area - found.area
    notes = () if found.area >= SHORT * asked_for.area else (
        f"the fiddle is {lacking / thick * 1000:.0f} mm shorter than the open edge: the space narrows over the shelf",
    )  # fmt: skip
    return bars, notes


def _stretch(board: Board, asked: Shelving) -> int:
    """Return the axis that the board spans along: along its open edge, or its longer way."""
    if asked.side:
        return 1 - TOWARD[asked.side][0]
    x0, y0, x1, y1 = board.clear.bounds
    return int(y1 - y0 > x1 - x0)


def _bearers(
    compartment: Compartment, board: Board, asked: Shelving, cut: Cut, stretch: int
) -> tuple[tuple[Strut, ...], float, float, int]:
    """Return the bearers, how far apart they lie at most, how far the board bends between them at most, and how many
    find room under less than half the board.
    """
    breadth, deep = asked.bearer
    under = board.plane.shifted(-deep)
    clear = clear_outline(compartment.inside, under, deep)
    room = inset(clear, walled(compartment, under, deep, clear), cut.gaps) if not clear.is_empty else clear
    grown = [shapely.buffer(one.outline, cut.joint, join_style="mitre") for one in board.pieces]
    whole = polygons(shapely.union_all(grown))
    bars: list[Polygon] = []
    spacing, bends, bare = 0.0, 0.0, 0
    for island in whole.geoms:
        pieces = [one.outline for one in board.pieces if one.outline.intersects(island)]
        closed = shapely.buffer(island, -cut.joint, join_style="mitre")  # joints and all
        middles = _middles(pieces, stretch, breadth, asked)
        for a, b in pairwise(middles):
            bearing = _bearing(pieces, stretch, a, b)
            bends = max(bends, sag(_strip_of(bearing, asked), asked.load, bearing, b - a))
            spacing = max(spacing, b - a)
        for at in middles:
            strip = _strip(island, stretch, at - breadth / 2, at + breadth / 2)
            over = polygons(shapely.intersection(closed, strip))
            laid = without_necks(polygons(shapely.intersection(over, room)), breadth * 0.6)
            bare += laid.area < over.area / 2
            bars += laid.geoms
    ordered = sorted(
        bars, key=lambda one: (round(one.centroid.coords[0][stretch], 4), one.centroid.coords[0][1 - stretch])
    )
    return _struts("bearer", ordered, under, deep, compartment), spacing, bends, bare


def _struts(
    name: str, outlines: Sequence[Polygon], plane: Plane, high: float, compartment: Compartment
) -> tuple[Strut, ...]:
    openings = clear_openings(compartment)
    return tuple(
        Strut(
            f"{name} {k}", one, standing(one, plane, high), passages(one, high, openings)
        )
        for k, one in enumerate(outlines, start=1)
    )  # fmt: skip


def _strip_of(breadth: float, asked: Shelving) -> Bar:
    return Bar(breadth, asked.thickness, asked.stock)


def _bearing(pieces: Sequence[Polygon], stretch: int, start: float, end: float) -> float:
    """Return the breadth of board, m, that bears a load between two bearers: of a narrower piece all that there is."""
    over = [one for one in pieces if one.bounds[stretch] < end - SLIVER and start + SLIVER < one.bounds[stretch + 2]]
    return min([STRIP, *(max(least_breadth(one, stretch, start, end), SLIVER) for one in over)])


def _middles(pieces: Sequence[Polygon], stretch: int, breadth: float, asked: Shelving) -> list[float]:
    """Return the middles of bearers: at both ends, under joints across, and between no farther than the board spans."""
    bounds = shapely.union_all(pieces).bounds
    low, high = bounds[stretch] + breadth / 2, bounds[stretch + 2] - breadth / 2
    if high <= low:
        return [(low + high) / 2]
    stops = [low, *_joints(pieces, stretch, low, high), high]
    middles = [low]
    for start, end in pairwise(stops):
        bearing = _bearing(pieces, stretch, start, end)
        most = span(_strip_of(bearing, asked), asked.load, bearing)
        parts = max(1, math.ceil((end - start) / most - 1e-9))
        middles += [start + (end - start) * k / parts for k in range(1, parts + 1)]
    return middles


def _joints(pieces: Sequence[Polygon], stretch: int, low: float, high: float) -> Iterator[float]:
    """Yield the middles of the joints across the stretch, in order."""
    ends = sorted({round(one.bounds[stretch + 2], 5) for one in pieces})
    starts = sorted({round(one.bounds[stretch], 5) for one in pieces})
    for end in ends:
        following = next((start for start in starts if 0 <= start - end < 0.03), None)
        if following is not None and low < (end + following) / 2 < high:
            yield (end + following) / 2


def _strip(area: Polygon | MultiPolygon, axis: int, low: float, high: float) -> Polygon:
    x0, y0, x1, y1 = area.bounds
    return shapely.box(low, y0 - 1, high, y1 + 1) if axis == 0 else shapely.box(x0 - 1, low, x1 + 1, high)
