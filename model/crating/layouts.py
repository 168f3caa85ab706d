"""Layouts of crates on a floor: put in one by one into corners, from many sides; the same each time.

Each goes where its middle lies farthest along a direction, at whichever of some headings; Minkowski's difference
of the floor, and of what is stowed, is where its middle may be, and a farthest point of that is one of its corners.
"""

import math
import time
from collections.abc import Iterator
from itertools import pairwise, product

import numpy as np
import shapely
from shapely import MultiPolygon
from shapely.geometry.base import BaseGeometry

from tapeloft.model.crating.ground import Floor
from tapeloft.model.crating.levels import apart, plan_of, turned_centres
from tapeloft.model.crating.ways import Stowed
from tapeloft.model.cutting.walls import rings
from tapeloft.model.gear.forms import Block

SIDES = 8  # directions that crates are put in from
WALLS = 3  # of the longest directions of walls crates lie along
WORK = 2500  # crates, about, that are laid in all layouts of a floor together
CROWD = 300  # and in one
ALIKE = math.radians(0.5)  # headings no farther from one another are one

Layout = tuple[Stowed, ...]


def layouts(floor: Floor, plan: MultiPolygon, form: Block, clearance: float, until: float = math.inf) -> list[Layout]:
    """Return layouts of crates of a form on a *plan* of a floor, those of most first, each once.

    clearance: m, between any two and to what bounds the plan. until: by the clock of `time.perf_counter`, when one is
    the last.
    """
    wide = Block(form.length + 2 * clearance, form.breadth + 2 * clearance, form.height)
    every = headings(plan)
    areas = {heading: turned_centres(plan, heading, wide.length, wide.breadth) for heading in every}
    half = math.pi / 2
    pairs = [tuple(every)] + [(a, b) for a, b in product(every, every) if a < b and abs(b - a - half) < 1e-9]
    some = dict.fromkeys([*pairs, *((one,) for one in every)])
    found: set[Layout] = set()
    laid = 0
    for side, hand, turns in product(range(SIDES), (1.0, -1.0), some):
        if not laid or (laid < WORK and time.perf_counter() < until):
            found.add(_filled({one: areas[one] for one in turns}, floor.height, form, clearance, (side, hand)))
            laid += max(map(len, found))
    found.discard(())
    return sorted(found, key=lambda layout: (-len(layout), layout[0].heading, [one.at for one in layout]))


def headings(plan: MultiPolygon) -> list[float]:
    """Return the headings, radians, 0 to below a half turn, square to the axes and along the longest walls."""
    lengths: dict[float, float] = {}
    for ring in rings(plan):
        for (ax, ay), (bx, by) in pairwise(ring):
            angle = math.atan2(by - ay, bx - ax) % (math.pi / 2)
            near = next((one for one in lengths if _between(one, angle) < ALIKE), round(angle, 6))
            lengths[near] = lengths.get(near, 0.0) + math.dist((ax, ay), (bx, by))
    longest = sorted(lengths, key=lambda one: (-round(lengths[one], 4), one))[:WALLS]
    quarter = {0.0, *(one for one in longest if _between(one, 0.0) >= ALIKE)}
    return sorted({one + turn for one in quarter for turn in (0.0, math.pi / 2)})


def _between(one: float, other: float) -> float:
    off = abs(one - other) % (math.pi / 2)
    return min(off, math.pi / 2 - off)


def _filled(
    areas: dict[float, BaseGeometry], height: float, form: Block, clearance: float, way: tuple[int, float]
) -> Layout:
    side, hand = way
    angle = side * 2 * math.pi / SIDES
    along = np.array([math.cos(angle), math.sin(angle)])
    across = hand * np.array([-along[1], along[0]])
    kept = Block(form.length + 2 * clearance, form.breadth + 2 * clearance, form.height)
    laid: list[Stowed] = []
    free = dict(areas)
    while True:
        spots = list(_farthest(free, along, across))
        if not spots or len(laid) == CROWD:
            return tuple(laid)
        _, _, heading, (x, y) = min(spots)
        laid.append(Stowed(heading, (x, y, height)))
        taken = plan_of(kept, heading, x, y)
        free = {one: shapely.difference(area, apart([taken], form, one)) for one, area in free.items()}


def _farthest(
    free: dict[float, BaseGeometry], along: np.ndarray, across: np.ndarray
) -> Iterator[tuple[float, float, float, tuple[float, float]]]:
    """Yield, of each heading, the spot that lies farthest back along a direction, then across it."""
    for heading, area in free.items():
        spots = shapely.get_coordinates(area)
        if len(spots):
            keys = np.column_stack([spots @ along, spots @ across]).round(5)
            best = np.lexsort((keys[:, 1], keys[:, 0]))[0]
            x, y = spots[best].tolist()
            yield float(keys[best, 0]), float(keys[best, 1]), heading, (x, y)
