"""The parts of the search that proves: bounds, partings and windings, each against another way to the same."""

import igl
import numba
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.optimize import linprog, minimize

from tapeloft.model.facets import body
from tapeloft.model.proof.branches import branched
from tapeloft.model.proof.climb import climbed
from tapeloft.model.proof.compiled import compiled, is_kept, part
from tapeloft.model.proof.interior import KEPT, MOST, relaxed
from tapeloft.model.proof.parting import PARTINGS, parting
from tapeloft.model.proof.program import NEVER, Halfspaces, Wish, dual_bound
from tapeloft.model.proof.search import Frame, prepared
from tapeloft.model.proof.walls import deepest, walls
from tapeloft.model.warm import is_warm, warm
from tapeloft.shapes.polyhedron import Round, box, circle, prism

pytestmark = pytest.mark.usefixtures("warmed")

Numbers = NDArray[np.float64]
often = settings(max_examples=25, deadline=None)

ROOM = body(box((0, 0, 0), (1.2, 0.6, 0.5)))


def upright() -> Wish:
    nothing = np.full(3, np.nan)
    return Wish(np.eye(6), np.zeros(6), np.zeros(3), np.zeros(3), nothing, nothing)


@often
@given(st.integers(0, 10**6), st.integers(8, 40))
def test_dual_bound_against_another_solver(seed: int, count: int) -> None:
    """The program over random half-spaces round the origin, against scipy's trust-region method; then any weights."""
    random = np.random.default_rng(seed)
    normals = random.normal(size=(count, 3))
    normals /= np.linalg.norm(normals, axis=1)[:, None]
    rows, limits = np.hstack([np.minimum(normals, 0), np.maximum(normals, 0)]), random.uniform(0.1, 0.4, count)
    reach = np.array([-0.5, -0.5, -0.5, 0.5, 0.5, 0.5])
    planes, weights, corners = np.full(KEPT, -1), np.zeros(KEPT), np.empty(6)
    room = np.empty((MOST, 6)), np.empty(MOST)
    bound = relaxed(Halfspaces(rows, limits), *room, 0, reach, upright(), NEVER, 1e-9, planes, weights, corners)
    held = planes >= 0
    again = dual_bound(rows[planes[held]], limits[planes[held]], int(held.sum()), weights[held], reach, upright())
    assert again <= bound + 1e-6

    def loss(b: Numbers) -> float:
        return -float(np.log(np.maximum(b[3:] - b[:3], 1e-12)).sum())

    def slope(b: Numbers) -> Numbers:
        pull: Numbers = 1 / np.maximum(b[3:] - b[:3], 1e-12)
        return np.concatenate([pull, -pull])

    kept = {"type": "ineq", "fun": lambda b: limits - rows @ b, "jac": lambda b: -rows}
    start = np.array([-0.05, -0.05, -0.05, 0.05, 0.05, 0.05])
    other = minimize(loss, start, jac=slope, method="SLSQP", constraints=[kept], bounds=[(-0.5, 0.5)] * 6)
    assert other.success
    assert bound >= -other.fun - 1e-9
    assert bound == pytest.approx(-other.fun, abs=1e-5)
    for size in (0.0, 0.1, 1.0, 10.0):
        loose = random.uniform(0, size, count)
        assert dual_bound(rows, limits, count, loose, reach, upright()) >= -other.fun - 1e-9


@numba.njit  # type: ignore[misc]
def parted(triangle: Numbers, corners: Numbers) -> bool:
    row = np.empty(6)
    for kind in range(PARTINGS):
        limit = parting(triangle, kind, row)
        if (row * corners).sum() <= limit + 1e-12:
            return True
    return False


def depth_by_linear_program(triangle: Numbers, corners: Numbers) -> float:
    """How deep the triangle goes into the box, 0 at its faces and 1 in its middle, by scipy's HiGHS."""
    low, high = corners[:3], corners[3:]
    half = (high - low)[:, None] / 2
    inward = np.vstack(
        [-triangle.T / half, triangle.T / half]
    )  # share · triangle is a point; depth is the last unknown
    over = np.concatenate([-low / half[:, 0], high / half[:, 0]])
    found = linprog(
        [0, 0, 0, -1], np.hstack([inward, np.ones((6, 1))]), over, [[1, 1, 1, 0]], [1], [(0, None)] * 3 + [(None, None)]
    )
    return float(found.x[3])


