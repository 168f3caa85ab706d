"""What a tread bears: how far apart it has to be held."""

import math

from tapeloft.model.cutting.beams import Bar, Load, span
from tapeloft.model.cutting.timber import Timber
from tapeloft.model.errors import GeometryError


def held_every(strip: float, thickness: float, timber: Timber, load_kg: float) -> float:
    """Return how far apart, m, a tread is held at the most under a load that stands anywhere on its nosing.

    The handbook beam, simply supported, the load in the middle; only a *strip* so deep behind the nosing, m, bears it.
    Raises GeometryError where the load is absurd.
    """
    if not 1 <= load_kg <= 1000:
        raise GeometryError(f"a load of {load_kg:g} kg on a tread: it has to be 1 to 1000 kg")
    return span(Bar(strip, thickness, timber), Load(load_kg, 0.0), 0.0)


def supports(width: float, every: float) -> int:
    """Return how many supports a tread of a width, m, has that is held so far apart at the most.

    >>> supports(0.45, 0.5), supports(0.45, 0.3)
    (2, 3)
    """
    return 1 + max(1, math.ceil(width / every - 1e-9))
