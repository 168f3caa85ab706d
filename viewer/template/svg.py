"""A template as SVG, in millimetres as they are."""

from xml.sax.saxutils import escape

from tapeloft.viewer.template.lettering import INK
from tapeloft.viewer.template.marked import marked
from tapeloft.viewer.template.template import Spot, Template

EDGE = 5.0  # mm round the piece
CHECK = 100.0  # mm, the sides of the square to check the scale by
DASHED = ' stroke-dasharray="2.2 1.6"'


def _closed(ring: tuple[Spot, ...]) -> tuple[tuple[Spot, ...], ...]:
    return ((*ring, ring[0]),) if ring else ()


def _placed(at: str, turn_deg: float) -> str:
    return f"translate({at})" + (f" rotate({-turn_deg:.3f})" if turn_deg else "")


def as_svg(template: Template) -> bytes:
    """Return the bytes of an SVG file: groups CUT, MARK and TEXT; below the piece a square of 100 mm to check by."""
    wide, high = template.size
    over_all = (max(wide, CHECK) + 2 * EDGE, high + CHECK + 3 * EDGE)

    def at(spot: Spot) -> str:
        return f"{spot[0] + EDGE:.4f},{high - spot[1] + EDGE:.4f}"

    cut = " ".join(f"M{' L'.join(map(at, ring))} Z" for ring in template.cut)
    cut += "".join(
        f" M{at((x - r, y))} a{r:.4f},{r:.4f} 0 1,0 {2 * r:.4f},0 a{r:.4f},{r:.4f} 0 1,0 {-2 * r:.4f},0 Z"
        for x, y, r in template.holes
    )
    lines = [*marked(template), *((ring, False) for ring in _closed(template.frame))]
    marks = [f'<polyline points="{" ".join(map(at, line))}"{DASHED * dashed}/>' for line, dashed in lines]
    x, y = EDGE, high + 2 * EDGE
    marks.append(f'<rect x="{x:g}" y="{y:.4f}" width="{CHECK:g}" height="{CHECK:g}"/>')
    words = [(one.text, _placed(at(one.at), one.turn_deg), one.height) for one in template.written]
    words.append(("100 mm square: measure it", _placed(f"{x + 4:g},{y + 8:.4f}", 0.0), 3.0))
    text = [f'<text transform="{a}" font-size="{h / INK:.3f}">{escape(t)}</text>' for t, a, h in words]
    said = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{over_all[0]:.4f}mm" height="{over_all[1]:.4f}mm" '
        f'viewBox="0 0 {over_all[0]:.4f} {over_all[1]:.4f}">',
        f'<g id="CUT" fill="none" stroke="#000000" stroke-width="0.2"><path d="{cut}"/></g>',
        '<g id="MARK" fill="none" stroke="#0000ff" stroke-width="0.2">', *marks, "</g>",
        '<g id="TEXT" fill="#0000ff" stroke="none" font-family="sans-serif">', *text, "</g>", "</svg>",
    ]  # fmt: skip
    return ("\n".join(said) + "\n").encode()
