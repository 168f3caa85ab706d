"""What lies below a height: closed forms first, then the boolean kernel's own cuts, then what must always hold."""

import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.spatial import ConvexHull

from tapeloft.model.capacity import Capacity, filled_to, height_of
from tapeloft.model.errors import GeometryError
from tapeloft.model.facets import body
from tapeloft.model.solid import Solid, united
from tapeloft.model.units import CUBIC_FOOT, FRESH_WATER, SEA_WATER
from tapeloft.shapes.polyhedron import Polyhedron, Round, box, circle, prism

Points = NDArray[np.float64]

BOX = body(box((0, 0, 0), (2, 1, 0.5)))
STEPPED = BOX - body(box((-0.1, -0.1, -0.1), (0.5, 1.1, 0.2)))
PYRAMID = body(  # three faces on the planes x = 0, y = 0, z = 0, the fourth on x + y + z = 1
    Polyhedron(np.array([[0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1.0]]), ((0, 2, 1), (0, 1, 3), (0, 3, 2), (1, 2, 3)))
)


def hull(points: Points) -> Solid:
    """The convex solid around points, by scipy's Qhull."""
    found = ConvexHull(points)
    a, b, c = np.moveaxis(points[found.simplices], 1, 0)
    outward = np.einsum("ij,ij->i", np.cross(b - a, c - a), found.equations[:, :3]) > 0
    sides = np.where(outward[:, None], found.simplices, found.simplices[:, ::-1])
    used, sides = np.unique(sides, return_inverse=True)
    return body(Polyhedron(points[used], tuple(map(tuple, sides.reshape(-1, 3).tolist()))))


@st.composite
def solids(draw: st.DrawFn) -> Solid:
    """A convex solid, with or without blocks cut out of it and another piece set beside or into it."""
    rng = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    solid = hull(rng.random((draw(st.integers(4, 12)), 3)))
    for _ in range(draw(st.integers(0, 3))):
        low = rng.uniform(-0.2, 0.9, 3)
        solid -= body(box(tuple(low), tuple(low + rng.uniform(0.05, 0.6, 3))))
    if draw(st.booleans()):
        solid += hull(rng.random((5, 3)) + rng.uniform(-1, 1, 3))
    assume(not solid.is_empty)
    return solid.moved(rng.uniform(-3, 3, 3))


def spread(solid: Solid, n: int = 9) -> Points:
    """Heights over a solid, away from its vertices."""
    low, high = solid.bounds[:, 2]
    inside: Points = low + (high - low) * (np.arange(n) + 0.437) / n
    return inside[np.abs(inside[:, None] - solid.vertices[:, 2]).min(axis=1) > 1e-6]


# ---- closed forms


def test_box_fills_evenly() -> None:
    held = filled_to(BOX, [0.1, 0.5, 0.3])  # in any order
    assert held.volume_m3 == pytest.approx([0.2, 1.0, 0.6], rel=1e-14)
    assert held.plan_area_m2 == pytest.approx([2, 2, 2], rel=1e-14)
    assert held.centroid_m == pytest.approx(np.array([[1, 0.5, 0.05], [1, 0.5, 0.25], [1, 0.5, 0.15]]), rel=1e-14)
    assert held.plan_centroid_m == pytest.approx(np.array([[1, 0.5]] * 3), rel=1e-14)
    # second moment of a rectangle, l·b³/12: any text on the stability of ships
    assert held.transverse_m4 == pytest.approx([2 * 1**3 / 12] * 3, rel=1e-14)
    assert held.longitudinal_m4 == pytest.approx([1 * 2**3 / 12] * 3, rel=1e-14)


