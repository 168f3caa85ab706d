"""Boards cut to a space: outlines, gaps, pieces and bevels, held against closed forms and published criteria."""

import math
from collections.abc import Sequence
from importlib.resources import files
from itertools import pairwise, permutations
from types import SimpleNamespace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import MultiPolygon, Polygon

from tapeloft.model.compartment import Compartment, build
from tapeloft.model.cutting.board import Board, Cut, board_at, kept_to, letters
from tapeloft.model.cutting.inset import Gaps, inset, relieved, without_necks
from tapeloft.model.cutting.outline import clear_outline, outline
from tapeloft.model.cutting.passing import least_width, passages, turned_in, widest
from tapeloft.model.cutting.plane import Plane, at_half_breadth, at_height, at_station
from tapeloft.model.cutting.splitting import parted, straight_cuts
from tapeloft.model.cutting.walls import Kind, Walled, rings, walled
from tapeloft.model.errors import GeometryError
from tapeloft.model.facets import body
from tapeloft.model.openings import ClearOpening
from tapeloft.model.solid import closed
from tapeloft.model.survey.boat import read_survey
from tapeloft.shapes.polyhedron import Round, box, circle, prism

BOAT = read_survey(str(files("tapeloft.shapes").joinpath("demo")))
PORT, STARBOARD, LAZARETTE = "cockpit locker, port", "cockpit locker, starboard", "lazarette"
SHARP = Cut(Gaps(0.0, 0.0, 0.0), cutter=0.0, web=0.0)
SAME = 1e-9


def compartment(name: str) -> Compartment:
    return build(BOAT.compartment(name))


def all_round(area: Polygon, kind: Kind = "side") -> list[Walled]:
    return [Walled(a, b, "wall", kind, 0.0) for ring in rings(MultiPolygon([area])) for a, b in pairwise(ring)]


def drawn_in(area: Polygon, gap: float) -> MultiPolygon:
    return inset(MultiPolygon([shapely.geometry.polygon.orient(area)]), all_round(area), Gaps(gap, gap, gap))


# outlines


def frustum() -> tuple[np.ndarray, list[tuple[int, int, int]]]:
    """A square frustum, 2 at z = 0, 4 at z = 1."""
    corners = [(-1, -1, 0), (1, -1, 0), (1, 1, 0), (-1, 1, 0), (-2, -2, 1), (2, -2, 1), (2, 2, 1), (-2, 2, 1)]
    quads = [(3, 2, 1, 0), (4, 5, 6, 7), (0, 1, 5, 4), (1, 2, 6, 5), (2, 3, 7, 6), (3, 0, 4, 7)]
    faces = [face for a, b, c, d in quads for face in ((a, b, c), (a, c, d))]
    return np.array(corners, np.float64), faces


@pytest.mark.parametrize("z", [0.0, 0.25, 0.5, 0.999])
def test_a_plane_cuts_a_frustum_in_a_square(z: float) -> None:
    vertices, faces = frustum()
    solid = closed(vertices, np.array(faces))
    assert outline(solid, at_height(z)).area == pytest.approx((2 + 2 * z) ** 2, abs=1e-6)  # closed form


def test_at_its_exact_top_a_solid_has_no_outline_and_at_its_exact_bottom_its_bottom() -> None:
    cube = body(box((0, 0, 0), (2, 1, 1)))
    assert outline(cube, at_height(1.0)).is_empty
    assert outline(cube, at_height(0.0)).area == pytest.approx(2.0)
    assert outline(cube, at_station(2.0)).is_empty
    assert outline(cube, at_station(0.0)).area == pytest.approx(1.0)


def test_of_a_thick_board_in_a_flare_the_smaller_face_governs() -> None:
    """A frustum that widens upward: the outline through 0.5 to 0.6 is that at 0.5, (2 + 2·0.5)²."""
    vertices, faces = frustum()
    solid = closed(vertices, np.array(faces))
    assert clear_outline(solid, at_height(0.5), 0.1).area == pytest.approx(9.0, abs=1e-6)
    downward = solid.turned(np.diag([1.0, -1.0, -1.0]))  # narrows upward: that at its top governs
    assert clear_outline(downward, at_height(-0.6), 0.1).area == pytest.approx(9.0, abs=1e-6)


