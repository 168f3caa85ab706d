"""Is the surface between the sections sound? Held against exact triangle intersections (libigl over CGAL)."""

import math
from collections import Counter
from itertools import pairwise

import igl.copyleft.cgal as cgal
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from tapeloft.model.solid import triangulated
from tapeloft.model.surface.embedding import (
    CrossedSection,
    FallingRibs,
    Meeting,
    NoArea,
    Overlap,
    TouchedSection,
    faults,
)
from tapeloft.model.surface.loft import joined
from tapeloft.model.surface.planes import flatness
from tapeloft.model.surface.sections import Section
from tapeloft.model.surface.skin import lofted
from tapeloft.model.surface.sweeps import first_meetings

Points = NDArray[np.float64]
SQUARE = [(0, 0), (1, 0), (1, 1), (0, 1)]
BOW_TIE = [(0, 0), (1, 1), (1, 0), (0, 1)]
SLOTTED = [(0, 0), (3, 0), (3, 2), (2, 2), (2, 1), (1, 1), (1, 2), (0, 2)]
CLOSED_SLOT = [(0, 0), (3, 0), (3, 2), (1.5, 2), (1.5, 1), (1.5, 1), (1.5, 2), (0, 2)]
FIVE = [(0, 0), (0.5, 0), (0.5, 0), (1, 0), (1, 1), (0, 1)]
KNUCKLED = [(0, 0), (0.4, 0.1), (0.6, -0.1), (1, 0), (1, 1), (0, 1)]


def ring(x: float, corners: list[tuple[float, float]]) -> Points:
    return np.array([(x, *corner) for corner in corners], float)


def leaning(loop: Points, along_y: float, along_z: float) -> Points:
    return np.column_stack([loop[:, 0] + loop[:, 1] * along_y + loop[:, 2] * along_z, loop[:, 1:]])


def found(*rings: Points):
    return faults([np.stack([a, b]) for a, b in pairwise(rings)])


def meshed(rings: Points, cuts: int = 1) -> tuple[Points, NDArray[np.int64]]:
    """Mesh a loft the plain way: each cell a middle and four triangles, each end filled."""
    rows = [a + (b - a) * k / cuts for a, b in pairwise(rings) for k in range(cuts)] + [rings[-1]]
    count, n = len(rows), len(rows[0])
    vertices = np.concatenate(rows)
    a = np.concatenate([np.arange(n) + k * n for k in range(count - 1)])
    b = np.concatenate([np.roll(np.arange(n), -1) + k * n for k in range(count - 1)])
    q = np.arange(len(a)) + len(vertices)
    middles = (vertices[a] + vertices[b] + vertices[a + n] + vertices[b + n]) / 4
    sides = [np.column_stack(three) for three in ((a, b, q), (b, b + n, q), (b + n, a + n, q), (a + n, a, q))]
    caps = [triangulated([rows[0][:, 1:]])[:, ::-1], triangulated([rows[-1][:, 1:]]) + (count - 1) * n]
    return np.concatenate([vertices, middles]), np.concatenate([*sides, *caps])


def crossings(vertices: Points, triangles: NDArray[np.int64]) -> set[tuple[int, int]]:
    """Return the pairs of triangles that meet otherwise than in shared corners, by exact arithmetic."""
    pairs = cgal.remesh_self_intersections(vertices, np.ascontiguousarray(triangles, np.int64), True)[2]
    return {(min(pair), max(pair)) for pair in pairs.tolist()}


def cuts_for(rings: Points) -> int:
    warp = [np.linalg.norm(np.diff(np.roll(pair, -1, axis=1) - pair, axis=0), axis=2).max() for pair in pairs_of(rings)]
    return max(1, math.ceil(max(warp) / 16 / 0.0005))


def pairs_of(rings: Points) -> Points:
    return np.stack([rings[:-1], rings[1:]], axis=1)