@often
@given(st.integers(0, 10**6), st.sampled_from(["any", "edge along an axis", "in a face's plane", "sliver"]))
def test_triangle_against_box_by_linear_program(seed: int, kind: str) -> None:
    """Depth by clipping, and the 26 planes that must part whatever does not go in, on triangles easy and awkward."""
    random = np.random.default_rng(seed)
    for _ in range(20):
        corners = np.sort(random.uniform(-0.4, 0.4, (2, 3)), axis=0).reshape(6)
        triangle = random.uniform(-0.5, 0.5, (3, 3))
        if kind == "edge along an axis":
            triangle[1] = triangle[0] + [0, 0, 0.3]
        elif kind == "in a face's plane":
            triangle[:, 1] = corners[4]
        elif kind == "sliver":
            triangle[2] = 0.5 * (triangle[0] + triangle[1]) + random.normal(size=3) * 1e-7
        exact, point = depth_by_linear_program(triangle, corners), np.empty(3)
        depth, number = deepest(walls(triangle[None]), corners, 0.0, point)
        assert (number == 0) == (exact > 1e-9) or abs(exact) < 1e-9
        if number == 0:
            assert 0.94 * exact <= depth <= exact + 1e-9
        assert parted(triangle, corners) == (exact <= 0) or abs(exact) < 1e-9


@pytest.mark.parametrize("turned", [0.0, 0.3])
def test_told_apart_by_winding_number(turned: float) -> None:
    """What is told inside from outside, by libigl's generalised winding number; upright, and clear of any symmetry."""
    pipe = body(prism(circle((0.2, 0.25), 0.1, Round.OUTSIDE, 24), -1, 2, axis=0))
    wedge = body(prism(np.array([[-1, -1], [1, -1], [1, turned], [-1, -turned / 3]]), -1, 2, axis=0))
    solid = ROOM.cleared_of([pipe, wedge, body(box((0.5, 0.2, -1), (0.6, 0.3, 1)))])
    low, high = solid.bounds
    frame = Frame((low + high) / 2, float(np.linalg.norm(high - low)))
    ready = prepared(solid, frame)
    assert len(ready.pits) > 100
    assert len(ready.seeds) >= 8
    for points, expected in ((ready.pits, 0.0), (ready.seeds, 1.0)):
        metres = points * frame.diagonal + frame.middle
        number = igl.winding_number(np.asarray(solid.vertices), np.asarray(solid.triangles), metres)
        assert number == pytest.approx(np.full(len(points), expected), abs=1e-6)


def test_loops_compile_where_nothing_can_be_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    plain = numba.njit

    def nowhere(loop: object, cache: bool = False, **how: object) -> object:
        if cache:
            raise RuntimeError("no locator available")  # what numba says
        return plain(loop, **how)

    monkeypatch.setattr(numba, "njit", nowhere)

    def doubled(x: float) -> float:
        return 2 * x

    made = compiled(doubled)
    assert made(1.5) == 3.0
    assert not is_kept(made)


def test_compiled_loops_are_kept() -> None:
    """Once each, however they are called: a second signature would be compiled in the middle of a search."""
    warm(turned=False)
    assert is_warm(turned=False)
    assert [len(loop.signatures) for loop in (branched, climbed)] == [1, 1]  # type: ignore[attr-defined]


def test_a_number_written_into_a_call_compiles_nothing_anew() -> None:
    @part
    def halved(x: int) -> float:
        return x / 2

    @numba.njit  # type: ignore[untyped-decorator]
    def asked(x: int) -> float:
        return halved(x) + halved(1) + halved(x=3)

    assert asked(4) == 4.0
    assert len(halved.signatures) == 1  # type: ignore[attr-defined]
