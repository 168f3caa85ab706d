"""tapeloft fit and the boxes asked for on the command line: verdicts, statuses, words, and what is refused in words."""

import json
import math
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import tapeloft.cli.fitting as fitting
import tapeloft.shapes
from tapeloft.model.compartment import build
from tapeloft.model.errors import GeometryError
from tapeloft.model.fits.answer import Answer
from tapeloft.model.fits.fit import Fit
from tapeloft.model.fits.fitting import Pose
from tapeloft.model.fits.words import posed
from tapeloft.model.gear.asked import gear_asked
from tapeloft.model.gear.turn import Turn
from tapeloft.model.spaces import asked_space, swing
from tapeloft.model.survey.boat import read_survey

pytestmark = pytest.mark.usefixtures("warmed")

DEMO = Path(tapeloft.shapes.__file__).parent / "demo"


@pytest.fixture
def asked(run: Callable[..., Any], boat: Path) -> Callable[..., Any]:
    """Return what runs one command over the demo boat: its status, and what it printed."""
    return lambda command, *words: run(command, boat, *words)


@pytest.mark.parametrize(
    ("item", "status", "verdict"),
    [("box 300x200x200", 0, "fits"), ("box 3000x200x200", 1, "does not fit"), ("cylinder 300x400", 0, "fits"),
     ("bag 20l 100", 0, "fits"), ("bag 200l 100", 1, "does not fit")],
)  # fmt: skip
def test_a_verdict_and_its_status(asked: Any, item: str, status: int, verdict: str) -> None:
    code, out, _ = asked("fit", "gas locker", item, "--json")
    assert (code, json.loads(out)["fits"][0]["verdict"]) == (status, verdict)


@pytest.mark.parametrize("command", ["fit", "count"])
def test_a_cylinder_stands_in_a_gas_locker_and_that_is_told(asked: Any, command: str) -> None:
    """Gas cylinders are kept upright, their valve on top: common practice, no source."""
    words = ("gas locker", "cylinder 200x250", "--json", "--within", "3")
    _, out, _ = asked(command, *words)
    told = json.loads(out)
    told |= told.pop("fits", [{}])[0]
    assert told["turn"] == "upright"
    assert told["cautions"][0].startswith("In a gas locker a cylinder stands")
    _, out, _ = asked(command, *words, "--turn", "on any face")
    assert "cylinder stands" not in out
    assert '"on any face"' in out
    _, out, _ = asked(command, "chain locker", *words[1:])
    assert "cylinder stands" not in out


def test_a_limit_that_says_nothing_is_not_told() -> None:
    """What is scaled as a whole, proved for a thin body within it: fifteen times its size is no figure to go by."""
    turn = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))
    board = Fit("undecided", Pose(turn, (0.0, 0.0, 0.0)), -0.0007, 0.63, False, 0.04, 0.0, 9)
    gear = gear_asked("board 1900x500x80 rocker 60")

    def told(fit: Fit) -> str:
        one = Answer("lazarette", gear, Turn.ANY_TILT, fit.verdict, fit, None, (), (), (), ())
        return " ".join(" ".join(line) for line in fitting._lines(one, "mm"))

    assert "fits if 1.7% smaller, how large it may be at most is not proved" in told(board)
    assert "cannot if 7.5% larger" in told(replace(board, limit_m=0.003))
    no = replace(board, verdict="does not fit", even=True, room_m=-0.0865, limit_m=-0.0864)
    assert "fits if 173 mm each way smaller, proved not to with less" in told(no)  # one figure, told once
    assert "smaller, proved not to if less than 170 mm each way smaller" in told(replace(no, limit_m=-0.085))
    roomy = replace(board, verdict="fits", room_m=0.005)
    assert "room all round 5 mm" in told(roomy)
    assert "proved" not in told(roomy)
    assert "proved to be no more than 630" in told(replace(roomy, even=True))


def test_every_compartment_is_tried_and_the_roomiest_comes_first(asked: Any) -> None:
    code, out, _ = asked("fit", "box 600x400x280", "--turn", "upright", "--json", "--within", "3")
    told = json.loads(out)["fits"]
    rooms = [one["room_m"] for one in told if one["verdict"] == "fits"]
    assert code == 0
    assert len(told) == 7
    assert rooms == sorted(rooms, reverse=True)
    assert [one["verdict"] for one in told][: len(rooms)] == ["fits"] * len(rooms)


def test_the_place_printed_is_inside(asked: Any) -> None:
    _, out, _ = asked("fit", "lazarette", "box 850x650x350", "--json")
    pose = json.loads(out)["fits"][0]["pose"]
    corners = np.array([[x, y, z] for x in (-0.425, 0.425) for y in (-0.325, 0.325) for z in (-0.175, 0.175)])
    placed = corners @ np.array(pose["turn"]).T + pose["place_m"]
    low, high = build(read_survey(DEMO).compartment("lazarette")).net.bounds
    assert (placed >= low - 1e-6).all()
    assert (placed <= high + 1e-6).all()


