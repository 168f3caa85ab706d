"""Straps behind the joints of a panel, held against closed forms in a box, and by the boolean kernel."""

import math
from collections.abc import Sequence
from importlib.resources import files
from itertools import combinations, pairwise
from pathlib import Path

import pytest
import shapely
import shapely.affinity

from tapeloft.model.compartment import Compartment, build
from tapeloft.model.cutting.board import Board, Cut, board_at
from tapeloft.model.cutting.inset import Gaps
from tapeloft.model.cutting.plane import Plane, at_half_breadth, at_height, at_station
from tapeloft.model.cutting.slots import Holes, pierced
from tapeloft.model.cutting.straps import Strapping, Straps, strapped
from tapeloft.model.errors import GeometryError, SurveyError
from tapeloft.model.solid import Solid
from tapeloft.model.survey.boat import read_survey

BOAT = read_survey(str(files("tapeloft.shapes").joinpath("demo")))
BOX = """
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
[[opening]]
name = "hatch"
wall = "top"
x = 1000
y = "p 500"
clear = [600, 400]
"""
CUBE = """
[[obstruction]]
name = "cube"
shape = "box"
x = [800, 1000]
y = ["p {}", "p 600"]
z = [300, 500]
"""
POST = """
[[obstruction]]
name = "post"
shape = "post"
section = "round"
x = 1000
y = "p {}"
diameter = 100
"""
PANEL = """
[[part]]
name = "panel"
kind = "panel"
at = 1200
"""
PLAIN = Cut(cutter=0.0)  # a gap of 3 mm all round, 2 mm at a joint
USUAL = Strapping()
GAP, CLEAT = 0.003, 0.025
OVER = at_height(0.508)  # a board on it lies clear of the cube, a strap under it does not


def surveyed(folder: Path, *more: str) -> Compartment:
    file = folder / "box.toml"
    file.write_text("".join((BOX, *more)))
    return build(read_survey(file).compartments[0])


def made(space: Compartment, plane: Plane, asked: Strapping = USUAL, cut: Cut = PLAIN) -> tuple[Board, Straps]:
    board = board_at(space, plane, 0.012, cut)
    return board, strapped(space, board, asked, cut)


def held(space: Compartment, board: Board, straps: Straps) -> None:
    """Each strap lies in the net space, in no piece and in no other strap."""
    for one in straps.pieces:
        assert (one.solid - space.inside).volume < 1e-12
        assert all((one.solid ^ piece.solid).volume < 1e-12 for piece in board.pieces)
        assert one.solid.volume == pytest.approx(one.outline.area * straps.thickness, rel=1e-6)
    for one, other in combinations(straps.pieces, 2):
        assert (one.solid ^ other.solid).volume < 1e-12


def bounds(solid: Solid) -> list[float]:
    return [float(value) for value in solid.bounds.ravel()]


def test_behind_an_upright_joint(tmp_path: Path) -> None:
    """A bulkhead 1000 by 800 in a box: its joint stands in the middle, its strap ends at the cleats (closed form)."""
    space = surveyed(tmp_path)
    board, straps = made(space, at_station(1.2))
    (strap,), (joint,) = straps.pieces, straps.joints
    held(space, board, straps)
    low, high = GAP + CLEAT, 0.8 - GAP - CLEAT
    assert bounds(strap.solid) == pytest.approx([1.188, 0.47, low, 1.2, 0.53, high], abs=1e-5)
    assert strap.mass_kg == pytest.approx(600 * 0.06 * 0.012 * (high - low), rel=1e-5)
    assert joint.between == ("A", "B")
    assert (joint.length_m, joint.strapped_m) == pytest.approx((0.8 - 2 * GAP, high - low), abs=1e-5)
    assert (joint.cleats_m, joint.bare_m) == pytest.approx((2 * CLEAT, 0.0), abs=1e-6)
    assert [way.opening for way in strap.passages] == ["hatch"]
    assert straps.notes == ()


def test_under_a_level_joint_and_beside_one_that_runs_fore_and_aft(tmp_path: Path) -> None:
    """A level board 2000 by 1000, and one fore and aft, 2000 by 800, parted along its length."""
    space = surveyed(tmp_path)
    board, straps = made(space, at_height(0.388))
    held(space, board, straps)
    (strap,) = straps.pieces
    assert bounds(strap.solid) == pytest.approx([0.028, 0.47, 0.376, 1.972, 0.53, 0.388], abs=1e-5)
    board, straps = made(space, at_half_breadth(0.5))
    held(space, board, straps)
    (strap,) = straps.pieces
    assert bounds(strap.solid) == pytest.approx([0.028, 0.488, 0.37, 1.972, 0.5, 0.43], abs=1e-5)


