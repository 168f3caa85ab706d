"""How far the corners of a compartment may be off: what its readings, and the tapes between them, leave open."""

from dataclasses import dataclass, field

import numpy as np

from tapeloft.model.moments import Points
from tapeloft.model.tapes.adjusting import Adjustment
from tapeloft.model.tapes.readings import HELD, TapeNet
from tapeloft.model.tapes.settling import Basis, Settled

SAID: dict[Basis, str] = {
    "adjusted": "± from the readings and the check tapes",
    "unchecked": "± if no reading is wrong: no check tapes",
    "unclosed": "± if no reading is wrong: from the readings as taped",
    "sister": "± from the readings in her sister; by what she is built otherwise is not in it",
    "disagreeing": "no ± is stated: the check tapes do not agree, see tapeloft check",
    "unlike": "no ± is stated: the twin's own check tapes do not agree, see tapeloft check",
}


@dataclass(frozen=True, eq=False)
class Spread:
    """The covariance of a net's unknowns, by its adjustment; without one, as good as each is read by itself, (n,) m."""

    net: TapeNet = field(repr=False)
    adjustment: Adjustment | None = field(repr=False)
    sigmas: Points

    def covariance(self, weights: Points) -> Points:
        """Return the covariance (k, k) of the sums that *weights* (n, k) weigh the unknowns by."""
        if self.adjustment is not None:
            return self.adjustment.covariance(weights)
        own = weights * self.sigmas[:, None]
        covariance: Points = own.T @ own
        return covariance

    def felt(self, weights: Points) -> Points:
        """Return how the sums that *weights* (n, k) weigh the unknowns by change with each reading, (m, k)."""
        if self.adjustment is not None:
            factor = self.adjustment.factor
            pulled: Points = self.adjustment.slopes.times(factor.solved(factor.halved(weights)))
            return pulled / self.adjustment.sigmas[:, None]
        felt = np.zeros((len(self.net.readings), weights.shape[1]))
        read = self.net.direct != HELD
        felt[read] = weights[self.net.direct[read]]
        return felt

    def moved(self, off: Points) -> Points:
        """Return by how much the unknowns would be off, (n,), were the readings off by *off* (m,), all in m."""
        if self.adjustment is not None:
            return self.adjustment.moved(off)
        moved = np.zeros(len(self.sigmas))
        read = self.net.direct != HELD
        moved[self.net.direct[read]] = off[read]
        return moved

    def drawn(self, count: int, chance: np.random.Generator) -> Points:
        """Return by how much the unknowns may be off together, *count* times, (n, count), m."""
        normal = chance.standard_normal((len(self.sigmas), count))
        if self.adjustment is not None:
            return self.adjustment.factor.solved(normal)
        drawn: Points = normal * self.sigmas[:, None]
        return drawn


def spread(settled: Settled) -> Spread | None:
    """Return how far the corners of what was *settled* may be off; None where the tapes do not agree."""
    if settled.basis in ("disagreeing", "unlike"):
        return None
    net = settled.net
    sigmas = np.zeros(len(net.start))
    read = net.direct != HELD
    sigmas[net.direct[read]] = net.sigmas[read]
    is_adjusted = settled.basis in ("adjusted", "sister")
    return Spread(net, settled.adjustment if is_adjusted else None, sigmas)
