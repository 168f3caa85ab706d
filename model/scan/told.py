"""What there is to say of a scan's placing, scale and sections: what forbids a station, and what to look at again."""

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise

import numpy as np

from tapeloft.model.errors import Problem
from tapeloft.model.scan.covered import Hole, left_out
from tapeloft.model.scan.endwall import End
from tapeloft.model.scan.lettered import Letters
from tapeloft.model.scan.placing import Placing
from tapeloft.model.scan.scale import Scale
from tapeloft.model.scan.section import Section
from tapeloft.model.scan.slab import Slab
from tapeloft.model.scan.stations import END
from tapeloft.model.scan.targets import Targets
from tapeloft.model.units import figure, format_length

ODD_NOISE = 0.02  # m: points that stray so far from their walls are of a poor scan, or of a wall that is no line
UNSURE = 0.025  # m: a corner no surer than this is worth a word
LOOSE = 0.01  # m that the placing may leave open at the corners: what a phone's scan is good to by itself
ASIDE = 0.02  # m that a bulkhead may lean, or stand beside its station, and not be worth a word
SHOWN = 0.8  # of an end wall: where points show less, it is worth a word
BEYOND = 0.06  # m that a scan may go on beyond the last station: twice half a slice
AGAIN = "scan it again there, from nearer and from more sides, or tape the station"


def nothing_at(targets: Targets, x: float, half: float, reach: tuple[float, float]) -> Problem:
    """Return the problem of a station near which no points bound a section."""
    low, high = (format_length(end, targets.unit) for end in sorted(end * targets.ahead for end in reach))
    if not math.isfinite(x):
        what = f"beyond the last station no wall closes the space; the scan reaches from {low} to {high}"
        mend = "scan the wall there again, or put a distance in the place of end: what lies beyond it is left out"
        return _problem(targets, x, what, mend)
    at = format_length(x * targets.ahead, targets.unit)
    what = f"within {half * 1000:.0f} mm of {at} no points bound a section; the scan reaches from {low} to {high}"
    mend = "choose a station within it, take a deeper slice with --slab, or scan the space again there"
    return _problem(targets, x, what, mend)


def refusals_of(
    targets: Targets, sections: Sequence[Section], slabs: Sequence[Slab], letters: Letters | None
) -> list[Problem]:
    """Return why sections cannot be told: walls too little seen, none at all, corners with no fellow elsewhere.

    slabs: the points that each was fitted to.
    """
    refused = [*_past_stations(targets, sections)]
    for section, given in zip(sections, letters.corners if letters else (), strict=True):
        refused += _refusals(targets, section, {number: mark for mark, number in given.items()})
    return [*refused, *(_hidden(targets, sections, slabs, letters) if letters else ())]


def _hidden(
    targets: Targets, sections: Sequence[Section], slabs: Sequence[Slab], letters: Letters
) -> Iterator[Problem]:
    """Refuse a section that leaves points out which the one beside it takes in, and has a wall or a corner less.

    Its outline runs over a thing that hides the corner behind it.
    """
    whole = [k for k, given in enumerate(letters.corners) if len(given) == len(letters.order)]
    for k, (section, given) in enumerate(zip(sections, letters.corners, strict=True)):
        missing = [mark for mark in letters.order if mark not in given]
        others = [j for j in whole if j != k]
        if others and (missing or any(seen.holes for seen in section.seen)):
            beside = sections[min(others, key=lambda j: abs(j - k))]
            crowd = left_out(slabs[k], section.corners, beside.corners)
            if crowd:
                low, high = (told_spot(targets, spot) for spot in (crowd.low, crowd.high))
                without = f"{', '.join(missing)} is missing" if missing else "a wall has a hole"
                what = f"{without}, and {crowd.points} points lie outside the outline, from {low} to {high}"
                mend = (
                    "if a thing stands there, take it out of the scan, or choose a station beside it; else scan again"
                )
                yield _problem(targets, section.x, what, mend)


def _past_stations(targets: Targets, sections: Sequence[Section]) -> Iterator[Problem]:
    """Refuse an end wall that leans in over the station beside it."""
    for end, beside in [*pairwise(sections), *pairwise(sections[::-1])]:
        way = math.copysign(1.0, end.x - beside.x)
        if end.end and not beside.end and (way * (end.end.ahead - beside.x)).min() <= 0:
            at = format_length(beside.x * targets.ahead, targets.unit)
            what = f"the end wall leans in past the station at {at}"
            yield _problem(targets, end.x, what, "leave that station out, or put it farther from the wall")


