"""Parts: liners, shelves and holes against closed forms; parts in a survey against the net space they stand in."""

import math
from importlib.resources import files
from itertools import combinations, product
from pathlib import Path

import igl
import numpy as np
import pytest
import shapely
import trimesh

from tapeloft.model.areas import areas_to_coat
from tapeloft.model.boxes import largest_box
from tapeloft.model.compartment import Compartment, build
from tapeloft.model.cutting.beams import GRAVITY, Load
from tapeloft.model.cutting.board import Cut, board_at
from tapeloft.model.cutting.cleats import cleats, held_in
from tapeloft.model.cutting.inset import Gaps
from tapeloft.model.cutting.liner import Liner, liner_of
from tapeloft.model.cutting.plane import at_height, at_station
from tapeloft.model.cutting.room import room_under_and_over
from tapeloft.model.cutting.sheetstock import across_the_grain, sheet_called
from tapeloft.model.cutting.shelf import STRIP, Shelving, shelf_at
from tapeloft.model.cutting.slots import Holes, pierced, rounded_slot
from tapeloft.model.cutting.told import shelf_listed
from tapeloft.model.errors import GeometryError, SurveyError, UnknownName
from tapeloft.model.export import exported
from tapeloft.model.parts.registry import KINDS
from tapeloft.model.solid import hulled
from tapeloft.model.spaces import asked_space, swing
from tapeloft.model.survey.boat import read_survey
from tapeloft.model.survey.schema import survey_schema
from tapeloft.model.volume import measured

DEMO = str(files("tapeloft.shapes").joinpath("demo"))
FITTED = read_survey(DEMO, options=("fitted out",))
SIZE = (2.0, 1.0, 0.8)
SHEET = """
format = "tapeloft-survey"
version = 1
unit = "mm"
[survey]
compartment = "box"
[marks]
side = "port"
[station.0]
at = 0
A = [0, 0]
B = [1000, 0]
C = [1000, 800]
D = [0, 800]
[station.1]
at = 2000
A = [0, 0]
B = [1000, 0]
C = [1000, 800]
D = [0, 800]
"""
LID = """
[[opening]]
name = "lid"
wall = "top"
x = 1000
y = "p 500"
clear = [900, 600]
hinge = "aft"
"""
CUBE = """
[[obstruction]]
name = "cube"
shape = "box"
x = [800, 1000]
y = ["p 400", "p 600"]
z = [300, 500]
"""
SHELF = """
[[part]]
name = "shelf"
kind = "shelf"
height = 400
side = "port"
depth = 300
gap = 0
"""
STEPS = """
[[part]]
name = "steps"
kind = "step"
"""
RAIL = """
[[part]]
name = "rail"
kind = "rail"
side = "port"
height = 500
fender = "none"
"""
CRATE = """
[[part]]
name = "crate"
kind = "egg-crate grate"
height = 100
gap = 0
"""
SHEETED = """
[[part]]
name = "sheet"
kind = "perforated grate"
height = 100
"""
CRATES = """
[[part]]
name = "crates"
kind = "crate"
item = "box 400x300x200"
number = 3
"""
GRATE = """
[[part]]
name = "sole grate"
kind = "grate"
height = 100
"""
PANEL = """
[[part]]
name = "panel"
kind = "panel"
at = 1200
gap = 0
"""
SWUNG = """
[[part]]
name = "bulkhead"
kind = "panel"
at = 1300
swing = ["lid"]
"""


def surveyed(folder: Path, *more: str, options: tuple[str, ...] = ()) -> Compartment:
    file = folder / "box.toml"
    file.write_text("".join((SHEET, *more)))
    return build(read_survey(file, options=options).compartments[0])


def as_mesh(liner: Liner) -> trimesh.Trimesh:
    return trimesh.Trimesh(liner.solid.vertices, liner.solid.triangles, process=False)


# liners


@pytest.mark.parametrize("t", [0.004, 0.05])
def test_a_closed_liner_of_a_box(tmp_path: Path, t: float) -> None:
    """(a − 2t)(b − 2t)(c − 2t) is left (closed form); the mesh is closed, and has an outer and an inner surface."""
    made = liner_of(surveyed(tmp_path), t, 1500)
    left = math.prod(side - 2 * t for side in SIZE)
    assert made.inner.volume == pytest.approx(left, rel=1e-9)
    assert made.lost_m3 == pytest.approx(math.prod(SIZE) - left, rel=1e-9)
    assert made.left_m3 == pytest.approx(left, rel=1e-9)
    assert made.mass_kg == pytest.approx(1500 * made.lost_m3)
    assert made.area_m2 == pytest.approx(2 * (2 * 1 + 2 * 0.8 + 1 * 0.8), rel=1e-9)
    assert made.thinnest_m == pytest.approx(t, abs=1e-9)
    assert as_mesh(made).is_watertight
    assert as_mesh(made).euler_number == 4
    assert made.notes == ("no opening is in the survey: the liner is closed all round",)


def test_a_liner_is_open_at_its_lid(tmp_path: Path) -> None:
    t = 0.01
    made = liner_of(surveyed(tmp_path, LID), t, 1500)
    closed = math.prod(SIZE) - math.prod(side - 2 * t for side in SIZE)
    assert made.lost_m3 == pytest.approx(closed - 0.9 * 0.6 * t, rel=1e-9)
    assert made.open == ("lid",)
    assert as_mesh(made).is_watertight
    assert as_mesh(made).euler_number == 2  # one surface, without a handle: a pot


