"""Steps: rises against published ranges and identities, treads against the space, a person against the opening."""

import math
from importlib.resources import files
from itertools import combinations
from typing import Any

import numpy as np
import pytest
import shapely

from tapeloft.model.climbing.load import held_every, supports
from tapeloft.model.climbing.person import Person, largest_share, middles, stand_among
from tapeloft.model.climbing.rises import Comfort, flights, off_by
from tapeloft.model.climbing.steps import Steps, steps_in
from tapeloft.model.climbing.tops import tops_of
from tapeloft.model.climbing.wanted import Wanted
from tapeloft.model.compartment import Compartment, build
from tapeloft.model.cutting.beams import GRAVITY
from tapeloft.model.cutting.board import Cut
from tapeloft.model.cutting.centres import centres
from tapeloft.model.cutting.timber import timber_called
from tapeloft.model.errors import GeometryError
from tapeloft.model.fall import fall_called, falls_of
from tapeloft.model.survey.boat import read_survey

BOAT = read_survey(str(files("tapeloft.shapes").joinpath("demo")))
PORT, STARBOARD = "cockpit locker, port", "cockpit locker, starboard"


def compartment(name: str) -> Compartment:
    return build(BOAT.compartment(name))


@pytest.fixture(scope="module")
def port() -> tuple[Compartment, Steps]:
    whole = compartment(PORT)
    return whole, steps_in(whole, fall_called(whole, None), Wanted(), Cut())


# rises


def test_the_range_is_that_of_ship_stairs() -> None:
    """29 CFR 1910.25(e): 6.5 to 12 in (17 to 30 cm), treads at least 4 in deep."""
    comfort, inch = Comfort(), 0.0254
    assert comfort.least == pytest.approx(6.5 * inch, abs=2e-4)
    assert comfort.most == pytest.approx(12 * inch, abs=3e-4)
    assert Wanted().least[1] == pytest.approx(4 * inch)


@pytest.mark.parametrize("height", [0.331, 0.5, 0.62, 0.9, 1.4, 2.05])
def test_rises_are_equal_and_make_the_whole(height: float) -> None:
    found = flights(0.1, 0.1 + height, [], Comfort())
    assert {len(one.levels) + 1 for one in found} == {
        n for n in range(1, 20) if 0.165 - 1e-9 <= height / n <= 0.305 + 1e-9
    }
    for one in found:
        rises = np.diff([0.1, *one.levels, 0.1 + height])
        assert rises == pytest.approx(height / (len(one.levels) + 1), abs=1e-8)


def test_a_top_that_stands_there_is_gone_over_where_rises_stay_alike() -> None:
    found = flights(0.0, 0.9, [(0.36, "box"), (0.40, "other")], Comfort())
    assert found[0].served == ((0.36, "box"),)
    assert found[0].levels == (0.18, 0.36, 0.54, 0.72)
    assert all(one.most - one.least <= 0.0095 + 1e-9 for one in found)
    assert all("other" not in dict((b, a) for a, b in one.served) for one in found)  # 200 and 250, or 167


def test_between_one_rise_and_two_there_may_be_none() -> None:
    """320 mm: one is 15 too high, two are 5 too low each."""
    assert flights(0.0, 0.32, [], Comfort()) == []
    assert off_by(0.0, 0.32, Comfort()) == pytest.approx(0.005)


# a person


def test_an_ellipse_in_a_square_by_closed_form() -> None:
    """Turned by 45° an ellipse is √((b² + d²)/2) broad both ways: 471.9 mm of 580 × 330."""
    broad = math.sqrt((0.58**2 + 0.33**2) / 2)
    for size, stands in ((broad + 1e-3, True), (broad - 1e-3, False)):
        square = shapely.box(0, 0, size, size)
        found = stand_among(middles(square, Person()), (size / 2, size / 2), 1.0)
        assert (found is not None) == stands
    assert found is None
    share = largest_share(shapely.box(0, 0, 0.4, 0.4), Person(), (0.2, 0.2), 1.0)
    assert share == pytest.approx(0.4 / broad, rel=5e-3)


