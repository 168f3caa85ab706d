"""Whether a plane outline goes once round an area, held against a geometry library's own opinion."""

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from tapeloft.model.facets import standing
from tapeloft.shapes.outline import sound
from tapeloft.shapes.polyhedron import Bounds, Round
from tapeloft.shapes.prism import Prism

SPACE = Bounds((-9, -9, -9), (9, 9, 9))
coarse = st.tuples(st.integers(-3, 3), st.integers(-3, 3))


@settings(deadline=None, max_examples=500)
@given(st.lists(coarse, min_size=3, max_size=8, unique=True))
def test_an_outline_is_sound_where_shapely_finds_its_polygon_valid(points: list[tuple[int, int]]) -> None:
    """On a coarse grid nearly every way for sides to touch, overlap or cross comes up."""
    try:
        sound(np.array(points, float))
    except ValueError:
        assert not shapely.Polygon(points).is_valid or shapely.Polygon(points).area == 0
    else:
        assert shapely.Polygon(points).is_valid


@settings(deadline=None)
@given(st.lists(st.floats(0.2, 2.0), min_size=3, max_size=12), st.sampled_from(["plan", "profile", "section"]))
def test_a_prism_is_the_area_of_its_outline_times_its_length(radii: list[float], seen: str) -> None:
    """Star-shaped outlines, most of them hollow somewhere; area by shapely."""
    turn = 2 * math.pi * np.arange(len(radii)) / len(radii)
    points = np.round(np.column_stack([radii * np.cos(turn), radii * np.sin(turn)]), 5)
    outline = tuple(map(tuple, points.tolist()))
    along = {"plan": "z", "profile": "y", "section": "x"}[seen]
    prism = Prism(**{"plan": None, "z": None, seen: outline, along: (0.25, 1.5)})
    volume = standing(prism, SPACE, Round.EQUAL_AREA).volume
    assert volume == pytest.approx(shapely.Polygon(outline).area * 1.25, rel=1e-9)


@pytest.mark.parametrize(
    ("points", "words"),
    [
        ([(0, 0), (1, 0)], "three points at least"),
        ([(0, 0), (1, 0), (1, 1), (0, 0)], "points 1 and 4 of the outline are the same"),
        ([(0, 0), (1, 0), (1, 0), (0, 1)], "points 2 and 3 of the outline are the same"),
        ([(0, 0), (1, 0), (1.000004, 0), (0, 1)], "points 2 and 3 of the outline are the same"),
        ([(0, 0), (1, 0), (2, 0)], "lie on one line"),
        ([(0, 0), (2, 0), (1, 0), (3, 0)], "lie on one line"),
        ([(0, 0), (2, 0), (1, 0), (1, 1)], "turns back on itself at point 2"),
        ([(0, 0), (1, 1), (1, 0), (0, 1)], "side from point 1 to 2 meets the one from point 3 to 4"),
        ([(0, 0), (2, 0), (2, 2), (1, 0), (0, 2)], "side from point 1 to 2 meets the one from point 3 to 4"),
        ([(0, 0), (20_000, 0), (0, 1)], "is its unit right"),
    ],
)
def test_an_outline_that_bounds_no_area_is_refused_in_words(points: list[tuple[float, float]], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        sound(np.array(points, float))


def test_points_on_a_straight_side_are_let_be() -> None:
    assert len(sound(np.array([(0, 0), (1, 0), (2, 0), (2, 1), (0, 1.0)]))) == 5
