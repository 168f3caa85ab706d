"""The largest upright box: textbook forms, then every box there is, then other kernels, then what must always hold."""

import itertools
import math
from collections.abc import Iterator
from dataclasses import dataclass

import igl
import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.spatial import ConvexHull

from tapeloft.model import boxsearch
from tapeloft.model.boxes import BoxFound, largest_box
from tapeloft.model.errors import GeometryError
from tapeloft.model.facets import body
from tapeloft.model.flats import RESTS, flats
from tapeloft.model.solid import Solid, closed, united
from tapeloft.shapes.polyhedron import Polyhedron, Round, box, circle, prism

pytestmark = pytest.mark.usefixtures("warmed")

Numbers = NDArray[np.float64]
often = settings(max_examples=25, deadline=None)
seldom = settings(max_examples=6, deadline=None)

ROOM = body(box((0, 0, 0), (1.2, 0.6, 0.5)))


def block(low: tuple[float, float, float], high: tuple[float, float, float]) -> Solid:
    return body(box(low, high))


def pyramid(outline: Numbers, height: float) -> Solid:
    """The body from a plane outline, counter-clockwise, (n, 2), to a point above the origin."""
    n = len(outline)
    vertices = np.vstack([np.column_stack([outline, np.zeros(n)]), [[0, 0, height]]])
    return body(Polyhedron(vertices, (tuple(range(n))[::-1], *((i, (i + 1) % n, n) for i in range(n)))))


def ellipsoid(half: tuple[float, float, float], sides: int) -> Solid:
    """The convex hull of sides × sides points of an ellipsoid: it lies within it."""
    down, turn = np.meshgrid(np.linspace(0, np.pi, sides + 1), 2 * np.pi * np.arange(sides) / sides)
    points = np.stack([np.sin(down) * np.cos(turn), np.sin(down) * np.sin(turn), np.cos(down)], axis=-1).reshape(-1, 3)
    _, first = np.unique(points.round(12), axis=0, return_index=True)
    points = points[first]
    found = ConvexHull(points)
    a, b, c = np.moveaxis(points[found.simplices], 1, 0)
    outward = np.einsum("ij,ij->i", np.cross(b - a, c - a), a) > 0
    triangles = np.where(outward[:, None], found.simplices, found.simplices[:, ::-1])
    return closed(points * half, triangles.astype(np.int64))


def asked_of(solid: Solid, **rules: float) -> BoxFound:
    """The answer, which must be there, and must hold together."""
    found = largest_box(solid, solid, **rules)  # type: ignore[arg-type]
    assert found is not None
    sides = np.subtract(found.high, found.low)
    assert (sides > 0).all()
    assert found.volume_m3 == pytest.approx(math.prod(sides.tolist()), rel=1e-12)
    assert found.limit_m3 >= found.volume_m3
    assert found.gap == pytest.approx(found.limit_m3 / found.volume_m3 - 1, abs=1e-12)
    return found


# closed forms


