"""How a station stands: in what plane, whether square to the boat, whether closed, whether it parts the space."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tapeloft.model.moments import Points
from tapeloft.model.surface.sweeps import SAME, areas

FLAT = 2e-5  # m: what is no farther than this from flat, or no wider, is so but for rounding to the grid


@dataclass(frozen=True, eq=False)
class Plane:
    """The plane normal·p = offset (m) nearest a loop, and how far (m) each corner lies before it, (n,)."""

    normal: Points
    offset: float
    deviations: Points


def flatness(loop: Points) -> Plane:
    """Return the plane that fits the corners of a loop, (n, 3) m, best in the sense of least squares.

    Its normal has length 1 and points to where the loop is seen to run counter-clockwise; where it encloses
    nothing, forward, and of all planes through a line or a point the most upright one across the boat is taken.

    >>> plane = flatness(np.array([[0, 0, 0], [0.5, 0, 1], [0.5, 1, 1], [0, 1, 0.0]])[::-1])
    >>> (plane.normal * 5**0.5).round(9).tolist(), plane.deviations.round(9).tolist()
    ([2.0, 0.0, -1.0], [0.0, 0.0, 0.0, 0.0])
    """
    centre = loop.mean(axis=0)
    _, spread, axes = np.linalg.svd(loop - centre)
    normal = axes[2]
    if len(spread) < 3 or spread[1] <= SAME:
        along = axes[0] if spread[0] > SAME else np.zeros(3)
        normal = np.eye(3)[0] - along * along[0]
        normal /= np.linalg.norm(normal)
    around = np.cross(loop - centre, np.roll(loop, -1, axis=0) - centre).sum(axis=0) @ normal
    if around < -SAME * SAME or (abs(around) <= SAME * SAME and normal[0] < 0):
        normal = -normal
    return Plane(normal, float(normal @ centre), (loop - centre) @ normal)


def is_straight(loop: Points) -> bool:
    """Whether all corners of a station, (n, 3) m, have one x."""
    return bool(np.ptp(loop[:, 0]) <= SAME)


def is_thin(loop: Points) -> bool:
    """Whether a station, seen from forward, encloses no more than rounding may make of an edge or a point."""
    girth = np.linalg.norm(loop - np.roll(loop, 1, axis=0), axis=1).sum()
    return bool(areas(loop[None, :, 1:])[0] <= FLAT * girth)


def groups_of(bays: Sequence[Points]) -> list[range]:
    """Return the bays, (2, N, 3) m each, between every two stations that part the space.

    A station parts it if it is straight, or if it is flat, all corners aft of it lie behind its plane, and all forward
    of it before.
    """
    parting = [i for i in range(1, len(bays)) if _parts(bays, i)]
    return [range(start, stop) for start, stop in zip([0, *parting], [*parting, len(bays)], strict=True)]


def _parts(bays: Sequence[Points], station: int) -> bool:
    loop = bays[station][0]
    if is_straight(loop):
        return True
    plane = flatness(loop)
    behind = np.concatenate([bay[0] for bay in bays[:station]]) @ plane.normal - plane.offset
    before = np.concatenate([bay[1] for bay in bays[station:]]) @ plane.normal - plane.offset
    return bool(np.abs(plane.deviations).max() <= FLAT and behind.max() < -FLAT and before.min() > FLAT)