def test_a_person_is_larger_than_95_of_100_men() -> None:
    """ANSUR II (2012): bideltoid breadth 567, chest depth 298 mm at the 95th percentile of men."""
    assert Person().breadth >= 0.567
    assert Person().depth >= 0.298


# treads


def test_where_a_rectangle_lies_by_closed_form() -> None:
    """In a right triangle with legs p and q a rectangle a × b at the right angle: its middle has (p − a) to go."""
    triangle = shapely.Polygon([(0, 0), (3, 0), (0, 2)])
    free = centres(triangle, 0.6, 0.4)
    x0, y0, x1, y1 = free.bounds
    assert (x0, y0) == pytest.approx((0.3, 0.2), abs=1e-6)
    assert x1 == pytest.approx(3 * (1 - 0.4 / 2) - 0.3, abs=1e-6)  # its upper right corner on the slope
    assert y1 == pytest.approx(2 * (1 - 0.6 / 3) - 0.2, abs=1e-6)


def test_treads_lie_in_the_net_space_clear_of_the_fall_and_of_one_another(port: tuple[Compartment, Steps]) -> None:
    whole, made = port
    assert made.side == "port"
    assert made.outside_m3 < 1e-9
    assert len(made.boards) == 3
    for one in made.boards:
        assert (one.solid - whole.net).volume < 1e-9
        assert one.outline.intersection(made.fall.plan).area < 1e-9
        assert [way.opening for way in one.passages] == ["seat lid"]
    for one, other in combinations(made.boards, 2):
        assert (one.solid ^ other.solid).is_empty


def test_rises_and_depths_are_as_asked_for(port: tuple[Compartment, Steps]) -> None:
    _, made = port
    heights = [made.sole, *(step.height for step in made.steps), made.lip]
    assert np.ptp(np.diff(heights)) < 1e-8
    assert 0.165 <= made.rises[0] <= made.rises[1] <= 0.305
    for step in made.steps:
        assert step.depth >= 4 * 0.0254 - 1e-4
        assert step.piece is not None
        assert float(step.piece.solid.bounds[1, 2]) == pytest.approx(step.height, abs=1e-5)


def test_over_every_step_a_column_as_large_as_a_person_is_clear_through_the_opening(
    port: tuple[Compartment, Steps],
) -> None:
    """An ellipse drawn anew, as a prism from the step to the deck, against the boolean kernel."""
    from tapeloft.model.solid import prism

    whole, made = port
    turn = np.linspace(0, 2 * math.pi, 200, endpoint=False)
    for step in made.steps:
        along, toward = 0.29 * np.cos(turn), 0.165 * np.sin(turn)  # facing the port side: broad along x
        angle = math.radians(step.turned)
        x = along * math.cos(angle) - toward * math.sin(angle)
        y = along * math.sin(angle) + toward * math.cos(angle)
        ring = np.column_stack([x, y]) + step.stand
        assert made.fall.plan.buffer(1e-4).contains(shapely.Polygon(ring))
        column = prism([ring], step.height, made.fall.under - 0.03)
        assert (column - whole.inside).volume < 1e-6
        assert step.piece is not None
        assert shapely.Polygon(ring).intersection(step.piece.outline).area < 1e-6


def test_the_twins_steps_are_mirrored(port: tuple[Compartment, Steps]) -> None:
    other = compartment(STARBOARD)
    made = steps_in(other, fall_called(other, None), Wanted(), Cut())
    assert made.side == "starboard"
    assert made.rises == pytest.approx(port[1].rises, abs=1e-9)
    for one, mirrored in zip(port[1].boards, made.boards, strict=True):
        assert (one.solid.mirrored() - mirrored.solid).volume < 1e-8
        assert (mirrored.solid - one.solid.mirrored()).volume < 1e-8