@pytest.mark.parametrize("cleat", [CLEAT, 0.0])
def test_behind_a_joint_of_a_raked_board(tmp_path: Path, cleat: float) -> None:
    """Leaning 20° the board reaches from t·tan over its lower edge to 0.8/cos, what lies behind it to t·tan less."""
    space, lean = surveyed(tmp_path), math.radians(20)
    board, straps = made(space, at_station(1.0, 20.0), Strapping(cleat=cleat))
    held(space, board, straps)
    rake, top = 0.012 * math.tan(lean), 0.8 / math.cos(lean)
    long = min(top - GAP - cleat, top - rake - GAP) - (rake + GAP + cleat)
    (strap,), (joint,) = straps.pieces, straps.joints
    assert strap.outline.bounds[3] - strap.outline.bounds[1] == pytest.approx(long, abs=2e-5)
    assert joint.length_m == pytest.approx(top - rake - 2 * GAP, abs=2e-5)
    assert joint.bare_m == pytest.approx(0.0 if cleat else rake, abs=2e-5)


def test_on_the_face_that_is_named(tmp_path: Path) -> None:
    space = surveyed(tmp_path)
    for face, (low, high) in {"forward": (1.212, 1.23), "after": (1.182, 1.2), "": (1.182, 1.2)}.items():
        board, straps = made(space, at_station(1.2), Strapping(0.05, 0.018, face, 0.0))  # type: ignore[arg-type]
        held(space, board, straps)
        assert bounds(straps.pieces[0].solid) == pytest.approx([low, 0.475, GAP, high, 0.525, 0.8 - GAP], abs=1e-5)
        assert straps.far is (face != "forward")


def test_what_stands_under_a_joint_interrupts_its_strap(tmp_path: Path) -> None:
    """A cube 200 long right across it: two straps, and 206 mm of the joint with nothing behind them (closed form)."""
    space = surveyed(tmp_path, CUBE.format(400))
    board, straps = made(space, OVER)
    held(space, board, straps)
    first, second = (one.outline.bounds for one in straps.pieces)
    assert first == pytest.approx((0.028, 0.47, 0.797, 0.53), abs=1e-5)
    assert second == pytest.approx((1.003, 0.47, 1.972, 0.53), abs=1e-5)
    (joint,) = straps.joints
    assert (joint.straps, joint.bare_m) == (("strap 1", "strap 2"), pytest.approx(0.206, abs=1e-5))
    assert "the joint of A and B is 1994 mm long, and nothing lies behind 206 mm of it" in straps.notes[0]


def test_what_stands_at_one_side_keeps_a_strap_off_on_both(tmp_path: Path) -> None:
    """From 520 on, less a gap: 17 mm are left on either side, for 206 mm. From 510 on 7 would be: there it ends."""
    board, straps = made(space := surveyed(tmp_path, CUBE.format(520)), OVER)
    held(space, board, straps)
    (strap,) = straps.pieces
    assert strap.outline.area == pytest.approx(1.944 * 0.06 - 0.206 * 0.026, abs=1e-6)
    over = shapely.affinity.scale(strap.outline, 1, -1, origin=(0, 0.5))
    assert strap.outline.symmetric_difference(over).area < 1e-8
    assert len(made(surveyed(tmp_path, CUBE.format(510)), OVER)[1].pieces) == 2


def test_a_strap_keeps_clear_of_holes(tmp_path: Path) -> None:
    """A hand hole right beside the joint interrupts it, one farther off narrows it evenly, one beyond does nothing."""
    space = surveyed(tmp_path)
    whole = board_at(space, at_station(1.2), 0.012, PLAIN)
    found = []
    for web in (0.005, 0.020, 0.030):
        board = pierced(whole, Holes(hands=1, web=web)).board
        straps = strapped(space, board, Strapping(), PLAIN)
        held(space, board, straps)
        rings = [shapely.Polygon(ring) for one in board.pieces for ring in one.outline.interiors]
        assert len(rings) == 1
        for one in straps.pieces:
            assert one.outline.intersection(rings[0]).area < 1e-9
            across = shapely.affinity.scale(one.outline, -1, 1, origin=(0.5, 0))
            assert one.outline.symmetric_difference(across).area < 1e-6  # a square millimetre, of arcs drawn in sides
        found.append([one.outline.area for one in straps.pieces])
    plain = 0.744 * 0.06
    assert len(found[0]) in (1, 2)
    assert sum(found[0]) < sum(found[1]) < plain - 1e-6
    assert found[2] == [pytest.approx(plain, abs=1e-6)]


