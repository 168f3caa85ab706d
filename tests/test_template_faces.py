"""Templates held against the mesh of their part in place: not mirrored, arrows, bevels, and no word where one saws."""

import io
import re
import xml.etree.ElementTree as ET
from collections.abc import Sequence
from functools import reduce
from importlib.resources import files

import numpy as np
import pytest
import shapely
import shapely.affinity
import trimesh
from ezdxf.filemanagement import read
from numpy.typing import NDArray
from shapely import Polygon

from tapeloft.model.compartment import build
from tapeloft.model.cutting.board import Board, Cut, Edge, board_at
from tapeloft.model.cutting.eggcrate import Cells, egg_crate_at
from tapeloft.model.cutting.grate import Lay, grate_at
from tapeloft.model.cutting.perforated import Holed, Perforated, perforated_at
from tapeloft.model.cutting.plane import Plane, at_half_breadth, at_height, at_station
from tapeloft.model.cutting.shelf import Shelving, shelf_at
from tapeloft.model.cutting.slots import Holes, pierced
from tapeloft.model.cutting.told import on_piece
from tapeloft.model.solid import Solid
from tapeloft.model.survey.boat import read_survey
from tapeloft.viewer.form.ink import POINT, Line, Words
from tapeloft.viewer.template.dxf import as_dxf
from tapeloft.viewer.template.lettering import INK, Written, ground
from tapeloft.viewer.template.marked import marked
from tapeloft.viewer.template.ontiles import on_tiles, within
from tapeloft.viewer.template.paper import as_pdf, drawn
from tapeloft.viewer.template.plan import FIGURE, drawn_plan, origin, plan_of
from tapeloft.viewer.template.svg import EDGE, as_svg
from tapeloft.viewer.template.template import (
    Lying,
    Template,
    template_of,
    template_of_bars,
    template_of_pierced,
    templates_of_crossed,
)  # fmt: skip
from tapeloft.viewer.template.tiling import tiled

BOAT = read_survey(str(files("tapeloft.shapes").joinpath("demo")))
LINES = ("A   a locker", "this side", "12 mm thick", "survey 0123456789ab, its tape ± 4.2 mm")
AFLOAT = {"forward": (1, 0, 0), "port": (0, 1, 0), "up": (0, 0, 1)}
FACES = {"upper face": (0, 0, 1), "forward face": (1, 0, 0), "port face": (0, 1, 0)}
PLACES = [
    ("cockpit locker, port", at_height(0.6)), ("cockpit locker, port", at_station(1.2)),
    ("cockpit locker, starboard", at_station(0.5)), ("cockpit locker, starboard", at_half_breadth(-0.9)),
    ("lazarette", at_station(-0.5)), ("sail locker", at_height(0.3)),
]  # fmt: skip


def board(name: str, plane: Plane) -> Board:
    return board_at(build(BOAT.compartment(name)), plane, 0.012, Cut())


