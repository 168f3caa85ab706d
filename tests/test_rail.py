"""Reach and rails: shares against closed forms and quadrature, rails against side, lid and handbook beam."""

import math
from importlib.resources import files
from itertools import combinations, pairwise
from typing import Any

import numpy as np
import pytest
import trimesh
from scipy.integrate import quad
from shapely import LineString

from tapeloft.model.compartment import Compartment, build
from tapeloft.model.cutting.beams import GRAVITY, Bar, Load, span
from tapeloft.model.cutting.outline import outline
from tapeloft.model.cutting.plane import at_height
from tapeloft.model.cutting.timber import timber_called
from tapeloft.model.cutting.tube import METALS, Tube, metal_called
from tapeloft.model.errors import GeometryError, UnknownName
from tapeloft.model.fall import falls_of
from tapeloft.model.gear.forms import Capsule
from tapeloft.model.reaching.arm import Arm, lids_for, reached
from tapeloft.model.reaching.bent import SIDES, bent
from tapeloft.model.reaching.line import SCALLOP
from tapeloft.model.reaching.rail import METAL_SAFETY, Asked, Rail, Section, rail_in
from tapeloft.model.survey.boat import read_survey

BOAT = read_survey(str(files("tapeloft.shapes").joinpath("demo")))
PORT, STARBOARD = "cockpit locker, port", "cockpit locker, starboard"
FENDER = Capsule(0.15, 0.58)
BAR = Bar(0.02, 0.04, timber_called("teak"))
TUBE = Section(0.025, 0.025, Tube(0.025, 0.0015, METALS["stainless 316"]), METAL_SAFETY)


def compartment(name: str) -> Compartment:
    return build(BOAT.compartment(name))


def share(whole: Compartment, arm: Arm) -> tuple[float, float]:
    found = reached(whole, lids_for(whole, falls_of(whole), arm), arm)
    return found.least, found.most


# reach


def test_the_default_reach_is_a_small_womans() -> None:
    """ANSUR II (2012), thumb-tip reach of women at the 5th percentile: 674 mm."""
    assert Arm().reach == 0.674


@pytest.mark.parametrize(("along", "across"), [(0.1001, 0.1001), (0.5, 0.3), (1.2, 0.1001)])
def test_below_a_lid_a_plate_and_half_a_ball_are_in_reach(plain: Any, along: float, across: float) -> None:
    """Steiner's formula: of a plate a × b, a·b·R + (2a + 2b)·πR²/4 + 2πR³/3 lie within R and below."""
    whole, arm = plain(3000, 2000, 1500, (1500, 1100, along * 1000, across * 1000)), Arm(0.6)
    a, b, r = along - 0.1, across - 0.1, 0.6
    expected = (a * b * r + (2 * a + 2 * b) * math.pi * r**2 / 4 + 2 * math.pi * r**3 / 3) / 9.0
    least, most = share(whole, arm)
    assert least <= expected * (1 + 1e-4)
    assert most >= expected * (1 - 1e-4)
    assert most - least < 2e-3 * expected


def test_a_shallow_locker_by_quadrature(plain: Any) -> None:
    """A box 400 deep within a ball of 600 about a point of its lid: ∫ π (R² − z²) dz over its depth."""
    whole = plain(3000, 2000, 400, (1500, 1100, 100.01, 100.01))
    expected = quad(lambda z: math.pi * (0.36 - z**2), 0, 0.4)[0] / 2.4
    least, most = share(whole, Arm(0.6))
    assert least == pytest.approx(expected, rel=2e-3)
    assert least <= expected * (1 + 1e-3) <= most * (1 + 2e-3)


def test_all_of_a_small_locker_is_in_reach_and_none_of_a_bay_behind_a_panel(plain: Any) -> None:
    assert share(plain(500, 400, 300, (250, 300, 400, 300)), Arm()) == pytest.approx((1.0, 1.0))
    panel = '[[obstruction]]\nname = "panel"\nshape = "panel"\nx = [1000, 1020]\n'
    parted = plain(2020, 400, 300, (700, 300, 400, 300), more=panel)
    least, most = share(parted, Arm(1.5))
    assert least == pytest.approx(0.5, abs=1e-6)  # the lid's bay is one of two alike
    assert most == pytest.approx(0.5, abs=1e-6)


def test_points_are_as_far_from_the_shoulder_as_sampling_says() -> None:
    """The nearest of many points of the lid's plane, half an arm within its frame, drawn by hand."""
    whole = compartment("gas locker")
    (lid,) = lids_for(whole, falls_of(whole), Arm())
    corners = lid.shoulders
    weights = np.random.default_rng(1).dirichlet(np.full(len(corners), 0.15), 60_000)
    points = np.array([[0.1, 0.8, 0.1], [0.5, 1.0, 0.3], [1.2, 0.9, 0.0]])
    nearest = np.array([np.linalg.norm(weights @ corners - point, axis=1).min() for point in points])
    assert lid.off(points) == pytest.approx(nearest, abs=6e-3)
    assert (lid.off(points) <= nearest + 1e-9).all()


