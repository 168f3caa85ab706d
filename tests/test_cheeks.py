"""Cheeks of steps: against closed forms in an upright box, the boolean kernel, and who climbs past them."""

import math
from importlib.resources import files
from itertools import combinations
from typing import Any

import numpy as np
import pytest

from tapeloft.model.climbing.steps import Steps, steps_in
from tapeloft.model.climbing.wanted import Wanted
from tapeloft.model.compartment import Compartment, build
from tapeloft.model.cutting.board import Cut
from tapeloft.model.errors import GeometryError
from tapeloft.model.fall import fall_called, falls_of
from tapeloft.model.solid import prism
from tapeloft.model.survey.boat import read_survey

BOAT = read_survey(str(files("tapeloft.shapes").joinpath("demo")))
PORT, STARBOARD = "cockpit locker, port", "cockpit locker, starboard"
LID = (700, 600, 800, 600)


def flight(name: str, wanted: Wanted) -> tuple[Compartment, Steps]:
    whole = build(BOAT.compartment(name))
    return whole, steps_in(whole, fall_called(whole, None), wanted, Cut())


@pytest.fixture(scope="module")
def port() -> tuple[Compartment, Steps]:
    return flight(PORT, Wanted(cheeks=0.020))


def test_cheeks_in_a_box_by_closed_form(plain: Any) -> None:
    """Two treads 250 deep and 460 wide on rises of 270: boards 540 high less the gap to the sole, one at each end."""
    whole = plain(1800, 1000, 810, LID)
    cut = Cut()
    made = steps_in(whole, falls_of(whole)[0], Wanted(cheeks=0.018), cut, side="aft")
    depth = made.boards[0].size[0]
    assert [one.name for one in made.cheeks] == ["cheek starboard", "cheek port"]
    for one in made.cheeks:
        (piece,) = one.pieces
        assert piece.outline.area == pytest.approx(depth * (0.540 - cut.gaps.side), rel=1e-5)
        assert piece.mass_kg == pytest.approx(piece.outline.area * 0.018 * Wanted().timber.density_kg_m3)
        for _, end in one.ends:
            assert end.area == pytest.approx(depth * 0.020, rel=1e-6)
            assert end.difference(piece.outline).area < 1e-9
    low, high = (one.pieces[0].solid.bounds for one in made.cheeks)
    assert high[0, 1] - low[1, 1] == pytest.approx(0.460, abs=3e-5)
    assert not any("cheek" in note for note in (*made.notes, *made.asides))


def test_cheeks_lie_in_the_space_and_in_nothing_else(port: tuple[Compartment, Steps]) -> None:
    whole, made = port
    pieces = [piece for one in made.cheeks for piece in one.pieces]
    assert len(pieces) == 2
    assert made.outside_m3 < 1e-9
    for one in pieces:
        assert (one.solid - whole.net).volume < 1e-9
        assert [way.opening for way in one.passages] == ["seat lid"]
    for one, other in combinations([*pieces, *made.boards], 2):
        assert (one.solid ^ other.solid).volume < 1e-9


def test_treads_meet_their_cheeks_as_far_as_is_told(port: tuple[Compartment, Steps]) -> None:
    """A tread grown by a tenth of a millimetre along its edge meets a cheek in a slice so thick."""
    _, made = port
    told = [note for note in made.asides if note.startswith("cheek")]
    for cheek, by in zip(made.cheeks, (-1e-4, 1e-4), strict=True):
        for tread, (name, end) in zip(made.boards, cheek.ends, strict=True):
            meets = sum((tread.solid.moved((by, 0.0, 0.0)) ^ one.solid).volume for one in cheek.pieces) / 1e-4
            share = meets / end.area
            assert 0.5 < share <= 1.01
            said = [note for note in told if note.startswith(cheek.name) and note.endswith(name)]
            assert len(said) == (share < 0.95)
            assert all(f"holds {share * 100:.0f} %" in note for note in said)


