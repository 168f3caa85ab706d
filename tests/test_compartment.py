"""Compartments whose sizes are known beforehand: by mensuration, by arithmetic, by another kernel."""

import math
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import igl
import numpy as np
import pytest

from tapeloft.model.areas import areas_to_coat
from tapeloft.model.compartment import build
from tapeloft.model.errors import SurveyError
from tapeloft.model.survey.boat import read_survey
from tapeloft.model.survey.sheet import Datum, Obstruction, Space
from tapeloft.model.survey.station import Corner, Station
from tapeloft.model.survey.survey import Survey
from tapeloft.model.volume import measured
from tapeloft.shapes.block import Box
from tapeloft.shapes.panel import Panel
from tapeloft.shapes.post import Post
from tapeloft.shapes.registry import Shape
from tapeloft.shapes.wedge import Wedge

DEMO = Path(__file__).parent.parent / "shapes" / "demo"
Section = Sequence[tuple[float, float]]


def surveyed(sections: Sequence[tuple[float, Section]], *shapes: Shape, between: Any = "straight") -> Survey:
    """A survey of lettered corners, m, with its obstructions called "1", "2", …"""
    stations = tuple(
        Station(str(k), x, tuple(Corner("ABCDEFGH"[i], (x, y, z)) for i, (y, z) in enumerate(section)))
        for k, (x, section) in enumerate(sections)
    )
    standing = tuple(Obstruction(str(k), shape=shape) for k, shape in enumerate(shapes, start=1))
    return Survey("locker", Space("locker", between=between), Datum(), stations, obstructions=standing)


def rectangle(breadth: float, height: float) -> Section:
    return [(0, 0), (breadth, 0), (breadth, height), (0, height)]


def box(length: float, breadth: float, height: float, *shapes: Shape) -> Survey:
    return surveyed([(0, rectangle(breadth, height)), (length, rectangle(breadth, height))], *shapes)


# ---- closed forms


def test_a_round_post_takes_what_a_true_cylinder_takes() -> None:
    """1.2 × 0.6 × 0.5 less a post of ⌀ 100 from sole to deck: derived; an OpenCASCADE cylinder gives the same digits.

    Straight sides stand for the circle, of the same area as it, so nothing is lost but rounding.
    """
    found = measured(build(box(1.2, 0.6, 0.5, Post(x=0.6, y=0.3, diameter=0.1))))
    assert found.net.volume_m3 == pytest.approx(0.36 - math.pi * 0.05**2 * 0.5, rel=1e-12)
    assert found.net.volume_m3 == pytest.approx(0.356073009183, abs=5e-13)
    assert found.net.centroid_m == pytest.approx((0.6, 0.3, 0.25), rel=1e-12)
    assert found.shares[0].share_m3 == pytest.approx(math.pi * 0.05**2 * 0.5, rel=1e-12)


def test_a_step_in_a_corner() -> None:
    """1.2 × 0.6 × 0.5 less 0.4 × 0.3 × 0.25: 0.33 m³; the centroid is Σ V c / Σ V."""
    built = build(box(1.2, 0.6, 0.5, Box((-math.inf, 0.4), (-math.inf, 0.3), (-math.inf, 0.25))))
    assert built.net.volume == pytest.approx(0.33, rel=1e-12)
    weighed = (0.36 * np.array([0.6, 0.3, 0.25]) - 0.03 * np.array([0.2, 0.15, 0.125])) / 0.33
    assert built.net.centroid == pytest.approx(weighed, rel=1e-12)
    assert built.net.centroid == pytest.approx([0.6364, 0.3136, 0.2614], abs=5e-5)


def test_crossing_posts_share_a_steinmetz_solid() -> None:
    """Two cylinders of radius r that cross squarely share 16/3 r³ (Steinmetz); of 64 sides each, 5e-7 more."""
    upright, athwart = Post(x=0.6, y=0.3, diameter=0.2), Post(x=0.6, y=None, z=0.25, axis="y", diameter=0.2)
    found = measured(build(box(1.2, 0.6, 0.5, upright, athwart)))
    shared = found.shares[1].alone_m3 - found.shares[1].share_m3
    assert shared == pytest.approx(16 / 3 * 0.1**3, rel=1e-6)
    assert found.shares[0].share_m3 == found.shares[0].alone_m3
    assert found.net.volume_m3 == pytest.approx(0.36 - math.pi * 0.1**2 * 1.1 + 16 / 3 * 0.1**3, rel=1e-8)


