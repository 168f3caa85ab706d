"""How many go in: textbook numbers, published loads, arrangements looked at by other means, and limits that hold."""

import itertools
import math
import os
from collections.abc import Iterator, Sequence
from functools import cache
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import igl
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.optimize import linprog, nnls
from shapely import Polygon
from shapely import box as rectangle

import tapeloft.model.packing.count as count
import tapeloft.model.packing.known as known
import tapeloft.shapes
from tapeloft.model.compartment import build
from tapeloft.model.facets import body
from tapeloft.model.fits.fitting import Pose
from tapeloft.model.gear.body import Body
from tapeloft.model.gear.forms import Block, Board, Capsule, Cylinder
from tapeloft.model.gear.gear import Firm
from tapeloft.model.gear.turn import Turn
from tapeloft.model.packing.checking import checked
from tapeloft.model.packing.count import Counted, counted
from tapeloft.model.packing.limits.boxes import boxed
from tapeloft.model.packing.limits.cells import Cells, covered, empty, reached_least
from tapeloft.model.packing.limits.levels import levelled
from tapeloft.model.packing.limits.limit import Limit, limits, limits_square
from tapeloft.model.packing.limits.piercing import pierced, placements
from tapeloft.model.packing.limits.standing import stood
from tapeloft.model.packing.limits.weighing import weighed
from tapeloft.model.packing.limits.within import bodies_within
from tapeloft.model.packing.packer import Wanted, packed, prepared
from tapeloft.model.packing.pieces import covering
from tapeloft.model.solid import Solid, united
from tapeloft.model.survey.boat import read_survey
from tapeloft.shapes.polyhedron import Polyhedron, Round, box, circle, prism

pytestmark = pytest.mark.usefixtures("warmed")

Numbers = NDArray[np.float64]
few = settings(max_examples=8, deadline=None)
CRATE = Block(0.6, 0.4, 0.28)
FENDER = Capsule(0.2, 0.6)


def block(*sizes: float) -> Solid:
    return body(box((0, 0, 0), (sizes[0], sizes[1], sizes[2])))


CUBE = block(1, 1, 1)


def asked_of(solid: Solid, thing: Firm, turn: Turn, **rules: float) -> Counted:
    """The answer, which must hold together, and whose arrangement must stand up to a look of another kind."""
    found = counted(solid, solid, thing, turn=turn, **rules)  # type: ignore[arg-type]
    assert len(found.poses) == found.at_least <= found.at_most
    return found


def hulls(thing: Firm, poses: tuple[Pose, ...]) -> list[Numbers]:
    return [pose.of(thing.drawn(Round.OUTSIDE).vertices) for pose in poses]


def are_parted(one: Numbers, other: Numbers) -> bool:
    """Whether a plane parts two convex bodies, (n, 3) and (m, 3), touching allowed: a linear program that finds one."""
    toward = other.mean(axis=0) - one.mean(axis=0)
    size = np.linalg.norm(toward)
    rows = np.vstack([np.column_stack([one - one.mean(axis=0), -np.ones(len(one))])])
    back = np.column_stack([one.mean(axis=0) - other, np.ones(len(other))])
    found = linprog(
        np.zeros(4),
        A_ub=np.vstack([rows, back]) / size,
        b_ub=np.full(len(one) + len(other), 1e-9),
        A_eq=np.append(toward, 0)[None] / size,
        b_eq=[1.0],
        bounds=(None, None),
    )
    return bool(found.status == 0)


def are_apart(bodies: list[Numbers]) -> bool:
    near = [
        (a, b)
        for a, b in itertools.combinations(bodies, 2)
        if (a.min(axis=0) < b.max(axis=0) - 1e-9).all() and (b.min(axis=0) < a.max(axis=0) - 1e-9).all()
    ]
    return all(are_parted(a, b) for a, b in near)


def are_inside(bodies: list[Numbers], solid: Solid) -> bool:
    """Whether convex bodies are inside: their middles are, by winding number, and a plane parts each from each wall."""
    middles = np.array([one.mean(axis=0) for one in bodies])
    turns = igl.winding_number(np.asarray(solid.vertices), np.asarray(solid.triangles), middles)
    walls = solid.vertices[solid.triangles]
    low, high = walls.min(axis=1), walls.max(axis=1)
    for one in bodies:
        near = (low < one.max(axis=0) - 1e-9).all(axis=1) & (high > one.min(axis=0) + 1e-9).all(axis=1)
        if not all(are_parted(one, wall) for wall in walls[near]):
            return False
    return bool(np.allclose(turns, 1, atol=1e-6))


# numbers from textbooks


