"""At most how many of one thing go in a space, by the best of several proofs.

Each holds for every arrangement that the rule of turn allows: places and, where it may be turned, angles of any value,
not those of some lattice. Assumed are float64 arithmetic, with margins outward (`cells.STRICT`, `weighing.OUTWARD`),
and that the mesh as given is the space. A thing lies in one connected body of the space, so limits of bodies add up.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from tapeloft.model.gear.turn import Turn
from tapeloft.model.moments import Points
from tapeloft.model.packing.limits.boxes import boxed
from tapeloft.model.packing.limits.levels import levelled
from tapeloft.model.packing.limits.piercing import WORK, Left, Placements, pierced, placements
from tapeloft.model.packing.limits.placements import Body
from tapeloft.model.packing.limits.standing import stood
from tapeloft.model.packing.limits.useful import reached
from tapeloft.model.packing.limits.within import bodies_square, bodies_within, is_box, volume_within
from tapeloft.model.packing.pieces import Thing
from tapeloft.model.solid import Solid

OUTWARD = 1 + 1e-9  # on a limit by volume, for rounding
UPRIGHT = 1e-9  # of its box: a space short of it by no more is that box


@dataclass(frozen=True)
class Limit:
    """No more than *count* go in; by says what proves it."""

    count: int
    by: str


def limits(space: Solid, thing: Thing, turn: Turn, clearance: float, left: Left = lambda: math.inf) -> Iterator[Limit]:
    """Yield limits on how many go in, each no worse than the one before; soon so, then by longer proofs.

    left says how many seconds there are; it may be called off at any time.

    >>> from tapeloft.model.facets import body
    >>> from tapeloft.model.gear.forms import Block
    >>> from tapeloft.shapes.polyhedron import box
    >>> wedge = body(box((0, 0, 0), (1, 1, 1))).split((0.05, 0, 1), 0.999)[1]
    >>> [limit.count for limit in limits(wedge, Block(0.4, 0.4, 0.4), Turn.AS_GIVEN, 0.0)]
    [15, 12, 12, 8]
    """
    yield from _limits(space, thing, bodies_within(thing, turn, clearance), clearance, turn is Turn.AS_GIVEN, left)


def limits_square(
    space: Solid, thing: Thing, turn: Turn, clearance: float, left: Left = lambda: math.inf
) -> Iterator[Limit]:
    """Yield the same for things that all stand square to the axes."""
    yield from _limits(space, thing, bodies_square(thing, turn, clearance), clearance, True, left)


def _limits(
    space: Solid, thing: Thing, bodies: list[Body], clearance: float, square: bool, left: Left
) -> Iterator[Limit]:
    volume = volume_within(thing, clearance)
    ways = [np.ptp(one.core, axis=0) for one in bodies] if square and not clearance and is_box(thing) else []
    parts = [
        _Part(part, bodies, ways, volume, clearance / 2) for part in space.parts() if part.volume * OUTWARD >= volume
    ]
    for part in parts:
        part.work /= len(parts)
        part.spun = thing.symmetry == "round" and len(bodies) == 1
    yield _summed(parts)
    for step in (_by_planes, _by_reach, _by_weights) if bodies else ():
        for part in parts:
            step(part, left)
        yield _summed(parts)


def _summed(parts: "list[_Part]") -> Limit:
    main = max(parts, key=lambda part: part.count, default=None)
    return Limit(sum(part.count for part in parts), main.by if main else "that there is not the volume of one")


class _Part:
    """A connected body of the space, and the best limit for it so far."""

    def __init__(self, space: Solid, bodies: list[Body], ways: list[Points], volume: float, beside: float) -> None:
        self.space, self.bodies, self.ways, self.volume, self.beside = space, bodies, ways, volume, beside
        self.bounds = space.bounds
        self.found: Placements | None = None
        self.work = WORK
        self.spun = False  # whether any spin about z leaves the thing as it is
        self.known, self.by = math.inf, ""
        self.lower(space.volume / volume * OUTWARD, "their volume")

    @property
    def count(self) -> int:
        return math.floor(self.known)

    @property
    def axes(self) -> list[int]:
        """The axes square to which a thing takes up the same area however it is turned."""
        return [2] if any(one.period for one in self.bodies) else [2, 0, 1]

    def lower(self, limit: float, by: str) -> None:
        if limit < self.known:
            self.by = by if math.floor(limit) < self.known else self.by
            self.known = limit


def _by_planes(part: _Part, left: Left) -> None:
    sizes = np.ptp(part.space.bounds, axis=0)
    if part.ways and part.space.volume >= float(sizes.prod()) * (1 - UPRIGHT):
        part.lower(boxed(sizes.tolist(), [way.tolist() for way in part.ways]), "how boxes go in a box")
    for axis in part.axes:
        part.lower(levelled(part.space, part.bodies, axis), "what they take up of planes")
    if part.spun:
        limit = stood(part.space, part.bodies[0], part.bounds, part.bodies[0].corners)
        part.lower(limit, "how close circles come")


def _by_reach(part: _Part, left: Left) -> None:
    part.found = placements(part.space, part.bodies, left)
    part.space = reached(part.space, part.found.cells, [one.around for one in part.bodies], part.beside)
    if part.space.is_empty:
        part.lower(0.0, "that there is no place for one")
        return
    part.lower(part.space.volume / part.volume * OUTWARD, "their volume, in what they can reach")
    for axis in part.axes:
        limit = levelled(part.space, part.bodies, axis, part.bounds)
        part.lower(limit, "what they take up of planes, in what they can reach")
    if part.spun:  # of what things can reach, half the clearance is left to each
        part.lower(stood(part.space, part.bodies[0], part.bounds, part.bodies[0].core), "how close circles come")


def _by_weights(part: _Part, left: Left) -> None:
    if part.found is not None and part.count > 0:
        part.lower(pierced(part.space, part.found, part.known, part.work, left), "weights that they cover")