BOX = """[[obstruction]]
name = "battery box"
shape = "box"
x = ["aft", {front}]
z = ["bottom", 270]
"""


def test_what_stands_there_is_a_step_where_it_serves(plain: Any) -> None:
    """From 0 over 270 to 810: 270 three times, the first of them the box, where its front is at hand."""
    lid = (700, 600, 800, 600)
    at_hand = plain(1400, 1000, 810, lid, more=BOX.format(front=300))
    assert [(one.name, round(one.height, 6)) for one in tops_of(at_hand)] == [("battery box", 0.27)]
    made = steps_in(at_hand, falls_of(at_hand)[0], Wanted(), Cut())
    assert [step.name for step in made.steps] == ["battery box", "tread A"]
    assert made.side == "aft"
    assert made.rises == pytest.approx((0.27, 0.27), abs=1e-6)
    assert made.asides == ()
    too_far = plain(1400, 1000, 810, lid, more=BOX.format(front=150))
    made = steps_in(too_far, falls_of(too_far)[0], Wanted(), Cut(), side="aft")
    assert all(step.piece is not None for step in made.steps)
    uneven = plain(1400, 1000, 860, lid, more=BOX.format(front=300))  # 270 and twice 295
    made = steps_in(uneven, falls_of(uneven)[0], Wanted(), Cut(), side="aft")
    assert all(step.piece is not None for step in made.steps)
    made = steps_in(uneven, falls_of(uneven)[0], Wanted(least=(0.25, 0.09)), Cut())
    assert made.steps
    assert "battery box, 270 mm up, is no step of it: no equal rises come to that height" in made.asides


def test_the_demos_battery_box_is_a_step_only_where_the_tread_under_it_is_deep_enough(plain: Any) -> None:
    """Its front stands 690 − 600 − 3 = 87 mm behind the lid's edge: a tread before it has no more than that, of 102."""
    whole = compartment(PORT)
    (short,) = steps_in(whole, fall_called(whole, None), Wanted(), Cut(), side="aft").shortfalls
    assert "would be 87 mm deep" in short.what
    (said,) = (note for note in steps_in(whole, fall_called(whole, None), Wanted(), Cut()).asides if "battery" in note)
    assert said.endswith(f"is no step of it: over it, on the aft side, {short.what}")
    made = steps_in(whole, fall_called(whole, None), Wanted(least=(0.250, 0.086)), Cut(), side="aft")
    assert made.steps[1].name == "battery box, serves as step"
    assert made.steps[1].height == pytest.approx(0.350, abs=1e-6)
    assert made.steps[1].piece is None
    assert made.rises[1] - made.rises[0] <= 0.0095


def test_a_sloping_top_is_no_step(plain: Any) -> None:
    wedge = '[[obstruction]]\nname = "wedge"\nshape = "wedge"\nrises = "aft"\nx = [0, 300]\nlow = 200\nhigh = 270\n'
    whole = plain(1400, 1000, 810, (700, 600, 800, 600), more=wedge)
    assert tops_of(whole) == ()


def test_going_brings_each_lower_nosing_farther_into_the_fall(plain: Any) -> None:
    whole = plain(1600, 900, 900, (800, 550, 900, 800))
    made = steps_in(whole, falls_of(whole)[0], Wanted(going=0.15), Cut(), side="aft")
    fronts = [one.outline.bounds[2] for one in made.boards]
    assert np.diff(fronts) == pytest.approx([-0.15, -0.15], abs=1e-6)
    assert made.into_m == pytest.approx(0.3)
    assert fronts[-1] == pytest.approx(0.35, abs=1e-6)  # the highest at the opening's edge
    assert any(f"slopes {math.degrees(math.atan2(0.225, 0.15)):.0f}°" in note for note in made.notes)
    assert any("600 mm" in note for note in made.notes)  # g + 2h = 150 + 450


