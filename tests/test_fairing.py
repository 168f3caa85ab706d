"""The faired surface against scipy's PCHIP, a hull of known volume, and steps it must not overshoot."""

import math
from itertools import pairwise

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline, PchipInterpolator

from tapeloft.model.errors import GeometryError
from tapeloft.model.moments import volume_and_centroid
from tapeloft.model.surface.fairing import CLOSE, faired, shape_keeping_slopes
from tapeloft.model.surface.loft import joined
from tapeloft.model.surface.sections import Section
from tapeloft.model.surface.skin import lofted

Points = NDArray[np.float64]
MARKS = tuple("ABCDE")


def body(along: Points, loops: Points) -> list[Section]:
    """Sections of named corners; loops (S, n, 2): y and z at each station."""
    corners = [np.column_stack([np.full(len(loop), x), loop]) for x, loop in zip(along, loops, strict=True)]
    return [Section(str(k), MARKS[: len(c)], c) for k, c in enumerate(corners)]


def rows(run: list[Section]) -> Points:
    """The faired surface's loops, (R, n, 3)."""
    _, bands = faired(run, [joined(a, b) for a, b in pairwise(run)])
    return np.stack([bands[0].ends[0], *(band.ends[1] for band in bands)])


def volume(run: list[Section], fair: bool) -> float:
    bands = [joined(a, b) for a, b in pairwise(run)]
    skin = lofted(*faired(run, bands)) if fair else lofted(run, bands)
    return volume_and_centroid(skin.vertices, skin.triangles)[0]


def random_readings(rng: np.random.Generator) -> tuple[Points, Points]:
    count = int(rng.integers(2, 10))
    values = rng.uniform(0.3, 1.0, (count, 5, 2))
    values[rng.random((count, 5, 2)) < 0.2] = 0.5  # level stretches
    return np.cumsum(rng.uniform(0.05, 1.0, count)), values


def test_slopes_are_those_of_the_reference_implementation() -> None:
    for seed in range(200):
        along, values = random_readings(np.random.default_rng(seed))
        theirs = PchipInterpolator(along, values, axis=0).derivative()(along)
        assert shape_keeping_slopes(along, values) == pytest.approx(theirs, rel=1e-12, abs=1e-12)


def test_every_loop_lies_on_the_reference_curve_and_chords_keep_close_to_it() -> None:
    """Stars about one point, so that no section crosses itself."""
    for seed in range(30):
        rng = np.random.default_rng(seed)
        along, values = random_readings(rng)
        angles = 2 * math.pi * np.arange(5) / 5
        loops = 2 + values[:, :, :1] * np.stack([np.cos(angles), np.sin(angles)], axis=1)
        found = rows(body(along, loops))
        curve = PchipInterpolator(along, loops, axis=0)
        assert np.ptp(found[:, :, 0], axis=1).max() < 1e-12  # square stations stay square
        assert found[:, :, 1:] == pytest.approx(curve(found[:, 0, 0]), rel=1e-12)
        dense = np.linspace(along[0], along[-1], 2001)
        chords = np.stack(
            [[np.interp(dense, found[:, 0, 0], found[:, k, axis]) for k in range(5)] for axis in (1, 2)], axis=2
        )
        miss = np.linalg.norm(chords - curve(dense).swapaxes(0, 1), axis=2)
        assert miss.max() <= CLOSE * (1 + 1e-9)


def wigley(stations: int) -> tuple[list[Section], float]:
    """Half of a Wigley hull below two of its waterlines, closing to an edge at both ends, and its volume.

    y = B/2 (1 − (2x/L)²)(1 − (z/T)²); straight from waterline to waterline, as a taped section is. The breadths
    are in proportion along the hull, so the volume is 2/3 L times the midship section's area.
    """
    length, breadth, depth = 10.0, 1.0, 0.625
    x = np.linspace(-length / 2, length / 2, stations)
    heights = np.array([-depth, -0.6 * depth, -0.25 * depth, 0.0])
    outer = breadth / 2 * (1 - (heights / depth) ** 2)
    midship = float(np.trapezoid(outer, heights))
    share = np.abs(1 - (2 * x / length) ** 2)[:, None]
    up = np.stack([share * outer, np.broadcast_to(heights, (stations, 4))], axis=2)
    centre = np.broadcast_to([0.0, 0.0], (stations, 1, 2))
    return body(x, np.concatenate([up, centre], axis=1)), 2 / 3 * length * midship


def test_a_smooth_hull_from_its_stations() -> None:
    """The Wigley hull: W. C. S. Wigley's form (from memory); its volume by integration, 4LBT/9 for the whole hull."""
    for stations in (7, 9, 13):
        run, expected = wigley(stations)
        straight, fair = (volume(run, how) / expected - 1 for how in (False, True))
        assert abs(fair) < 1e-3
        assert abs(fair) < abs(straight) / 5


def test_no_overshoot_where_the_readings_step() -> None:
    along = np.arange(7) * 0.4
    half = np.array([0.9, 0.9, 0.9, 0.9, 0.4, 0.4, 0.4])
    square = np.array([[0.0, 0], [1, 0], [1, 1], [0, 1]])
    found = rows(body(along, square * np.stack([half, np.ones(7)], axis=1)[:, None]))
    breadths = found[:, 1, 1]
    natural = CubicSpline(along, half, bc_type="natural")(np.linspace(0, 2.4, 500))
    assert natural.max() > 0.93  # a spline that bends least swings out
    assert breadths.max() == 0.9
    assert breadths.min() == 0.4
    assert (np.diff(breadths) <= 0).all()


def test_a_straight_run_stays_straight() -> None:
    along = np.array([0.0, 0.3, 1.1, 1.9])
    square = np.array([[0.0, 0], [1, 0], [1, 1], [0, 1]])
    run = body(along, square * (1 - 0.2 * along)[:, None, None])
    assert len(rows(run)) == 4
    assert volume(run, True) == pytest.approx(volume(run, False), rel=1e-14)


def test_two_stations_are_joined_straight() -> None:
    run, _ = wigley(5)
    assert len(rows(run[1:3])) == 2


def test_ribs_that_do_not_run_on_are_refused() -> None:
    """The girths differ between unnamed corners, so a rib that comes to a station does not go on from there."""
    run, _ = wigley(5)
    lame = [Section(s.station, ("A", "", "", "", ""), s.points) for s in run]
    with pytest.raises(GeometryError, match="same marks"):
        rows(lame[:-1])
