"""Templates of one piece, read back by other libraries: PDF at 300 dpi, SVG by its own numbers, DXF by its audit."""

import io
import math
import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from importlib.resources import files
from pathlib import Path

import numpy as np
import pypdf
import pypdfium2
import pytest
import shapely
from ezdxf.filemanagement import read, readfile
from ezdxf.lldxf.encoding import decode_dxf_unicode
from shapely import Polygon

from tapeloft.model.compartment import build
from tapeloft.model.cutting.board import Board, Cut, board_at
from tapeloft.model.cutting.grate import Lay, grate_at
from tapeloft.model.cutting.plane import at_height, at_station
from tapeloft.model.survey.boat import read_survey
from tapeloft.viewer.template.dxf import as_dxf
from tapeloft.viewer.template.ontiles import on_tiles, within
from tapeloft.viewer.template.paper import as_pdf
from tapeloft.viewer.template.svg import as_svg
from tapeloft.viewer.template.template import Template, template_of, template_of_bars
from tapeloft.viewer.template.tiling import FOOT, MARGIN, OVERLAP, PAPERS, tiled

BOAT = read_survey(str(files("tapeloft.shapes").joinpath("demo")))
LINES = ("A   gas locker", "this side: upper face", "12 mm thick")
NEAR = 0.05  # mm


@pytest.fixture(scope="module")
def board() -> Board:
    return board_at(build(BOAT.compartment("gas locker")), at_height(0.2), 0.012, Cut())


@pytest.fixture(scope="module")
def template(board: Board) -> Template:
    return template_of(board.pieces[0], board.plane, LINES)


def true_size(board: Board) -> tuple[float, float, float]:
    wide, high = board.pieces[0].size
    return board.pieces[0].outline.area * 1e6, wide * 1000, high * 1000


def held(rings: list[np.ndarray], board: Board) -> None:
    area, wide, high = true_size(board)
    whole = Polygon(rings[0], rings[1:])
    x0, y0, x1, y1 = whole.bounds
    assert (x1 - x0, y1 - y0) == pytest.approx((wide, high), abs=NEAR)
    assert whole.area == pytest.approx(area, abs=NEAR * whole.length)


def test_the_template_is_the_piece(board: Board, template: Template) -> None:
    held([np.array(ring) for ring in template.cut], board)
    assert template.size == pytest.approx(true_size(board)[1:], abs=1e-6)


def test_svg_in_millimetres_as_they_are(board: Board, template: Template) -> None:
    root = ET.fromstring(as_svg(template))
    space = "{http://www.w3.org/2000/svg}"
    width, height = (float(root.get(side, "").removesuffix("mm")) for side in ("width", "height"))
    assert root.get("viewBox") == f"0 0 {width:.4f} {height:.4f}"
    groups = {group.get("id"): group for group in root.findall(f"{space}g")}
    assert set(groups) == {"CUT", "MARK", "TEXT"}
    (path,) = groups["CUT"].findall(f"{space}path")
    said = path.get("d", "")
    assert said.count("Z") == len(template.cut)
    rings = [
        np.array(re.findall(r"(-?[\d.]+),(-?[\d.]+)", part), np.float64) for part in said.split("Z") if part.strip()
    ]
    held(rings, board)
    square = groups["MARK"].find(f"{space}rect")
    assert square is not None
    assert (square.get("width"), square.get("height")) == ("100", "100")


def test_dxf_by_its_units_its_layers_and_its_audit(board: Board, template: Template) -> None:
    data = as_dxf(template)
    document = read(io.StringIO(data.decode("cp1252")))
    assert document.dxfversion == "AC1015"  # R2000
    assert (document.header["$INSUNITS"], document.header["$MEASUREMENT"]) == (4, 1)
    assert not document.audit().has_errors
    cut = list(document.modelspace().query('*[layer=="CUT"]'))
    assert all(one.dxftype() == "LWPOLYLINE" and one.closed for one in cut)
    held([np.array(list(one.vertices())) for one in cut], board)
    assert {one.dxf.layer for one in document.modelspace()} == {"CUT", "MARK", "TEXT"}
    assert "gas locker" in " ".join(one.dxf.text for one in document.modelspace().query("TEXT"))


