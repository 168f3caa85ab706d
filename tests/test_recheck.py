"""Certificates hold, and no tampered one does; the check's own geometry against closed forms and another library."""

import copy
import json
import math
from pathlib import Path
from typing import Any

import igl
import numpy as np
import pytest

from tapeloft.model.boxes import BoxFound, largest_box
from tapeloft.model.certificate import Before, box_certificate, fit_certificate, write_certificates
from tapeloft.model.errors import FileError, TapeloftError
from tapeloft.model.facets import body
from tapeloft.model.fits.fit import fitted
from tapeloft.model.gear.forms import Block, Cylinder
from tapeloft.model.gear.turn import Turn
from tapeloft.model.proof.turned.record import Kept
from tapeloft.model.recheck.places import is_hull, met, nearest, windings
from tapeloft.model.recheck.recheck import read_certificate, rechecked
from tapeloft.model.recheck.rows import Cuts, Sought, cut_rows, rotation, seen, wall_rows
from tapeloft.shapes.polyhedron import box

pytestmark = pytest.mark.usefixtures("warmed")
ROOM = body(box((0, 0, 0), (1.2, 0.8, 0.5))) - body(box((0.5, 0.3, -0.1), (0.6, 0.4, 0.7)))
Said = dict[str, Any]


@pytest.fixture(scope="module")
def largest() -> Said:
    kept = Kept()
    found = largest_box(ROOM, ROOM, turn=Turn.UPRIGHT, tolerance=0.01, kept=kept)
    return box_certificate("room", ROOM, found, Turn.UPRIGHT, kept)


@pytest.fixture(scope="module")
def refusal() -> Said:
    """Of a crate that is too wide to lie on either side of the post, and too long to lie across."""
    return _fit_said(Block(1.1, 0.75, 0.4), Turn.UPRIGHT)


def _fit_said(form: Block | Cylinder, rule: Turn, **rules: Any) -> Said:
    kept = Kept()
    fit = fitted(ROOM, ROOM, form, turn=rule, kept=kept, **rules)
    return fit_certificate("room", ROOM, "crate", form, rule, fit, kept)


@pytest.fixture(scope="module")
def place() -> Said:
    return _fit_said(Block(0.6, 0.5, 0.45), Turn.UPRIGHT)


def test_a_box_its_limit_and_its_place_hold(largest: Said) -> None:
    found = rechecked(json.loads(json.dumps(largest)))
    assert found.holds, found.failures
    assert found.leaves > 10
    # 0.6 × 0.8 × 0.5 m beside the post is 240 litres; the limit lies within 1 % of it
    assert 240 <= float(found.claims[0].split()[-2]) <= 242.5


@pytest.mark.parametrize("turn", [Turn.AS_GIVEN, Turn.UPRIGHT])
def test_a_box_with_given_sides_that_stands_clear_holds(turn: Turn) -> None:
    kept = Kept()
    found = largest_box(
        ROOM, ROOM, turn=turn, tolerance=0.02, height=0.3, clearance=0.02, on_grate=0.1, kept=kept
    )  # fmt: skip
    said = box_certificate("room", ROOM, found, turn, kept)
    assert rechecked(said).holds
    said["asked"]["clearance_m"] = 0.01
    assert not rechecked(said).holds


def test_a_refusal_holds(refusal: Said) -> None:
    found = rechecked(json.loads(json.dumps(refusal)))
    assert found.holds, found.failures
    assert found.claims == ("crate does not fit in room, turned upright, 0 mm clear all round",)


@pytest.mark.parametrize("rule", [Turn.AS_GIVEN, Turn.UPRIGHT, Turn.ANY_FACE])
def test_refusals_of_round_things_hold(rule: Turn) -> None:
    found = rechecked(_fit_said(Cylinder(0.52, 0.85), rule, clearance=0.15))
    assert found.holds, found.failures


@pytest.mark.parametrize("sides", [pytest.param((1.1, 0.75, 0.45), marks=pytest.mark.extensive), (0.9, 0.8, 0.7)])
def test_refusals_at_any_tilt_hold(sides: tuple[float, float, float]) -> None:
    """The one by all turns looked through; the other by a ball that it holds, which does not go in."""
    said = _fit_said(Block(*sides), Turn.ANY_TILT, within_s=60.0)
    found = rechecked(json.loads(json.dumps(said)))
    assert found.holds, found.failures
    assert found.claims == ("crate does not fit in room, turned any tilt, 0 mm clear all round",)
    turned = any("halve" in node for part in said["parts"] for node in part["nodes"])
    assert turned == (sides[2] == 0.45)