def test_round_what_stands_in_the_space_a_liner_is_steiners(tmp_path: Path) -> None:
    """Within t of a cube of side s lie 6s²t + 3πst² + 4πt³/3 of the space about it (Steiner); chords take a little."""
    t, s = 0.03, 0.2
    made = liner_of(surveyed(tmp_path, CUBE), t, 1500)
    taken = math.prod(side - 2 * t for side in SIZE) - s**3 - made.inner.volume
    flat, curved = 6 * s * s * t, 3 * math.pi * s * t * t + 4 / 3 * math.pi * t**3
    assert flat + 0.97 * curved < taken <= (flat + curved) * (1 + 1e-9)
    assert 0.98 * t < made.thinnest_m <= t


@pytest.mark.parametrize("name", ["gas locker", "cockpit locker, starboard"])
def test_a_liner_lies_in_the_space_and_is_nowhere_thicker_than_asked(name: str) -> None:
    """No corner of the space within lies nearer to a wall, less what chords take, by libigl's distances."""
    space, t = build(FITTED.compartment(name)), 0.008
    made = liner_of(space, t, 1500)
    assert (made.solid - space.inside).volume < 1e-12
    mesh = as_mesh(made)
    assert mesh.is_watertight
    assert mesh.volume == pytest.approx(made.lost_m3, rel=1e-6)
    squared, *_ = igl.point_mesh_squared_distance(
        np.ascontiguousarray(made.inner.vertices), np.ascontiguousarray(space.inside.vertices),
        np.ascontiguousarray(space.inside.triangles),
    )  # fmt: skip
    nearest = math.sqrt(squared.min())
    assert 0.97 * t < nearest < t * (1 + 1e-6)
    assert made.thinnest_m <= nearest + 1e-9


def test_a_liner_that_leaves_nothing_is_refused(tmp_path: Path) -> None:
    with pytest.raises(GeometryError, match="leave nothing"):
        liner_of(build(FITTED.compartment("chain locker")), 0.19, 1500)
    for thickness, density in ((0.0, 1500.0), (-0.01, 1500.0), (1.0, 1500.0), (0.01, 0.0), (0.01, math.nan)):
        with pytest.raises(GeometryError, match="it has to be"):
            liner_of(surveyed(tmp_path), thickness, density)


# shelves

PLAIN = Cut(Gaps(0.003, 0.003, 0.003), cutter=0.0)


def test_a_shelf_along_a_side_of_a_box(tmp_path: Path) -> None:
    space = surveyed(tmp_path)
    asked = Shelving(0.4, "port", 0.3, 0.018)
    made = shelf_at(space, asked, PLAIN)
    (board,) = made.board.pieces
    assert board.outline.area == pytest.approx((2 - 0.006) * (0.3 - 0.003), rel=1e-5)  # its open edge has no gap
    assert board.solid.bounds[:, 2] == pytest.approx([0.382, 0.4], abs=1e-9)
    (fiddle,) = made.fiddles
    assert fiddle.solid.bounds[:, 2] == pytest.approx([0.4, 0.44], abs=1e-9)
    assert fiddle.solid.bounds[:, 1] == pytest.approx([0.7, 0.718], abs=1e-6)
    assert made.outside_m3 < 1e-9
    middles = [one.solid.bounds[:, 0].mean() for one in made.bearers]
    assert max(np.diff(middles)) == pytest.approx(made.spacing_m, abs=2e-5)
    assert made.spacing_m <= made.span_m
    under, over = room_under_and_over(space, made)
    assert under.clear_m == pytest.approx(0.382, abs=1e-6)
    assert over.clear_m == pytest.approx(0.4, abs=1e-6)
    bars = sum(one.solid.volume for one in made.bearers)
    assert under.volume_m3 == pytest.approx(board.outline.area * 0.382 - bars, rel=1e-6)


def test_a_shelf_sags_as_the_handbook_has_it(tmp_path: Path) -> None:
    """P·L³/48EI + 5·w·L⁴/384EI (straight beams, Wood Handbook, from memory), of a strip that bears the point load."""
    asked = Shelving(0.4, "port", 0.4, 0.018, load=Load(15.0, 80.0))
    made = shelf_at(surveyed(tmp_path), asked, PLAIN)
    stiff = asked.timber.modulus_pa * STRIP * 0.018**3 / 12
    length, point, even = made.spacing_m, 15 * GRAVITY, 80 * GRAVITY * STRIP
    assert made.sag_m == pytest.approx(point * length**3 / 48 / stiff + 5 * even * length**4 / 384 / stiff, rel=1e-9)
    assert made.sag_m <= length / 200


