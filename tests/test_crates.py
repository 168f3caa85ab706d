"""Crates: counts against published modules, what goes out against the space, the one made to measure against a box."""

import math
import time
from importlib.resources import files
from itertools import combinations, pairwise
from typing import Any

import igl
import numpy as np
import pytest
import shapely
from shapely import MultiPolygon

from tapeloft.model.compartment import Compartment, build
from tapeloft.model.crating.arranged import arranged, corner_layouts
from tapeloft.model.crating.ground import floors_of
from tapeloft.model.crating.layouts import headings, layouts
from tapeloft.model.crating.leaving import Left, leaving
from tapeloft.model.crating.levels import Levels, plan_of
from tapeloft.model.crating.made import Made, made_to_measure
from tapeloft.model.crating.moves import Room, about, swung, upright
from tapeloft.model.crating.path import path
from tapeloft.model.crating.stood import Stood, laid_to_come_out, rectangle_passes, stood
from tapeloft.model.crating.tipping import passages
from tapeloft.model.crating.ways import Stowed
from tapeloft.model.errors import GeometryError
from tapeloft.model.fall import falls_of
from tapeloft.model.gear.forms import Block
from tapeloft.model.openings import clear_openings
from tapeloft.model.solid import united
from tapeloft.model.survey.boat import read_survey

pytestmark = pytest.mark.usefixtures("warmed")

BOAT = read_survey(str(files("tapeloft.shapes").joinpath("demo")))
PORT, STARBOARD = "cockpit locker, port", "cockpit locker, starboard"


def compartment(name: str) -> Compartment:
    return build(BOAT.compartment(name))


def standing(whole: Compartment, form: Block, clearance: float = 0.0, within_s: float = 6.0) -> Stood:
    return stood(whole.inside, floors_of(whole), falls_of(whole), form, clearance, within_s)


@pytest.mark.parametrize(("form", "count"), [(Block(0.6, 0.4, 0.28), 4), (Block(0.4, 0.3, 0.28), 8)])
def test_modules_on_a_pallets_plan(plain: Any, form: Block, count: int) -> None:
    """ISO 3394 and 3676: four of 600 × 400, eight of 400 × 300 on 1200 × 800; so large a lid lets all straight up."""
    found = standing(plain(1201, 801, 500, (600.5, 500.5, 1201, 801)), form)
    assert (len(found.crates), found.most) == (count, count)
    assert (found.straight_least, found.straight_most, found.out) == (count, count, count)
    assert {one.out for one in found.crates} == {"straight up"}
    assert found.passes is True


def test_one_layer_stands_where_two_would_go(plain: Any) -> None:
    found = standing(plain(610, 410, 900, (305, 305, 610, 410)), Block(0.6, 0.4, 0.28))
    assert (len(found.crates), found.most) == (1, 1)
    assert found.crates[0].at[2] == 0.0


def test_what_does_not_pass_the_lid_is_refused_and_what_only_corners_hold_is_not(plain: Any) -> None:
    whole = plain(1200, 800, 500, (600, 500, 580, 380))
    assert standing(whole, Block(0.6, 0.4, 0.28), within_s=0.1).passes is False
    assert standing(whole, Block(0.57, 0.37, 0.28), within_s=0.1).passes is True
    turned = plain(1200, 800, 500, (600, 500, 380, 580))
    assert standing(turned, Block(0.57, 0.37, 0.28), within_s=0.1).passes is True


def left_of(whole: Compartment, form: Block, *stowed: Stowed) -> tuple[Left, ...]:
    return leaving(Levels(whole.inside, floors_of(whole), falls_of(whole), form), stowed)