def test_the_same_piece_gives_the_same_bytes(template: Template) -> None:
    for write in (as_svg, as_dxf, lambda one: as_pdf([one], "a4", "piece", ["remark"])):
        assert write(template) == write(template)


def test_letters_that_dxf_has_not_are_kept(template: Template, tmp_path: Path) -> None:
    written = (replace(template.written[0], text="船 12°"),)
    data = as_dxf(replace(template, written=written))
    (tmp_path / "piece.dxf").write_bytes(data)
    document = readfile(tmp_path / "piece.dxf")
    assert "船 12°" in [decode_dxf_unicode(one.dxf.text) for one in document.modelspace().query("TEXT")]


@pytest.mark.parametrize("paper", ["a4", "a3", "letter"])
def test_pdf_asks_for_its_own_size_and_rules_itself(paper: str, template: Template) -> None:
    reader = pypdf.PdfReader(io.BytesIO(as_pdf([template], paper, "gas locker: shelf", ["a remark"])))  # type: ignore[arg-type]
    assert reader.trailer["/Root"]["/ViewerPreferences"]["/PrintScaling"] == "/None"
    tiling = tiled(template.cut, paper)  # type: ignore[arg-type]
    assert len(reader.pages) == 1 + len(tiling.tiles)
    for page in reader.pages:
        text = page.extract_text()
        assert "100 mm" in text
        assert "4 in" in text
    for page in reader.pages[1:]:
        size = sorted(float(side) * 25.4 / 72 for side in page.mediabox[2:])
        assert size == pytest.approx(sorted(PAPERS[paper]), abs=0.01)  # type: ignore[index]