@pytest.mark.parametrize(
    ("solid", "exact", "within"),
    [
        # 8abc/(3√3), Lagrange multipliers, any calculus text (from memory); the mesh of 48 sides, inscribed, loses
        # at most three times the sagitta of its cells, (π/48)² / 2 a direction, of each side
        (ellipsoid((3, 2, 1), 48), 8 * 6 / (3 * math.sqrt(3)), 3 * (math.pi / 48) ** 2),
        # a cube in the unit sphere, side 2/√3: the same with a = b = c = 1
        (ellipsoid((1, 1, 1), 48), (2 / math.sqrt(3)) ** 3, 3 * (math.pi / 48) ** 2),
        # in a cone, R = H = 1: s = 2R/3·√2, height H/3, 8/27 (derivation: maximise 2r²·(1 − r)); 256 sides inscribed
        (pyramid(circle((0, 0), 1.0, Round.INSIDE, 256), 1.0), 8 / 27, (math.pi / 256) ** 2),
        # in a square pyramid of base 1 and height 1: s²(1 − s) is 4/27 at s = 2/3 (derivation)
        (pyramid(np.array([[-0.5, -0.5], [0.5, -0.5], [0.5, 0.5], [-0.5, 0.5]]), 1.0), 4 / 27, 1e-9),
        # in a right triangle the largest rectangle along the legs is half of it (Euclid VI.27); a prism of it, 3 long
        (body(prism(np.array([[0, 0], [2, 0], [0, 1.0]]), 0, 3, axis=1)), 1.5, 1e-9),
        # a corner cut off by x + y + z = 1: xyz is 1/27 at the middle (inequality of the means)
        (pyramid(np.array([[0, 0], [1, 0], [0, 1.0]]), 1.0), 1 / 27, 1e-9),
    ],
    ids=["ellipsoid", "sphere", "cone", "square pyramid", "right triangle", "corner"],
)
def test_closed_forms(solid: Solid, exact: float, within: float) -> None:
    found = asked_of(solid, tolerance=1e-3)
    assert found.proved
    assert exact * (1 - within) * (1 - 1e-3) <= found.volume_m3 <= exact
    assert exact * (1 - within) <= found.limit_m3 <= exact * (1 + 1e-3)


def test_rectangular_space_is_its_own_largest_box() -> None:
    found = asked_of(ROOM, tolerance=1e-4)
    assert found.low == pytest.approx((0, 0, 0), abs=1e-4)
    assert found.high == pytest.approx((1.2, 0.6, 0.5), abs=1e-4)
    assert found.limit_m3 >= 0.36
    assert found.proved


def test_post_in_the_way_is_passed_on_the_wider_side() -> None:
    """A post through a rectangular space leaves the larger of the two lengths beside it."""
    found = asked_of(ROOM - block((0.5, 0.2, -1), (0.58, 0.28, 1)), tolerance=1e-4)
    assert found.volume_m3 == pytest.approx(max(0.5 * 0.6, 0.62 * 0.6, 1.2 * 0.32) * 0.5, rel=1e-4)


def test_thing_that_floats_is_not_swallowed() -> None:
    found = asked_of(ROOM - block((0.55, 0.25, 0.2), (0.65, 0.35, 0.3)), tolerance=1e-4)
    assert found.volume_m3 == pytest.approx(max(0.55 * 0.6 * 0.5, 1.2 * 0.25 * 0.5, 1.2 * 0.6 * 0.2), rel=1e-4)


def test_box_lies_in_one_bay() -> None:
    two = ROOM + block((1.21, 0, 0), (2.5, 0.6, 0.5))
    found = asked_of(two, tolerance=1e-4)
    assert found.volume_m3 == pytest.approx(1.29 * 0.6 * 0.5, rel=1e-4)
    assert found.low[0] > 1.2


def test_bays_with_a_panel_of_no_thickness_are_two() -> None:
    """Surfaces are walls, whatever their thickness."""
    here, there = ROOM, ROOM.moved((1.2, 0, 0))
    vertices = np.vstack([here.vertices, there.vertices])
    both = closed(vertices, np.vstack([here.triangles, there.triangles + len(here.vertices)]))
    assert asked_of(both, tolerance=1e-4).limit_m3 < 0.3601


def test_nothing_fits_in_nothing() -> None:
    empty = ROOM - block((-1, -1, -1), (2, 2, 2))
    assert largest_box(empty, empty) is None
    assert largest_box(ROOM, ROOM, stands_on=()) is None


@pytest.mark.parametrize(
    "rules",
    [
        {"tolerance": 0.0}, {"tolerance": math.nan}, {"clearance": -0.01}, {"clearance": math.nan},
        {"height": 0.0}, {"height": math.nan}, {"height": math.inf}, {"within_s": -1.0}, {"within_s": math.nan},
    ],
    ids=str,
)  # fmt: skip
def test_arguments_out_of_range(rules: dict[str, float]) -> None:
    with pytest.raises(ValueError, match="must be"):
        largest_box(ROOM, ROOM, **rules)  # type: ignore[arg-type]


