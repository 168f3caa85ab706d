"""What is marked on a template, as every kind of file draws it: broken where words stand."""

from collections.abc import Iterator

import shapely
from shapely import LineString, Polygon

from tapeloft.viewer.template.lettering import ground
from tapeloft.viewer.template.template import Spot, Template


def marked(template: Template) -> Iterator[tuple[tuple[Spot, ...], bool]]:
    """Yield each line that is marked, mm, and whether it is dashed, for what lies under the piece.

    None runs through words, but for the arrows, which have theirs beside them.
    """
    words = shapely.union_all([Polygon(ground(one)) for one in template.written])
    shapely.prepare(words)
    arrows = template.block.marks if template.block else ()
    for lines, dashed in ((template.under, True), (template.marks, False)):
        for line in lines:
            whole = LineString(line)
            if line in arrows or not words.intersects(whole):
                yield line, dashed
            else:
                yield from ((part, dashed) for part in _broken(whole, words))


def _broken(line: LineString, words: shapely.Geometry) -> Iterator[tuple[Spot, ...]]:
    left = shapely.difference(line, words)
    merged = shapely.line_merge(left) if left.geom_type == "MultiLineString" else left
    for part in shapely.get_parts(merged):
        if part.length > 0:
            yield tuple((float(x), float(y)) for x, y in part.coords)
