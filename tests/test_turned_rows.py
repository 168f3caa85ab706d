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
from tapeloft.model.proof.turned import rows
from tapeloft.model.proof.turned.branching import reach_of
from tapeloft.model.proof.turned.cells import Cell, View, halved, turned_by, view_of, within
from tapeloft.model.proof.turned.form import Form, thing_form

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