def random_loft(seed: int) -> Points:
    """A loft of 2 to 4 stations and 3 to 8 corners, from well-behaved to hopeless."""
    rng = np.random.default_rng(seed)
    stations, n, wild = int(rng.integers(2, 5)), int(rng.integers(3, 9)), int(rng.integers(0, 6))
    angles = 2 * np.pi * (np.arange(n) + rng.uniform(-0.35, 0.35, n)) / n
    along = np.cumsum(rng.uniform(0.2, 0.6, stations))
    rings = []
    for x in along:
        turn = rng.normal(0, 0.2) + (wild == 1) * rng.uniform(-2.8, 2.8)
        radii = rng.uniform(0.3, 1, n)
        corners = np.column_stack([radii * np.cos(angles + turn), radii * np.sin(angles + turn)])
        corners += (
            rng.normal(0, 0.15, 2) + (wild == 2) * rng.normal(0, 0.25, (n, 2)) + (wild == 3) * rng.normal(0, 1, 2)
        )
        rings.append(np.column_stack([np.full(n, x), np.roll(corners, (wild == 4) * int(rng.integers(n)), axis=0)]))
    return np.array(rings) * [1, 0.35, 0.35]


# what a person does wrong


def test_section_like_a_bow_tie():
    before, after = found(ring(-1, SQUARE), ring(0, BOW_TIE), ring(1, SQUARE))
    assert before == CrossedSection(1, (0, 2), (0.0, 0.5, 0.5))
    assert after == NoArea(1, 0.0)


@pytest.mark.parametrize("rings", [(ring(0, BOW_TIE), ring(1, SQUARE)), (ring(0, SQUARE), ring(1, BOW_TIE))])
def test_bulkhead_like_a_bow_tie(rings: tuple[Points, Points]):
    (fault,) = found(*rings)
    assert isinstance(fault, CrossedSection)
    assert fault.edges == (0, 2)
    assert fault.place[1:] == pytest.approx((0.5, 0.5), abs=1e-3)


def test_stations_out_of_order():
    assert found(ring(0, SQUARE), ring(2, SQUARE), ring(1, SQUARE)) == (FallingRibs(1, (0, 1, 2, 3), -1.0),)
    assert found(ring(0, SQUARE), ring(1, SQUARE), ring(1, SQUARE)[::-1] * 2)[0].station == 2


def test_half_a_turn_brings_everything_to_one_point():
    (fault,) = found(ring(0, SQUARE), np.roll(ring(2, SQUARE), 2, axis=0))
    assert isinstance(fault, Meeting)
    assert (fault.bay, fault.share) == (0, 0.5)
    assert fault.place == pytest.approx((1, 0.5, 0.5))


@pytest.mark.parametrize("places", [1, 3])
def test_a_quarter_turn_of_a_square_touches_nothing(places: int):
    """At share t it is the square turned and shrunk by √((1−t)² + t²), never to a point: wrong, but sound."""
    assert not found(ring(0, SQUARE), np.roll(ring(1, SQUARE), places, axis=0))


@pytest.mark.parametrize("places", [2, 3, 4])
def test_letters_shifted_round_an_l(places: int):
    el = [(0, 0), (2, 0), (2, 1), (1, 1), (1, 2), (0, 2)]
    (fault,) = found(ring(0, el), np.roll(ring(1, el), places, axis=0))
    assert isinstance(fault, Meeting)
    assert crossings(*meshed(np.stack([ring(0, el), np.roll(ring(1, el), places, axis=0)]), 400))


def test_two_letters_exchanged():
    swapped = [SQUARE[k] for k in (0, 2, 1, 3)]
    assert any(isinstance(fault, CrossedSection) for fault in found(ring(0, SQUARE), ring(1, swapped), ring(2, SQUARE)))


def test_clockwise_section():
    assert found(ring(0, SQUARE), ring(1, SQUARE)[::-1], ring(2, SQUARE)) == (NoArea(1, -1.0),)


@pytest.mark.parametrize("places", range(8))
def test_star_whose_points_become_hollows(places: int):
    angles = np.arange(8) * np.pi / 4
    star = np.column_stack([np.zeros(8), np.cos(angles), np.sin(angles)])
    dented = star * np.where(np.arange(8) % 2, 0.3, 1.0)[:, None]
    rings = np.stack([dented, np.roll(star - 0.7 * dented, places, axis=0) + np.array([1, 0, 0])])
    assert bool(found(*rings)) == bool(crossings(*meshed(rings, 100)))
    assert bool(found(*rings)) == (places in (2, 4, 6))


def test_raked_bulkheads_that_cross_name_the_corners():
    aft = leaning(ring(0, SQUARE), 0, 1.2)
    assert found(aft, ring(1, SQUARE)) == (FallingRibs(0, (2, 3), pytest.approx(-0.2)),)