def test_a_leaning_plane_cuts_a_box_in_a_longer_rectangle() -> None:
    cube = body(box((0, 0, 0), (2, 1, 1)))
    for lean in (10.0, -25.0):
        cut = outline(cube, at_station(1.0, lean))
        assert cut.area == pytest.approx(1 / math.cos(math.radians(lean)), rel=1e-6)  # height 1 over cos


@pytest.mark.parametrize("plane", [at_station(0.7, 8.0), at_height(0.4, -5.0), at_half_breadth(0.9, 12.0)])
def test_the_axes_of_a_plane_are_orthonormal_and_right_handed_and_lead_back(plane: Plane) -> None:
    assert np.allclose(plane.axes @ plane.axes.T, np.eye(3), atol=1e-12)
    assert np.linalg.det(plane.axes) == pytest.approx(1.0)
    space = compartment(PORT).net
    there_and_back = plane.placed(plane.seen(space))
    assert np.allclose(there_and_back.bounds, space.bounds, atol=1e-9)


def test_several_islands_and_holes() -> None:
    space = body(box((0, 0, 0), (3, 1, 1))).cleared_of([
        body(box((1.4, -1, -1), (1.6, 2, 2))), body(prism(circle((0.7, 0.5), 0.1, Round.EQUAL_AREA, 32), -1, 2, 2)),
    ])  # fmt: skip
    found = outline(space, at_height(0.5))
    assert sorted(len(one.interiors) for one in found.geoms) == [0, 1]
    assert found.area == pytest.approx(2.8 - 0.01 * math.pi, abs=1e-6)  # 32 sides of equal area


# gaps


@settings(max_examples=60)
@given(
    angles=st.lists(st.floats(0, 2 * math.pi), min_size=3, max_size=9, unique=True), gap=st.floats(0.0005, 0.01),
)  # fmt: skip
def test_a_convex_outline_drawn_in(angles: list[float], gap: float) -> None:
    """A − P·c + c²·Σcot(θ/2) is left of a convex polygon whose every side survives (closed form)."""
    turns = np.sort(angles)
    points = np.column_stack([np.cos(turns), np.sin(turns)])
    area = Polygon(points).convex_hull
    if not isinstance(area, Polygon) or area.area < 0.2:
        return
    ring = np.array(shapely.geometry.polygon.orient(area).exterior.coords)[:-1]
    if np.linalg.norm(np.roll(ring, -1, axis=0) - ring, axis=1).min() < 0.01:
        return
    to_next, to_last = np.roll(ring, -1, axis=0) - ring, np.roll(ring, 1, axis=0) - ring
    cosines = (to_next * to_last).sum(axis=1) / np.linalg.norm(to_next, axis=1) / np.linalg.norm(to_last, axis=1)
    half = np.arccos(np.clip(cosines, -1, 1)) / 2
    taken = gap * (1 / np.tan(half) + np.roll(1 / np.tan(half), -1))
    if (np.linalg.norm(to_next, axis=1) <= taken).any():
        return  # a side vanishes: the form holds no more
    whole = gap * 1.00031  # of polygons round a circle
    left, most = (area.area - area.length * c + c * c * (1 / np.tan(half)).sum() for c in (whole, gap))
    assert left - 1e-12 <= drawn_in(area, gap).area <= most + 1e-12


def test_round_what_stands_in_a_board_the_gap_is_steiners() -> None:
    """The parallel body of a disc of radius r is one of r + c: π(r + c)² is taken (Steiner); 256 sides stand for it."""
    hole = Polygon(circle((0, 0), 0.05, Round.EQUAL_AREA, 256))
    around = Polygon([(-1, -1), (1, -1), (1, 1), (-1, 1)], [hole.exterior.coords])
    edges = [e for e in all_round(around) if abs(e.start[0]) < 0.5]
    left = inset(MultiPolygon([shapely.geometry.polygon.orient(around)]), edges, Gaps(0.01, 0.01, 0.01))
    assert 4 - left.area == pytest.approx(math.pi * 0.06**2, rel=2e-4)


def test_each_wall_has_its_own_gap() -> None:
    area = Polygon([(0, 0), (2, 0), (2, 1), (0, 1)])
    kinds: Sequence[Kind] = ("side", "end", "side", "end")
    edges = [Walled(e.start, e.end, "w", kind, 0.0) for e, kind in zip(all_round(area), kinds, strict=True)]
    left = inset(MultiPolygon([area]), edges, Gaps(side=0.01, end=0.05, obstruction=0.4))
    assert left.bounds == pytest.approx((0.05, 0.01, 1.95, 0.99), abs=2e-5)


