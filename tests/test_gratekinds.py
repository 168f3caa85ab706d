"""Egg-crates and perforated sheets: open area by definition, holes whole, bars borne, meshes and files read back."""

import io
import math
import xml.etree.ElementTree as ET
from importlib.resources import files
from itertools import pairwise
from typing import Any

import numpy as np
import pypdfium2
import pytest
import shapely
from ezdxf.filemanagement import read
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon

from tapeloft.model.compartment import Compartment, build
from tapeloft.model.cutting.beams import Bar, Load, span
from tapeloft.model.cutting.board import Cut
from tapeloft.model.cutting.eggcrate import Cells, EggCrate, egg_crate_at
from tapeloft.model.cutting.grate import Lay, grate_at
from tapeloft.model.cutting.holes import bored, holes, ideal_open_share
from tapeloft.model.cutting.inset import Gaps
from tapeloft.model.cutting.ledges import ledges
from tapeloft.model.cutting.perforated import Holed, Perforated, drilled, perforated_at
from tapeloft.model.cutting.plane import at_height
from tapeloft.model.cutting.told import pierced_listed
from tapeloft.model.errors import GeometryError
from tapeloft.model.survey.boat import read_survey
from tapeloft.viewer.template.dxf import as_dxf
from tapeloft.viewer.template.ontiles import on_tiles, within
from tapeloft.viewer.template.paper import as_pdf
from tapeloft.viewer.template.svg import as_svg
from tapeloft.viewer.template.template import template_of_pierced
from tapeloft.viewer.template.tiling import tiled

BOAT = read_survey(str(files("tapeloft.shapes").joinpath("demo")))
FIVE = Gaps(0.005, 0.005, 0.005)
CHEST = """
[[obstruction]]
name = "chest"
shape = "box"
x = [1000, "forward"]
z = ["bottom", 195]
"""
SVG = "{http://www.w3.org/2000/svg}"


def compartment(name: str) -> Compartment:
    return build(BOAT.compartment(name))


# open area


def test_open_shares_without_an_edge() -> None:
    """Definitions: holes ⌀10 every 20 open .19635 in squares, .22672 in hexagons (π/4·d²/p², over √3/2)."""
    assert ideal_open_share(0.010, 0.020, "square") == pytest.approx(0.19635, abs=5e-6)
    assert ideal_open_share(0.010, 0.020, "hex") == pytest.approx(0.22672, abs=5e-6)


@pytest.mark.parametrize(("along", "across"), [(5, 3), (12, 7), (1, 1)])
def test_a_rectangle_of_whole_pitches_has_a_hole_in_each(along: int, across: int) -> None:
    """n × m squares of a pitch have n·m holes: exactly the share of a sheet without an edge."""
    sheet = shapely.box(0.3, -0.2, 0.3 + along * 0.02, -0.2 + across * 0.02)
    middles = holes(sheet, sheet, 0.010, 0.020, "square", 0.005)
    assert len(middles) == along * across
    share = len(middles) * math.pi * 0.005**2 / sheet.area
    assert share == pytest.approx(ideal_open_share(0.010, 0.020, "square"), rel=1e-12)


@pytest.mark.parametrize("pattern", ["square", "hex"])
def test_the_share_of_a_large_sheet_tends_to_it(pattern: str) -> None:
    ideal, lacking = ideal_open_share(0.010, 0.023, pattern), []  # type: ignore[arg-type]
    for side in (0.3, 1.2, 4.8):
        sheet = shapely.box(0, 0, side, side)
        middles = holes(sheet, sheet, 0.010, 0.023, pattern, 0.005)  # type: ignore[arg-type]
        lacking.append(abs(1 - len(middles) * math.pi * 0.005**2 / sheet.area / ideal))
    assert lacking[2] < 0.012
    assert lacking[2] <= lacking[0]


