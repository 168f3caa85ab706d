"""Every question of the walk in order, as a paper sheet has them; which of them are open is for the page to say."""

import datetime
from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from tapeloft.model.entering.held import TAPED
from tapeloft.model.entering.placed import along
from tapeloft.model.entering.question import Question
from tapeloft.model.entering.splicing import NONE, OPEN, Page
from tapeloft.model.entering.tapes import suggested
from tapeloft.model.entering.things import things
from tapeloft.model.survey.copied import Shared, reader_of, unit_of
from tapeloft.model.survey.corners import side_of
from tapeloft.model.survey.places import Place
from tapeloft.model.survey.reading import type_hints
from tapeloft.model.survey.sheet import Corner, Datum, Marks, Sheet, Space, StationSheet

WHOLE = {"half_breadths", "points"}
"""Ways to write a section in which nothing is asked letter by letter."""
FIELDS = {one for one in StationSheet.__dataclass_fields__ if one != "corners"}
PARTS = ("half-breadth", "height")
END: Place = ("end",)
TAPE: Place = ("check", "more")
_DISTANCE = (
    "distance from zero, as 700; `700 step` where the space changes size there, `700 leans`, or `700 point` where it "
    "closes to a point. Enter: no more stations"
)
_CORNER = (
    "half-breadth, then height; or both, `402, 318`; three where a corner has a distance of its own. "
    "`none`: no such corner here"
)
_END = "station, tape, obstruction, opening, drain; `again 2Bp`. Enter: done"


def questions(page: Page, shared: Shared, today: str = "") -> tuple[Question, ...]:
    """Return every question of the sheet in the order of the paper, those that are answered too; the end is the last.

    shared: what the boat's own sheet lends this one. today: what Enter means for the date.
    """
    found = [*_head(page, shared, today), *_marks(page)]
    if page.value(("readings",)) is None:
        found += [*_distances(page), *(one for name in stations(page) for one in _section(page, name))]
    found += [
        *_tapes(page, shared),
        *(one for kind in ("obstruction", "opening", "drain") for one in things(page, kind)),
    ]
    hint = type_hints(Space)["notes"]
    notes = Question(("survey", "notes"), "remarks", hint, "remarks", usual="", explains="what the next should know")
    return (*found, notes, Question(END, "anything more", str, "the end", usual="", explains=_END))


def stations(page: Page) -> list[str]:
    """Return the names of the stations on the page, as they stand."""
    written = page.value(("station",))
    return list(written) if isinstance(written, dict) else []


def mark_order(page: Page) -> list[str]:
    """Return the letters in order round the section: as the sheet says, or as the station with the most has them."""
    stated = page.value(("marks", "order"))
    if isinstance(stated, list) and stated:
        return [mark for mark in stated if isinstance(mark, str)]
    return max((_marks_at(page, name) for name in stations(page)), key=len, default=[])


def marks_here(page: Page, name: str) -> list[str]:
    """Return the letters that are to be read at a station, or "point" where it closes to one; none for offsets."""
    written = page.value(("station", name))
    keys = set(written) if isinstance(written, dict) else set()
    if "point" in keys or page.state(("station", name, "point")):
        return ["point"]
    own = page.value(("station", name, "order"))
    order = [mark for mark in own if isinstance(mark, str)] if isinstance(own, list) else mark_order(page)
    return [] if keys & WHOLE else order


def read_at(page: Page, name: str) -> list[str]:
    """Return the letters of a station that are there, without those left out."""
    return [mark for mark in marks_here(page, name) if page.state(("station", name, mark)) != NONE]


def in_words(mark: str, order: Sequence[str]) -> str:
    """Return a letter as it is called out: Bp is B port where the sheet has Bs as well.

    >>> in_words("Bp", ["Ap", "Bp", "Bs", "As"]), in_words("Bp", ["A", "Bp"])
    ('B port', 'Bp')
    """
    side = side_of(mark, tuple(order))
    return f"{mark[:-1]} {'port' if side > 0 else 'starboard'}" if side else mark


def _marks_at(page: Page, name: str) -> list[str]:
    written = page.value(("station", name))
    return [key for key in written if key not in FIELDS] if isinstance(written, dict) else []


def _head(page: Page, shared: Shared, today: str) -> Iterator[Question]:
    space, datum = type_hints(Space), type_hints(Datum)

    def asked(place: Place, words: str, hint: Any, usual: str | None = "", explains: str = "") -> Question:
        return Question(place, words, hint, "the sheet", usual, explains)

    about_unit = "of bare numbers; any reading may have a unit of its own: 18 3/8 in"
    yield Question(("survey", "compartment"), "compartment", space["compartment"], "the sheet", needed=True)
    unit = type_hints(Sheet)["unit"]
    no_unit = unit_of(page.paper) is None and shared.unit is None
    yield Question(("unit",), "unit (mm, cm, m, in, ft, ft-in-8)", unit, "the sheet", "mm", about_unit, needed=no_unit)
    yield asked(("survey", "use"), "use (general, dry, wet, gas, chain)", space["use"], "general")
    yield asked(("survey", "date"), "date", datetime.date, today)
    yield asked(
        ("survey", "state"), "state of the boat", str, explains="as: ashore, empty, boards down. Enter: left out"
    )
    yield asked(("survey", "measured_to"), "measured to (structure, lining)", space["measured_to"], "structure")
    if page.value(("survey", "measured_to")) == "lining":
        lined = "lining" not in _keys(page, ("survey",))
        yield Question(("survey", "lining"), "its thickness", space["lining"], "the sheet", needed=lined)
    yield asked(("survey", "between"), "sides between stations (straight, fair)", space["between"], "straight")
    yield asked(("datum", "x_zero"), "zero, fore and aft", str, explains="as: forward face of the after bulkhead")
    yield asked(("datum", "x_positive"), "distances rise (forward, aft)", datum["x_positive"], "forward")
    yield asked(("datum", "y_zero"), "zero, athwart", str, explains="as: string on the centreline")
    yield asked(("datum", "z_zero"), "zero, height", str, explains="as: top of the sole")