def test_a_crate_slides_to_the_lid_and_goes_up(plain: Any) -> None:
    """The lid is at one end, and the deck so low that none is lifted over another: the far ones go out last."""
    whole = plain(1500, 420, 300, (260, 310, 500, 415))
    found = standing(whole, Block(0.48, 0.4, 0.2), 0.002)
    assert len(found.crates) == found.most == found.out == 3
    assert [one.order for one in found.crates] == [1, 2, 3]
    assert np.argsort([one.at[0] for one in found.crates]).tolist() == [0, 1, 2]
    near, _, far = found.crates
    assert near.out in ("straight up", "slid, then up")
    assert far.out == "slid, then up"
    assert far.way is not None
    assert far.way.carried_m == pytest.approx(far.at[0] - 0.25, abs=0.02)  # to within the lid's slack


def test_over_a_sill_a_crate_is_lifted(plain: Any) -> None:
    """A sill 100 high across the locker: the crate behind it is lifted by so much, and no more."""
    sill = '[[obstruction]]\nname = "sill"\nshape = "box"\nx = [600, 630]\nz = ["bottom", 100]\n'
    whole = plain(1200, 500, 500, (250, 350, 480, 480), more=sill)
    (left,) = left_of(whole, Block(0.4, 0.4, 0.2), Stowed(0.0, (0.9, 0.35, 0.0)))
    assert left.way.how == "lifted 100 mm and carried, then up"
    low = plain(1200, 500, 280, (250, 350, 480, 480), more=sill)  # 180 over the sill, for 200
    assert left_of(low, Block(0.4, 0.4, 0.2), Stowed(0.0, (0.9, 0.35, 0.0))) == ()


def test_a_crate_is_lifted_over_one_that_cannot_go(plain: Any) -> None:
    """Two in a row too large for the lid as they lie: a small lid, a high deck, and none in the other's way above."""
    whole = plain(1000, 420, 700, (260, 310, 500, 415))
    near, far = Stowed(0.0, (0.25, 0.31, 0.0)), Stowed(0.0, (0.75, 0.31, 0.0))
    levels = Levels(whole.inside, floors_of(whole), falls_of(whole), Block(0.48, 0.4, 0.2))
    assert [left.one for left in leaving(levels, [near, far])] == [near, far]
    assert levels.heights(0.0) == pytest.approx((0.0, 0.2001, 0.4999))


def test_a_crate_is_turned_where_the_lid_lies_across(plain: Any) -> None:
    """A lid 420 × 620 over a floor 2 × 2 m: a crate 600 × 400 that lies along it is turned by 90°; none in a gully."""
    form = Block(0.6, 0.4, 0.3)
    lid = (1000, 1100, 420, 620)
    whole = plain(2000, 2000, 400, lid)
    (left,) = left_of(whole, form, Stowed(0.0, (0.4, 0.5, 0.0)))
    assert left.way.how == "slid and turned 90°, then up"
    (left,) = left_of(whole, form, Stowed(math.pi / 2, (0.4, 0.5, 0.0)))
    assert left.way.how == "slid, then up"
    (left,) = left_of(whole, form, Stowed(math.pi / 2, (1.0, 1.1, 0.0)))
    assert left.way.how == "straight up"
    gully = plain(2000, 420, 400, (1000, 310, 420, 620))
    assert left_of(gully, form, Stowed(0.0, (0.4, 0.31, 0.0))) == ()


def test_a_crate_is_laid_over_where_there_is_room_for_its_diagonal(plain: Any) -> None:
    """500 × 400 × 300 through a lid 510 × 310, on its side alone: 500 × 300. Over a corridor 430 broad it is laid over
    where the locker is √(400² + 300²) = 500 broad and more, and nowhere where it is less."""
    form, sill = Block(0.5, 0.4, 0.3), '[[obstruction]]\nname = "side"\nshape = "box"\nx = [0, 700]\ny = [530, 700]\n'
    far = Stowed(0.0, (1.2, 0.32, 0.0))
    (left,) = left_of(plain(1500, 520, 600, (300, 310, 510, 310), more=sill), form, far)
    assert left.way.then is not None
    assert left.way.how.endswith("laid over on another side; slid, then up")
    assert left_of(plain(1500, 495, 600, (300, 310, 510, 310), more=sill), form, far) == ()
    assert left_of(plain(1500, 520, 495, (300, 310, 510, 310), more=sill), form, far) == ()


