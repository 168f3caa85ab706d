"""Does a box fit in a compartment of the demo boat: very many answers, each held to means that are not the project's.

"Fits" is looked at by three: fcl's collisions, the boolean kernel called by itself, and the separating axis theorem
(Gottschalk, Lin, Manocha, SIGGRAPH 1996). "Does not fit", and every limit, by a search that climbs from many places.
"""

import itertools
import math
import time
from collections import Counter
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import manifold3d
import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.optimize import linprog
from scipy.spatial.transform import Rotation

import tapeloft.shapes
from tapeloft.model.boxes import largest_box
from tapeloft.model.compartment import build
from tapeloft.model.fits.fit import Fit, fitted
from tapeloft.model.gear.forms import Block
from tapeloft.model.gear.turn import Turn
from tapeloft.model.proof.compiled import compiled
from tapeloft.model.solid import Solid
from tapeloft.model.survey.boat import read_survey

fcl = pytest.importorskip("fcl", reason="python-fcl is not here")
pytestmark = pytest.mark.usefixtures("warmed")
Numbers = NDArray[np.float64]
Integers = NDArray[np.int64]
DEMO = Path(tapeloft.shapes.__path__[0]) / "demo"
DRAWN = 2e-6  # of the diagonal: by how much a box that is said to fit is drawn in on each side
ROUNDING = 1e-9  # m: what a limit may be passed by
NOTHING = 1e-13  # m³
FEW, MANY = 16, 1000
STARTS, STEPS, POLISHED, ROUNDS = 60, 300, 5, 50
CORNERS = np.array(list(itertools.product((-1.0, 1.0), repeat=3)))
FACES = [  # each order of a box's sides along the axes
    Rotation.from_matrix(np.eye(3)[list(order)] * np.linalg.det(np.eye(3)[list(order)]))
    for order in itertools.permutations(range(3))
]


@dataclass(frozen=True, eq=False)
class Space:
    name: str
    inside: Solid
    outside: Solid
    largest: Numbers  # (3,) sides of the largest upright box, m
    walls: Numbers  # (t, 3, 3) triangles of the outside, m
    diagonal: float


@dataclass(frozen=True, eq=False)
class Pair:
    space: Space
    sides: Numbers  # (3,) m
    turn: Turn


@lru_cache
def spaces() -> tuple[Space, ...]:
    made = []
    for survey in read_survey(DEMO).compartments:
        built = build(survey)
        found = largest_box(built.inside, built.outside)
        assert found is not None
        walls = np.ascontiguousarray(built.outside.vertices[built.outside.triangles])
        across = float(np.linalg.norm(np.subtract(*built.outside.bounds)))
        sides = np.subtract(found.high, found.low)
        made.append(Space(survey.name, built.inside, built.outside, sides, walls, across))
    return tuple(made)


def pairs(count: int, seed: int) -> list[Pair]:
    """Boxes from 0.3 to 1.2 times the largest one, each side then stretched by up to a sixth, in any order."""
    random = np.random.default_rng(seed)
    made = []
    for number in range(count):
        space = spaces()[random.integers(len(spaces()))]
        sides = space.largest * random.uniform(0.3, 1.2) * random.uniform(0.86, 1.16, 3)
        made.append(Pair(space, random.permutation(sides), list(Turn)[number % 4]))
    return made


def asked(pair: Pair, within_s: float = 10.0) -> tuple[Fit, float]:
    start = time.perf_counter()
    found = fitted(pair.space.inside, pair.space.outside, Block(*pair.sides), turn=pair.turn, within_s=within_s)
    return found, time.perf_counter() - start


# how much a box could grow, by separating axes