# rules


def test_clearance_is_kept_on_every_side() -> None:
    found = asked_of(ROOM, tolerance=1e-4, clearance=0.05)
    assert found.low == pytest.approx((0.05, 0.05, 0.05), abs=1e-5)
    assert found.high == pytest.approx((1.15, 0.55, 0.45), abs=1e-5)
    assert largest_box(ROOM, ROOM, clearance=0.25001) is None


def test_exactly_the_height_of_the_space_fits_and_no_more() -> None:
    found = asked_of(ROOM, tolerance=1e-4, height=0.5)
    assert found.high[2] - found.low[2] == 0.5
    assert found.volume_m3 == pytest.approx(0.36, rel=2e-5)
    assert largest_box(ROOM, ROOM, height=0.5001) is None
    assert largest_box(ROOM, ROOM, height=0.5, clearance=0.0001) is None


def test_given_height_under_a_slope() -> None:
    """Under a roof from z = 1 at y = 0 to 0 at y = 2, a box of height h is 2(1 − h) broad (similar triangles)."""
    solid = body(prism(np.array([[0, 0], [2, 0], [0, 1.0]]), 0, 3, axis=0))
    for height in (0.1, 0.5, 0.9):
        found = asked_of(solid, tolerance=1e-4, height=height)
        assert found.volume_m3 == pytest.approx(3 * 2 * (1 - height) * height, rel=1e-4)


def test_standing_on_a_step_does_not_hang_over_its_edge() -> None:
    stepped = ROOM - block((0.8, -1, -1), (2, 2, 0.1))
    assert flats(stepped) == (0.0, 0.1)
    assert asked_of(stepped, tolerance=1e-4).volume_m3 == pytest.approx(1.2 * 0.6 * 0.4, rel=1e-4)
    step = asked_of(stepped, tolerance=1e-4, stands_on=0.1)
    assert step.low == pytest.approx((0.8, 0, 0.1), abs=1e-5)
    assert step.low[2] == 0.1
    assert step.standing
    low = asked_of(stepped, tolerance=1e-4, stands_on=0.0)
    assert low.volume_m3 == pytest.approx(0.8 * 0.6 * 0.5, rel=1e-4)
    either = largest_box(stepped, stepped, tolerance=1e-4, stands_on=flats(stepped))
    assert either is not None
    assert either.low[2] == 0.0
    assert either.limit_m3 == pytest.approx(0.24, rel=2e-4)


def test_standing_keeps_clear_above_and_aside_only() -> None:
    found = asked_of(ROOM, tolerance=1e-4, stands_on=0.0, clearance=0.05)
    assert found.low == pytest.approx((0.05, 0.05, 0.0), abs=1e-5)
    assert found.high == pytest.approx((1.15, 0.55, 0.45), abs=1e-5)


def test_standing_at_a_given_height() -> None:
    found = asked_of(ROOM, tolerance=1e-4, stands_on=0.0, height=0.3, clearance=0.05)
    assert (found.low[2], found.high[2]) == (0.0, 0.3)
    assert found.volume_m3 == pytest.approx(1.1 * 0.5 * 0.3, rel=1e-4)
    assert largest_box(ROOM, ROOM, stands_on=0.0, height=0.46, clearance=0.05) is None


def test_standing_on_a_grate_over_a_sloping_sole() -> None:
    """A grate at 0.1 over a sole that rises 1 in 5 from 0 leaves the 0.5 high over it, less what the sole takes."""
    sloping = ROOM - body(prism(np.array([[-1, -1], [1.5, -1], [1.5, 0.3], [-1, -0.2]]), -1, 2, axis=1))
    found = asked_of(sloping, tolerance=1e-4, on_grate=0.1)
    assert found.low == pytest.approx((0, 0, 0.1), abs=1e-5)
    assert found.low[2] == 0.1
    assert found.high == pytest.approx((0.5, 0.6, 0.5), abs=1e-5)
    with pytest.raises(ValueError, match="not on both"):
        largest_box(sloping, sloping, on_grate=0.1, stands_on=0.1)
    assert largest_box(sloping, sloping, on_grate=0.6) is None


