"""Flights of steps tried on the sides of a fall: the best that works, or what each side lacks."""

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import shapely
from shapely import MultiPolygon
from shapely.geometry.base import BaseGeometry

from tapeloft.model.climbing.person import Middles, Stand, largest_share, middles, stand_among
from tapeloft.model.climbing.rises import Rises, flights, off_by
from tapeloft.model.climbing.tops import Top, tops_of
from tapeloft.model.climbing.treads import (
    AHEAD,
    FASTENED,
    NEAR,
    Laid,
    Side,
    deepest,
    feet_on,
    laid,
    longest,
    places,
    shared,
    side_of,
)
from tapeloft.model.climbing.wanted import Wanted
from tapeloft.model.compartment import Compartment
from tapeloft.model.cutting.board import KEPT, Cut
from tapeloft.model.cutting.inset import inset, without_necks
from tapeloft.model.cutting.outline import clear_outline
from tapeloft.model.cutting.plane import at_height
from tapeloft.model.cutting.walls import Walled, walled
from tapeloft.model.fall import Fall, opened

ENOUGH = 0.20  # m of depth, beyond which a tread is no better for more


@dataclass(frozen=True)
class Shortfall:
    """What keeps a flight on a side from working, the nearest that was tried: by how much, m, or what share is left."""

    side: str
    what: str
    by_m: float | None = None
    share: float | None = None


@dataclass(frozen=True, eq=False)
class Found:
    """A flight that works: on which side, its rises, treads by rising height, and where a person stands over each.

    stands: the first is on the sole. least: the width of a tread that was asked for, m.
    """

    side: Side
    rises: Rises
    treads: tuple[Laid | Top, ...]
    stands: tuple[Stand, ...]
    least: float

    @property
    def width(self) -> float:
        """Of the board with the narrowest room for feet, m."""
        return min((self.least + longest(one.along) for one in self.boards), default=math.inf)

    @property
    def boards(self) -> list[Laid]:
        """The treads that are boards."""
        return [one for one in self.treads if isinstance(one, Laid)]

    @property
    def key(self) -> tuple[float, ...]:
        """The less, the better: boards that no wall holds, narrow ones, shallow ones, much wood, far from mid-edge."""
        loose = sum(one.held < FASTENED for one in self.boards)
        depth = min((one.outline.bounds[3] - one.nosing for one in self.boards), default=0.0)
        x0, _, x1, _ = self.boards[0].outline.bounds if self.boards else (0.0, 0.0, 0.0, 0.0)
        wood = sum(one.outline.area for one in self.boards)
        return loose, -round(self.width, 3), -round(min(depth, ENOUGH), 3), round(wood, 3), abs(round(x0 + x1, 4))


class _Missed(Exception):
    """A flight fails: how many conditions held before, and what is to be told, worked out only if it is."""

    def __init__(self, held: int, told: Callable[[], Shortfall]) -> None:
        super().__init__()
        self.held, self.told = held, told


def nosing_of(wanted: Wanted, number: int, count: int) -> float:
    """Return how far the nosing of a step, counted from the lowest, 0, lies behind the opening's edge, m: 0 or less."""
    return 0.0 - wanted.into - wanted.going * (count - 1 - number)


class Ground:
    """What flights are tried in; what they share is worked out once."""

    def __init__(self, compartment: Compartment, fall: Fall, wanted: Wanted, cut: Cut, sole: float) -> None:
        self.compartment, self.fall, self.wanted, self.cut, self.sole = compartment, fall, wanted, cut, sole
        self.open = opened(compartment.inside, [fall])
        self.tops = {(one.height, one.name): one for one in tops_of(compartment)}
        self._rooms: dict[float, tuple[MultiPolygon, tuple[Walled, ...]]] = {}
        self._columns: dict[float, BaseGeometry] = {}
        self._middles: dict[tuple[str, float, float], Middles] = {}

    def room(self, height: float) -> tuple[MultiPolygon, tuple[Walled, ...]]:
        """Return where a tread at a height may lie, gaps taken off, and the walls of its clear outline."""
        if height not in self._rooms:
            thick = self.wanted.thickness
            plane = at_height(height - thick)
            clear = clear_outline(self.compartment.inside, plane, thick)
            edges = walled(self.compartment, plane, thick, clear)
            self._rooms[height] = without_necks(inset(clear, edges, self.cut.gaps), self.cut.web), edges
        return self._rooms[height]

    def along_walls(self, height: float) -> BaseGeometry:
        """Return the strips along the sides and ends of the compartment in which an edge keeps its gap to them."""
        edges = [one for one in self.room(height)[1] if one.kind != "obstruction"]
        lines = shapely.MultiLineString([(one.start, one.end) for one in edges])
        return shapely.buffer(lines, max(self.cut.gaps.side, self.cut.gaps.end) * 1.01 + KEPT)

    def before(self, side: Side, height: float, nosing: float) -> BaseGeometry:
        """Return where before a nosing it is clear from a height up through the opening, side's axes."""
        if height not in self._columns:
            clear = clear_outline(self.open, at_height(height), self.fall.lip - height)
            self._columns[height] = shapely.intersection(clear, self.fall.plan)
        return shapely.intersection(side.seen(self._columns[height]), shapely.box(-9.0, -9.0, 9.0, nosing))

    def middles(self, side: Side, height: float, nosing: float) -> Middles:
        """Return where a person's middle may be before a nosing, by heading."""
        key = side.name, height, nosing
        if key not in self._middles:
            self._middles[key] = middles(self.before(side, height, nosing), self.wanted.person)
        return self._middles[key]


