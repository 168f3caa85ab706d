"""The convex bodies that stand for a thing: one within it, for what is refused, and one around it, for what fits."""

import math
from functools import lru_cache

from tapeloft.model.boxes import largest_box
from tapeloft.model.errors import GeometryError
from tapeloft.model.facets import body
from tapeloft.model.fits.convex import ROUNDS, Convex, convex, thinned
from tapeloft.model.fits.fitting import Kept
from tapeloft.model.gear.gear import Firm
from tapeloft.model.gear.turn import Turn
from tapeloft.shapes.polyhedron import Round

CONVEX = 1e-9  # share of its hull that a convex body may lack, for rounding
WITHIN_S = 1.0  # s that are given to the largest box within a thing that is not convex


@lru_cache(maxsize=32)
def bodies(form: Firm, clearance: float) -> tuple[Kept, Kept]:
    """Return the convex bodies within a thing and around it, and by how much each is grown.

    The body within grows no more than the thing does: not at all where it is only scaled, and a prism within a round
    thing by what its corners move less.
    """
    outer = convex(form.drawn(Round.OUTSIDE).vertices)
    inner, share = _within(form)
    return Kept(inner, clearance * share if inner.parallel else 0.0), Kept(outer, clearance)


def _within(form: Firm) -> tuple[Convex, float]:
    """Return a convex body within a thing, its hull where it is convex, or else the largest box in it.

    And what share of a clearance it may grow by.
    """
    drawn = form.drawn(Round.INSIDE)
    whole = body(drawn)
    hull = whole.hull()
    if whole.volume >= hull.volume * (1 - CONVEX):
        some = convex(thinned(drawn.vertices))
        return some, 1.0 if len(some.normals) == 6 else math.cos(math.pi / ROUNDS)
    found = largest_box(whole, whole, turn=Turn.UPRIGHT, within_s=WITHIN_S, tolerance=0.05)
    if found is None or not found.volume_m3:
        raise GeometryError("the thing is too thin all over to be told whether it fits")
    return convex(found.corners), 0.0