def test_sole_uneven_by_millimetres_bears_a_box() -> None:
    """Three strips of sole at 0, 4 and 8 mm: all within RESTS of the highest; at 12 mm the lowest is not."""
    uneven = ROOM - block((0.4, -1, -1), (0.8, 2, 0.004)) - block((0.8, -1, -1), (2, 2, 0.008))
    assert flats(uneven) == (0.008,)
    found = asked_of(uneven, tolerance=1e-4, stands_on=0.008)
    assert found.volume_m3 == pytest.approx(1.2 * 0.6 * 0.492, rel=1e-4)
    deeper = uneven - block((0.8, -1, -1), (2, 2, 0.012))
    found = asked_of(deeper, tolerance=1e-4, stands_on=0.012)
    assert found.low[0] == pytest.approx(0.4, abs=1e-5)


def test_sloping_sole_has_no_flat() -> None:
    """Of a sole that rises 1 in 5 only RESTS / (1 / 5) is near enough below a level bottom (similar triangles)."""
    solid = ROOM - body(prism(np.array([[-1, -1], [1.5, -1], [1.5, 0.3], [-1, -0.2]]), -1, 2, axis=1))
    assert flats(solid) == ()
    found = asked_of(solid, tolerance=1e-3, stands_on=0.1)
    assert found.high[0] - found.low[0] == pytest.approx(5 * RESTS, rel=1e-3)
    assert found.high[0] == pytest.approx(0.5, abs=1e-5)


def test_thin_shelf_bears_a_box() -> None:
    """What lies below the shelf, thinner than RESTS, does not matter to what stands on it."""
    shelf = ROOM - block((-1, -1, 0.2), (2, 2, 0.2 + RESTS / 2))
    found = asked_of(shelf, tolerance=1e-4, stands_on=0.2 + RESTS / 2)
    assert found.volume_m3 == pytest.approx(1.2 * 0.6 * (0.3 - RESTS / 2), rel=1e-4)


def post(how: Round) -> Solid:
    return body(prism(circle((0.62, 0.3), 0.04, how, 16), -1, 1, axis=2))


def test_round_post_is_refused_by_its_outside_and_limited_by_its_inside() -> None:
    """The true cylinder leaves 0.58 beside it; drawn with 16 sides it takes a little more, and a little less."""
    inside, outside = ROOM - post(Round.OUTSIDE), ROOM - post(Round.INSIDE)
    found = largest_box(inside, outside)
    assert found is not None
    assert found.proved
    assert found.volume_m3 <= 0.58 * 0.6 * 0.5 <= found.limit_m3
    assert (block(found.low, found.high) ^ body(prism(circle((0.62, 0.3), 0.04, Round.OUTSIDE, 96), -1, 1, 2))).is_empty


def test_place_that_only_the_outside_has_leaves_the_gap_open() -> None:
    """A height that only `outside` has: the limit is of that, the box the best of `inside`, and nothing is proved."""
    found = largest_box(ROOM, block((0, 0, 0), (1.2, 0.6, 0.8)))
    assert found is not None
    assert not found.proved
    assert found.volume_m3 == pytest.approx(0.36, rel=1e-3)
    assert found.limit_m3 == pytest.approx(0.576, rel=1e-3)


def test_limit_holds_where_the_inside_has_no_room_at_all() -> None:
    found = largest_box(ROOM - block((-1, -1, -1), (2, 2, 2)), ROOM, within_s=0.0)
    assert found is not None
    assert not found.proved
    assert found.limit_m3 >= 0.36