@settings(max_examples=25, deadline=None)
@given(
    st.lists(st.tuples(st.floats(0, 1), st.floats(0, 1)), min_size=3, max_size=7), st.floats(0.01, 0.05),
    st.sampled_from(["square", "hex"]), st.floats(0.002, 0.02),
)  # fmt: skip
def test_holes_are_whole_and_keep_their_webs(
    corners: list[tuple[float, float]], bore: float, pattern: str, web: float
) -> None:
    area = shapely.MultiPoint(np.round(corners, 3)).convex_hull
    if not isinstance(area, Polygon) or area.area < 0.05:
        return
    middles = holes(area, area, bore, bore + web, pattern, web)  # type: ignore[arg-type]
    if not len(middles):
        return
    points = shapely.points(middles)
    assert shapely.distance(area.exterior, points).min() >= bore / 2 + web - 2e-6
    assert shapely.contains(area, points).all()
    tree = shapely.STRtree(points)
    near = tree.query_nearest(points, exclusive=True, all_matches=False)[1] if len(points) > 1 else []
    for point, k in zip(points, near, strict=False):
        assert point.distance(points[k]) >= bore + web - 1e-9
    mirrored = shapely.transform(area, lambda p: p * [-1.0, 1.0])
    other = holes(mirrored, mirrored, bore, bore + web, pattern, web) * [-1.0, 1.0]  # type: ignore[arg-type]
    if len(other) == len(middles):
        assert np.allclose(np.sort(other, axis=0), np.sort(middles, axis=0), atol=1e-9)


def test_an_egg_crate_of_bars_as_broad_as_its_cells_is_a_quarter_open() -> None:
    """Definition: 20 mm bars, 20 mm cells, (1/2)². At its edges there is a little more or less."""
    cells = Cells(bar=(0.02, 0.06), cell=(0.02, 0.02), load=Load(point_kg=1))
    grate = egg_crate_at(compartment("gas locker"), 0.2, cells, Cut(FIVE))
    assert grate.open_share == pytest.approx(0.25, abs=0.03)


# egg-crates


@pytest.fixture(scope="module", params=[("gas locker", 0.09), ("cockpit locker, port", 0.5)], ids=str)
def crossed(request: pytest.FixtureRequest) -> tuple[Compartment, EggCrate]:
    name, height = request.param
    whole = compartment(name)
    return whole, egg_crate_at(whole, height, Cells(), Cut(FIVE))


def test_bars_both_ways_are_borne_and_lie_in_the_space(crossed: tuple[Compartment, EggCrate]) -> None:
    whole, grate = crossed
    assert grate.outside_m3 < 1e-9
    cells = Cells()
    halved = Bar(cells.bar[0], cells.bar[1] / 2, cells.timber)
    assert grate.span_m == pytest.approx(span(halved, cells.load, cells.bar[0] + 0.04))
    for one in grate.sections:
        assert (one.solid - whole.net).volume < 1e-9
        for bar in one.across:  # along y, on bars that run along x
            seats = sorted((b.bounds[1] + b.bounds[3]) / 2 for b in one.bars if b.intersection(bar).area > 2e-4)
            assert len(seats) >= 2
            assert max(b - a for a, b in pairwise(seats)) <= grate.span_m
            assert seats[0] - bar.bounds[1] <= grate.overhang_m + 1e-9
            assert bar.bounds[3] - seats[-1] <= grate.overhang_m + 1e-9


def test_an_egg_crate_weighs_what_is_drawn(crossed: tuple[Compartment, EggCrate]) -> None:
    """The boolean kernel's volume of bars and bearers, times the density: halving takes no wood twice."""
    _, grate = crossed
    volume = sum(one.solid.volume for one in grate.sections)
    assert grate.mass_kg == pytest.approx(volume * Cells().timber.density_kg_m3, rel=1e-4)


@pytest.mark.parametrize("heaviest", [6.0, 3.5])
def test_sections_of_every_kind_keep_to_their_mass(heaviest: float) -> None:
    whole, cut = compartment("cockpit locker, port"), Cut(FIVE, heaviest=heaviest)
    for grate in (
        grate_at(whole, 0.5, Lay(), cut), egg_crate_at(whole, 0.5, Cells(), cut),
        perforated_at(whole, 0.5, Holed(), cut),
    ):  # fmt: skip
        if any("drawn whole" in note for note in grate.notes):
            assert any("all one way: a piece" in note for note in grate.notes)
            continue
        assert max(one.mass_kg for one in grate.sections) <= heaviest
        assert all(one.passages for one in grate.sections)


