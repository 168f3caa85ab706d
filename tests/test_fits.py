"""Does a thing fit: closed forms, each with its source, then hard places, then what must always hold."""

import math
import time
from dataclasses import astuple
from functools import lru_cache
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.spatial import ConvexHull
from scipy.spatial.transform import Rotation

import tapeloft.shapes
from tapeloft.model.compartment import build
from tapeloft.model.facets import body
from tapeloft.model.fits.fit import Fit, fitted
from tapeloft.model.gear.body import Body
from tapeloft.model.gear.forms import Block, Board, Capsule, Cylinder
from tapeloft.model.gear.gear import Firm
from tapeloft.model.gear.turn import Turn
from tapeloft.model.solid import Solid, closed, united
from tapeloft.model.survey.boat import read_survey
from tapeloft.shapes.polyhedron import Polyhedron, Round, box, circle, prism, tube

Numbers = NDArray[np.float64]
Corner = tuple[float, float, float]
seldom = settings(max_examples=4, deadline=None)
often = settings(max_examples=8, deadline=None)


pytestmark = pytest.mark.usefixtures("warmed")
ROOM = body(box((0, 0, 0), (1.2, 0.6, 0.5)))
CUBE = body(box((0, 0, 0), (1, 1, 1)))
LEAST, MOST = 1 - 1e-3, 1 + 1e-3  # a size just short of a closed form, and just over it


def block(low: Corner, high: Corner) -> Solid:
    return body(box(low, high))


def room(length: float, breadth: float, height: float) -> Solid:
    return block((0, 0, 0), (length, breadth, height))


def hull(points: Numbers) -> Polyhedron:
    found = ConvexHull(points)
    a, b, c = np.moveaxis(points[found.simplices], 1, 0)
    outward = (np.cross(b - a, c - a) * found.equations[:, :3]).sum(axis=1) > 0
    triangles = np.where(outward[:, None], found.simplices, found.simplices[:, ::-1])
    return Polyhedron(points, tuple(map(tuple, triangles.tolist())))