def test_a_cutter_reaches_into_a_relieved_corner_and_nothing_is_added() -> None:
    notched = Polygon([(0, 0), (1, 0), (1, 0.5), (0.5, 0.5), (0.5, 1), (0, 1)])
    cut = relieved(MultiPolygon([notched]), 0.01)
    assert cut.difference(notched).area < 1e-12
    middle = shapely.Point(0.5 + 0.01 / math.sqrt(2), 0.5 + 0.01 / math.sqrt(2))  # on the bisector, through the corner
    assert middle.buffer(0.01).intersection(cut).area < 1e-9
    # what the circle takes beyond the corner's sides: two segments of 90°, closed form r²(π/2 − 1)/2 each
    assert notched.area - cut.area == pytest.approx(0.01**2 * (math.pi / 2 - 1), rel=0.01)


def test_necks_go_and_what_is_left_may_be_two() -> None:
    dumbbell = shapely.union_all([shapely.box(0, 0, 1, 1), shapely.box(1, 0.495, 2, 0.505), shapely.box(2, 0, 3, 1)])
    left = without_necks(MultiPolygon([dumbbell]), 0.02)
    assert len(left.geoms) == 2
    assert left.area == pytest.approx(2.0, abs=1e-4)
    assert without_necks(MultiPolygon([dumbbell]), 0.0).area == dumbbell.area


@pytest.mark.parametrize("left", [0.012, 0.016, 0.02])
def test_beside_a_pipe_no_neck_is_left(left: float) -> None:
    """A batten 40 mm broad that a pipe of 160 cuts into, all but *left*: where it is nowhere 24 broad it is parted."""
    batten = shapely.box(0, 0, 0.6, 0.04).difference(shapely.Point(0.3, left + 0.08).buffer(0.08, quad_segs=32))
    ends = without_necks(MultiPolygon([batten]), 0.024)
    assert len(ends.geoms) == 2
    assert ends.difference(batten).area < 1e-12
    assert ends.area > 2 * 0.2 * 0.04


# what goes in


def hatch(a: float, b: float, radius: float = 0.0, wall: str = "top") -> ClearOpening:
    return ClearOpening("lid", wall, np.zeros((4, 3)), (a, b), radius)


def square(side: float, radius: float = 0.0) -> ClearOpening:
    return hatch(side, side, radius)


def passes(p: float, q: float, opening: ClearOpening) -> bool:
    return turned_in(p, q, opening)[1] >= 0


@pytest.mark.parametrize(("p", "q", "a", "b"), [(2.0, 0.5, 1.8, 1.733813), (12.0, 1.0, 11.0, 6.652097)])
def test_carvers_criterion(p: float, q: float, a: float, b: float) -> None:
    """W. Carver 1957; figures by its formula in J. Wetzel, Mathematics Magazine 73 (2000)."""
    assert passes(p, q, hatch(a, b + 1e-6))
    assert not passes(p, q, hatch(a, b - 1e-6))
    assert passes(q, p, hatch(b + 1e-6, a))


def test_the_widest_plank_across_a_unit_square() -> None:
    """A plank w thick goes across a unit square √2 − w wide (a corollary of Carver's)."""
    assert widest(0.1, [square(1.0)], 0.0) == pytest.approx(math.sqrt(2) - 0.1, abs=1e-9)
    assert widest(0.1, []) == 0.0


@settings(max_examples=100)
@given(st.floats(0.05, 3), st.floats(0.05, 3), st.floats(0.2, 2), st.floats(0.2, 2))
def test_a_rectangle_that_passes_does_so_at_some_angle(p: float, q: float, a: float, b: float) -> None:
    """Against turning it by hand: p·cos + q·sin ≤ a and p·sin + q·cos ≤ b at some of 20 000 angles."""
    turns = np.linspace(0, math.pi / 2, 20_000)
    c, s = np.cos(turns), np.sin(turns)
    slack = np.minimum(a - p * c - q * s, b - p * s - q * c).max()
    if abs(slack) > 1e-3:
        assert passes(p, q, hatch(a, b)) == (slack > 0)


