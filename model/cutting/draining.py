"""How long water takes to run out through a drain.

Torricelli: dt = A(z)·dz / (C·a·√(2g·(z − z₀))), A the surface at the height z, a the bore's area, C the coefficient of
discharge. With s = √(z − z₀) that is A·ds·2/(C·a·√(2g)): smooth, and between two heights where corners of the solid
lie a polynomial, so that a few Gauss points are exact.
"""

import math
from dataclasses import dataclass

import numpy as np

from tapeloft.model.capacity import filled_to
from tapeloft.model.cutting.beams import GRAVITY
from tapeloft.model.errors import GeometryError
from tapeloft.model.solid import Solid

DISCHARGE = 0.6  # of a sharp-edged hole; a handbook value (N. Midoux)
POINTS, WEIGHTS = np.polynomial.legendre.leggauss(4)
STEPS = 400  # between which the surface is taken as smooth, where the solid has more corners than that
GLASS = 1e-5  # m of water over the drain that is left, for a film runs out no more


@dataclass(frozen=True)
class Drained:
    """How a drain empties what stands up to a level.

    held_m3: all that stands there; below_m3: what of it lies below the drain and stays; seconds: until the rest has
    run out, not counting what swells, kinks or clogs.
    """

    held_m3: float
    below_m3: float
    seconds: float


def drained(space: Solid, level: float, drain: float, bore: float, discharge: float = DISCHARGE) -> Drained:
    """Return how long the water in *space* up to *level* takes to run out at the height *drain*, m, of a *bore*, m.

    Nothing runs out where the drain lies above the level: 0 s, all stays. The drain's outlet is free, the boat level.
    """
    low, high = float(space.bounds[0, 2]), min(level, float(space.bounds[1, 2]))
    start = max(low, drain)
    held, below = (_up_to(space, height) for height in (high, min(start, high)))
    if start + GLASS >= high:
        return Drained(held, held, 0.0)
    stops = np.unique(np.clip(space.vertices[:, 2], start, high))
    if len(stops) > STEPS:
        stops = np.linspace(start, high, STEPS)
    roots = np.sqrt(np.unique(np.concatenate([[start], stops, [high]])) - drain)
    half = np.diff(roots) / 2
    middles = (roots[:-1] + half)[:, None] + half[:, None] * POINTS
    areas = filled_to(space, (drain + middles**2).ravel().tolist()).plan_area_m2.reshape(middles.shape)
    hole = math.pi * bore**2 / 4
    seconds = 2 / (discharge * hole * math.sqrt(2 * GRAVITY)) * float((half[:, None] * WEIGHTS * areas).sum())
    return Drained(held, below, seconds)


def bore_for(space: Solid, level: float, drain: float, seconds: float, discharge: float = DISCHARGE) -> float:
    """Return the bore, m, of a drain at the height *drain*, m, that lets the water below *level* out in some *seconds*.

    As twice the bore takes a quarter of the time: 0 where nothing runs out. Raises GeometryError for no time at all.
    """
    if not 0 < seconds < math.inf:
        raise GeometryError(f"a drain that empties it in {seconds:g} s\n    mend: give a time over 0")
    return math.sqrt(drained(space, level, drain, 1.0, discharge).seconds / seconds)


def _up_to(space: Solid, height: float) -> float:
    if height <= space.bounds[0, 2]:
        return 0.0
    return float(filled_to(space, [height]).volume_m3[0])