def test_a_step_in_the_plane_of_a_station() -> None:
    """Two prisms end to end: 0.7 × (0.6 × 0.5) and 0.5 × (0.4 × 0.5), and not a drop more."""
    small = [(0.1, 0), (0.5, 0), (0.5, 0.5), (0.1, 0.5)]
    big = rectangle(0.6, 0.5)
    survey = surveyed([(0, big), (0.7, big), (0.7, small), (1.2, small)])
    stepped = replace(survey.stations[2], step=True)
    built = build(replace(survey, stations=(*survey.stations[:2], stepped, survey.stations[3])))
    assert built.gross.volume == pytest.approx(0.7 * 0.3 + 0.5 * 0.2, rel=1e-12)
    assert built.gross.centroid[0] == pytest.approx((0.21 * 0.35 + 0.1 * 0.95) / 0.31, rel=1e-12)
    assert measured(built).runs[0].length_m == pytest.approx(1.2, abs=1e-6)
    assert sum(part.area_m2 for part in areas_to_coat(built).parts) == pytest.approx(
        2 * 0.3 + 2 * 0.7 * 1.1 + 2 * 0.5 * 0.9, rel=1e-12
    )


def test_a_step_to_a_space_beside_falls_apart() -> None:
    far = [(0.8, 0), (0.9, 0), (0.9, 0.5), (0.8, 0.5)]
    survey = surveyed([(0, rectangle(0.6, 0.5)), (0.7, rectangle(0.6, 0.5)), (0.7, far), (1.2, far)])
    stepped = replace(survey.stations[2], step=True)
    with pytest.raises(SurveyError, match="falls apart"):
        build(replace(survey, stations=(*survey.stations[:2], stepped, survey.stations[3])))


def test_a_panel_divides() -> None:
    built = build(box(1.2, 0.6, 0.5, Panel(x=(0.5, 0.512))))
    first, second = measured(built).bays
    assert (first.name, second.name) == ("after bay", "forward bay")
    assert first.volume_m3 == pytest.approx(0.5 * 0.3, rel=1e-12)
    assert second.volume_m3 == pytest.approx(0.688 * 0.3, rel=1e-12)
    assert first.centroid_m == pytest.approx((0.25, 0.3, 0.25), rel=1e-12)
    assert build(box(1.2, 0.6, 0.5, Panel(x=(0.5, 0.512), z=(-math.inf, 0.4)))).bays[0].name == "whole"


def test_an_open_bore_is_a_bay_and_a_closed_one_is_none() -> None:
    tube = Post(x=0.6, y=0.3, section="tube", diameter=0.1, wall=0.005)
    closed = measured(build(box(1.2, 0.6, 0.5, tube)))
    assert closed.net.volume_m3 == pytest.approx(0.36 - math.pi * 0.05**2 * 0.5, rel=1e-12)
    assert len(closed.bays) == 1
    opened = measured(build(box(1.2, 0.6, 0.5, replace(tube, bore="open"))))
    assert opened.net.volume_m3 == pytest.approx(0.36 - math.pi * (0.05**2 - 0.045**2) * 0.5, rel=1e-12)
    assert sorted(bay.volume_m3 for bay in opened.bays)[0] == pytest.approx(math.pi * 0.045**2 * 0.5, rel=1e-12)


def test_areas_part_by_part() -> None:
    """A box with a step in it: each wall by hand, the step's own faces by hand."""
    built = build(box(1.2, 0.6, 0.5, Box((-math.inf, 0.4), (-math.inf, 0.3), (-math.inf, 0.25))))
    found = {part.name: (part.kind, part.area_m2) for part in areas_to_coat(built).parts}
    expected = {
        "A-B": ("sole", 1.2 * 0.6 - 0.4 * 0.3),
        "B-C": ("side", 1.2 * 0.5),
        "C-D": ("underside of deck", 1.2 * 0.6),
        "D-A": ("side", 1.2 * 0.5 - 0.4 * 0.25),
        "aft end": ("end", 0.6 * 0.5 - 0.3 * 0.25),
        "forward end": ("end", 0.6 * 0.5),
        "1": ("obstruction", 0.4 * 0.3 + 0.4 * 0.25 + 0.3 * 0.25),
    }
    assert found.keys() == expected.keys()
    for name, (kind, area) in expected.items():
        assert found[name] == (kind, pytest.approx(area, rel=1e-12))


def test_a_faired_survey_is_built_faired() -> None:
    """Breadths of a parabola at five stations: Simpson's rule is exact for it (from memory), straight lines are not."""
    x = [0.0, 0.5, 1.0, 1.5, 2.0]
    half = [0.5 - 0.2 * (at - 1) ** 2 for at in x]
    simpson = 0.5 / 3 * (half[0] + 4 * half[1] + 2 * half[2] + 4 * half[3] + half[4]) * 0.5
    fair, straight = (
        build(surveyed([(at, rectangle(b, 0.5)) for at, b in zip(x, half, strict=True)], between=how)).gross.volume
        for how in ("fair", "straight")
    )
    assert abs(fair / simpson - 1) < 1e-3 < abs(straight / simpson - 1)


# ---- the same survey, the same object


def test_asking_twice_builds_once(tmp_path: Path) -> None:
    one, other = (read_survey(DEMO).compartments for _ in range(2))
    for a, b in zip(one, other, strict=True):
        assert a is not b
        assert build(a) is build(b)
    changed = read_survey(DEMO, given={"post": "80"}).compartment("cockpit locker, port")
    assert build(changed) is not build(one[2])
    assert build(changed).net.volume < build(one[2]).net.volume


