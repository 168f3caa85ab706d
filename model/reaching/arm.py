"""What an arm reaches through open lids: the share of a space, as a solid to draw, and how far a point is off.

The shoulder may be anywhere in the plane of a lid's frame, no nearer to its edge than half an arm. From there the arm
goes straight, as far as its reach. Only the bay that the lid is over is reached; within it neither walls nor what
stands there bend or stop the arm: what lies behind an obstruction counts as reached.

The default reach is the thumb-tip reach that 95 of 100 women of ANSUR II (2012, public data) have or exceed, 674 mm: a
small person's, for a reach fits all if it fits the small. It is taken there from a wall behind the back to the thumb's
tip, so that it is that far from the shoulder only for one who leans into the lid by the depth of the shoulder.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
import shapely
from shapely import Polygon

from tapeloft.model.compartment import Compartment
from tapeloft.model.errors import GeometryError
from tapeloft.model.fall import THROUGH, Fall
from tapeloft.model.moments import Points
from tapeloft.model.solid import Solid, hulled, united

SHORTEST, LONGEST = 0.05, 1.5  # m, of a reach
ROUND = 5  # times that an icosahedron's triangles are quartered: 20 480 for a ball
CRUMB = 1e-9  # m³


@dataclass(frozen=True)
class Arm:
    """An arm: how far it reaches, m, and half its breadth, m, common practice, no source."""

    reach: float = 0.674
    half: float = 0.050


@dataclass(frozen=True, eq=False)
class Lid:
    """A lid that an arm goes in through: its fall, where the shoulder may be, (n, 3) m, and the bays it is over."""

    fall: Fall
    shoulders: Points
    bays: tuple[Solid, ...]

    def off(self, points: Points) -> Points:
        """Return how far points, (n, 3) m, are from the nearest place of the shoulder, (n,) m, in a straight line."""
        start, right, up = self.shoulders[0], *_axes(self.shoulders)
        flat = Polygon((self.shoulders - start) @ np.array([right, up]).T)
        away = points - start
        across = shapely.distance(flat, shapely.points(away @ right, away @ up))
        distances: Points = np.hypot(across, away @ np.cross(right, up))
        return distances


@dataclass(frozen=True, eq=False)
class Reached:
    """What of a space an arm reaches: the solid, drawn within, and the share of net volume, at least and at most."""

    solid: Solid
    least: float
    most: float


def lids_for(compartment: Compartment, falls: Sequence[Fall], arm: Arm) -> tuple[Lid, ...]:
    """Return the lids that an arm goes in through; GeometryError where its sizes are absurd, or it goes in by none."""
    if not SHORTEST <= arm.reach <= LONGEST:
        raise GeometryError(f"a reach of {arm.reach * 1000:g} mm: it has to be 50 to 1500 mm")
    found = []
    for fall in falls:
        within = shapely.buffer(fall.plan, -arm.half, join_style="mitre")
        if not within.is_empty:
            flat = np.array(shapely.convex_hull(within).exterior.coords)[:-1]
            found.append(Lid(fall, _on_frame(flat, fall.frame), _bays_under(compartment, fall)))
    if not found:
        size = 2000 * arm.half
        raise GeometryError(f"{compartment.name}: no arm {size:.0f} mm thick goes in through {_names(falls)}")
    return tuple(found)


def reached(compartment: Compartment, lids: Sequence[Lid], arm: Arm) -> Reached:
    """Return what of the net space an arm reaches through any of some lids.

    The ball of its reach is drawn within and around, so that the share lies between the two.
    """
    within, around = (
        united(
            bay ^ hulled((lid.shoulders[:, None] + arm.reach * ball).reshape(-1, 3)) for lid in lids for bay in lid.bays
        )
        for ball in _balls()
    )
    whole = compartment.net.volume
    return Reached(within, within.volume / whole, around.volume / whole)


@cache
def _balls() -> tuple[Points, Points]:
    """Return the corners of a body of triangles within the ball of radius 1, and of one around it, (n, 3)."""
    from trimesh.creation import icosphere

    mesh = icosphere(subdivisions=ROUND)
    corners = np.asarray(mesh.vertices, np.float64)
    faces = corners[np.asarray(mesh.faces)]
    nearest = np.einsum("ij,ij->i", np.asarray(mesh.face_normals), faces[:, 0]).min()
    return corners, corners / nearest


def _axes(frame: Points) -> tuple[Points, Points]:
    """Return two unit vectors that span the plane of a frame."""
    right = frame[1] - frame[0]
    right = right / np.linalg.norm(right)
    spread = (frame - frame[0]) - np.outer((frame - frame[0]) @ right, right)
    up = spread[np.linalg.norm(spread, axis=1).argmax()]
    return right, up / np.linalg.norm(up)


def _on_frame(flat: Points, frame: Points) -> Points:
    """Return points x, y, (n, 2) m, in the plane of a frame."""
    rows = np.column_stack([frame[:, :2], np.ones(len(frame))])
    slope = np.linalg.lstsq(rows, frame[:, 2], rcond=None)[0]
    lifted: Points = np.column_stack([flat, flat @ slope[:2] + slope[2]])
    return lifted


def _bays_under(compartment: Compartment, fall: Fall) -> tuple[Solid, ...]:
    under = fall.column(fall.under - THROUGH)
    return tuple(bay.solid for bay in compartment.bays if (bay.solid ^ under).volume > CRUMB)


def _names(falls: Sequence[Fall]) -> str:
    return " or ".join(fall.name for fall in falls)