def test_a_core_larger_than_the_ball_in_the_thing_holds_nothing() -> None:
    said = _fit_said(Block(0.9, 0.8, 0.7), Turn.ANY_TILT)
    said["asked"]["corners_m"] = (np.array(said["asked"]["corners_m"]) * [1, 1, 0.9]).tolist()
    assert not rechecked(said).holds


def test_a_place_holds(place: Said) -> None:
    found = rechecked(json.loads(json.dumps(place)))
    assert found.holds, found.failures
    assert found.claims[0].startswith("crate is inside room at its place")


@pytest.mark.extensive
def test_a_rough_limit_holds_at_any_tilt() -> None:
    """All three angles are halved."""
    kept = Kept()
    found = largest_box(ROOM, ROOM, turn=Turn.ANY_TILT, tolerance=0.8, kept=kept)
    assert found is not None
    said = box_certificate("room", ROOM, found, Turn.ANY_TILT, kept)
    assert rechecked(said).holds
    assert {node["halve"] for node in said["parts"][0]["nodes"] if "halve" in node} == {0, 1, 2}
    _limit_lowered(said)
    assert not rechecked(said).holds


def test_a_search_cut_short_at_once_proves_that_no_box_is_larger_than_the_space() -> None:
    kept = Kept()
    found = largest_box(ROOM, ROOM, turn=Turn.ANY_TILT, within_s=0.0, kept=kept)
    assert found is not None
    assert found.limit_m3 == pytest.approx(ROOM.volume)
    said = box_certificate("room", ROOM, found, Turn.ANY_TILT, kept)
    assert rechecked(said).holds
    _limit_lowered(said)
    assert not rechecked(said).holds


def test_what_is_undecided_has_no_certificate() -> None:
    with pytest.raises(TapeloftError, match="nothing is proved"):
        _fit_said(Block(0.9, 0.7, 0.45), Turn.ANY_TILT, within_s=0.2)


# tampered with
def _limit_lowered(said: Said) -> None:
    said["limit"] -= 0.02


def _ends(said: Said) -> list[Said]:
    return [node for node in said["parts"][0]["nodes"] if node.get("cuts")]


def _leaf_removed(said: Said) -> None:
    del said["parts"][0]["nodes"][-1]


def _way_removed(said: Said) -> None:
    node = next(node for node in said["parts"][0]["nodes"] if "past" in node)
    node["order"].pop()
    node["to"].pop()


def _half_removed(said: Said) -> None:
    next(node for node in said["parts"][0]["nodes"] if "halve" in node)["to"][0] = None


def _witness_inside(said: Said) -> None:
    said["parts"][0]["points"][0] = [0.25, 0.0, 0.0]


def _negative_weight(said: Said) -> None:
    _ends(said)[0]["cuts"][0][-1] *= -1


def _weights_gone(said: Said) -> None:
    for node in _ends(said):
        node["cuts"], node["walls"] = [], []


def _cell_narrowed(said: Said) -> None:
    said["parts"][0]["roots"][0]["low"][2] *= 0.9


def _rule_widened(said: Said) -> None:
    said["asked"]["turn"] = "any tilt"


def _wall_moved(said: Said) -> None:
    """A corner of the space is moved out: the box might be larger."""
    vertices = said["parts"][0]["vertices_m"]
    for vertex in vertices:
        if vertex[0] > 1.19:
            vertex[0] += 0.02


def _plane_turned(said: Said) -> None:
    planes = said["parts"][0]["planes"]
    planes[0], planes[3] = planes[3], planes[0]


def _node_not_there(said: Said) -> None:
    next(node for node in said["parts"][0]["nodes"] if "to" in node)["to"][0] = -1


def _body_left_out(said: Said) -> None:
    said["parts"] = []


def _into_the_wall(said: Said) -> None:
    """One millimetre past x = 1.2 m, where the room ends."""
    place = said["place"]
    reached = (np.array(place["corners_m"]) @ np.array(place["turn"]).T)[:, 0].max() + place["place_m"][0]
    place["place_m"][0] += 1.201 - reached


def _not_upright(said: Said) -> None:
    turn = np.array(said["place"]["turn"]) @ rotation(np.array([1e-3, 0, 0]))
    said["place"]["turn"] = turn.tolist()