# every box there is


@dataclass(frozen=True)
class Cells:
    """Cells of an uneven grid that are space; edges (n + 1,) m on each axis, more than RESTS apart."""

    filled: NDArray[np.bool_]
    edges: tuple[Numbers, Numbers, Numbers]

    def solid(self) -> Solid:
        corners = [(tuple(e[i] for e, i in zip(self.edges, cell, strict=True)), cell) for cell in self.places()]
        return united([block(low, self.far(cell)) for low, cell in corners])  # type: ignore[arg-type]

    def places(self) -> list[tuple[int, ...]]:
        return [tuple(cell) for cell in np.argwhere(self.filled).tolist()]

    def far(self, cell: tuple[int, ...]) -> tuple[float, float, float]:
        x, y, z = (float(e[i + 1]) for e, i in zip(self.edges, cell, strict=True))
        return x, y, z

    def clear(self) -> Iterator[tuple[Numbers, slice, slice, int]]:
        """Sides, (3,), of each box of whole cells that is all space, and what cells it stands over."""
        spans = [list(itertools.combinations(range(len(e)), 2)) for e in self.edges]
        for (a, b), (c, d), (e, f) in itertools.product(*spans):
            if self.filled[a:b, c:d, e:f].all():
                x, y, z = self.edges
                yield np.array([x[b] - x[a], y[d] - y[c], z[f] - z[e]]), slice(a, b), slice(c, d), e

    def best(self, clearance: float, height: float | None, standing: bool) -> float:
        """The largest volume, by trying all: a box with its clearance can always be widened to whole cells."""
        least = np.array([2, 2, 1 if standing else 2]) * clearance
        best = 0.0
        for sides, a, b, e in self.clear():
            if standing and e > 0 and self.filled[a, b, e - 1].any():
                continue
            sides = sides - least
            if (sides > 0).all() and (height is None or sides[2] >= height - 1e-9):
                best = max(best, float(sides[0] * sides[1] * (sides[2] if height is None else height)))
        return best


@st.composite
def cells(draw: st.DrawFn) -> Cells:
    counts = [draw(st.integers(2, 5)) for _ in range(3)]
    steps = [draw(st.lists(st.integers(3, 50), min_size=n, max_size=n)) for n in counts]
    filled = np.zeros(counts, bool)
    for space in [True] * draw(st.integers(1, 3)) + [False] * draw(st.integers(0, 4)):
        ends = [sorted(draw(st.tuples(st.integers(0, n), st.integers(0, n)))) for n in counts]
        filled[tuple(slice(a, b) for a, b in ends)] = space
    assume(filled.any())
    return Cells(filled, tuple(np.concatenate([[0], np.cumsum(s)]) / 100 for s in steps))  # type: ignore[arg-type]


def agrees(found: BoxFound | None, exact: float, solid: Solid, height: float | None = None) -> bool:
    """Whether an answer, to 0.2 %, agrees with the exact volume; boxes below LEAST are not looked for."""
    if found is None:
        least = boxsearch.LEAST * float(np.linalg.norm(np.diff(solid.bounds, axis=0)))
        return exact <= 1.01 * least**2 * (least if height is None else height)
    held = found.volume_m3 <= exact * (1 + 1e-9) and found.volume_m3 >= exact * (1 - 2e-3)
    return held and found.limit_m3 >= exact and found.proved


@often
@given(cells(), st.sampled_from([0.0, 0.0, 0.004, 0.02]), st.booleans())
def test_all_boxes_of_cells(space: Cells, clearance: float, standing: bool) -> None:
    solid = space.solid()
    levels = space.edges[2].tolist() if standing else None
    found = largest_box(solid, solid, tolerance=2e-3, clearance=clearance, stands_on=levels)
    assert agrees(found, space.best(clearance, None, standing), solid)