def ellipsoid(half: Corner, sides: int) -> Numbers:
    """Points of an ellipsoid whose hull lies within it; scaled by 1 / cos²(π / sides), around it."""
    down, turn = np.meshgrid(np.linspace(0, np.pi, sides // 2 + 1), 2 * np.pi * np.arange(sides) / sides)
    points = np.stack([np.sin(down) * np.cos(turn), np.sin(down) * np.sin(turn), np.cos(down)], axis=-1).reshape(-1, 3)
    there: Numbers = np.unique(points.round(12), axis=0) * half
    return there


def asked(space: Solid, form: Firm, turn: Turn, outside: Solid | None = None, **how: float) -> Fit:
    """The answer, which must hold together; it may take its time, for machines are slow and shared."""
    how.setdefault("within_s", 60.0)
    found = fitted(space, outside or space, form, turn=turn, **how)  # type: ignore[arg-type]
    assert found.limit_m >= found.room_m
    assert (found.verdict == "fits") == (found.room_m >= 0)
    if found.verdict == "fits":
        assert found.pose is not None
        check_turn(turn, np.array(found.pose.turn))
    return found


def refused(space: Solid, form: Firm, turn: Turn, **how: float) -> None:
    assert asked(space, form, turn, None, **how).verdict == "does not fit"


def check_turn(rule: Turn, turn: Numbers) -> None:
    assert turn @ turn.T == pytest.approx(np.eye(3), abs=1e-12)
    assert np.linalg.det(turn) == pytest.approx(1)
    if rule is Turn.AS_GIVEN:
        assert turn == pytest.approx(np.eye(3))
    elif rule is Turn.UPRIGHT:
        assert turn[2] == pytest.approx([0, 0, 1])
    elif rule is Turn.ANY_FACE:
        assert np.abs(turn[2]).max() == pytest.approx(1)


# closed forms


def carver(p: float, q: float, a: float) -> float:
    """The breadth that a rectangle of length *a* needs to hold one of p × q, p > a, turned.

    W. B. Carver, Am. Math. Monthly 64 (1957) 114; as J. E. Wetzel gives it, Math. Mag. 73 (2000) 204 (q at most b).
    """
    return (2 * p * q * a + (p * p - q * q) * math.sqrt(p * p + q * q - a * a)) / (p * p + q * q)


@pytest.mark.parametrize(("p", "q", "a", "b"), [(2, 0.5, 1.8, 1.733813), (12, 1, 11, 6.652097)])
def test_rectangle_in_rectangle(p: float, q: float, a: float, b: float) -> None:
    """The two worked by hand from Carver's condition."""
    assert carver(p, q, a) == pytest.approx(b, abs=1e-6)
    assert asked(room(a, b * MOST, 0.4), Block(p, q, 0.3), Turn.UPRIGHT).verdict == "fits"
    assert asked(room(a, b * LEAST, 0.4), Block(p, q, 0.3), Turn.UPRIGHT).verdict == "does not fit"
    assert asked(room(a, b * MOST, 0.4), Block(p, q, 0.3), Turn.AS_GIVEN).verdict == "does not fit"


@often
@given(st.floats(0.3, 1), st.floats(0.05, 0.9), st.floats(0.7, 0.999), st.booleans())
def test_rectangles_in_rectangles(p: float, thin: float, short: float, is_over: bool) -> None:
    """Carver's condition, over what is longer than the space it goes into; b is the shorter side."""
    q, a = p * thin, p * short
    b = carver(p, q, a)
    assume(q < b * LEAST and b * MOST < a)
    space = room(a, b * (MOST if is_over else LEAST), 0.4)
    assert asked(space, Block(p, q, 0.2), Turn.UPRIGHT).verdict == ("fits" if is_over else "does not fit")


def test_plank_across_a_square() -> None:
    """The longest of breadth w across a unit square, √2 − w: Carver's condition with a = b = 1."""
    longest = math.sqrt(2) - 0.1
    assert carver(longest, 0.1, 1) == pytest.approx(1)
    assert asked(CUBE, Block(longest * LEAST, 0.1, 0.9), Turn.UPRIGHT).verdict == "fits"
    assert asked(CUBE, Block(longest * MOST, 0.1, 0.9), Turn.UPRIGHT).verdict == "does not fit"
    assert asked(CUBE, Block(0.9, longest * LEAST, 0.1), Turn.ANY_FACE).verdict == "fits"


def test_rod_from_corner_to_corner() -> None:
    """As long as the diagonal, √(1.2² + 0.6² + 0.5²) (Pythagoras), if it is thin."""
    longest = math.sqrt(1.2**2 + 0.6**2 + 0.5**2)
    assert longest == pytest.approx(1.431782, abs=1e-6)
    for rod in (Cylinder(0.02, longest - 0.1), Block(0.02, 0.02, longest - 0.1)):
        assert asked(ROOM, rod, Turn.ANY_TILT).verdict == "fits"
        assert asked(ROOM, rod, Turn.ANY_FACE).verdict == "does not fit"
    thin = Cylinder(1e-3, longest - 4e-3)
    assert asked(ROOM, thin, Turn.ANY_TILT).verdict == "fits"
    assert asked(ROOM, Cylinder(1e-3, longest + 1e-4), Turn.ANY_TILT).verdict == "does not fit"


def test_capsule_from_corner_to_corner() -> None:
    """Its axis, a segment, lies in the room drawn in by its radius on all sides (derivation)."""
    longest = 0.1 + math.sqrt(1.1**2 + 0.5**2 + 0.4**2)
    assert asked(ROOM, Capsule(0.1, longest - 3e-3), Turn.ANY_TILT).verdict == "fits"
    refused(ROOM, Capsule(0.1, longest + 0.04), Turn.ANY_TILT)
    assert asked(ROOM, Capsule(0.499, 0.499), Turn.AS_GIVEN).verdict == "fits"
    assert asked(ROOM, Capsule(0.503, 0.503), Turn.AS_GIVEN).verdict == "does not fit"


def test_square_in_a_cube() -> None:
    """The largest square in a unit cube has sides of 3√2/4 (Nieuwland's answer to Prince Rupert, from memory)."""
    largest = 3 * math.sqrt(2) / 4
    thin = asked(CUBE, Block(largest - 0.02, largest - 0.02, 1e-3), Turn.ANY_TILT)
    assert thin.verdict == "fits"
    assert thin.room_m <= 0.01
    refused(CUBE, Block(largest + 0.02, largest + 0.02, 1e-3), Turn.ANY_TILT)


def test_box_in_an_ellipsoid() -> None:
    """Sides of 2/√3 of the half axes, 8abc/(3√3) in all (Lagrange multipliers, any calculus text).

    None in proportion is larger in any turn: the mean over its corners of Σ x²/a² is least where its long side lies
    along the long axis (rearrangement), and at most one.
    """
    half, within = (0.3, 0.2, 0.1), ellipsoid((0.3, 0.2, 0.1), 48)
    inside, outside = body(hull(within)), body(hull(within / math.cos(math.pi / 48) ** 2))
    x, y, z = (2 / math.sqrt(3) * a for a in half)
    assert 8 * 6 / (3 * math.sqrt(3)) == pytest.approx(9.237604, abs=1e-6)
    for rule in (Turn.AS_GIVEN, Turn.UPRIGHT):
        assert asked(inside, Block(x * 0.99, y * 0.99, z * 0.99), rule, outside).verdict == "fits"
        assert asked(inside, Block(x * 1.01, y * 1.01, z * 1.01), rule, outside).verdict == "does not fit"
    assert asked(inside, Block(y * 0.99, x * 0.99, z * 0.99), Turn.AS_GIVEN, outside).verdict == "does not fit"
    assert asked(inside, Block(z * 0.99, x * 0.99, y * 0.99), Turn.ANY_FACE, outside).verdict == "fits"


def test_cube_in_a_sphere() -> None:
    """Its diagonal is the sphere's diameter: sides of 2/√3, 1.154701 in one of radius one."""
    within = ellipsoid((0.5, 0.5, 0.5), 24)
    inside, outside = body(hull(within)), body(hull(within / math.cos(math.pi / 24) ** 2))
    side = 0.5 * 1.154701
    assert asked(inside, Block(side * 0.97, side * 0.97, side * 0.97), Turn.ANY_TILT, outside).verdict == "fits"
    assert asked(inside, Block(side * 1.05, side * 1.05, side * 1.05), Turn.ANY_TILT, outside).verdict == "does not fit"


def test_square_box_in_a_cone() -> None:
    """In one of radius and height 1 the largest is 1/3 high with sides of 2√2/3, 8/27 (derivation: 2r²(1 − r))."""
    outline = circle((0, 0), 1.0, Round.INSIDE, 256)
    cone = body(hull(np.vstack([np.insert(outline, 2, 0.0, axis=1), [[0, 0, 1.0]]])))
    side = 2 * math.sqrt(2) / 3
    assert side**2 / 3 == pytest.approx(8 / 27)
    for rule in (Turn.AS_GIVEN, Turn.UPRIGHT):
        assert asked(cone, Block(side * LEAST, side * LEAST, LEAST / 3), rule).verdict == "fits"
        assert asked(cone, Block(side * MOST, side * MOST, 1 / 3), rule).verdict == "does not fit"


def test_cylinder_in_a_square() -> None:
    """Just as wide it goes in; too wide by more than the two drawings of a circle are apart, 0.12 %, it does not."""
    square = room(0.6, 0.6, 0.5)
    for rule in (Turn.AS_GIVEN, Turn.UPRIGHT):
        assert asked(square, Cylinder(0.6, 0.5), rule).verdict == "fits"
        assert asked(square, Cylinder(0.601, 0.5), rule).verdict == "does not fit"
    assert asked(square, Cylinder(0.5, 0.6), Turn.UPRIGHT).verdict == "does not fit"
    assert asked(square, Cylinder(0.5, 0.6), Turn.ANY_FACE).verdict == "fits"


# flush


@pytest.mark.parametrize("turn", Turn)
@pytest.mark.parametrize("sides", [(1.2, 0.6, 0.5), (0.123, 0.45678, 0.9)])
def test_just_as_large_fits_and_with_a_tenth_of_a_millimetre_does_not(turn: Turn, sides: Corner) -> None:
    space = room(*sides)
    assert asked(space, Block(*sides), turn).verdict == "fits"
    refused(space, Block(*sides), turn, clearance=1e-4)


@pytest.mark.parametrize("turn", [Turn.AS_GIVEN, Turn.UPRIGHT, Turn.ANY_FACE])
def test_clearance_is_kept_on_all_sides_but_not_below_what_stands(turn: Turn) -> None:
    for sides, fits in (((1.24, 0.64, 0.52), True), ((1.24, 0.64, 0.519), False), ((1.239, 0.64, 0.52), False)):
        found = asked(room(*sides), Block(1.2, 0.6, 0.5), turn, clearance=0.02, stands_on=0.0)
        assert found.verdict == ("fits" if fits else "does not fit")
        if found.pose is not None and fits:
            assert found.pose.of(Block(1.2, 0.6, 0.5).drawn(Round.INSIDE).vertices)[:, 2].min() == pytest.approx(0)


def test_clearance_is_kept_beside_what_stands_on_another_face() -> None:
    thing = Block(0.5, 0.46, 0.9)
    for sides, fits in (((0.5, 0.94, 0.52), True), ((0.5, 0.93, 0.52), False), ((0.5, 0.94, 0.515), False)):
        found = asked(room(*sides), thing, Turn.ANY_FACE, clearance=0.02, stands_on=0.0)
        assert found.verdict == ("fits" if fits else "does not fit")


def test_round_things_stand_beside_what_hangs_over_the_floor() -> None:
    """Under a bracket, 0.33 m over the floor, they would be too high; beside it 0.4 m are left for them each way."""
    hung = room(0.9, 0.4, 0.5) - block((0.4, -1, 0.33), (2, 0.2, 1))
    found = asked(hung, Cylinder(0.3, 0.4), Turn.UPRIGHT, stands_on=0.0)
    assert found.verdict == "fits"
    assert found.room_m == pytest.approx(0.05, abs=1e-3)
    assert asked(hung, Capsule(0.3, 0.42), Turn.UPRIGHT, stands_on=0.0).verdict == "fits"
    refused(hung, Cylinder(0.402, 0.4), Turn.UPRIGHT, stands_on=0.0)


def test_clearance_of_a_round_thing_is_that_of_a_larger_one() -> None:
    """A cylinder of 0.4 with 0.2 round it goes where one of 0.8 does, however its straight sides are turned."""
    for number in range(4):
        turn = Rotation.from_rotvec([0, 0, number * math.pi / 128]).as_matrix()
        square = turned(room(0.8002, 0.8002, 0.8002), turn)
        assert asked(square, Cylinder(0.4, 0.3), Turn.AS_GIVEN, clearance=0.2).verdict != "does not fit"


@pytest.mark.parametrize("form", [Block(0.4, 0.3, 0.2), Cylinder(0.3, 0.4), Capsule(0.2, 0.5), Board(0.9, 0.3, 0.05)])
@pytest.mark.parametrize("level", [0.0, 0.137, 0.21])
def test_things_stand_where_they_are_said_to(form: Firm, level: float) -> None:
    for rule in (Turn.AS_GIVEN, Turn.UPRIGHT, Turn.ANY_FACE):
        found = asked(ROOM, form, rule, on_grate=level)
        if form.sizes[2] <= 0.5 - level:
            assert found.verdict == "fits"
            assert found.pose is not None
            lowest = found.pose.of(form.drawn(Round.OUTSIDE).vertices)[:, 2].min()
            assert lowest == pytest.approx(level, abs=1e-9)


# what is in the way


def test_post_is_not_swallowed() -> None:
    """The longer of the two sides of a post takes what no other place does."""
    space = ROOM - block((0.5, 0.2, -1), (0.58, 0.28, 1))
    assert asked(space, Block(0.61, 0.59, 0.49), Turn.UPRIGHT).verdict == "fits"
    assert asked(space, Block(0.63, 0.59, 0.49), Turn.ANY_FACE).verdict == "does not fit"
    assert asked(space, Block(1.19, 0.31, 0.49), Turn.UPRIGHT).verdict == "fits"
    assert asked(space, Block(1.19, 0.33, 0.49), Turn.UPRIGHT).verdict == "does not fit"


@pytest.mark.parametrize("turn", Turn)
def test_floating_thing_is_not_swallowed(turn: Turn) -> None:
    space = ROOM - block((0.59, 0.29, 0.24), (0.61, 0.31, 0.26))
    refused(space, Block(1.1, 0.5, 0.4), turn)


@pytest.mark.parametrize("turn", Turn)
def test_void_is_no_room(turn: Turn) -> None:
    """A shell 0.1 thick round a void that would take the thing."""
    shell = CUBE - block((0.1, 0.1, 0.1), (0.9, 0.9, 0.9))
    refused(shell, Block(0.7, 0.7, 0.7), turn)
    assert asked(shell, Block(0.9, 0.9, 0.09), turn).verdict == "fits"


@pytest.mark.parametrize("turn", Turn)
def test_what_lies_outside_is_no_room(turn: Turn) -> None:
    """Beside an L, and between two bays."""
    corner = CUBE - block((0.2, 0.2, -1), (2, 2, 2))
    bays = united([block((0, 0, 0), (0.3, 1, 1)), block((0.8, 0, 0), (1, 1, 1))])
    for space in (corner, bays):
        refused(space, Block(0.6, 0.6, 0.6), turn)
    assert asked(bays, Block(0.28, 0.9, 0.9), turn).verdict == "fits"


def test_thing_lies_in_whichever_bay_takes_it() -> None:
    bays = united([block((0, 0, 0), (1.2, 0.6, 0.3)), block((2, 0, 0), (2.4, 0.4, 0.9))])
    assert asked(bays, Block(0.35, 0.35, 0.85), Turn.UPRIGHT).verdict == "fits"
    assert asked(bays, Block(1.1, 0.5, 0.25), Turn.UPRIGHT).verdict == "fits"
    assert asked(bays, Block(1.1, 0.5, 0.35), Turn.ANY_FACE).verdict == "does not fit"


@pytest.mark.parametrize("turn", Turn)
def test_slivers_are_walls_as_any_others(turn: Turn) -> None:
    """A room whose every wall is cut from one corner into triangles a thousand times as long as wide."""
    rim = np.concatenate([np.column_stack([np.full(200, x), np.linspace(0, 0.6, 200)])[:: int(s)] for x, s in SIDES])
    space = body(prism(rim, 0, 0.5, 2))
    assert space.volume == pytest.approx(0.36)
    assert asked(space, Block(1.199, 0.599, 0.499), turn).verdict == "fits"
    refused(space, Block(1.199, 0.602, 0.499), turn)


SIDES = ((0.0, -1), (1.2, 1))


# meshes

L_OUTLINE = np.array([[0, 0], [0.98, 0], [0.98, 0.48], [0.48, 0.48], [0.48, 0.98], [0, 0.98]])


def test_hollow_corner_goes_round_a_post() -> None:
    """An L that lies round a corner its hull does not clear: it fits, so that it is not refused."""
    space = room(1, 1, 0.5) - block((0.5, 0.5, -1), (2, 2, 1))
    form = Body(prism(L_OUTLINE, 0, 0.4, 2))
    for rule in Turn:
        assert asked(space, form, rule, within_s=0.5).verdict != "does not fit"
    assert asked(room(1, 1, 0.5), form, Turn.UPRIGHT).verdict == "fits"
    assert asked(room(0.97, 0.97, 0.5), form, Turn.AS_GIVEN, within_s=0.5).verdict != "fits"
    assert asked(room(1, 0.4, 0.3), form, Turn.ANY_FACE, within_s=0.5).verdict == "does not fit"


def test_frame_goes_round_a_post() -> None:
    """A square ring round a post that its hull would swallow."""
    space = room(1, 1, 0.5) - block((0.45, 0.45, -1), (0.55, 0.55, 1))
    outer, inner = (np.array([[-a, -a], [a, -a], [a, a], [-a, a]]) for a in (0.48, 0.2))
    ring = Body(tube(outer, inner, 0.0, 0.1, 2))
    assert asked(space, ring, Turn.AS_GIVEN, within_s=0.5).verdict != "does not fit"
    assert asked(room(1, 1, 0.5), ring, Turn.UPRIGHT).verdict == "fits"
    assert asked(room(0.95, 0.95, 0.5), ring, Turn.UPRIGHT, within_s=0.5).verdict != "fits"


def test_bent_board_clears_what_its_hull_does_not() -> None:
    """Steps under its ends are clear of its hull too; a beam that hangs into its hollow is not."""
    board, space = Board(1.9, 0.4, 0.02, rocker=0.3), room(2, 0.5, 0.4)
    steps = [block((-1, -1, -1), (0.15, 1, 0.1)), block((1.85, -1, -1), (3, 1, 0.1))]
    assert asked(space.cleared_of(steps), board, Turn.AS_GIVEN).verdict == "fits"
    beam = block((0.85, -1, 0.12), (1.15, 1, 1))
    assert asked(space - beam, board, Turn.AS_GIVEN, within_s=0.5).verdict != "does not fit"


def test_thing_of_two_hundred_thousand_triangles() -> None:
    """A ball of 0.4: it goes into a box of 0.42 and not under a lid at 0.37; half a minute at most."""
    points = ellipsoid((0.2, 0.2, 0.2), 448)
    ball = hull(points)
    assert len(ball.faces) > 190_000
    form, start = Body(ball), time.perf_counter()
    assert asked(room(0.42, 0.42, 0.42), form, Turn.UPRIGHT).verdict == "fits"
    assert asked(room(0.6, 0.6, 0.37), form, Turn.AS_GIVEN).verdict == "does not fit"
    assert time.perf_counter() - start < 30


# what must always hold


def turned(solid: Solid, turn: Numbers) -> Solid:
    return closed(solid.vertices @ turn.T, solid.triangles)


@lru_cache
def odd_room(seed: int) -> Solid:
    """A room with a flared side, a step and a post, of its own sizes."""
    random = np.random.default_rng(seed)
    length, breadth, height, flare, step = random.uniform((0.8, 0.4, 0.3, 0.0, 0.1), (1.4, 0.8, 0.7, 0.3, 0.3))
    outline = np.array([[0, 0], [breadth, 0], [breadth + flare, height], [0, height]])
    x, y = random.uniform(0.3, 0.7, 2) * (length, breadth)
    post, sole = block((x, y, -1), (x + 0.05, y + 0.05, 2)), block((-1, -1, -1), (length / 3, 3, step * height))
    return body(prism(outline, 0, length, 0)).cleared_of([post, sole])


def agree(one: Fit, other: Fit, within: float = 1e-9) -> None:
    """Two answers to one question: neither found more than the other says there can be."""
    assert {one.verdict, other.verdict} != {"fits", "does not fit"}
    assert one.room_m <= other.limit_m + within
    assert other.room_m <= one.limit_m + within


seeds = st.integers(0, 5)
shares = st.tuples(st.floats(0.2, 1.0), st.floats(0.2, 0.9), st.floats(0.2, 0.9))
rules = st.sampled_from(list(Turn))


def sized(space: Solid, share: Corner) -> Block:
    x, y, z = (np.subtract(*space.bounds[::-1]) * share).tolist()
    return Block(x, y, z)


@seldom
@given(seeds, shares, st.integers(0, 2**31))
def test_any_tilt_is_the_same_however_the_whole_is_turned(seed: int, share: Corner, number: int) -> None:
    space = odd_room(seed)
    form, turn = sized(space, share), Rotation.random(rng=number).as_matrix()
    agree(
        asked(space, form, Turn.ANY_TILT, within_s=0.5), asked(turned(space, turn), form, Turn.ANY_TILT, within_s=0.5)
    )


@often
@given(seeds, shares, st.floats(0, 6.3))
def test_upright_is_the_same_however_the_whole_is_turned_about_the_vertical(
    seed: int, share: Corner, angle: float
) -> None:
    space = odd_room(seed)
    form, turn = sized(space, share), Rotation.from_rotvec([0, 0, angle]).as_matrix()
    for rule in (Turn.UPRIGHT, Turn.ANY_FACE):
        agree(asked(space, form, rule), asked(turned(space, turn), form, rule))


@often
@given(seeds, shares, rules)
def test_mirrored_is_the_same(seed: int, share: Corner, rule: Turn) -> None:
    space = odd_room(seed)
    agree(
        asked(space, sized(space, share), rule, within_s=0.4),
        asked(space.mirrored(), sized(space, share), rule, within_s=0.4),
    )


@often
@given(seeds, shares, rules, st.floats(0.01, 30))
def test_scaled_is_the_same(seed: int, share: Corner, rule: Turn, scale: float) -> None:
    space = odd_room(seed)
    larger = closed(space.vertices * scale, space.triangles)
    one, other = (asked(s, sized(s, share), rule, within_s=0.4) for s in (space, larger))
    assert {one.verdict, other.verdict} != {"fits", "does not fit"}
    assert one.room_m * scale <= other.limit_m + 1e-9 * scale
    assert other.room_m <= one.limit_m * scale + 1e-9 * scale


@often
@given(seeds, shares, rules, st.integers(0, 2**31))
def test_order_of_triangles_and_corners_is_nothing(seed: int, share: Corner, rule: Turn, number: int) -> None:
    space, random = odd_room(seed), np.random.default_rng(number)
    order, places = random.permutation(len(space.vertices)), np.empty(len(space.vertices), np.int64)
    places[order] = np.arange(len(order))
    triangles = np.roll(places[space.triangles], int(random.integers(3)), axis=1)
    mixed = closed(space.vertices[order], random.permutation(triangles))
    agree(asked(space, sized(space, share), rule, within_s=0.4), asked(mixed, sized(space, share), rule, within_s=0.4))


@often
@given(seeds, shares, rules, st.floats(0.5, 0.999))
def test_what_is_smaller_fits_where_what_is_larger_does(seed: int, share: Corner, rule: Turn, less: float) -> None:
    """And has more room by half of what it is smaller along its shortest side, at least."""
    space = odd_room(seed)
    large = sized(space, share)
    small = Block(*(size * less for size in large.sizes))
    one, other = asked(space, large, rule, within_s=0.4), asked(space, small, rule, within_s=0.4)
    assert (one.verdict, other.verdict) != ("fits", "does not fit")
    assert one.room_m + min(large.sizes) * (1 - less) / 2 <= other.limit_m + 1e-6


@often
@given(seeds, shares, rules, st.floats(0, 0.05), st.floats(0, 0.05))
def test_more_clearance_is_never_easier(seed: int, share: Corner, rule: Turn, least: float, more: float) -> None:
    """And takes from the room just what it is more."""
    space = odd_room(seed)
    one, other = (asked(space, sized(space, share), rule, clearance=c, within_s=0.4) for c in (least, least + more))
    assert (one.verdict, other.verdict) != ("does not fit", "fits")
    assert other.room_m + more <= one.limit_m + 1e-6
    assert one.room_m - more <= other.limit_m + 1e-6


@seldom
@given(seeds, shares)
def test_each_rule_allows_what_the_one_before_does(seed: int, share: Corner) -> None:
    space = odd_room(seed)
    found = [asked(space, sized(space, share), rule, within_s=0.4) for rule in Turn]
    for narrow, wide in pairwise(found):
        assert (narrow.verdict, wide.verdict) != ("fits", "does not fit")
        assert narrow.room_m <= wide.limit_m + 1e-9


@seldom
@given(seeds, st.floats(0.1, 0.5), st.floats(0.1, 0.9), rules)
def test_what_is_within_another_fits_where_that_does(seed: int, diameter: float, length: float, rule: Turn) -> None:
    """A capsule in a cylinder in a box, and in the cylinder a box on the square in its end."""
    space, short = odd_room(seed), diameter / math.sqrt(2)
    nested: list[Firm] = [Block(short, short, length), Cylinder(diameter, length), Block(diameter, diameter, length)]
    if length > diameter:
        nested.append(Capsule(diameter, length))
    small, middle, large, *ball = (asked(space, form, rule, within_s=0.4) for form in nested)
    for inner, outer in ((small, middle), (middle, large), *((one, middle) for one in ball)):
        assert (inner.verdict, outer.verdict) != ("does not fit", "fits")
        assert outer.room_m <= inner.limit_m + 1e-9


@often
@given(seeds, shares, st.sampled_from([Turn.AS_GIVEN, Turn.UPRIGHT, Turn.ANY_FACE]), st.floats(0, 0.4))
def test_what_stands_on_a_grate_is_over_it(seed: int, share: Corner, rule: Turn, at: float) -> None:
    space = odd_room(seed)
    level = round(at * float(space.bounds[1, 2]), 5)
    over = space.split((0, 0, 1), level)[0]
    form = sized(space, (share[0] * 0.7, share[1] * 0.7, share[2] * 0.6))
    stands, free = asked(space, form, rule, on_grate=level), asked(over, form, rule)
    assert (stands.verdict, free.verdict) != ("fits", "does not fit")
    if stands.verdict == "fits":
        assert stands.pose is not None
        corners = stands.pose.of(form.drawn(Round.OUTSIDE).vertices)
        assert corners[:, 2].min() == pytest.approx(level, abs=1e-9)
        assert (body(hull(corners)) - space).volume < 4 * form.volume ** (2 / 3) * 4e-6


def test_same_question_same_answer() -> None:
    space = odd_room(1)
    one, other = (asked(space, sized(space, (0.5, 0.5, 0.5)), Turn.UPRIGHT) for _ in range(2))
    assert one.verdict == other.verdict
    assert astuple(one)[:3] == astuple(other)[:3]


def test_no_time_is_undecided_and_says_little() -> None:
    """What is said of how much room there may be holds even so."""
    space, thing = odd_room(0), sized(odd_room(0), (0.9, 0.9, 0.9))
    found = asked(space, thing, Turn.ANY_TILT, within_s=0.0)
    assert found.verdict == "undecided"
    assert found.limit_m >= asked(space, thing, Turn.ANY_TILT, within_s=2.0).room_m


@pytest.mark.parametrize("clearance", [-0.01, math.nan, math.inf])
def test_clearance_out_of_range(clearance: float) -> None:
    with pytest.raises(ValueError, match="clearance must be zero or more"):
        asked(ROOM, Block(0.1, 0.1, 0.1), Turn.UPRIGHT, clearance=clearance)


@pytest.mark.parametrize("within_s", [-1.0, math.nan])
def test_time_out_of_range(within_s: float) -> None:
    with pytest.raises(ValueError, match="time must be zero or more"):
        asked(ROOM, Block(0.1, 0.1, 0.1), Turn.UPRIGHT, within_s=within_s)


def test_what_stands_is_not_tilted() -> None:
    with pytest.raises(ValueError, match="not tilted"):
        asked(ROOM, Block(0.1, 0.1, 0.1), Turn.ANY_TILT, stands_on=0.0)


def test_cheapest_ways_first_keep_a_search_short() -> None:
    """Cheapest as a share of how deep the thing is that way: in any other order there were over 14,000 branches."""
    locker = build(read_survey(Path(tapeloft.shapes.__path__[0]) / "demo").compartment("cockpit locker, port"))
    found = asked(locker.inside, Block(1.0432, 0.5244, 0.689), Turn.UPRIGHT, locker.outside)
    assert found.verdict == "does not fit"
    assert found.branches < 2000