def tried(ground: Ground, names: Sequence[str]) -> Found | list[Shortfall]:
    """Return the best flight on any of the sides named, or what each lacks."""
    missed: dict[str, _Missed] = {}
    each = [
        (rises, side) for side in (side_of(ground.fall, name) for name in names) for rises in _flights(ground, side)
    ]
    for rank in sorted({rises.preferred for rises, _ in each}):
        found = [one for rises, side in each if rises.preferred == rank for one in _on(ground, side, rises, missed)]
        if found:
            return min(found, key=lambda one: one.key)
    return [missed[name].told() if name in missed else _uneven(ground, name) for name in names]


def passed_over(ground: Ground, names: Sequence[str], found: Found) -> list[str]:
    """Return, in words, why what stands there with a level top between sole and lip is no step of the flight found."""
    lip = ground.fall.lip_toward(found.side.away)
    used = {(one.height, one.name) for one in found.treads if isinstance(one, Top)}
    return [
        _no_step(ground, names, key) for key in sorted(ground.tops) if ground.sole < key[0] < lip and key not in used
    ]


def _no_step(ground: Ground, names: Sequence[str], top: tuple[float, str]) -> str:
    """Return why a top is no step: what keeps flights over it from working on the side that it lies nearest to."""
    said = f"{top[1]}, {top[0] * 1000:.0f} mm up, is no step of it"
    plan = ground.tops[top].plan
    for side in sorted((side_of(ground.fall, name) for name in names), key=lambda one: _before_edge(one, plan)):
        missed: dict[str, _Missed] = {}
        over = [one for one in _flights(ground, side) if top in one.served]
        if any(True for one in over for _ in _on(ground, side, one, missed)):
            return f"{said}: one over it, on the {side.name} side, works, but is liked less"
        if missed:
            return f"{said}: over it, on the {side.name} side, {missed[side.name].told().what}"
    return f"{said}: no equal rises come to that height"


def _before_edge(side: Side, plan: MultiPolygon) -> float:
    """Return how far a plan lies from the opening's edge on a side, m."""
    return float(side.seen(plan).distance(shapely.LineString([(-side.span / 2, 0.0), (side.span / 2, 0.0)])))


def _flights(ground: Ground, side: Side) -> list[Rises]:
    return flights(ground.sole, ground.fall.lip_toward(side.away), list(ground.tops), ground.wanted.comfort)


def _uneven(ground: Ground, name: str) -> Shortfall:
    comfort, lip = ground.wanted.comfort, ground.fall.lip_toward(side_of(ground.fall, name).away)
    range_ = f"{comfort.least * 1000:.0f} to {comfort.most * 1000:.0f} mm"
    what = f"no equal rises of {range_} make {(lip - ground.sole) * 1000:.0f} mm"
    return Shortfall(name, what, off_by(ground.sole, lip, comfort))


def _on(ground: Ground, side: Side, rises: Rises, missed: dict[str, _Missed]) -> Iterator[Found]:
    """Yield flights of these rises on a side, at places along the edge from its middle out, up to one of full width."""
    try:
        _stand(ground, side, rises, -1, 0.0, math.inf)
        _hold_tops(ground, side, rises)
        for at in places(side, ground.wanted.least[0]):
            found = _flight(ground, side, rises, at, missed)
            if found is not None:
                yield found
            if found is not None and found.width >= ground.wanted.most[0] - NEAR:
                return
    except _Missed as one:
        _note(side, one, missed)


