"""Least squares for readings that are more than are needed: the most likely values, and how well each is checked.

Readings l = f(x) + error, errors independent, each with a sigma known beforehand. Gauss–Newton from a start, every step
by orthogonal elimination (`levels`). Nothing here knows of boats: any net of readings may be given, a levelled loop as
well as a locker's tapes.

Redundancy and detectable slips after Baarda, A testing procedure for use in geodetic networks (1968).
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from tapeloft.model.tapes.levels import Array, Factor, Rows, factored, levels
from tapeloft.model.tapes.tails import NOTICEABLE, beyond

STEPS = 60
SETTLED = 1e-7  # of what the step could change, in sigmas of readings, at which no step is worth taking
LAST = 1e-4  # of the same, from which a step is the last: what it leaves goes with its square
CHORDS, QUICK = 3, 0.3
"""Steps by the factor of an adjustment near by, while each is so much less than the one before."""
UNCHECKED = 1e-6  # redundancy below which nothing else tells what a reading should be


class Unsettled(ValueError):
    """The readings contradict each other so much that no values come near them all."""


@dataclass(frozen=True)
class Predicted:
    """What readings would be for given unknowns: values (m,), and how each changes with each unknown, (m, n)."""

    values: Array
    slopes: Rows


Model = Callable[[Array], Predicted]


@dataclass(frozen=True, eq=False)
class Adjustment:
    """The most likely values of the unknowns, and how the readings lie about them.

    unknowns (n,); residuals (m,), adjusted less read; sigmas (m,) as known beforehand, in the reading's own unit;
    slopes (m, n), of readings over sigma.
    """

    unknowns: Array
    residuals: Array
    sigmas: Array
    slopes: Rows
    factor: Factor = field(repr=False)

    @property
    def freedom(self) -> int:
        """How many readings more than unknowns there are."""
        return len(self.residuals) - len(self.unknowns)

    @cached_property
    def misses(self) -> Array:
        """Residuals over sigma, (m,)."""
        return self.residuals / self.sigmas

    @cached_property
    def chi2(self) -> float:
        """The sum of the squares of residuals over sigma."""
        return float(self.misses @ self.misses)

    @property
    def chance(self) -> float:
        """In what share of surveys readings as good as they should be disagree more than these do."""
        return beyond(self.chi2, self.freedom)

    @cached_property
    def redundancies(self) -> Array:
        """What share of a slip shows in the reading's own residual, (m,); 0 where nothing else tells the reading."""
        left = 1.0 - self.factor.leverages(self.slopes)
        return np.where(left < UNCHECKED, 0.0, left)

    @cached_property
    def standing_out(self) -> Array:
        """Residuals in their own sigmas, w = v/(σ√r), (m,): normal, were there no slip; 0 where nothing shows."""
        shown = self.redundancies > 0
        return np.divide(self.misses, np.sqrt(self.redundancies), out=np.zeros_like(self.misses), where=shown)

    @cached_property
    def slips(self) -> Array:
        """By how much each reading would be off, were it the only one that is, −v/r, (m,); NaN where nothing shows."""
        shown = self.redundancies > 0
        return np.divide(-self.residuals, self.redundancies, out=np.full_like(self.misses, np.nan), where=shown)

    @cached_property
    def noticeable(self) -> Array:
        """The slip of each reading that would be noticed in four cases of five, 4.132 σ/√r, (m,); infinite if none."""
        shown = self.redundancies > 0
        root = np.sqrt(self.redundancies)
        return NOTICEABLE * np.divide(self.sigmas, root, out=np.full_like(root, np.inf), where=shown)

    def shown(self, along: Array) -> tuple[Array, Array]:
        """Return what the readings show of mistakes that change them along *along* (m, k).

        The normal equations of the mistakes' sizes with the unknowns eliminated: c'PQvvPc, (k, k), and -c'Pv, (k,).
        Sizes are by how many times *along* the readings are off.
        """
        weighed = along / self.sigmas[:, None]
        half = self.factor.halved(self.slopes.turned(weighed))
        normal = weighed.T @ weighed
        shows = normal - half.T @ half
        hidden = np.diagonal(shows) <= UNCHECKED * np.diagonal(normal)
        shows[hidden], shows[:, hidden] = 0.0, 0.0
        return shows, np.where(hidden, 0.0, -(weighed.T @ self.misses))

    def shown_alone(self, along: Array) -> tuple[Array, Array]:
        """Return what `shown` does of mistakes along *along* (m, k), each by itself: (k,), and (k,)."""
        weighed = along / self.sigmas[:, None]
        half = self.factor.halved(self.slopes.turned(weighed))
        normal = np.einsum("mk,mk->k", weighed, weighed)
        shows = normal - np.einsum("nk,nk->k", half, half)
        hidden = shows <= UNCHECKED * normal
        return np.where(hidden, 0.0, shows), np.where(hidden, 0.0, -(weighed.T @ self.misses))

    def moved(self, off: Array) -> Array:
        """Return by how much the unknowns would be off, (n,), were the readings off by *off* (m,), to first order."""
        pulls = self.slopes.turned(off / self.sigmas)
        moved: Array = self.factor.solved(self.factor.halved(pulls[:, None]))[:, 0]
        return moved

    def covariance(self, weights: Array) -> Array:
        """Return the covariance (k, k) of the sums of unknowns that *weights* (n, k) weigh them by.

        The covariance of the unknowns themselves is that for the identity matrix.
        """
        half = self.factor.halved(weights)
        return half.T @ half