@compiled
def set_axis(triangle: Numbers, number: int, axis: Numbers) -> bool:
    """Set an axis that can part a triangle from a box about the origin: 0 to 2 the box's, 3 the triangle's normal.

    The others are products of an edge and an axis of the box. The parts of each sum to one, so that a gap along it
    is by how much the box may grow. False where there is none.
    """
    axis[:] = 0.0
    if number < 3:
        axis[number] = 1.0
        return True
    if number == 3:
        a, b = triangle[1] - triangle[0], triangle[2] - triangle[0]
        for i in range(3):
            axis[i] = a[(i + 1) % 3] * b[(i + 2) % 3] - a[(i + 2) % 3] * b[(i + 1) % 3]
    else:
        edge, i = (number - 4) // 3, (number - 4) % 3
        j, k, after = (i + 1) % 3, (i + 2) % 3, (edge + 1) % 3
        axis[j], axis[k] = triangle[after, k] - triangle[edge, k], triangle[edge, j] - triangle[after, j]
    size = abs(axis[0]) + abs(axis[1]) + abs(axis[2])
    if size > 1e-12:
        axis /= size
    return bool(size > 1e-12)


@compiled
def parted(triangle: Numbers, half: Numbers, enough: float, axis: Numbers) -> tuple[float, int]:
    """How much a box about the origin can grow on all sides before a triangle is in it, and which axis, set, says so.

    Looks no further once that is *enough*.
    """
    best, which, trial = -1e300, -1, np.empty(3)
    for number in range(13):
        if not set_axis(triangle, number, trial):
            continue
        low, high, reach = 1e300, -1e300, 0.0
        for k in range(3):
            at = trial[0] * triangle[k, 0] + trial[1] * triangle[k, 1] + trial[2] * triangle[k, 2]
            low, high = min(low, at), max(high, at)
            reach += abs(trial[k]) * half[k]
        gap = max(low, -high) - reach
        if gap > best:
            best, which = gap, number
            axis[:] = trial if low > -high else -trial
            if best >= enough:
                break
    return best, which


@compiled
def set_local(wall: Numbers, turn: Numbers, middle: Numbers, local: Numbers) -> None:
    for k in range(3):
        x, y, z = wall[k, 0] - middle[0], wall[k, 1] - middle[1], wall[k, 2] - middle[2]
        for i in range(3):
            local[k, i] = x * turn[0, i] + y * turn[1, i] + z * turn[2, i]


@compiled
def room(walls: Numbers, turn: Numbers, middle: Numbers, half: Numbers, least: float) -> float:
    """How much a box can grow on all sides before it meets a wall, m; where that is less than *least*, some such."""
    found, axis, local = 1e300, np.empty(3), np.empty((3, 3))
    for t in range(walls.shape[0]):
        set_local(walls[t], turn, middle, local)
        found = min(found, parted(local, half, found, axis)[0])
        if found < least:
            break
    return found


@compiled
def is_within(walls: Numbers, point: Numbers) -> bool:
    """Whether a ray in no special direction leaves the walls an odd number of times (Möller, Trumbore 1997)."""
    ray, crossings = np.array([0.38261, 0.51733, 0.76548]), 0
    for t in range(walls.shape[0]):
        a, b = walls[t, 1] - walls[t, 0], walls[t, 2] - walls[t, 0]
        p, s = np.cross(ray, b), point - walls[t, 0]
        size = (a * p).sum()
        if abs(size) > 1e-18:
            q, u = np.cross(s, a), (s * p).sum() / size
            v = (ray * q).sum() / size
            crossings += min(u, v, 1 - u - v, (b * q).sum() / size) >= 0
    return crossings % 2 == 1


# the search: climbs at random, the best of them carried on by linear programs


