"""The rows that a proof about turned things rests on: each must hold for every place and turn it is said to hold for.

Turns and places are drawn at random, turned by scipy's rotations, and looked at exactly.
"""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from tapeloft.model.fits.convex import Convex, convex
from tapeloft.model.proof.compiled import compiled
from tapeloft.model.proof.turned import rows, ways
from tapeloft.model.proof.turned.branching import reach_of
from tapeloft.model.proof.turned.cells import Cell, View, halved, turned_by, view_of, within
from tapeloft.model.proof.turned.form import Form, thing_form
from tapeloft.model.proof.turned.relaxed import set_cuts

pytestmark = pytest.mark.usefixtures("warmed")

Numbers = NDArray[np.float64]
often = settings(max_examples=400, deadline=None)
seeds = st.integers(0, 2**32 - 1)
about = st.sampled_from(["nothing", "the vertical", "anything"])
AXES = {"nothing": [], "the vertical": [2], "anything": [0, 1, 2]}
ROUNDING = 1e-14


@compiled
def witness(
    form: Form, view: View, point: Numbers, face: int, sense: float, low: Numbers, high: Numbers, at: Numbers,
    row: Numbers,
) -> float:  # fmt: skip
    return rows.witness_row(form, view, point, face, sense, low, high, at, row)


@compiled
def wall(
    form: Form, view: View, normal: Numbers, limit: float, corner: int, pieces: int, low: Numbers, high: Numbers,
    row: Numbers,
) -> float:  # fmt: skip
    return rows.wall_row(form, view, normal, limit, corner, pieces, low, high, row)


@compiled
def ball(form: Form, normal: Numbers, limit: float, row: Numbers) -> float:
    return rows.ball_row(form, normal, limit, row)


@compiled
def each_way(
    form: Form, view: View, triangle: Numbers, at: Numbers, low: Numbers, high: Numbers, over: Numbers
) -> None:  # fmt: skip
    """Set *over*, (26, 2), to how much the worst row of each way is broken, and the row where it is not taken."""
    made = ways.past_triangle(form, view, triangle, at)
    rows, limits = np.empty((1, at.shape[0])), np.empty(1)
    for way in range(26):
        over[way, 0] = -1e300 if made.counts[way] else 1e300
        for c in range(made.counts[way] + 1):
            cuts, j = (made.cuts, way * ways.PER + c) if c < made.counts[way] else (made.others, way)
            one = ways.no_cuts(1)
            ways.copy_cut(one, 0, cuts, j)
            set_cuts(form, view, one, low, high, at, rows, limits)
            broken = -limits[0]
            for v in range(at.shape[0]):
                broken += rows[0, v] * at[v]
            if c < made.counts[way]:
                over[way, 0] = max(over[way, 0], broken)
            else:
                over[way, 1] = broken if made.apart[way] else -1e300


def ways_past(
    form: Form, view: View, triangle: Numbers, at: Numbers, low: Numbers, high: Numbers
) -> list[tuple[bool, bool]]:  # fmt: skip
    over = np.empty((26, 2))
    each_way(form, view, triangle, at, low, high, over)
    return [(bool(taken <= ROUNDING), bool(left <= ROUNDING)) for taken, left in over]


def rodrigues(vector: Numbers) -> Numbers:
    """The rotation by twice the arc tangent of a vector's length about it, by scipy."""
    length = float(np.linalg.norm(vector))
    turn: Numbers = Rotation.from_rotvec(vector * (2 * np.arctan(length) / length if length else 0.0)).as_matrix()
    return turn


def cell_of(random: np.random.Generator, axes: list[int]) -> Cell:
    """A cell of any size down to a thousandth of a radian, its base turned too."""
    base = Rotation.from_rotvec(random.normal(size=3) if len(axes) == 3 else [0, 0, random.normal()]).as_matrix()
    free = np.isin(range(3), axes)
    half = random.uniform(0, 1, 3) * 10 ** random.uniform(-3, -0.3) * free
    middle = random.uniform(-0.7, 0.7, 3) * free
    return Cell(np.ascontiguousarray(base if axes else np.eye(3)), middle - half, middle + half)