def test_round_and_rounded_openings_take_less() -> None:
    assert passes(0.6, 0.02, square(0.6, 0.0))
    ring = square(0.6, 0.3)
    assert ring.is_round
    assert not passes(0.6, 0.02, ring)
    assert passes(0.599, 0.02, ring)  # √(599² + 20²) = 599.3
    assert widest(0.02, [ring], 0.0) == pytest.approx(math.sqrt(0.6**2 - 0.02**2), abs=1e-9)  # a chord of a circle
    assert widest(0.02, [square(0.6, 0.1)]) < widest(0.02, [square(0.6)])


def test_the_widest_plank_across_rounded_corners() -> None:
    """Across the diagonal of a square a with corners r a plank t goes √2·a − 2r(√2 − 1) − what t takes: two arcs."""
    a, r, t = 0.6, 0.1, 0.02
    far = math.sqrt(2) * (a / 2 - r)  # from the middle to the centre of an arc
    expected = 2 * (far + math.sqrt(r * r - t * t / 4))  # the corners at ± t/2 off the diagonal lie on the arc
    assert widest(t, [square(a, r)], 0.0) == pytest.approx(expected, abs=1e-7)


@settings(max_examples=60)
@given(
    st.floats(0.05, 1.2), st.floats(0.005, 0.3), st.floats(0.2, 0.8), st.floats(0.2, 0.8), st.floats(0, 0.4),
)  # fmt: skip
def test_what_is_told_of_a_passage_is_so(width: float, thick: float, a: float, b: float, radius: float) -> None:
    """The rectangle, turned as told, laid in the opening by shapely: within it, and as far from its edge as told."""
    opening = hatch(a, b, radius)
    piece = shapely.box(0, 0, 3.0, width)
    for one in passages(piece, thick, [opening], 0.0):
        slab = shapely.affinity.rotate(shapely.box(-width / 2, -thick / 2, width / 2, thick / 2), one.turn_deg)
        r = min(radius if radius > 1e-6 else 0.0, a / 2, b / 2)
        edge = shapely.buffer(shapely.box(-a / 2 + r, -b / 2 + r, a / 2 - r, b / 2 - r), r, quad_segs=256)
        edge = edge if r > 0 else shapely.box(-a / 2, -b / 2, a / 2, b / 2)
        assert slab.difference(shapely.buffer(edge, 1e-5)).is_empty
        assert slab.distance(edge.boundary) == pytest.approx(one.spare_m, abs=2e-5) or one.spare_m < 2e-5
        assert one.width_m == pytest.approx(width)
        assert abs(one.lead[0]) == pytest.approx(1.0)  # the end that goes first is that of the long way


def test_the_least_width_of_a_triangle_is_its_least_height() -> None:
    assert least_width(Polygon([(0, 0), (5, 0), (5, 2)])) == pytest.approx(10 / math.hypot(5, 2))  # 2A / longest side


def test_a_board_is_parted_in_as_few_strips_as_go() -> None:
    whole = MultiPolygon([shapely.box(0, 0, 2.0, 1.2)])
    lacks = kept_to(0.7, math.inf, lambda piece: piece.area)
    pieces = parted(whole, straight_cuts(whole, lacks), lacks, 0.002, 0.04).pieces
    assert len(pieces) == 2
    assert all(least_width(one) <= 0.7 for one in pieces)
    slim = kept_to(0.03, math.inf, lambda piece: piece.area)
    none = parted(whole, straight_cuts(whole, slim), slim, 0.002, 0.04)
    assert not none.pieces  # only slivers would go in
    assert "mm wide" in none.why


@settings(max_examples=30, deadline=None)
@given(st.lists(st.tuples(st.floats(0.3, 2), st.floats(0.3, 1)), min_size=3, max_size=6), st.floats(0.1, 1.0))
def test_pieces_are_light_and_narrow_enough_and_no_fewer_than_their_mass_asks(
    corners: list[tuple[float, float]], heaviest: float
) -> None:
    whole = shapely.MultiPoint(corners).convex_hull
    if not isinstance(whole, Polygon) or whole.area < 0.1 or least_width(whole) < 0.1:
        return
    lacks = kept_to(0.5, heaviest, lambda piece: piece.area * 5)
    area = MultiPolygon([shapely.geometry.polygon.orient(whole)])
    found = parted(area, straight_cuts(area, lacks), lacks, 0.0, 0.04)
    for piece in found.pieces:
        assert piece.area * 5 <= heaviest
        assert least_width(piece) <= 0.5
    assert not found.pieces or len(found.pieces) >= math.ceil(whole.area * 5 / heaviest - 1e-3)
    assert found.pieces or found.why