@pytest.mark.parametrize("h", [1e-6, 0.01, 0.3, 0.5, 0.9, 1.0])
def test_pyramid_by_its_section(h: float) -> None:
    """The section at h is a right triangle of side 1 − h; s⁴/36 is its second moment about its centre (from memory)."""
    held, s = filled_to(PYRAMID, [h]), 1 - h
    volume = h / 2 - h**2 / 2 + h**3 / 6  # ∫ (1 − z)² / 2
    assert held.volume_m3[0] == pytest.approx(volume, rel=1e-12)
    assert held.plan_area_m2[0] == pytest.approx(s * s / 2, rel=1e-12, abs=1e-16)
    mean_z = (h**2 / 4 - h**3 / 3 + h**4 / 8) / volume  # ∫ z (1 − z)² / 2
    mean_x = (4 * h - 6 * h**2 + 4 * h**3 - h**4) / 24 / volume  # ∫ (1 − z)³ / 6
    assert held.centroid_m[0] == pytest.approx([mean_x, mean_x, mean_z], rel=1e-12, abs=1e-10)
    if s:
        assert held.plan_centroid_m[0] == pytest.approx([s / 3, s / 3], rel=1e-9)
    assert held.transverse_m4[0] == pytest.approx(s**4 / 36, rel=1e-9, abs=1e-16)
    assert held.longitudinal_m4[0] == pytest.approx(s**4 / 36, rel=1e-9, abs=1e-16)


def test_lying_cylinder_by_its_segment() -> None:
    """A tank on its side, 2 m across and 5 m long: the segment of a circle, R² acos(1 − h/R) − (R − h)√(2Rh − h²)."""
    sides = 720
    tank = body(prism(circle((0, 1), 1.0, Round.EQUAL_AREA, sides), 0, 5, 0))
    h = np.linspace(0.05, 1.95, 39)
    segment = np.arccos(1 - h) - (1 - h) * np.sqrt(2 * h - h * h)
    held = filled_to(tank, h)
    assert held.volume_m3 == pytest.approx(5 * segment, rel=2e-3 * 20 / sides, abs=1e-4)
    assert held.plan_area_m2 == pytest.approx(10 * np.sqrt(2 * h - h * h), rel=1e-3)


def test_a_ton_of_sea_water_takes_35_cubic_feet() -> None:
    """Nicholls's Seamanship and Nautical Knowledge counts 35 ft³ of sea water, 36 of fresh, to the long ton."""
    ton = 1016.0469088  # kg, NIST Handbook 44 (from memory)
    hold = body(box((0, 0, 0), (35 * CUBIC_FOOT, 1, 1)))
    assert filled_to(hold, [1]).flooded_kg(SEA_WATER)[0] == pytest.approx(ton, rel=3e-4)
    hold = body(box((0, 0, 0), (36 * CUBIC_FOOT, 1, 1)))
    assert filled_to(hold, [1]).flooded_kg(FRESH_WATER)[0] == pytest.approx(ton, rel=4e-3)


# ---- what a height means


def test_a_level_face_is_met_from_below() -> None:
    below, at, above = filled_to(STEPPED, [0.2 - 1e-9, 0.2, 0.2 + 1e-9]).plan_area_m2
    assert (below, at, above) == pytest.approx((1.5, 1.5, 2.0), rel=1e-12)
    held = filled_to(STEPPED, [0.0, 0.5, 0.7])
    assert held.plan_area_m2 == pytest.approx([0, 2, 0], abs=1e-14)
    assert held.volume_m3 == pytest.approx([0, 0.9, 0.9], rel=1e-14)


def test_nothing_has_no_centre() -> None:
    held = filled_to(BOX, [-1.0, 0.0, 0.6])
    assert held.volume_m3.tolist() == pytest.approx([0, 0, 1])
    assert np.isnan(held.centroid_m).all(axis=1).tolist() == [True, True, False]
    assert np.isnan(held.plan_centroid_m).all(axis=1).tolist() == [True, True, True]
    assert held.transverse_m4.tolist() == [0, 0, 0]


def test_between_two_bodies_there_is_no_surface() -> None:
    pair = united([BOX, body(box((5, 5, 2), (6, 7, 3)))])
    held = filled_to(pair, [1.0, 2.5])
    assert held.plan_area_m2.tolist() == pytest.approx([0, 2])
    assert held.volume_m3.tolist() == pytest.approx([1, 2])
    assert np.isnan(held.plan_centroid_m[0]).all()


def test_air_under_an_overhang_counts_as_filled() -> None:
    bell = body(box((0, 0, 0), (1, 1, 2))) - body(box((0.4, -1, 0.5), (0.6, 2, 3)))
    bell -= body(box((0.5, -1, 1.0), (2, 2, 3)))  # the second leg ends at 1 m, closed
    assert filled_to(bell, [1.5]).volume_m3[0] == pytest.approx(0.5 + 0.4 * 1.0 + 0.4 * 0.5, rel=1e-13)