def _mirrored(said: Said) -> None:
    said["place"]["turn"] = (-np.array(said["place"]["turn"])).tolist()


def _larger_than_it_is(said: Said) -> None:
    said["place"]["volume_m3"] *= 1.01


def _smaller_searched(said: Said) -> None:
    said["asked"]["corners_m"] = (np.array(said["asked"]["corners_m"]) * 0.9).tolist()


def _thing_grown_only(said: Said) -> None:
    for root in said["parts"][0]["roots"]:
        root["least"] = 0.001


OF_BOX = [
    _limit_lowered, _leaf_removed, _way_removed, _half_removed, _witness_inside, _negative_weight, _weights_gone,
    _cell_narrowed, _rule_widened, _wall_moved, _node_not_there, _body_left_out, _into_the_wall, _not_upright,
    _mirrored, _larger_than_it_is, _plane_turned,
]  # fmt: skip


@pytest.mark.parametrize("tamper", OF_BOX)
def test_no_tampered_box_holds(largest: Said, tamper: Any) -> None:
    said = copy.deepcopy(largest)
    tamper(said)
    found = rechecked(said)
    assert not found.holds
    assert found.failures


@pytest.mark.parametrize("tamper", [_cell_narrowed, _smaller_searched, _thing_grown_only, _body_left_out])
def test_no_tampered_refusal_holds(refusal: Said, tamper: Any) -> None:
    said = copy.deepcopy(refusal)
    tamper(said)
    assert not rechecked(said).holds


# of boxes of least sides, of a proportion, and of those that others leave room for
def _asked_for(turn: Turn, rules: Said, **more: Any) -> Said:
    kept = Kept()
    found = largest_box(ROOM, ROOM, turn=turn, tolerance=0.02, kept=kept, **rules, **more)
    return box_certificate("room", ROOM, found, turn, kept, **rules)


@pytest.fixture(scope="module")
def least() -> Said:
    """Of boxes at least 700 mm long, 0.6 × 0.8 × 0.5 m beside the post among them: 0.8 may be the length."""
    return _asked_for(Turn.UPRIGHT, {"least": (0.7, 0.0, 0.3)})


@pytest.fixture(scope="module")
def scaled() -> Said:
    return _asked_for(Turn.UPRIGHT, {"proportion": (3.0, 2.0, 1.0)})


@pytest.fixture(scope="module")
def third() -> Said:
    """Of the box that the two largest leave room for, the first turned a little to make its faces those of no wall."""
    low, high = (0.02, 0.02, 0.02), (0.42, 0.6, 0.45)
    turn = rotation(np.array([0, 0, 0.01]))
    first = BoxFound(low, high, 1.0, 1.0, 0.0, True, 1, 0.0, False, None, tuple(map(tuple, turn.tolist())))
    second = BoxFound((0.7, 0, 0), (1.2, 0.4, 0.5), 0.1, 0.1, 0.0, True, 1, 0.0, False, None)
    return _after(first, second)


APART = 1e-5


def _after(*boxes: BoxFound, **rules: Any) -> Said:
    left, kept = ROOM, Kept()
    for one in boxes:
        left = left - one.grown(APART)
    found = largest_box(left, left, turn=Turn.AS_GIVEN, tolerance=0.01, kept=kept, **rules)
    return box_certificate("room", left, found, Turn.AS_GIVEN, kept, before=Before(ROOM, boxes, APART))


def test_a_box_of_least_sides_holds(least: Said) -> None:
    found = rechecked(json.loads(json.dumps(least)))
    assert found.holds, found.failures
    assert "length at least 700 mm, height at least 300 mm" in found.claims[0]
    # no box in the room is larger than that beside the post, whatever its sides; it has such sides
    assert 240 <= float(found.claims[0].split()[-2]) <= 244.8


def test_a_box_of_a_proportion_holds(scaled: Said) -> None:
    found = rechecked(json.loads(json.dumps(scaled)))
    assert found.holds, found.failures
    assert "in the proportion 3:2:1" in found.claims[0]
    # 0.8 × 0.5333 × 0.26667 m lies across the room beside the post: 113.78 litres
    assert 113.77 <= float(found.claims[0].split()[-2]) <= 113.78 * 1.02


def test_the_third_box_holds(third: Said) -> None:
    found = rechecked(json.loads(json.dumps(third)))
    assert found.holds, found.failures
    assert "clear of the 2 before it by 0.01 mm" in found.claims[0]


