"""Crates: counts against published modules, what goes out against the space, the one made to measure against a box."""

import math
from importlib.resources import files
from itertools import combinations
from typing import Any

import numpy as np
import pytest
import shapely
from shapely import MultiPolygon

from tapeloft.model.compartment import Compartment, build
from tapeloft.model.crating.ground import floors_of
from tapeloft.model.crating.made import Made, made_to_measure
from tapeloft.model.crating.sliding import plan_of, way_out
from tapeloft.model.crating.stood import Stood, stood
from tapeloft.model.errors import GeometryError
from tapeloft.model.fall import falls_of
from tapeloft.model.gear.forms import Block
from tapeloft.model.openings import clear_openings
from tapeloft.model.solid import united
from tapeloft.model.survey.boat import read_survey

BOAT = read_survey(str(files("tapeloft.shapes").joinpath("demo")))
PORT, STARBOARD = "cockpit locker, port", "cockpit locker, starboard"


def compartment(name: str) -> Compartment:
    return build(BOAT.compartment(name))


def standing(whole: Compartment, form: Block, clearance: float = 0.0, within_s: float = 0.8) -> Stood:
    return stood(floors_of(whole), falls_of(whole), form, clearance, within_s)


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


def test_a_crate_slides_to_the_lid_and_goes_up(plain: Any) -> None:
    """The lid is at one end; of two that stand in a row the far one goes out after the near one."""
    whole = plain(1000, 420, 400, (260, 310, 500, 415))
    found = standing(whole, Block(0.48, 0.4, 0.2), 0.002)
    assert len(found.crates) == found.most == 2
    near, far = sorted(found.crates, key=lambda one: one.at[0])
    assert near.out in ("straight up", "slid, then up")
    assert far.out == "slid, then up"
    assert (near.order, far.order) == (1, 2)
    assert 0.2 < far.slid_m < 0.8


def test_a_crate_is_turned_where_the_lid_lies_across() -> None:
    """A lid 0.42 × 0.62 over a floor 2 × 2: a crate 0.6 × 0.4 that lies along it is turned by 90°."""
    form = Block(0.6, 0.4, 0.3)
    floor, lid = MultiPolygon([shapely.box(0, 0, 2, 2)]), MultiPolygon([shapely.box(0.8, 0.7, 1.22, 1.32)])
    way = way_out(form, 0.0, (0.4, 0.4), floor, [lid])
    assert way is not None
    assert way.how == "slid and turned, then up"
    assert way_out(form, math.pi / 2, (0.4, 0.4), floor, [lid]).how == "slid, then up"  # type: ignore[union-attr]
    assert way_out(form, math.pi / 2, (1.01, 1.01), floor, [lid]).how == "straight up"  # type: ignore[union-attr]
    narrow = MultiPolygon([shapely.box(0.0, 0.79, 2, 1.21)])
    assert way_out(form, 0.0, (0.4, 1.0), narrow, [lid]) is None  # no room to turn
    assert plan_of(form, math.pi / 2, 1.0, 1.0).bounds == pytest.approx((0.8, 0.7, 1.2, 1.3))


@pytest.mark.parametrize("name", [PORT, "berth locker"])
def test_crates_of_the_demo_boat_stand_in_the_net_space(name: str) -> None:
    whole = compartment(name)
    found = standing(whole, Block(0.297, 0.198, 0.1475), 0.005, 1.0)
    assert 4 <= len(found.crates) <= found.most
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
    found = standing(whole, Block(0.24, 0.18, 0.15), 0.004, 0.8)
    up = [one for one in found.crates if one.out == "straight up"]
    assert up
    (fall,) = falls_of(whole)
    for one in up:
        assert fall.plan.buffer(1e-6).contains(one.plan)
        swept = (one.solid + one.solid.moved((0, 0, 0.25))).hull()
        assert (swept - whole.inside).volume < 1e-9


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
