"""Cheeks: upright boards that hold the ends of treads, from the sole to the highest, cut to the sides."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely import LineString, Polygon

from tapeloft.model.climbing.treads import Side
from tapeloft.model.compartment import Compartment
from tapeloft.model.cutting.board import Cut, Piece, board_at
from tapeloft.model.cutting.plane import Plane, at_half_breadth, at_station
from tapeloft.model.errors import GeometryError

ALIKE = 1e-4  # m: ends of treads that are so near to one plane stand in it
HAIR = 1e-5  # m in from an end, where it is looked at how long it is
WHOLE = 0.95  # of a tread's end: what a gap leaves of it
HALF = 0.5  # of a tread's end: what is to be held of it
ENDS = {True: ("aft", "forward"), False: ("starboard", "port")}  # of an edge that runs fore and aft, or athwartships


@dataclass(frozen=True, eq=False)
class Tread:
    """A tread as a cheek meets it: its name, its outline and nosing in the side's axes, upper face and thickness, m."""

    name: str
    outline: Polygon
    nosing: float
    height: float
    thickness: float


@dataclass(frozen=True, eq=False)
class Cheek:
    """A cheek: its name, pieces and plane; *thickness* m toward its normal.

    far: whether treads meet the face that looks against the normal. ends: of each tread that it holds, by name, the
    end as it meets the cheek: an outline in the plane's axes.
    """

    name: str
    pieces: tuple[Piece, ...]
    plane: Plane
    thickness: float
    far: bool
    ends: tuple[tuple[str, Polygon], ...]


def cheeks_of(
    compartment: Compartment, side: Side, treads: Sequence[Tread], sole: float, thickness: float, cut: Cut,
    density: float,
) -> tuple[tuple[Cheek, ...], tuple[str, ...]]:  # fmt: skip
    """Return the cheeks of treads on a side of a fall, *thickness* m, kg/m³, and remarks on ends that have none.

    One stands against either end, where the treads end in one plane and there is room for it; before a tread it goes no
    farther than the nosings under it, so that it stands clear of whoever climbs. Raises nothing.
    """
    found, notes = list[Cheek](), list[str]()
    for number, name in enumerate(ENDS[side.away[0] == 0]):
        ends = [one.outline.bounds[2 * number] for one in treads]
        if np.ptp(ends) > ALIKE:
            notes.append(f"no cheek at the {name} end: the treads do not end in one plane there")
            continue
        try:
            found.append(_cheek(compartment, side, treads, sole, thickness, cut, density, number))
        except GeometryError as error:
            notes.append(f"no cheek at the {name} end: {str(error).splitlines()[0]}")
    return tuple(found), tuple(notes)


def _cheek(
    compartment: Compartment, side: Side, treads: Sequence[Tread], sole: float, thickness: float, cut: Cut,
    density: float, number: int,
) -> Cheek:  # fmt: skip
    name = ENDS[side.away[0] == 0][number]
    fore_and_aft = side.away[0] == 0
    end = treads[0].outline.bounds[2 * number]
    along = side.start[0 if fore_and_aft else 1] + end - (0 if number else thickness)
    plane = at_station(along) if fore_and_aft else at_half_breadth(along)

    def seen(low: float, high: float, foot: float, top: float) -> Polygon:
        """Return what lies so far behind the opening's edge, and at these heights, in the plane's axes."""
        behind = [(*(np.array(side.start) + np.array(side.away) * far).tolist(), 0.0) for far in (low, high)]
        (a, _, _), (b, _, _) = plane.spots(np.array(behind)).tolist()
        return shapely.box(min(a, b), foot, max(a, b), top)

    spans = [_end(one.outline, end + (-HAIR if number else HAIR)) for one in treads]
    deep = max(high for _, high in spans)
    within = shapely.simplify(shapely.union_all([seen(one.nosing, deep, sole, one.height) for one in treads]), 0.0)
    ends = [
        (one.name, seen(*span, one.height - one.thickness, one.height)) for one, span in zip(treads, spans, strict=True)
    ]
    board = board_at(compartment, plane, thickness, cut, density, within=within)
    holding = [one for one in board.pieces if any(one.outline.intersection(end).area > 0 for _, end in ends)]
    if not holding:
        raise GeometryError("nothing of it would meet a tread")
    names = [f"cheek {name}" if len(holding) == 1 else f"cheek {name} {one.letter}" for one in holding]
    pieces = tuple(replace(one, letter=called) for one, called in zip(holding, names, strict=True))
    return Cheek(f"cheek {name}", pieces, plane, thickness, bool(number), tuple(ends))


def _end(outline: Polygon, at: float) -> tuple[float, float]:
    """Return from where to where behind the edge a tread's end runs, m."""
    _, low, _, high = outline.bounds
    line = shapely.intersection(outline, LineString([(at, low - 1), (at, high + 1)]))
    return line.bounds[1], line.bounds[3]


def shares(cheek: Cheek) -> list[tuple[str, float]]:
    """Return what share of each end a cheek meets, by the tread's name."""
    every = shapely.union_all([one.outline for one in cheek.pieces])
    return [(name, every.intersection(end).area / end.area) for name, end in cheek.ends]


def shares_told(cheek: Cheek) -> list[str]:
    """Return remarks on the ends that a cheek does not meet all along."""
    return [
        f"{cheek.name} holds {share * 100:.0f} % of the end of {name}" for name, share in shares(cheek) if share < WHOLE
    ]


def ends_held(cheeks: Sequence[Cheek]) -> Counter[str]:
    """Return by how many ends cheeks hold each tread: over half of an end is held."""
    return Counter(name for one in cheeks for name, share in shares(one) if share > HALF)
