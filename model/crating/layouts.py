"""Layouts of crates on a floor: put in one by one into corners, from many sides; the same each time.

Each goes where its middle lies farthest along a direction, at whichever of some headings; Minkowski's difference
of the floor, and of what is stowed, is where its middle may be, and a farthest point of that is one of its corners.
All of a layout are put in from one side; and, where more might go in, each from another, drawn from a fixed seed: so
rows that lie across one another come about, round a middle too, that no one side leads to.
"""

import math
import time
from collections.abc import Iterable, Iterator, Sequence
from itertools import chain, pairwise, product, repeat

import numpy as np
import shapely
from shapely import MultiPolygon
from shapely.geometry.base import BaseGeometry

from tapeloft.model.crating.ground import Floor
from tapeloft.model.crating.levels import apart, plan_of, turned_centres
from tapeloft.model.crating.path import Spot
from tapeloft.model.crating.ways import Stowed
from tapeloft.model.cutting.walls import rings
from tapeloft.model.gear.forms import Block
from tapeloft.model.moments import Points

SIDES = 8  # directions that crates are put in from
WALLS = 3  # of the longest directions of walls crates lie along
WORK = 2500  # crates, about, that are laid in all layouts of a floor from one side each
DRAWN = 40  # rows of sides that are drawn, each mirrored too
CROWD = 300  # and in one
ALIKE = math.radians(0.5)  # headings no farther from one another are one
ANY = tuple(math.radians(angle) for angle in range(0, 180, 5))  # where a crate stands along no wall

Layout = tuple[Stowed, ...]
From = tuple[int, float]  # a side of SIDES that a crate is put in from, and on which hand it goes first, 1 or −1


def layouts(floor: Floor, plan: MultiPolygon, form: Block, clearance: float, until: float = math.inf) -> list[Layout]:
    """Return layouts of crates of a form on a *plan* of a floor, those of most first, each once.

    clearance: m, between any two and to what bounds the plan. until: by the clock of `time.perf_counter`, when one is
    the last.
    """
    areas = _areas(plan, headings(plan), form, clearance) or _areas(plan, ANY, form, clearance)
    barred = _barred(list(areas), form, clearance)
    enough = plan.area / _taking_up(form, clearance)
    found: set[Layout] = set()
    laid = most = 0
    for row, turns, drawn in _tries(list(areas)):
        over = most + 1 > enough if drawn else laid >= WORK
        if not laid or (not over and time.perf_counter() < until):
            spots = _filled({one: areas[one] for one in turns}, barred, row, min(form.length, form.breadth) / 2)
            layout = tuple(Stowed(heading, (x, y, floor.height)) for heading, (x, y) in spots)
            found.add(layout)
            most = max(most, len(layout))
            laid += most
    found.discard(())
    return sorted(found, key=lambda layout: (-len(layout), layout[0].heading, [one.at for one in layout]))


def _tries(every: Sequence[float]) -> Iterator[tuple[Iterable[From], tuple[float, ...], bool]]:
    """Yield where crates are put in from, one after another, at which headings, and whether that was drawn."""
    square = [(a, b) for a, b in product(every, every) if a < b and abs(b - a - math.pi / 2) < 1e-9]
    some = dict.fromkeys([tuple(every), *square, *((one,) for one in every)]) if every else {}
    for side, hand, turns in product(range(SIDES), (1.0, -1.0), some):
        yield repeat((side, hand)), turns, False
    rows = np.random.default_rng(0).integers(0, [SIDES, 2], (DRAWN, CROWD, 2)) * [1, 2] - [0, 1]
    for row, mirror, turns in product(rows.tolist(), (1, -1), square):
        yield (
            chain((((mirror * side) % SIDES, float(mirror * hand)) for side, hand in row), repeat((0, 1.0))),
            turns,
            True,
        )


def _areas(plan: MultiPolygon, every: Sequence[float], form: Block, clearance: float) -> dict[float, BaseGeometry]:
    """Return where the middle of a crate may be at each heading at which it may be anywhere."""
    long, broad = form.length + 2 * clearance, form.breadth + 2 * clearance
    areas = {heading: turned_centres(plan, heading, long, broad) for heading in every}
    return {heading: area for heading, area in areas.items() if not area.is_empty}


def _taking_up(form: Block, clearance: float) -> float:
    """Return the area, m², of a crate with half of its clearance round it, which none shares with another."""
    return form.length * form.breadth + (form.length + form.breadth) * clearance + math.pi * (clearance / 2) ** 2


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


def _barred(every: Sequence[float], form: Block, clearance: float) -> dict[tuple[float, float], Points]:
    """Return, for a crate about the origin and one more by their headings, the corners of where that must not be."""
    kept = Block(form.length + 2 * clearance, form.breadth + 2 * clearance, form.height)
    there = {heading: plan_of(kept, heading, 0.0, 0.0) for heading in every}
    return {
        (one, other): shapely.get_coordinates(apart([there[one]], form, other)) for one, other in product(every, every)
    }


def _filled(
    areas: dict[float, BaseGeometry], barred: dict[tuple[float, float], Points], row: Iterable[From], least: float
) -> list[tuple[float, Spot]]:
    """Return the headings and middles of crates put in from the sides of a row; none is nearer than *least*, m."""
    laid: list[tuple[float, Spot]] = []
    free = dict(areas)
    for (side, hand), _ in zip(row, range(CROWD), strict=False):
        angle = side * 2 * math.pi / SIDES
        along = np.array([math.cos(angle), math.sin(angle)])
        across = hand * np.array([-along[1], along[0]])
        spots = list(_farthest(free, along, across))
        if not spots:
            break
        _, _, heading, spot = min(spots)
        if any(math.dist(spot, other) < least for _, other in laid):  # a crumb that rounding left
            break
        laid.append((heading, spot))
        taken = [shapely.Polygon(barred[heading, one] + spot) for one in free]
        free = dict(zip(free, shapely.difference(list(free.values()), taken), strict=True))
    return laid


def _farthest(
    free: dict[float, BaseGeometry], along: Points, across: Points
) -> Iterator[tuple[float, float, float, Spot]]:
    """Yield, of each heading, the spot that lies farthest back along a direction, then across it."""
    for heading, area in free.items():
        spots = shapely.get_coordinates(area)
        if len(spots):
            keys = np.column_stack([spots @ along, spots @ across]).round(5)
            best = np.lexsort((keys[:, 1], keys[:, 0]))[0]
            x, y = spots[best].tolist()
            yield float(keys[best, 0]), float(keys[best, 1]), heading, (x, y)