def _refusals(targets: Targets, section: Section, marks: dict[int, str]) -> Iterator[Problem]:
    if section.open:
        what = "the section is open: on one side no wall was scanned at all"
        yield _problem(targets, section.x, what, AGAIN)
    for k, seen in enumerate(section.seen):
        if not seen.enough:
            at = _wall(targets, section, marks, k)
            what = f"the wall {at} cannot be told: points show {seen.share:.0%} of it{_holes(targets, seen.holes)}"
            yield _problem(targets, section.x, what, AGAIN)
    if section.end and not section.end.enough:
        what = f"the end wall cannot be told: points show {section.end.share:.0%} of it{_unseen(targets, section.end)}"
        yield _problem(targets, section.x, what, AGAIN)
    elif section.end and section.end.share < SHOWN and section.end.wall.beyond > BEYOND:
        what = (
            f"the wall found here may not be the end: points show {section.end.share:.0%} of it, and the scan goes on "
            f"{section.end.wall.beyond * 1000:.0f} mm behind it"
        )
        yield _problem(
            targets, section.x, what, "take what stands before the end out of the scan, or put a distance for end"
        )
    for k in range(len(section.corners)):
        if k not in marks:
            spot = told_spot(targets, section.corners[k])
            what = f"the corner at {spot} has no fellow at the other stations"
            mend = (
                "if a thing stands there, take it out of the scan, or choose a station beside it; if the space itself "
                "changes there, put a station on either side; --corners says how many a section has"
            )
            yield _problem(targets, section.x, what, mend)


def notes_of(
    targets: Targets,
    size: Scale,
    place: Placing,
    sections: Sequence[Section],
    letters: Letters | None,
    reach: tuple[float, float],
) -> tuple[Problem, ...]:
    """Return what is worth a second look, of the placing first and then station by station."""
    notes = [*_of_scale(targets, size), *_of_placing(targets, place, sections), *_of_reach(targets, sections, reach)]
    for section, given in zip(sections, letters.corners if letters else (), strict=True):
        for what, mend in said_of(targets, section, letters.order if letters else (), given):
            notes.append(_problem(targets, section.x, what, mend))
    return tuple(notes)


def _of_scale(targets: Targets, size: Scale) -> Iterator[Problem]:
    if not size.checked:
        what = "the scan's scale is not checked: phone scans are some hundredths off, and a volume three times that"
        yield targets.problem((), what, "tape a long length between two targets: [length] T1-T2 = …")
    elif size.applied != 1.0:
        what = f"the scan was multiplied by {size.applied:.4f}, to have the lengths that were taped"
        yield targets.problem(("length",), what, "nothing, if the tapes are right")
    for one in size.held:
        if size.applied == 1.0 and not one.agrees:
            what = f"the scan was left as it is, though the tape says {(one.times - 1) * 100:+.1f} %"
            yield targets.problem(("length", one.name), what, "say --scale taped to go by the tape")


def _of_placing(targets: Targets, place: Placing, sections: Sequence[Section]) -> Iterator[Problem]:
    if len(place.names) == 3:
        what = "three targets place the scan, and little checks them"
        more = "" if targets.sheet.up else '; and say which axis of the scan is up, up = "y"'
        yield targets.problem(("target",), what, f"tape a fourth, out of the plane of the others{more}")
    carried = float(np.median(place.stray_at(np.vstack([one.spots for one in sections])))) if sections else 0.0
    if carried > LOOSE:
        what = (
            f"the targets hold the scan to {carried * 1000:.0f} mm at the corners: they lie near one line, or far off"
        )
        yield targets.problem(("target",), what, "tape a target well off the line of the others, near the corners")


def _of_reach(targets: Targets, sections: Sequence[Section], reach: tuple[float, float]) -> Iterator[Problem]:
    """Point at a scan that goes on beyond the first or the last station: that part is not in the survey."""
    along = [section.x for section in sections]
    ends = [(min(along), min(along) - reach[0]), (max(along), reach[1] - max(along))] if along else []
    walls = {section.x: section.end.wall.beyond for section in sections if section.end}
    for x, beyond in ends:
        if walls.get(x, beyond) > BEYOND:
            what = (
                f"the scan goes on {walls.get(x, beyond) * 1000:.0f} mm beyond this station, which no station takes in"
            )
            mend = "put a station at its end; where a wall stands there, write end in place of its distance"
            through = "see whether that is another space, seen through a door, or the scan's own ghosts"
            yield _problem(targets, x, what, through if x in walls else mend)


