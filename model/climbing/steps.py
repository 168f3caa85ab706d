"""Steps from a sole to the lid over it: a comfortable flight, clear of the fall, with head room; or why none is.

What is asked of a flight, and in this order:

- Rises: equal, within what is comfortable, from the sole to the lip of the lid over the treads. A flat, level top of
  what stands there is a step where it comes at a height of the flight, to within how much rises may differ.
- Treads: every one on the same side of the fall, behind its nosing: nosings stand in the plane of the opening's edge,
  or so far within the fall as is asked for. Deep and wide enough for a foot, one above another.
- Head room: over the sole and over every step an upright column, as large as a person from above, turned any way, goes
  up from there through the opening, before the nosing. It is held against the net solid with the opening cut out of the
  deck.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import shapely

from tapeloft.model.climbing.cheeks import Cheek, Tread, cheeks_of, ends_held, shares_told
from tapeloft.model.climbing.floor import Floor, floor_of
from tapeloft.model.climbing.tops import Top
from tapeloft.model.climbing.treads import AHEAD, FASTENED, WAYS, Laid, Side, deepest, widest
from tapeloft.model.climbing.trying import Found, Ground, Shortfall, nosing_of, passed_over, tried
from tapeloft.model.climbing.wanted import Wanted, hold
from tapeloft.model.compartment import Compartment
from tapeloft.model.cutting.board import Cut, Piece, letters, outside, piece_of
from tapeloft.model.cutting.inset import relieved
from tapeloft.model.cutting.plane import Plane, at_height
from tapeloft.model.errors import GeometryError
from tapeloft.model.fall import Fall
from tapeloft.model.openings import clear_openings

HIGHEST = 10.0  # m, of sole to lip
SHIP = (0.457, 50.0, 70.0)  # 29 CFR 1910.25(e)(1) and (4): ship stairs are 18 in wide, and slope from 50° to 70°


@dataclass(frozen=True, eq=False)
class Step:
    """A step, by rising height, m: a tread, or the top of what stands there (piece None).

    depth, width: of the largest place behind the nosing that is as wide, or as deep, as was asked for at least. stand:
    where a person stands over it, x, y, m in the compartment; turned: degrees off facing it. below_lip: m.
    """

    height: float
    name: str
    piece: Piece | None
    plane: Plane
    depth: float
    width: float
    stand: tuple[float, float]
    turned: int
    below_lip: float


@dataclass(frozen=True, eq=False)
class Steps:
    """A flight of steps; without any where none is wanted, or none works (then shortfalls say why, one a side).

    rises: least and most, m. into_m: how far the lowest nosing stands within the fall. cheeks: those asked for. asides:
    what helps to understand the flight, beside notes on what to look at again.
    """

    fall: Fall
    side: str
    sole: float
    lip: float
    rises: tuple[float, float]
    steps: tuple[Step, ...]
    into_m: float
    outside_m3: float
    shortfalls: tuple[Shortfall, ...]
    notes: tuple[str, ...]
    cheeks: tuple[Cheek, ...] = ()
    asides: tuple[str, ...] = ()

    @property
    def boards(self) -> tuple[Piece, ...]:
        """The treads, by rising height."""
        return tuple(one.piece for one in self.steps if one.piece is not None)


def steps_in(
    compartment: Compartment, fall: Fall, wanted: Wanted, cut: Cut, side: str | None = None, sole: float | None = None
) -> Steps:
    """Return the steps under a lid: on a named side of its fall, or on the best; from a height *sole*, m, or from
    what is under the lid.

    Of flights that work, those with the fewest boards are taken, then those whose boards lie along walls, then the
    deepest. Raises GeometryError where a size is absurd, or nothing to stand on lies under the lid.
    """
    hold(wanted)
    floor = floor_of(compartment, fall, wanted.load_kg) if sole is None else Floor(sole)
    start = floor.height
    if not 0 < fall.lip - start <= HIGHEST:
        what = f"from {start * 1000:.0f} to the lip of {fall.name} at {fall.lip * 1000:.0f} mm is no way up"
        raise GeometryError(f"{compartment.name}: {what}\n    mend: give a height below the lid")
    none = Steps(fall, "", start, fall.lip, (math.nan, math.nan), (), 0.0, 0.0, (), floor.notes)
    rise = fall.lip - start
    if rise <= wanted.comfort.most:
        said = f"no step is wanted: from the sole to the lip is one rise of {rise * 1000:.0f} mm"
        return replace(none, rises=(rise, rise), notes=(*floor.notes, said))
    ground = Ground(compartment, fall, wanted, cut, start)
    names = list(WAYS) if side is None else [side]
    found = tried(ground, names)
    if not isinstance(found, Found):
        return replace(none, shortfalls=tuple(found))
    return _made(ground, found, replace(none, asides=tuple(passed_over(ground, names, found))))


def _made(ground: Ground, found: Found, none: Steps) -> Steps:
    wanted, count = ground.wanted, len(found.rises.levels)
    names = iter(letters(len(found.boards)))
    lip = ground.fall.lip_toward(found.side.away)
    steps = []
    for height, tread, stand in zip(found.rises.levels, found.treads, found.stands[1:], strict=True):
        plane = at_height(height - wanted.thickness)
        piece = _board(ground, next(names), found.side, tread, height, plane) if isinstance(tread, Laid) else None
        area = found.side.seen(tread.plan if isinstance(tread, Top) else piece.outline if piece else tread.outline)
        nosing = max(area.bounds[1], -AHEAD) if isinstance(tread, Top) else tread.nosing
        depth, width = deepest(area, nosing, wanted.least[0], 3.0), widest(area, nosing, wanted.least[1], 3.0)
        name = tread.name if isinstance(tread, Top) else f"tread {piece.letter if piece else ''}"
        steps.append(Step(height, name, piece, plane, depth, width, _placed(found.side, stand.at), stand.heading,
                          lip - height))  # fmt: skip
    cheeks, said = _cheeks(ground, found, steps, none.sole)
    pieces = [one.piece for one in steps if one.piece is not None] + [piece for one in cheeks for piece in one.pieces]
    lost = outside(ground.compartment, pieces) if pieces else 0.0
    return replace(
        none, side=found.side.name, lip=lip, rises=(found.rises.least, found.rises.most), steps=tuple(steps),
        into_m=abs(nosing_of(wanted, 0, count)), outside_m3=lost, cheeks=cheeks,
        notes=(*none.notes, *_remarks(found, steps, wanted), *_loose(found, steps, cheeks, wanted), *said),
        asides=(*none.asides, *(note for one in cheeks for note in shares_told(one))),
    )  # fmt: skip


def _cheeks(
    ground: Ground, found: Found, steps: Sequence[Step], sole: float
) -> tuple[tuple[Cheek, ...], tuple[str, ...]]:
    wanted, side = ground.wanted, found.side
    treads = [
        Tread(step.name, side.seen(step.piece.outline).geoms[0], laid.nosing, step.height, wanted.thickness)
        for step, laid in zip(steps, found.treads, strict=True)
        if step.piece is not None and isinstance(laid, Laid)
    ]
    if wanted.cheeks is None or not treads:
        return (), ()
    density = wanted.timber.density_kg_m3
    return cheeks_of(ground.compartment, side, treads, sole, wanted.cheeks, ground.cut, density)


def _board(ground: Ground, letter: str, side: Side, tread: Laid, height: float, plane: Plane) -> Piece:
    cut = relieved(side.placed(tread.outline), ground.cut.cutter)
    outline = max(cut.geoms, key=lambda one: one.area)
    openings, sawn = clear_openings(ground.compartment), ground.wanted.timber.density_kg_m3
    walls = ground.room(height)[1]
    return piece_of(letter, outline, plane, ground.wanted.thickness, walls, ground.cut.gaps, openings, sawn)


def _placed(side: Side, at: tuple[float, float]) -> tuple[float, float]:
    x, y = shapely.transform(shapely.Point(at), lambda points: points @ side.rows + side.start).coords[0]
    return float(x) + 0.0, float(y) + 0.0


def _loose(found: Found, steps: Sequence[Step], cheeks: Sequence[Cheek], wanted: Wanted) -> list[str]:
    """Return remarks on the treads that neither a wall holds nor a cheek at either end."""
    held, said = ends_held(cheeks), []
    boards = [step.name for step in steps if step.piece is not None]
    loose = [name for name, one in zip(boards, found.boards, strict=True) if one.held < FASTENED]
    none = ", ".join(name for name in loose if not held[name])
    if none:
        mend = "give it cheeks, or more depth" if wanted.cheeks is None else "give it more depth"
        said.append(f"{none}: no wall at hand holds it: {mend}, or let it stand in the fall")
    single = ", ".join(name for name in loose if held[name] == 1)
    if single:
        said.append(f"{single}: a cheek holds it at one end, no wall at hand at the other: hold that too")
    return said


def _remarks(found: Found, steps: list[Step], wanted: Wanted) -> list[str]:
    said = []
    narrow = [one.name for one in steps if one.width < SHIP[0] - 1e-3]
    if narrow:
        said.append(f"narrower than the {SHIP[0] * 1000:.0f} mm of ship stairs: {', '.join(narrow)}")
    if wanted.going:
        slope = math.degrees(math.atan2(found.rises.least, wanted.going))
        blend = (wanted.going + found.rises.least + found.rises.most) * 1000
        said.append(
            f"it slopes {slope:.0f}° (ship stairs {SHIP[1]:.0f}° to {SHIP[2]:.0f}°); going and two rises are "
            f"{blend:.0f} mm (stairs on machinery, ISO 14122-3: 600 to 660)"
        )
    return said