def test_a_mass_that_only_the_farthest_joints_keep() -> None:
    """A rectangle of 1 × 0.3 m and 6 kg in pieces of 2 kg: three, and two where 3 kg are allowed (arithmetic)."""
    area = MultiPolygon([shapely.box(0, 0, 1, 0.3)])
    for heaviest, count in ((2.0, 3), (3.0, 2), (6.0, 1), (1.99, 4)):
        lacks = kept_to(math.inf, heaviest * (1 + 1e-9), lambda piece: piece.area * 20)
        assert len(parted(area, straight_cuts(area, lacks), lacks, 0.0, 0.04).pieces) == count


def test_no_neck_is_left_beside_a_hole() -> None:
    """A hole of 0.3 in a board 0.5 broad: joints along its edge would leave a tongue."""
    hole = shapely.Point(0.5, 0.25).buffer(0.15)
    area = MultiPolygon([shapely.box(0, 0, 1.0, 0.5).difference(hole)])
    lacks = kept_to(0.4, math.inf, lambda piece: piece.area)
    found = parted(area, straight_cuts(area, lacks), lacks, 0.002, 0.04, 0.02)
    assert found.pieces
    for piece in found.pieces:
        assert without_necks(MultiPolygon([piece]), 0.02).area > piece.area - 1e-4


def test_round_a_post_a_board_is_parted_at_the_post() -> None:
    whole = MultiPolygon([Polygon(shapely.box(0, 0, 2, 1).exterior, [shapely.box(0.5, 0.3, 0.6, 0.4).exterior.coords])])
    lacks = kept_to(math.inf, math.inf, lambda piece: piece.area)
    pieces = parted(whole, straight_cuts(whole, lacks), lacks, 0.002, 0.04).pieces
    assert len(pieces) >= 2
    assert all(not one.interiors for one in pieces)


def test_pieces_have_letters_enough() -> None:
    assert letters(27)[25:] == ["Z", "AA"]
    assert len(set(letters(700))) == 700


# in the demo boat

PLANES = {
    PORT: [at_station(0.7), at_station(1.1, 5.0), at_height(0.4), at_half_breadth(0.8)],
    LAZARETTE: [at_height(0.3), at_station(-0.4), at_half_breadth(-0.2, 4.0)],
    "sail locker": [at_height(0.6), at_station(0.9)],
    "gas locker": [at_height(0.2, 3.0)],
}
CASES = [(name, plane) for name, planes in PLANES.items() for plane in planes]


@pytest.mark.parametrize(("name", "plane"), CASES, ids=lambda one: getattr(one, "told", one))
@pytest.mark.parametrize("gap", [0.0, 0.003, 0.017, 0.04])
def test_a_board_lies_in_the_net_space_with_its_gap(name: str, plane: Plane, gap: float) -> None:
    whole = compartment(name)
    board = board_at(whole, plane, 0.012, Cut(Gaps(gap, gap, gap)))
    for piece in board.pieces:
        assert (piece.solid - whole.net).volume < SAME
        assert piece.solid.volume == pytest.approx(piece.outline.area * 0.012, rel=1e-6)
    off = board.clear.boundary.distance(shapely.union_all([piece.outline for piece in board.pieces]))
    assert off >= gap - 1e-6
    together = sum(piece.outline.area for piece in board.pieces)
    assert together <= board.clear.area + 1e-12
    assert shapely.union_all([piece.outline for piece in board.pieces]).area == pytest.approx(together, abs=1e-9)


@pytest.mark.parametrize(("name", "plane"), CASES[::3], ids=lambda one: getattr(one, "told", one))
def test_finer_gaps_nest(name: str, plane: Plane) -> None:
    whole, last = compartment(name), Polygon()
    for gap in (0.04, 0.02, 0.01, 0.003, 0.0):
        board = board_at(whole, plane, 0.012, Cut(Gaps(gap, gap, gap), cutter=0.0, joint=0.0))
        area = shapely.union_all([piece.outline for piece in board.pieces])
        assert last.difference(shapely.buffer(area, 1e-6)).area < 1e-6  # joints of no breadth leave a thread
        last = area