def test_where_joints_lie_nearer_than_a_strap_is_broad_each_has_half_of_what_is_between(tmp_path: Path) -> None:
    cut = Cut(cutter=0.0, heaviest=0.3)
    board, straps = made(space := surveyed(tmp_path), at_station(1.2), cut=cut)
    held(space, board, straps)
    places = sorted(line[0][0] for line in board.joints)
    apart = min(b - a for a, b in pairwise(places))
    assert apart < 0.06
    assert len(straps.pieces) == len(board.pieces) - 1
    broad = [one.outline.bounds[2] - one.outline.bounds[0] for one in straps.pieces]
    assert min(broad) == pytest.approx(apart - cut.joint, abs=1e-5)
    assert {joint.bare_m < 1e-6 for joint in straps.joints} == {True}


def test_none_are_made_where_none_are_asked_for_or_wanted(tmp_path: Path) -> None:
    space = surveyed(tmp_path)
    _, none = made(space, at_station(1.2), Strapping(breadth=0.0))
    assert (none.pieces, none.outside_m3) == ((), 0.0)
    assert none.notes == ("no straps are asked for: back the joints by other means",)
    assert none.joints[0].bare_m + none.joints[0].cleats_m == pytest.approx(0.794, abs=1e-5)
    _, behind = made(space, at_station(0.0), Strapping())  # at the very end no strap has room behind it
    assert behind.pieces == ()
    assert "no strap has room behind it: back it by other means" in behind.notes[0]
    small = replaced(space, tmp_path, "clear = [600, 400]", "clear = [1900, 900]")
    assert made(small, at_station(1.2))[1].joints == ()


def replaced(space: Compartment, folder: Path, old: str, new: str) -> Compartment:
    assert old in BOX
    file = folder / "other.toml"
    file.write_text(BOX.replace(old, new))
    return build(read_survey(file).compartments[0])


@pytest.mark.parametrize(
    ("asked", "why"),
    [
        (Strapping(breadth=0.005), "10 to 500 mm, or none"),
        (Strapping(breadth=math.nan), "10 to 500 mm, or none"),
        (Strapping(thickness=0.0), "0.5 to 200 mm"),
        (Strapping(cleat=-0.001), "0 to 500 mm"),
        (Strapping(face="upper"), "this panel has the forward and the after one"),
    ],
)
def test_straps_that_cannot_be_are_refused(tmp_path: Path, asked: Strapping, why: str) -> None:
    with pytest.raises(GeometryError, match=why):
        made(surveyed(tmp_path), at_station(1.2), asked)


def test_a_twin_has_its_straps_mirrored(tmp_path: Path) -> None:
    file = tmp_path / "box.toml"
    uneven = BOX.replace("C = [1000, 800]", "C = [900, 800]")
    file.write_text(uneven + CUBE.format(520) + '[twin]\nname = "other box"\n')
    first, second = (build(one) for one in read_survey(file).compartments)
    for plane in (OVER, at_station(1.2), at_station(1.1, -15.0)):
        ours, theirs = (made(one, plane)[1] for one in (first, second))
        assert ours.pieces
        pairs = paired([one.solid.mirrored() for one in ours.pieces], [one.solid for one in theirs.pieces])
        assert all(bounds(one) == pytest.approx(bounds(other), abs=2e-5) for one, other in pairs)
        assert all((one - other).volume < 1e-9 for one, other in pairs)
        assert sum(one.bare_m for one in ours.joints) == pytest.approx(
            sum(one.bare_m for one in theirs.joints), abs=1e-5
        )


def paired(some: Sequence[Solid], others: Sequence[Solid]) -> list[tuple[Solid, Solid]]:
    order = [sorted(each, key=lambda one: one.centroid.round(4).tolist()) for each in (some, others)]
    return list(zip(*order, strict=True))


def test_straps_of_a_panel_in_the_survey_are_of_its_space(tmp_path: Path) -> None:
    """Two boards and a strap 744 by 60 by 12; without straps so much more is left; on another face it lies there."""
    strap = 0.744 * 0.06 * 0.012
    with_strap, without, on_it = (
        surveyed(tmp_path, PANEL + more) for more in ("", "strap = [0, 0]\n", 'strap_face = "forward"\ncleat = 0\n')
    )
    (fitted,) = with_strap.fitted
    assert [name for name, _ in fitted.bodies] == ["A", "B", "strap 1"]
    assert fitted.solid.volume == pytest.approx(sum(body.volume for _, body in fitted.bodies), rel=1e-9)
    assert without.net.volume - with_strap.net.volume == pytest.approx(strap, rel=1e-5)
    assert bounds(dict(on_it.fitted[0].bodies)["strap 1"])[::3] == pytest.approx([1.212, 1.224], abs=1e-6)
    assert any("back the joints by other means" in note.what for note in without.notes)
    for more, why in (('strap_face = "upper"\n', "forward and the after"), ('strap_face = "inner"\n', "strap_face")):
        with pytest.raises(SurveyError, match=why) as refused:
            surveyed(tmp_path, PANEL + more)
        assert refused.value.problems[0].line