@pytest.mark.parametrize("rule", [{"least": (0.7, 0.0, 0.0)}, {"proportion": (2.0, 2.0, 1.0)}])
def test_boxes_that_stand_clear_hold(rule: Said) -> None:
    said = _asked_for(Turn.UPRIGHT, rule, on_grate=0.1, clearance=0.01)
    found = rechecked(json.loads(json.dumps(said)))
    assert found.holds, found.failures
    assert "standing at 100 mm" in found.claims[0]


def test_a_side_that_must_be_as_long_as_the_room_is_found_and_proved() -> None:
    """1.2 m is all there is, and 0.4 × 0.5 m lie beside the post: 240 litres."""
    said = _asked_for(Turn.AS_GIVEN, {"least": (1.2, 0.0, 0.5)})
    assert rechecked(said).holds
    assert said["place"]["volume_m3"] == pytest.approx(0.24, rel=1e-4)
    assert (np.array(said["place"]["high_m"]) - said["place"]["low_m"])[[0, 2]] == pytest.approx([1.2, 0.5], abs=1e-12)


SHIFTS = (1e-3, -1e-3)


@pytest.mark.parametrize("side", [0, 1, 2])
def test_a_box_in_its_place_that_is_less_than_it_must_be_does_not_hold(least: Said, side: int) -> None:
    said = copy.deepcopy(least)
    place = said["place"]
    said["asked"]["least_m"][side] = place["high_m"][side] - place["low_m"][side] + 1e-6
    assert "the box is not what was asked for" in rechecked(said).failures


@pytest.mark.parametrize("tamper", [
    _limit_lowered, _leaf_removed, _half_removed, _witness_inside, _weights_gone, _cell_narrowed, _rule_widened,
    _wall_moved, _body_left_out, _into_the_wall, _not_upright, _larger_than_it_is,
])  # fmt: skip
@pytest.mark.parametrize("which", ["least", "scaled"])
def test_no_tampered_box_of_a_kind_holds(which: str, tamper: Any, request: pytest.FixtureRequest) -> None:
    said = copy.deepcopy(request.getfixturevalue(which))
    tamper(said)
    assert not rechecked(said).holds


def test_what_was_refused_for_its_sides_is_not_refused_without_them() -> None:
    """A room with an alcove that is larger but too low: left out because of the least height, and only then."""
    alcove = body(box((0, 0, 0), (0.5, 0.5, 0.5))) + body(box((0.5, 0, 0), (2.5, 1, 0.2)))
    kept = Kept()
    rules: Said = {"least": (0.0, 0.0, 0.3)}
    found = largest_box(alcove, alcove, tolerance=0.01, kept=kept, **rules)
    said = box_certificate("room", alcove, found, Turn.AS_GIVEN, kept, **rules)
    assert rechecked(said).holds
    assert float(rechecked(said).claims[0].split()[-2]) == pytest.approx(125, rel=0.011)
    for height in (0.0, 0.15):
        other = copy.deepcopy(said)
        other["asked"]["least_m"][2] = height
        assert not rechecked(other).holds


@pytest.mark.parametrize("other", [[3, 2, 1.01], [3, 2.01, 1], [3.01, 2, 1], [1, 1, 1], [3, 2, -1], [3, 2], None])
def test_no_other_proportion_holds(scaled: Said, other: Any) -> None:
    said = copy.deepcopy(scaled)
    said["asked"]["proportion"] = other
    assert not rechecked(said).holds


def _corner(said: Said, number: int, end: str, axis: int, by: float) -> None:
    one = said["asked"]["before"][number]
    one[end] = [value + by * (i == axis) for i, value in enumerate(one[end])]


@pytest.mark.parametrize("by", SHIFTS)
@pytest.mark.parametrize("axis", [0, 1, 2])
@pytest.mark.parametrize("end", ["low_m", "high_m"])
@pytest.mark.parametrize("number", [0, 1])
def test_no_corner_of_a_box_before_may_be_moved(third: Said, number: int, end: str, axis: int, by: float) -> None:
    said = copy.deepcopy(third)
    _corner(said, number, end, axis, by)
    assert not rechecked(said).holds


def _box_before_gone(said: Said) -> None:
    said["asked"]["before"].pop()


def _box_before_elsewhere(said: Said) -> None:
    for end in ("low_m", "high_m"):
        _corner(said, 0, end, 0, 10.0)


