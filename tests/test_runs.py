"""The longest clear lines: closed forms, then rays cast by brute force that prune nothing and know no limits."""

import math

import numpy as np
import pytest
from hypothesis import assume, given, note, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.spatial import ConvexHull

from tapeloft.model.facets import body
from tapeloft.model.runs import runs
from tapeloft.model.runs.runs import Run, clear_runs
from tapeloft.model.solid import Solid, united
from tapeloft.shapes.polyhedron import Polyhedron, Round, box, circle, prism

Points = NDArray[np.float64]

LOCKER = body(box((0, 0, 0), (1.2, 0.6, 0.5)))
NUDGE = 1e-7  # m
EXACT = 3e-9  # of the size of these solids


def block(low: tuple[float, float, float], high: tuple[float, float, float]) -> Solid:
    return body(box(low, high))


def post(x: float, y: float, radius: float, sides: int = 24) -> Solid:
    return body(prism(circle((x, y), radius, Round.INSIDE, sides), -9, 9, 2))


def hull(points: Points) -> Solid:
    """The convex solid around points, by scipy's Qhull."""
    found = ConvexHull(points)
    a, b, c = np.moveaxis(points[found.simplices], 1, 0)
    outward = np.einsum("ij,ij->i", np.cross(b - a, c - a), found.equations[:, :3]) > 0
    sides = np.where(outward[:, None], found.simplices, found.simplices[:, ::-1])
    used, sides = np.unique(sides, return_inverse=True)
    return body(Polyhedron(points[used], tuple(map(tuple, sides.reshape(-1, 3).tolist()))))


def lengths(solid: Solid) -> list[float]:
    return [run.length_m for run in clear_runs(solid)]


# ---- an oracle that shares no line with the model