def test_ribs_that_rise_and_sections_that_look_simple_prove_nothing_where_a_bulkhead_leans():
    aft, forward = [(0, 0), (1, 0), (1, 1), (0, 1)], [(0.9, 0), (1.9, 0), (1.9, 1), (0.9, 1)]
    rings = np.stack([leaning(ring(0, aft), 1, 0), ring(0, forward)])
    rings[1, :, 0] = [0.95, 1.1, 1.1, 0.95]
    rings *= 0.2
    assert (rings[1, :, 0] > rings[0, :, 0]).all()
    assert np.isinf(first_meetings(rings[:1, :, 1:], rings[1:, :, 1:]).share).all()
    assert all(isinstance(fault, Overlap) for fault in found(*rings))
    assert found(*rings)
    assert crossings(*meshed(rings, 4))


def test_bays_on_either_side_of_a_leaning_station_that_run_through_each_other():
    """Each bay is sound, every rib rises, but the one beyond the leaning station comes back into the one before."""
    before = ring(0.082, [(-0.68, -0.823), (0.537, -0.823), (0.537, 0.31), (-0.68, 0.31)])
    between = np.array([(0.149, -0.5, -0.5), (0.159, 0.5, -0.5), (0.451, 0.5, 0.5), (0.441, -0.5, 0.5)])
    beyond = [(1.257, -0.109, 1.807), (1.078, 1.126, 1.807), (1.143, 1.126, 3.041), (1.322, -0.109, 3.041)]
    rings = np.array([before, between, beyond])
    assert {fault.cells for fault in found(*rings)} == {((0, 1), (1, 0)), ((0, 1), (1, 1))}
    assert not found(*rings[:2])
    assert not found(*rings[1:])
    assert crossings(*meshed(rings, cuts_for(rings)))


@pytest.mark.parametrize("twist", [0.0032, -0.0032])
def test_walls_nearer_each_other_than_their_mesh_is_to_them(twist: float):
    """A slot 0.05 mm wide between one twisted wall in one cell and the same in two: only their meshes meet."""

    def slot(bottom: float, top: float) -> Points:
        near, far = [(bottom, 1), (top, 2)], [(top, 2), (1 + twist / 2, 1.5), (bottom, 1)]
        corners = [(0, 0), (3, 0), (3, 2), *((y + 5e-5, z) for y, z in far), *near, (0, 2)]
        return ring(bottom != 1, corners)

    rings = np.stack([slot(1, 1 + twist), slot(1 + twist, 1)])
    assert np.isinf(first_meetings(rings[:1, :, 1:], rings[1:, :, 1:]).share[0])
    assert found(*rings)
    assert all(isinstance(fault, Overlap) for fault in found(*rings))
    assert crossings(*meshed(rings))


def test_a_part_pinched_all_along_is_refused():
    pinched = [(0, 0), (1, 0), (0.5, 0.5), (1, 1), (0, 1), (0.5, 0.5)]
    assert any(isinstance(fault, TouchedSection) for fault in found(ring(0, pinched), ring(1, pinched)))


def test_a_slot_may_close_at_the_end_but_not_on_the_way():
    assert not found(ring(0, SLOTTED), ring(1, CLOSED_SLOT))
    (fault,) = found(ring(0, SLOTTED), ring(1, CLOSED_SLOT), ring(2, SLOTTED))
    assert isinstance(fault, TouchedSection)
    assert fault.station == 1


# what is no fault

ENDS = {
    "to a point": ring(1, [(0.3, 0.4)] * 4),
    "to a point far aside": ring(1, [(3, -2)] * 4),
    "to a corner": ring(1, [(0, 0)] * 4),
    "to an upright edge": ring(1, [(0.5, 0), (0.5, 0), (0.5, 1), (0.5, 1)]),
    "to a sloping edge": ring(1, [(0.2, 0.1), (0.2, 0.1), (0.7, 0.9), (0.7, 0.9)]),
    "to an edge, sides unlike": ring(1, [(0.2, 0.1), (0.5, 0.58), (0.7, 0.9), (0.3, 0.26)]),
    "to a raked stem": np.array([(1, 0.5, 0), (1, 0.5, 0), (1.4, 0.5, 1), (1.4, 0.5, 1)]),
    "to one side": ring(1, [(1, 0), (1, 0), (1, 1), (1, 1)]),
    "with a leaning bulkhead": leaning(ring(1, SQUARE), 0.2, 0.4),
    "with a bulkhead that meets a corner": leaning(ring(0, SQUARE), 0.5, 0.5) + np.array([0, 0.2, 0]),
}