def test_twins_have_mirrored_grates_of_both_kinds() -> None:
    port, starboard = (compartment(f"cockpit locker, {side}") for side in ("port", "starboard"))
    cells, holed = Cells(way="athwartships"), Holed()
    for one, other in (
        [egg_crate_at(each, 0.5, cells, Cut(FIVE)) for each in (port, starboard)],
        [perforated_at(each, 0.5, holed, Cut(FIVE)) for each in (port, starboard)],
    ):
        plans = [shapely.union_all([s.outline for s in each.sections]) for each in (one, other)]
        flipped = shapely.transform(plans[1], lambda points: points * [1.0, -1.0])
        assert flipped.symmetric_difference(plans[0]).area < 1e-6
        assert one.mass_kg == pytest.approx(other.mass_kg, rel=1e-4)
        assert one.open_share == pytest.approx(other.open_share, abs=1e-4)


# perforated sheets


@pytest.fixture(scope="module")
def sheet() -> tuple[Compartment, Perforated]:
    whole = compartment("lazarette")
    return whole, perforated_at(whole, 0.3, Holed(bore=0.016, pitch=0.03, pattern="hex"), Cut(FIVE))


def test_a_sheet_lies_in_the_space_on_its_ledge(sheet: tuple[Compartment, Perforated]) -> None:
    _, grate = sheet
    assert grate.outside_m3 < 1e-9
    for one in grate.sections:
        under = shapely.union_all([*one.ledges, *one.bearers])
        assert under.difference(one.outline).area < 1e-9
        reach = shapely.buffer(under, max(grate.span_m, grate.overhang_m))
        assert one.outline.difference(reach).area < 1e-9  # nothing of it farther from what bears it than it spans
        points = shapely.points(one.middles)
        assert shapely.distance(points, under).min() >= 0.008 + 0.01 - 1e-6
        assert one.passages
    opened = sum(len(one.middles) for one in grate.sections) * math.pi * 0.008**2
    assert grate.open_share == pytest.approx(opened / sum(one.outline.area for one in grate.sections))


def test_what_bears_a_sheet_is_bars_that_lie_side_by_side(sheet: tuple[Compartment, Perforated]) -> None:
    """Each sawn from a board not much broader than itself; a frame would want one as broad as the sheet."""
    _, grate = sheet
    for one in grate.sections:
        bars = [*one.ledges, *one.bearers]
        assert len(one.ledges) >= 4
        assert sum(bar.area for bar in bars) == pytest.approx(shapely.union_all(bars).area, rel=1e-6)
        assert all(not bar.interiors for bar in bars)
        lines = pierced_listed(one, 0.03, Holed().stock.density_kg_m3, Holed().timber.density_kg_m3)
        assert lines[0].mass_kg + sum(line.mass_kg for line in lines[1:]) == pytest.approx(one.mass_kg, rel=1e-6)
        straight = [line for line in lines[1:] if line.length_m > 0.25]
        assert straight
        assert all(line.breadth_m == pytest.approx(0.03, abs=1e-9) for line in straight)


AREAS = {
    "rectangle": shapely.box(0, 0, 0.8, 0.5),
    "square": shapely.box(0, 0, 0.5, 0.5),
    "bow": Polygon([(0, -0.4), (1.2, 0), (0, 0.4)]),
    "corner": shapely.box(0, 0, 0.8, 0.6).difference(shapely.box(0.5, 0.3, 1, 1)),
    "post": shapely.box(0, 0, 0.8, 0.6).difference(shapely.Point(0.8, 0.3).buffer(0.1, quad_segs=16)),
    "hole": shapely.box(0, 0, 0.8, 0.6).difference(shapely.Point(0.4, 0.3).buffer(0.1, quad_segs=16)),
}


@pytest.mark.parametrize("name", AREAS)
def test_ledges_fill_the_edge_of_an_area_and_no_more(name: str) -> None:
    area, wide = AREAS[name], 0.03
    bars = ledges(area, wide)
    ring = area.difference(area.buffer(-wide, join_style="mitre"))
    assert sum(bar.area for bar in bars) == pytest.approx(ring.area, abs=len(bars) * wide**2 / 4)
    assert shapely.union_all(bars).area == pytest.approx(sum(bar.area for bar in bars), rel=1e-9)
    assert shapely.union_all(bars).difference(ring).area < 1e-12
    corners = {"rectangle": 4, "square": 4, "bow": 3, "corner": 6, "post": 6, "hole": 6}
    assert len(bars) == corners[name]


