"""One question of the walk: what it asks for, where the answer goes, and what Enter means."""

from dataclasses import dataclass
from typing import Any

from tapeloft.model.entering.splicing import LISTS, NONE, OPEN, Page
from tapeloft.model.survey.places import Place


@dataclass(frozen=True)
class Question:
    """What is asked: its place in the file, its words, and the type of the answer there.

    group: the heading under which it is asked. usual: what Enter writes where nothing is there yet, "" for leaving it
    out, None where there must be an answer. explains: said once, before. needed: the survey cannot be read without.
    """

    place: Place
    asks: str
    hint: Any
    group: str = ""
    usual: str | None = None
    explains: str = ""
    needed: bool = False


def is_of_corner(place: Place) -> bool:
    """Return whether a place is that of one reading of a corner."""
    return place[0] == "station" and len(place) == 4


def is_answered(page: Page, question: Question) -> bool:
    """Return whether what a question asks for is there; whether there is another of a kind is never answered so."""
    return question.place[-1] not in LISTS and page.value(question.place) is not None


def is_wanted(page: Page, question: Question) -> bool:
    """Return whether a question has neither been answered nor been left out, and the sheet asks for it."""
    if is_answered(page, question) or page.state(question.place) == NONE:
        return False
    return question.needed or page.state(question.place) == OPEN
