"""A space as it might be: built again from corners drawn as the readings scatter, for what no slope tells.

How large a box may be, and whether a thing fits, hang on the nearest of many faces: a least of several scattering
distances is less, on the average, than the least of their averages, and no slope at one place shows that. So the
corners are drawn again and again, with what they have in common, and each time it is asked anew.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from tapeloft.model.compartment import bounds_of
from tapeloft.model.facets import standing
from tapeloft.model.moments import Points
from tapeloft.model.plusminus.following import Following, followed
from tapeloft.model.plusminus.spread import Spread, spread
from tapeloft.model.plusminus.woven import Woven, woven
from tapeloft.model.solid import SLIVER, Solid, closed, united
from tapeloft.model.spaces import Asked
from tapeloft.shapes.polyhedron import Round

SEED = 20_101
"""Of all drawings, so that one survey is told the same each time."""


@dataclass(frozen=True, eq=False)
class Redrawing:
    """A space to be drawn again: its surfaces and whose corners they follow, what stands in it, and what is left out.

    standing, kept_clear: solids; the one before a twin is mirrored, the other after. unknowns (n,): of its net.
    """

    known: Spread
    surfaces: tuple[tuple[Woven, Following], ...]
    unknowns: Points
    standing: tuple[Solid, ...]
    kept_clear: tuple[Solid, ...]
    mirrored: bool

    @property
    def reach(self) -> float:
        """How far a corner may be off, m: the largest standard deviation of any unknown."""
        return float(np.sqrt(np.diagonal(self.known.covariance(np.eye(len(self.unknowns)))).max(initial=0.0)))

    def spaces(self, count: int) -> Iterator[Solid]:
        """Yield the inside of the space, circles drawn around, *count* times as it might be."""
        for off in self.known.drawn(count, np.random.default_rng(SEED)).T:
            yield self.space(off)

    def space(self, off: Points) -> Solid:
        """Return the inside of the space for unknowns that are off by *off* (n,), m."""
        moved = self.known.net.spots(off) - self.known.net.spots(np.zeros_like(off))
        skins = []
        for surface, following in self.surfaces:
            knots = following.knots(following.points + moved[following.corners])
            skins.append(closed(surface.spread(knots), surface.triangles))
        whole = skins[0] if len(skins) == 1 else united(skins)
        left = whole.cleared_of(self.standing)
        return (left.mirrored() if self.mirrored else left).cleared_of(self.kept_clear)


def redrawing(space: Asked) -> Redrawing | None:
    """Return what is needed to draw a space again; None where it is not known how far its corners may be off."""
    built = space.compartment
    known = spread(built.settled) if built.settled else None
    if built.settled is None or known is None:
        return None
    gross = built.gross.mirrored() if built.survey.mirrored else built.gross
    stands = [standing(one.obstruction.shape, bounds_of(gross), Round.OUTSIDE) for one in built.pieces]
    stands += [(one.mirrored() if built.survey.mirrored else one).solid for one in built.fitted]
    left_out = built.inside - space.inside
    surfaces = tuple((woven(one.loft), one) for one in followed(built.settled.survey, built.lofts))
    kept_clear = (left_out,) if left_out.volume > SLIVER else ()
    return Redrawing(known, surfaces, built.settled.net.start, tuple(stands), kept_clear, built.survey.mirrored)
