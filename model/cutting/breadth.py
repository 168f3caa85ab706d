"""How broad an outline is across an axis, where it is narrowest."""

import numpy as np
import shapely
from shapely import Polygon

BESIDE = 1e-6  # m: beside a corner, on either side of it


def least_breadth(area: Polygon, along: int, start: float, end: float) -> float:
    """Return how broad an area is, m, where it is narrowest between two places on the axis *along*, holes taken off.

    Places beyond its ends are none; 0 where it does not lie between. Between two corners its breadth grows evenly, so
    that it is least beside one of them.

    >>> least_breadth(Polygon([(0, 0), (4, 0), (4, 2), (0, 1)]), 0, 1.0, 9.0)
    1.25
    """
    low, high = area.bounds[along], area.bounds[along + 2]
    start, end = max(start, low + BESIDE), min(end, high - BESIDE)
    corners = shapely.get_coordinates(area)[:, along]
    beside = np.concatenate([[start, end], corners - BESIDE, corners + BESIDE])
    places = np.unique(beside[(beside >= start) & (beside <= end)])
    if not len(places):
        return 0.0
    lines = np.empty((len(places), 2, 2))
    lines[:, :, along], lines[:, :, 1 - along] = (
        places[:, None],
        (area.bounds[1 - along] - 1, area.bounds[3 - along] + 1),
    )
    return float(shapely.length(shapely.intersection(area, shapely.linestrings(lines))).min())
