"""The next hull, or the other side, held against the first by a few tapes: the same, or where not.

What is expected of a tape in the sister is what the first one's corners make of it. They are known as well as her own
tapes tell them, the tape as well as such tapes are, and two spaces that are built alike are alike within what building
is: variance of the corners, of the tape and of building are added, with what the corners have in common.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from tapeloft.model.errors import TapeloftError, UnknownName
from tapeloft.model.survey.survey import Check, Survey
from tapeloft.model.tapes.adjusting import Adjustment, adjusted
from tapeloft.model.tapes.readings import net_of
from tapeloft.model.tapes.tails import limit, two_sided

BUILDING = 0.005
"""m, one standard deviation, by which two spaces of one drawing differ along a tape: common practice, no source."""
RARE = 0.025  # of sisters that are alike, the share that chi-square, and again the worst tape, may call another


@dataclass(frozen=True)
class HeldTape:
    """A tape of the sister: as taped, as the first one's corners make it, m, and whether that is near enough.

    sigma_m: how near they should be, one standard deviation. in_sigmas: by how much it stands out of the others.
    """

    label: str
    taped_m: float
    first_m: float
    sigma_m: float
    in_sigmas: float
    alike: bool


@dataclass(frozen=True)
class SisterHeld:
    """A sister held against the first: tape by tape, and all together."""

    first: str
    tapes: tuple[HeldTape, ...]
    building_m: float
    chi2: float
    limit: float
    alike: bool

    @property
    def unlike(self) -> tuple[int, ...]:
        """The numbers of the tapes where she differs; where only all of them together do, of the one that does most."""
        if self.alike:
            return ()
        worst = max(range(len(self.tapes)), key=lambda k: abs(self.tapes[k].in_sigmas))
        return tuple(k for k, one in enumerate(self.tapes) if not one.alike) or (worst,)


def held_against(
    first: Survey, tapes: Sequence[Check], found: Adjustment | None = None, building: float = BUILDING
) -> SisterHeld:
    """Return how the *tapes* of a sister agree with the corners of *first*, by their names there.

    found: the adjustment of the first one's own readings; left out, it is made here. building: m, one standard
    deviation, by which alike spaces differ along a tape.
    """
    own = net_of(first)
    found = found or adjusted(own.predicted, own.start, own.read, own.sigmas)
    count = len(own.readings)
    net = net_of(replace(first, checks=(*first.checks, *tapes)))
    slopes = net.predicted(found.unknowns).slopes
    new = slopes.rows >= count
    along = np.zeros((len(found.unknowns), len(tapes)))
    along[slopes.columns[new], slopes.rows[new] - count] = slopes.slopes[new]
    expected, sigmas = net.values(found.unknowns)[count:], net.sigmas[count:]
    variance = found.covariance(along) + np.diag(sigmas**2 + building**2)
    off = net.read[count:] - expected
    weights = np.linalg.inv(variance)
    chi2 = float(off @ weights @ off)
    standing = weights @ off / np.sqrt(np.diagonal(weights))
    most, worst = limit(RARE, len(tapes)), two_sided(RARE / max(len(tapes), 1))
    held = tuple(
        HeldTape(
            "-".join(station + mark for station, mark in tape.corners),
            tape.length,
            float(expected[k]),
            float(np.sqrt(variance[k, k])),
            float(standing[k]),
            abs(float(standing[k])) <= worst,
        )
        for k, tape in enumerate(tapes)
    )
    return SisterHeld(first.name, held, building, chi2, most, chi2 <= most and all(one.alike for one in held))


def corners_called(survey: Survey, label: str) -> tuple[tuple[str, str], ...]:
    """Return the corners that a tape's *label*, "1A-1D", goes between; raise TapeloftError where it names none."""
    known = {s.name + c.name: (s.name, c.name) for s in survey.stations for c in s.corners if c.name}
    ends = [end.strip() for end in label.split("-")]
    for end in ends:
        if end not in known:
            raise UnknownName("corner", end, sorted(known))
    if len(ends) < 2 or any(a == b for a, b in pairwise(ends)):
        raise TapeloftError(f'"{label}" does not go from one corner to another: write station and mark, "1A-1D"')
    return tuple(known[end] for end in ends)