def vector_in(random: np.random.Generator, cell: Cell) -> Numbers:
    """A vector of the cell, often one of its corners, where a bound is nearest to being broken."""
    share = random.choice([0.0, 1.0], 3) if random.integers(2) else random.uniform(0, 1, 3)
    vector: Numbers = np.clip(cell.low + share * (cell.high - cell.low), cell.low, cell.high)
    return vector


def omega_of(view: View, turn: Numbers) -> Numbers:
    """Twice the tangent of half the angle from the middle of a cell to a turn, along the axis."""
    rotation = Rotation.from_matrix(view.frame.T @ turn).as_rotvec()
    angle = float(np.linalg.norm(rotation))
    omega: Numbers = rotation * (2 * np.tan(angle / 2) / angle if angle else 1.0)
    return omega


def thing_of(random: np.random.Generator, level: bool, axes: list[int]) -> tuple[Convex, Form]:
    """A block or the hull of some points, in the unit frame, that stands at a level or is free."""
    half = random.uniform(0.02, 0.4, 3)
    corners = np.array([[x, y, z] for x in (-1, 1) for y in (-1, 1) for z in (-1.0, 1.0)])
    thing = convex((corners if random.integers(2) else random.uniform(-1, 1, (12, 3))) * half)
    height = float(random.uniform(-0.3, 0.3)) if level else np.nan
    form = thing_form(
        thing.normals, thing.offsets, thing.corners, thing.face_gain, thing.corner_gain,
        -0.9 * thing.depth, 0.5, height, np.array(axes, np.int64),
    )  # fmt: skip
    return thing, form


def drawn(random: np.random.Generator, form: Form) -> tuple[Numbers, Numbers, Numbers]:
    """What is free of a form, with bounds around it that it may touch."""
    free = form.low + random.uniform(0, 1, len(form.low)) * (form.high - form.low)
    wide = 10 ** random.uniform(-4, 0)
    return free, free - random.choice([0, wide], len(free)), free + random.uniform(0, wide, len(free))


@often
@given(seeds, about)
def test_a_cell_from_its_middle_holds_all_its_turns(seed: int, about: str) -> None:
    random = np.random.default_rng(seed)
    cell = cell_of(random, AXES[about])
    view = view_of(*cell)
    turn = cell.base @ rodrigues(vector_in(random, cell))
    omega = omega_of(view, turn)
    assert (omega >= view.low - ROUNDING).all()
    assert (omega <= view.high + ROUNDING).all()
    assert omega @ omega <= view.square[0] + ROUNDING
    assert turned_by(view.frame, omega) == pytest.approx(turn, abs=1e-12)


@often
@given(seeds)
def test_halves_of_a_cell_hold_what_it_holds(seed: int) -> None:
    random = np.random.default_rng(seed)
    cell = cell_of(random, [0, 1, 2])
    vector = vector_in(random, cell)
    assert any((half.low <= vector).all() and (vector <= half.high).all() for half in halved(cell, np.ones(3)))


@often
@given(seeds)
def test_cells_that_are_dropped_hold_no_turn_of_the_ball(seed: int) -> None:
    random = np.random.default_rng(seed)
    cell = cell_of(random, [0, 1, 2])
    for ball in (1.0, 2.0):
        needed = np.linalg.norm(vector_in(random, cell), ball) <= 1
        assert within(cell, ball) or not needed


