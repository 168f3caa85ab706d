"""Pieces laid out on sheets, true to their outlines, a saw's kerf between them and round the edge.

The places are sought by spyrrow, in a strip as broad as a sheet; whatever it finds is held here before it is given:
every piece within its sheet, a kerf from the edge and from every other. It is sought, not proved to be the best.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import shapely
from shapely import Polygon
from shapely.affinity import rotate, translate

from tapeloft.model.errors import GeometryError

Turns = tuple[float, ...]
ANY: Turns = (0.0, 90.0, 180.0, 270.0)
ALONG: Turns = (0.0, 180.0)
ACROSS: Turns = (90.0, 270.0)
SMALLEST, LARGEST = 0.05, 20.0  # m, of a sheet
WIDEST = 0.05  # m, of a kerf
PER_METRE = 1000.0  # the library counts in single precision: in millimetres that is a ten-thousandth
SLACK = 0.1  # mm that pieces are grown by beyond the kerf, for that precision and for simplifying
SECONDS, MANY = 1, 8  # that a layout is sought for, twice as long where there are more pieces than that
NEAR = 1e-6  # m: what a kerf may lack by rounding
FURTHER = 3  # pieces that are tried beyond the first that does not go on


@dataclass(frozen=True)
class Sheet:
    """A sheet as it is sold: length and breadth, m; the grain runs along its length."""

    length: float
    breadth: float


@dataclass(frozen=True, eq=False)
class Placed:
    """A piece on a sheet: its outline there, m from the sheet's corner; turned so, degrees, then shifted, m."""

    piece: str
    outline: Polygon
    turn_deg: float
    shift_m: tuple[float, float]


@dataclass(frozen=True, eq=False)
class Filled:
    """A sheet with what is cut from it; offcut: the share of it that is left, kerfs with it."""

    sheet: Sheet
    placed: tuple[Placed, ...]
    offcut: float


@dataclass(frozen=True, eq=False)
class Nest:
    """Sheets with all the pieces on them; at_least: by their area no fewer of the largest of the sheets would do."""

    sheets: tuple[Filled, ...]
    at_least: int
    offcut: float


def nested(pieces: Sequence[tuple[str, Polygon]], sheets: Sequence[Sheet], kerf: float, turns: Turns) -> Nest:
    """Return pieces, by name and outline, m, laid out on as few sheets of the given sizes as are found.

    kerf: m. turns: that a piece may be laid in, degrees; none is ever turned over. Raises GeometryError where a size
    is absurd, or a piece goes on no sheet.
    """
    _sound(pieces, sheets, kerf, turns)
    left = sorted(pieces, key=lambda one: -one[1].area)
    by_size = sorted(sheets, key=lambda one: one.length * one.breadth)
    filled: list[Filled] = []
    while left:
        whole = next((one for sheet in by_size if (one := _laid(left, sheet, kerf, turns))), ())
        fits = [sheet for sheet in by_size if _alone(*left[0], sheet, kerf, turns)]
        sheet = next((one for one in by_size if whole and _holds(whole, one, kerf)), fits[-1])
        filled.append(_told_of(sheet, whole or _some(left, sheet, kerf, turns)))
        on_it = {one.piece for one in filled[-1].placed}
        left = [one for one in left if one[0] not in on_it]
    cut = sum(outline.area for _, outline in pieces)
    largest = max(sheet.length * sheet.breadth for sheet in sheets)
    return Nest(tuple(filled), math.ceil(cut / largest - 1e-9), 1 - cut / sum(map(_size, filled)))


def _sound(pieces: Sequence[tuple[str, Polygon]], sheets: Sequence[Sheet], kerf: float, turns: Turns) -> None:
    for sheet in sheets:
        if not all(SMALLEST <= side <= LARGEST for side in (sheet.length, sheet.breadth)):
            raise GeometryError(f"a sheet of {_told(sheet.length, sheet.breadth)} mm: it has to be 50 to 20000 a side")
    if not 0 <= kerf <= WIDEST:
        raise GeometryError(f"a kerf of {kerf * 1000:g} mm: it has to be 0 to 50 mm")
    for name, outline in pieces:
        if not any(_alone(name, outline, sheet, kerf, turns) for sheet in sheets):
            x0, y0, x1, y1 = outline.bounds
            raise GeometryError(
                f"piece {name}, {_told(x1 - x0, y1 - y0)} mm, goes on no sheet\n    mend: give a larger sheet, let "
                "the grain run any way, or part it with a lighter mass to a piece"
            )