def _hold_tops(ground: Ground, side: Side, rises: Rises) -> None:
    """Raise where something that is to be a step lies where no foot finds it, wherever along the edge the flight is."""
    for height, name in rises.served:
        number, top = rises.levels.index(height), ground.tops[height, name]
        nosing = nosing_of(ground.wanted, number, len(rises.levels))
        if feet_on(side.seen(top.plan), nosing, *ground.wanted.least).is_empty:
            raise _Missed(-1, _too_small(ground, side, top, height, nosing, 0.0))


def _note(side: Side, one: _Missed, missed: dict[str, _Missed]) -> None:
    if side.name not in missed or one.held > missed[side.name].held:
        missed[side.name] = one


def _flight(ground: Ground, side: Side, rises: Rises, at: float, missed: dict[str, _Missed]) -> Found | None:
    try:
        treads, middle = _treads(ground, side, rises, at)
        stands = [_stand(ground, side, rises, number, middle, AHEAD) for number in range(-1, len(rises.levels))]
    except _Missed as one:
        _note(side, one, missed)
        return None
    return Found(side, rises, tuple(treads), tuple(stands), ground.wanted.least[0])


def _treads(ground: Ground, side: Side, rises: Rises, at: float) -> tuple[list[Laid | Top], float]:
    """Return the treads, and the middle of where along the edge all of them have room for a foot."""
    served, count = dict(rises.served), len(rises.levels)
    treads: list[Laid | Top] = []
    feet = []
    for number, height in enumerate(rises.levels):
        nosing = nosing_of(ground.wanted, number, count)
        one = ground.tops[height, served[height]] if height in served else _board(ground, side, height, nosing, at)
        there = feet_on(side.seen(one.plan), nosing, *ground.wanted.least) if isinstance(one, Top) else one.along
        if there.is_empty:
            raise _Missed(number, _too_small(ground, side, one, height, nosing, at))
        treads.append(one)
        feet.append(there)
    middle = shared(feet)
    if middle is None:
        raise _Missed(count, lambda: Shortfall(side.name, "its steps would not stand one above another"))
    return treads, middle


def _board(ground: Ground, side: Side, height: float, nosing: float, at: float) -> Laid:
    walls = side.seen(ground.along_walls(height))
    return laid(side.seen(ground.room(height)[0]), walls, at, nosing, ground.wanted.most, ground.wanted.least)


def _too_small(
    ground: Ground, side: Side, tread: Laid | Top, height: float, nosing: float, at: float
) -> Callable[[], Shortfall]:
    wide, deep = ground.wanted.least
    wanted = f"{wide * 1000:.0f} × {deep * 1000:.0f} mm"
    if isinstance(tread, Top):
        return lambda: Shortfall(side.name, f"no {wanted} of {tread.name} lie where a foot finds them")

    def told() -> Shortfall:
        half = ground.wanted.most[0] / 2
        room = shapely.intersection(
            side.seen(ground.room(height)[0]), shapely.box(at - half, nosing, at + half, nosing + deep)
        )
        has = deepest(room, nosing, wide, deep)
        what = f"a tread {wide * 1000:.0f} mm wide at the height {height * 1000:.0f} would be {has * 1000:.0f} mm deep"
        return Shortfall(side.name, f"{what}, {deep * 1000:.0f} are asked for", deep - has)

    return told


def _stand(ground: Ground, side: Side, rises: Rises, number: int, middle: float, reach: float) -> Stand:
    """Return where a person stands over a step, or over the floor for number −1, before its nosing."""
    height = ground.sole if number < 0 else rises.levels[number]
    nosing = nosing_of(ground.wanted, max(number, 0), len(rises.levels))
    near = middle, nosing
    found = stand_among(ground.middles(side, height, nosing), near, reach)
    if found is None:

        def told() -> Shortfall:
            share = largest_share(ground.before(side, height, nosing), ground.wanted.person, near, reach)
            over = f"the {'floor' if number < 0 else 'step'} at {height * 1000:.0f} mm"
            person = f"{ground.wanted.person.breadth * 1000:.0f} × {ground.wanted.person.depth * 1000:.0f} mm"
            what = (
                f"head room: over {over} only a person of {share * 100:.0f} % of {person} goes up through the opening"
            )
            return Shortfall(side.name, what, share=share)

        raise _Missed(len(rises.levels) + 2 + number, told)
    return found