@often
@given(cells(), st.integers(0, 4), st.sampled_from([-0.013, 0.0, 0.013]), st.booleans())
def test_all_boxes_of_cells_at_a_given_height(space: Cells, step: int, more: float, standing: bool) -> None:
    """Heights just under, exactly, and just over what cells allow."""
    steps = np.diff(space.edges[2])
    height = float(steps[: step % len(steps) + 1].sum() + more)
    solid = space.solid()
    levels = space.edges[2].tolist() if standing else None
    found = largest_box(solid, solid, tolerance=2e-3, height=height, stands_on=levels)
    assert agrees(found, space.best(0.0, height, standing), solid, height)


# other kernels


@st.composite
def lofts(draw: st.DrawFn) -> Solid:
    """A closed body of star-shaped sections, hollow and bulged at random, with up to three posts through it."""
    random = np.random.default_rng(draw(st.integers(0, 10**6)))
    stations, sides = draw(st.integers(2, 6)), draw(st.integers(4, 10))
    turn = 2 * np.pi * (np.arange(sides) + random.uniform(-0.3, 0.3, sides)) / sides
    radius = random.uniform(0.25, 0.6, (stations, sides))
    along = np.cumsum(random.uniform(0.2, 0.6, stations))
    rings = np.stack([np.tile(along[:, None], sides), radius * np.cos(turn), radius * np.sin(turn)], axis=-1).reshape(
        -1, 3
    )
    ends = np.array([[along[0], 0, 0], [along[-1], 0, 0]])
    k = np.arange(stations * sides).reshape(stations, sides)
    a, b, c, d = k[:-1], np.roll(k, -1, 1)[:-1], np.roll(k, -1, 1)[1:], k[1:]
    walls = [np.stack(w, axis=-1).reshape(-1, 3) for w in ((a, b, c), (a, c, d))]
    first = np.stack([np.full(sides, k.size), np.roll(k[0], -1), k[0]], axis=-1)
    last = np.stack([np.full(sides, k.size + 1), k[-1], np.roll(k[-1], -1)], axis=-1)
    solid = closed(np.vstack([rings, ends]), np.vstack([*walls, first, last]))
    for _ in range(draw(st.integers(0, 3))):
        middle = (float(random.uniform(along[0], along[-1])), float(random.uniform(-0.3, 0.3)))
        solid = solid - body(prism(circle(middle, 0.05, Round.OUTSIDE, 12), -1, 1, axis=2))
    return solid


def climbed_at_random(solid: Solid, random: np.random.Generator, starts: int, tries: int) -> float:
    """The largest volume met by widening boxes face by face, each checked by the boolean kernel alone."""
    low, high = solid.bounds
    best = 0.0
    for _ in range(starts):
        middle = random.uniform(low, high)
        now, step = np.concatenate([middle - 0.01, middle + 0.01]), 0.3
        if not within(now, solid):
            continue
        for _ in range(tries):
            face, trial = random.integers(6), now.copy()
            trial[face] += step * random.uniform(0, 1) * (-1 if face < 3 else 1)
            trial[(face + random.integers(1, 6)) % 6] += 0.1 * step * random.uniform(-1, 1)
            better = math.prod((trial[3:] - trial[:3]).tolist()) > math.prod((now[3:] - now[:3]).tolist())
            if better and (trial[3:] > trial[:3]).all() and within(trial, solid):
                now = trial
            else:
                step = max(step * 0.95, 1e-3)
        best = max(best, math.prod((now[3:] - now[:3]).tolist()))
    return best


def within(corners: Numbers, solid: Solid) -> bool:
    x0, y0, z0, x1, y1, z1 = corners.tolist()
    return (block((x0, y0, z0), (x1, y1, z1)) - solid).volume < 1e-15


@seldom
@given(lofts(), st.integers(0, 10**6))
def test_no_box_found_otherwise_passes_the_limit(solid: Solid, seed: int) -> None:
    found = asked_of(solid)
    assert found.proved
    assert within(np.array([*found.low, *found.high]), solid)
    tried = climbed_at_random(solid, np.random.default_rng(seed), starts=8, tries=150)
    assert tried <= found.limit_m3