def test_pdf_at_300_dpi_measures_as_the_piece(board: Board) -> None:
    """A small square piece on one sheet, drawn without words by pypdfium2: rows and columns of ink, to half a dot."""
    square = Template("A", (((0.0, 0.0), (120.0, 0.0), (120.0, 90.0), (0.0, 90.0)),), (), ())
    tiling = tiled(square.cut, "a4")
    assert len(tiling.tiles) == 1
    page = pypdfium2.PdfDocument(as_pdf([square], "a4", "square", []))[1]
    dots = 300 / 25.4
    ink = 255 - np.asarray(page.render(scale=300 / 72, grayscale=True).to_numpy(), np.float64)
    ink = ink.reshape(ink.shape[:2])
    tile = tiling.tiles[0]
    top = (MARGIN + tile.bottom + tiling.window[1] - 45.0) * dots  # half way up the piece
    across = ink[round(top) - 20 : round(top) + 20].mean(axis=0)
    across[: round((MARGIN + 1) * dots)] = 0  # the window's own frame
    across[round((MARGIN + tiling.window[0] - 1) * dots) :] = 0
    columns = np.flatnonzero(across > 20)
    left, right = (
        float((where * across[where]).sum() / across[where].sum()) for where in np.split(columns, [len(columns) // 2])
    )
    assert (right - left) / dots == pytest.approx(120.0, abs=NEAR)


def test_pdf_vectors_put_together_are_the_outline(board: Board, template: Template) -> None:
    """The outline as the page has it, read from the content of the sheet by pypdf, in millimetres."""
    reader = pypdf.PdfReader(io.BytesIO(as_pdf([template], "a4", "shelf", [])))
    longest: list[tuple[float, float]] = []
    path: list[tuple[float, float]] = []

    def seen(operator: bytes, operands: list[float], *_: object) -> None:
        nonlocal path, longest
        if operator == b"m":
            path = []
        if operator in (b"m", b"l"):
            path.append((float(operands[0]) * 25.4 / 72, float(operands[1]) * 25.4 / 72))
        if operator == b"h" and Polygon(path).area > (Polygon(longest).area if longest else 0):
            longest = path

    def visited(operator: bytes, operands: list[float], *rest: object) -> None:
        if operator != b"re":
            seen(operator, operands, *rest)

    page = reader.pages[1]
    page.extract_text(visitor_operand_before=visited)
    area, wide, high = true_size(board)
    outline = Polygon(longest)
    x0, y0, x1, y1 = outline.bounds
    assert (x1 - x0, y1 - y0) == pytest.approx((wide, high), abs=NEAR)
    assert outline.area == pytest.approx(area, abs=NEAR * outline.length)


@pytest.mark.parametrize("paper", ["a4", "a3", "letter"])
@pytest.mark.parametrize("size", [(30.0, 20.0), (700.0, 900.0), (2100.0, 60.0)])
def test_tiles_cover_the_outline_and_neighbours_overlap(paper: str, size: tuple[float, float]) -> None:
    wide, high = size
    piece = [(0.0, 0.0), (wide, 0.0), (wide, high), (0.0, high)]
    tiling = tiled([piece], paper)  # type: ignore[arg-type]
    page, window = tiling.page, tiling.window
    assert (window[0] + 2 * MARGIN, window[1] + 2 * MARGIN + FOOT) == pytest.approx(page)
    boxes = [shapely.box(t.left, t.bottom, t.left + window[0], t.bottom + window[1]) for t in tiling.tiles]
    ring = shapely.LinearRing(piece)
    assert ring.difference(shapely.union_all(boxes)).length < 1e-6
    assert len(shapely.get_parts(shapely.union_all(boxes))) == 1  # nothing that would have to be laid by eye
    blank = [one for one in boxes if not one.intersects(ring)]
    assert all(len(shapely.get_parts(shapely.union_all([b for b in boxes if b is not one]))) > 1 for one in blank)
    places = {(t.row, t.column): t for t in tiling.tiles}
    for (row, column), tile in places.items():
        if (row, column + 1) in places:
            assert places[row, column + 1].left - tile.left == pytest.approx(window[0] - OVERLAP)
        if (row + 1, column) in places:
            assert tile.bottom - places[row + 1, column].bottom == pytest.approx(window[1] - OVERLAP)


@pytest.mark.parametrize("paper", ["a4", "a3", "letter"])
def test_no_word_crosses_two_sheets(paper: str) -> None:
    """Read from the pages by pypdf: every line of a large piece stands whole on one of them."""
    whole = build(BOAT.compartment("lazarette"))
    large = board_at(whole, at_height(0.3), 0.012, Cut())
    for piece in large.pieces[:2]:
        template = template_of(piece, large.plane, LINES)
        layout = tiled(template.cut, paper)  # type: ignore[arg-type]
        placed = on_tiles(template, layout)
        assert sorted(one.text for one in placed.written) == sorted(one.text for one in template.written)
        shown = [within(placed, layout, tile).written for tile in layout.tiles]
        assert {one for some in shown for one in some} == set(placed.written)
        pages = [page.extract_text() for page in pypdf.PdfReader(io.BytesIO(as_pdf([template], paper, "x", []))).pages]  # type: ignore[arg-type]
        for line in LINES:
            assert any(line in " ".join(text.split()).replace("A gas", "A   gas") for text in pages[1:])


def test_what_is_written_lies_on_the_piece_and_says_what_it_has_to(board: Board, template: Template) -> None:
    outline = Polygon(template.cut[0], template.cut[1:])
    for one in template.written:
        assert outline.contains(shapely.Point(*one.at))
    said = " ".join(one.text for one in template.written)
    assert "forward" in said
    assert "port" in said
    assert re.search(r"B-C: bevel \+\d", said)


def test_bevels_are_told_on_upright_boards() -> None:
    whole = build(BOAT.compartment("cockpit locker, port"))
    upright = board_at(whole, at_station(0.7), 0.012, Cut())
    said = " ".join(one.text for piece in upright.pieces for one in template_of(piece, upright.plane, LINES).written)
    assert "C-D: bevel" in said
    assert "up" in said.split()


def test_a_section_of_a_grate_is_its_battens() -> None:
    whole = build(BOAT.compartment("gas locker"))
    grate = grate_at(whole, 0.09, Lay(), Cut())
    template = template_of_bars(grate.sections[0], grate.plane, LINES)
    area = sum(Polygon(ring).area for ring in template.cut)
    assert area == pytest.approx(sum(one.area for one in grate.sections[0].battens) * 1e6, abs=1.0)
    assert {"A1", "A2"} <= {one.text for one in template.written}
    assert math.isclose(template.size[0], max(one.bounds[2] for one in map(Polygon, template.cut)))
