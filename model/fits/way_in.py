"""The quick test of an opening: can a thing pass it at all, as far as its clear size alone says."""

from dataclasses import dataclass
from typing import Literal

from tapeloft.model.fits.convex import convex, thinned
from tapeloft.model.gear.gear import Firm
from tapeloft.model.openings import ClearOpening
from tapeloft.shapes.polyhedron import Round

Passage = Literal["too small", "not told", "end on"]


@dataclass(frozen=True)
class WayIn:
    """What an opening's clear size says of a thing.

    too small: proved, its clear opening lies in a strip narrower than the thing is thick any way. end on: pushed
    straight through, the thing's smallest end is smaller than the opening; whether there is room inside for that is
    not looked at. not told: neither.
    """

    opening: str
    clear_m: tuple[float, float]
    passage: Passage


def way_in(opening: ClearOpening, form: Firm) -> WayIn:
    """Return what an opening's clear size says of whether a thing can be passed in.

    >>> import numpy as np
    >>> from tapeloft.model.gear.forms import Block
    >>> lid = ClearOpening("lid", "top", np.zeros((4, 3)), (0.5, 0.4), 0.0)
    >>> [way_in(lid, Block(*sizes)).passage for sizes in ((1, 0.45, 0.41), (1, 0.6, 0.3), (1, 0.45, 0.35))]
    ['too small', 'not told', 'end on']
    """
    small, large = sorted(opening.clear)
    within = convex(thinned(form.drawn(Round.INSIDE).vertices))
    if 2 * within.depth > small:
        return WayIn(opening.name, opening.clear, "too small")
    across, along, _ = sorted(form.sizes)
    corner = min(opening.corner_radius, small / 2)
    room = 2 * corner * (1 - 0.5**0.5)  # a sharp end clears rounded corners where it is this much smaller, both ways
    if across <= small - room and along <= large - room:
        return WayIn(opening.name, opening.clear, "end on")
    return WayIn(opening.name, opening.clear, "not told")