@compiled
def climbed(walls: Numbers, turn: Numbers, middle: Numbers, half: Numbers, axes: Integers, moves: Numbers) -> float:
    """Move and turn a box at random to where it has more room; return how much. *axes*: of the world, to turn about.

    A (1 + 1) evolution strategy whose step grows with success (Rechenberg, from memory). *moves*, (n, 6): normal.
    """
    value, step, reach = room(walls, turn, middle, half, -1e300), 0.15, np.sqrt((half * half).sum())
    for k in range(moves.shape[0]):
        there, turned = middle + step * reach * moves[k, :3], turn.copy()
        for i in axes:
            angle, one, other = step * moves[k, 3 + i], (i + 1) % 3, (i + 2) % 3
            cos, sin = math.cos(angle), math.sin(angle)
            for c in range(3):
                x, y = turned[one, c], turned[other, c]
                turned[one, c], turned[other, c] = cos * x - sin * y, sin * x + cos * y
        trial = room(walls, turned, there, half, value)
        if trial > value and is_within(walls, there):
            value, step = trial, step * 1.5
            turn[:], middle[:] = turned, there
        else:
            step = max(step * 0.9, 1e-5)
    return float(value)


def met(local: Numbers, half: Numbers, axis: Numbers, which: int) -> Numbers:
    """The point of a box's edge nearest to an edge of a triangle, own axes of the box."""
    edge, i = divmod(which - 4, 3)
    corner, along = np.sign(axis) * half, local[(edge + 1) % 3] - local[edge]
    corner[i] = 0.0
    share = np.linalg.lstsq(np.column_stack([np.eye(3)[i], -along]), local[edge] - corner, rcond=None)[0][0]
    corner[i] = np.clip(share, -half[i], half[i])
    return corner


def kept_from(local: Numbers, turn: Numbers, half: Numbers, band: float) -> list[list[float]]:
    """Rows on (move, turn, growth) that keep a box from a wall near it, to first order; the limit is the last term."""
    axis = np.empty(3)
    gap, which = parted(local, half, band, axis)
    a = turn @ axis
    if gap >= band:
        return []
    if which < 3:
        return [[*a, *np.cross(turn @ point, a), 1, axis @ point - half[which]] for point in local]
    if which == 3:
        top = (local @ axis).min()
        facing = CORNERS[CORNERS @ axis > 0]
        return [[*a, *np.cross(turn @ (s * half), a), axis @ s, top - axis @ (s * half)] for s in facing]
    return [[*a, *np.cross(turn @ met(local, half, axis, which), a), 1, gap]]


def polished(
    walls: Numbers, turn: Numbers, middle: Numbers, half: Numbers, axes: Integers
) -> tuple[float, Numbers, Numbers]:
    """Where linear programs about ever smaller moves and turns bring a box: the room it has, its turn and middle."""
    value, trust, reach = room(walls, turn, middle, half, -1e300), 0.1, float(np.linalg.norm(half))
    ways = np.where(np.isin(range(3), axes), 1.0, 0.0)
    for _ in range(ROUNDS):
        local, band = (walls - middle) @ turn, value + 4 * trust * reach
        rows = np.array([row for wall in local for row in kept_from(wall, turn, half, band)])
        most = trust * np.array([reach, reach, reach, *ways])
        bounds = [*zip(-most, most, strict=True), (None, value + trust * reach)]
        found = linprog([0, 0, 0, 0, 0, 0, -1], rows[:, :7], rows[:, 7], bounds=bounds)
        there = middle + found.x[:3]
        turned = Rotation.from_rotvec(found.x[3:6]).as_matrix() @ turn if len(axes) else turn
        trial = room(walls, turned, there, half, value)
        if trial > value + 1e-3 * trust * reach and is_within(walls, there):
            value, turn, middle = trial, turned, there
        else:
            trust /= 4
        if trust < 1e-6:
            break
    return value, turn, middle


def axes_of(rule: Turn) -> Integers:
    """The axes of the world about which a box may go on turning."""
    return np.array({Turn.AS_GIVEN: [], Turn.ANY_TILT: [0, 1, 2]}.get(rule, [2]), np.int64)