def ways(template: Template) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return what right and up the sheet are on board, as its two arrows and their names say."""
    assert template.block is not None
    names = [one.text for one in template.block.written[-2:]]
    found = np.zeros((2, 2)), []
    for k, (shaft, name) in enumerate(zip(template.block.marks[::2], names, strict=True)):
        found[0][k] = np.subtract(shaft[1], shaft[0])
        found[1].append(AFLOAT[name])
        tip = np.array(shaft[1])
        near = min(np.linalg.norm(np.subtract(one.at, tip)) for one in template.block.written if one.text == name)
        assert near < 1.3 * np.linalg.norm(found[0][k])  # the name stands at its arrow
    lie = found[0] / np.linalg.norm(found[0], axis=1)[:, None]
    right, up = np.linalg.solve(lie, np.array(found[1], np.float64))
    return right, up


def corners(rings: Sequence[Sequence[tuple[float, float]]]) -> NDArray[np.float64]:
    return np.array([spot for ring in rings for spot in ring])


def held(template: Template, solid: Solid, face: str) -> None:
    """Every corner of the template is a corner of the mesh on the face it is of, seen from before that face."""
    right, up = ways(template)
    normal = np.array(FACES[face], np.float64)
    assert np.cross(right, up) == pytest.approx(normal, abs=1e-9)
    along = solid.vertices @ normal
    top = solid.vertices[along > along.max() - 2e-5]
    there = np.column_stack([top @ right, top @ up]) * 1000
    there -= there.min(axis=0)
    drawn = corners(template.cut)
    far = np.linalg.norm(drawn[:, None] - there, axis=2).min(axis=1)
    assert far.max() < 0.05
    mirrored = np.column_stack([drawn[:, 0].max() - drawn[:, 0], drawn[:, 1]])
    if abs(Polygon(template.cut[0]).symmetric_difference(Polygon(mirrored[: len(template.cut[0])])).area) > 500:
        assert np.linalg.norm(mirrored[:, None] - there, axis=2).min(axis=1).max() > 0.5  # the check can fail


@pytest.mark.parametrize(("name", "plane"), PLACES)
def test_a_template_is_its_face_as_it_is_seen(name: str, plane: Plane) -> None:
    made = board(name, plane)
    for piece in made.pieces:
        held(template_of(piece, plane, LINES), piece.solid, plane.face)


def test_a_sheet_with_holes_is_its_upper_face_as_it_is_seen() -> None:
    made = perforated()
    for section in made.sections:
        held(template_of_pierced(section, made.plane, LINES), section.solid, "upper face")


def test_battens_are_their_upper_faces_as_they_are_seen() -> None:
    made = grate_at(build(BOAT.compartment("cockpit locker, port")), 0.4, Lay(), Cut())
    for section in made.sections:
        right, up = ways(template := template_of_bars(section, made.plane, LINES))
        assert np.cross(right, up) == pytest.approx((0, 0, 1))
        top = section.solid.vertices[section.solid.vertices[:, 2] > section.solid.bounds[1, 2] - 2e-5]
        there = (np.column_stack([top @ right, top @ up]) - np.array([top @ right, top @ up]).min(axis=1)) * 1000
        drawn = corners(template.cut)
        drawn -= drawn.min(axis=0)
        assert np.linalg.norm(drawn[:, None] - there, axis=2).min(axis=1).max() < 0.05


def sections_of(solid: Solid, level: float) -> shapely.MultiLineString:
    mesh = trimesh.Trimesh(solid.vertices, solid.triangles, process=False)
    cut = mesh.section(plane_origin=(0, 0, level), plane_normal=(0, 0, 1))
    return shapely.MultiLineString([line[:, :2] for line in cut.discrete])


def test_the_sign_of_a_bevel_is_where_the_mesh_says_that_the_side_stands_farther_off() -> None:
    """By trimesh: the wall's distance at the upper face less that at the lower, over the thickness, is its tangent."""
    said, thick = [], 0.03
    level = [("lazarette", 0.35), ("cockpit locker, port", 0.15), ("sail locker", 0.4), ("gas locker", 0.2)]
    for name, plane in (*((name, at_height(height)) for name, height in level), ("sail locker", at_station(0.7))):
        whole = build(BOAT.compartment(name))
        made = board_at(whole, plane, thick, Cut())
        low, high = (sections_of(plane.seen(whole.net), off) for off in (1e-4, thick - 1e-4))
        for piece in made.pieces:
            template = template_of(piece, made.plane, LINES)
            for (least, most), edge in bevels(template, piece.edges):
                middle = shapely.LineString(edge.line).interpolate(0.5, normalized=True)
                wider = high.distance(middle) - low.distance(middle)
                degrees = np.degrees(np.arctan2(wider, thick - 2e-4))
                assert least - 2 < degrees < most + 2
                said.append(least)
    assert max(said) > 5
    assert min(said) < 0
    assert len(said) >= 6


