"""How far the sum of several compartments' volumes may be off: what two of them share is off in both, and all one way.

Readings of one compartment say nothing of another's, and what they are off by adds by squares. A twin is built from the
readings of her sister: what those are off by adds up. So the sum is followed back to the readings themselves, each
counted once, however many compartments it is in: JCGM 100:2008, 5.2.2 and F.1.2.3.
"""

from collections.abc import Hashable, Iterable
from dataclasses import dataclass

import numpy as np

from tapeloft.model.moments import Points
from tapeloft.model.plusminus.spread import Spread
from tapeloft.model.survey.survey import Survey


@dataclass(frozen=True, eq=False)
class Felt:
    """How the gross and net volume of a compartment change with each of its readings, (m, 2), m³ a metre.

    readings: what tells each from all others: where it is written, what it is of, and what it says. sigmas (m,), m.
    """

    readings: tuple[Hashable, ...]
    sigmas: Points
    volumes: Points


@dataclass(frozen=True)
class TogetherOff:
    """How far the sums of gross and of net volumes may be off, one standard deviation each, m³."""

    gross_sd_m3: float
    net_sd_m3: float


def felt(survey: Survey, known: Spread, gross: Points, net: Points) -> Felt:
    """Return how volumes that change with the unknowns as *gross* and *net* (n,) say change with the readings."""
    file = survey.source.file if survey.source else survey.name
    readings = tuple((file, one.place, one.words, one.value) for one in known.net.readings)
    return Felt(readings, known.net.sigmas, known.felt(np.column_stack([gross, net])))


def together(every: Iterable[Felt | None]) -> TogetherOff | None:
    """Return how far the sums over compartments may be off; None where one of them states no ±."""
    sums: dict[Hashable, Points] = {}
    for one in every:
        if one is None:
            return None
        for reading, part in zip(one.readings, one.volumes * one.sigmas[:, None], strict=True):
            sums[reading] = sums.get(reading, 0.0) + part
    gross, net = np.sqrt(sum((part**2 for part in sums.values()), np.zeros(2))).tolist()
    return TogetherOff(gross, net)