def test_an_empty_solid_holds_nothing() -> None:
    held = filled_to(BOX - BOX, [0.1, 0.2])
    assert held.volume_m3.tolist() == held.plan_area_m2.tolist() == [0, 0]
    with pytest.raises(GeometryError, match="empty"):
        height_of(BOX - BOX)


def test_no_heights_no_rows() -> None:
    assert filled_to(BOX, []).centroid_m.shape == (0, 3)


@pytest.mark.parametrize("wrong", [math.nan, math.inf])
def test_a_height_is_a_number(wrong: float) -> None:
    with pytest.raises(ValueError, match="finite"):
        filled_to(BOX, [0.1, wrong])


def test_answers_cannot_be_written_on() -> None:
    heights = np.array([0.1])
    held = filled_to(BOX, heights)
    heights[0] = 7
    assert held.heights_m.tolist() == [0.1]
    for name in Capacity.__dataclass_fields__:
        with pytest.raises(ValueError, match="read-only"):
            getattr(held, name)[0] = 1.0


# ---- the boolean kernel's own cuts


def lid(part: Solid, h: float) -> tuple[float, Points, float, float]:
    """Area, centroid and both second moments of the level face of *part* at h, by three-point quadrature.

    The rule takes the middles of the sides, and is exact for squares (any text on finite elements).
    """
    p = part.vertices[part.triangles]
    p = p[np.abs(p[:, :, 2] - h).max(axis=1) < 1e-9][:, :, :2]
    a, b = np.moveaxis(p[:, 1:] - p[:, :1], 1, 0)
    area = (a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]) / 2
    middles = (p + np.roll(p, -1, axis=1)) / 2
    whole = float(area.sum())
    if not len(p):
        return 0.0, np.full(2, np.nan), 0.0, 0.0
    centre = np.einsum("t,tij->j", area, middles) / 3 / whole
    square = np.einsum("t,tij->j", area, (middles - centre) ** 2) / 3
    return whole, centre, float(square[1]), float(square[0])


def held_to_cuts(solid: Solid, heights: Points) -> None:
    held = filled_to(solid, heights)
    size = solid.volume
    reach = float(np.abs(solid.vertices).max())
    for k, h in enumerate(heights):
        below = solid.split((0, 0, -1), -h)[0]
        assert held.volume_m3[k] == pytest.approx(below.volume, rel=1e-12, abs=1e-12 * size)
        assert held.volume_m3[k] * held.centroid_m[k] == pytest.approx(
            below.volume * below.centroid, rel=1e-12, abs=1e-12 * size * reach
        )
        area, centre, across, along = lid(below, h)
        assert held.plan_area_m2[k] == pytest.approx(area, rel=1e-9)
        assert held.plan_centroid_m[k] == pytest.approx(centre, abs=1e-9, nan_ok=True)
        assert held.transverse_m4[k] == pytest.approx(across, rel=1e-7, abs=1e-12)
        assert held.longitudinal_m4[k] == pytest.approx(along, rel=1e-7, abs=1e-12)


@given(solids())
@settings(max_examples=60, deadline=None)
def test_trimming_by_the_kernel_agrees(solid: Solid) -> None:
    held_to_cuts(solid, spread(solid))


def test_trimming_agrees_on_a_fine_mesh_far_from_the_origin() -> None:
    turn = 2 * np.pi * np.arange(60) / 60
    rings = [np.column_stack([r * np.cos(turn), r * np.sin(turn), np.full(60, z)]) for z, r in RINGS]
    solid = hull(np.vstack(rings)).moved((4.0, -3.0, 2.0))
    assert len(solid.triangles) > 2000
    held_to_cuts(solid, spread(solid, 5))


RINGS = [(-math.cos(a), math.sin(a)) for a in np.linspace(0.05, math.pi - 0.05, 25)]


# ---- what must always hold


