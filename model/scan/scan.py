"""From the points of a scan and its targets to lettered sections at chosen stations."""

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from tapeloft.model.errors import Problem
from tapeloft.model.moments import Points
from tapeloft.model.scan.endwall import EndWall, end_wall
from tapeloft.model.scan.lettered import Letters, lettered, usual_count
from tapeloft.model.scan.placing import TRIM, Placing, check_of_one_scan, placing
from tapeloft.model.scan.scale import Scale, Wanted, scale
from tapeloft.model.scan.section import CHANCE, Section, ended, section_of
from tapeloft.model.scan.slab import Slab, near
from tapeloft.model.scan.targets import Targets
from tapeloft.model.scan.told import notes_of, nothing_at, refusals_of

HALF = 0.03  # m: points so far fore and aft of a station are of it
STRAY = 0.01  # m: what a phone's scan is taken to be good to, whatever its own points say (common practice, no source)
STATED = 0.08  # m that a corner may stand out and be given up where a person says how many there are

Each = Callable[[Sequence[float], str], Iterable[float]]


@dataclass(frozen=True, eq=False)
class Scanned:
    """What a scan gives: sections at its stations, in the order asked for, with letters, and how it was placed.

    slabs: the points that each section was fitted to. letters: None where no station could be told. reach: of the
    scan fore and aft, m. accuracy: one standard deviation of a half-breadth or a height, m: 10 mm, or what targets and
    walls leave, where that is more. refused: why a station cannot be told; notes: what is worth a second look.
    """

    sections: tuple[Section, ...]
    slabs: tuple[Slab, ...]
    letters: Letters | None
    placing: Placing
    scale: Scale
    reach: tuple[float, float]
    accuracy: float
    refused: tuple[Problem, ...]
    notes: tuple[Problem, ...]


def _plainly(items: Sequence[float], doing: str) -> Iterable[float]:
    return items


def scanned(
    points: Points,
    metres: float,
    targets: Targets,
    stations: Sequence[float],
    *,
    half: float = HALF,
    corners: int | None = None,
    wanted: Wanted = "",
    each: Each = _plainly,
) -> Scanned:
    """Return the sections of a scan at *stations*, m, compartment axes.

    An infinite station is the wall that closes the space there, aft or forward, wherever it stands and however it
    leans. points (n, 3) in the scan's own unit, of which one is *metres*; half: how far fore and aft of a station
    points are of it, m; corners: how many a section has, None for what most show; wanted: whether the taped scale is
    gone by; each: what walks the stations, for a bar. Raises SurveyError for what is wrong with the targets.
    """
    check_of_one_scan(targets, points)
    size = scale(targets, metres, wanted)
    place = placing(targets, metres * size.applied)
    spots = place.placed(points * (metres * size.applied))
    low, high = np.percentile(spots[:, 0], TRIM)
    found: list[_Found] = []
    refused: list[Problem] = []
    for x in each(list(stations), "fitting sections"):
        wall = None if math.isfinite(x) else _end(spots, x, [cut for cut in stations if math.isfinite(cut)])
        one = _fitted(spots, x, half, wall)
        if one:
            found.append(one)
        else:
            refused.append(nothing_at(targets, wall.x if wall else x, half, (float(low), float(high))))
    sections = _of_one_count(found, corners)
    slabs = tuple(one.slab for one in found)
    letters = lettered([section.corners for section in sections]) if sections else None
    return Scanned(
        sections,
        slabs,
        letters,
        place,
        size,
        (float(low), float(high)),
        _accuracy(place, sections),
        (*refused, *refusals_of(targets, sections, slabs, letters)),
        notes_of(targets, size, place, sections, letters, (float(low), float(high))),
    )


@dataclass(frozen=True, eq=False)
class _Found:
    """What was fitted at a station: the points taken, their section, and the wall that closes the space there."""

    slab: Slab
    section: Section
    wall: EndWall | None


def _end(spots: Points, x: float, cuts: Sequence[float]) -> EndWall | None:
    """Return the wall that closes the space beyond the stations *cuts*, forward for an *x* of infinity."""
    way = math.copysign(1.0, x)
    return end_wall(spots, max(cuts, key=lambda at: way * at) if cuts else float(np.median(spots[:, 0])), way)


def _fitted(spots: Points, x: float, half: float, wall: EndWall | None) -> _Found | None:
    """Return what points bound at the station *x*, or on the *wall* that closes the space."""
    if wall:
        spots, x = wall.squared(spots), wall.at
    slab = near(spots, x, half)
    section = section_of(slab, x) if slab else None
    return _Found(slab, section, wall) if slab and section else None


def _of_one_count(found: Sequence[_Found], corners: int | None) -> tuple[Section, ...]:
    """Return the sections with no more corners than most have, as far as those over it may be chance."""
    if not found:
        return ()
    most = corners or usual_count([len(one.section.corners) for one in found])
    proudest = STATED if corners else CHANCE
    return tuple(_with_at_most(one, most, proudest) for one in found)


def _with_at_most(one: _Found, most: int, proudest: float) -> Section:
    section = one.section
    if len(section.corners) > most:
        section = section_of(one.slab, section.x, most, proudest) or section
    return ended(section, one.wall) if one.wall else section


def _accuracy(place: Placing, sections: Sequence[Section]) -> float:
    if not sections:
        return STRAY
    corner = float(np.median(np.concatenate([section.stray for section in sections])))
    carried = float(np.median(place.stray_at(np.vstack([section.spots for section in sections]))))
    return max(STRAY, float(np.hypot(carried, corner)))