def test_what_would_have_to_come_out_is_named(asked: Any) -> None:
    """Longer than either bay of the lazarette is broad, whose panel can be taken out."""
    _, out, _ = asked("fit", "lazarette", "box 200x1900x300", "--turn", "as given", "--json")
    told = json.loads(out)["fits"][0]
    assert told["verdict"] == "does not fit"
    assert told["would_fit_without"] == ["fore-and-aft panel"]


def test_only_the_stowed_place_is_claimed(asked: Any) -> None:
    _, out, err = asked("fit", "gas locker", "box 300x200x200")
    assert "fits" in out
    assert "Only the stowed place is checked" in err
    assert "Gas locker" in err


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("gas locker", "box 300x200"), "2 sizes, not 3"),
        (("gas locker", "sputnik"), "sputnik"),
        (("gas locker", "box 300x200x200", "--turn", "sideways"), "rule"),
        (("gas locker", "box 300x200x200", "--on", "sole", "--turn", "tilt"), "not tilted"),
        (("gas locker", "box 300x200x200", "--keep-clear", "0..1"), "three ranges"),
        (("gas locker", "box 300x200x200", "--without", "piano"), "piano"),
        (("gas locker", "box 300x200x200", "--clearance", "much"), "--clearance"),
        (("box 300x200x200", "--still", "x.png"), "one compartment"),
        (("gas locker", "box 0x200x200"), "0.1 mm"),
        (("gas locker", "box 300xnanx200"), "nan"),
    ],
)
def test_what_cannot_be_asked_is_one_message(asked: Any, words: tuple[str, ...], said: str) -> None:
    code, out, err = asked("fit", *words)
    assert (code, out) == (2, "")
    assert said in err
    assert "Traceback" not in err


def test_boxes_as_they_are_asked_for(asked: Any) -> None:
    code, out, _ = asked("box", "lazarette", "--turn", "upright", "--footprint", "600x400", "--json")
    (one,) = json.loads(out)["boxes"]
    sides = np.subtract(one["box"]["high_m"], one["box"]["low_m"])
    assert code == 0
    assert sides[:2] == pytest.approx([0.6, 0.4], abs=1e-9)
    code, out, _ = asked("box", "lazarette", "--turn", "upright", "--proportion", "3:2:1", "--json")
    sides = np.subtract(json.loads(out)["boxes"][0]["box"]["high_m"], json.loads(out)["boxes"][0]["box"]["low_m"])
    assert sides / sides[2] == pytest.approx([3, 2, 1], rel=1e-4)
    code, out, _ = asked("box", "lazarette", "--least", "0x0x500mm", "--json")
    sides = np.subtract(json.loads(out)["boxes"][0]["box"]["high_m"], json.loads(out)["boxes"][0]["box"]["low_m"])
    assert sides[2] >= 0.5


def test_boxes_one_after_another_keep_apart(asked: Any) -> None:
    _, out, _ = asked("box", "lazarette", "--number", "2", "--json")
    first, second = (one["box"] for one in json.loads(out)["boxes"])
    assert first["volume_m3"] >= second["volume_m3"]
    apart = [a >= b for a, b in zip(second["low_m"], first["high_m"], strict=True)]
    apart += [a >= b for a, b in zip(first["low_m"], second["high_m"], strict=True)]
    assert any(apart)


def test_a_bay_and_a_panel_taken_out() -> None:
    one = build(read_survey(DEMO).compartment("lazarette"))
    port, both = asked_space(one, bay="port"), asked_space(one, without=("fore-and-aft panel",))
    assert port.inside.volume == pytest.approx(next(b.solid.volume for b in one.bays if b.name == "port bay"), rel=1e-3)
    assert both.inside.volume > one.net.volume


def test_a_lid_sweeps_a_sector_of_its_own_length() -> None:
    """A lid hinged along one side, opening 90°: length across the hinge squared times pi/4, times its other side."""
    boat = read_survey(DEMO)
    for one in map(build, boat.compartments):
        for lid in one.survey.openings:
            if lid.hinge in ("", "lifts off"):
                with pytest.raises(GeometryError, match="no hinge"):
                    swing(one, lid.name)
                continue
            across = lid.clear[0] if lid.hinge in ("forward", "aft") else lid.clear[1]
            along = lid.clear[1] if lid.hinge in ("forward", "aft") else lid.clear[0]
            if lid.corner_radius or lid.wall not in ("top", "bottom"):
                continue
            angle = math.radians(lid.opens_to or 90.0)
            assert swing(one, lid.name).volume == pytest.approx(angle / 2 * across**2 * along, rel=0.02)


@pytest.mark.parametrize(
    ("turn", "said"),
    [
        (((1, 0, 0), (0, 1, 0), (0, 0, 1)), "upright, its length fore and aft"),
        (((0, -1, 0), (1, 0, 0), (0, 0, 1)), "upright, its length athwartships"),
        (((1, 0, 0), (0, 0, -1), (0, 1, 0)), "on its side, its length fore and aft"),
        (((0, 0, 1), (0, 1, 0), (-1, 0, 0)), "on end, its breadth athwartships"),
    ],
)
def test_a_place_in_words(turn: tuple[tuple[float, float, float], ...], said: str) -> None:
    assert posed(Pose(turn, (0.0, 0.0, 0.0)), (0.6, 0.4, 0.3), "box", "mm").startswith(said)
