"""Where a rectangle of a size lies in an outline, square to the outline's axes."""

from itertools import pairwise

import numpy as np
import shapely
from shapely import MultiPolygon
from shapely.geometry.base import BaseGeometry

from tapeloft.model.cutting.outline import polygons
from tapeloft.model.cutting.walls import rings

SQUEEZED = 1e-7  # m, off the rectangle: one that just fits does


def centres(area: BaseGeometry, wide: float, deep: float) -> BaseGeometry:
    """Return where the middle of a rectangle, *wide* × *deep* m along the axes, may be so that it lies in an area.

    Minkowski's difference, exact: of the area only what an edge, drawn with the rectangle, does not sweep is left.

    >>> left = centres(shapely.box(0, 0, 3, 2), 1.0, 0.5)
    >>> [round(side, 6) for side in left.bounds]
    [0.5, 0.25, 2.5, 1.75]
    """
    a, b = wide / 2 - SQUEEZED, deep / 2 - SQUEEZED
    whole = polygons(area) if not isinstance(area, MultiPolygon) else area
    corners = np.array([(u, v) for u in (-a, a) for v in (-b, b)])
    edges = np.array([edge for ring in rings(whole) for edge in pairwise(ring)]).reshape(-1, 2, 1, 2)
    swept = shapely.convex_hull(shapely.multipoints((edges + corners).reshape(-1, 8, 2)))
    return shapely.difference(whole, shapely.union_all(swept))