@pytest.mark.parametrize("reach", [0.0, -0.5, 50.0, math.nan])
def test_an_absurd_reach_is_refused(plain: Any, reach: float) -> None:
    whole = plain(1000, 900, 800, (500, 550, 400, 400))
    with pytest.raises(GeometryError, match="reach"):
        rail_in(whole, falls_of(whole), Asked("port", arm=Arm(reach)))


def test_no_arm_goes_in_through_a_pipe() -> None:
    whole = compartment("chain locker")
    with pytest.raises(GeometryError, match="no arm"):
        lids_for(whole, falls_of(whole), Arm())


# tubes


def test_a_tubes_span_is_the_handbooks() -> None:
    """P·L³/48EI = L/200 with I = π(D⁴ − d⁴)/64, P·L/4 = σ·2I/D; the shorter governs (Wood Handbook, table 9-1)."""
    second = math.pi * (0.025**4 - 0.022**4) / 64
    force = 40 * GRAVITY
    bent = math.sqrt(48 * 193e9 * second / (200 * force))
    stressed = 4 * 205e6 / 2 * second * 2 / 0.025 / force
    assert span(TUBE.beam, Load(40, 0, safety=2.0), 0.0) == pytest.approx(min(bent, stressed), rel=1e-9)
    with pytest.raises(GeometryError, match="wall"):
        Tube(0.025, 0.02, metal_called("stainless"))
    with pytest.raises(UnknownName):
        metal_called("wood")


# rails


@pytest.fixture(scope="module", params=["batten", "tube"])
def made(request: pytest.FixtureRequest) -> tuple[Compartment, Rail, Asked]:
    whole = compartment(PORT)
    asked = Asked("port", fender=FENDER, fender_kg=1.1)
    if request.param == "tube":
        asked = Asked("port", TUBE, fender=FENDER, fender_kg=1.1)
    return whole, rail_in(whole, falls_of(whole), asked), asked


def test_a_rail_is_in_reach_all_along(made: tuple[Compartment, Rail, Asked]) -> None:
    whole, rail, asked = made
    lids = lids_for(whole, falls_of(whole), asked.arm)
    points = np.array(rail.line)
    between = np.vstack([np.linspace(a, b, 50) for a, b in pairwise(points)])
    assert (lids[0].off(between) <= asked.arm.reach + 1e-6).all()
    assert rail.length_m == pytest.approx(np.linalg.norm(np.diff(points, axis=0), axis=1).sum())
    assert np.ptp(points[:, 2]) < 1e-9


def test_a_rail_keeps_off_the_side_and_clear_of_the_lid(made: tuple[Compartment, Rail, Asked]) -> None:
    whole, rail, asked = made
    solid = rail.rail.solid
    for height in np.linspace(rail.height - asked.section.deep / 2 + 1e-4, rail.height + asked.section.deep / 2, 5):
        off = rail.rail.outline.distance(outline(whole.net, at_height(height)).boundary)
        assert off >= asked.stand_off - SCALLOP - 1e-6
    assert off <= asked.stand_off + 0.02  # the side flares over the rail's depth
    (fall,) = falls_of(whole)
    assert rail.rail.outline.intersection(fall.plan).area == 0.0
    assert (solid - whole.net).volume < 1e-9
    assert rail.outside_m3 < 1e-9


def test_brackets_reach_the_side_and_are_near_enough(made: tuple[Compartment, Rail, Asked]) -> None:
    whole, rail, asked = made
    assert len(rail.brackets) >= 2
    assert rail.spacing_m <= rail.span_m
    load = Load(asked.pull_kg, asked.fender_kg / rail.pitch_m, safety=asked.section.safety)
    assert rail.span_m == pytest.approx(span(asked.section.beam, load, 1.0))
    for one in rail.brackets:
        assert (one.solid - whole.net).volume < 1e-9
        assert (one.solid ^ rail.rail.solid).volume < 1e-9
        assert one.outline.distance(rail.level.clear.boundary) < 1e-6
        assert one.outline.distance(rail.rail.outline) < 1e-6