@given(solids())
@settings(max_examples=60, deadline=None)
def test_it_rises_to_the_whole_volume(solid: Solid) -> None:
    low, high = solid.bounds[:, 2]
    held = filled_to(solid, np.linspace(low, high, 60))
    assert (np.diff(held.volume_m3) >= -1e-14 * solid.volume).all()
    assert held.volume_m3[0] == 0
    assert held.volume_m3[-1] == pytest.approx(solid.volume, rel=1e-12)
    assert held.centroid_m[-1] == pytest.approx(solid.centroid, abs=1e-11)
    assert (held.plan_area_m2 >= 0).all()


@given(solids())
@settings(max_examples=40, deadline=None)
def test_plan_area_is_how_fast_it_fills(solid: Solid) -> None:
    h, step = spread(solid), 1e-5
    h = h[np.abs(h[:, None] - solid.vertices[:, 2]).min(axis=1) > 2 * step]
    more, less = filled_to(solid, h + step), filled_to(solid, h - step)
    held = filled_to(solid, h)
    assert (more.volume_m3 - less.volume_m3) / (2 * step) == pytest.approx(held.plan_area_m2, rel=1e-6, abs=1e-8)
    rates = (more.volume_m3[:, None] * more.centroid_m - less.volume_m3[:, None] * less.centroid_m) / (2 * step)
    cut = np.column_stack([np.nan_to_num(held.plan_centroid_m), h])
    assert rates == pytest.approx(held.plan_area_m2[:, None] * cut, rel=1e-6, abs=1e-7)


@given(solids())
@settings(max_examples=40, deadline=None)
def test_a_mirrored_twin_holds_the_same(solid: Solid) -> None:
    h = spread(solid)
    port, starboard = filled_to(solid, h), filled_to(solid.mirrored(), h)
    for name in ("volume_m3", "plan_area_m2", "transverse_m4", "longitudinal_m4"):
        assert getattr(port, name) == pytest.approx(getattr(starboard, name), rel=1e-9, abs=1e-12)
    assert port.centroid_m == pytest.approx(starboard.centroid_m * [1, -1, 1], abs=1e-9)
    assert port.plan_centroid_m == pytest.approx(starboard.plan_centroid_m * [1, -1], abs=1e-9, nan_ok=True)


@given(solids(), st.tuples(*[st.integers(-500, 500)] * 3))
@settings(max_examples=40, deadline=None)
def test_moving_it_moves_the_answer(solid: Solid, hundredths: tuple[int, int, int]) -> None:
    by = np.array(hundredths) / 100
    here, there = filled_to(solid, spread(solid)), filled_to(solid.moved(by), spread(solid) + by[2])
    for name in ("volume_m3", "plan_area_m2", "transverse_m4", "longitudinal_m4"):
        assert getattr(here, name) == pytest.approx(getattr(there, name), rel=1e-7, abs=1e-11)
    assert here.centroid_m + by == pytest.approx(there.centroid_m, abs=1e-7)


# ---- the height that holds a share


def test_half_a_box_is_half_its_height() -> None:
    assert height_of(BOX) == pytest.approx(0.25, rel=1e-13)
    assert height_of(STEPPED) == pytest.approx(0.275, rel=1e-13)  # 0.3 m³ below the step, 0.075 × 2 above it
    assert height_of(PYRAMID, 0.875) == pytest.approx(0.5, rel=1e-13)  # seven eighths: the half-height frustum


@given(solids(), st.floats(0, 1))
@settings(max_examples=60, deadline=None)
def test_the_share_found_is_the_share_asked(solid: Solid, share: float) -> None:
    h = height_of(solid, share)
    low, high = solid.bounds[:, 2]
    assert low <= h <= high
    assert filled_to(solid, [h]).volume_m3[0] == pytest.approx(share * solid.volume, abs=1e-12 * solid.volume)


def test_none_of_it_and_all_of_it() -> None:
    assert (height_of(STEPPED, 0), height_of(STEPPED, 1)) == (0.0, 0.5)
    with pytest.raises(ValueError, match="between 0 and 1"):
        height_of(BOX, 1.2)
    with pytest.raises(ValueError, match="between 0 and 1"):
        height_of(BOX, math.nan)


def test_a_share_that_ends_in_a_gap_is_found() -> None:
    pair = united([BOX, body(box((0, 0, 2), (1, 1, 3)))])
    assert 0.5 - 1e-9 <= height_of(pair, 0.5) <= 2 + 1e-9