def said_of(
    targets: Targets, section: Section, order: Sequence[str], given: dict[str, int]
) -> Iterator[tuple[str, str]]:
    """Yield what to look at again in a section, and what would mend it."""
    marks = {number: mark for mark, number in given.items()}
    for k, seen in enumerate(section.seen):
        if seen.enough and seen.holes:
            yield (
                f"the wall {_wall(targets, section, marks, k)} was not scanned all along{_holes(targets, seen.holes)}",
                AGAIN,
            )
    yield from _of_bulkhead(targets, section)
    missing = [mark for mark in order if mark not in given]
    if missing:
        what = f"{', '.join(missing)} cannot be told here: the walls run on in one line, as near as the points say"
        yield what, "tape it, or nothing if the wall is straight there"
    unsure = [k for k in range(len(section.corners)) if section.stray[k] > UNSURE]
    for k in unsure:
        mark = marks.get(k, "a corner")
        yield (
            f"{mark} is sure to {section.stray[k] * 1000:.0f} mm only, along its walls, which hardly turn there",
            "tape it",
        )
    if section.noise > ODD_NOISE:
        yield (
            f"points stray {section.noise * 1000:.0f} mm from the fitted walls",
            "scan it again, or add corners: --corners",
        )
    if section.crowd:
        low, high = (told_spot(targets, spot) for spot in (section.crowd.low, section.crowd.high))
        what = f"{section.crowd.points} points stand within the section, from {low} to {high}"
        yield what, "if a thing stood there when it was scanned: put it in with [[obstruction]] if it stays"


def _of_bulkhead(targets: Targets, section: Section) -> Iterator[tuple[str, str]]:
    """Point at a bulkhead that leans or stands beside its station, and at one that is told by part of it."""
    if section.bulkhead is not None:
        off = section.bulkhead[int(np.abs(section.bulkhead).argmax())] * targets.ahead
        if abs(off) > ASIDE:
            where = format_length(abs(off), targets.unit)
            what = f"a bulkhead is here, and stands up to {where} {'beyond' if off > 0 else 'short of'} this station"
            yield what, "if the space ends here, write end in place of the distance: the wall is fitted as it leans"
    if section.end is None:
        return
    if section.end.share < SHOWN:
        what = f"points show {section.end.share:.0%} of the end wall{_unseen(targets, section.end)}"
        yield what, "see that the wall is one plane there, or scan it again, from more sides"
    if section.end.wall.spread > ODD_NOISE:
        what = f"points stray {section.end.wall.spread * 1000:.0f} mm from the end wall's plane"
        yield what, "if it is rounded or stepped, tape it: a plane is all that is fitted"


def _unseen(targets: Targets, end: End) -> str:
    return _holes(targets, [end.unseen] if end.unseen else [])


def told_spot(targets: Targets, spot: Sequence[float]) -> str:
    """Return a point of a section in words: half-breadth with its side, and height."""
    side = "p " if spot[0] >= 0 else "s "
    return f"[{side}{figure(abs(float(spot[0])), targets.unit)}, {figure(float(spot[1]), targets.unit)}]"


def _wall(targets: Targets, section: Section, marks: dict[int, str], k: int) -> str:
    after = (k + 1) % len(section.corners)
    if k in marks and after in marks:
        return f"{marks[k]}-{marks[after]}"
    return " to ".join(told_spot(targets, section.corners[j]) for j in (k, after))


def _holes(targets: Targets, holes: Sequence[Hole]) -> str:
    if not holes:
        return ""
    told = (f"{told_spot(targets, hole.start)} to {told_spot(targets, hole.end)}" for hole in holes)
    return f"; none from {', none from '.join(told)}"


def _problem(targets: Targets, x: float, what: str, mend: str) -> Problem:
    at = f"at {format_length(x * targets.ahead, targets.unit)}"
    if not math.isfinite(x):
        at = f"{END}, {'forward' if x > 0 else 'aft'}"
    return Problem(what, mend, compartment=targets.sheet.compartment, station=at)
