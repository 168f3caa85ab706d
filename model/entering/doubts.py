"""What looks wrong about a reading the moment it is given, held against what has been read before it."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from tapeloft.model.entering.questions import FIELDS, stations
from tapeloft.model.entering.splicing import OPEN, Page
from tapeloft.model.entering.tapes import off
from tapeloft.model.entering.things import follow
from tapeloft.model.errors import Problem
from tapeloft.model.survey.applied import survey_of
from tapeloft.model.survey.copied import Shared, name_of, reader_of
from tapeloft.model.survey.oddities import oddities
from tapeloft.model.survey.places import Place
from tapeloft.model.survey.reading import read
from tapeloft.model.survey.sheet import Obstruction, Sheet
from tapeloft.model.survey.slips import slips
from tapeloft.model.survey.survey import Survey
from tapeloft.model.units import format_length
from tapeloft.shapes.polyhedron import Bounds, Round

UNLIKE = 0.1  # m that a letter's heights to port and to starboard may differ before it is asked whether they do
SIDES = {"p": ("s", "starboard"), "s": ("p", "port")}
TAPED = ("format", "version", "unit", "datum", "accuracy", "marks", "offsets", "parameter", "check")


@dataclass(frozen=True)
class Doubts:
    """What looks wrong, in words: about the answer itself, and about what was read before and looks odd beside it."""

    here: tuple[str, ...] = ()
    elsewhere: tuple[str, ...] = ()


def doubts(before: Page, after: Page, shared: Shared, place: Place) -> Doubts:
    """Return what looks wrong now that *after* has an answer at *place*, and did not as long as *before* had none.

    Half a corner is held against its neighbours with the height of the station beside it, until its own is read.
    """
    if place[0] == "check":
        return Doubts(tuple(_of_tape(after, shared, place)))
    if place[0] == "obstruction" and len(place) > 1:
        return Doubts(elsewhere=tuple(_of_thing(after, shared, place)))
    if place[0] != "station" or len(place) < 3:
        return Doubts()
    looked = slips if place[2] == "at" or len(_listed(after, place)) < 2 else oddities
    old, new = draft(before, shared), draft(after, shared)
    had = {_key(note) for note in looked(old)} if old else set()
    notes = [note for note in (looked(new) if new else ()) if note.measure == place[2] and _key(note) not in had]
    here = tuple(f"{note.measure} {_worded(note)}" for note in notes if note.station == place[1])
    here = here or (tuple(_unlike_its_partner(new, place)) if new and looked is oddities else ())
    others = (note for note in notes if note.station != place[1])
    return Doubts(here, tuple(f"with this, {note.station}{note.measure} {_worded(note)}" for note in others))


def tapes_off(page: Page, shared: Shared, place: Place) -> tuple[str, ...]:
    """Return in words which check tapes to the corner at *place* are off, now that it has been read again."""
    survey = draft(page, shared)
    mine = [check for check in survey.checks if place[1:3] in check.corners] if survey else []
    told = (("-".join(s + mark for s, mark in check.corners), off(survey, check)) for check in mine if survey)
    return tuple(f"tape {label}: {said}; read it again with `again {label}`" for label, said in told if said)


def _unlike_its_partner(survey: Survey, place: Place) -> Iterator[str]:
    """Yield that a corner's height is far from that of its letter on the other side, where no other station has it so.

    Lockers across the centreline are mostly alike on both sides; where one is not, other stations tell of it too.
    """
    mark = str(place[2])
    other, side = SIDES.get(mark[-1:], ("", ""))
    heights = {one.name: {corner.name: corner.at[2] for corner in one.corners} for one in survey.stations}
    partner = mark[:-1] + other
    pairs = {name: (at[mark], at[partner]) for name, at in heights.items() if {mark, partner} <= at.keys()}
    mine = pairs.pop(str(place[1]), None)
    if not other or mine is None or abs(mine[0] - mine[1]) < UNLIKE:
        return
    if all(abs((a - b) - (mine[0] - mine[1])) >= UNLIKE for a, b in pairs.values()):
        here, beside = (format_length(height, survey.unit) for height in mine)
        yield f"{mark} is {here} high, and {mark[:-1]} {side} at this station {beside}: is it so?"


def _worded(note: Problem) -> str:
    """Return what a note says, and what would mend it where that is more than to read it again."""
    if note.mend == "read it again":
        return note.what
    return f"{note.what}{' ' if note.what.endswith('?') else '; '}{note.mend}"


def draft(page: Page, shared: Shared) -> Survey | None:
    """Return the survey as far as it goes, None where nothing can be made of it yet; never to answer from."""
    data: dict[str, Any] = {key: page.paper.data[key] for key in TAPED if key in page.paper.data}
    data |= {"survey": {"compartment": name_of(page.paper)}}
    there = [name for name in stations(page) if page.value(("station", name, "at")) is not None]
    data["station"] = {name: _so_far(page, name) for name in there}
    reader = reader_of(page.paper, shared)
    sheet: Sheet | None = read(reader, Sheet, data)
    return survey_of(reader, sheet, (), ()) if sheet else None


def _so_far(page: Page, name: str) -> dict[str, Any]:
    """Return a station with the corners that are whole; half a one has the height of the station beside it."""
    written = page.value(("station", name))
    known: dict[str, Any] = {}
    for key, value in written.items() if isinstance(written, dict) else ():
        if isinstance(value, list) and len(value) == 1 and key not in FIELDS:
            height = _height_beside(page, name, key)
            known |= {} if height is None else {key: [*value, height]}
        elif key != "point":
            known[key] = value
    return known


def _height_beside(page: Page, name: str, mark: str) -> object:
    """Return the height of a letter at the station nearest in order that has it, None where none has."""
    names = stations(page)
    here = names.index(name)
    nearest = sorted(names, key=lambda one: abs(names.index(one) - here))
    heights = (page.value(("station", one, mark, 1)) for one in nearest if one != name)
    return next((height for height in heights if height is not None), None)


def _listed(page: Page, place: Place) -> list[object]:
    value = page.value(place[:3])
    return value if isinstance(value, list) else []


def _key(note: Problem) -> tuple[str, str, str]:
    return note.station, note.measure, note.what


def _of_tape(page: Page, shared: Shared, place: Place) -> list[str]:
    survey = draft(page, shared)
    label = str(place[1])
    if survey is None:
        return []
    slipped = [note.what for note in slips(survey) if note.measure.endswith(label) and note.measure != label]
    mine = [check for check in survey.checks if "-".join(s + mark for s, mark in check.corners) == label]
    told = slipped or [said for said in (off(survey, check) for check in mine) if said]
    ends = " or ".join(f"`again {end}`" for end in label.split("-"))
    return [f"{one}{' ' if one.endswith('?') else '; '}or a corner of it is off: {ends}" for one in told]


def _of_thing(page: Page, shared: Shared, place: Place) -> list[str]:
    """Return why a thing that has been told in full makes no body, where it makes none."""
    kind, number = str(place[0]), place[1]
    if not isinstance(number, int) or any(page.state(one) == OPEN for one in follow(page, kind, number)):
        return []
    survey, reader = draft(page, shared), reader_of(page.paper, shared)
    raw = page.value((kind, number))
    thing: Obstruction | None = read(reader, Obstruction, raw, (kind, number)) if isinstance(raw, dict) else None
    if thing is None:
        return [f"{problem.what}; {problem.mend}" for problem in reader.problems]
    spots = [corner.at for station in survey.stations for corner in station.corners] if survey else []
    if not spots:
        return []
    axes = list(zip(*spots, strict=True))
    low, high = (tuple(pick(axis) for axis in axes) for pick in (min, max))
    try:
        thing.shape.bodies(Bounds(low, high), Round.OUTSIDE)
    except ValueError as bad:
        return [f"{bad}; read it again"]
    return []
