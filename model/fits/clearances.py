"""How far a thing in its place is clear of what is round it, each way, and what stops it there."""

from collections.abc import Sequence

import numpy as np

from tapeloft.model.areas import areas_to_coat, named_triangles
from tapeloft.model.compartment import Compartment
from tapeloft.model.fits.convex import Convex, convex
from tapeloft.model.fits.fitting import Pose
from tapeloft.model.moments import Points
from tapeloft.model.proof.search import Frame, surface
from tapeloft.model.proof.turned.swallowed import goes_in, met
from tapeloft.model.proof.walls import Walls
from tapeloft.model.solid import Solid
from tapeloft.model.stowed import Span

WAYS = {
    "forward": (1, 0, 0), "aft": (-1, 0, 0), "to port": (0, 1, 0), "to starboard": (0, -1, 0),
    "up": (0, 0, 1), "down": (0, 0, -1),
}  # fmt: skip
STRIPS = ("sole", "side", "underside of deck")  # whose own names are only those of the marks between which they lie
FINE = 1e-5  # m to which a clearance is found; it is stated so much smaller


def clearances(compartment: Compartment, inside: Solid, thing: Convex, pose: Pose) -> tuple[Span, ...]:
    """Return how far a thing could be slid each way before it meets something, and what; least first.

    thing: its own axes, m. None where its hull is not clear of *inside* where *pose* has it.
    """
    walls = surface(inside.parts(), Frame(np.zeros(3), 1.0))
    corners = pose.of(thing.corners)
    if _stops(walls, corners, np.zeros(3), 0.0):
        return ()  # its hull goes through the walls where the thing itself, that is hollow, does not
    far = float(np.linalg.norm(np.ptp(inside.bounds, axis=0)))
    names = _Names(compartment)
    found = [_span(walls, corners, np.array(way, np.float64), far, names) for way in WAYS.values()]
    return tuple(sorted((span for span in found if span is not None), key=lambda span: span.length_m))


def touching(spans: Sequence[Span], within: float) -> tuple[str, ...]:
    """Return what a thing lies against: the names of what is no farther than *within*, m."""
    return tuple(dict.fromkeys(span.to for span in spans if span.length_m <= within))


def _span(walls: Walls, corners: Points, way: Points, far: float, names: "_Names") -> Span | None:
    """Return how far the corners' hull can be slid one way: halved until it is known to FINE."""
    clear, stopped = 0.0, far
    if not _stops(walls, corners, way, far):
        return None
    while stopped - clear > FINE:
        middle = 0.5 * (clear + stopped)
        if _stops(walls, corners, way, middle):
            stopped = middle
        else:
            clear = middle
    swept = convex(np.vstack([corners, corners + stopped * way]))
    point = np.empty(3)
    if not met(walls, swept.normals, swept.offsets, swept.corners, point):
        return None
    start = point - clear * way
    return Span(_point(start), _point(start + clear * way), clear, names.at(point))


def _stops(walls: Walls, corners: Points, way: Points, by: float) -> bool:
    """Whether something is in the way of sliding so far."""
    swept = convex(np.vstack([corners, corners + by * way]))
    return bool(goes_in(walls, swept.normals, swept.offsets - 1e-6, swept.corners))


def _point(at: Points) -> tuple[float, float, float]:
    return float(at[0]), float(at[1]), float(at[2])


class _Names:
    """What each part of a compartment's walls is called, by the point nearest to it."""

    def __init__(self, compartment: Compartment) -> None:
        net = compartment.net
        kinds = {part.name: part.kind for part in areas_to_coat(compartment).parts}
        self.triangles = net.vertices[net.triangles]
        self.names = [f"{kinds[n]} {n}" if kinds[n] in STRIPS else n for n in named_triangles(compartment)]

    def at(self, point: Points) -> str:
        """Return the name of the wall nearest to a point."""
        from trimesh.triangles import closest_point

        near = closest_point(  # type: ignore[no-untyped-call]
            self.triangles, np.broadcast_to(point, (len(self.triangles), 3))
        )
        return self.names[int(np.linalg.norm(near - point, axis=1).argmin())]