def test_a_crate_is_lifted_to_where_a_hull_is_wider() -> None:
    """The gas locker flares: on its sole a crate 400 × 300 lies outside the lid's fall, 160 higher it goes up."""
    whole = compartment("gas locker")
    found = standing(whole, Block(0.4, 0.3, 0.3), 0.005, 60.0)
    (one,) = found.crates
    (fall,) = falls_of(whole)
    assert not fall.plan.contains(one.plan)
    assert one.way is not None
    assert one.out == "lifted 162 mm and carried, then up"
    assert one.at[2] + one.way.lifted_m + 0.3 == pytest.approx(fall.under, abs=2e-4)


@pytest.mark.parametrize("high", [0.64, 0.90])
def test_a_crate_that_does_not_pass_level_is_tipped_on_end(plain: Any, high: float) -> None:
    """600 × 300 × 200 through a lid 220 × 310: not level (Carver), but on end, where √(600² + 200²) = 632 are clear."""
    whole = plain(1500, 400, high * 1000, (300, 300, 220, 310))
    form = Block(0.6, 0.3, 0.2)
    assert not rectangle_passes(0.6, 0.3, 0.22, 0.31)
    (left,) = left_of(whole, form, Stowed(0.0, (1.1, 0.3, 0.0)))
    assert math.degrees(left.way.tipped) == pytest.approx(90)
    assert math.hypot(form.length, form.height) < high


def test_what_a_tipped_crate_sweeps_lies_in_the_locker_or_the_lid(plain: Any) -> None:
    """By the locker's own sides, not the kernel: random points of what it sweeps are in the box, the lid or the air."""
    lid = (300, 300, 300, 310)
    high, form = 0.5, Block(0.6, 0.3, 0.15)
    whole = plain(1500, 400, high * 1000, (*lid, 60))
    (left,) = left_of(whole, form, Stowed(0.0, (1.1, 0.3, 0.0)))
    assert 0 < left.way.tipped < math.pi / 2  # on end it is 600 high, under 560
    weights = np.random.default_rng(5)
    for cloud in left.way.legs:
        points = weights.dirichlet(np.full(len(cloud), 0.3), 400) @ cloud
        points = np.vstack([points, cloud[:8], cloud[-8:]])
        x, y, z = points.T
        slack = 2e-5
        box = (
            (x > -slack) & (x < 1.5 + slack) & (y > 0.1 - slack) & (y < 0.5 + slack) & (z > -slack) & (z < high + slack)
        )
        shaft = (abs(x - 0.3) < 0.15 + slack) & (abs(y - 0.3) < 0.155 + slack) & (z > -slack)
        assert (box | shaft | (z > high + 0.06 - slack)).all()


def test_nothing_goes_through_a_deck_of_no_height(plain: Any) -> None:
    """A lid with no coaming: on its swing the end of a box 600 long is √(600² − 400²) = 447 from its edge where it
    meets the deck, 400 up; the lid ends 120 from there."""
    gully = plain(2000, 420, 400, (1000, 310, 420, 620))
    levels = Levels(gully.inside, floors_of(gully), falls_of(gully), Block(0.6, 0.4, 0.3))
    assert leaving(levels, [Stowed(0.0, (0.4, 0.31, 0.0))]) == ()
    through = np.array([(x, y, z) for x in (1.3, 1.4) for y in (0.3, 0.4) for z in (0.2, 0.8)])
    assert not Room(levels.open, ()).is_clear([through])
    assert Room(levels.open, ()).is_clear([through - [0.3, 0.0, 0.0]])


def test_where_tipping_is_too_tight_it_is_undecided(plain: Any) -> None:
    whole = plain(1500, 400, 320, (300, 300, 220, 310))
    found = standing(whole, Block(0.6, 0.3, 0.2), 0.002, 0.3)
    assert (len(found.crates), found.out, found.passes) == (2, 0, False)
    assert {one.out for one in found.crates} == {"undecided"}