def bevels(template: Template, edges: Sequence[Edge]) -> list[tuple[tuple[int, int], Edge]]:
    """Return the bevels that are written, least and most, each with the edge that it is nearest to."""
    start = np.min([np.array(edge.line).min(axis=0) for edge in edges], axis=0)
    found = []
    for one in template.written:
        if (match := re.fullmatch(r".*: bevel ([+-]\d+)°(?: to ([+-]\d+)°)?", one.text)) is not None:
            middle = outlined(one).centroid
            lines = [shapely.LineString((np.array(edge.line) - start) * 1000) for edge in edges]
            nearest = edges[int(np.argmin([line.distance(middle) for line in lines]))]
            assert one.text.startswith(nearest.wall)
            found.append(((int(match[1]), int(match[2] or match[1])), nearest))
    return found


def outlined(one: Written) -> Polygon:
    """The letters of a line as the PDF has them, turned about the left end of the line they stand on."""
    left, top, right, low = Words(one.text, (0.0, 0.0), one.height / INK / POINT).extent
    box = shapely.affinity.rotate(shapely.box(left, -low, right, -top), one.turn_deg, origin=(0, 0))
    return shapely.affinity.translate(box, *one.at)


def clear_of_the_saw(template: Template) -> None:
    """No letter lies on an outline, in a hole or on another; each lies on the piece, or the block of them beside it."""
    lines = shapely.MultiLineString([(*ring, ring[0]) for ring in template.cut])
    circles = [shapely.Point(x, y).buffer(r) for x, y, r in template.holes]
    rings = [Polygon(ring) for ring in template.cut]
    whole = shapely.union_all([r for r in rings if r.exterior.is_ccw])
    whole -= shapely.union_all([r for r in rings if not r.exterior.is_ccw])
    boxes = [outlined(one) for one in template.written]
    beside = template.block.written if template.block and template.block.beside else ()
    tree = shapely.STRtree(circles) if circles else None
    for one, box in zip(template.written, boxes, strict=True):
        assert not box.intersects(lines), one.text
        assert one in beside or whole.contains(box), one.text
        assert tree is None or not len(tree.query(box, "intersects")), one.text
    for k, box in enumerate(boxes):
        assert not any(box.buffer(-0.4).intersects(other.buffer(-0.4)) for other in boxes[:k])


def perforated() -> Perforated:
    return perforated_at(build(BOAT.compartment("sail locker")), 0.2, Holed(), Cut())


def templates() -> list[Template]:
    port = build(BOAT.compartment("cockpit locker, port"))
    slotted = pierced(board_at(port, at_station(1.2), 0.012, Cut()), Holes(2, (0.1, 0.035), 0.07, 0.015)).board
    made = [template_of(piece, slotted.plane, LINES) for piece in slotted.pieces]
    holed = perforated()
    made += [template_of_pierced(one, holed.plane, LINES) for one in holed.sections]
    battens = grate_at(port, 0.4, Lay(), Cut())
    made += [template_of_bars(one, battens.plane, LINES) for one in battens.sections]
    crossed = egg_crate_at(build(BOAT.compartment("gas locker")), 0.09, Cells(), Cut())
    made += [each for one in crossed.sections for each in templates_of_crossed(one, crossed.plane, LINES)]
    return made


def test_no_word_lies_where_one_saws_or_bores_as_a_file_or_on_paper() -> None:
    for template in templates():
        clear_of_the_saw(template)
        for paper in ("a4", "a3"):
            layout = tiled(template.cut, paper, template.drawn)  # type: ignore[arg-type]
            placed = on_tiles(template, layout)
            clear_of_the_saw(placed)
            shown = [within(placed, layout, tile) for tile in layout.tiles]
            assert {one for some in shown for one in some.written} == set(placed.written)
            assert placed.block is not None
            for some in shown:  # the arrows are on a sheet with the words, or not at all
                words, arrows = set(placed.block.written) & set(some.written), set(placed.block.marks) & set(some.marks)
                assert bool(words) == bool(arrows)
                assert words in (set(), set(placed.block.written))