@pytest.mark.parametrize("end", ENDS.values(), ids=ENDS.keys())
def test_ends_that_are_no_fault(end: Points):
    assert not found(ring(-1, SQUARE), ring(0, SQUARE) - [0.1, 0, 0], end)
    turned_end_for_end = [loop * [-1, 1, 1] for loop in (end, ring(0, SQUARE) - [0.1, 0, 0], ring(-1, SQUARE))]
    assert not found(*turned_end_for_end)


@pytest.mark.parametrize("seed", range(8))
def test_to_an_edge_whose_two_sides_were_read_apart_and_rounded(seed: int):
    """Corners of either side lie where they like along the edge, rounded to 0.01 mm: a sliver that crosses itself."""
    rng = np.random.default_rng(seed)
    along = [0, *np.sort(rng.uniform(0.1, 0.9, 2)), 1, *np.sort(rng.uniform(0.1, 0.9, 2))[::-1]]
    low, high = np.array([0.45, 0.1]), np.array([0.55 + 0.1 * rng.random(), 0.9])
    edge = ring(1, [tuple(np.round(low + share * (high - low), 5)) for share in along])
    assert not found(ring(0, [(0, 0), (1, 0), (1, 0.5), (1, 1), (0, 1), (0, 0.5)]), edge)


def test_to_an_edge_that_rounding_has_made_a_sliver():
    """Seven corners on a line, rounded, enclose a few square millimetres; the mesh beside them crosses by a hair."""
    aft = [(0, 0), (0.2656, 0), (0.31389, 0.20791), (0.31389, 0.51639), (0.24145, 1), (0, 1), (0, 0.84806)]
    forward = [(0.00826, 0.40664), (0.34617, 0.57192), (0.61772, 0.70476), (0.78715, 0.78764), (1.02849, 0.90569)]
    assert not found(ring(0.5, aft), ring(1, [*forward, (1.14765, 0.96398), (0.97453, 0.8793)]))


def test_raked_bulkhead_that_meets_the_next_station_at_its_deck():
    assert not found(leaning(ring(0, SQUARE), 0, 1.0), ring(1, SQUARE))


@pytest.mark.parametrize(("aft", "forward"), [(FIVE, KNUCKLED), (KNUCKLED, FIVE), (FIVE, FIVE)])
def test_knuckles_that_come_and_go(aft: list[tuple[float, float]], forward: list[tuple[float, float]]):
    assert not found(ring(0, aft), ring(1, forward))
    assert not found(ring(0, aft), ring(1, forward), ring(2, aft))


def test_two_edges_across_make_a_tetrahedron():
    assert not found(
        ring(0, [(0.5, 0), (0.5, 0), (0.5, 1), (0.5, 1)]), ring(1, [(0, 0.5), (1, 0.5), (1, 0.5), (0, 0.5)])
    )


# against exact arithmetic


def compared(lofts: list[Points]) -> Counter[str]:
    """Count what was found of *lofts* and what exact arithmetic finds in their meshes."""
    counted: Counter[str] = Counter()
    for rings in lofts:
        crossed = bool(crossings(*meshed(rings, cuts_for(rings))))
        counted[f"{'refused' if found(*rings) else 'passed'}, {'unsound' if crossed else 'sound'}"] += 1
    print(dict(counted))
    return counted


def test_random_lofts_with_straight_stations():
    counted = compared([random_loft(seed) for seed in range(300)])
    assert counted["passed, unsound"] == 0
    assert counted["refused, sound"] <= 3
    assert counted["refused, unsound"] >= 40
    assert counted["passed, sound"] >= 200


def test_random_lofts_with_leaning_stations():
    rng = np.random.default_rng(1)
    lofts = [np.array([leaning(ring, *rng.normal(0, 0.2, 2)) for ring in random_loft(seed)]) for seed in range(120)]
    counted = compared([rings for rings in lofts if (np.diff(rings[..., 0], axis=0) > 0).all()])
    assert counted["passed, unsound"] == 0
    assert counted["refused, sound"] <= 2
    assert counted["refused, unsound"] >= 10
    assert counted["passed, sound"] >= 50


