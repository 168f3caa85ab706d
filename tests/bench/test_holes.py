"""Twenty thousand holes made and exported, and opened by other libraries."""

import io
import time
import xml.etree.ElementTree as ET

import pypdfium2
import pytest
import shapely
import trimesh
from ezdxf.filemanagement import read

from tapeloft.model.cutting.board import standing
from tapeloft.model.cutting.holes import bored, holes
from tapeloft.model.cutting.perforated import Pierced
from tapeloft.model.cutting.plane import at_height
from tapeloft.model.export import encoded
from tapeloft.model.files.formats.registry import NamedSolid
from tapeloft.viewer.template.dxf import as_dxf
from tapeloft.viewer.template.paper import as_pdf
from tapeloft.viewer.template.svg import as_svg
from tapeloft.viewer.template.template import template_of_pierced

pytestmark = pytest.mark.bench


def test_twenty_thousand_holes_leave_in_five_seconds() -> None:
    plane, sheet = at_height(0.1), shapely.box(0, 0, 1.6, 0.8)
    start = time.process_time()
    middles = holes(sheet, sheet, 0.004, 0.008, "square", 0.002)
    section = Pierced("A", sheet, (), standing(sheet, plane, 0.012), (), 1.0, (), middles, 0.004, 0.012)
    template = template_of_pierced(section, plane, ("A   a sheet", "upper face"))
    svg, dxf, pdf = as_svg(template), as_dxf(template), as_pdf([template], "a4", "sheet", [])
    mesh = encoded([NamedSolid("sheet", bored(sheet, middles, 0.004, 0.0, 0.012))], "stl")
    took = time.process_time() - start
    print(f"20 000 holes: {took:.2f} s of one core")
    assert len(middles) == 20_000
    document = read(io.StringIO(dxf.decode("cp1252")))
    assert not document.audit().has_errors
    assert len(document.modelspace().query('LWPOLYLINE[layer=="CUT"]')) == 20_001
    assert ET.fromstring(svg).tag.endswith("svg")
    assert len(pypdfium2.PdfDocument(pdf)[1].render(scale=0.2).to_numpy())
    assert trimesh.load(io.BytesIO(mesh), file_type="stl").is_watertight
    assert took < 5.0