def test_words_without_room_on_a_piece_stand_beside_it() -> None:
    made = board("cockpit locker, port", at_height(0.6)).pieces[0]
    small = shapely.box(0, 0, 0.03, 0.02)
    template = template_of(type(made)("bracket 1", small, made.solid, (), (), 0.1), at_height(0.6), LINES)
    clear_of_the_saw(template)
    assert template.block is not None
    assert template.block.beside
    assert template.size[0] > 100
    assert len(as_pdf([template], "a4", "bracket", [])) > 1000


def test_a_bearer_that_lies_under_another_piece_is_not_marked_on_this_one() -> None:
    made = shelf_at(build(BOAT.compartment("cockpit locker, port")), Shelving(0.6, "port", 0.5), Cut())
    bars = [bar.outline for bar in made.bearers]
    assert len(made.board.pieces) > 1
    for piece in made.board.pieces:
        template = template_of(piece, made.board.plane, LINES, [Lying(bar) for bar in bars])
        x, y = piece.outline.bounds[:2]
        outline, *under = (
            shapely.affinity.scale(shapely.affinity.translate(one, -x, -y), 1000, 1000, origin=(0, 0))
            for one in (piece.outline, *bars)
        )
        lines = [shapely.LineString(line) for line in template.under]
        edges = shapely.union_all([bar.boundary for bar in under])
        assert lines
        assert all(line.hausdorff_distance(line.intersection(shapely.buffer(edges, 1e-6))) < 1e-3 for line in lines)
        within = shapely.intersection(edges, shapely.buffer(outline, -0.05))  # what runs along the cut is not marked
        assert sum(line.length for line in lines) == pytest.approx(within.length, abs=0.5)


def test_the_figures_on_a_plan_are_where_the_mesh_has_its_bearers() -> None:
    """Under a sheet with holes bearers lie between the ledges round it: a section under it has them there."""
    made = perforated()
    strips = [("bearer", one) for section in made.sections for one in section.bearers]
    plan = plan_of([(one.letter, one.outline) for one in made.sections], strips, made.plane, 0, "mm")
    low = min(one.outline.bounds[0] for one in made.sections)
    words = [one for one in drawn_plan(plan, (0, 0, 280, 180)) if isinstance(one, Words) and one.turn_deg]
    figures = [int(one.text) for one in words if one.size <= FIGURE]
    assert len(figures) >= 6
    held = 0
    for section in made.sections:
        under = sections_of(section.solid, made.plane.start[2] - 0.01)
        rings = [shapely.make_valid(Polygon(line)) for line in under.geoms]  # bars touch at their ends
        solid = reduce(shapely.symmetric_difference, rings)
        x0, _, x1, _ = section.outline.bounds
        for x in (low + figure / 1000 for figure in figures):
            if x0 + 0.1 < x < x1 - 0.25:  # clear of the ledge that runs all round
                bar = shapely.LineString([(x - 0.1, 0.03), (x + 0.1, 0.03)]).intersection(solid)
                bars = [one for one in shapely.get_parts(bar) if one.distance(shapely.Point(x, 0.03)) < 1e-6]
                assert len(bars) == 1
                assert bars[0].length == pytest.approx(0.03, abs=0.001)
                assert bars[0].centroid.x == pytest.approx(x, abs=0.001)
                held += 1
    assert held >= 4


@pytest.mark.parametrize(("name", "plane"), PLACES)
def test_a_piece_says_from_which_station_and_height_to_which_it_lies(name: str, plane: Plane) -> None:
    """Read against the mesh: stations count along the tape, aft of the datum in the lazarette."""
    survey = BOAT.compartment(name)
    for piece in board(name, plane).pieces:
        said = on_piece(piece, survey, name, ("this side",))
        assert (said[0], said[1]) == (f"{piece.letter}   {name}", "this side")
        assert "±" in said[3]
        found = re.fullmatch(r"station (-?\d+) to (-?\d+) mm; height (-?\d+) to (-?\d+) mm", said[2])
        assert found is not None
        (x0, _, z0), (x1, _, z1) = piece.solid.bounds * 1000
        along = sorted((-x0, -x1)) if name == "lazarette" else [x0, x1]
        assert [float(one) for one in found.groups()] == pytest.approx([*along, z0, z1], abs=0.51)


