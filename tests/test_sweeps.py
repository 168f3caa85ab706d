"""When does a corner of a moving loop come onto one of its edges? Held against roots worked by hand."""

import math

import numpy as np
import pytest

from tapeloft.model.surface.sweeps import areas, crossing_edges, first_meetings


def test_when_a_corner_meets_an_edge():
    """The corner at (1, 1 − t) comes onto the edge from (0, 0) to (2 − t, 2t) when t² − 5t + 2 = 0."""
    aft = np.array([[(0, 0), (2, 0), (2, 3), (1, 1), (0, 3.0)]])
    forward = np.array([[(0, 0), (1, 2), (2, 3), (1, 0), (0, 3.0)]])
    first = first_meetings(aft, forward)
    assert (first.share[0], first.point[0], first.edge[0]) == (pytest.approx((5 - 17**0.5) / 2), 3, 0)


@pytest.mark.parametrize("share", [1e-7, 0.25, 1 - 1e-7])
def test_a_corner_that_falls_through_an_edge_at_any_share(share: float):
    aft = np.array([[(0, 0), (2, 0), (2, 3), (1, share), (0, 3)]])
    forward = np.array([[(0, 0), (2, 0), (2, 3), (1, share - 1), (0, 3)]])
    assert first_meetings(aft, forward).share[0] == pytest.approx(share, rel=1e-6)


@pytest.mark.parametrize(("higher", "share"), [(0.0, 0.5), (1e-12, math.inf)])
def test_a_corner_that_comes_to_an_edge_and_leaves_again_has_touched_it(higher: float, share: float):
    """The corner at (2t, 1/4) passes over the edge from (0, t) to (4, −t), t − t² high there: a double root."""
    aft = np.array([[(0, 0), (4, 0), (4, 4), (0, 0.25 + higher), (-1, 4)]])
    forward = np.array([[(0, 1), (4, -1), (4, 4), (2, 0.25 + higher), (-1, 4)]])
    assert first_meetings(aft, forward).share[0] == pytest.approx(share, abs=1e-6)


def test_corners_that_come_together_at_an_end_have_not_met_on_the_way():
    """Three corners, an acute angle among them, shrink to one point as 1 − t: no root lies before the end."""
    aft = np.array([[(0, 0), (4, 0), (4, 4), (2.0, 2.3), (2.3, 2.1), (1.9, 2.2)]])
    forward = np.array([[(0, 0), (4, 0), (4, 4), (2.0, 2.2), (2.0, 2.2), (2.0, 2.2)]])
    assert np.isinf(first_meetings(aft, forward).share[0])
    assert np.isinf(first_meetings(forward, aft).share[0])


@pytest.mark.parametrize("far", [0.0, 30.0])
def test_corners_in_a_row_on_a_straight_side_do_not_meet(far: float):
    shares = np.array([0.0, 0.1, 1 / 3, 0.7])
    side = np.column_stack([0.3 * shares + far, 0.7 * shares - far])
    loops = np.concatenate([side, [[far + 0.3, 0.7 - far], [far - 1, 1.3 - far]]])[None]
    assert np.isinf(first_meetings(loops, 0.37 * loops + [[[0.1, 0.2]]]).share[0])


def test_edges_that_cross_and_edges_that_touch():
    crossed = [(0, 0), (2, 2), (2, 0), (0, 2)]
    touched = [(0, 0), (2, 0), (2, 2), (1, 0)]
    assert crossing_edges(np.array([crossed, touched], float)).tolist() == [[0, 0, 2]]
    assert first_meetings(*[np.array([touched], float)] * 2).point[0] == 3


def test_area_of_a_triangle_and_of_its_mirror_image():
    triangle = np.array([[(10, 10), (13, 10), (10, 14)]], float)
    assert areas(np.concatenate([triangle, triangle[:, ::-1]])).tolist() == [6.0, -6.0]


@pytest.mark.parametrize(("short_of_half_a_turn", "share"), [(1e-5, math.inf), (-1e-5, math.inf), (0.0, 0.5)])
@pytest.mark.parametrize("n", [3, 8, 200])
def test_a_regular_loop_turned_about_its_middle(n: int, short_of_half_a_turn: float, share: float):
    """At share t it is the loop turned and shrunk by |1 − t + t e^(iφ)|: nought only at t = 1/2 for half a turn."""
    corner = np.exp(2j * np.pi * np.arange(n) / n)
    turned = corner * np.exp(1j * (np.pi - short_of_half_a_turn))
    loops = [np.column_stack([loop.real, loop.imag])[None] for loop in (corner, turned)]
    assert first_meetings(*loops).share[0] == pytest.approx(share)