@pytest.mark.parametrize("name", ["plywood", "cross-grain plywood", "FRP"])
def test_a_shelf_of_a_sheet_spans_and_weighs_as_that_and_its_bearers_as_timber(tmp_path: Path, name: str) -> None:
    sheet = sheet_called(name)
    asked = Shelving(0.4, "port", 0.3, 0.012, load=Load(15.0, 80.0), sheet=sheet)
    made = shelf_at(surveyed(tmp_path), asked, PLAIN)
    stiff, length = sheet.modulus_pa * STRIP * 0.012**3 / 12, made.span_m
    point, even = 15 * GRAVITY, 80 * GRAVITY * STRIP
    bends = point * length**3 / 48 / stiff + 5 * even * length**4 / 384 / stiff
    stress = (point * length / 4 + even * length**2 / 8) / (STRIP * 0.012**2 / 6)
    assert max(bends / (length / 200), stress / (sheet.rupture_pa / 5)) == pytest.approx(1.0, rel=1e-6)
    (board,) = made.board.pieces
    assert board.mass_kg == pytest.approx(board.outline.area * 0.012 * sheet.density_kg_m3)
    sawn = sum(one.solid.volume for one in (*made.fiddles, *made.bearers)) * asked.timber.density_kg_m3
    assert made.mass_kg == pytest.approx(board.mass_kg + sawn, rel=1e-6)


def test_a_shelf_of_timber_is_listed_as_heavy_as_its_timber(tmp_path: Path) -> None:
    asked = Shelving(0.4, "port", 0.3, 0.018)
    made = shelf_at(surveyed(tmp_path), asked, PLAIN)
    assert sum(line.mass_kg for line in shelf_listed(made, asked, [None])) == pytest.approx(made.mass_kg, rel=1e-4)