def test_a_plan_tells_its_figures_in_the_unit_it_is_asked_in() -> None:
    """A board 24 1/2 by 10 in, a bearer's middle 6 1/4 in from its end, 4 in forward and 1 in to starboard."""
    inch = 0.0254
    board = shapely.box(4 * inch, -1 * inch, 28.5 * inch, 9 * inch)
    bearer = shapely.box(9.75 * inch, 0.0, 10.75 * inch, 8 * inch)
    plan = plan_of([("A", board)], [("bearer", bearer)], perforated().plane, 0, "in")
    words = {one.text for one in drawn_plan(plan, (0, 0, 280, 180)) if isinstance(one, Words)}
    assert {"24 1/2", "10", "6 1/4"} <= words
    assert origin(plan) == "the aft end lies 4 forward of the datum, the starboard end 1 to starboard of it"


def test_dashed_lines_are_broken_where_words_stand_and_cut_ones_are_not() -> None:
    """On an egg-crate's narrow bars no word finds a place clear of what lies under them."""
    made = egg_crate_at(build(BOAT.compartment("gas locker")), 0.09, Cells(bar=(0.02, 0.03), cell=(0.04, 0.04)), Cut())
    over, _ = templates_of_crossed(made.sections[0], made.plane, LINES)
    dashed = [shapely.LineString(line) for line, under in marked(over) if under]
    words = [shapely.union_all([Polygon(ground(one)) for one in over.written])]
    whole = shapely.union_all([shapely.LineString(line) for line in over.under])
    broken = shapely.union_all(dashed)
    assert whole.intersection(words[0]).length > 10.0  # else nothing is to be broken
    assert broken.intersection(shapely.buffer(words[0], -1e-6)).length < 1e-6
    assert broken.length == pytest.approx(whole.difference(words[0]).length, abs=1e-3)
    on_paper = [one for one in drawn(over, (0.0, 0.0)) if isinstance(one, Line)]
    assert len([one for one in on_paper if one.dashed]) == len(dashed)
    assert len([one for one in on_paper if one.closed]) == len(over.cut)


def test_svg_and_dxf_break_dashed_lines_as_paper_does() -> None:
    """Read back by their own numbers: no dashed line of either runs through words, and both have the same of them."""
    made = egg_crate_at(build(BOAT.compartment("gas locker")), 0.09, Cells(bar=(0.02, 0.03), cell=(0.04, 0.04)), Cut())
    over, _ = templates_of_crossed(made.sections[0], made.plane, LINES)
    words = shapely.buffer(shapely.union_all([Polygon(ground(one)) for one in over.written]), -0.01)
    root = ET.fromstring(as_svg(over))
    dashed = [one for one in root.iter("{http://www.w3.org/2000/svg}polyline") if one.get("stroke-dasharray")]
    high = over.size[1]
    spots = [[tuple(map(float, spot.split(","))) for spot in one.get("points", "").split()] for one in dashed]
    svg = shapely.MultiLineString([[(x - EDGE, high + EDGE - y) for x, y in some] for some in spots])
    document = read(io.StringIO(as_dxf(over).decode("cp1252")))
    assert not document.audit().has_errors
    found = document.modelspace().query('LWPOLYLINE[layer=="MARK" & linetype=="DASHED"]')
    dxf = shapely.MultiLineString([[(x, y) for x, y, *_ in one.vertices()] for one in found])
    assert svg.length == pytest.approx(dxf.length, abs=0.1)
    for lines in (svg, dxf):
        assert lines.length > 1000
        assert not lines.intersects(words)
