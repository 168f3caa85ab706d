"""What ± stands beside the figures of a compartment: one standard deviation of its volumes and centroids.

By the law of propagation, JCGM 100:2008 5.2.2: u² = gᵀCg, where C is the covariance of what was taped and g says how
the figure changes with it. A figure's true value lies within 1.96 u of it in 95 surveys of a hundred, if nothing but
chance is at work: see `systematic` for what is not chance. Obstructions are taken as they stand.
"""

from dataclasses import dataclass
from statistics import NormalDist

import numpy as np

from tapeloft.model.compartment import Compartment
from tapeloft.model.plusminus.moving import Slopes, slopes
from tapeloft.model.plusminus.spread import SAID, Spread, spread
from tapeloft.model.plusminus.systematic import Effect, systematic

COVERAGE = 0.95
FACTOR = NormalDist().inv_cdf((1 + COVERAGE) / 2)
"""1.96: by what a standard deviation is multiplied for an interval that holds the true value in 95 cases of 100."""


@dataclass(frozen=True)
class BodyOff:
    """How far a body's figures may be off, one standard deviation: volume, m³, and centroid, m, x, y, z.

    volume_95_m3: the interval, from and to.
    """

    name: str
    volume_sd_m3: float
    volume_95_m3: tuple[float, float]
    centroid_sd_m: tuple[float, float, float]


@dataclass(frozen=True)
class Stated:
    """The ± of a compartment. words: what it rests on. factor: the 95 % interval, in standard deviations.

    gross, net: None where no ± is stated. bays: where there are several. systematic: what is in no ±.
    """

    compartment: str
    words: str
    factor: float
    gross: BodyOff | None
    net: BodyOff | None
    bays: tuple[BodyOff, ...]
    systematic: tuple[Effect, ...]


def stated(compartment: Compartment) -> Stated:
    """Return the ± of the volumes and centroids of *compartment*, which `build` made."""
    settled = compartment.settled
    if settled is None:
        return Stated(compartment.name, "no ± is stated: not built from readings", FACTOR, None, None, (), ())
    words, known = SAID[settled.basis], spread(settled)
    if known is None:
        return Stated(compartment.name, words, FACTOR, None, None, (), ())
    volumes = {"gross": compartment.gross.volume, "net": compartment.net.volume}
    volumes |= {bay.name: bay.solid.volume for bay in compartment.bays}
    every = slopes(compartment, settled)
    gross, net, *bays = (_off(one, volumes[one.name], known) for one in every)
    return Stated(compartment.name, words, FACTOR, gross, net, tuple(bays), systematic(compartment, every[1], known))


def _off(one: Slopes, volume: float, known: Spread) -> BodyOff:
    weights = np.column_stack([one.volume, one.centroid])
    size, x, y, z = np.sqrt(np.maximum(np.diagonal(known.covariance(weights)), 0.0)).tolist()
    return BodyOff(one.name, size, (volume - FACTOR * size, volume + FACTOR * size), (x, y, z))