def _box_before_twice(said: Said) -> None:
    said["asked"]["before"].append(said["asked"]["before"][0])


def _turn_before_lost(said: Said) -> None:
    said["asked"]["before"][0]["turn"] = np.eye(3).tolist()


def _kept_less_apart(said: Said) -> None:
    said["asked"]["apart_m"] = -APART


def _kept_far_apart(said: Said) -> None:
    said["asked"]["apart_m"] = 0.01


def _before_not_told(said: Said) -> None:
    """The place then is clear of nothing but walls, and the limit is of all the space: that does not hold."""
    said["asked"]["before"] = []
    said["parts"] = [dict(part, **said["space"]) for part in said["parts"]]


def _space_smaller(said: Said) -> None:
    """The space without a slice that was not searched."""
    part = said["parts"][0]
    part["vertices_m"] = [[x, y, min(z, 0.499)] for x, y, z in part["vertices_m"]]


def _space_gone(said: Said) -> None:
    del said["space"]


def _onto_a_box_before(said: Said) -> None:
    said["place"]["inside"] = said["space"]
    place, one = said["place"], said["asked"]["before"][1]
    shift = np.array(one["low_m"]) - place["low_m"]
    place["low_m"], place["high_m"] = (list(np.array(place[end]) + shift) for end in ("low_m", "high_m"))
    place["corners_m"] = (np.array(place["corners_m"]) + shift).tolist()


@pytest.mark.parametrize("tamper", [
    _limit_lowered, _leaf_removed, _witness_inside, _weights_gone, _rule_widened, _body_left_out, _into_the_wall,
    _larger_than_it_is, _box_before_gone, _box_before_elsewhere, _box_before_twice, _turn_before_lost,
    _kept_less_apart, _kept_far_apart, _before_not_told, _space_smaller, _space_gone, _onto_a_box_before,
])  # fmt: skip
def test_no_tampered_third_box_holds(third: Said, tamper: Any) -> None:
    said = copy.deepcopy(third)
    tamper(said)
    found = rechecked(said)
    assert not found.holds
    assert found.failures


def test_a_limit_that_leaves_room_is_no_refusal(refusal: Said) -> None:
    assert not rechecked(refusal | {"limit": 0.001}).holds


@pytest.mark.parametrize("tamper", [_into_the_wall, _not_upright, _mirrored])
def test_no_tampered_place_holds(place: Said, tamper: Any) -> None:
    said = copy.deepcopy(place)
    tamper(said)
    assert not rechecked(said).holds


def test_a_place_outside_is_none(place: Said) -> None:
    said = copy.deepcopy(place)
    said["place"]["place_m"][2] += 5.0
    assert rechecked(said).failures == ("the thing in its place is not inside",)


def test_what_is_no_certificate_is_told(tmp_path: Path, place: Said) -> None:
    file = tmp_path / "c.json"
    for text in ("", "{", "[1]", '{"kind": "other"}', '{"kind": "tapeloft certificate", "version": 9}'):
        file.write_text(text)
        with pytest.raises(FileError):
            read_certificate(file)
    with pytest.raises(FileError):
        read_certificate(tmp_path / "none.json")
    with pytest.raises(FileError, match="there already"):
        write_certificates({file: place})
    write_certificates({file: place}, force=True)
    assert rechecked(read_certificate(file)).holds
    for key in place:
        broken = {name: value for name, value in place.items() if name != key}
        if key in ("asked", "frame", "compartment", "place"):
            assert not rechecked(broken).holds