def _told(one: float, other: float) -> str:
    return f"{one * 1000:.0f} × {other * 1000:.0f}"


def _size(one: Filled) -> float:
    return one.sheet.length * one.sheet.breadth


def _told_of(sheet: Sheet, placed: tuple[Placed, ...]) -> Filled:
    cut = sum(one.outline.area for one in placed)
    return Filled(sheet, placed, 1 - cut / (sheet.length * sheet.breadth))


def _some(left: Sequence[tuple[str, Polygon]], sheet: Sheet, kerf: float, turns: Turns) -> tuple[Placed, ...]:
    """Return as many of the pieces, not all, in their order, as are found to go on a sheet, and some that come after.

    The first goes on it.
    """
    best, low, high = _alone(*left[0], sheet, kerf, turns), 1, len(left) - 1
    while low < high:
        middle = (low + high + 1) // 2
        found = _laid(left[:middle], sheet, kerf, turns)
        low, high, best = (middle, high, found) if found else (low, middle - 1, best)
    for piece in left[low + 1 : low + 1 + FURTHER]:
        on_it = {one.piece for one in best}
        best = _laid([one for one in left if one[0] in on_it or one is piece], sheet, kerf, turns) or best
    return best


def _alone(name: str, outline: Polygon, sheet: Sheet, kerf: float, turns: Turns) -> tuple[Placed, ...]:
    """Return the only piece of a sheet in its corner; none where it does not go on it."""
    for turn in turns:
        turned = rotate(outline, turn, origin=(0, 0))
        x0, y0, _, _ = turned.bounds
        placed = (_placed(name, outline, turn, (kerf - x0, kerf - y0)),)
        if _holds(placed, sheet, kerf):
            return placed
    return ()


def _placed(name: str, outline: Polygon, turn: float, shift: tuple[float, float]) -> Placed:
    return Placed(name, translate(rotate(outline, turn, origin=(0, 0)), *shift), turn, shift)


def _laid(pieces: Sequence[tuple[str, Polygon]], sheet: Sheet, kerf: float, turns: Turns) -> tuple[Placed, ...]:
    """Return all of the pieces on one sheet, none where that is not found."""
    if len(pieces) == 1:
        return _alone(*pieces[0], sheet, kerf, turns)
    if sum(outline.area for _, outline in pieces) > sheet.length * sheet.breadth:
        return ()
    import spyrrow

    grown = kerf / 2 * PER_METRE + SLACK
    rings = [(name, _ring(outline, grown)) for name, outline in pieces]
    high = (sheet.breadth - kerf) * PER_METRE
    if any(min(_height(ring, turn) for turn in turns) >= high for _, ring in rings):
        return ()  # what does not go into the strip ends the library
    items = [spyrrow.Item(name, ring, 1, turns) for name, ring in rings]
    seconds = SECONDS * (2 if len(pieces) > MANY else 1)
    strip = spyrrow.StripPackingInstance("sheet", high, items)
    asked = spyrrow.StripPackingConfig(total_computation_time=seconds, num_workers=1, seed=1)
    found = strip.solve(asked)
    by_name = dict(pieces)
    placed = tuple(
        _placed(one.id, by_name[one.id], one.rotation, (at[0] / PER_METRE + kerf / 2, at[1] / PER_METRE + kerf / 2))
        for one in found.placed_items
        for at in [one.translation]
    )
    return placed if _holds(placed, sheet, kerf) else ()


def _ring(outline: Polygon, grown: float) -> list[tuple[float, float]]:
    whole = Polygon([(x * PER_METRE, y * PER_METRE) for x, y in outline.exterior.coords])
    round_it = shapely.simplify(shapely.buffer(whole, grown, join_style="mitre", mitre_limit=2.0), SLACK / 2)
    return [(float(x), float(y)) for x, y in round_it.exterior.coords[:-1]]


def _height(ring: Sequence[tuple[float, float]], turn: float) -> float:
    _, low, _, high = rotate(Polygon(ring), turn, origin=(0, 0)).bounds
    return float(high - low)


def _holds(placed: Sequence[Placed], sheet: Sheet, kerf: float) -> bool:
    """Whether every piece lies in the sheet, a kerf from its edge and from every other piece."""
    inner = shapely.box(kerf - NEAR, kerf - NEAR, sheet.length - kerf + NEAR, sheet.breadth - kerf + NEAR)
    within = all(inner.covers(one.outline) for one in placed)
    return within and all(a.outline.distance(b.outline) >= kerf - NEAR for a, b in combinations(placed, 2))