def test_the_time_there_is_ends_the_search_for_ways_out(plain: Any) -> None:
    """Six crates that are tipped in vain from many places take seconds; what was not looked at by then is undecided."""
    whole = plain(2100, 1300, 320, (300, 300, 220, 310))
    begun = time.process_time()
    found = standing(whole, Block(0.6, 0.3, 0.2), 0.002, 0.2)
    assert time.process_time() - begun < 3.0
    assert len(found.crates) >= 6
    assert found.out == 0


def test_a_swing_is_covered_at_every_angle() -> None:
    """Corners turned to random angles, against the hulls by scipy's Delaunay triangulation."""
    from scipy.spatial import Delaunay

    form, pivot, axis = Block(0.6, 0.4, 0.3), np.array([-0.3, 0.1, 0.0]), (0.6, -0.8, 0.0)
    flat, whole = upright(form, 0.4, (0.2, 0.1, 0.0)), math.radians(75)
    clouds = swung(flat, pivot, axis, whole)
    step = whole / len(clouds)
    for angle in np.random.default_rng(3).uniform(0, whole, 60):
        corners = (flat - pivot) @ about(axis, float(angle)).T + pivot
        cloud = clouds[min(int(angle / step), len(clouds) - 1)]
        middle = cloud.mean(axis=0)
        assert (Delaunay(cloud).find_simplex(middle + (corners - middle) * (1 - 1e-9)) >= 0).all()


@pytest.mark.parametrize("degrees", [15, 30, 45, 60, 75, 90])
def test_the_shadow_of_a_tipped_box_is_that_of_its_corners(degrees: int) -> None:
    """Corners turned in the plane: how far they reach along the level, and along a plane's cut of the strip."""
    long, high, angle = 0.6, 0.28, math.radians(degrees)
    under, lip = 0.7, 0.75
    corners = np.array([(0, 0), (long, 0), (long, high), (0, high)])
    turn = np.array([[math.cos(angle), -math.sin(angle)], [math.sin(angle), math.cos(angle)]])
    x, z = (corners @ turn.T).T
    slope, window, ahead, _ = next(passages(long, high, angle, under, lip))
    assert slope == math.pi / 2
    assert window == pytest.approx(np.ptp(x), abs=1e-12)
    assert long / 2 - (x.min() + x.max()) / 2 == pytest.approx(ahead, abs=1e-12)
    if degrees < 90:
        slope, window, ahead, _ = list(passages(long, high, angle, under, lip))[1]
        at = np.array([x + (level - z) / math.tan(slope) for level in (under, lip)])
        assert window == pytest.approx(np.ptp(at), abs=1e-12)
        assert long / 2 - (at.min() + at.max()) / 2 == pytest.approx(ahead, abs=1e-12)


def test_the_shortest_way_round_two_corners() -> None:
    """Round a bulkhead's end, two straight legs and its thickness: by Pythagoras."""
    room = shapely.box(0, 0, 4, 2).difference(shapely.box(1.8, 0, 2.2, 1))
    found = path(room, (0.8, 0.0), (3.2, 0.0))
    assert found is not None
    assert shapely.LineString(found).length == pytest.approx(2 * math.sqrt(2) + 0.4, abs=1e-6)
    parted = shapely.box(0, 0, 4, 2).difference(shapely.box(1.8, -1, 2.2, 3)).geoms[0]
    assert path(parted, (0.8, 0.0), (3.2, 0.0)) is None


@pytest.mark.parametrize(("across", "along"), [(2, 3), (3, 3), (1, 5)])
def test_so_many_by_so_many_fill_a_rectangle(plain: Any, across: int, along: int) -> None:
    """n × m rectangles fill the rectangle n times as long and m times as broad (closed form), turned with it too."""
    form = Block(0.3, 0.2, 0.1)
    (floor,) = floors_of(plain(along * 300 + 1, across * 200 + 1, 300, (200, 200, 200, 100)))
    plan = floor.plan(form.height)
    assert len(layouts(floor, plan, form, 0.0)[0]) == across * along
    turned = MultiPolygon([shapely.affinity.rotate(plan.geoms[0], 20, origin=(0, 0))])
    assert headings(turned)[1] == pytest.approx(math.radians(20), abs=1e-5)
    assert len(layouts(floor, turned, form, 0.0)[0]) == across * along