# its own geometry
def test_rows_hold_at_every_turn_and_place_of_a_cell() -> None:
    """Against the rotation itself, at random: no place that truly keeps to a wall or goes past a point breaks a row."""
    chance = np.random.default_rng(5)
    corners = np.array([[x, y, z] for x in (-0.2, 0.2) for y in (-0.15, 0.15) for z in (-0.1, 0.1)])
    normals = np.vstack([-np.eye(3), np.eye(3)])
    n = 4
    sought = Sought(
        normals, np.column_stack([np.zeros((6, 3)), np.ones(6)]), (corners @ normals.T).max(axis=0),
        np.concatenate([np.zeros((8, 3, 3)), np.sign(corners)[:, :, None]], axis=2), corners,
        np.hstack([np.eye(3), np.zeros((3, 1))]), np.zeros(3), np.empty((0, n)), np.empty(0), np.eye(n)[-1],
        np.append(np.full(n - 1, -0.3), -0.08), np.full(n, 0.3), (0.1, 1.0), False,
    )  # fmt: skip
    held = 0
    for _ in range(40):
        middle, half = chance.uniform(-0.6, 0.6, 3), chance.uniform(0, 0.2, 3)
        view = seen(np.eye(3), middle - half, middle + half)
        points, faces = chance.uniform(-0.4, 0.4, (12, 3)), chance.integers(0, 6, 12)
        cuts = Cuts(points, faces, np.repeat([1.0, -1.0], 6))
        wall = chance.normal(size=(9, 3))
        wall /= np.linalg.norm(wall, axis=1)[:, None]
        limits, pieces = chance.uniform(0, 0.4, 9), chance.integers(0, 8, 12)
        rows, most = cut_rows(sought, view, cuts, pieces, sought.low, sought.high)
        wall_row, wall_most = wall_rows(
            sought, view, wall, limits, np.arange(9), pieces[:9], sought.low, sought.high
        )  # fmt: skip
        for _ in range(40):
            turn = rotation(chance.uniform(middle - half, middle + half))
            relative = view.frame.T @ turn
            omega = 2 * np.array([relative[2, 1] - relative[1, 2], relative[0, 2] - relative[2, 0],
                                  relative[1, 0] - relative[0, 1]]) / (1 + np.trace(relative))  # fmt: skip
            u = chance.uniform(sought.low, sought.high)
            at = np.append(u, omega)
            beyond = ((points - u[:3]) * (turn @ normals[faces].T).T).sum(axis=1) - sought.face_start[faces] - u[3]
            true = cuts.senses * beyond >= 0
            assert (rows[true] @ at <= most[true]).all()
            places = u[:3] + (corners + u[3] * np.sign(corners)) @ turn.T
            inside = np.append((wall[:8] * places).sum(axis=1), (places @ wall[8]).max()) <= limits
            assert (wall_row[inside] @ at <= wall_most[inside]).all()
            held += int(true.sum() + inside.sum())
    assert held > 5000


def test_distances_and_windings_agree_with_another_library() -> None:
    points = np.random.default_rng(2).uniform((-0.1, -0.1, -0.1), (1.3, 0.9, 0.6), (300, 3))
    corners = ROOM.vertices[ROOM.triangles]
    square = igl.point_mesh_squared_distance(points, np.array(ROOM.vertices), np.array(ROOM.triangles))[0]
    assert np.allclose(nearest(points, corners), np.sqrt(square), atol=1e-9)
    in_room = ((points > 0) & (points < (1.2, 0.8, 0.5))).all(axis=1)
    in_post = ((points[:, :2] > (0.5, 0.3)) & (points[:, :2] < (0.6, 0.4))).all(axis=1)
    assert np.allclose(windings(points, corners), in_room & ~in_post, atol=1e-9)


def test_a_corner_between_two_edges_is_met_only_where_it_is() -> None:
    cube = np.array([[x, y, z] for x in (0, 1) for y in (0, 1) for z in (0, 1.0)])
    normals = np.vstack([-np.eye(3), np.eye(3)])
    # a sliver past the edge x = y = 1, that only an axis square to both edges parts from it: x + y = 2 ± 0.01
    for off, many in ((0.01, 0), (-0.01, 1)):
        a = 1 + off / 2
        sliver = np.array([[[a + 0.5, a - 0.5, 0.2], [a - 0.5, a + 0.5, 0.8], [a + 0.6, a + 0.4, 0.5]]])
        assert len(met(cube, normals, sliver)) == many


def test_a_hull_with_a_face_left_out_is_none() -> None:
    cube = np.array([[x, y, z] for x in (0, 1) for y in (0, 1) for z in (0, 1.0)])
    normals = np.vstack([-np.eye(3), np.eye(3)])
    assert is_hull(normals, cube)
    assert not is_hull(normals[:5], cube)
    assert not is_hull(normals, cube[:-1])


def test_the_file_says_what_was_asked_in_metres(largest: Said) -> None:
    assert largest["asked"] == {"what": "box", "turn": "upright", "clearance_m": 0.0, "sizes_m": [None, None, None],
                                "least_m": [0.0, 0.0, 0.0], "proportion": None}  # fmt: skip
    assert math.isclose(largest["frame"]["diagonal_m"], math.sqrt(1.2**2 + 0.8**2 + 0.5**2))
    assert largest["claims"]
