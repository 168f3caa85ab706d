"""Blocks under a grate's bearers: against closed forms in an upright box, and rays cast by another library."""

import math
from importlib.resources import files
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import pyvista as pv
import shapely

from tapeloft.model.compartment import Compartment, build
from tapeloft.model.cutting.blocks import Blocked, Under, blocks_under, stands_out
from tapeloft.model.cutting.board import Cut
from tapeloft.model.cutting.grate import Lay, grate_at
from tapeloft.model.cutting.told import bearers_of, stood_on
from tapeloft.model.survey.boat import read_survey

BOAT = read_survey(str(files("tapeloft.shapes").joinpath("demo")))
BARE = read_survey(str(files("tapeloft.shapes").joinpath("demo")), options=("battery box out",))
SLOPING = """format = "tapeloft-survey"
version = 1
unit = "mm"
[survey]
compartment = "sloping sole"
[marks]
side = "port"
[station.0]
at = 0
A = [100, 0]
B = [900, 0]
C = [900, 500]
D = [100, 500]
[station.1]
at = 1000
A = [100, 100]
B = [900, 100]
C = [900, 500]
D = [100, 500]
"""
DEEP = Lay().batten[1] + Lay().bearer[1]


def blocked(whole: Compartment, height: float) -> tuple[Any, tuple[Blocked, ...]]:
    made = grate_at(whole, height, Lay(), Cut())
    low = Under(whole, height - DEEP)
    return made, tuple(
        one for part in made.sections for one in blocks_under(low, bearers_of(part), Lay().bearer[0], made.block_m)
    )


def test_on_a_level_sole_every_block_is_as_high_as_the_bearers_lie(plain: Any) -> None:
    made, found = blocked(plain(900, 700, 500, (450, 450, 800, 600)), 0.1)
    assert len(found) == sum(len(one.bearers) for one in made.sections)
    for one in found:
        assert len(one.blocks) >= 2
        for block in one.blocks:
            assert (block.least_m, block.most_m) == pytest.approx((0.1 - DEEP, 0.1 - DEEP), abs=1e-9)
        for a, b in pairwise(one.blocks):
            assert math.dist(a.at_m, b.at_m) <= made.block_m + 1e-9


def test_a_bearer_on_the_sole_wants_none_and_what_stands_there_is_stood_on(plain: Any) -> None:
    box = '[[obstruction]]\nname = "chest"\nshape = "box"\nx = [0, 400]\nz = ["bottom", 30]\n'
    whole = plain(900, 700, 500, (450, 450, 800, 600), more=box)
    _, found = blocked(whole, DEEP + 0.03)
    on = {block.on: block.most_m for one in found for block in one.blocks if abs(block.at_m[0] - 0.4) > 0.02}
    assert on["chest"] == 0.0
    assert [high for name, high in on.items() if name != "chest"] == pytest.approx([0.03], abs=1e-9)


@pytest.mark.parametrize(("name", "height"), [("cockpit locker, port", 0.23), ("sail locker", 0.1), ("lazarette", 0.2)])
def test_blocks_are_as_high_as_a_ray_falls(name: str, height: float) -> None:
    whole = build(BOAT.compartment(name))
    _, found = blocked(whole, height)
    mesh = pv.PolyData(whole.net.vertices, np.insert(whole.net.triangles, 0, 3, axis=1).ravel())
    blocks = [block for one in found for block in one.blocks]
    for block in blocks:
        hits, _ = mesh.ray_trace((*block.at_m, height - DEEP + 1e-6), (*block.at_m, -9.0))
        fall = height - DEEP - hits[:, 2].max()
        assert block.least_m - 1e-6 <= fall <= block.most_m + 1e-6
    assert any(block.most_m - block.least_m > 0.005 for block in blocks)


def test_the_twins_blocks_are_mirrored() -> None:
    port, starboard = (
        sorted((round(block.at_m[0], 6), round(abs(block.at_m[1]), 6), round(block.most_m, 6))
               for one in blocked(build(BARE.compartment(f"cockpit locker, {side}")), 0.35)[1] for block in one.blocks)
        for side in ("port", "starboard")
    )  # fmt: skip
    assert len(port) == len(starboard) > 10
    assert np.array(port)[:, 1:] == pytest.approx(np.array(starboard)[:, 1:], abs=2e-5)


def test_how_far_a_section_reaches_beyond_its_blocks(plain: Any) -> None:
    """A square of 0.5 held at the corners of one of 0.4 in its middle: from corner to corner √2 · 0.05."""
    under = Under(plain(900, 900, 500), 0.2)
    bars = [("1", shapely.box(0.09, 0.19, 0.11, 0.61)), ("2", shapely.box(0.49, 0.19, 0.51, 0.61))]
    held = blocks_under(under, bars, 0.02, 9.0)
    outline = shapely.box(0.05, 0.15, 0.55, 0.65)
    assert stands_out([outline], held) == pytest.approx(0.05 * math.sqrt(2), abs=1e-9)
    assert stands_out([outline], ()) == math.inf


def test_battens_stand_out_as_far_as_their_wood_does() -> None:
    """Not as the outline, which ends in the point of a bow: by the corners of the solid at its upper face."""
    made, found = blocked(build(BOAT.compartment("sail locker")), 0.1)
    for section in made.sections:
        own = [one for one in found if one.bearer.startswith(f"{section.letter},")]
        corners = section.solid.vertices[section.solid.vertices[:, 2] > 0.1 - 1e-4, :2]
        hull = shapely.MultiPoint([block.at_m for one in own for block in one.blocks]).convex_hull
        far = max(hull.distance(shapely.Point(corner)) for corner in corners)
        assert stands_out(stood_on(section), own) == pytest.approx(far, abs=2e-5)


def test_blocks_of_a_bar_that_bends_lie_under_it_and_are_no_broader(tmp_path: Path) -> None:
    """A bar 30 broad, bent 19° amid: its envelope is broader and runs beside it. The sole rises by a tenth forward."""
    file = tmp_path / "sloping.toml"
    file.write_text(SLOPING)
    under = Under(build(read_survey(file).compartments[0]), 0.2)
    turn = math.radians(19) / 2
    spots = [(0.5 + s * 0.3 * math.cos(turn), 0.4 + abs(s) * 0.3 * math.sin(turn)) for s in (-1, 0, 1)]
    bar = shapely.LineString(spots).buffer(0.015, cap_style="flat", join_style="mitre")
    ((_, blocks),) = ((one.bearer, one.blocks) for one in blocks_under(under, [("1", bar)], 0.03, 0.2))
    assert len(blocks) == 4
    for block in blocks:
        assert bar.contains(shapely.Point(block.at_m))
        assert bar.exterior.distance(shapely.Point(block.at_m)) > 0.012
        assert block.most_m - block.least_m <= 0.1 * 0.03 * (math.cos(turn) + math.sin(turn)) + 1e-6
        assert block.least_m <= 0.2 - 0.1 * block.at_m[0] <= block.most_m