@often
@given(seeds, about, st.booleans())
def test_a_witness_row_holds_for_all_places_and_turns_of_its_branch(seed: int, about: str, level: bool) -> None:
    """A point beyond a face, or covered by it, is so in the row too: by how much the row is broken is no more."""
    random = np.random.default_rng(seed)
    axes = AXES[about]
    thing, form = thing_of(random, level, axes)
    cell = cell_of(random, axes)
    view, turn = view_of(*cell), cell.base @ rodrigues(vector_in(random, cell))
    free, low, high = drawn(random, form)
    face, point = int(random.integers(len(thing.normals))), random.uniform(-0.5, 0.5, 3)
    place = form.shift_rows @ free + form.shift_start
    covered = thing.offsets[face] + free[-1] * thing.face_gain[face] - thing.normals[face] @ turn.T @ (point - place)
    at, row = np.append(free, omega_of(view, turn)[axes]), np.empty(len(free) + len(axes))
    for sense in (1.0, -1.0):
        limit = witness(form, view, point, face, sense, low, high, at + random.normal(size=len(at)) * 0.1, row)
        assert row @ at - limit <= sense * covered + ROUNDING


@often
@given(seeds, about, st.booleans(), st.integers(0, 7))
def test_a_wall_row_holds_for_all_places_and_turns_of_its_branch(
    seed: int, about: str, level: bool, pieces: int
) -> None:
    random = np.random.default_rng(seed)
    axes = AXES[about]
    thing, form = thing_of(random, level, axes)
    cell = cell_of(random, axes)
    view, turn = view_of(*cell), cell.base @ rodrigues(vector_in(random, cell))
    free, low, high = drawn(random, form)
    corner, normal = int(random.integers(len(thing.corners))), random.normal(size=3)
    normal /= np.linalg.norm(normal)
    own = thing.corners[corner] + free[-1] * thing.corner_gain[corner]
    over = normal @ (turn @ own + form.shift_rows @ free + form.shift_start) - 0.3
    at, row = np.append(free, omega_of(view, turn)[axes]), np.empty(len(free) + len(axes))
    limit = wall(form, view, normal, 0.3, corner, pieces, low, high, row)
    assert row @ at - limit <= over + ROUNDING


@often
@given(seeds, about)
def test_a_ball_row_holds_at_every_turn(seed: int, about: str) -> None:
    """A thing wholly within a plane has the ball that it holds within it; where it stands, too."""
    random = np.random.default_rng(seed)
    axes = AXES[about]
    thing, form = thing_of(random, bool(random.integers(2)), axes)
    free, turn = drawn(random, form)[0], rodrigues(random.normal(size=3) * np.isin(range(3), axes))
    normal = random.normal(size=3)
    normal /= np.linalg.norm(normal)
    own = (thing.corners + free[-1] * thing.corner_gain) @ turn.T
    reach = float((normal @ (own + form.shift_rows @ free + form.shift_start).T).max())
    row = np.empty(len(free))
    limit = ball(form, normal, reach, row)
    assert row @ free <= limit + ROUNDING


def test_a_ball_is_as_large_as_the_thing_allows() -> None:
    thing = convex(np.array([[x, y, z] for x in (-0.3, 0.3) for y in (-0.2, 0.2) for z in (-0.1, 0.1)]))
    form = thing_form(
        thing.normals, thing.offsets, thing.corners, thing.face_gain, thing.corner_gain, -0.05, 0.5, np.nan,
        np.arange(3),
    )  # fmt: skip
    assert form.ball == pytest.approx([0.1, 1.0], abs=1e-12)


def parted(turn: Numbers, box: Numbers, triangle: Numbers) -> list[float]:
    """By how much each of the ways past a triangle parts it from a box, corners (8, 3); by numpy alone.

    Faces low then high; the triangle's normal; its edges against the box's axes: both ways each, as planes with the
    box below them.
    """
    edges = np.roll(triangle, -1, axis=0) - triangle
    normal = np.cross(edges[0], edges[1])
    found = [float((triangle @ way).min() - (box @ way).max()) for way in (*-turn.T, *turn.T)]
    for direction in (normal, *(np.cross(turn[:, axis], edge) for edge in edges for axis in range(3))):
        unit = direction / np.linalg.norm(direction)
        found += [float((triangle @ way).min() - (box @ way).max()) for way in (unit, -unit)]
    return found


