"""The outline of a space at a plane: where the plane cuts it, and where a board of a thickness goes in unhindered."""

from collections.abc import Sequence
from functools import reduce

import shapely
from shapely import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.geometry.polygon import orient

from tapeloft.model.cutting.plane import Plane
from tapeloft.model.moments import Points
from tapeloft.model.solid import Solid

STRAIGHT = 1e-7  # m: a corner no farther off the line of its neighbours is none
CRUMB = 1e-8  # m²: an outline that encloses less is left by rounding


def outline(solid: Solid, plane: Plane) -> MultiPolygon:
    """Return where *plane* cuts a solid, m, in the plane's axes; empty where it misses.

    A face that lies in the plane counts where the solid lies on the side that the plane looks to: at the exact
    bottom of a box is its bottom, at its exact top nothing.

    >>> from tapeloft.model.cutting.plane import at_height
    >>> from tapeloft.model.facets import body
    >>> from tapeloft.shapes.polyhedron import box
    >>> cube = body(box((0, 0, 0), (1, 1, 1)))
    >>> [outline(cube, at_height(z)).area for z in (-0.1, 0.0, 0.5, 1.0)]
    [0.0, 1.0, 1.0, 0.0]
    """
    return _areas(plane.seen(solid).section(0.0))


def clear_outline(solid: Solid, plane: Plane, thickness: float) -> MultiPolygon:
    """Return the largest outline, m, in the plane's axes, of a board that lies in a solid through its *thickness*, m.

    The board stands on the side that the plane looks to. Nothing is sampled: all that the solid leaves out of the
    slab is projected onto the plane, and the outline is the rest.
    """
    return _areas(plane.seen(solid).clear_between(0.0, thickness))


def polygons(area: BaseGeometry) -> MultiPolygon:
    """Return the polygons of a geometry, wound counter-clockwise; lines, points and crumbs are none."""
    found = (part for part in shapely.get_parts(area) if isinstance(part, Polygon) and part.area > CRUMB)
    return MultiPolygon([orient(part) for part in found])


def _areas(loops: Sequence[Points]) -> MultiPolygon:
    rings = (shapely.make_valid(Polygon(loop)) for loop in loops if len(loop) > 2)
    whole = reduce(shapely.symmetric_difference, rings, Polygon())
    return polygons(shapely.make_valid(shapely.simplify(whole, STRAIGHT)))
