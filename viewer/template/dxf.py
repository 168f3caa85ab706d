"""A template as DXF R2000, in millimetres: layers CUT, MARK and TEXT."""

import io
from collections.abc import Sequence

from tapeloft.viewer.template.lettering import Written
from tapeloft.viewer.template.marked import marked
from tapeloft.viewer.template.template import Template

MILLIMETRES, METRIC = 4, 1  # of $INSUNITS and $MEASUREMENT
COLOURS = {"CUT": 7, "MARK": 5, "TEXT": 3}
DASHED, DASHES = "DASHED", [3.8, 2.2, -1.6]  # mm: a dash and a gap, and each
Vertex = tuple[float, float, float]
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
    document.linetypes.add(DASHED, pattern=DASHES, description="what lies under it")
    for name, colour in COLOURS.items():
        document.layers.add(name, color=colour)
    space = document.modelspace()
    for ring in template.cut:
        space.add_lwpolyline(ring, close=True, dxfattribs={"layer": "CUT"})
    bored = [
        space.add_lwpolyline(_halves(*hole), "xyb", close=True, dxfattribs={"layer": "CUT"})
        for hole in template.holes[:1]
    ]
    handles = [document.entitydb.next_handle() for _ in template.holes[1:]]
    if template.frame:
        space.add_lwpolyline(template.frame, close=True, dxfattribs={"layer": "MARK"})
    for line, dashed in marked(template):
        attributes = {"layer": "MARK", "linetype": DASHED} if dashed else {"layer": "MARK"}
        space.add_lwpolyline(line, dxfattribs=attributes)
    low = -BELOW - CHECK
    square = [(0.0, low), (CHECK, low), (CHECK, -BELOW), (0.0, -BELOW)]
    space.add_lwpolyline(square, close=True, dxfattribs={"layer": "MARK"})
    for one in (*template.written, Written("100 mm square: measure it", (4.0, -BELOW - 8), 3.0)):
        placed = {"layer": "TEXT", "insert": one.at, "rotation": one.turn_deg}
        space.add_text(one.text, height=one.height, dxfattribs=placed)
    file = io.StringIO()
    document.write(file)
    text = file.getvalue()
    for hole in bored:
        text = _stamped(text, str(hole.dxf.handle), template.holes[1:], handles)
    return text.encode(document.output_encoding, errors="dxfreplace")


def _halves(x: float, y: float, r: float) -> tuple[Vertex, Vertex]:
    """Return a hole as two half circles, so that it is a closed polyline too: x, y and bulge of each."""
    return (x - r, y, 1.0), (x + r, y, 1.0)


def _stamped(text: str, first: str, holes: Sequence[Vertex], handles: Sequence[str]) -> str:
    """Return the text with holes behind the *first* one as that was written: thousands, one by one, take seconds."""
    start = text.index(f"  0\nLWPOLYLINE\n  5\n{first}\n")
    end = text.index("\n  0\n", start) + 1
    before, after = text[start : text.index(" 10\n", start)].split(first, 1)
    written = [
        f"{before}{handle}{after}"
        + "".join(f" 10\n{x!r}\n 20\n{y!r}\n 42\n{bulge!r}\n" for x, y, bulge in _halves(*hole))
        for hole, handle in zip(holes, handles, strict=True)
    ]
    return text[:end] + "".join(written) + text[end:]
