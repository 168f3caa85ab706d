"""Filling a space in one order, and shaking what is in until more goes in."""

import numpy as np

from tapeloft.model.packing.forms import Indices
from tapeloft.model.packing.frame import Frame, Load
from tapeloft.model.packing.loading import meets, put_in, slid, take_out
from tapeloft.model.proof.compiled import compiled, part
from tapeloft.model.proof.walls import Numbers

DEEP = 1e3  # m: nothing falls farther
LOOKED_AT = 12  # sites of which the least taken is the one forced


@compiled
def filled(frame: Frame, load: Load, order: Indices, way: Numbers, reach: float) -> None:
    """Put things in at the sites in *order*, wherever one is free, each slid along *way* by up to *reach* m a step.

    way (3,): along each axis where things go, its sign, and 0 for nowhere.
    """
    for site in order:
        _tried(frame, load, site, way, reach)


@part
def _tried(frame: Frame, load: Load, site: int, way: Numbers, reach: float) -> None:
    turn = frame.lattice.turns[site]
    if load.taken[frame.lattice.cells[site]] == 0 and _is_wanted(frame, load, site):
        place = frame.lattice.places[site].copy()
        if frame.lattice.loose:
            _nestled(frame, load, turn, place, way, reach)
        put_in(frame, load, turn, place)


@part
def _is_wanted(frame: Frame, load: Load, site: int) -> bool:
    kind = frame.bodies.kind[frame.lattice.turns[site]]
    return bool(load.held[kind] < frame.wanted[kind] and load.many[0] < load.turns.size)


@compiled
def laid(frame: Frame, load: Load, turns: Indices, places: Numbers) -> None:
    """Put things in at places that are clear."""
    for number in range(turns.size):
        put_in(frame, load, turns[number], places[number])


@compiled
def sunk(frame: Frame, load: Load, passes: int) -> None:
    """Move everything down until it touches something, the lowest first, and again as long as anything moves.

    What each thing rules out is not moved with it: `laid` in an empty load does that.
    """
    for _ in range(passes):
        fallen, count = 0.0, load.many[0]
        for number in np.argsort(load.places[:count, 2]):
            place = load.places[number].copy()
            slid(frame, load, number, load.turns[number], place, 2, -1.0, DEEP)
            fallen = max(fallen, load.places[number, 2] - place[2])
            load.places[number, 2] = place[2]
        if fallen < 1e-5:
            break


@part
def _nestled(frame: Frame, load: Load, turn: int, place: Numbers, way: Numbers, reach: float) -> None:
    for _ in range(2):
        for axis in (2, 0, 1):
            if way[axis] != 0:
                slid(frame, load, -1, turn, place, axis, np.sign(way[axis]), reach)


@compiled
def shaken(frame: Frame, load: Load, rounds: int, reach: float, seed: int) -> int:
    """Force things in where they push others out, and fill up again; keep what is worth no less. Return rounds gone.

    Stops as soon as the load is worth more.
    """
    np.random.seed(seed)  # noqa: NPY002
    before, turns, places = worth(frame, load), load.turns.copy(), load.places.copy()
    way = np.empty(3)
    for gone in range(rounds):
        count = load.many[0]
        site = _least_taken(frame, load)
        if site < 0:
            return rounds
        for i in range(3):
            way[i] = np.random.uniform(-1.0, 1.0)  # noqa: NPY002
        way[2] = -abs(way[2])
        for number in range(count):
            turns[number] = load.turns[number]
            for i in range(3):
                places[number, i] = load.places[number, i]
        _forced(frame, load, site, way, reach)
        now = worth(frame, load)
        if now > before:
            return gone + 1
        if now < before:
            _undone(frame, load, turns, places, count)
    return rounds


@part
def worth(frame: Frame, load: Load) -> float:
    """Return what all that is in is worth together."""
    total = 0.0
    for kind in range(load.held.size):
        total += load.held[kind] * frame.worth[kind]
    return total


@part
def _least_taken(frame: Frame, load: Load) -> int:
    """Return, of a few sites drawn by lot, one that fewest things rule out, but some; −1 where all are free."""
    best, least = -1, 1 << 40
    for _ in range(np.random.randint(1, LOOKED_AT)):  # noqa: NPY002
        site = np.random.randint(0, frame.lattice.turns.size)  # noqa: NPY002
        taken = load.taken[frame.lattice.cells[site]]
        if 0 < taken < least:
            best, least = site, taken
    return best


@part
def _forced(frame: Frame, load: Load, site: int, way: Numbers, reach: float) -> None:
    """Put a thing in at a site, take out what it meets, and fill up with what then goes in, farthest along *way*."""
    lattice = frame.lattice
    turn, place = lattice.turns[site], lattice.places[site].copy()
    for number in range(load.many[0] - 1, -1, -1):
        if meets(frame, load, number, turn, place):
            take_out(frame, load, number)
    _tried(frame, load, site, way, reach)
    free = np.empty(lattice.turns.size, np.int64)
    count = 0
    for other in range(lattice.turns.size):
        if load.taken[lattice.cells[other]] == 0:
            free[count] = other
            count += 1
    while count > 0:
        count, best = _sifted(frame, load, free, count, way)
        if best >= 0:
            _tried(frame, load, best, way, reach)
            if load.taken[lattice.cells[best]] == 0:
                return


@part
def _sifted(frame: Frame, load: Load, free: Indices, count: int, way: Numbers) -> tuple[int, int]:
    """Keep those of *free* sites that still are; return how many, and the one farthest along *way* or −1."""
    taken, cells, places, turns, kinds = (
        load.taken, frame.lattice.cells, frame.lattice.places, frame.lattice.turns, frame.bodies.kind
    )  # fmt: skip
    best, farthest, left = -1, -1e300, 0
    for k in range(count):
        site = free[k]
        if taken[cells[site]] == 0 and load.held[kinds[turns[site]]] < frame.wanted[kinds[turns[site]]]:
            free[left] = site
            left += 1
            along = way[0] * places[site, 0] + way[1] * places[site, 1] + way[2] * places[site, 2]
            if along > farthest:
                best, farthest = site, along
    return left, best


@part
def _undone(frame: Frame, load: Load, turns: Indices, places: Numbers, count: int) -> None:
    """Bring back what was in before: the first *count* of turns and places."""
    for number in range(load.many[0] - 1, -1, -1):
        if _found(turns, places, count, load.turns[number], load.places[number]) < 0:
            take_out(frame, load, number)
    for number in range(count):
        if _found(load.turns, load.places, load.many[0], turns[number], places[number]) < 0:
            put_in(frame, load, turns[number], places[number])


@part
def _found(turns: Indices, places: Numbers, count: int, turn: int, place: Numbers) -> int:
    for number in range(count):
        if turns[number] == turn and (
            places[number, 0] == place[0] and places[number, 1] == place[1] and places[number, 2] == place[2]
        ):
            return number
    return -1