def test_gaps_of_straps_are_those_of_the_board(tmp_path: Path) -> None:
    """Between ends 8 mm apart and sides 5 mm: a level strap from 8 to 1992, a standing one from 5 to 795."""
    space, cut = surveyed(tmp_path), Cut(Gaps(side=0.005, end=0.008, obstruction=0.003), cutter=0.0)
    level = made(space, at_height(0.4), Strapping(cleat=0.0), cut)[1].pieces[0].outline.bounds
    upright = made(space, at_station(1.2), Strapping(cleat=0.0), cut)[1].pieces[0].outline.bounds
    assert (level[0], level[2]) == pytest.approx((0.008, 1.992), abs=1e-5)
    assert (upright[1], upright[3]) == pytest.approx((0.005, 0.795), abs=1e-5)


PLACES = [
    ("cockpit locker, port", at_station(0.7)), ("cockpit locker, port", at_station(1.1, 5.0)),
    ("cockpit locker, port", at_height(0.4)), ("cockpit locker, starboard", at_half_breadth(-0.8)),
    ("lazarette", at_height(0.3)), ("sail locker", at_height(0.6, 12.0)), ("sail locker", at_station(0.9)),
]  # fmt: skip


@pytest.mark.parametrize("cleat", [CLEAT, 0.0])
@pytest.mark.parametrize(("name", "plane"), PLACES)
def test_straps_in_the_demo_boat(name: str, plane: Plane, cleat: float) -> None:
    """In the space, clear of all else, plain to saw, and what lies behind each joint adds up to it."""
    space = build(BOAT.compartment(name))
    board, straps = made(space, plane, Strapping(cleat=cleat), Cut())
    held(space, board, straps)
    assert straps.pieces
    pieces = {one.letter: one.outline for one in (*board.pieces, *straps.pieces)}
    for joint, line in zip(straps.joints, board.joints, strict=True):
        assert joint.length_m == pytest.approx(math.dist(*line), abs=1e-9)
        assert joint.strapped_m + joint.cleats_m + joint.bare_m == pytest.approx(joint.length_m, abs=1e-9)
        assert joint.strapped_m > 0.7 * joint.length_m
        for strap in joint.straps:
            assert len(pieces[strap].exterior.coords) < 20
            laps = [pieces[strap].intersection(pieces[one]).area for one in joint.between]
            assert laps[0] == pytest.approx(laps[1], rel=0.1)
        between = [pieces[one].distance(shapely.LineString(line)) for one in joint.between]
        assert between == pytest.approx([0.001, 0.001], abs=1e-6)  # half of a joint of 2 mm


@pytest.mark.parametrize("aside", [500, 504, 520])
@pytest.mark.parametrize("broad", [0.06, 0.2, 0.4])
def test_straps_in_line_keep_apart_round_what_parts_their_joints(tmp_path: Path, broad: float, aside: int) -> None:
    """A post 100 across amid a joint: straps that are broader would meet beside it, and each keeps to its own half."""
    board, straps = made(space := surveyed(tmp_path, POST.format(aside)), OVER, Strapping(broad, 0.020))
    held(space, board, straps)
    first, second = sorted((one.outline.bounds for one in straps.pieces), key=lambda one: one[0])
    assert first[2] <= 1.0 - PLAIN.joint / 2 + 1e-5
    assert second[0] >= 1.0 + PLAIN.joint / 2 - 1e-5
    assert min(first[2] - first[0], second[2] - second[0]) > 0.89


def test_a_strap_heavier_than_a_piece_may_be_is_told(tmp_path: Path) -> None:
    """Joints upright, 794 mm less the cleats' 50: 300 × 20 mm of 600 kg/m³ behind each weigh 2.68 kg."""
    _, straps = made(surveyed(tmp_path), at_station(1.2), Strapping(0.300, 0.020), Cut(cutter=0.0, heaviest=2.5))
    assert [note for note in straps.notes if "weighs" in note] == [
        f"{one.letter} weighs 2.68 kg, 2.5 kg is the most: have it thinner or less broad" for one in straps.pieces
    ]
