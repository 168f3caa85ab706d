"""With what probability a thing fits, for all that the tape leaves open: asked again in spaces drawn as they might be.

In each, the place found is tried first, and from there the thing is moved and turned, as its rule allows, until it is
clear. A place somewhere else may be missed: the share told is of places near the one shown, and so the least it may be.
"""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tapeloft.model.fits.bodies import bodies
from tapeloft.model.fits.convex import Convex, grown, standing, turned
from tapeloft.model.fits.fit import DRAWN as HAIR
from tapeloft.model.fits.fit import Fit
from tapeloft.model.fits.fitting import LEAST, MOST, space_of
from tapeloft.model.gear.gear import Firm
from tapeloft.model.gear.turn import Turn
from tapeloft.model.moments import Points
from tapeloft.model.plusminus.redrawn import Redrawing
from tapeloft.model.proof.search import Frame, surface
from tapeloft.model.proof.turned.cuts import NO_CUTS
from tapeloft.model.proof.turned.form import thing_form
from tapeloft.model.proof.turned.placing import climbed_thing
from tapeloft.model.proof.turned.swallowed import goes_in
from tapeloft.model.solid import Solid

Numbers = NDArray[np.int64]
DRAWN = 100  # spaces
FAR = 5.0  # standard deviations of the worst corner, beyond which a margin is not asked about
AXES = {Turn.AS_GIVEN: [], Turn.UPRIGHT: [2], Turn.ANY_FACE: [2], Turn.ANY_TILT: [0, 1, 2]}


@dataclass(frozen=True)
class Chance:
    """In how many of *drawn* spaces, as they might be, a thing fitted; none where it was not asked, and why."""

    fitted: int
    drawn: int
    why_not: str

    @property
    def probability(self) -> float | None:
        """The share of them; None where none was drawn."""
        return self.fitted / self.drawn if self.drawn else None


def far_off(redrawing: Redrawing, fit: Fit) -> Chance | None:
    """Return that it was not asked, and why, where the margin is far beyond what corners are off by; or else None."""
    margin = fit.room_m if fit.verdict == "fits" else -fit.limit_m if fit.verdict == "does not fit" else 0.0
    if fit.pose is None:
        return Chance(0, 0, "no place was found to begin from")
    if margin > FAR * redrawing.reach:
        return Chance(0, 0, f"the margin is over {FAR:g} standard deviations of the least certain corner")
    return None


def fit_chance(form: Firm, turn: Turn, fit: Fit, nominal: Solid, spaces: Iterable[Solid], *, stands: bool) -> Chance:
    """Return in how many of *spaces*, drawn of the *nominal* one, a thing fits at or near the pose of *fit*."""
    assert fit.pose is not None
    outer = bodies(form, fit.clearance_m)[1]
    whole = turned(outer.body, np.array(fit.pose.turn))
    whole = grown(standing(whole) if stands else whole, outer.clearance)
    hair = HAIR * float(np.linalg.norm(np.ptp(nominal.bounds, axis=0)))
    place, axes = np.array(fit.pose.place), np.array(AXES[turn], np.int64)
    if fit.verdict == "fits" and not _clear(nominal, grown(whole, -2 * hair), place):
        return Chance(0, 0, "it fits only as hollow as it is, and that is not asked anew")
    told = [_clear(one, grown(whole, -hair), place) or _moves_clear(one, whole, axes, hair) for one in spaces]
    return Chance(sum(told), len(told), "")


def _clear(space: Solid, body: Convex, place: Points) -> bool:
    corners = body.corners + place
    low, high = space.bounds
    if (corners < low).any() or (corners > high).any():
        return False
    walls = surface(space.parts(), Frame(np.zeros(3), 1.0))
    return not goes_in(walls, body.normals, body.offsets + body.normals @ place, corners)


def _moves_clear(space: Solid, body: Convex, axes: Numbers, hair: float) -> bool:
    """Whether a place is found for a body by moving it, and turning it a little about some axes."""
    low, high = space.bounds
    frame = Frame((low + high) / 2, float(np.linalg.norm(high - low)))
    size, walls = frame.diagonal, surface(space.parts(), frame)
    form = thing_form(
        body.normals, body.offsets / size, body.corners / size, body.face_gain, body.corner_gain,
        -LEAST * body.depth / size, MOST, np.nan, axes,
    )  # fmt: skip
    return any(
        climbed_thing(space_of(part, frame), walls, form, np.eye(3), NO_CUTS, -hair / 2 / size) is not None
        for part in space.parts()
    )