@pytest.mark.parametrize(
    ("thing", "turn", "many"),
    [
        # the common exercise: two of 0.4 along each edge; and no more, for each holds one of eight points 0.35 from
        # three faces of the cube (derivation)
        (Block(0.4, 0.4, 0.4), Turn.AS_GIVEN, 8),
        # bricks that fill it: volume
        (Block(0.5, 0.5, 0.5), Turn.AS_GIVEN, 8),
        (Block(0.5, 0.5, 0.5), Turn.ANY_TILT, 8),
        (Block(0.5, 0.25, 0.25), Turn.ANY_FACE, 32),
        (Block(1, 1, 1), Turn.ANY_TILT, 1),
        # half the size and a hair more: one alone (derivation: the middle of the cube is in each)
        (Block(0.5001, 0.5001, 0.5001), Turn.AS_GIVEN, 1),
    ],
)
def test_boxes_in_a_cube(thing: Block, turn: Turn, many: int) -> None:
    found = asked_of(CUBE, thing, turn)
    assert (found.at_least, found.at_most) == (many, many)
    assert are_apart(hulls(thing, found.poses))
    assert are_inside(hulls(thing, found.poses), CUBE)


def test_weights_alone_prove_eight() -> None:
    # the same where no formula for boxes in a box can help: the cube has a corner planed off
    planed = CUBE.split((1, 1, 1), 2.9)[1]
    found = asked_of(planed, Block(0.4, 0.4, 0.4), Turn.AS_GIVEN, starts=1)
    assert (found.at_least, found.at_most, found.by) == (8, 8, "weights that they cover")