@pytest.mark.parametrize("going", [0.0, 0.1])
def test_cheeks_stand_clear_of_who_climbs(plain: Any, going: float) -> None:
    """An ellipse drawn anew where a person stands over each step, as a prism up through the lid."""
    whole = plain(1800, 900, 900, (900, 550, 900, 800))
    made = steps_in(whole, falls_of(whole)[0], Wanted(going=going, cheeks=0.02), Cut(), side="aft")
    assert len(made.cheeks) == 2
    turn = np.linspace(0, 2 * math.pi, 200, endpoint=False)
    for step in made.steps:
        angle = math.radians(step.turned)
        along, toward = 0.29 * np.cos(turn), 0.165 * np.sin(turn)  # facing aft: broad along y
        x, y = toward * math.cos(angle) - along * math.sin(angle), toward * math.sin(angle) + along * math.cos(angle)
        column = prism([np.column_stack([x, y])[::-1] + step.stand], step.height + 1e-4, made.lip)
        assert column.volume > 0.01
        for cheek in made.cheeks:
            assert all((column ^ one.solid).volume < 1e-8 for one in cheek.pieces)


def test_the_twins_cheeks_are_mirrored(port: tuple[Compartment, Steps]) -> None:
    _, made = flight(STARBOARD, Wanted(cheeks=0.020))
    ours = [piece.solid.mirrored() for one in port[1].cheeks for piece in one.pieces]
    theirs = [piece.solid for one in made.cheeks for piece in one.pieces]
    assert len(ours) == len(theirs) == 2
    for one, mirrored in zip(ours, theirs, strict=True):
        assert (one - mirrored).volume < 1e-8
        assert (mirrored - one).volume < 1e-8


def test_where_walls_hold_the_treads_there_is_no_cheek_and_it_is_told(plain: Any) -> None:
    whole = plain(1600, 640, 810, (900, 420, 800, 590))
    made = steps_in(whole, falls_of(whole)[0], Wanted(most=(0.634, 0.25), cheeks=0.02), Cut(), side="aft")
    assert made.cheeks == ()
    assert [note.split(":")[0] for note in made.notes if "cheek" in note] == [
        "no cheek at the starboard end", "no cheek at the port end",
    ]  # fmt: skip


AMID = (1300, 600, 800, 600)  # no wall of a box 2600 long is at hand to an edge of it
BESIDE = """
[[obstruction]]
name = "tank"
shape = "box"
x = [500, 890]
y = ["p 835", "p 1100"]
z = ["bottom", "top"]
"""


@pytest.mark.parametrize(
    ("more", "cheeks", "said"),
    [
        ("", None, "tread A, tread B: no wall at hand holds it: give it cheeks, or more depth, or let it stand in the"),
        ("", 0.02, None),
        (BESIDE, 0.02, "tread A, tread B: a cheek holds it at one end, no wall at hand at the other: hold that too"),
    ],
)
def test_a_tread_that_cheeks_hold_is_not_told_to_want_them(
    plain: Any, more: str, cheeks: float | None, said: str | None
) -> None:
    whole = plain(2600, 1000, 810, AMID, more=more)
    made = steps_in(whole, falls_of(whole)[0], Wanted(cheeks=cheeks), Cut(), side="aft")
    told = [note for note in made.notes if "at hand" in note]
    assert [note[: len(said)] for note in told] == [said] if said else not told


@pytest.mark.parametrize("thick", [0.0, -0.02, math.nan, 2.0])
def test_absurd_cheeks(plain: Any, thick: float) -> None:
    whole = plain(1400, 1000, 810, LID)
    with pytest.raises(GeometryError, match="cheeks"):
        steps_in(whole, falls_of(whole)[0], Wanted(cheeks=thick), Cut())


def test_without_a_thickness_there_are_none(plain: Any) -> None:
    whole = plain(1800, 1000, 810, LID)
    assert steps_in(whole, falls_of(whole)[0], Wanted(), Cut(), side="aft").cheeks == ()


def test_cheeks_of_a_part_in_a_survey() -> None:
    """The demo boat, fitted out: three treads and two cheeks, none in another."""
    whole = build(
        read_survey(str(files("tapeloft.shapes").joinpath("demo")), options=("fitted out",)).compartment(PORT)
    )
    (steps,) = (part for part in whole.fitted if part.name == "steps")
    assert [name for name, _ in steps.bodies] == ["tread A", "tread B", "tread C", "cheek aft", "cheek forward"]
    assert all((one ^ other).volume < 1e-9 for (_, one), (_, other) in combinations(steps.bodies, 2))
    assert sum(solid.volume for _, solid in steps.bodies) == pytest.approx(steps.solid.volume, rel=1e-6)