def test_fenders_hang_clear_of_walls_and_of_one_another(made: tuple[Compartment, Rail, Asked]) -> None:
    whole, rail, _ = made
    assert len(rail.hung) >= 7
    for one in rail.hung:
        assert (one.body - whole.inside).volume < 1e-9
        assert (one.body ^ rail.rail.solid).is_empty
        assert one.body.volume == pytest.approx(FENDER.volume, rel=0.02)
        assert 0 <= one.leans_deg <= 35
    for one, other in combinations(rail.hung, 2):
        assert (one.body ^ other.body).is_empty
    hooks = np.array([one.hook for one in rail.hung])
    assert (np.linalg.norm(np.diff(hooks, axis=0), axis=1) >= rail.pitch_m * 0.99).all()


@pytest.mark.parametrize("wall", [0.0015, 0.0125])
def test_a_bent_tube_is_one_closed_surface(wall: float) -> None:
    """Whichever way it bends, its section goes round its middle line (Pappus): volume is section by length.

    As a file has it, corners rounded to a float of four bytes, mm; held by another library.
    """
    line, tube = (
        LineString([(0.2, 1.3), (0.7, 1.4), (1.2, 1.43), (1.9, 1.2)]),
        Tube(0.025, wall, METALS["stainless 316"]),
    )
    solid = bent(line, 0.8, tube)
    disc = SIDES / 2 * math.sin(2 * math.pi / SIDES)  # of a polygon with its corners on a circle of radius 1
    assert solid.volume == pytest.approx(line.length * disc * (0.0125**2 - (0.0125 - wall) ** 2), rel=1e-9)
    mesh = trimesh.Trimesh(np.float32(solid.vertices * 1000), solid.triangles)
    assert mesh.is_watertight
    assert mesh.volume == pytest.approx(solid.volume * 1e9, rel=1e-4)
    assert len(mesh.split()) == 1


def test_the_twins_rail_is_mirrored() -> None:
    rails = []
    for name, side in ((PORT, "port"), (STARBOARD, "starboard")):
        whole = compartment(name)
        rails.append(rail_in(whole, falls_of(whole), Asked(side, height=0.7)))  # type: ignore[arg-type]
    one, other = rails
    assert np.array(other.line) == pytest.approx(np.array(one.line) * [1, -1, 1], abs=1e-6)
    assert (one.rail.solid.mirrored() - other.rail.solid).volume < 1e-9


def test_a_box_lockers_rail_by_hand(plain: Any) -> None:
    """A ball of 600 about a point of the lid meets a line 340 aside, 200 down in a chord, 2·√(600² − 340² − 200²)."""
    whole = plain(3000, 800, 1000, (1500, 550, 100.01, 100.01))
    asked = Asked("port", Section(0.02, 0.04, BAR), stand_off=0.0, height=0.8, arm=Arm(0.6))
    made = rail_in(whole, falls_of(whole), asked)
    aside = 0.9 - 0.01 - 0.55
    assert made.length_m == pytest.approx(2 * math.sqrt(0.36 - aside**2 - 0.04), abs=2e-3)
    assert made.line[0][1] == pytest.approx(0.89, abs=1e-4)
    assert made.brackets == ()
    assert any("on the side itself" in note for note in made.notes)


def test_what_fails_is_told_with_by_how_much(plain: Any) -> None:
    whole = plain(3000, 2000, 1000, (1500, 300, 300, 300))
    asked = Asked("port", height=0.5)
    with pytest.raises(GeometryError, match="too far") as bad:
        rail_in(whole, falls_of(whole), asked)
    side = 2.1 - 0.04 - 0.01 - (0.45 - 0.05)
    short = math.hypot(side, 0.5) - 0.674
    assert f"{short * 1000:.0f} too far" in str(bad.value)
    with pytest.raises(GeometryError, match="no room"):
        rail_in(whole, falls_of(whole), Asked("port", height=5.0))
    with pytest.raises(GeometryError, match="no room"):
        rail_in(whole, falls_of(whole), Asked("port", height=-1.0))


def test_a_rail_thicker_than_its_locker_is_refused(plain: Any) -> None:
    whole = plain(1000, 150, 300, (500, 175, 400, 120))
    with pytest.raises(GeometryError, match="no room"):
        rail_in(whole, falls_of(whole), Asked("port", Section(0.18, 0.18, TUBE.beam)))


@pytest.mark.parametrize(
    "asked",
    [
        Asked("port", Section(0.0, 0.04, TUBE.beam)), Asked("port", Section(0.02, 9.0, TUBE.beam)),
        Asked("port", stand_off=-0.01), Asked("port", gap=math.nan), Asked("port", pitch=0.0),
        Asked("port", pull_kg=0.0), Asked("port", pull_kg=-5.0), Asked("port", pull_kg=math.inf),
    ],
    ids=str,
)  # fmt: skip
def test_absurd_sizes_are_refused(plain: Any, asked: Asked) -> None:
    whole = plain(1000, 900, 800, (500, 550, 400, 400))
    with pytest.raises(GeometryError, match="the rail"):
        rail_in(whole, falls_of(whole), asked)