@settings(max_examples=600, deadline=None)
@given(seeds, about)
def test_every_clear_box_goes_one_of_the_ways_past_a_triangle(seed: int, about: str) -> None:
    """Each way's rows hold for all boxes that it parts; and for those that it does not, what holds besides."""
    random = np.random.default_rng(seed)
    axes = AXES[about]
    half = random.uniform(0.05, 0.4, 3)
    corners = np.array([[x, y, z] for x in (-1, 1) for y in (-1, 1) for z in (-1.0, 1.0)])
    thing = convex(corners * half)
    form = thing_form(
        thing.normals, thing.offsets, thing.corners, thing.face_gain, thing.corner_gain, -0.9 * thing.depth, 0.5,
        np.nan, np.array(axes, np.int64),
    )  # fmt: skip
    cell = cell_of(random, axes)
    view, turn = view_of(*cell), cell.base @ rodrigues(vector_in(random, cell))
    free, low, high = drawn(random, form)
    at = np.append(free, omega_of(view, turn)[axes])
    box = (thing.corners + free[-1] * thing.corner_gain) @ turn.T + form.shift_rows @ free
    near = box[random.integers(8)] + 0.1 * random.normal(size=3)
    triangle = near + random.normal(size=(3, 3)) * 10 ** random.uniform(-2, 0)
    if random.integers(3) == 0:
        triangle[:, random.integers(3)] = near[0]  # square to an axis, as walls are
    told = ways_past(form, view, np.ascontiguousarray(triangle), at, low, high)
    truly = parted(turn, box, triangle)
    faces = [int(np.argmin([np.linalg.norm(n - way) for n in thing.normals])) for way in (*-np.eye(3), *np.eye(3))]
    which = [faces.index(j) for j in range(6)] + list(range(6, 26))
    for way, (held, kept) in enumerate(told):
        if truly[which[way]] > 1e-12:
            assert held
        if truly[which[way]] < -1e-12:
            assert kept


@often
@given(seeds, about)
def test_rows_are_of_second_order(seed: int, about: str) -> None:
    """In a cell a tenth the size, with bounds as much closer, a row gives away a hundredth."""
    random = np.random.default_rng(seed)
    axes = AXES[about]
    thing, form = thing_of(random, False, axes)
    free, way = form.low + 0.5 * (form.high - form.low), random.uniform(-1, 1, 3) * np.isin(range(3), axes)
    face, point = int(random.integers(len(thing.normals))), random.uniform(-0.5, 0.5, 3)
    for size in (1e-1, 1e-2, 1e-3):
        half = np.where(np.isin(range(3), axes), size, 0.0)
        view, turn = view_of(np.eye(3), -half, half), rodrigues(size * way)
        moved = free + size * random.uniform(-0.1, 0.1, len(free))
        at, row = np.append(moved, omega_of(view, turn)[axes]), np.empty(len(free) + len(axes))
        own = turn.T @ (point - form.shift_rows @ moved - form.shift_start)
        true = thing.offsets[face] + moved[-1] * thing.face_gain[face] - thing.normals[face] @ own
        limit = witness(form, view, point, face, 1.0, free - 0.1 * size, free + 0.1 * size, at, row)
        assert true - (row @ at - limit) <= 20 * size**2 + 1e-11


@often
@given(seeds, about)
def test_reach_holds_for_all_turns_of_a_cell(seed: int, about: str) -> None:
    random = np.random.default_rng(seed)
    form = thing_of(random, False, AXES[about])[1]
    cell = cell_of(random, AXES[about])
    corners, reach = random.uniform(-0.5, 0.5, (9, 3)), np.empty(6)
    reach_of(form, view_of(*cell), corners, reach)
    own = corners @ (cell.base @ rodrigues(vector_in(random, cell)))
    assert (reach[:3] <= own.min(axis=0)).all()
    assert (reach[3:] >= own.max(axis=0)).all()
