"""How the points of a surface's sections follow the readings that tell them."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import NDArray

from tapeloft.model.moments import Points
from tapeloft.model.solid import on_grid
from tapeloft.model.surface.fairing import carried, counts
from tapeloft.model.surface.gross import Loft
from tapeloft.model.surface.loft import point_at
from tapeloft.model.survey.survey import Survey
from tapeloft.model.tapes.readings import HELD, TapeNet

STEP = 1e-6  # m, by which an unknown is moved to see how a faired surface follows
AT_ONCE = 64  # unknowns that are moved
Numbers = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Following:
    """A loft, and the numbers in its net, (n,), of the corners of its sections, section by section."""

    loft: Loft
    corners: Numbers

    @cached_property
    def _sizes(self) -> Numbers:
        return np.cumsum([len(section.points) for section in self.loft.sections])[:-1]

    @property
    def points(self) -> Points:
        """The corners as it was built from them, (n, 3), m."""
        return np.concatenate([section.points for section in self.loft.sections])

    def knots(self, points: Points) -> Points:
        """Return the points that the surface is straight between, (…, ·, 3) m, for corners at *points* (…, n, 3)."""
        if not self.loft.is_faired:
            return points
        sections = np.split(points, self._sizes, axis=-2)
        bands = self.loft.bands
        loops = [point_at(sections[0], bands[0].aft)]
        loops += [point_at(section, band.forward) for section, band in zip(sections[1:], bands, strict=True)]
        return np.concatenate(carried(np.stack(loops), self._pieces), axis=-2)

    def gathered(self, net: TapeNet, slopes: Sequence[Points]) -> Points:
        """Return how figures change with each unknown of *net*, (unknowns, k), from how they do with the knots.

        slopes: for each of the k figures, (·, 3), by knot.
        """
        return self._by_trying(net, slopes) if self.loft.is_faired else self._by_corner(net, slopes)

    @cached_property
    def _pieces(self) -> tuple[int, ...]:
        return counts(np.stack([self.loft.bands[0].ends[0], *(band.ends[1] for band in self.loft.bands)]))

    def _by_corner(self, net: TapeNet, slopes: Sequence[Points]) -> Points:
        columns = np.where(net.columns == HELD, len(net.start), net.columns)[self.corners]
        told = np.zeros((len(net.start) + 1, len(slopes)))
        for k, slope in enumerate(slopes):
            np.add.at(told[:, k], columns, slope)
        return told[:-1]

    def _by_trying(self, net: TapeNet, slopes: Sequence[Points]) -> Points:
        told = np.zeros((len(net.start), len(slopes)))
        unknowns, rates = _rates(self, net)
        told[unknowns] = rates @ np.stack(slopes).reshape(len(slopes), -1).T
        return told


@lru_cache(maxsize=8)
def _rates(following: Following, net: TapeNet) -> tuple[Numbers, Points]:
    """Return the unknowns that move a faired surface, (u,), and how its knots change with each, (u, 3 · knots)."""
    columns, points = net.columns[following.corners], following.points
    unknowns = np.unique(columns[columns != HELD])
    rates = []
    for some in np.split(unknowns, range(AT_ONCE, len(unknowns), AT_ONCE)):
        steps = STEP * (columns == some[:, None, None])
        rates.append((following.knots(points + steps) - following.knots(points - steps)) / (2 * STEP))
    return unknowns, np.concatenate(rates).reshape(len(unknowns), -1)


def followed(survey: Survey, lofts: Sequence[Loft]) -> Iterator[Following]:
    """Yield the *lofts* that *survey*, as it was built from, gave, with the numbers of their corners in its net."""
    stations = iter(survey.stations)
    first = 0
    for loft in lofts:
        numbers = []
        for section, station in zip(loft.sections, stations, strict=False):
            here = np.arange(first, first := first + len(station.corners))
            as_listed = on_grid(np.array([corner.at for corner in station.corners]))
            numbers.append(here if np.array_equal(as_listed, section.points) else here[::-1])
        yield Following(loft, np.concatenate(numbers))