def adjusted(model: Model, start: Array, read: Array, sigmas: Array, near: Factor | None = None) -> Adjustment:
    """Return the values of the unknowns that the readings *read* (m,), with *sigmas* (m,), make most likely.

    model: what the readings would be for given unknowns. start: where to begin, (n,). near: the factor of an
    adjustment of the same readings that ended near the start. Raises Undetermined where some unknown is told by no
    reading, Unsettled where no values are found that leave the readings least wrong.

    Two tapes of one length, 1210 and 1214, of 2 mm each:

    >>> once = Rows(np.arange(2), np.zeros(2, int), np.ones(2), (2, 1))
    >>> found = adjusted(lambda x: Predicted(once.times(x), once), np.zeros(1), np.array([1210.0, 1214]), np.full(2, 2))
    >>> found.unknowns.round(6).tolist(), found.chi2.__round__(6), found.redundancies.round(6).tolist()
    ([1212.0], 2.0, [0.5, 0.5])
    """
    unknowns = np.array(start, dtype=np.float64)
    here = model(unknowns)
    if near is not None:
        unknowns, here = _approached(model, unknowns, here, read, sigmas, near)
    order = levels(here.slopes) if near is None else near.order
    for _ in range(STEPS):
        slopes = _over(here.slopes, sigmas)
        misses = (read - here.values) / sigmas
        factor, step = factored(slopes, misses, order)
        gain = float(np.linalg.norm(slopes.times(step)))
        if gain <= SETTLED * (1.0 + float(np.linalg.norm(misses))):
            return Adjustment(unknowns, here.values - read, sigmas, slopes, factor)
        stepped = _stepped(model, unknowns, step, read, sigmas, float(misses @ misses))
        if stepped is None:
            return Adjustment(unknowns, here.values - read, sigmas, slopes, factor)
        unknowns, here = stepped
        if gain <= LAST * (1.0 + float(np.linalg.norm(misses))):
            return Adjustment(unknowns, here.values - read, sigmas, slopes, factor)
    raise Unsettled(f"no values found in {STEPS} steps")


def _approached(
    model: Model, unknowns: Array, here: Predicted, read: Array, sigmas: Array, near: Factor
) -> tuple[Array, Predicted]:
    """Return the unknowns after steps by a factor that is known already: each costs a fifth of what a new one does.

    They lead where new ones would, for the slopes are as they are here; and they end where they come nearer slowly.
    """
    before = np.inf
    for _ in range(CHORDS):
        slopes, misses = _over(here.slopes, sigmas), (read - here.values) / sigmas
        step = near.solved(near.halved(slopes.turned(misses)[:, None]))[:, 0]
        gain = float(np.linalg.norm(slopes.times(step)))
        if gain <= LAST * (1.0 + float(np.linalg.norm(misses))) or gain > QUICK * before:
            break
        before = gain
        stepped = _stepped(model, unknowns, step, read, sigmas, float(misses @ misses))
        if stepped is None:
            break
        unknowns, here = stepped
    return unknowns, here


def _stepped(
    model: Model, unknowns: Array, step: Array, read: Array, sigmas: Array, chi2: float
) -> tuple[Array, Predicted] | None:
    """Return the unknowns after as much of a step as makes the readings less wrong, and what they predict.

    None where no part of it does: no values are better than these.
    """
    for _ in range(STEPS):
        there = unknowns + step
        predicted = model(there)
        misses = (read - predicted.values) / sigmas
        if float(misses @ misses) <= chi2 * (1 + 1e-12):
            return there, predicted
        step = step / 2
    return None


def _over(slopes: Rows, sigmas: Array) -> Rows:
    return Rows(slopes.rows, slopes.columns, slopes.slopes / sigmas[slopes.rows], slopes.shape)
