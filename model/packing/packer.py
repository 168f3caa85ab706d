"""The packer: many fillings in different orders, the best ones shaken, and what is left settled.

For one kind of thing or several that share a space. Everything here is the same each time for one seed.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from tapeloft.model.facets import body
from tapeloft.model.gear.turn import Turn
from tapeloft.model.moments import Points
from tapeloft.model.packing.filling import filled, laid, shaken, sunk
from tapeloft.model.packing.forms import Indices, bodies, pairs
from tapeloft.model.packing.frame import Frame, Load
from tapeloft.model.packing.lattice import lattice
from tapeloft.model.packing.pieces import Thing, covering
from tapeloft.model.packing.touching import room
from tapeloft.model.packing.turns import turns
from tapeloft.model.solid import Solid
from tapeloft.shapes.polyhedron import Round

STARTS = 24  # fillings
FEWEST, PLENTY = 6, 4000  # fillings that are made even where so many things have been put in in all of them
SHAKEN, SHARE = 3, 6  # the best so many are shaken, each for one in so many of all rounds; then the best of them
WORK, LEAST, MOST = 5e9, 150, 100_000  # steps that shaking may take after all fillings; rounds at least, at most
CHUNK = 100  # rounds a step
CROWD = 5000  # things: no more are put in
AFTER = np.array([1.0, 0.03, 0.001])  # how much farther along the first way counts than along the second and third
REACH = 0.15  # of the largest size: how far a thing slides at a time
PASSES = 6  # of settling, at most


@dataclass(frozen=True)
class Wanted:
    """A thing to be packed, how it may be turned, and how many are wanted; None for as many as go in."""

    thing: Thing
    turn: Turn
    count: int | None = None


@dataclass(frozen=True, eq=False)
class Packing:
    """A space and what is wanted in it, as the loops take them; turns of all kinds of thing, one after another."""

    frame: Frame
    rotations: Points  # (K, 3, 3)
    reach: float
    most: int


@dataclass(frozen=True, eq=False)
class Arrangement:
    """Things in their places: p = rotation @ y + place for a point y of each; and what was tried.

    kinds (n,): which of the things wanted each is; starts: fillings in different orders; rounds: of shaking.
    """

    kinds: Indices
    rotations: Points  # (n, 3, 3)
    places: Points  # (n, 3) m
    turns: int
    starts: int
    rounds: int


def prepared(space: Solid, wanted: Sequence[Wanted], clearance: float = 0.0) -> Packing:
    """Return a space and the things wanted in it made ready; clearance, m, is kept from walls and between things."""
    rotations, kinds, turned = [], [], []
    for kind, one in enumerate(wanted):
        pieces = covering(one.thing.drawn(Round.OUTSIDE))
        for rotation in turns(one.turn, one.thing, space):
            rotations.append(rotation)
            kinds.append(kind)
            turned.append([piece.turned(rotation) for piece in pieces])
    things = bodies(turned, kinds, clearance)
    walls = room(space, things)
    worth = np.array([body(one.thing.drawn(Round.INSIDE)).volume for one in wanted])
    most = int(min(CROWD, space.volume / worth.min() + 1))
    counts = np.array([most if one.count is None else min(one.count, most) for one in wanted], np.int64)
    apart = pairs(turned, clearance)
    frame = Frame(things, apart, walls, lattice(space, walls, things, apart, clearance), counts, worth)
    reach = REACH * float(np.ptp(things.corners, axis=0).max())
    return Packing(frame, np.array(rotations), reach, most)


def packed(packing: Packing, starts: int = STARTS, seed: int = 0) -> Arrangement:
    """Return the best arrangement found, by the volume of what is in, settled.

    starts: in how many orders the space is filled; the more, the longer the best are shaken, too.
    """
    best = begun(packing)
    for _ in steps(packing, best, starts, seed):
        pass
    return settled(packing, best)


@dataclass
class Best:
    """How far a search has come: the best load, and what was tried."""

    load: Load
    starts: int = 0
    rounds: int = 0


def begun(packing: Packing) -> Best:
    """Return a search that has put nothing in yet."""
    return Best(_empty(packing))


def steps(packing: Packing, best: Best, starts: int = STARTS, seed: int = 0) -> Iterator[int]:
    """Go on with a search step by step; after each that leaves more to try, yield how many are in."""
    if not len(packing.frame.lattice.turns):
        return
    random = np.random.default_rng(seed)
    loads: list[Load] = []
    for number in range(starts):
        loads.append(_started(packing, number, random))
        best.starts += 1
        _keep(packing, best, loads[-1])
        if _is_all(packing, best):
            return
        yield int(best.load.many[0])
        if number + 1 >= FEWEST and sum(int(load.many[0]) for load in loads) > PLENTY:
            break
    rounds = round(float(np.clip(WORK / _steps(packing), LEAST, MOST)) * starts / STARTS)
    finest = sorted(loads, key=lambda load: -_worth(packing, load))[:SHAKEN]
    for load in finest:
        yield from _shaking(packing, best, load, rounds // SHARE, seed)
    yield from _shaking(packing, best, _copied(best.load), rounds - len(finest) * (rounds // SHARE), seed)


def settled(packing: Packing, best: Best) -> Arrangement:
    """Return the best of a search with everything moved down, and with what then still goes in."""
    load = _settled(packing, best.load)
    count = int(load.many[0])
    used = load.turns[:count]
    return Arrangement(
        packing.frame.bodies.kind[used],
        packing.rotations[used],
        load.places[:count].copy(),
        len(packing.rotations),
        best.starts,
        best.rounds,
    )


def _shaking(packing: Packing, best: Best, load: Load, rounds: int, seed: int) -> Iterator[int]:
    gone = 0
    while gone < rounds and not _is_all(packing, best):
        draw = (seed * 1_000_003 + best.rounds) % (1 << 31)
        now = int(shaken(packing.frame, load, min(CHUNK, rounds - gone), packing.reach, draw))
        gone += now
        best.rounds += now
        _keep(packing, best, load)
        yield int(best.load.many[0])


def _is_all(packing: Packing, best: Best) -> bool:
    return bool((best.load.held >= packing.frame.wanted).all())


def _keep(packing: Packing, best: Best, load: Load) -> None:
    if _worth(packing, load) > _worth(packing, best.load):
        best.load = _copied(load)


def _worth(packing: Packing, load: Load) -> float:
    return float(load.held @ packing.frame.worth)


def _copied(load: Load) -> Load:
    return Load(load.taken.copy(), load.turns.copy(), load.places.copy(), load.held.copy(), load.many.copy())


def _empty(packing: Packing) -> Load:
    return Load(
        np.zeros(packing.frame.lattice.first_cell[-1], np.int32),
        np.zeros(packing.most, np.int64),
        np.zeros((packing.most, 3)),
        np.zeros(len(packing.frame.wanted), np.int64),
        np.zeros(1, np.int64),
    )


def _started(packing: Packing, number: int, random: np.random.Generator) -> Load:
    """Return a filling from one corner of the space: the lowest first, one turn before the others, or in rows."""
    sites = packing.frame.lattice
    axes = random.permutation(3) if number else np.array([2, 0, 1])
    way = np.empty(3)
    way[axes] = AFTER * random.choice([-1.0, 1.0], 3)
    way[2] = -abs(way[2])
    wide = float(np.ptp(sites.places, axis=0).max()) + packing.reach
    later = np.zeros(len(sites.places))
    kind, one = number % 4, random.integers(len(packing.rotations))
    if kind in (1, 2):
        later += 10 * wide * (sites.turns != one)
    elif kind == 3:
        later += random.uniform(0.0, 0.3 * wide, len(packing.rotations))[sites.turns]
    if kind == 1:
        later += 20 * wide * ~sites.in_row
    load = _empty(packing)
    order = np.argsort(later - sites.places @ way, kind="stable")
    filled(packing.frame, load, order, way, packing.reach)
    return load


def _settled(packing: Packing, load: Load) -> Load:
    """Return a load with everything moved down, and with what then still goes in."""
    down = np.array([0.0, 0.0, -1.0])
    while True:
        before = int(load.many[0])
        sunk(packing.frame, load, PASSES)
        lower = _empty(packing)
        laid(packing.frame, lower, load.turns[:before], load.places[:before])
        order = np.argsort(packing.frame.lattice.places[:, 2], kind="stable")
        filled(packing.frame, lower, order, down, packing.reach)
        load = lower
        if load.many[0] == before:
            return load


def _steps(packing: Packing) -> float:
    """Return about how many steps one round of shaking takes."""
    frame, many = packing.frame, int(packing.frame.bodies.first[-1])
    marks = np.diff(frame.lattice.first_mark).reshape(-1, 3)
    spans = frame.bodies.spans
    size = (spans[:, 3:] - spans[:, :3]).mean(axis=0)
    ranges = pairwise(frame.lattice.first_mark.tolist())
    extent = np.array([np.ptp(frame.lattice.marks[a:b]) if b > a else 0.0 for a, b in ranges]).reshape(-1, 3)
    across = np.clip(2 * size * marks / np.maximum(extent, size), 1, marks)
    sides = np.diff(frame.pairs.first).mean() * (many / len(marks)) ** 2
    rastered = (across[:, 0] * across[:, 1] * (sides + across[:, 2])).sum()
    return float(8 * rastered + 4 * len(frame.lattice.turns) + 60_000)
