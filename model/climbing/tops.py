"""What stands in a space with a flat, level top that one may step on."""

from dataclasses import dataclass

import numpy as np
import shapely
from shapely import MultiPolygon, Polygon

from tapeloft.model.compartment import Compartment
from tapeloft.model.cutting.outline import clear_outline, polygons
from tapeloft.model.cutting.plane import at_height

LEVEL = 1e-4  # m: how even a level top is
CLEAR = 0.15  # m over a top that a boot needs; common practice, no source


@dataclass(frozen=True, eq=False)
class Top:
    """A level top: of what, at which height, m, and where a boot has room on it, x, y, m."""

    name: str
    height: float
    plan: MultiPolygon


def tops_of(compartment: Compartment) -> tuple[Top, ...]:
    """Return the flat, level tops of what stands in a compartment, where there is room for a boot over them.

    Only the highest face of each thing counts, and only where it is level to a tenth of a millimetre.
    """
    found = []
    for piece in compartment.pieces:
        if not piece.solid.is_empty:
            corners = piece.solid.vertices[piece.solid.triangles]
            height = float(piece.solid.bounds[1, 2])
            level = corners[(corners[..., 2] > height - LEVEL).all(axis=1)]
            face = shapely.union_all([Polygon(one[:, :2]) for one in level if _is_seen(one)])
            over = clear_outline(compartment.inside, at_height(height), CLEAR)
            plan = polygons(shapely.intersection(face, over))
            if not plan.is_empty:
                found.append(Top(piece.name, height, plan))
    return tuple(found)


def _is_seen(corners: np.ndarray[tuple[int, ...], np.dtype[np.float64]]) -> bool:
    (ux, uy), (vx, vy) = (corners[1:] - corners[0])[:, :2].tolist()
    return bool(ux * vy - uy * vx > 1e-12)
