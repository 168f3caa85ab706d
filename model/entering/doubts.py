"""What looks wrong about a reading the moment it is given, held against what has been read before it."""

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
from tapeloft.shapes.polyhedron import Bounds, Round

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
    others = (note for note in notes if note.station != place[1])
    return Doubts(here, tuple(f"with this, {note.station}{note.measure} {_worded(note)}" for note in others))


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
