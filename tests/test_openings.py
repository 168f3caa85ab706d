"""Where clear openings lie: in the plane of their wall, in place, with the sizes that were taped; a twin's mirrored."""

from collections.abc import Sequence
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
import pyvista as pv
import shapely

import tapeloft.shapes
from tapeloft.model.compartment import build
from tapeloft.model.openings import ClearOpening, clear_openings, rounded
from tapeloft.model.solid import Solid, closed
from tapeloft.model.survey.boat import read_survey
from tapeloft.model.survey.sheet import Opening

DEMO = Path(tapeloft.shapes.__path__[0]) / "demo"
BOAT = read_survey(DEMO).compartments
NAMES = [survey.name for survey in BOAT]
WALLS = {"top": (2, 1), "bottom": (2, 0), "port": (1, 1), "starboard": (1, 0), "forward": (0, 1), "aft": (0, 0)}


def space(lift: Sequence[float] = (1.0, 1.0, 1.0, 1.0)) -> Solid:
    """A space 2 m long from x = 1, 1 m broad to port of the centreline, with its deck at these heights at the corners.

    The corners in the order after inner, forward inner, forward outer, after outer.
    """
    plan = np.array([[1, 0], [3, 0], [3, 1], [1, 1.0]])
    corners = np.vstack([np.insert(plan, 2, 0, axis=1), np.column_stack([plan, lift])])
    sides = [(i, (i + 1) % 4, 4 + (i + 1) % 4, 4 + i) for i in range(4)]
    faces = [(3, 2, 1, 0), (4, 5, 6, 7), *sides]
    return closed(corners, np.array([t for a, b, c, d in faces for t in ((a, b, c), (a, c, d))]))


def placed(opening: Opening, gross: Solid, *, mirrored: bool = False) -> ClearOpening:
    survey = SimpleNamespace(openings=(opening,), mirrored=mirrored)
    (found,) = clear_openings(SimpleNamespace(survey=survey, gross=gross.mirrored() if mirrored else gross))
    return found


@pytest.mark.parametrize("wall", WALLS)
def test_an_opening_without_a_place_lies_in_the_middle_of_its_wall(wall: str) -> None:
    axis, end = WALLS[wall]
    gross = space()
    found = placed(Opening("hole", wall, clear=(0.4, 0.3)), gross)
    assert found.outline[:, axis] == pytest.approx(gross.bounds[end, axis])
    along = [a for a in range(3) if a != axis]
    assert np.ptp(found.outline, axis=0)[along] == pytest.approx([0.4, 0.3])
    assert found.outline[:, along].mean(axis=0) == pytest.approx(gross.bounds.mean(axis=0)[along])


def test_an_opening_lies_in_a_deck_that_slopes_both_ways() -> None:
    """The deck is the plane z = 0.8 + 0.1 x + 0.05 y (closed form)."""
    gross = space([0.9, 1.1, 1.15, 0.95])
    x, y, z = placed(Opening("lid", "top", x=2.2, y=0.4, clear=(0.6, 0.4), corner_radius=0.05), gross).outline.T
    assert z == pytest.approx(0.8 + 0.1 * x + 0.05 * y, abs=1e-9)
    assert (x.min(), x.max(), y.min(), y.max()) == pytest.approx((1.9, 2.5, 0.2, 0.6))


def test_a_flat_frame_on_a_peaked_deck_takes_neither_slope() -> None:
    """A deck that falls evenly from a ridge along the middle: what lies nearest to both of its planes is level."""
    one = space([0.9, 0.9, 1.1, 1.1])
    peaked = one + (one.mirrored().moved((0.0, 2.0, 0.0)))
    z = placed(Opening("hatch", "top", x=2.0, y=1.0, clear=(0.4, 0.4)), peaked).outline[:, 2]
    assert np.ptp(z) < 1e-9
    assert 1.1 - 0.2 * 0.2 < z[0] < 1.1


def test_a_height_that_was_taped_is_kept() -> None:
    outline = placed(Opening("lid", "top", x=2.0, y=0.5, z=1.25, clear=(0.4, 0.3)), space()).outline
    assert outline[:, 2] == pytest.approx(1.25)


def test_an_opening_where_there_is_no_wall_is_drawn_at_the_end_of_the_space() -> None:
    outline = placed(Opening("lid", "top", x=12.0, y=0.5, clear=(0.4, 0.3)), space()).outline
    assert outline[:, 2] == pytest.approx(1.0)


@pytest.mark.parametrize("wall", WALLS)
def test_a_twins_opening_is_her_sisters_mirrored(wall: str) -> None:
    gross = space([0.9, 1.1, 1.15, 0.95])
    opening = Opening("hole", wall, x=None, y=None, z=None, clear=(0.4, 0.3), corner_radius=0.02)
    hers, sisters = placed(opening, gross, mirrored=True), placed(opening, gross)
    assert hers.outline == pytest.approx(sisters.outline * [1, -1, 1])
    assert hers.wall == {"port": "starboard", "starboard": "port"}.get(wall, wall)


@pytest.mark.parametrize("name", NAMES)
def test_the_demo_boats_openings_lie_in_her_walls(name: str) -> None:
    """Outside check: the distance VTK finds to the surface; a flat frame is millimetres off a faired deck."""
    compartment = build(next(survey for survey in BOAT if survey.name == name))
    wall = pv.PolyData.from_regular_faces(np.array(compartment.gross.vertices), np.array(compartment.gross.triangles))
    assert len(clear_openings(compartment)) == len(compartment.survey.openings) > 0
    for opening in clear_openings(compartment):
        off = pv.PolyData(np.array(opening.outline)).compute_implicit_distance(wall)["implicit_distance"]
        assert np.abs(off).max() < 0.008


@pytest.mark.parametrize("radius", [0.0, 0.04, 0.1, 9.0])
def test_corners_are_rounded_as_another_library_rounds_them(radius: float) -> None:
    """Outside check: shapely's buffer of the rectangle drawn in, with eight sides to a quarter circle."""
    drawn = min(radius, 0.1)
    core = shapely.box(-0.2 + drawn, -0.1 + drawn, 0.2 - drawn, 0.1 - drawn)
    theirs = (core if drawn < 0.1 else shapely.LineString([(-0.1, 0), (0.1, 0)])).buffer(drawn, quad_segs=8)
    assert shapely.Polygon(rounded((0.4, 0.2), radius)).symmetric_difference(theirs).area < 1e-12


def test_a_bore_is_round() -> None:
    hole = Opening("pipe", "top", clear=(0.1, 0.1), corner_radius=0.05)
    assert placed(hole, space()).is_round
    assert not placed(Opening("lid", "top", clear=(0.2, 0.1), corner_radius=0.05), space()).is_round
