"""What ± stands beside the figures of a compartment: one standard deviation of its volumes, centroids, areas, lines.

By the law of propagation, JCGM 100:2008 5.2.2: u² = gᵀCg, where C is the covariance of what was taped and g says how
the figure changes with it. A figure's true value lies within 1.96 u of it in 95 surveys of a hundred, if nothing but
chance is at work: see `systematic` for what is not chance. Obstructions are taken as they stand.

A line that several edges would stop at once is as long as the one that gives least leaves it. That has no slope: the
edges are drawn, with what they have in common, and the least of them taken each time.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from statistics import NormalDist

import numpy as np

from tapeloft.model.capacity import Capacity, filled_to
from tapeloft.model.compartment import Compartment
from tapeloft.model.moments import Points
from tapeloft.model.plusminus.bodies import Slopes, slopes
from tapeloft.model.plusminus.coated import coated
from tapeloft.model.plusminus.filling import Each, filling, shifting
from tapeloft.model.plusminus.lines import lines
from tapeloft.model.plusminus.moving import Moving, moving
from tapeloft.model.plusminus.spread import SAID, Spread, spread
from tapeloft.model.plusminus.systematic import Effect, systematic
from tapeloft.model.plusminus.together import Felt, felt
from tapeloft.model.solid import Solid
from tapeloft.model.volume import Volume

COVERAGE = 0.95
FACTOR = NormalDist().inv_cdf((1 + COVERAGE) / 2)
"""1.96: by what a standard deviation is multiplied for an interval that holds the true value in 95 cases of 100."""
SEED, DRAWN = 20_102, 4000
SAME = 1e-6  # of a figure's variance, that two may differ by and be one
EDGE = 1e-6  # m: a level no farther from the top or the bottom is at it
LEVEL = 1e-6  # m²: where a level has less area, no height is told for a volume


@dataclass(frozen=True)
class BodyOff:
    """How far a body's figures may be off, one standard deviation: volume, m³, and centroid, m, x, y, z.

    volume_95_m3: the interval, from and to.
    """

    name: str
    volume_sd_m3: float
    volume_95_m3: tuple[float, float]
    centroid_sd_m: tuple[float, float, float]


@dataclass(frozen=True)
class AreaOff:
    """How far the area of a part of the surface may be off, one standard deviation, m²."""

    name: str
    area_sd_m2: float


@dataclass(frozen=True)
class Stated:
    """The ± of a compartment. words: what it rests on. factor: the 95 % interval, in standard deviations.

    gross, net: None where no ± is stated. bays: where there are several. areas: part by part; area_sd_m2: of all of
    them together. runs_sd_m: of the clear lines along x, y, z, each where it lies; None where that is not known.
    half_full_sd_m: of the height below which half the volume lies. systematic: what is in no ±. felt: what is
    needed to add the volumes of several.
    """

    compartment: str
    words: str
    factor: float
    gross: BodyOff | None = None
    net: BodyOff | None = None
    bays: tuple[BodyOff, ...] = ()
    areas: tuple[AreaOff, ...] = ()
    area_sd_m2: float | None = None
    runs_sd_m: tuple[float | None, ...] = ()
    half_full_sd_m: float | None = None
    systematic: tuple[Effect, ...] = ()
    felt: Felt | None = field(default=None, repr=False, compare=False)


@dataclass(frozen=True, eq=False)
class FilledOff:
    """How far what lies below heights may be off, one standard deviation each, (k,).

    volume_sd_m3; plan_area_sd_m2: not a number at its top or bottom and beyond, where a level is of it or is not;
    height_sd_m: of the height at which so much lies below, not a number where the level
    has no area; centroid_sd_m (k, 3): of the centroid of that, not a number where nothing lies below.
    """

    words: str
    volume_sd_m3: Points
    plan_area_sd_m2: Points
    height_sd_m: Points
    centroid_sd_m: Points


def stated(compartment: Compartment, size: Volume) -> Stated:
    """Return the ± of the figures of *compartment*, which `build` made and whose *size* was measured."""
    settled = compartment.settled
    if settled is None:
        return Stated(compartment.name, "no ± is stated: not built from readings", FACTOR)
    words, known = SAID[settled.basis], spread(settled)
    if known is None:
        return Stated(compartment.name, words, FACTOR)
    volumes = {body.name: body.volume_m3 for body in (*size.bays, size.gross, size.net)}
    space = moving(compartment, settled)
    every = slopes(space)
    gross, net, *bays = (_off(one, volumes[one.name], known) for one in every)
    coats = coated(space)
    of_each = zip(coats.names, _sds(coats.areas, known).tolist(), strict=True)
    built_in = {part.name for part in compartment.fitted}  # made anew for each reading: they do not stand still
    areas = tuple(AreaOff(name, size) for name, size in of_each if name not in built_in)
    whole = float(_sds(coats.areas.sum(axis=1, keepdims=True), known)[0])
    clear = tuple(_least(one, known) for one in lines(space, size.runs))
    half = _half_full(space, size.half_full_m, every[1].volume, known)
    effects = systematic(compartment, every[1], known)
    by_reading = felt(compartment.survey, known, every[0].volume, every[1].volume)
    return Stated(
        compartment.name, words, FACTOR, gross, net, tuple(bays), areas, whole, clear, half, effects, by_reading
    )


def filled_off(
    compartment: Compartment, bay: str | None, heights: Sequence[float], each: Each = iter
) -> FilledOff | None:
    """Return the ± of what lies below *heights*, m, in a compartment or one of its bays; None where none is stated."""
    settled = compartment.settled
    known = spread(settled) if settled else None
    if settled is None or known is None:
        return None
    space = moving(compartment, settled)
    body = dict(space.bays).get(bay or "", space.net)
    told = filling(space, body, heights, each)
    volumes, areas = _sds(told.volumes, known), _sds(told.plan_areas, known)
    low, high = body.bounds[:, 2]
    areas[(np.array(heights) < low + EDGE) | (np.array(heights) > high - EDGE)] = np.nan
    filled = filled_to(body, heights)
    wide = filled.plan_area_m2
    up = np.divide(volumes, wide, out=np.full_like(volumes, np.nan), where=wide > LEVEL)
    return FilledOff(SAID[settled.basis], volumes, areas, up, _centroid_sds(space, body, filled, known, each))


def _centroid_sds(space: Moving, body: Solid, filled: Capacity, known: Spread, each: Each) -> Points:
    """Return the standard deviations of the centroids of what lies below heights, (k, 3), m."""
    found = np.full(filled.centroid_m.shape, np.nan)
    some = np.isfinite(filled.centroid_m).all(axis=1)
    if some.any():
        held = filled_to(body, filled.heights_m[some])
        slopes_ = shifting(space, body, held, each)
        found[some] = _sds(slopes_.reshape(len(slopes_), -1), known).reshape(-1, 3)
    return found


def _half_full(space: Moving, height: float, volume: Points, known: Spread) -> float | None:
    """Return the standard deviation of the *height*, m, below which half lies: half of all is to lie there then too."""
    wide = float(filled_to(space.net, [height]).plan_area_m2[0])
    below = filling(space, space.net, [height])
    return float(_sds((volume / 2)[:, None] - below.volumes, known)[0]) / wide if wide > LEVEL else None


def _off(one: Slopes, volume: float, known: Spread) -> BodyOff:
    size, x, y, z = _sds(np.column_stack([one.volume, one.centroid]), known).tolist()
    return BodyOff(one.name, size, (volume - FACTOR * size, volume + FACTOR * size), (x, y, z))


def _sds(weights: Points, known: Spread) -> Points:
    """Return the standard deviations (k,) of the sums that *weights* (n, k) weigh the unknowns by."""
    sds: Points = np.sqrt(np.maximum(np.diagonal(known.covariance(weights)), 0.0))
    return sds


def _least(weights: Points, known: Spread) -> float | None:
    """Return the standard deviation of the least of several figures that are nominally one; None of none."""
    if not weights.size:
        return None
    covariance = known.covariance(weights)
    apart = np.diagonal(covariance) - covariance[0] * 2 + covariance[0, 0]
    if float(apart.max()) <= SAME * float(covariance[0, 0]):
        return float(np.sqrt(max(covariance[0, 0], 0.0)))
    values, ways = np.linalg.eigh(covariance)
    normal = np.random.default_rng(SEED).standard_normal((DRAWN, len(values)))
    return float(((normal * np.sqrt(np.maximum(values, 0.0))) @ ways.T).min(axis=1).std(ddof=1))