@seldom
@given(lofts())
def test_box_is_inside_by_winding_number(solid: Solid) -> None:
    """No corner or point on the box's faces is outside by libigl's generalised winding number."""
    found = asked_of(solid)
    share = np.stack(np.meshgrid(*[np.linspace(0, 1, 9)] * 3), axis=-1).reshape(-1, 3)
    points = np.add(found.low, share * np.subtract(found.high, found.low))
    number = igl.winding_number(np.asarray(solid.vertices), np.asarray(solid.triangles), points)
    assert (number > 0.99).all()


# what must always hold


@seldom
@given(lofts())
def test_nothing_changes_when_mirrored_or_moved(solid: Solid) -> None:
    found = asked_of(solid)
    for other in (solid.mirrored(), solid.moved((3.21, -1.234, 10.5))):
        again = asked_of(other)
        assert again.volume_m3 <= found.limit_m3 * (1 + 1e-9)
        assert found.volume_m3 <= again.limit_m3 * (1 + 1e-9)


@seldom
@given(lofts(), st.randoms(use_true_random=False))
def test_order_of_triangles_does_not_matter(solid: Solid, random: "np.random.Generator") -> None:
    order = list(range(len(solid.triangles)))
    random.shuffle(order)
    again = asked_of(closed(solid.vertices, solid.triangles[order]))
    found = asked_of(solid)
    assert again.volume_m3 <= found.limit_m3 * (1 + 1e-9)
    assert found.volume_m3 <= again.limit_m3 * (1 + 1e-9)


@seldom
@given(lofts(), st.floats(0.005, 0.03))
def test_larger_clearance_never_gains(solid: Solid, clearance: float) -> None:
    free, kept = asked_of(solid), largest_box(solid, solid, clearance=clearance)
    if kept is not None:
        assert kept.volume_m3 <= free.limit_m3
        low, high = np.subtract(kept.low, clearance), np.add(kept.high, clearance)
        assert within(np.concatenate([low, high]), solid)
        assert math.prod((high - low).tolist()) <= free.limit_m3


@seldom
@given(lofts(), st.floats(0.05, 0.5))
def test_given_height_never_gains(solid: Solid, height: float) -> None:
    free, given_ = asked_of(solid), largest_box(solid, solid, height=height)
    if given_ is not None:
        assert given_.volume_m3 <= free.limit_m3
        assert given_.high[2] - given_.low[2] == pytest.approx(height, rel=1e-12)


def test_same_each_time() -> None:
    solid = ROOM - post(Round.OUTSIDE) - block((-1, -1, -1), (0.3, 2, 0.1))
    assert asked_of(solid) == asked_of(solid)


def test_slivers_and_doubled_faces_are_no_walls() -> None:
    """Needle triangles and coplanar splits of the same room, from pieces set side by side."""
    pieces = [block((k / 10, 0, 0), ((k + 1) / 10, 0.6, 0.5)) for k in range(12)]
    assert asked_of(united(pieces), tolerance=1e-4).volume_m3 == pytest.approx(0.36, rel=1e-4)
    needle = ROOM - block((0.6, 0.3, 0.4999), (0.6001, 0.3001, 0.6))
    assert asked_of(needle, tolerance=1e-4).volume_m3 == pytest.approx(1.2 * 0.6 * 0.4999, rel=1e-4)


# stopping, and checks that can fail


def hard() -> Solid:
    """A cube about a ball that breaks through all six faces: corners only, alike by dozens, and slow to prove."""
    return block((-1, -1, -1), (1, 1, 1)) - ellipsoid((1.15, 1.15, 1.15), 24)


def test_time_runs_out_honestly() -> None:
    solid = hard()
    found = largest_box(solid, solid, within_s=0.3)
    assert found is not None
    assert not found.proved
    assert found.limit_m3 > found.volume_m3 > 0
    assert within(np.array([*found.low, *found.high]), solid)


