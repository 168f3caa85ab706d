"""The core of a thing: what it holds however it is turned. Where that does not go in, no turn lets the thing in."""

import math

import numpy as np

from tapeloft.model.fits.convex import Convex, convex
from tapeloft.model.fits.fitting import Kept

GOLDEN = (1 + math.sqrt(5)) / 2
CORNERS = np.array(
    [[x, y, z] for x in (-1, 1) for y in (-1, 1) for z in (-1, 1)]
    + [
        np.roll([0, a / GOLDEN, b * GOLDEN], k) for a in (-1, 1) for b in (-1, 1) for k in range(3)
    ]
) / math.sqrt(3)  # fmt: skip
INWARD = 1e-9  # share by which it is drawn in, for rounding


def core_of(kept: Kept) -> Kept | None:
    """Return a regular dodecahedron in the largest ball about its origin that a body holds; None where it is outside.

    Shrunk by m the thing holds a ball shrunk by m, and that the dodecahedron whose faces are drawn in by m: what does
    not go in of the one, shrunk so far, does not of the other. Grown, it would not be so.

    >>> cube = Kept(convex(np.array([[x, y, z] for x in (-1, 1) for y in (-1, 1) for z in (-1.0, 1)])), 0.5)
    >>> core = core_of(cube).body
    >>> len(core.normals), len(core.corners), round(float(np.linalg.norm(core.corners, axis=1).max()), 6)
    (12, 20, 1.5)
    """
    radius = float(_offsets(kept.body).min()) + kept.clearance
    return Kept(convex(CORNERS * (radius * (1 - INWARD))), 0.0) if radius > 0 else None


def _offsets(body: Convex) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """Return how far each face is from the origin, no farther than the corners reach."""
    offsets: np.ndarray[tuple[int], np.dtype[np.float64]] = (body.corners @ body.normals.T).max(axis=0)
    return offsets