@few
@given(st.tuples(*[st.integers(15, 60)] * 3), st.tuples(*[st.integers(60, 140)] * 3))
def test_boxes_as_given_in_a_box(small: tuple[int, int, int], large: tuple[int, int, int]) -> None:
    # no more than the product of what goes along each edge: points a little less than a size apart (derivation)
    sizes, room = ([n / 100 for n in three] for three in (small, large))
    found = asked_of(block(*room), Block(*sizes), Turn.AS_GIVEN)
    many = math.prod(b // a for a, b in zip(small, large, strict=True))
    assert (found.at_least, found.at_most) == (many, many)


def test_cans_stand_between_those_before_them() -> None:
    # a box tiles the plane, so cans in it fill it no more densely than circles are packed at most, π/√12 (Thue; "from
    # memory" in any text on packing)
    cans = asked_of(block(1, 1, 0.3), Cylinder(0.1, 0.3), Turn.UPRIGHT, starts=2)
    # six rows of ten and five of nine, each √3/2 of a diameter from the next (derivation: 0.1 + 10 · 0.0866 < 1)
    assert cans.at_least >= 105
    assert cans.at_least * math.pi / 4 * 0.1**2 <= math.pi / math.sqrt(12)


@pytest.mark.parametrize(
    ("room", "across", "many"),
    [((0.3, 0.3, 0.3), 0.1, 27), ((0.34, 0.24, 0.12), 1 / 9, 6)],
)
def test_balls_in_rows(room: tuple[float, float, float], across: float, many: int) -> None:
    # as many along each edge as go in it (derivation), and no denser than π/√18 (Hales; "from memory")
    balls = asked_of(block(*room), Capsule(across, across), Turn.ANY_TILT, starts=2)
    assert (balls.turns, balls.starts) == (1, 2)
    assert balls.at_least >= many
    assert balls.at_least * math.pi / 6 * across**3 / math.prod(room) <= math.pi / math.sqrt(18)


def test_a_clearance_is_kept_once_between_two() -> None:
    # four of 0.3 and five gaps of 0.02 along each edge of 1.3 (derivation); no more, for each with half its gaps all
    # round takes up 0.32 of an edge, of 1.28 that are left without half a gap at each end
    found = asked_of(block(1.3, 1.3, 1.3), Block(0.3, 0.3, 0.3), Turn.AS_GIVEN, clearance=0.02, starts=2)
    assert (found.at_least, found.at_most) == (64, 64)
    room = block(1.28, 0.68, 0.36)
    assert asked_of(room, Block(0.3, 0.2, 0.3), Turn.UPRIGHT, clearance=0.02, starts=2).at_least >= 10


def test_two_angles_make_a_block() -> None:
    # two L-shapes of three squares fill a rectangle of two by three
    angle = Body(prism(np.array([[0, 0], [0.2, 0], [0.2, 0.1], [0.1, 0.1], [0.1, 0.2], [0, 0.2]]), 0, 0.1, axis=2))
    found = asked_of(block(0.2, 0.3, 0.1), angle, Turn.UPRIGHT)
    assert (found.at_least, found.at_most) == (2, 2)


def test_bent_boards_lie_in_one_another() -> None:
    # 0.12 m over all each, but one on another only their thickness apart: hulls would allow four in half a metre
    board = Board(1.9, 0.5, 0.06, rocker=0.06)
    assert asked_of(block(2, 0.6, 0.5), board, Turn.AS_GIVEN, starts=2).at_least >= 6


# published loads


@pytest.mark.parametrize(
    ("pallet", "case", "many"),
    [
        # (L, W, l, w) with as many as there is area for, so that the limit needs no source; loads that need a pattern
        # of five blocks or more (Cover I of the pallet loading literature, from memory)
        ((14, 10), (3, 2), 23),
        ((22, 16), (5, 3), 23),
        ((30, 22), (7, 4), 23),
    ],
)
def test_pallets_loaded_best(pallet: tuple[int, int], case: tuple[int, int], many: int) -> None:
    solid = block(pallet[0] / 50, pallet[1] / 50, 0.1)
    found = asked_of(solid, Block(case[0] / 50, case[1] / 50, 0.1), Turn.UPRIGHT)
    assert (found.at_least, found.at_most) == (many, many)
    plans = [Polygon(one[:4, :2]).convex_hull for one in hulls(Block(case[0] / 50, case[1] / 50, 0.1), found.poses)]
    assert all(a.intersection(b).area < 1e-12 for a, b in itertools.combinations(plans, 2))


def test_a_hard_pallet_is_bounded_and_nearly_loaded() -> None:
    # 57 is the optimum of (49, 28, 8, 3): Birgin, Lobato and Morabito, J. Oper. Res. Soc. 61 (2010), on their page
    ways = [(0.08, 0.03, 0.1), (0.03, 0.08, 0.1)]
    assert boxed((0.49, 0.28, 0.1), ways) == 57
    assert 55 <= asked_of(block(0.49, 0.28, 0.1), Block(0.08, 0.03, 0.1), Turn.UPRIGHT, starts=4).at_least <= 57


def container_loads() -> Iterator[tuple[tuple[float, float, float], list[tuple[list[int], list[int]]]]]:
    """The first instance of each set of Bischoff and Ratcliff: the container, and boxes with which sides may stand."""
    named = os.environ.get("TAPELOFT_TEST_DATA")
    if not named:
        pytest.skip("TAPELOFT_TEST_DATA names no folder with published container loads")
    for file in sorted(Path(named).glob("container-loading/br*.txt")):
        numbers = [[int(n) for n in line.split()] for line in file.read_text().splitlines()]
        kinds = [row[1:7] for row in numbers[4 : 4 + numbers[3][0]]]
        yield (tuple(n / 100 for n in numbers[2])), [(row[0::2], row[1::2]) for row in kinds]  # type: ignore[misc]


@pytest.mark.outside
def test_container_of_one_kind_is_bounded() -> None:
    # published for loads of many kinds; of one kind no optimum is, so the limit and the load must meet by themselves
    met = 0
    for room, kinds in itertools.islice(container_loads(), 3):
        for sizes, stands in kinds[:1]:
            if stands != [0, 0, 1]:
                continue
            thing = Block(sizes[0] / 100, sizes[1] / 100, sizes[2] / 100)
            found = asked_of(block(*room), thing, Turn.UPRIGHT)
            assert found.square is not None
            assert found.at_least <= found.square.count <= found.at_most
            met += found.at_least == found.square.count
    assert met


@pytest.mark.parametrize("case", [(1, 2), (1, 3), (2, 2), (2, 3), (3, 3)])
@pytest.mark.parametrize("pallet", [(2, 3), (3, 3), (3, 4), (4, 4), (3, 5)])
def test_no_load_found_by_trying_all_beats_the_limit_for_boxes(pallet: tuple[int, int], case: tuple[int, int]) -> None:
    (wide, deep), (a, b) = pallet, case
    ways = {(a, b), (b, a)}
    most = trying_all(np.zeros((wide, deep), bool), ways)
    assert most <= boxed((wide, deep, 1), [(x, y, 1) for x, y in ways])


def test_sizes_between_hundredths_of_a_millimetre_are_not_rounded_against_the_boxes() -> None:
    # three of 0.333335 m go in 1.000005 m, though both rounded to the grid would leave room for two
    assert boxed((1.000005, 1, 1), [(0.333335, 1, 1)]) == 3
    assert boxed((0.9999, 1, 1), [(0.333335, 1, 1)]) == 2


def trying_all(filled: NDArray[np.bool_], ways: set[tuple[int, int]]) -> int:
    """The most rectangles that go in what is not filled, by trying each cell empty or the corner of one."""
    free = np.argwhere(~filled)
    if not len(free):
        return 0
    i, j = free[0]
    best = 0
    for x, y in {*ways, (0, 0)}:
        x_, y_ = max(x, 1), max(y, 1)
        spot = filled[i : i + x_, j : j + y_]
        if spot.shape == (x_, y_) and not spot.any():
            after = filled.copy()
            after[i : i + x_, j : j + y_] = True
            best = max(best, (x > 0) + trying_all(after, ways))
    return best


# arrangements looked at by other means


@cache
def skewed() -> tuple[Solid, Polygon]:
    """A room with a slanting side and a post, and its plan."""
    outline = np.array([[0, 0], [2, 0], [2, 0.8], [1.4, 1.3], [0, 0.9]])
    post = (1.1, 0.35, 1.18, 0.43)
    solid = body(prism(outline, 0, 0.75, axis=2)) - body(box((post[0], post[1], -1), (post[2], post[3], 1)))
    return solid, Polygon(outline) - rectangle(*post)


@cache
def crates_in_skewed(clearance: float, turn: Turn) -> list[Numbers]:
    return arranged(skewed()[0], CRATE, turn, clearance)


def arranged(solid: Solid, thing: Firm, turn: Turn, clearance: float = 0.0) -> list[Numbers]:
    """Corners of each thing of an arrangement, (n, 3), of which the check drops none."""
    found = packed(prepared(solid, [Wanted(thing, turn)], clearance), starts=2)
    assert list(checked(solid, [thing], found, clearance)) == list(range(len(found.places)))
    for rotation in found.rotations:
        assert np.allclose(rotation @ rotation.T, np.eye(3), atol=1e-12)
        assert np.linalg.det(rotation) == pytest.approx(1)
        assert turn is not Turn.UPRIGHT or rotation[2].tolist() == [0.0, 0.0, 1.0]
    corners = thing.drawn(Round.OUTSIDE).vertices
    return [corners @ turned.T + place for turned, place in zip(found.rotations, found.places, strict=True)]


def test_upright_boxes_by_their_plans() -> None:
    _, plan = skewed()
    corners = crates_in_skewed(0.0, Turn.UPRIGHT)
    plans = [Polygon(one[:, :2]).convex_hull for one in corners]
    assert len(corners) >= 8
    assert all(plan.buffer(1e-7).covers(one) for one in plans)
    assert all(one[:, 2].min() >= -1e-9 and one[:, 2].max() <= 0.75 + 1e-9 for one in corners)
    for (a, one), (b, other) in itertools.combinations(zip(plans, corners, strict=True), 2):
        over = min(one[:, 2].max(), other[:, 2].max()) - max(one[:, 2].min(), other[:, 2].min())
        assert over <= 1e-9 or a.intersection(b).area < 1e-12


@pytest.mark.parametrize(
    ("name", "thing", "turn", "least"),
    [
        ("cockpit locker, port", CRATE, Turn.UPRIGHT, 8),
        ("berth locker", FENDER, Turn.ANY_FACE, 12),
        ("lazarette", Block(0.345, 0.165, 0.47), Turn.ANY_TILT, 20),
    ],
)
def test_demo_lockers_by_parting_planes(name: str, thing: Firm, turn: Turn, least: int) -> None:
    solid = demo(name)
    bodies = arranged(solid, thing, turn)
    assert len(bodies) >= least
    assert are_apart(bodies)
    assert are_inside(bodies, solid)


def demo(name: str) -> Solid:
    survey = read_survey(Path(tapeloft.shapes.__path__[0]) / "demo").compartment(name)
    return build(survey).inside


def test_nothing_is_left_hanging() -> None:
    # moved down a millimetre, each thing would go into the sole or into another: so says the boolean kernel
    solid, _ = skewed()
    drawn = CRATE.drawn(Round.OUTSIDE)
    stowed = [body(Polyhedron(corners, drawn.faces)) for corners in crates_in_skewed(0.0, Turn.ANY_FACE)]
    for k, one in enumerate(stowed):
        others = united([*stowed[:k], *stowed[k + 1 :]])
        lower = one.moved((0, 0, -1e-3))
        assert (lower - solid).volume + (lower ^ others).volume > 1e-9


@pytest.mark.parametrize("gap", [0.01, 0.05])
def test_a_clearance_is_kept(gap: float) -> None:
    _, plan = skewed()
    free, corners = crates_in_skewed(0.0, Turn.UPRIGHT), crates_in_skewed(gap, Turn.UPRIGHT)
    plans = [Polygon(one[:, :2]).convex_hull for one in corners]
    assert 0 < len(corners) <= len(free)
    assert all(plan.boundary.distance(one) >= gap - 1e-9 for one in plans)
    assert all(gap - 1e-9 <= one[:, 2].min() and one[:, 2].max() <= 0.75 - gap + 1e-9 for one in corners)
    for (a, one), (b, other) in itertools.combinations(zip(plans, corners, strict=True), 2):
        over = max(one[:, 2].min(), other[:, 2].min()) - min(one[:, 2].max(), other[:, 2].max())
        assert math.hypot(a.distance(b), max(over, 0.0)) >= gap - 1e-9


def test_leaning_things_keep_their_clearance() -> None:
    # no two nearer than it by their least distance, a problem of least squares; and the check drops none for that
    room, thing, gap = block(0.9, 0.7, 0.5).split((0.4, 0.3, 0.6), 0.7)[1], Capsule(0.15, 0.35), 0.03
    bodies = arranged(room, thing, Turn.ANY_TILT, gap)
    assert len(bodies) >= 5
    least = min(apart(a, b) for a, b in itertools.combinations(bodies, 2))
    assert least >= gap - 1e-6
    roomy = block(2, 2, 2).moved((-0.5, -0.5, -0.5))
    found = packed(prepared(room, [Wanted(thing, Turn.ANY_TILT)], gap), starts=2)
    assert len(list(checked(roomy, [thing], found, least + 1e-4))) < len(bodies)


def apart(one: Numbers, other: Numbers) -> float:
    """The least distance of two convex bodies, (n, 3) and (m, 3): between shares of their corners that sum to one."""
    ones, heavy = np.ones(len(one)), 1e4
    rows = np.vstack([np.hstack([one.T, -other.T]), heavy * np.append(ones, 0 * other[:, 0])])
    rows = np.vstack([rows, heavy * np.append(0 * ones, np.ones(len(other)))])
    return float(nnls(rows, np.array([0, 0, 0, heavy, heavy]))[1])


def test_the_check_refuses_what_is_not_clear() -> None:
    found = packed(prepared(CUBE, [Wanted(Block(0.4, 0.4, 0.4), Turn.AS_GIVEN)]), starts=1)
    assert len(list(checked(CUBE, [Block(0.4, 0.4, 0.4)], found, 0.0))) == len(found.places) == 8
    assert len(list(checked(CUBE, [Block(0.45, 0.4, 0.4)], found, 0.0))) < 8
    found.places[3] += [0, 0, -1e-4]
    assert len(list(checked(CUBE, [Block(0.4, 0.4, 0.4)], found, 0.0))) == 7


def test_covering_pieces_hold_the_thing() -> None:
    # every corner of the mesh, and points within it, lie in some piece
    angle = prism(np.array([[0, 0], [0.2, 0], [0.2, 0.1], [0.1, 0.1], [0.1, 0.2], [0, 0.2]]), 0, 0.1, axis=2)
    for drawn in (angle, FENDER.drawn(Round.OUTSIDE), Board(1.9, 0.5, 0.06, rocker=0.1).drawn(Round.OUTSIDE)):
        pieces = covering(drawn)
        solid = body(drawn)
        low, high = solid.bounds
        points = low + np.random.default_rng(1).random((4000, 3)) * (high - low)
        turns = igl.winding_number(np.asarray(solid.vertices), np.asarray(solid.triangles), points)
        points = np.vstack([drawn.vertices, points[turns > 0.5]])
        beyond = [(points @ piece.sides[:, :3].T - piece.sides[:, 3]).max(axis=1) for piece in pieces]
        assert np.min(beyond, axis=0).max() < 1e-6


def test_several_kinds_share_a_space() -> None:
    wanted = [Wanted(CRATE, Turn.UPRIGHT, 3), Wanted(Block(0.2, 0.2, 0.2), Turn.AS_GIVEN)]
    room = block(1.2, 0.8, 0.5)
    found = packed(prepared(room, wanted), starts=12)
    kept = list(checked(room, [one.thing for one in wanted], found, 0.0))
    assert len(kept) == len(found.places)
    assert (found.kinds == 0).sum() == 3
    assert (found.kinds == 1).sum() >= 8


# limits that hold


@pytest.mark.parametrize("turn", [Turn.UPRIGHT, Turn.ANY_FACE])
@pytest.mark.parametrize("clearance", [0.0, 0.01])
@pytest.mark.parametrize("seed", range(3))
def test_no_limit_denies_an_arrangement_that_is_there(turn: Turn, clearance: float, seed: int) -> None:
    # a space that is just what some turned things take up, with their clearance, and passages that join them
    random = np.random.default_rng(seed)
    thing: Firm = [Block(0.3, 0.2, 0.12), Cylinder(0.2, 0.3), Block(0.25, 0.25, 0.25)][seed]
    drawn, stowed = thing.drawn(Round.OUTSIDE), []
    for k in range(5):
        angle = random.uniform(0, 2 * math.pi)
        lying = np.array([[0, 0, 1], [0, 1, 0], [-1, 0, 0]]) if turn is Turn.ANY_FACE and k % 2 else np.eye(3)
        corners = drawn.vertices @ (about_z(angle) @ lying).T
        middle = np.array([0.5 * (k % 3), 0.5 * (k // 3), 0.2 * random.random()])
        stowed.append(body(Polyhedron(corners + middle, drawn.faces)))
    if clearance:
        stowed = [united([one.moved(by) for by in around(clearance).tolist()]).hull() for one in stowed]
    passages = [((0, 0, 0), (1, 0.01, 0.2)), ((0, 0.5, 0), (1, 0.51, 0.2)), ((0, 0, 0), (0.01, 0.5, 0.2))]
    joined = united([*stowed, *(body(box(low, high)) for low, high in passages)])
    assert len(joined.parts()) == 1
    proved = [limit.count for limit in limits(joined, thing, turn, clearance)]
    assert len(proved) == 4
    assert min(proved) >= 5


@pytest.mark.parametrize("turn", [Turn.AS_GIVEN, Turn.UPRIGHT])
@pytest.mark.parametrize(
    ("corner", "sizes", "many", "clearance"),
    [
        ((2.1, 0.82, 0.06), (0.31, 0.34, 0.13), (1, 1, 1), 0.0),
        ((-0.7, 1.93, -1.63), (0.48, 0.36, 0.28), (3, 3, 1), 0.0),
        ((1 / 3, 1 / 7, 4e-6), (0.5, 0.5, 0.5), (2, 2, 2), 0.0),
        ((-1.99, 1.79, 1.79), (0.21015, 0.12933, 0.25086), (1, 2, 2), 0.01),
        ((0.4, -0.2, 1.1), (0.3, 0.2, 0.15), (2, 1, 2), 0.03),
    ],
)
def test_no_limit_denies_what_lies_flush(
    corner: Sequence[float], sizes: Sequence[float], many: Sequence[int], clearance: float, turn: Turn
) -> None:
    # side by side they fill the room along each edge, but for the clearances
    low, own, along = (np.array(three) for three in (corner, sizes, many))
    high = low + along * own + (along + 1) * clearance
    room = body(box(tuple(low.tolist()), tuple(high.tolist())))
    for proofs in (limits, limits_square):
        soon = itertools.islice(proofs(room, Block(*sizes), turn, clearance), 3)
        assert min(limit.count for limit in soon) >= math.prod(many)


def about_z(angle: float) -> Numbers:
    c, s = math.cos(angle), math.sin(angle)
    return np.array([[c, -s, 0], [s, c, 0], [0, 0, 1]])


def around(by: float) -> Numbers:
    return by * np.array(list(itertools.product((-1, 0, 1), repeat=3)), np.float64)


@pytest.mark.parametrize("thing", [Block(0.5, 0.3, 0.2), Cylinder(0.3, 0.5), FENDER])
def test_what_a_cell_covers_is_covered_at_every_placement_in_it(thing: Firm) -> None:
    random = np.random.default_rng(7)
    bodies = bodies_within(thing, Turn.ANY_FACE, 0.0)
    found = placements(CUBE, bodies)
    some = random.choice(len(found.cells.base), 60, replace=False)
    cells = Cells(*(np.ascontiguousarray(column[some]) for column in found.cells))
    numbers, first = covered(cells, found.shape, found.nodes)
    for c in range(len(some)):
        own = found.nodes.places[numbers[first[c] : first[c + 1]]]
        sides = bodies[cells.base[c]].narrow
        for _ in range(20):
            angle = cells.angle[c, 0] + random.uniform(-1, 1) * cells.angle[c, 1]
            place = cells.place[c] + random.uniform(-1, 1, 3) * cells.half[c]
            assert ((own - place) @ about_z(angle) @ sides[:, :3].T < sides[:, 3]).all()
    assert len(numbers)


def test_no_cell_called_empty_holds_a_placement() -> None:
    # placements drawn by lot in a room with a post; those inside it, by the boolean kernel, must be in some cell kept
    random = np.random.default_rng(3)
    solid, _ = skewed()
    bodies = bodies_within(CRATE, Turn.UPRIGHT, 0.0)
    found = placements(solid, bodies)
    drawn, hits = CRATE.drawn(Round.OUTSIDE), 0
    low, high = solid.bounds
    for _ in range(400):
        angle, place = random.uniform(0, math.pi), low + random.random(3) * (high - low)
        if (body(Polyhedron(drawn.vertices @ about_z(angle).T + place, drawn.faces)) - solid).volume > 0:
            continue
        hits += 1
        near = (np.abs(found.cells.place - place) <= found.cells.half).all(axis=1)
        off = (found.cells.angle[:, 0] - angle + math.pi / 2) % math.pi - math.pi / 2
        assert (near & (np.abs(off) <= found.cells.angle[:, 1])).any()
    assert hits > 5
    least = reached_least(found.cells.base[:1], found.cells.angle[:1].copy(), found.shape, found.room.hull)
    one = Cells(*(np.ascontiguousarray(column[:1]) for column in found.cells))
    gone = one._replace(place=one.place + 5.0)
    zero = np.zeros(1, np.int64)
    assert empty(one, found.shape, found.room.pits, found.room.hull, least, zero) == 0
    assert empty(gone, found.shape, found.room.pits, found.room.hull, least, zero) == 1


@given(st.integers(0, 10_000))
@settings(max_examples=20, deadline=None)
def test_weights_are_never_lighter_than_the_least(seed: int) -> None:
    # the least total, by another solver of the same library on the program as it is written
    random = np.random.default_rng(seed)
    rows, costs = random.integers(0, 3, (12, 6)) + np.eye(12, 6), random.uniform(0.5, 2, 6)
    total, comes_to = weighed(costs, rows)
    least = linprog(costs, A_ub=-rows, b_ub=-np.ones(12), method="highs-ipm").fun
    assert total >= least * (1 - 1e-9)
    assert total == pytest.approx(least, rel=1e-6)
    assert comes_to.min() >= 1 - 1e-12


def test_planes_limit_what_stands_in_a_well() -> None:
    # cans of 0.3 m in a cone 0.5 m high: a level plane just under 0.3 is met by all that stand there, whose tops are
    # not over 0.5; its radius is 0.5 · (1 − 0.3 / 0.5) = 0.2, and so its area 16 cans' (derivation)
    rim = circle((0, 0), 0.5, Round.INSIDE, 256)
    cone = body(Polyhedron(np.vstack([np.insert(rim, 2, 0, axis=1), [[0, 0, 0.5]]]), cone_faces(256)))
    limit = levelled(cone, bodies_within(Cylinder(0.1, 0.3), Turn.UPRIGHT, 0.0))
    assert 16 <= limit <= 16 * 1.15


@pytest.mark.parametrize("layers", [1, 2])
@pytest.mark.parametrize(("rings", "many"), [(1, 7), (2, 19), (3, 37)])
def test_cans_in_a_hexagon(rings: int, many: int, layers: int) -> None:
    # rings of cans round one, the middles of the outermost on a hexagon: no more go in (Groemer's inequality is met)
    corners = np.array([[math.cos(k * math.pi / 3), math.sin(k * math.pi / 3)] for k in range(6)])
    room = body(prism(corners * (rings * 0.1 + 0.1 / math.sqrt(3)), 0, 0.3 * layers + 0.05, axis=2))
    (can,) = bodies_within(Cylinder(0.1, 0.3), Turn.UPRIGHT, 0.0)
    assert math.floor(stood(room, can, room.bounds, can.corners)) == many * layers


@pytest.mark.parametrize("clearance", [0.0, 0.01])
@pytest.mark.parametrize(
    ("many", "radius"),
    [
        # the largest radius of so many circles in a square of 1 (published tables of packings; from memory)
        (2, 0.292893), (3, 0.254333), (4, 0.25), (5, 0.207107), (6, 0.187681), (7, 0.174458), (8, 0.170541),
        (9, 0.166667), (10, 0.148204), (16, 0.125), (20, 0.111382), (25, 0.1), (30, 0.091671),
    ],
)  # fmt: skip
def test_no_limit_denies_the_best_packings_of_circles(many: int, radius: float, clearance: float) -> None:
    # cans narrower by the clearance, a half of which is left at the walls: the room is larger by the other
    can = Cylinder(2 * radius * (1 - 1e-5) - clearance, 0.3)
    low, high = -clearance / 2, 1 + clearance / 2
    room = body(box((low, low, -clearance), (high, high, 0.3 + clearance)))
    found = [limit.count for limit in itertools.islice(limits(room, can, Turn.UPRIGHT, clearance), 3)]
    assert many <= min(found) <= many + 2


def cone_faces(n: int) -> tuple[tuple[int, ...], ...]:
    return (tuple(range(n))[::-1], *((i, (i + 1) % n, n) for i in range(n)))


def test_a_post_in_the_middle() -> None:
    # four boxes round a post of 0.2: each holds one of four points beside it (derivation), as given
    room = block(1, 1, 0.5) - body(box((0.4, 0.4, -1), (0.6, 0.6, 1)))
    found = asked_of(room, Block(0.4, 0.4, 0.5), Turn.AS_GIVEN, starts=2)
    assert (found.at_least, found.at_most) == (4, 4)
    without = asked_of(block(1, 1, 0.5), Block(0.34, 0.34, 0.5), Turn.AS_GIVEN)
    assert without.at_least == 4


@pytest.mark.parametrize("turn", list(Turn))
@pytest.mark.parametrize("thing", [Block(1.8, 0.1, 0.1), Capsule(1.1, 1.1), Block(1.05, 1.05, 0.5)])
def test_nothing_goes_in(thing: Firm, turn: Turn) -> None:
    # longer than the diagonal of the cube, √3; wider than it; a square larger than the largest in a cube, 1.0607
    # (3√2/4, Prince Rupert), would go in no way, one of 1.05 and 0.5 thick does not either but takes more to refuse
    found = asked_of(CUBE, thing, turn, within_s=20.0)
    assert (found.at_least, found.at_most) == (0, 0)


def test_two_rooms_add_up() -> None:
    two = united([block(0.5, 0.5, 0.5), block(0.5, 0.5, 0.5).moved((1, 0, 0))])
    found = asked_of(two, Block(0.4, 0.4, 0.4), Turn.UPRIGHT, starts=2)
    assert found.at_least == 2
    square = limits_square(two, Block(0.4, 0.4, 0.4), Turn.UPRIGHT, 0.0)
    assert [limit.count for limit in itertools.islice(square, 2)][-1] == 2
    assert asked_of(two, Block(0.6, 0.2, 0.2), Turn.AS_GIVEN).at_most == 0


# what must always hold


@pytest.mark.parametrize(
    ("name", "thing", "turn"),
    [
        ("chain locker", Block(0.15, 0.12, 0.1), Turn.UPRIGHT),
        ("cockpit locker, port", CRATE, Turn.AS_GIVEN),
    ],
)
def test_mirrored_it_holds_as_many(name: str, thing: Block, turn: Turn) -> None:
    solid = demo(name)
    one, other = (asked_of(some, thing, turn, starts=1) for some in (solid, solid.mirrored()))
    assert are_inside(hulls(thing, one.poses), solid)
    assert are_inside(hulls(thing, other.poses), solid.mirrored())
    assert are_apart(hulls(thing, other.poses))
    assert (one.at_least, one.at_most) == (other.at_least, other.at_most)


def test_the_same_each_time_and_seeds_differ() -> None:
    solid, _ = skewed()
    one, again, other = (asked_of(solid, CRATE, Turn.AS_GIVEN, starts=1, seed=seed) for seed in (4, 4, 5))
    assert one == again
    assert one.poses != other.poses


def test_twice_the_size_holds_as_many() -> None:
    small = asked_of(block(0.5, 0.4, 0.3), Block(0.2, 0.15, 0.12), Turn.UPRIGHT, starts=1)
    large = asked_of(block(1.0, 0.8, 0.6), Block(0.4, 0.3, 0.24), Turn.UPRIGHT, starts=1)
    assert small.at_least == large.at_least
    assert small.at_most == large.at_most


def _ticking(monkeypatch: pytest.MonkeyPatch, looks: Iterator[int]) -> None:
    """Let clocks go on by a second at each look, so that a search ends at the same step on any machine."""
    clock = SimpleNamespace(perf_counter=lambda: float(next(looks)))
    for module in (count, known):
        monkeypatch.setattr(module, "time", clock)


def test_time_is_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    solid, looks = skewed()[0], itertools.count()

    def asked(within_s: float) -> tuple[Counted, float]:
        start = next(looks)
        found = counted(solid, solid, CRATE, turn=Turn.AS_GIVEN, within_s=within_s, starts=4)
        return found, next(looks) - start

    _ticking(monkeypatch, looks)
    ample, _ = asked(1e6)
    assert (ample.starts, ample.stopped) == (4, False)
    # the time ended: what the limits left of it went to arrangements again
    short, gone = asked(50)
    assert 50 <= gone < 55
    assert short.stopped
    assert 0 < short.rounds < ample.rounds
    none, least = asked(0)
    assert (none.starts, none.stopped) == (1, True)  # one order is always tried
    assert least < 12
    assert 0 < none.at_least <= short.at_least <= ample.at_least <= ample.at_most <= short.at_most <= none.at_most


def test_time_that_limits_leave_goes_to_arrangements(monkeypatch: pytest.MonkeyPatch) -> None:
    """No limit is looked for but that by volume: arrangements are tried for all of the time, not for half of it."""
    solid, looks = skewed()[0], itertools.count()
    _ticking(monkeypatch, looks)
    monkeypatch.setattr(count, "limits", lambda *given: iter([next(limits(*given))]))
    found = counted(solid, solid, CRATE, turn=Turn.AS_GIVEN, within_s=24, starts=4)
    assert found.stopped
    assert 24 <= next(looks) < 29


def test_arrangements_have_half_the_time_whatever_limits_take(monkeypatch: pytest.MonkeyPatch) -> None:
    """Limits that take all that they are left: more orders are tried after them than the first."""
    solid, looks = skewed()[0], itertools.count()
    _ticking(monkeypatch, looks)

    def greedy(*given: Any) -> Iterator[Limit]:
        for number, one in enumerate(limits(*given)):
            while number > 0 and given[4]() > 0:
                pass
            yield one

    monkeypatch.setattr(count, "limits", greedy)
    found = counted(solid, solid, CRATE, turn=Turn.AS_GIVEN, within_s=60, starts=24)
    assert found.starts >= 10
    assert 60 <= next(looks) < 75


def test_what_is_proved_to_be_all_is_not_called_cut_short(monkeypatch: pytest.MonkeyPatch) -> None:
    looks = itertools.count()
    _ticking(monkeypatch, looks)
    found = counted(CUBE, CUBE, Block(0.4, 0.4, 0.4), turn=Turn.AS_GIVEN, within_s=4)
    assert next(looks) > 4
    assert (found.at_least, found.at_most, found.stopped) == (8, 8, False)


def test_stopped_while_it_checks_it_tells_what_it_has_checked(monkeypatch: pytest.MonkeyPatch) -> None:
    def stopping(*given: Any) -> Iterator[int]:
        yield from itertools.islice(checked(*given), 3)
        raise KeyboardInterrupt

    monkeypatch.setattr(count, "checked", stopping)
    found = counted(CUBE, CUBE, Block(0.4, 0.4, 0.4), turn=Turn.AS_GIVEN)
    assert (found.at_least, found.at_most, found.stopped) == (3, 8, True)


@pytest.mark.parametrize("after", [1, 3, 8])
def test_stopped_by_hand_it_tells_the_best_so_far(after: int) -> None:
    solid, told = demo("lazarette"), []

    def stop(least: int, most: int) -> None:
        told.append((least, most))
        if len(told) == after:
            raise KeyboardInterrupt

    found = counted(solid, solid, CRATE, turn=Turn.UPRIGHT, progress=stop)
    assert found.stopped
    assert found.at_least <= found.at_most == told[-1][1]
    assert len(found.poses) == found.at_least >= min(told[-1][0], 1)


def test_progress_never_goes_back() -> None:
    solid, _ = skewed()
    told: list[tuple[int, int]] = []
    found = counted(solid, solid, CRATE, turn=Turn.AS_GIVEN, starts=2, progress=lambda *two: told.append(two))
    assert told[-1] == (found.at_least, found.at_most)
    assert all(a <= c and b >= d for (a, b), (c, d) in itertools.pairwise(told))


def test_what_is_asked_must_make_sense() -> None:
    for wrong in ({"clearance": -1.0}, {"clearance": math.nan}, {"within_s": -1.0}, {"starts": 0}):
        with pytest.raises(ValueError, match="must be"):
            counted(CUBE, CUBE, CRATE, turn=Turn.UPRIGHT, **wrong)  # type: ignore[arg-type]
    assert pierced(CUBE, placements(CUBE, bodies_within(Block(2, 2, 2), Turn.AS_GIVEN, 0.0))) == 0.0
    assert count.SHARE < 1