# ---- through a file


SHEET = """
format = "tapeloft-survey"
version = 1
unit = "mm"
[survey]
compartment = "box"
[marks]
side = "port"
order = ["A", "B", "C", "D"]
[station.0]
at = 0
A = [0, 0]
B = [600, 0]
C = [600, 500]
D = [0, 500]
[station.1]
at = 1200
A = [0, 0]
B = [600, 0]
C = [600, 500]
D = [0, 500]
"""
TETRAHEDRON = """
v 0 0 0
v 20 0 0
v 0 20 0
v 0 0 20
f 1 3 2
f 1 2 4
f 1 4 3
f 2 3 4
"""


def test_a_body_from_a_mesh_file(tmp_path: Path) -> None:
    """A tetrahedron with legs of 20 cm: 20³ / 6 cm³; sunk 100 mm into the sole, one of half the size stands out."""
    (tmp_path / "tank.obj").write_text(TETRAHEDRON)
    body = '[[obstruction]]\nname = "tank"\nshape = "mesh"\nfile = "tank.obj"\nunit = "cm"\nat = [400, 100, 0]\n'
    (tmp_path / "box.toml").write_text(SHEET + body)
    (survey,) = read_survey(tmp_path / "box.toml").compartments
    assert measured(build(survey)).shares[0].share_m3 == pytest.approx(0.2**3 / 6, rel=1e-12)
    (tmp_path / "box.toml").write_text(SHEET + body.replace("100, 0]", "0, -100]"))
    (sunk,) = read_survey(tmp_path / "box.toml").compartments
    assert measured(build(sunk)).shares[0].share_m3 == pytest.approx(0.1**3 / 6, rel=1e-12)


def test_an_obstruction_that_fills_or_misses_the_space_is_refused() -> None:
    with pytest.raises(SurveyError, match="fills the whole space"):
        build(box(1.2, 0.6, 0.5, Box(None, None, None)))
    with pytest.raises(SurveyError, match="wholly outside"):
        build(box(1.2, 0.6, 0.5, Box((2.0, 2.5), None, None)))
    with pytest.raises(SurveyError, match="leave nothing"):
        build(box(1.2, 0.6, 0.5, Box((-math.inf, 0.6), None, None), Box((0.6, math.inf), None, None)))


# ---- other kernels on the same solids


@pytest.mark.parametrize("number", range(7))
def test_libigl_finds_the_same_volumes_and_centroids(number: int) -> None:
    built = build(read_survey(DEMO).compartments[number])
    for solid in (built.gross, built.net, built.inside, built.outside, *(bay.solid for bay in built.bays)):
        theirs = igl.centroid(solid.vertices, solid.triangles)
        assert solid.volume == pytest.approx(theirs[1], rel=1e-12)
        assert solid.centroid == pytest.approx(theirs[0], rel=1e-10)


def test_opencascade_cuts_the_same_space(occ: Any) -> None:
    """A tapered space less a box, a true cylinder lying across it, and a wedge; the wedge and the box overlap."""
    ends = [(0, [(0.1, 0), (0.9, 0), (0.9, 0.8), (0.1, 0.8)]), (1.5, [(0.2, 0.1), (0.6, 0.1), (0.6, 0.5), (0.2, 0.5)])]
    shapes = (
        Box((0.2, 0.7), (-math.inf, 0.6), (-math.inf, 0.3)),
        Post(x=0.9, y=None, z=0.4, axis="y", diameter=0.1),
        Wedge("forward", (0.5, 1.2), (0.3, 0.5), 0.0, 0.1, 0.35),
    )
    wires = []
    for x, section in ends:
        points = [occ.add_point(x, y, z) for y, z in section]
        wires.append(occ.add_wire([occ.add_line(points[k - 1], points[k]) for k in range(4)]))
    (whole,) = [tag for dim, tag in occ.add_thru_sections(wires, makeRuled=True) if dim == 3]
    ramp = [(0.5, 0.3, z) for z in (0, 0.1)] + [(1.2, 0.3, z) for z in (0.35, 0)]
    corners = [occ.add_point(*p) for p in ramp]
    face = occ.add_plane_surface([occ.add_curve_loop([occ.add_line(corners[k - 1], corners[k]) for k in range(4)])])
    tools = [
        (3, occ.add_box(0.2, -1, -1, 0.5, 1.6, 1.3)),
        (3, occ.add_cylinder(0.9, -1, 0.4, 0, 3, 0, 0.05)),
        *(pair for pair in occ.extrude([(2, face)], 0, 0.2, 0) if pair[0] == 3),
    ]
    ((_, left),) = occ.cut([(3, whole)], tools)[0]
    net = build(surveyed(ends, *shapes)).net
    assert net.volume == pytest.approx(occ.get_mass(3, left), rel=1e-8)
    assert net.centroid == pytest.approx(occ.get_center_of_mass(3, left), abs=1e-8)