@pytest.mark.parametrize(("long", "broad"), [(7, 7), (9, 9), (11, 5), (13, 6)])
def test_rows_across_one_another_fill_what_rows_alone_do_not(plain: Any, long: int, broad: int) -> None:
    """3 × 2 in rectangles of whole sides: as many as there is area for, less than one each; no rows lie so."""
    form = Block(0.3, 0.2, 0.1)
    (floor,) = floors_of(plain(long * 100 + 1, broad * 100 + 1, 300, (200, 200, 200, 100)))
    found = layouts(floor, floor.plan(form.height), form, 0.0)[0]
    assert len(found) == long * broad // 6
    plans = [plan_of(form, one.heading, *one.at[:2]) for one in found]
    assert shapely.union_all(plans).area == pytest.approx(len(plans) * 0.06, abs=1e-6)


def test_the_answer_is_the_same_where_no_time_ends_it() -> None:
    whole = compartment("gas locker")
    one, other = (standing(whole, Block(0.297, 0.198, 0.1475), 0.005, within_s) for within_s in (60.0, 600.0))
    assert one.cut == other.cut == ()
    assert (one.most, one.straight_least, one.straight_most) == (other.most, other.straight_least, other.straight_most)
    assert [(crate.at, crate.heading_deg, crate.out) for crate in one.crates] == [
        (crate.at, crate.heading_deg, crate.out) for crate in other.crates
    ]


def test_what_the_time_cut_off_is_told() -> None:
    found = standing(compartment(PORT), Block(0.297, 0.198, 0.1475), 0.005, 0.0)
    assert found.cut == ("layouts", "limits", "ways out")
    assert 4 <= len(found.crates) <= found.most
    assert found.out == 0


def test_the_leg_that_is_held_up_is_told_and_slivers_add_up(plain: Any) -> None:
    """Boxes 0.1 × 0.1 m that stick out below by so much: volumes in closed form, against a tenth of a cubic mm."""
    room = Room(plain(1200, 800, 500, (600, 500, 580, 380)).inside, ())
    box = np.array([(x, y, z) for x in (0.5, 0.6) for y in (0.45, 0.55) for z in (0.0, 0.1)])
    clear, out, sliver = (box + np.array([0.0, 0.0, up]) for up in (0.2, -0.05, -0.8e-8))
    assert room.met([clear, clear]) is None
    assert room.met([clear, out]) == -1
    assert room.met([out, clear]) == -2
    assert room.met([sliver]) is None
    assert room.met([sliver, sliver]) is not None


def test_more_that_stand_than_come_out_are_both_told(plain: Any) -> None:
    """A step cuts a low locker in two: what stands behind it is not lifted over, and no layout mends that."""
    step = '[[obstruction]]\nname = "step"\nshape = "box"\nx = [600, 640]\nz = ["bottom", 200]\n'
    whole = plain(1300, 420, 300, (300, 310, 590, 415), more=step)
    found = standing(whole, Block(0.5, 0.4, 0.2), 0.002)
    assert (len(found.crates), found.out, found.most_out) == (2, 1, 1)
    floors, falls = floors_of(whole), falls_of(whole)
    laid, notes = laid_to_come_out(whole.inside, floors, falls, Block(0.5, 0.4, 0.2), 0.002, None)
    assert [one.at[0] < 0.6 for one in laid] == [True]
    assert "1: " in notes[0]
    laid, notes = laid_to_come_out(whole.inside, floors, falls, Block(0.5, 0.4, 0.2), 0.002, 2)
    assert len(laid) == 2
    assert "undecided" in notes[1]
    with pytest.raises(GeometryError, match="no layout of 3 crates"):
        laid_to_come_out(whole.inside, floors, falls, Block(0.5, 0.4, 0.2), 0.002, 3)