@pytest.mark.parametrize("plies", [3, 5, 9])
def test_plywood_across_its_grain_is_what_its_layers_make_of_it(plies: int) -> None:
    """E·I by adding thin slices, moduli 1 and 0.05; the moment at which the outermost slice along the span breaks."""
    count = 30_000 * plies
    depth = (np.arange(count) + 0.5) / count * 2 - 1
    face = (np.arange(count) * plies // count) % 2 == 0
    along, across = (np.where(which, 1.0, 0.05) for which in (face, ~face))
    stiff = (along @ depth**2), (across @ depth**2)
    moments = [ei / np.abs(depth[which]).max() for ei, which in zip(stiff, (face, ~face), strict=True)]
    shares = across_the_grain(plies)
    assert shares == pytest.approx((stiff[1] / stiff[0], moments[1] / moments[0]), rel=1e-3)
    assert shares[0] < 1


@pytest.mark.parametrize("depth", [0.06, 0.1, 0.2])
def test_a_narrow_shelf_bears_its_load_on_what_there_is_of_it(tmp_path: Path, depth: float) -> None:
    """The same formulas, of the whole of a board that is narrower than what a load stands on."""
    asked = Shelving(0.4, "port", depth, 0.008, (0.0, 0.0), load=Load(15.0, 80.0))
    made = shelf_at(surveyed(tmp_path), asked, PLAIN)
    broad = depth - 0.003  # its gap to the side
    stiff = asked.timber.modulus_pa * broad * 0.008**3 / 12
    length, point, even = made.spacing_m, 15 * GRAVITY, 80 * GRAVITY * broad
    assert made.sag_m == pytest.approx(point * length**3 / 48 / stiff + 5 * even * length**4 / 384 / stiff, rel=1e-4)
    assert made.sag_m <= length / 200


def test_joints_of_a_shelf_lie_over_bearers(tmp_path: Path) -> None:
    """Parted through a cube that stands through it, so that its pieces go round that: a bearer backs the joint."""
    made = shelf_at(surveyed(tmp_path, CUBE), Shelving(0.4, "", 0.0, 0.018, (0.0, 0.0)), PLAIN)
    one, other = sorted((piece.outline.bounds[0], piece.outline.bounds[2]) for piece in made.board.pieces)
    assert (one[1], other[0]) == pytest.approx((0.899, 0.901), abs=1e-6)
    under = shapely.union_all([bar.outline for bar in made.bearers])
    for y in (0.2, 0.8):
        assert shapely.covers(under, shapely.LineString([(one[1] - 0.005, y), (other[0] + 0.005, y)]))


def test_a_shelf_that_cannot_be(tmp_path: Path) -> None:
    space = surveyed(tmp_path)
    for asked, why in (
        (Shelving(0.9, "port", 0.3), "outside the space"),
        (Shelving(-0.5, "port", 0.3), "outside the space"),
        (Shelving(0.78, "port", 0.3), "no room over the shelf"),
        (Shelving(0.4, "port", 1.2), "takes the whole plan"),
        (Shelving(0.4, "port", -0.3), "more than 0"),
        (Shelving(0.4, "", 0.0), "no open edge for a fiddle"),
        (Shelving(0.4, "port", 0.3, 0.0), "0.5 to 200 mm"),
        (Shelving(0.4, "port", 0.3, load=Load(0, 0)), "bears nothing"),
        (Shelving(0.4, "port", 0.3, 0.001), "thicker board"),
        (Shelving(0.4, "port", 0.002), "nothing is left"),
        (Shelving(0.4, "port", math.nan), "more than 0"),
    ):
        with pytest.raises(GeometryError, match=why):
            shelf_at(space, asked, PLAIN)


# holes


def test_a_vent_is_as_large_as_was_asked_and_leaves_its_webs(tmp_path: Path) -> None:
    """A slot with round ends is (l − b)·b + π·b²/4 (closed form), drawn within it."""
    board = board_at(surveyed(tmp_path), at_station(1.0), 0.012, PLAIN)
    asked = Holes(hands=2, vent=0.030)
    made = pierced(board, asked)
    slot = 0.1 * 0.02 + math.pi * 0.02**2 / 4
    assert rounded_slot(0, 0, (0.12, 0.02)).area == pytest.approx(slot, rel=2e-3)
    assert made.slots == math.ceil(0.030 / rounded_slot(0, 0, (0.12, 0.02)).area)
    assert 0.030 <= made.vent_m2 < 0.030 + slot
    (piece,) = made.board.pieces
    rings = [shapely.Polygon(ring) for ring in piece.outline.interiors]
    assert len(rings) == made.slots + 2
    assert min(a.distance(b) for a, b in combinations(rings, 2)) > asked.web - 1e-6
    assert min(piece.outline.exterior.distance(one) for one in rings) > asked.web - 1e-6
    lost = board.pieces[0].outline.area - piece.outline.area
    assert lost == pytest.approx(sum(one.area for one in rings), rel=1e-9)
    high = sum(one.area for one in rings if one.centroid.y > 0.4 and one.area < slot * 1.01)
    assert high == pytest.approx(made.vent_m2 / 2, abs=slot)


def test_holes_that_find_no_room(tmp_path: Path) -> None:
    board = board_at(surveyed(tmp_path), at_station(1.0), 0.012, PLAIN)
    for holes, why in (
        (Holes(vent=0.7), "room for"),
        (Holes(hands=30), "finds no room"),
        (Holes(hands=1, down=0.01), "finds no room"),
        (Holes(hands=-1), "it has to be"),
        (Holes(hands=1, hand=(0.03, 0.1)), "longer than broad"),
        (Holes(vent=math.nan), "it has to be"),
        (Holes(hands=1, web=0.0), "web"),
    ):
        with pytest.raises(GeometryError, match=why):
            pierced(board, holes)


def test_cleats_run_along_the_walls(tmp_path: Path) -> None:
    found = cleats(board_at(surveyed(tmp_path), at_station(1.0), 0.012, PLAIN).pieces)
    assert sum(one.length_m for one in found) == pytest.approx(2 * (0.994 + 0.794), rel=1e-5)
    assert all((one.screws - 1) * 0.15 >= one.length_m for one in found)


def test_no_screw_goes_through_a_gas_lockers_walls() -> None:
    for name, screwed in (("gas locker", False), ("berth locker", True)):
        survey = FITTED.compartment(name)
        found = held_in(survey, board_at(build(survey), at_station(0.3), 0.012, PLAIN).pieces)
        assert len(found) >= 3
        assert all((one.screws > 0) == screwed for one in found)


def test_a_board_keeps_clear_of_what_is_named(tmp_path: Path) -> None:
    space = surveyed(tmp_path)
    swept = board_at(space, at_height(0.2), 0.1, PLAIN).pieces[0].solid  # some solid across the panel's way
    made = board_at(space, at_station(1.0), 0.012, PLAIN, clear_of=[("the swing of the lid", swept)])
    assert all((one.solid ^ swept).volume < 1e-12 for one in made.pieces)
    assert "the swing of the lid" in {edge.wall for one in made.pieces for edge in one.edges}


# in a survey


def test_what_is_left_is_what_volume_reports(tmp_path: Path) -> None:
    bare, fitted = surveyed(tmp_path), surveyed(tmp_path, SHELF)
    told = measured(fitted)
    (share,) = told.shares
    assert (share.name, share.kind, share.removable) == ("shelf", "shelf", True)
    assert told.net.volume_m3 == pytest.approx(bare.net.volume - share.share_m3, rel=1e-12)
    board = 2.0 * 0.3 * 0.012
    assert share.share_m3 == pytest.approx(board + 2.0 * 0.018 * 0.04 + 4 * 0.03 * 0.03 * 0.3, rel=1e-6)
    coat = {part.name: part for part in areas_to_coat(fitted).parts}
    assert coat["shelf"].kind == "part"
    assert coat["shelf"].area_m2 > 2 * 0.3  # more than its upper face


@pytest.mark.parametrize("part", [STEPS, RAIL, SWUNG, CRATE, SHEETED, CRATES, RAIL + "tube = [25, 2]\n"])
def test_each_kind_stands_in_the_net_space_and_in_its_twin_mirrored(tmp_path: Path, part: str) -> None:
    (tmp_path / "box.toml").write_text(SHEET + LID + CUBE + part + '[twin]\nname = "other"\n')
    one, other = (build(survey) for survey in read_survey(tmp_path / "box.toml").compartments)
    (fitted,), (twin,) = one.fitted, other.fitted
    bare = surveyed(tmp_path, LID, CUBE)
    assert fitted.solid.volume > 1e-4
    assert (fitted.solid - bare.net).volume < 1e-9
    assert measured(one).net.volume_m3 == pytest.approx(bare.net.volume - fitted.solid.volume, rel=1e-9)
    assert (twin.solid.mirrored() - fitted.solid).volume < 1e-12
    assert twin.solid.volume == pytest.approx(fitted.solid.volume, rel=1e-12)


@pytest.mark.parametrize(("hinge", "long", "broad"), [
    ("forward", 0.9, 0.6), ("aft", 0.9, 0.6), ("inboard", 0.6, 0.9), ("starboard", 0.6, 0.9),
])  # fmt: skip
def test_a_lid_sweeps_its_sector_about_any_of_its_edges(tmp_path: Path, hinge: str, long: float, broad: float) -> None:
    """A quarter of a disc as long as the lid is from its hinge, π/4 · l² · b; 24 chords take 0.1 % off."""
    swept = swing(surveyed(tmp_path, LID.replace("aft", hinge)), "lid")
    assert swept.volume == pytest.approx(math.pi / 4 * long**2 * broad, rel=2e-3)


def test_a_panel_keeps_clear_of_a_lid_that_swings_in(tmp_path: Path) -> None:
    """The lid, 900 long from its hinge at station 550, sweeps at station 1300 √(900² − 750²) = 497.5 mm down."""
    panel = SWUNG.replace('swing = ["lid"]\n', "")
    space = surveyed(tmp_path, LID, panel)
    swept = swing(space, "lid")
    assert (space.fitted[0].solid ^ swept).volume > 1e-3
    clear = surveyed(tmp_path, LID, SWUNG).fitted[0].solid
    assert (clear ^ swept).volume < 1e-9
    amidst = hulled(np.array([*product((1.2, 1.4), (0.4, 0.6), (0.0, 0.8))]))
    under = (clear ^ amidst).bounds[1, 2]
    assert under == pytest.approx(0.8 - math.sqrt(0.9**2 - 0.75**2) - 0.003, abs=1e-3)
    off = LID.replace('"aft"', '"lifts off"')
    for lid, said, why in ((LID, '["hatch"]', "hatch"), (off, '["lid"]', "no hinge"), (LID, '"lid"', "list")):
        with pytest.raises(SurveyError, match=why) as refused:
            surveyed(tmp_path, lid, f"{panel}swing = {said}\n")
        assert refused.value.problems[0].line


def test_treads_rise_evenly_to_the_lip(tmp_path: Path) -> None:
    """From 0 to the lip at 800 mm are three rises of 800/3 mm; from 250 mm two of 275 mm (closed form)."""
    (fitted,) = surveyed(tmp_path, LID, STEPS).fitted
    tops = [body.bounds[1, 2] for _, body in fitted.bodies]
    assert tops == pytest.approx([0.8 / 3, 1.6 / 3], abs=1e-6)
    assert [letter for letter, _ in fitted.bodies] == ["tread A", "tread B"]
    (raised,) = surveyed(tmp_path, LID, STEPS + "floor = 250\n").fitted
    assert [body.bounds[1, 2] for _, body in raised.bodies] == pytest.approx([0.525], abs=1e-6)


def test_steps_start_from_a_grate_that_bears_a_person(tmp_path: Path) -> None:
    """From 100 to 800 mm are three rises of 700/3. Battens of 40 with gaps of 20: a boot 101.6 broad stands on two at
    the least, so that of 120 kg on two boots one bears 30; each is laid for 40."""
    grate, steps = surveyed(tmp_path, LID, GRATE, STEPS).fitted
    assert [body.bounds[1, 2] for _, body in steps.bodies] == pytest.approx([0.1 + 0.7 / 3, 0.1 + 1.4 / 3], abs=1e-6)
    assert '"sole grate": 120 kg on two boots are 30 kg at one place, laid for 40' in steps.notes[0].what
    assert (grate.solid ^ steps.solid).volume < 1e-9
    for weak in (GRATE + "spaced = 80\n", GRATE + 'point = "25 kg"\n', SHEETED):
        with pytest.raises(SurveyError, match="is laid for"):
            surveyed(tmp_path, LID, weak, STEPS)
    (_, named) = surveyed(tmp_path, LID, SHEETED, STEPS + "floor = 100\n").fitted
    assert named.solid.volume == pytest.approx(steps.solid.volume, rel=1e-6)
    strong = surveyed(tmp_path, LID, SHEETED + 'point = "60 kg"\n', STEPS).fitted[1]
    assert "60 kg at one place" in strong.notes[0].what


def test_a_grate_that_is_not_under_the_lid_is_no_floor(tmp_path: Path) -> None:
    wall = '[[obstruction]]\nname = "wall"\nshape = "box"\nx = [0, 1500]\nz = ["bottom", 90]\n'
    (tmp_path / "box.toml").write_text(SHEET + LID + wall + GRATE.replace("100", "60") + STEPS)
    _, steps = build(read_survey(tmp_path / "box.toml").compartments[0]).fitted
    assert not any("grate" in note.what for note in steps.notes)
    assert steps.bodies[0][1].bounds[1, 2] == pytest.approx(0.09 + 0.71 / 3, abs=1e-6)


def test_crates_are_bodies_that_take_volume_and_stand_clear_of_other_parts(tmp_path: Path) -> None:
    fitted = surveyed(tmp_path, LID, CRATES, STEPS, SHELF)
    crates, steps, shelf = fitted.fitted
    assert crates.solid.volume == pytest.approx(3 * 0.4 * 0.3 * 0.2, rel=1e-4)
    assert (crates.solid ^ steps.solid).volume + (crates.solid ^ shelf.solid).volume < 1e-9
    assert [name for name, _ in crates.bodies] == ["crate 1", "crate 2", "crate 3"]
    assert [one.bounds[0, 2] for _, one in crates.bodies] == [0.0] * 3  # on no tread, and on no shelf
    assert "in this order: 1: " in crates.notes[0].what
    bare = surveyed(tmp_path, LID, STEPS, SHELF)
    assert fitted.net.volume == pytest.approx(bare.net.volume - crates.solid.volume, rel=1e-9)


def test_crates_stand_on_a_grate(tmp_path: Path) -> None:
    fitted = surveyed(tmp_path, LID, CRATES, GRATE)
    assert [body.bounds[0, 2] for _, body in fitted.fitted[0].bodies] == pytest.approx([0.1] * 3, abs=1e-6)


def test_crates_are_laid_the_same_each_time_and_anew_where_the_survey_changes(tmp_path: Path) -> None:
    every = CRATES.replace("number = 3\n", "")
    first, again = (build.__wrapped__(surveyed(tmp_path, LID, every).survey).fitted[0] for _ in range(2))
    assert [body.bounds.tolist() for _, body in first.bodies] == [body.bounds.tolist() for _, body in again.bodies]
    assert len(first.bodies) == 14  # of 405 × 305 on 1995 × 995, clearances taken off: 4 × 3, and 2 turned beside them
    file = tmp_path / "box.toml"
    file.write_text(file.read_text().replace("at = 2000", "at = 1000"))
    assert len(build(read_survey(file).compartments[0]).fitted[0].bodies) < 14


def test_a_rail_stands_off_its_side(tmp_path: Path) -> None:
    """A batten 20 × 45 mm, its near face 40 mm off the side, its middle at its height; brackets fill the rest."""
    (fitted,) = surveyed(tmp_path, LID, RAIL).fitted
    (_, rail), *brackets = fitted.bodies
    assert rail.bounds[:, 1] == pytest.approx([0.94, 0.96], abs=2e-5)
    assert rail.bounds[:, 2] == pytest.approx([0.4775, 0.5225], abs=1e-9)
    assert len(brackets) > 1
    for _, bracket in brackets:
        assert bracket.volume == pytest.approx(0.03 * 0.04 * 0.045, rel=1e-3)
    rod = surveyed(tmp_path, LID, RAIL + "tube = [25, 2]\n").fitted[0].bodies[0][1]
    length = rod.bounds[1, 0] - rod.bounds[0, 0]
    assert rod.volume == pytest.approx(math.pi / 4 * (0.025**2 - 0.021**2) * length, rel=1e-2)  # drawn with 32 sides


def test_a_perforated_sheet_is_told_with_its_holes(tmp_path: Path) -> None:
    """Without holes a sheet with a gap of 5 mm all round is 1.99 × 0.99 × 0.018 m³; each hole takes π/4·d²·t."""
    fine = surveyed(tmp_path, SHEETED + "hole = 10\n").fitted[0].solid
    wide = surveyed(tmp_path, SHEETED + "hole = 20\n").fitted[0].solid
    top = [body.split((0.0, 0.0, 1.0), 0.082)[0].volume for body in (fine, wide)]
    whole = 1.99 * 0.99 * 0.018
    counts = [(whole - left) / (math.pi / 4 * bore**2 * 0.018) for left, bore in zip(top, (0.01, 0.02), strict=True)]
    least, most = 0.5 * whole / 0.018 / 0.04**2, whole / 0.018 / 0.04**2
    assert all(least < count < most for count in counts)


def test_kinds_together_lie_clear_of_one_another(tmp_path: Path) -> None:
    fitted = surveyed(tmp_path, LID, CRATE, STEPS + "floor = 100\n", RAIL.replace("port", "starboard"))
    bare = surveyed(tmp_path, LID)
    for one, other in combinations(fitted.fitted, 2):
        assert (one.solid ^ other.solid).volume < 1e-9
    lost = sum(one.solid.volume for one in fitted.fitted)
    assert fitted.net.volume == pytest.approx(bare.net.volume - lost, rel=1e-9)


@pytest.mark.parametrize("name", ["cockpit locker, port", "cockpit locker, starboard"])
def test_steps_and_a_rail_in_the_demo(name: str) -> None:
    fitted = build(FITTED.compartment(name))
    bare = build(read_survey(DEMO).compartment(name))
    steps, rail = fitted.fitted
    assert (steps.kind, rail.kind) == ("step", "rail")
    assert (steps.solid ^ rail.solid).volume < 1e-9
    assert all((one.solid - bare.inside).volume < 1e-9 for one in fitted.fitted)
    lost = steps.solid.volume + rail.solid.volume
    assert fitted.net.volume == pytest.approx(bare.net.volume - lost, rel=1e-9)


@pytest.mark.parametrize("name", ["sail locker", "lazarette", "berth locker"])
def test_the_demo_fitted_out(name: str) -> None:
    fitted = build(FITTED.compartment(name))
    bare = build(read_survey(DEMO).compartment(name))
    assert len(fitted.fitted) == 1
    space = asked_space(fitted, without=[fitted.fitted[0].name]).compartment
    for part in fitted.fitted:
        assert (part.solid - space.inside).volume < 1e-9
        assert part.solid.volume == pytest.approx(sum(body.volume for _, body in part.bodies), rel=1e-9)
    assert fitted.net.volume == pytest.approx(space.net.volume - fitted.fitted[0].solid.volume, rel=1e-9)
    assert fitted.gross.volume == bare.gross.volume
    assert not bare.fitted


def test_two_parts_that_lie_in_one_another_are_both_named(tmp_path: Path) -> None:
    with pytest.raises(SurveyError) as told:
        surveyed(tmp_path, SHELF, PANEL)
    (problem,) = told.value.problems
    assert '"shelf" and "panel" lie in one another' in problem.what
    assert problem.line == SHEET.count("\n") + SHELF.count("\n") + 2


@pytest.mark.parametrize(
    ("part", "why", "line"),
    [
        (SHELF.replace('"shelf"\nheight', '"shlef"\nheight'), 'no kind of part "shlef"; did you mean "shelf"', 4),
        (SHELF.replace("height = 400\n", ""), "height is missing", 2),
        (SHELF.replace("depth", "dpeth"), 'unknown key "dpeth"; did you mean "depth"', 7),
        (SHELF.replace("400", "9000"), "outside the space", 2),
        (SHELF.replace("400", "790"), "no room over the shelf", 2),
        (SHELF.replace("gap = 0", 'timber = "chalk"'), "chalk", 2),
        (SHELF.replace("gap = 0", "gap = -3"), "too small", 8),
        (PANEL.replace("at = 1200\n", ""), "one of at, height, half_breadth", 2),
        (PANEL.replace("at = 1200", "at = 1200\nheight = 20"), "one of at, height, half_breadth", 2),
        (PANEL.replace("at = 1200", "at = -40"), "outside the space", 2),
        (PANEL.replace("gap = 0", "gap = 499"), "nothing is left", 2),
        (PANEL.replace("at = 1200", "at = 1200\nvent = 9000"), "room for", 2),
        (STEPS + "rises = [165, 305]", 'unknown key "rises"; did you mean "rise"', 5),
        (STEPS + 'side = "outboard"', '"outboard" is none of', 5),
        (STEPS, "it has no opening", 2),
        (LID + STEPS + "rise = [790, 900]", "rises have to be 50 to 600 mm", 10),
        (LID + STEPS + 'opening = "hatch"', "hatch", 10),
        (LID + STEPS + "floor = 700", "there is no tread to cut", 10),
        (LID + STEPS + "width = [3000, 3000]", "no flight of steps works", 10),
        (LID + RAIL + "hieght = 400", 'unknown key "hieght"; did you mean "height"', 16),
        (LID + RAIL.replace("none", "box 1x1x1"), "is no round fender", 10),
        (LID + RAIL.replace("none", "zeppelin"), "zeppelin", 10),
        (LID + RAIL.replace("500", "9000"), "no room for a rail", 10),
        (LID + RAIL + "tube = [25, 20]", "a tube's wall of 20 mm", 10),
        (LID + RAIL + 'pull = "0 kg"', "nothing hangs on it", 10),
        (CRATE + 'timber = "chalk"', "chalk", 2),
        (LID + CRATES.replace("box 400x300x200", "zeppelin"), "zeppelin", 10),
        (LID + CRATES.replace("box 400x300x200", "ball 200"), "ball", 10),
        (LID + CRATES.replace("box 400x300x200", "capsule 200x700"), "is no crate", 10),
        (LID + CRATES.replace("box 400x300x200", "box 40x30x20"), "sides of 50 mm at least", 10),
        (LID + CRATES.replace("= 3", "= 300"), "no layout of 300 crates was found: 1", 10),
        (LID + CRATES.replace("= 3", "= 0"), "there has to be one at least", 10),
        (LID + CRATES + "clearance = 900", "it has to be 0 to 500 mm", 10),
        (LID + CRATES + "on = 790", "no layout", 10),
        (LID + CRATES + 'opening = "hatch"', "hatch", 10),
        (CRATES, "it has no opening", 2),
        (CRATE + "spaced = 40", "stands where a list should", 7),
        (CRATE.replace("100", "9000"), "there is no room between", 2),
        (CRATE + "bend = 0", "a bend of 1/0 of the span", 2),
        (CRATE + "bend = -200", "a bend of 1/-200 of the span", 2),
        (CRATE + 'mass = "0 kg"', "no piece weighs nothing", 2),
        (SHELF + "bend = 0", "a bend of 1/0 of the span", 2),
        (PANEL + "density = 0", "a board of 0 kg/m³", 2),
        (SHEETED + "modulus = 0", "a modulus of 0", 2),
        (SHEETED + "hole = 60", "leave no sheet", 2),
        (SHEETED + 'of = "glass"', "glass", 2),
        (SHEETED + 'pattern = "round"', '"round" is none of', 6),
        (SHELF.replace("400", '"top"'), "it would lie at the very wall", 5),
        (PANEL.replace("1200", '"aft"'), "it would lie at the very wall", 5),
        (LID + STEPS + 'floor = "bottom"', "it would lie at the very wall", 13),
        (LID + CRATES + 'on = "bottom"', "it would lie at the very wall", 15),
    ],
)
def test_a_part_that_cannot_be_is_told_with_its_line(tmp_path: Path, part: str, why: str, line: int) -> None:
    with pytest.raises(SurveyError) as told:
        surveyed(tmp_path, part)
    (problem,) = told.value.problems
    assert why in problem.what
    assert problem.line == SHEET.count("\n") + line


@pytest.mark.parametrize(
    ("part", "kg", "density"),
    [(PANEL, 2, 600.0), (CRATE, 9, 675.0), (SHEETED, 9, 600.0)],
    ids=["panel", "egg-crate", "perforated"],
)
def test_a_part_in_the_survey_keeps_to_its_mass(tmp_path: Path, part: str, kg: int, density: float) -> None:
    """As the command does: parted until each piece weighs no more, by its own volume."""
    (whole,) = surveyed(tmp_path, LID, part).fitted
    (light,) = surveyed(tmp_path, LID, part + f'mass = "{kg} kg"\n').fitted
    assert len(light.bodies) > len(whole.bodies)
    assert max(body.volume for _, body in light.bodies) * density <= kg * 1.001


def test_a_panel_in_the_survey_weighs_what_its_board_does(tmp_path: Path) -> None:
    """Twice the density, half the mass that is allowed: the same pieces."""
    made = [
        surveyed(tmp_path, LID, PANEL + f'density = {density}\nmass = "{mass} kg"\n').fitted[0]
        for density, mass in ((600, 2), (300, 1))
    ]
    assert made[0].solid.volume == pytest.approx(made[1].solid.volume, rel=1e-9)
    assert len(made[0].bodies) == len(made[1].bodies) > 1


def test_what_a_maker_states_of_a_sheet_is_taken_from_the_survey(tmp_path: Path) -> None:
    """A softer sheet wants more bearers: P·L³/48EI, L² grows as E."""
    one, soft = (surveyed(tmp_path, SHEETED + more).fitted[0] for more in ("", "modulus = 1.5\n"))
    assert soft.solid.volume > one.solid.volume


def test_an_option_takes_a_part_out_and_another_puts_one_in(tmp_path: Path) -> None:
    more = (
        SHELF + '[option."shelf out"]\nleave_out = ["shelf"]\n' + PANEL.replace("[[part]]", "[[option.divided.part]]")
    )
    assert [one.name for one in surveyed(tmp_path, more).fitted] == ["shelf"]
    assert [one.name for one in surveyed(tmp_path, more, options=("shelf out", "divided")).fitted] == ["panel"]


def test_parts_are_made_anew_where_the_survey_changes(tmp_path: Path) -> None:
    first = surveyed(tmp_path, SHELF).fitted[0].solid.bounds
    file = tmp_path / "box.toml"
    file.write_text(file.read_text().replace("1000", "900"))
    second = build(read_survey(file).compartments[0]).fitted[0].solid.bounds
    assert second[:, 1] == pytest.approx(first[:, 1] - 0.1, abs=1e-9)


def test_a_twin_has_the_same_parts_mirrored(tmp_path: Path) -> None:
    file = tmp_path / "box.toml"
    file.write_text(SHEET + SHELF + '[twin]\nname = "other"\n')
    one, other = (build(survey) for survey in read_survey(file).compartments)
    assert other.fitted[0].solid.bounds[:, 1] == pytest.approx(-one.fitted[0].solid.bounds[::-1, 1])
    assert other.net.volume == pytest.approx(one.net.volume, rel=1e-12)
    assert (other.net.mirrored() - one.net).volume < 1e-12


@pytest.mark.usefixtures("warmed")
def test_boxes_keep_clear_of_parts(tmp_path: Path) -> None:
    """Under or over the shelf, or beside it: of a box 2 × 1 × 0.8, 2 × 0.7 × 0.8 stays (closed form)."""
    fitted = surveyed(tmp_path, SHELF)
    found = largest_box(fitted.inside, fitted.outside)
    assert found.volume_m3 == pytest.approx(2 * 0.7 * 0.8, rel=5e-3)
    assert largest_box(*(2 * [asked_space(fitted, without=["shelf"]).inside])).volume_m3 == pytest.approx(1.6, rel=5e-3)
    with pytest.raises(UnknownName, match="shelf"):
        asked_space(fitted, without=["tank"])


def test_other_parts_stand_within_a_lining(tmp_path: Path) -> None:
    lining = '[[part]]\nname = "lining"\nkind = "liner"\nthickness = 10\n'
    fitted = surveyed(tmp_path, LID, SHELF, lining)  # the lining is made first though it is named last
    assert [one.name for one in fitted.fitted] == ["shelf", "lining"]
    assert fitted.fitted[0].solid.bounds[:, 1] == pytest.approx([0.69, 0.99], abs=1e-6)
    left = math.prod(side - 0.02 for side in SIZE) + 0.9 * 0.6 * 0.01
    assert fitted.net.volume == pytest.approx(left - fitted.fitted[0].solid.volume, rel=1e-9)


def test_parts_leave_as_named_groups_in_their_places(tmp_path: Path) -> None:
    fitted = surveyed(tmp_path, SHELF)
    exported(fitted, tmp_path / "parts.obj", "parts")
    text = (tmp_path / "parts.obj").read_text()
    assert [line[2:] for line in text.splitlines() if line.startswith("g ")][:2] == ["shelf_A", "shelf_fiddle_1"]
    loaded = trimesh.load_scene(tmp_path / "parts.obj", split_object=True)
    assert loaded.bounds[:, 1] == pytest.approx([700, 1000], abs=1e-3)  # mm, in its place
    with pytest.raises(GeometryError, match="no parts to write"):
        exported(surveyed(tmp_path), tmp_path / "none.obj", "parts")


def test_the_schema_knows_every_kind() -> None:
    either = survey_schema()["$defs"]["Part"]["oneOf"]
    assert {one["properties"]["kind"]["const"] for one in either} == set(KINDS)
    grates = {"grate", "egg-crate grate", "perforated grate"}
    assert {*grates, "panel", "shelf", "liner", "step", "rail"} <= set(KINDS)
