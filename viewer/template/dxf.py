"""A template as DXF R2000, in millimetres: layers CUT, MARK and TEXT."""

import io

from tapeloft.viewer.template.lettering import Written
from tapeloft.viewer.template.template import Template

MILLIMETRES, METRIC = 4, 1  # of $INSUNITS and $MEASUREMENT
COLOURS = {"CUT": 7, "MARK": 5, "TEXT": 3}
CHECK, BELOW = 100.0, 10.0  # mm: the sides of the square to check the scale by, and how far under the piece it is


def as_dxf(template: Template) -> bytes:
    """Return the bytes of a DXF file; CUT holds closed polylines and nothing else. The same piece, the same bytes."""
    from ezdxf import options  # type: ignore[attr-defined]

    before = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True  # no time and no random numbers in the header
    try:
        return _written(template)
    finally:
        options.write_fixed_meta_data_for_testing = before


def _written(template: Template) -> bytes:
    from ezdxf.filemanagement import new

    document = new("R2000", units=MILLIMETRES)
    document.header["$MEASUREMENT"] = METRIC
    for name, colour in COLOURS.items():
        document.layers.add(name, color=colour)
    space = document.modelspace()
    for ring in template.cut:
        space.add_lwpolyline(ring, close=True, dxfattribs={"layer": "CUT"})
    for x, y, r in template.holes:  # two half circles, so that a hole is a closed polyline too
        space.add_lwpolyline([(x - r, y, 1.0), (x + r, y, 1.0)], "xyb", close=True, dxfattribs={"layer": "CUT"})
    if template.frame:
        space.add_lwpolyline(template.frame, close=True, dxfattribs={"layer": "MARK"})
    for line in template.marks:
        space.add_lwpolyline(line, dxfattribs={"layer": "MARK"})
    low = -BELOW - CHECK
    square = [(0.0, low), (CHECK, low), (CHECK, -BELOW), (0.0, -BELOW)]
    space.add_lwpolyline(square, close=True, dxfattribs={"layer": "MARK"})
    for one in (*template.written, Written("100 mm square: measure it", (4.0, -BELOW - 8), 3.0)):
        placed = {"layer": "TEXT", "insert": one.at, "rotation": one.turn_deg}
        space.add_text(one.text, height=one.height, dxfattribs=placed)
    file = io.StringIO()
    document.write(file)
    return file.getvalue().encode(document.output_encoding, errors="dxfreplace")