@pytest.mark.parametrize("name", [PORT, "berth locker"])
def test_crates_of_the_demo_boat_stand_in_the_net_space(name: str) -> None:
    whole = compartment(name)
    found = standing(whole, Block(0.297, 0.198, 0.1475), 0.005)
    assert 4 <= len(found.crates) <= found.most
    assert found.out == len(found.crates)
    assert found.straight_least <= found.straight_most
    every = united(one.solid for one in found.crates)
    assert (every - whole.net).volume < 1e-9
    assert every.volume == pytest.approx(len(found.crates) * 0.297 * 0.198 * 0.1475, rel=1e-4)
    for one, other in combinations(found.crates, 2):
        assert one.plan.distance(other.plan) >= 0.005 - 1e-6


def test_straight_up_is_straight_up(plain: Any) -> None:
    """What a crate sweeps on its way, from the kernel: nothing of it outside the net space below the deck."""
    post = '[[obstruction]]\nname = "post"\nshape = "post"\nx = 300\ny = 320\ndiameter = 60\n'
    whole = plain(700, 500, 400, (350, 350, 700, 500), more=post)
    found = standing(whole, Block(0.24, 0.18, 0.15), 0.004)
    up = [one for one in found.crates if one.out == "straight up"]
    assert up
    (fall,) = falls_of(whole)
    for one in up:
        assert fall.plan.buffer(1e-6).contains(one.plan)
        swept = (one.solid + one.solid.moved((0, 0, 0.25))).hull()
        assert (swept - whole.inside).volume < 1e-9


@pytest.mark.parametrize(("form", "over"), [(Block(0.594, 0.396, 0.28), False), (Block(0.6, 0.4, 0.3), True)])
def test_what_the_demos_tipped_crates_sweep_is_clear_by_winding_numbers(form: Block, over: bool) -> None:
    """Random points of each leg against the net mesh by libigl, in the lid by shapely, and past those still there."""
    whole = compartment(PORT)
    (fall,) = falls_of(whole)
    levels = Levels(whole.inside, floors_of(whole), (fall,), form)
    stowed = arranged(levels, corner_layouts(levels, 0.005))[0].left
    assert len(stowed) == 2
    assert all(left.way.tipped and (left.way.then is not None) == over for left in stowed)
    random = np.random.default_rng(11)
    for number, left in enumerate(stowed):
        swept = [np.vstack([random.dirichlet(np.full(len(one), 0.3), 150) @ one, one]) for one in left.way.legs]
        points = np.vstack(swept)
        below = points[points[:, 2] < fall.under - 0.031]
        wound = igl.winding_number(whole.inside.vertices, whole.inside.triangles, below)
        assert len(below) > 1000
        assert np.allclose(wound, 1.0, atol=1e-6)
        within = points[(points[:, 2] > fall.under + 0.03) & (points[:, 2] < fall.lip)]
        assert shapely.contains_xy(fall.plan.buffer(1e-6), *within[:, :2].T).all()
        assert float(left.way.legs[-1][8:, 2].min()) >= fall.lip - 1e-9  # it ends wholly over the lip
        for one, after in pairwise(left.way.legs):  # each leg begins where the one before ended
            apart = np.linalg.norm(one[-8:, None] - after[None, :8], axis=2)
            assert apart.min(axis=1).max() < 1e-9
        for other in stowed[number + 1 :]:
            there = plan_of(form, other.one.heading, *other.one.at[:2])
            low = other.one.at[2]
            near = points[(points[:, 2] > low + 1e-6) & (points[:, 2] < low + form.height - 1e-6)]
            assert not shapely.contains_xy(there.buffer(-1e-6), *near[:, :2].T).any()


# made to measure


def test_under_a_lid_as_large_as_a_box_the_crate_is_the_box_less_its_clearances(plain: Any) -> None:
    whole = plain(900, 600, 500, (450, 400, 900, 600))
    made = made_to_measure(floors_of(whole), falls_of(whole), clear_openings(whole), 0.01, 0.01, None, 6.0)
    assert made is not None
    assert made.sizes == pytest.approx((0.879, 0.579, 0.49), abs=1.1e-3)  # whole millimetres, and the grid
    assert made.proved
    assert made.holds_m3 == pytest.approx(math.prod(a - b for a, b in zip(made.sizes, (0.02, 0.02, 0.01), strict=True)))
    assert made.volume_m3 <= made.limit_m3 <= made.volume_m3 * 1.01