@pytest.mark.parametrize("name", ["square", "corner", "post"])
def test_ledges_are_mirrored_in_a_mirrored_area(name: str) -> None:
    def mirrored(one: Polygon) -> Polygon:
        return shapely.transform(one, lambda points: points * (1, -1))

    area = shapely.transform(AREAS[name], lambda points: points + np.array([0, 0.2]))
    here, there = ({round(bar.area, 9) for bar in ledges(one, 0.03)} for one in (area, mirrored(area)))
    assert here == there
    for bar in ledges(mirrored(area), 0.03):
        assert any(
            bar.equals_exact(mirrored(one), 1e-9) or bar.symmetric_difference(mirrored(one)).area < 1e-9
            for one in ledges(area, 0.03)
        )


@pytest.mark.parametrize(
    "taken", [shapely.box(0.5, 0.3, 1, 1), shapely.box(0.3, 0.2, 0.5, 0.4), shapely.box(0.3, -1, 0.5, 0.4)]
)
def test_bars_round_what_stands_there_are_sawn_from_their_own_breadth(taken: Polygon) -> None:
    """Their edges run along and across: each is a rectangle, at corners that reach in too, either way round."""
    area = shapely.box(0, 0, 0.8, 0.6).difference(taken)
    for one in (area, shapely.orient_polygons(area, exterior_cw=True)):
        for bar in ledges(one, 0.03):
            x0, y0, x1, y1 = bar.bounds
            assert min(x1 - x0, y1 - y0) == pytest.approx(0.03, abs=1e-9)
            assert bar.area == pytest.approx((x1 - x0) * (y1 - y0), rel=1e-9)


def test_an_area_too_narrow_for_two_bars_is_one() -> None:
    (bar,) = ledges(shapely.box(0, 0, 0.5, 0.05), 0.03)
    assert bar.area == pytest.approx(0.025)


def test_a_drilled_section_is_its_sheet_less_its_holes(sheet: tuple[Compartment, Perforated]) -> None:
    whole, grate = sheet
    one = grate.sections[1]
    made = drilled(one, grate)
    bored_out = len(one.middles) * math.pi * 0.008**2 * 0.018
    assert one.solid.volume - made.volume == pytest.approx(bored_out, rel=3e-3)  # corners on hundredths of a mm
    assert (made - whole.net).volume < 1e-9


@pytest.mark.parametrize(
    "area",
    [shapely.box(0, 0, 0.4, 0.3), Polygon([(0, 0), (1, 0), (0.9, 0.4), (0.5, 0.45), (0.2, 0.3)]),
     shapely.Point(0, 0).buffer(0.3).difference(shapely.box(0.1, 0.1, 0.16, 0.2))],
)  # fmt: skip
def test_a_bored_mesh_is_closed_and_has_its_volume(area: Polygon) -> None:
    middles = holes(area, area, 0.012, 0.022, "hex", 0.004)
    solid = bored(area, middles, 0.012, 0.0, 0.01)  # raises where an edge has no second side
    expected = (area.area - len(middles) * math.pi * 0.006**2) * 0.01
    assert solid.volume == pytest.approx(expected, rel=2e-3)


@pytest.mark.parametrize(
    ("holed", "said"),
    [
        (Holed(bore=0.0), "hole"), (Holed(pitch=-0.03), "pitch"), (Holed(bore=0.04, pitch=0.041), "leave no sheet"),
        (Holed(thickness=math.nan), "thickness"), (Holed(web=0.0), "web"), (Holed(web=0.4), "no hole has room"),
        (Holed(thickness=0.003, bore=0.03), "no sheet would be borne"),
    ],
)  # fmt: skip
def test_absurd_sheets(holed: Holed, said: str) -> None:
    with pytest.raises(GeometryError, match=said):
        perforated_at(compartment("gas locker"), 0.2, holed, Cut(FIVE))


def test_more_holes_than_any_reader_opens_are_refused() -> None:
    with pytest.raises(GeometryError, match="holes"):
        holes(shapely.box(0, 0, 9, 9), shapely.box(0, 0, 9, 9), 0.003, 0.0036, "square", 0.001)


@pytest.mark.parametrize(
    ("cells", "said"),
    [
        (Cells(bar=(0.0, 0.03)), "bar's breadth"), (Cells(cell=(0.04, -1.0)), "cell's length"),
        (Cells(bar=(0.5, 0.03)), "broader than the space"), (Cells(bar=(0.01, 0.004)), "no bar would be borne"),
    ],
)  # fmt: skip
def test_absurd_egg_crates(cells: Cells, said: str) -> None:
    with pytest.raises(GeometryError, match=said):
        egg_crate_at(compartment("gas locker"), 0.2, cells, Cut(FIVE))