def chords(solid: Solid, axis: int, at: Points) -> Points:
    """The longest stretch inside on the line through each plane point, (n,); nought where a ray meets an edge."""
    plane = [(axis + 1) % 3, (axis + 2) % 3]
    flat, along = solid.vertices[:, plane][solid.triangles], solid.vertices[:, axis][solid.triangles]
    (ax, ay), (bx, by) = (flat[:, 1] - flat[:, 0]).T, (flat[:, 2] - flat[:, 0]).T
    twice = ax * by - ay * bx
    seen = np.abs(twice) > 1e-18
    flat, along, ax, ay, bx, by, twice = (part[seen] for part in (flat, along, ax, ay, bx, by, twice))
    longest = [np.zeros(0)]
    for some in np.array_split(at, len(at) // 2000 + 1):
        dx, dy = np.moveaxis(some[:, None] - flat[:, 0], 2, 0)
        s, t = (dx * by - dy * bx) / twice, (ax * dy - ay * dx) / twice
        hit = (s > 0) & (t > 0) & (s + t < 1)
        z = np.where(hit, along[:, 0] + s * (along[:, 1] - along[:, 0]) + t * (along[:, 2] - along[:, 0]), 1e9)
        order = np.argsort(z, axis=1)
        z = np.take_along_axis(z, order, axis=1)
        depth = np.cumsum(np.where(np.take_along_axis(hit, order, axis=1), -np.sign(twice)[order], 0), axis=1)
        gap = np.where(z[:, 1:] < 1e9, np.diff(z, axis=1), 0.0)
        broken = (depth[:, -1] != 0) | ((gap > 1e-9) & ((depth[:, :-1] < 0) | (depth[:, :-1] > 1))).any(axis=1)
        best = np.where(depth[:, :-1] == 1, gap, 0.0).max(axis=1, initial=0.0)
        longest.append(np.where(broken, 0.0, best))
    return np.concatenate(longest)


def around(at: Points, step: float, ways: int) -> Points:
    turn = 2 * np.pi * np.arange(ways) / ways + 0.0123
    return (at[:, None] + step * np.column_stack([np.cos(turn), np.sin(turn)])).reshape(-1, 2)


def brute(solid: Solid, axis: int) -> float:
    """The longest of rays cast just beside the shadow of every vertex and of every two edges that cross."""
    flat = solid.vertices[:, [(axis + 1) % 3, (axis + 2) % 3]]
    edges = np.unique(np.sort(solid.triangles[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2), axis=1), axis=0)
    start = flat[edges[:, 0]]
    way = flat[edges[:, 1]] - start
    a, b = np.triu_indices(len(edges), 1)
    turn = way[a, 0] * way[b, 1] - way[a, 1] * way[b, 0]
    a, b, turn = (part[np.abs(turn) > 1e-14] for part in (a, b, turn))
    dx, dy = (start[b] - start[a]).T
    on_a, on_b = (dx * way[b, 1] - dy * way[b, 0]) / turn, (dx * way[a, 1] - dy * way[a, 0]) / turn
    cross = (np.abs(on_a - 0.5) < 0.5 + 1e-9) & (np.abs(on_b - 0.5) < 0.5 + 1e-9)
    corners = np.vstack([flat, start[a[cross]] + on_a[cross, None] * way[a[cross]]])
    return float(chords(solid, axis, around(np.unique(np.round(corners, 9), axis=0), NUDGE, 24)).max())


def grid(solid: Solid, axis: int, n: int = 60) -> float:
    plane = [(axis + 1) % 3, (axis + 2) % 3]
    low, high = solid.bounds[:, plane]
    share = (np.arange(n) + 0.381) / n
    at = low + (high - low) * np.stack(np.meshgrid(share, share), axis=-1).reshape(-1, 2)
    return float(chords(solid, axis, at).max())


def beside(solid: Solid, run: Run) -> float:
    """The longest of rays cast all round where a run was found: as near as makes no matter to the limit itself."""
    at = np.array([run.start_m])[:, [(run.axis + 1) % 3, (run.axis + 2) % 3]]
    return max(float(chords(solid, run.axis, around(at, step, 7200)).max()) for step in (1e-7, 1e-5))


def held_to_rays(solid: Solid) -> None:
    for run in clear_runs(solid):
        assert run.length_m <= run.limit_m <= run.length_m + EXACT
        assert run.length_m >= grid(solid, run.axis) - EXACT
        assert run.length_m >= brute(solid, run.axis) - EXACT
        assert run.length_m <= beside(solid, run) + 1e-4
        assert run.end_m[run.axis] - run.start_m[run.axis] == pytest.approx(run.length_m, abs=1e-12)
        assert np.delete(run.start_m, run.axis).tolist() == np.delete(run.end_m, run.axis).tolist()


# ---- closed forms


def test_box() -> None:
    assert lengths(LOCKER) == pytest.approx([1.2, 0.6, 0.5], rel=1e-14)
    x, y, z = clear_runs(LOCKER)
    assert (x.axis, y.axis, z.axis) == (0, 1, 2)
    assert (x.start_m[0], x.end_m[0]) == (0.0, 1.2)


def test_a_post_hides_only_what_is_behind_it() -> None:
    assert lengths(LOCKER - post(0.6, 0.3, 0.05)) == pytest.approx([1.2, 0.6, 0.5], rel=1e-14)


def test_a_post_too_broad_to_pass() -> None:
    """A round post wider than the locker leaves two rooms; what is clear in each runs from wall to post."""
    r = 0.31
    x, y, z = lengths(LOCKER - post(0.5, 0.3, r, 400))
    assert x == pytest.approx(1.2 - 0.5 - math.sqrt(r**2 - 0.3**2), abs=2e-4)  # along the side wall, past its shoulder
    assert y == pytest.approx(0.6, rel=1e-14)
    assert z == pytest.approx(0.5, rel=1e-14)


def test_pyramid_from_edge_to_edge() -> None:
    """Right-angled corner of a cube: each edge at the corner is the longest line along it, and only its limit."""
    corner = hull(np.array([[0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1.0]]))
    for run in clear_runs(corner):
        assert run.length_m == pytest.approx(1, rel=1e-12)
        assert run.start_m == pytest.approx((0, 0, 0), abs=1e-12)


def test_octahedron_from_point_to_point() -> None:
    solid = hull(np.array([[0.7, 0, 0], [-0.7, 0, 0], [0, 0.5, 0], [0, -0.5, 0], [0, 0, 0.3], [0, 0, -0.3]]))
    assert lengths(solid) == pytest.approx([1.4, 1.0, 0.6], rel=1e-12)


def test_ball() -> None:
    """A ball of facets with corners on the axes, longest from pole to pole and between opposite corners."""
    turn = np.arange(1, 12) * np.pi / 12
    rings = [(math.cos(t), math.sin(t) * math.cos(s), math.sin(t) * math.sin(s)) for t in turn for s in 2 * turn]
    rings += [(math.cos(t), math.sin(t), 0.0) for t in turn] + [(1.0, 0, 0), (-1.0, 0, 0)]
    assert lengths(hull(np.array(rings)))[0] == pytest.approx(2, rel=1e-12)


def test_l_shape() -> None:
    solid = LOCKER - block((0.4, -1, 0.2), (2, 2, 2))
    assert lengths(solid) == pytest.approx([1.2, 0.6, 0.5], rel=1e-12)
    x, _, z = clear_runs(solid)
    assert x.start_m[2] <= 0.2
    assert z.start_m[0] <= 0.4


def test_a_line_does_not_jump_from_arm_to_arm() -> None:
    solid = LOCKER - block((0.3, -1, 0.1), (0.8, 2, 2)) - block((-1, -1, -1), (2, 2, 0.1))
    assert lengths(solid) == pytest.approx([0.4, 0.6, 0.4], rel=1e-12)
    assert clear_runs(solid)[0].start_m[0] == pytest.approx(0.8)


def test_crossed_rails_leave_the_gap_between_their_shadows() -> None:
    """Rails fore and aft on the sole and athwartships under the deck: the full height is clear where neither is."""
    rails = [block((-1, y, -1), (2, y + 0.2, 0.2)) for y in (-0.05, 0.22, 0.45)]
    beams = [block((x, -1, 0.3), (x + 0.5, 1, 1)) for x in (-0.1, 0.45, 1.0)]
    run = clear_runs(LOCKER.cleared_of(rails + beams))[2]
    assert run.length_m == pytest.approx(0.5, rel=1e-12)
    assert min(abs(run.start_m[0] - x) for x in (0.425, 0.975)) <= 0.025 + 1e-9
    assert min(abs(run.start_m[1] - y) for y in (0.185, 0.435)) <= 0.035 + 1e-9


def test_a_sealed_void_and_a_second_body_are_seen() -> None:
    void = LOCKER - block((0.2, 0.1, 0.1), (1.1, 0.5, 0.4))
    assert lengths(void) == pytest.approx([1.2, 0.6, 0.5], rel=1e-12)
    thick = block((0, 0, 0), (1, 1, 1)) - block((0.1, -1, 0.2), (0.7, 2, 0.9)) - block((-1, -1, 0.95), (2, 2, 2))
    assert lengths(thick)[2] == pytest.approx(0.95, rel=1e-12)
    pair = united([LOCKER, block((3, 3, 3), (3.1, 5, 3.1))])
    assert lengths(pair) == pytest.approx([1.2, 2.0, 0.5], rel=1e-12)


def test_lines_that_slip_between_touching_bodies_do_not_count() -> None:
    """Two boxes that share no more than an edge: a line along the sides that meet would pass from one to the other."""
    pair = united([block((0, 0, 0), (1, 1, 1)), block((1, 1, 0), (2, 2, 1))])
    assert lengths(pair) == pytest.approx([1, 1, 1], rel=1e-9)


def test_flush_faces_join() -> None:
    row = united([block((0, 0, 0), (1, 1, 1)), block((1, 0.2, 0.2), (2, 0.8, 0.8)), block((2, 0, 0), (3, 1, 0.5))])
    assert lengths(row) == pytest.approx([3, 1, 1], rel=1e-12)


def test_an_empty_solid_has_none() -> None:
    assert lengths(LOCKER - LOCKER) == [0, 0, 0]


# ---- rays


def tapered(stations: int, sides: int) -> Solid:
    """A locker against the hull: a quarter round that narrows and rises forward, flat inboard and on top."""
    x = np.linspace(0, 2, stations)
    turn = np.linspace(0, np.pi / 2, sides)
    skin = [(a, (0.8 - 0.1 * a * a) * math.cos(t), -(0.7 - 0.08 * a) * math.sin(t)) for a in x for t in turn]
    return hull(np.array([*skin, (0, 0, 0), (2, 0, 0)]))


@pytest.mark.parametrize(
    "cuts",
    [
        [],
        [post(0.9, 0.3, 0.05, 12)],
        [block((0.5, -1, -1), (1.2, 0.4, -0.3)), post(1.4, 0.2, 0.04, 8)],
        [block((-1, -1, -1), (3, 0.05, 1)), block((0.8, -1, -1), (0.81, 2, -0.2)), block((1.5, 0.3, -1), (3, 2, 1))],
        [body(prism(circle((0.3, -0.3), 0.05, Round.OUTSIDE, 8), -1, 3, 0)), post(0.7, 0.3, 0.06, 9)],
    ],
    ids=["bare", "post", "step and post", "panels flush and not", "pipe across a post"],
)
def test_lockers_against_the_hull(cuts: list[Solid]) -> None:
    held_to_rays(tapered(4, 4).cleared_of(cuts))


@st.composite
def rough(draw: st.DrawFn) -> Solid:
    """A convex solid or a box with blocks, prisms and other solids cut from it and added, on a coarse grid or not."""
    seed, step, more = (
        draw(st.integers(0, 2**32 - 1)),
        draw(st.sampled_from([0.1, 0.05, 1e-5])),
        draw(st.integers(0, 3)),
    )
    note(f"{seed=} {step=} {more=}")
    rng = np.random.default_rng(seed)

    def snapped(values: Points) -> Points:
        return np.round(values / step) * step

    def piece() -> Solid:
        kind = int(rng.integers(3))
        if kind == 0:
            low = snapped(rng.uniform(-0.3, 0.8, 3))
            return body(box(tuple(low), tuple(low + snapped(rng.uniform(0.1, 0.8, 3)) + step)))
        if kind == 1:
            at, end = rng.random(2), float(snapped(rng.uniform(-0.2, 0.6, 1))[0])
            ring = circle((at[0], at[1]), rng.uniform(0.1, 0.3), Round.INSIDE, int(rng.integers(3, 8)))
            return body(prism(ring, end, end + 0.5, int(rng.integers(3))))
        return hull(np.vstack([snapped(rng.random((9, 3))), [[0.3, 0.3, 0.3], [0.3, 0.4, 0.35], [0.35, 0.3, 0.45]]]))

    solid = piece()
    for _ in range(more):
        solid = solid - piece() if rng.random() < 0.7 else solid + piece()
    assume(not solid.is_empty and len(solid.triangles) <= 160)
    return solid


@given(rough())
@settings(max_examples=50, deadline=None)
def test_rough_solids(solid: Solid) -> None:
    held_to_rays(solid)


@given(rough())
@settings(max_examples=30, deadline=None)
def test_a_mirrored_twin_and_a_moved_one_are_as_clear(solid: Solid) -> None:
    assert lengths(solid.mirrored()) == pytest.approx(lengths(solid), abs=EXACT)
    assert lengths(solid.moved((3.7, -2.9, 1.3))) == pytest.approx(lengths(solid), abs=EXACT)


@given(rough())
@settings(max_examples=30, deadline=None)
def test_cutting_more_away_makes_nothing_longer(solid: Solid) -> None:
    less = solid - post(0.5, 0.5, 0.15, 7)
    assert all(after <= before + EXACT for before, after in zip(lengths(solid), lengths(less), strict=True))


def test_where_it_stops_proving_it_says_what_could_be(monkeypatch: pytest.MonkeyPatch) -> None:
    solid = tapered(6, 6).cleared_of([post(0.9, 0.3, 0.05, 12), post(0.5, 0.2, 0.03, 12)])
    proved = clear_runs(solid)
    monkeypatch.setattr(runs, "PATIENCE", 300)
    short = clear_runs(solid)
    assert any(run.limit_m > run.length_m + 1e-3 for run in short)
    for all_of_it, some in zip(proved, short, strict=True):
        assert some.length_m <= all_of_it.length_m + EXACT <= some.limit_m + 2 * EXACT