def test_a_box_locker_by_hand(plain: Any) -> None:
    """1000 × 1000, 800 high under a lid that ends 200 from every wall: two treads of 460 × 197 on each side."""
    whole = plain(1000, 1000, 800, (500, 600, 600, 600))
    made = steps_in(whole, falls_of(whole)[0], Wanted(), Cut(), side="forward")
    assert [round(step.height, 6) for step in made.steps] == [0.266667, 0.533333]
    for step in made.steps:
        assert step.depth == pytest.approx(0.197, abs=1e-4)
        assert step.width == pytest.approx(0.460, abs=1e-4)


# loads


def test_a_treads_span_is_the_handbooks() -> None:
    """P·L/4 = σ·b·h²/6 and P·L³/48EI = L/200: the shorter governs (Wood Handbook, table 9-1)."""
    teak = timber_called("teak")
    force, wide, thick = 120 * GRAVITY, 0.1016, 0.025
    stressed = 4 * teak.rupture_pa / 5 * wide * thick**2 / 6 / force
    bent = math.sqrt(48 * teak.modulus_pa * wide * thick**3 / 12 / (200 * force))
    assert held_every(wide, thick, teak, 120) == pytest.approx(min(stressed, bent), rel=1e-9)
    assert supports(0.46, 0.504) == 2
    assert supports(0.46, 0.2) == 4


# what fails


def test_what_fails_is_told_with_by_how_much(plain: Any) -> None:
    whole = plain(1000, 1000, 800, (500, 600, 940, 600))  # 30 from the ends: treads 27 deep there
    made = steps_in(whole, falls_of(whole)[0], Wanted(), Cut(), side="aft")
    assert not made.steps
    (short,) = made.shortfalls
    assert short.by_m == pytest.approx(0.1016 - 0.027, abs=2e-4)
    assert "27 mm deep" in short.what
    narrow = plain(1000, 1000, 800, (500, 600, 300, 300))
    (short,) = steps_in(narrow, falls_of(narrow)[0], Wanted(), Cut(), side="aft").shortfalls
    assert short.share is not None
    assert short.share == pytest.approx(300 / 471.85, abs=4e-3)
    assert "head room" in short.what


def test_a_low_locker_wants_no_step(plain: Any) -> None:
    for high in (90, 300):
        whole = plain(1000, 1000, high, (500, 600, 600, 600))
        made = steps_in(whole, falls_of(whole)[0], Wanted(), Cut())
        assert not made.steps
        assert not made.shortfalls
        assert "no step is wanted" in made.notes[0]
    whole = plain(1000, 1000, 320, (500, 600, 600, 600))
    made = steps_in(whole, falls_of(whole)[0], Wanted(), Cut())
    assert made.shortfalls[0].by_m == pytest.approx(0.005, abs=1e-6)


def test_no_opening_and_one_over_nothing(plain: Any) -> None:
    with pytest.raises(GeometryError, match="no opening"):
        fall_called(plain(1000, 1000, 800), None)
    beside = plain(1000, 1000, 800, (3000, 600, 400, 400))
    assert falls_of(beside) == ()
    with pytest.raises(GeometryError, match="under it"):
        fall_called(beside, None)


@pytest.mark.parametrize(
    "wanted",
    [
        Wanted(thickness=0.0), Wanted(thickness=0.5), Wanted(into=-0.1), Wanted(going=math.nan),
        Wanted(most=(0.0, 0.2)),
        Wanted(least=(0.6, 0.1)), Wanted(person=Person(0.0, 0.3)), Wanted(Comfort(0.3, 0.2)), Wanted(Comfort(0.0, 0.2)),
        Wanted(Comfort(0.165, 0.305, math.inf)),
    ],
    ids=str,
)  # fmt: skip
def test_absurd_sizes_are_refused(plain: Any, wanted: Wanted) -> None:
    whole = plain(1000, 1000, 800, (500, 600, 600, 600))
    with pytest.raises(GeometryError):
        steps_in(whole, falls_of(whole)[0], wanted, Cut())