# templates with holes, read back


def test_holes_in_svg_and_dxf_are_circles_of_their_own_size(sheet: tuple[Compartment, Perforated]) -> None:
    _, grate = sheet
    one = grate.sections[0]
    template = template_of_pierced(one, grate.plane, ("A", "upper face"))
    root = ET.fromstring(as_svg(template))
    path = next(group for group in root.findall(f"{SVG}g") if group.get("id") == "CUT").find(f"{SVG}path")
    assert path is not None
    assert path.get("d", "").count("a8.0000,8.0000") == 2 * len(one.middles)
    document = read(io.StringIO(as_dxf(template).decode("cp1252")))
    assert not document.audit().has_errors
    cut = list(document.modelspace().query('LWPOLYLINE[layer=="CUT"]'))
    assert all(each.closed for each in cut)
    round_ones = [each for each in cut if each.has_arc]
    assert len(round_ones) == len(one.middles)
    handles = [int(each.dxf.handle, 16) for each in document.modelspace()]
    assert len(set(handles)) == len(handles) == len(cut) + len(document.modelspace().query('*[layer!="CUT"]'))
    assert max(handles) < int(document.header["$HANDSEED"], 16)
    x0, y0 = one.outline.bounds[:2]
    for each, (x, y) in zip(round_ones, one.middles, strict=True):
        (ax, _, _, _, bulge), (bx, by, *_) = each.get_points()
        assert ((ax + bx) / 2, by, bx - ax, bulge) == pytest.approx(((x - x0) * 1e3, (y - y0) * 1e3, 16.0, 1.0))


def test_holes_in_pdf_are_where_they_are(sheet: tuple[Compartment, Perforated]) -> None:
    """Drawn by pypdfium2 at 100 dpi: ink on a hole's edge, none in its middle."""
    plane = at_height(0.1)
    _, grate = sheet
    one = grate.sections[0]
    template = template_of_pierced(one, plane, ("A", "upper face"))
    layout = tiled(template.cut, "a4", template.drawn)
    page = pypdfium2.PdfDocument(as_pdf([template], "a4", "grate", []))[2]
    ink = 255 - np.asarray(page.render(scale=100 / 72, grayscale=True).to_numpy()).astype(float)
    ink, dots, tile = ink.reshape(ink.shape[:2]), 100 / 25.4, layout.tiles[1]
    shown = within(on_tiles(template, layout), layout, tile).holes
    assert len(shown) > 10
    for x, y, r in shown[len(shown) // 3 : len(shown) // 3 + 5]:
        at = (8.0 + x - tile.left) * dots, (8.0 + tile.bottom + layout.window[1] - y) * dots
        if not (r * dots + 9 < at[0] - 8 * dots < layout.window[0] * dots - r * dots - 9):
            continue
        row, column = round(at[1]), round(at[0])
        assert ink[row, column - round(r * dots) - 1 : column - round(r * dots) + 2].max() > 60
        assert ink[row, column + round(r * dots) - 1 : column + round(r * dots) + 2].max() > 60


def test_what_an_egg_crate_leaves_bare_is_told_and_not_of_its_outline(plain: Any) -> None:
    """A chest 1000 to 1800 forward, 195 high, of a crate at 220 on bearers 30 deep: none are over it, nor bars.

    Of 800 mm all but a gap each way, and what bars stand out there, of a space 700 broad.
    """
    whole = plain(1800, 700, 600, (450, 450, 800, 600), more=CHEST)
    made = egg_crate_at(whole, 0.245, Cells(), Cut(gaps=FIVE))
    reach = max(one.bounds[2] for section in made.sections for one in (*section.bars, *section.across))
    assert 0.9 < reach < 1.1
    assert max(one.outline.bounds[2] for one in made.sections) == pytest.approx(reach, abs=1e-3)
    assert made.outline_m2 == pytest.approx((reach - 0.005) * 0.690, rel=0.02)
    (said,) = (note for note in made.notes if "left without a grate" in note)
    assert float(said.split()[0]) / 1e4 == pytest.approx((1.795 - reach) * 0.690, rel=0.02)
