"""How far apart things turned alike come, one behind the other and in rows that stand between those before them."""

import math
from itertools import product

import numpy as np

from tapeloft.model.moments import Points
from tapeloft.model.packing.forms import FINEST, TOUCH, Bodies, Pairs
from tapeloft.model.proof.walls import Numbers

LITTLE = 0.1  # of a step: rows that come no nearer than this are not worth standing between those before them
ON = 1e-4  # of the grid: a step this little over a whole one is that
LEVEL = 1e-12  # of 1: a side with less of an axis in its normal is along it


def in_line(bodies: Bodies, pairs: Pairs, turn: int) -> Numbers:
    """Return how far apart two things turned alike stand that are in line along each axis, (3,) m, on the grid."""
    return np.array([_step(bodies, pairs, turn, np.zeros(3), axis) for axis in range(3)])


def closer(bodies: Bodies, pairs: Pairs, turn: int, sizes: Numbers) -> list[list[float]]:
    """Return for each axis the steps by which rows go on that come closer to each other than their *sizes*, (3,) m.

    In line, as bent boards lie on one another, or moved aside by half a size along one axis or both others, as round
    things stand between those before them; those halves are steps then, too. None of a thing that does not stand
    square to the axes: its rows do not go along them.
    """
    found: list[list[float]] = [[], [], []]
    if not _is_square(bodies, turn):
        return found
    for axis, aside in product(range(3), product((0, 1), repeat=3)):
        if aside[axis]:
            continue
        step = _step(bodies, pairs, turn, np.array(aside) * (sizes / 2 - 1 / FINEST), axis)
        if 0 < step < sizes[axis] * (1 - LITTLE):
            found[axis].append(step)
            for other in np.flatnonzero(aside).tolist():
                found[other].append(float(sizes[other]) / 2)
    return [sorted(set(some)) for some in found]


def _is_square(bodies: Bodies, turn: int) -> bool:
    """Whether a turned thing has sides square to all axes."""
    first, last = bodies.first_side[bodies.first[turn : turn + 2]].tolist()
    return bool((np.abs(bodies.sides[first:last, :3]).max(axis=0) > 1 - LEVEL).all())


def _step(bodies: Bodies, pairs: Pairs, turn: int, aside: Points, axis: int) -> float:
    """Return how far along an axis a thing moved aside is clear of one turned alike, m, on the grid."""
    own, far = range(bodies.first[turn], bodies.first[turn + 1]), 0.0
    for a, b in product(own, own):
        pair = a * int(bodies.first[-1]) + b
        sides = pairs.sides[pairs.first[pair] : pairs.first[pair + 1]]
        room, pace = sides[:, 3] - TOUCH - sides[:, :3] @ aside, sides[:, axis]
        ahead, back = pace > LEVEL, pace < -LEVEL
        if (room[~ahead & ~back] <= 0).any():
            continue
        leaves = float((room[ahead] / pace[ahead]).min())
        if float((room[back] / pace[back]).max()) < leaves:
            far = max(far, leaves)
    return math.ceil(far * FINEST - ON) / FINEST