def test_the_mesh_that_is_built_of_what_passes_is_sound():
    """Stations of unlike numbers of corners, some leaning, joined by letter and by girth, and really meshed."""
    passed = 0
    for seed in range(60):
        rng = np.random.default_rng(seed)
        run = []
        for k in range(4):
            kept = sorted({0, 3, 5, *rng.choice(8, 5, replace=False).tolist()})
            angles = np.array(kept) * np.pi / 4 + rng.normal(0, 0.05)
            radii = rng.uniform(0.4, 0.6, len(kept))
            loop = np.column_stack([np.full(len(kept), 0.4 * k), radii * np.cos(angles), radii * np.sin(angles)])
            lean = rng.normal(0, 0.1, 2) * (seed % 3 == 0 and k in (0, 3))
            run.append(Section(str(k), tuple("ABCDEFGH"[i] for i in kept), leaning(loop, *lean)))
        bands = [joined(aft, forward) for aft, forward in pairwise(run)]
        if not faults([band.ends for band in bands]):
            surface = lofted(run, bands)
            assert not crossings(surface.vertices, surface.triangles)
            passed += 1
    assert passed >= 30


# properties

radii = st.lists(st.floats(0.2, 1.0), min_size=24, max_size=24)


@given(radii, st.floats(-3, 3), st.integers(3, 8))
@settings(max_examples=60, deadline=None)
def test_stars_about_one_axis_are_always_sound(reaches: list[float], turn: float, n: int):
    """At every share each corner stays on its own ray from the axis, and the rays keep their order."""
    angles = np.arange(n) * 2 * np.pi / n + turn
    rings = [
        np.column_stack([np.full(n, k), r * np.cos(angles), r * np.sin(angles)])
        for k in range(3)
        for r in [np.array(reaches[k * n : k * n + n])]
    ]
    assert not found(*rings)


@given(st.integers(0, 400), st.floats(-3, 3), st.tuples(*[st.floats(-5, 5)] * 3))
@settings(max_examples=60, deadline=None)
def test_moved_turned_mirrored_or_read_backwards_it_is_as_sound(seed: int, turn: float, by: tuple[float, float, float]):
    rings = random_loft(seed)
    sound = not found(*rings)
    c, s = np.cos(turn), np.sin(turn)
    assert sound == (not found(*(rings @ np.array([[1, 0, 0], [0, c, s], [0, -s, c]]) + by)))
    assert sound == (not found(*(rings[:, ::-1] * [1, -1, 1])))
    assert sound == (not found(*(rings[::-1] * [-1, 1, 1])))


@given(st.integers(0, 400), st.floats(0.1, 0.9))
@settings(max_examples=60, deadline=None)
def test_a_station_more_on_the_ribs_changes_nothing(seed: int, share: float):
    rings = random_loft(seed)
    between = (1 - share) * rings[0] + share * rings[1]
    assert bool(found(*rings)) == bool(found(rings[0], between, *rings[1:]))


# planes


def test_flatness_of_a_leaning_bulkhead():
    """The plane x = 0.2 y + 0.5 z + 1 has the normal (1, −0.2, −0.5)/√1.29."""
    plane = flatness(leaning(ring(1, SQUARE), 0.2, 0.5))
    assert plane.normal == pytest.approx(np.array([1, -0.2, -0.5]) / 1.29**0.5)
    assert plane.offset == pytest.approx(1 / 1.29**0.5)
    assert plane.deviations == pytest.approx(np.zeros(4), abs=1e-12)


def test_flatness_of_a_corner_that_stands_out():
    """Four corners of a square, one 40 mm forward: the best plane leaves each a quarter of that, turn about."""
    loop = ring(0, SQUARE)
    loop[2, 0] = 0.04
    assert flatness(loop).deviations == pytest.approx(np.array([1, -1, 1, -1]) * 0.01, rel=2e-3)


@pytest.mark.parametrize("loop", [ring(2, [(0.5, 0.5)] * 4), ring(2, [(0.5, 0), (0.5, 0), (0.5, 1), (0.5, 1)])])
def test_flatness_of_a_point_and_of_an_edge(loop: Points):
    plane = flatness(loop)
    assert plane.normal == pytest.approx([1, 0, 0])
    assert plane.offset == pytest.approx(2)