def test_a_lid_narrower_than_the_locker_governs(plain: Any) -> None:
    whole = plain(900, 600, 500, (450, 400, 420, 300))
    made = made_to_measure(floors_of(whole), falls_of(whole), clear_openings(whole), 0.006, 0.0, 0.3, 10.0)
    assert made is not None
    assert made.sizes == pytest.approx((0.42, 0.3, 0.3), abs=1.1e-3)


@pytest.fixture(scope="module")
def demo() -> tuple[Compartment, Made]:
    whole = compartment(PORT)
    made = made_to_measure(floors_of(whole), falls_of(whole), clear_openings(whole), 0.009, 0.005, None, 6.0)
    assert made is not None
    return whole, made


def test_its_boards_make_the_crate_and_nothing_overlaps(demo: tuple[Compartment, Made]) -> None:
    whole, made = demo
    solids = [one.piece.solid for one in made.boards]
    for one, other in combinations(solids, 2):
        assert (one ^ other).volume < 1e-10
    whole_crate = united(solids)
    assert (whole_crate - whole.net).volume < 1e-9
    assert whole_crate.hull().volume == pytest.approx(made.volume_m3, rel=1e-4)
    holes = 2 * 0.009 * (0.075 * 0.035 + math.pi * 0.035**2 / 4)
    assert whole_crate.volume == pytest.approx(made.volume_m3 - made.holds_m3 - holes, rel=1e-3)


def test_it_goes_straight_up_through_the_lid(demo: tuple[Compartment, Made]) -> None:
    whole, made = demo
    (fall,) = falls_of(whole)
    hull = united(one.piece.solid for one in made.boards).hull()
    plan = shapely.convex_hull(shapely.MultiPoint(hull.vertices[:, :2]))
    assert fall.plan.contains(plan)
    assert (hull - whole.net).volume < 1e-9  # it stands with the lid shut
    assert float(hull.bounds[1, 2]) < fall.under


def test_the_twins_crate_is_mirrored(demo: tuple[Compartment, Made]) -> None:
    other = compartment(STARBOARD)
    made = made_to_measure(floors_of(other), falls_of(other), clear_openings(other), 0.009, 0.005, None, 6.0)
    assert made is not None
    assert made.sizes == pytest.approx(demo[1].sizes, abs=1e-9)
    assert np.array(made.at) == pytest.approx(np.array(demo[1].at) * [1, -1, 1], abs=1e-5)


def test_a_lid_over_nothing_level_and_one_smaller_than_any_crate(plain: Any) -> None:
    whole = compartment("chain locker")
    assert made_to_measure(floors_of(whole), falls_of(whole), clear_openings(whole), 0.009, 0.005, None, 2.0) is None
    small = plain(900, 600, 500, (450, 400, 60, 60))
    assert made_to_measure(floors_of(small), falls_of(small), clear_openings(small), 0.009, 0.005, None, 2.0) is None
    with pytest.raises(GeometryError, match="nothing level"):
        floors_of(small, [5.0])


@pytest.mark.parametrize(
    ("wall", "clearance", "height"),
    [
        (0.0, 0.01, None), (0.5, 0.01, None), (0.009, -0.01, None), (0.009, 9.0, None), (0.009, 0.01, 0.0),
        (math.nan, 0.01, 1.0),
    ],
)  # fmt: skip
def test_absurd_sizes_are_refused(plain: Any, wall: float, clearance: float, height: float | None) -> None:
    whole = plain(900, 600, 500, (450, 400, 420, 300))
    with pytest.raises(GeometryError, match="it has to be"):
        made_to_measure(floors_of(whole), falls_of(whole), clear_openings(whole), wall, clearance, height, 1.0)