def started(rule: Turn, number: int, random: np.random.Generator) -> Numbers:
    """A turn that the rule allows."""
    about = Rotation.from_rotvec([0, 0, random.uniform(0, 2 * math.pi) if number % 3 else 0.0])
    if rule is Turn.AS_GIVEN:
        turn = Rotation.identity()
    elif rule is Turn.UPRIGHT:
        turn = about
    elif rule is Turn.ANY_FACE or number % 2:
        turn = about * FACES[number // 2 % 6]
    else:
        turn = Rotation.random(rng=random)
    return np.ascontiguousarray(turn.as_matrix(), np.float64)


def most_room(pair: Pair, said: Fit, starts: int, seed: int) -> tuple[float, Numbers, Numbers]:
    """The most that a search of its own finds the box could grow, m, from all over and from where it was said to be."""
    random, half, walls, axes = np.random.default_rng(seed), pair.sides / 2, pair.space.walls, axes_of(pair.turn)
    low, high = pair.space.outside.bounds
    climbs: list[tuple[float, Numbers, Numbers]] = []
    while len(climbs) < starts:
        middle = random.uniform(low, high)
        if is_within(walls, middle):
            turn = started(pair.turn, len(climbs), random)
            climbs.append((climbed(walls, turn, middle, half, axes, random.normal(size=(STEPS, 6))), turn, middle))
    best = [climb[1:] for climb in sorted(climbs, key=lambda climb: -climb[0])[:POLISHED]]
    if said.pose is not None:
        best.append((np.array(said.pose.turn), np.array(said.pose.place)))
    return max((polished(walls, turn, middle, half, axes) for turn, middle in best), key=lambda found: found[0])


# what an answer is held to


def check_turn(rule: Turn, turn: Numbers) -> None:
    assert turn @ turn.T == pytest.approx(np.eye(3), abs=1e-12)
    assert np.linalg.det(turn) == pytest.approx(1, abs=1e-12)
    if rule is Turn.AS_GIVEN:
        assert turn == pytest.approx(np.eye(3), abs=1e-12)
    elif rule is Turn.UPRIGHT:
        assert turn[:, 2] == pytest.approx([0, 0, 1], abs=1e-12)
    elif rule is Turn.ANY_FACE:
        assert np.abs(turn[2]).max() == pytest.approx(1, abs=1e-12)


def left_outside(solid: Solid, sides: Numbers, turn: Numbers, middle: Numbers) -> float:
    """The volume of a box that is outside a solid, m³, by the boolean kernel without what the project puts round it."""
    mesh = manifold3d.Mesh64(np.array(solid.vertices), np.array(solid.triangles, np.uint64))
    box = manifold3d.Manifold.cube(tuple(sides.tolist()), center=True).transform(np.column_stack([turn, middle]))
    return float((box - manifold3d.Manifold(mesh)).volume())


def touches(solid: Solid, sides: Numbers, turn: Numbers, middle: Numbers) -> bool:
    """Whether a box meets the surface of a solid, by fcl."""
    walls = fcl.BVHModel()
    walls.beginModel(len(solid.triangles), len(solid.vertices))
    walls.addSubModel(np.array(solid.vertices), np.array(solid.triangles))
    walls.endModel()
    box = fcl.CollisionObject(fcl.Box(*sides), fcl.Transform(turn, middle))
    return bool(fcl.collide(fcl.CollisionObject(walls), box, fcl.CollisionRequest(), fcl.CollisionResult()))


def check_place(pair: Pair, said: Fit) -> None:
    """A box that is said to fit does: by separating axes, by fcl and by the boolean kernel; and it kept to its rule."""
    assert said.pose is not None
    turn, middle, drawn = np.array(said.pose.turn), np.array(said.pose.place), DRAWN * pair.space.diagonal
    check_turn(pair.turn, turn)
    inside, sides = pair.space.inside, pair.sides - 2 * drawn
    walls = np.ascontiguousarray(inside.vertices[inside.triangles])
    assert room(walls, turn, middle, pair.sides / 2, -1e300) >= max(said.room_m, 0) - drawn
    assert is_within(walls, middle)
    assert not touches(inside, sides, turn, middle)
    assert left_outside(inside, sides, turn, middle) <= NOTHING


def check_limit(pair: Pair, said: Fit, starts: int, seed: int) -> float:
    """A search of its own finds no place for a box that does not fit, nor more room than the limit; return what."""
    value, turn, middle = most_room(pair, said, starts, seed)
    check_turn(pair.turn, turn)
    if value > said.limit_m + ROUNDING:
        sides = pair.sides + 2 * (value - ROUNDING)
        outside = left_outside(pair.space.outside, sides, turn, middle)
        pytest.fail(
            f"{pair.space.name}, {pair.turn.value}: a box of {pair.sides.tolist()} has {value} m of room on all sides, "
            f"{outside} m³ outside, at {middle.tolist()} turned by {turn.tolist()}; said was {said}"
        )
    return value


@pytest.mark.parametrize("number", range(FEW))
def test_a_few_answers(number: int) -> None:
    pair = pairs(FEW, seed=5)[number]
    said = asked(pair)[0]
    if said.verdict == "fits":
        check_place(pair, said)
    if said.limit_m < math.inf:
        check_limit(pair, said, STARTS // 2, number)


@pytest.mark.extensive
@pytest.mark.parametrize("number", range(MANY))
def test_a_thousand_answers(number: int) -> None:
    pair = pairs(MANY, seed=0)[number]
    said = asked(pair)[0]
    if said.verdict == "fits":
        check_place(pair, said)
    if said.limit_m < math.inf:
        check_limit(pair, said, STARTS, number)


@pytest.mark.extensive
@pytest.mark.parametrize("number", range(MANY // 10))
def test_tight_places(number: int) -> None:
    """A box just smaller than a place that was found for it is never refused, by however little it fits."""
    pair = pairs(MANY // 10, seed=7)[number]
    value, turn, middle = most_room(pair, asked(pair)[0], STARTS // 2, number)
    for spare in (3e-6, 2e-5, 1e-4):
        sides = pair.sides + 2 * (value - spare)
        if sides.min() > 0.02:
            assert left_outside(pair.space.outside, sides, turn, middle) <= NOTHING
            said = asked(Pair(pair.space, sides, pair.turn))[0]
            assert said.verdict != "does not fit", f"{pair.space.name}, {pair.turn.value}: {sides.tolist()}"
            assert said.limit_m >= spare - ROUNDING


@pytest.mark.bench
def test_pace() -> None:
    """At least 98 % are decided within 10 s each, half of them within half a second."""
    told = []
    for pair in pairs(MANY, seed=0):
        said, taken = asked(pair)
        told.append((taken, said, pair))
    for name, some in {rule.value: [one for one in told if one[2].turn is rule] for rule in Turn}.items():
        print(f"\n{name:12} {figures(some)}", end="")
    print(f"\n{'all':12} {figures(told)}")
    for taken, said, pair in sorted(told, key=lambda one: -one[0])[:12]:
        print(
            f"{taken:6.2f} s {said.verdict:12} {pair.space.name}, {pair.turn.value}, {pair.sides.round(4).tolist()}: "
            f"{said.room_m * 1000:.2f} to {said.limit_m * 1000:.2f} mm, {said.branches} branches"
        )
    assert sum(said.verdict != "undecided" for _, said, _ in told) >= 0.98 * MANY
    assert np.median([taken for taken, _, _ in told]) < 0.5


def figures(told: list[tuple[float, Fit, Pair]]) -> str:
    counts = Counter(said.verdict for _, said, _ in told)
    half, most, worst = np.quantile([taken for taken, _, _ in told], [0.5, 0.9, 1.0])
    decided = f"{1 - counts['undecided'] / len(told):.1%} decided"
    return f"{decided}; median {half:.2f} s, nine in ten {most:.2f} s, slowest {worst:.2f} s; {dict(counts)}"
