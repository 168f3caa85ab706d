"""How far a liner's area, what it takes and what it leaves may be off.

A thin wall takes its thickness times its area, so that both follow from how the surface's area changes, and what is
left is the space less that. Edges and corners, where walls share what they take, change that by a thickness over a size
of the space. Lids stay as they were typed.
"""

from dataclasses import dataclass

import numpy as np

from tapeloft.model.compartment import Compartment
from tapeloft.model.plusminus.bodies import slopes
from tapeloft.model.plusminus.coated import coated
from tapeloft.model.plusminus.moving import moving
from tapeloft.model.plusminus.spread import SAID, spread


@dataclass(frozen=True)
class LinedOff:
    """How far a liner may be off, one standard deviation: area, m², what it takes and what it leaves, m³."""

    words: str
    area_sd_m2: float
    lost_sd_m3: float
    left_sd_m3: float


def lined_off(compartment: Compartment, thickness: float) -> LinedOff | None:
    """Return how far a liner of a *thickness*, m, may be off; None where no ± is stated, or parts are lined too."""
    settled = compartment.settled
    known = spread(settled) if settled else None
    if settled is None or known is None or compartment.fitted:
        return None
    space = moving(compartment, settled)
    area, net = coated(space).areas.sum(axis=1), slopes(space)[1].volume
    told = np.diagonal(known.covariance(np.column_stack([area, net - thickness * area])))
    area_sd, left_sd = np.sqrt(np.maximum(told, 0.0)).tolist()
    return LinedOff(SAID[settled.basis], area_sd, thickness * area_sd, left_sd)
