"""What a person means by a name on the walk: 2Bp a corner, 2 a station, 0A-0C a tape, "chain pipe" a thing."""

from collections.abc import Callable, Sequence

from tapeloft.model.entering.question import Question
from tapeloft.model.entering.questions import marks_here, read_at, stations, tapes_told
from tapeloft.model.entering.splicing import NONE, OPEN, Page, remarked
from tapeloft.model.entering.things import ANOTHER
from tapeloft.model.survey.places import Place


def called(page: Page, questions: Sequence[Question], here: Place, name: str) -> list[Place]:
    """Return the places of all *questions* about what is called so, in order; none where nothing is.

    Capitals do not matter. A word such as depth is that of the thing which is asked for at *here*; a station's name is
    all of the station; what a question says before it names the choices will do as well.
    """
    said, places = name.lower(), [one.place for one in questions]
    corner = next((place for label, place in _corners(page) if label == said), None)
    if corner:
        return [place for place in places if place[:3] == corner]
    thing = _thing(page, said)
    ways: tuple[Callable[[Place], bool], ...] = (
        lambda place: place[:2] == ("station", name),
        lambda place: (len(place) == 2 and str(place[1]).lower() == said) or place == (said,),
        lambda place: len(place) == 3 and place[:2] == thing,
        lambda place: len(place) == 3 and place[:2] == here[:2] and str(place[2]).lower() == said,
    )
    found = ([place for place in places if way(place)] for way in ways)
    worded = [one.place for one in questions if one.asks.lower().partition(" (")[0] == said]
    return next((some for some in found if some), worded)


def told_of(page: Page, name: str) -> Place | None:
    """Return the place of the corner, tape, station or thing called so that is written on the page, None for none."""
    said = name.lower()
    tapes: list[tuple[str, Place]] = [(label.lower(), ("check", label)) for label in tapes_told(page)]
    tables: list[tuple[str, Place]] = [(one.lower(), ("station", one)) for one in stations(page)]
    known = (place for label, place in (*_corners(page), *tapes, *tables) if label == said)
    return next((place for place in known if page.value(place) is not None), None) or _thing(page, said)


def back_in(page: Page, name: str) -> Page:
    """Return the page with a corner asked for again that had been left out as not there."""
    for station in stations(page):
        for mark in marks_here(page, station):
            place: Place = ("station", station, mark)
            if (station + mark).lower() == name.lower() and page.state(place) == NONE:
                return remarked(page, place, OPEN)
    return page


def labels(page: Page) -> list[str]:
    """Return the names of all corners that are read: station and letter."""
    return [station + mark for station in stations(page) for mark in read_at(page, station)]


def _corners(page: Page) -> list[tuple[str, Place]]:
    return [((s + mark).lower(), ("station", s, mark)) for s in stations(page) for mark in read_at(page, s)]


def _thing(page: Page, said: str) -> Place | None:
    for kind in ANOTHER:
        listed = page.value((kind,))
        for number in range(len(listed) if isinstance(listed, list) else 0):
            if str(page.value((kind, number, "name"))).lower() == said:
                return (kind, number)
    return None