def test_interrupt_before_any_box_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    """No box yet, and of the limit only what the volume of the whole space says."""

    def interrupted(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(boxsearch, "prepared", interrupted)
    found = largest_box(ROOM, ROOM)
    assert found is not None
    assert (found.low, found.high, found.volume_m3) == ((0.0, 0.0, 0.0), (0.0, 0.0, 0.0), 0.0)
    assert (found.gap, found.proved) == (math.inf, False)
    assert found.limit_m3 == pytest.approx(ROOM.volume, rel=1e-8)


def test_space_on_the_slant() -> None:
    """Of a strip a broad, b high and as long as may be, the largest level rectangle is ab/4 (derivation)."""
    strip = body(prism(np.array([[0, 0], [1, 0.6], [0.9, 0.6], [-0.1, 0]]), 0, 1, axis=0))
    found = asked_of(strip)
    assert found.volume_m3 <= 0.1 * 0.06 / 4 <= found.limit_m3
    assert found.proved


def test_interrupt_returns_the_best_so_far() -> None:
    told: list[tuple[float, float]] = []

    def progress(volume: float, limit: float) -> None:
        told.append((volume, limit))
        if len(told) == 3:
            raise KeyboardInterrupt

    solid = hard()
    found = largest_box(solid, solid, progress=progress)
    assert found is not None
    assert not found.proved
    assert len(told) == 3
    limits = [limit for _, limit in told]
    assert limits == sorted(limits, reverse=True)
    assert told[-1][0] <= found.volume_m3 * (1 + 1e-4)
    assert found.limit_m3 <= told[-1][1] * (1 + 1e-6)


@pytest.mark.parametrize("by", [[0, 0, 0, 0.001, 0, 0], [0, 0, 0.001, 0, 0, 0.001]])
def test_second_check_can_fail(by: list[float], monkeypatch: pytest.MonkeyPatch) -> None:
    """A search that gave out a box through a wall would be caught."""
    search = boxsearch.search

    def wrong(body: object, inside: object, wish: object, best: boxsearch.Best, *rest: object) -> None:
        search(body, inside, wish, best, *rest)  # type: ignore[arg-type]
        assert best.box is not None
        best.box = best.box + by

    monkeypatch.setattr(boxsearch, "search", wrong)
    with pytest.raises(GeometryError, match="second check"):
        largest_box(ROOM, ROOM)


def test_flats_are_told_of_however_many_shelves_there_are() -> None:
    """Five shelves with more of a flat than the bare sole has: the best box stands on the sole all the same."""
    shelves = [block((0, 0, z), (1.2, 1, z + 0.012)) for z in (0.15, 0.3, 0.45, 0.6, 0.75)]
    solid = (block((0, 0, 0), (2, 1, 1)) - block((-1, -1, -1), (1.2, 2, 0.05))).cleared_of(shelves)
    assert 0.0 in flats(solid)
    found = largest_box(solid, solid, stands_on=flats(solid))
    assert found is not None
    assert found.volume_m3 == pytest.approx(0.8, rel=1e-3)


def test_a_gently_sloping_sole_has_flats_one_above_another() -> None:
    """A sole that rises 12 mm across 1 m: a level bottom at 12 mm is borne where the sole is above 2 mm, 5/6 of it."""
    wedge = body(prism(np.array([[-1, -1], [1, -1], [1, 0.012], [0, 0.0]]), -1, 3, axis=0))
    solid = block((0, 0, 0), (2, 1, 1)) - wedge
    levels = flats(solid)
    assert max(levels) == pytest.approx(0.012, abs=1e-9)
    found = largest_box(solid, solid, stands_on=levels, tolerance=1e-4)
    assert found is not None
    assert found.volume_m3 == pytest.approx(2 * (5 / 6) * 0.988, rel=2e-3)