@pytest.mark.parametrize("heaviest", [6.0, 2.5, 1.0])
def test_pieces_in_the_demo_boat_keep_to_their_mass(heaviest: float) -> None:
    board = board_at(compartment(LAZARETTE), at_height(0.3), 0.012, Cut(heaviest=heaviest), density=600.0)
    for piece in board.pieces:
        assert piece.solid.volume * 600 <= heaviest * (1 + 1e-6)
        assert piece.mass_kg == pytest.approx(piece.solid.volume * 600, rel=1e-5)
        assert piece.passages


def test_no_fewer_pieces_are_claimed_only_where_one_less_is_the_board_that_lacks_something() -> None:
    """In two is as few as can be of a board that does not do whole; of more, what was tried is said."""
    for heaviest, said in ((math.inf, "and no fewer do"), (1.0, "the fewest of the straight joints tried")):
        board = board_at(compartment(PORT), at_station(0.7), 0.012, Cut(heaviest=heaviest))
        assert (len(board.pieces) == 2) == (said == "and no fewer do")
        assert any(said in note for note in board.notes)


def test_where_no_piece_would_be_light_enough_that_is_said() -> None:
    board = board_at(compartment(LAZARETTE), at_height(0.3), 0.012, Cut(heaviest=0.01))
    assert "it is drawn whole" in " ".join(board.notes)
    assert "0.01 kg is the most" in " ".join(board.notes) or "sliver" in " ".join(board.notes)
    with pytest.raises(GeometryError, match="no piece weighs nothing"):
        board_at(compartment(LAZARETTE), at_height(0.3), 0.012, Cut(heaviest=0.0))
    with pytest.raises(GeometryError, match="kg/m³"):
        board_at(compartment(LAZARETTE), at_height(0.3), 0.012, Cut(), density=-5.0)


def test_without_gaps_or_joints_a_board_is_the_clear_outline() -> None:
    board = board_at(compartment("gas locker"), at_height(0.2), 0.012, SHARP)
    assert len(board.pieces) == 1
    assert board.pieces[0].outline.area == pytest.approx(board.clear.area, abs=1e-8)


