"""What there is to say of a scan's placing, scale and sections: what forbids a station, and what to look at again."""

from collections.abc import Iterator, Sequence

from tapeloft.model.errors import Problem
from tapeloft.model.scan.covered import Hole
from tapeloft.model.scan.lettered import Letters
from tapeloft.model.scan.placing import Placing
from tapeloft.model.scan.scale import Scale
from tapeloft.model.scan.section import Section
from tapeloft.model.scan.targets import Targets
from tapeloft.model.units import figure, format_length

ODD_NOISE = 0.02  # m: points that stray so far from their walls are of a poor scan, or of a wall that is no line
UNSURE = 0.025  # m: a corner no surer than this is worth a word
BEYOND = 0.06  # m that a scan may go on beyond the last station: twice half a slice
AGAIN = "scan it again there, from nearer and from more sides, or tape the station"


def nothing_at(targets: Targets, x: float, half: float, reach: tuple[float, float]) -> Problem:
    """Return the problem of a station near which no points bound a section."""
    low, high = (format_length(end, targets.unit) for end in sorted(end * targets.ahead for end in reach))
    at = format_length(x * targets.ahead, targets.unit)
    what = f"within {half * 1000:.0f} mm of {at} no points bound a section; the scan reaches from {low} to {high}"
    return _problem(targets, x, what, "choose a station within it, or scan the space again there")


def refusals_of(targets: Targets, sections: Sequence[Section], letters: Letters | None) -> list[Problem]:
    """Return why sections cannot be told: walls too little seen, none at all, corners with no fellow elsewhere."""
    return [
        problem
        for section, given in zip(sections, letters.corners if letters else (), strict=True)
        for problem in _refusals(targets, section, {number: mark for mark, number in given.items()})
    ]


def _refusals(targets: Targets, section: Section, marks: dict[int, str]) -> Iterator[Problem]:
    if section.open:
        what = "the section is open: on one side no wall was scanned at all"
        yield _problem(targets, section.x, what, AGAIN)
    for k, seen in enumerate(section.seen):
        if not seen.enough:
            at = _wall(targets, section, marks, k)
            what = f"the wall {at} cannot be told: points show {seen.share:.0%} of it{_holes(targets, seen.holes)}"
            yield _problem(targets, section.x, what, AGAIN)
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
    notes = [*_of_scale(targets, size), *_of_placing(targets, place), *_of_reach(targets, sections, reach)]
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


def _of_placing(targets: Targets, place: Placing) -> Iterator[Problem]:
    if len(place.names) == 3:
        what = "three targets place the scan, and little checks them"
        more = "" if targets.sheet.up else '; and say which axis of the scan is up, up = "y"'
        yield targets.problem(("target",), what, f"tape a fourth, out of the plane of the others{more}")


def _of_reach(targets: Targets, sections: Sequence[Section], reach: tuple[float, float]) -> Iterator[Problem]:
    """Point at a scan that goes on beyond the first or the last station: that part is not in the survey."""
    along = [section.x for section in sections]
    ends = [(min(along), min(along) - reach[0]), (max(along), reach[1] - max(along))] if along else []
    for x, beyond in ends:
        if beyond > BEYOND:
            what = f"the scan goes on {beyond * 1000:.0f} mm beyond this station, which no station takes in"
            mend = (
                "put a station at its end; where a bulkhead leans, correct the last station by hand, with rake = "
                "[how far forward, over how much height]"
            )
            yield _problem(targets, x, what, mend)


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
    at = format_length(x * targets.ahead, targets.unit)
    return Problem(what, mend, compartment=targets.sheet.compartment, station=f"at {at}")