def _keys(page: Page, place: Place) -> set[str]:
    table = page.value(place)
    return set(table) if isinstance(table, dict) else set()


def _marks(page: Page) -> Iterator[Question]:
    side = "port or starboard, for bare half-breadths; both where it lies across: letters Ap, As, or p 240"
    yield Question(
        ("marks", "side"), "side (port, starboard, both)", type_hints(Marks)["side"], "the letters", None, side
    )
    order = mark_order(page)
    around = "in order round the section, up the port side first: A B C D, or Ap Bp C Bs As"
    tabled = page.value(("readings",)) is not None or any(_keys(page, ("station", s)) & WHOLE for s in stations(page))
    needed = not order and not tabled
    yield Question(("marks", "order"), "letters", tuple[str, ...], "the letters", None, around, needed)
    for mark in about_marks(order):
        what = "what each letter is, as: sole inboard, chine. Enter: left out"
        yield Question(("marks", mark), f"{mark} is", str, "the letters", "", what)


def about_marks(order: Sequence[str]) -> list[str]:
    """Return the names under which letters are told of: A for Ap and As together.

    >>> about_marks(["Ap", "Bp", "C", "Bs", "As"])
    ['A', 'B', 'C']
    """
    return list(dict.fromkeys(mark[:-1] if side_of(mark, tuple(order)) else mark for mark in order))


def _distances(page: Page) -> Iterator[Question]:
    at = type_hints(StationSheet)["at"]
    for name in stations(page):
        yield Question(("station", name, "at"), f"station {name}, distance", at, "the stations", needed=True)
    listed = [int(name) for name in stations(page) if name.isdecimal()]
    following = max(listed, default=-1) + 1
    few = len(stations(page)) < 2
    yield Question(
        ("station",), f"station {following}, distance", at, "the stations", None if few else "", _DISTANCE, needed=few
    )


def _section(page: Page, name: str) -> Iterator[Question]:
    group = f"station {name}, at {page.written(('station', name, 'at'))}"
    if page.value(("station", name, "rake")) is not None or page.state(("station", name, "rake")):
        hint = type_hints(StationSheet)["rake"]
        words = f"station {name}, leans forward, over a height"
        yield Question(("station", name, "rake"), words, hint, group, None)
    order = mark_order(page)
    for mark in read_at(page, name):
        for k, part in enumerate(PARTS):
            asks = f"station {name}, {in_words(mark, order)}, {part}"
            listed = isinstance(page.value(("station", name, mark)), list | None)
            yield Question(("station", name, mark, k), asks, Corner, group, None, _CORNER, needed=listed)


def _tapes(page: Page, shared: Shared) -> Iterator[Question]:
    there = tapes_told(page)
    new = [label for label in _suggested(page, shared) if not _is_had(label, there)]
    for label in (*there, *new):
        kind = "girth" if label.count("-") > 1 else "tape"
        yield Question(("check", label), f"{kind} {label}", TAPED, "check tapes", "", _ABOUT_TAPES, needed=label in new)
    yield Question(TAPE, "another tape", str, "check tapes", "", "as 0A-1C 1240. Enter: no more tapes")


def _suggested(page: Page, shared: Shared) -> tuple[str, ...]:
    """Return the tapes that are asked for once letters and stations are known, as the empty sheet has them."""
    if page.state(TAPE) != OPEN or page.state(("station",)) == OPEN:
        return ()
    letters = {name: tuple(mark for mark in read_at(page, name) if mark != "point") for name in stations(page)}
    placed = along(page, shared)
    known = tuple(
        (name, placed[name], marks)
        for name, marks in letters.items()
        if name in placed and not _is_edge(page, name, marks)
    )
    return suggested(known, reader_of(page.paper, shared).how.side)


def tapes_told(page: Page) -> list[str]:
    """Return the tapes that are there and those left out, as they stand in the file."""
    spans = page.paper.places.spans
    there = {place: span[0] for place, span in spans.items() if place[0] == "check" and len(place) == 2}
    left = {place: span[0] for place, (_, span) in page.remarks.items() if place[0] == "check" and place != TAPE}
    return [str(place[1]) for place, _ in sorted((there | left).items(), key=lambda one: one[1])]


def _is_edge(page: Page, name: str, marks: Sequence[str]) -> bool:
    """Return whether all corners of a station lie on the centreline: at a stem there is nothing across to tape."""
    return all(page.written(("station", name, mark, 0)) == "0" for mark in marks)


_ABOUT_TAPES = (
    "from corner to corner, a girth along the structure past all it names; these show most. "
    "Enter: not taped; `no more`: none of the rest"
)


def _is_had(label: str, labels: Iterable[str]) -> bool:
    """Return whether a tape is there, from either end."""
    return label in labels or "-".join(reversed(label.split("-"))) in labels