def test_at_a_station_the_outline_is_the_section_that_was_read() -> None:
    """The demo's gas locker has no check tapes to adjust it: its two sections, and half way their mean, by shoelace."""
    aft = np.array([[715, 0], [1030, 0], [1085, 460], [720, 475]]) / 1000
    forward = np.array([[710, 0], [1040, 0], [1095, 465], [715, 480]]) / 1000
    one = compartment("gas locker")
    for at, read, within in ((0.0, aft, 1e-7), (0.3125, (aft + forward) / 2, 2e-5)):
        x, y = read.T
        shoelace = abs(x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2
        assert outline(one.net, at_station(at)).area == pytest.approx(shoelace, abs=within)


def test_edges_are_told_by_their_walls_and_bevels() -> None:
    board = board_at(compartment(PORT), at_station(0.7), 0.012, Cut())
    walls = {edge.wall for piece in board.pieces for edge in piece.edges}
    assert {"A-B", "B-C", "C-D", "D-E", "E-A"} <= walls
    # the hull flares forward between stations 1 and 2: C goes 1316 to 1357 out over 540, D 1461 to 1494
    edge = next(e for piece in board.pieces for e in piece.edges if e.wall == "C-D")
    slopes = [math.degrees(math.atan((1357 - 1316) / 540)), math.degrees(math.atan((1494 - 1461) / 540))]
    assert 0 < edge.bevel[0] <= edge.bevel[1] <= max(slopes) + 1.5


def test_a_bevel_is_the_angle_of_the_wall() -> None:
    """A frustum's sides lean 45° outward."""
    vertices, faces = frustum()

    net = closed(vertices, np.array(faces), np.arange(12))
    parts = {(int(net.origins[0]), k): "A-B" for k in range(12)}
    space = SimpleNamespace(net=net, pieces=(), parts=parts, fitted=())
    plane = at_height(0.5)
    edges = walled(space, plane, 0.05, clear_outline(net, plane, 0.05))  # type: ignore[arg-type]
    assert [edge.bevel for edge in edges] == pytest.approx([45.0] * 4, abs=1e-6)


def test_a_mirrored_space_has_mirrored_boards() -> None:
    """The twin without her sister's box: level boards above it are the same, mirrored."""
    plane = at_height(0.5)
    port, starboard = (board_at(compartment(name), plane, 0.012, Cut(cutter=0.0)) for name in (PORT, STARBOARD))

    def whole(board: Board) -> MultiPolygon:
        return shapely.union_all([piece.outline for piece in board.pieces])

    flipped = shapely.transform(whole(starboard), lambda points: points * [1.0, -1.0])
    assert flipped.symmetric_difference(whole(port)).area < 1e-7


# what cannot be


def test_a_plane_that_misses() -> None:
    with pytest.raises(GeometryError, match="outside the space"):
        board_at(compartment(PORT), at_station(9.0), 0.012, Cut())
    with pytest.raises(GeometryError, match="outside the space"):
        board_at(compartment(PORT), at_station(2.145), 0.012, Cut())  # its forward face would stand in the bulkhead


@pytest.mark.parametrize(
    ("plane", "said", "by"),
    [
        (at_station(2.145), "set it [78] to 2145 mm farther aft", -0.01),
        (at_station(-0.3), "set it 300 to 243[78] mm farther forward", 0.5),
        (at_height(1.0), "mm farther down", -0.5),
        (at_half_breadth(0.0), "mm farther to port", 0.9),
        (at_half_breadth(1.6), "mm farther to starboard", -0.6),
    ],
)
def test_a_plane_that_misses_is_told_which_way_the_space_lies(plane: Plane, said: str, by: float) -> None:
    """The locker goes from 0 to 2150 mm forward, a little less as its tapes have it; 12 mm are the board's own."""
    with pytest.raises(GeometryError, match=said):
        board_at(compartment(PORT), plane, 0.012, Cut())
    assert board_at(compartment(PORT), plane.shifted(by), 0.012, Cut()).pieces


def test_an_outline_that_vanishes_in_its_gaps() -> None:
    with pytest.raises(GeometryError, match="within the gaps nothing is left"):
        board_at(compartment("chain locker"), at_height(0.3), 0.012, Cut(Gaps(0.4, 0.4, 0.4)))


@pytest.mark.parametrize("thickness", [0.0, -0.012, 5.0, math.nan])
def test_absurd_thicknesses(thickness: float) -> None:
    with pytest.raises(GeometryError, match="thick"):
        board_at(compartment(PORT), at_station(0.7), thickness, Cut())


@pytest.mark.parametrize("gap", [-0.001, 3.0, math.nan, math.inf])
def test_absurd_gaps(gap: float) -> None:
    with pytest.raises(GeometryError, match="it has to be 0 to 500 mm"):
        board_at(compartment(PORT), at_station(0.7), 0.012, Cut(Gaps(gap, 0.003, 0.003)))


@pytest.mark.parametrize(("name", "plane"), CASES, ids=lambda one: getattr(one, "told", one))
def test_an_edge_that_goes_on_with_its_wall_is_told_once(name: str, plane: Plane) -> None:
    """Wherever the ring of a piece begins: none ends where another of the same wall goes on within 25°."""
    for piece in board_at(compartment(name), plane, 0.012, Cut()).pieces:
        ends = [(one.wall, np.array(one.line)) for one in piece.edges]
        for (wall, line), (other, after) in permutations(ends, 2):
            if wall == other and np.allclose(line[-1], after[0], atol=1e-12):
                a, b = line[-1] - line[-2], after[1] - after[0]
                assert math.degrees(math.acos(min(1.0, float(a @ b) / math.hypot(*a) / math.hypot(*b)))) > 24.9


def test_joints_are_told_as_far_as_they_run_through_the_board() -> None:
    """Round a post of 0.1 in a board 2 by 1: two joints in line, as long as the board is across, less the post."""
    post = shapely.box(0.9, 0.45, 1.0, 0.55)
    area = MultiPolygon([shapely.box(0, 0, 2, 1).difference(post)])
    lacks = kept_to(math.inf, math.inf, lambda piece: piece.area)
    found = parted(area, straight_cuts(area, lacks), lacks, 0.002, 0.04)
    assert len(found.joints) == 2
    assert sum(math.dist(*line) for line in found.joints) in (pytest.approx(0.9), pytest.approx(1.9))
    for line in found.joints:
        gap = shapely.LineString(line).distance(shapely.union_all(found.pieces))
        assert gap == pytest.approx(0.001, abs=1e-9)
