"""What an answer does: it is held against what the reader takes there, and written into the page."""

import re
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from tapeloft.model.entering.distances import keep_in_order, new_station
from tapeloft.model.entering.held import CORNER, TAPED, checked
from tapeloft.model.entering.question import Question
from tapeloft.model.entering.questions import (
    FIELDS,
    PARTS,
    TAPE,
    about_marks,
    mark_order,
    read_at,
    stations,
    tapes_told,
)
from tapeloft.model.entering.splicing import LISTS, OPEN, Page, begun, left_out, put, quoted, remarked, reopened
from tapeloft.model.entering.things import follow, plain_shapes
from tapeloft.model.entering.typed import reading_text, several, toml_text
from tapeloft.model.errors import nearest
from tapeloft.model.survey.copied import Shared, unit_of
from tapeloft.model.survey.corners import side_of
from tapeloft.model.survey.measures import shown
from tapeloft.model.survey.places import Place
from tapeloft.model.units import Misread

SELECTING = {"shape", "wall", "diameter"}
TAKEN = {*FIELDS, *LISTS, "side", "about", "more", "corners"}
"""Words that no letter can be, for they say something else in a survey."""
_ONE_TAPE = re.compile(r"([^\s=:]+-[^\s=:]+)[\s=:]+(.+)")
_MARK = re.compile(r"[^\W\d_]\w{0,7}")


@dataclass(frozen=True)
class Answered:
    """The page with an answer in it, the last place that it filled, and what to say of it."""

    page: Page
    through: Place
    says: str = ""


def answered(page: Page, shared: Shared, question: Question, line: str, before: Sequence[Place] = ()) -> Answered:
    """Return the page with the answer *line* to a question in it; raises Misread where it is none.

    before: the questions' places that come before this one, the nearest first: a new line goes behind those.
    """
    place = question.place
    if line.lower() in ("none", "-") and (question.usual == "" or len(place) == 4):
        return _without(page, place, before)
    if place == ("station",):
        return Answered(new_station(page, shared, line), place)
    if place == TAPE or (place[0] == "check" and _names_tape(page, line)):
        return _tape(page, shared, line)
    if len(place) == 1 and place[0] in LISTS:
        return _thing(page, shared, question, line)
    if place == ("marks", "order"):
        return _letters(page, line, before)
    if place[0] == "station" and len(place) == 4:
        return _corner(page, shared, place, line, before)
    return _plain(page, shared, question, line, before)


def unanswered(page: Page, question: Question, before: Sequence[Place] = ()) -> Page:
    """Return the page with a question left out, as Enter says it."""
    return left_out(page, question.place, before)


def _without(page: Page, place: Place, before: Sequence[Place]) -> Answered:
    corner = place[:3] if place[0] == "station" and len(place) == 4 else place
    if page.value(corner) is not None:
        raise Misread("it is written already", "read it again, or take it out in the file")
    behind = [one[:3] for one in before] if corner != place else before
    return Answered(left_out(page, corner, behind), corner)


def _plain(page: Page, shared: Shared, question: Question, line: str, before: Sequence[Place]) -> Answered:
    place = question.place
    if place[-1] == "shape":
        line = _shape(page, place, line)
    text = toml_text(question.hint, line, unit_of(page.paper) or shared.unit)
    value = checked(page, shared, question.hint, text, place)
    if place[0] == "station" and place[-1] == "at":
        keep_in_order(page, shared, str(place[1]), value)
    new = put(page, place, text, before)
    if place[-1] in SELECTING and isinstance(place[1], int):
        return Answered(_opened(new, follow(new, str(place[0]), place[1]), place), place)
    turned = place == ("unit",) and page.value(place) not in (None, new.value(place))
    return Answered(new, place, f"every bare number in the file is in {new.value(place)} now" if turned else "")


def _shape(page: Page, place: Place, line: str) -> str:
    """Return the shape that a word begins; refuse one that has not the readings which are there already."""
    known = [name for name in plain_shapes() if line and name.startswith(line.lower())]
    known = [name for name in known if name == line.lower()] or known
    if len(known) != 1:
        hint = nearest(line, plain_shapes())
        raise Misread(f"{shown(line)} is no shape asked for here{hint}", "other shapes are put in by hand")
    there = [one for one in follow(page, str(place[0]), int(place[1])) if page.value(one) is not None]
    return known[0] if not there or page.value(place) == known[0] else _no_other_shape()


def _no_other_shape() -> str:
    raise Misread("its readings are there, for the shape that it has", "change the shape in the file")


def _opened(page: Page, places: Sequence[Place], behind: Place) -> Page:
    """Return the page with a line that asks for each of *places*, one behind the other, where it says nothing of it."""
    for place in places:
        if page.value(place) is None and not page.state(place):
            page = remarked(page, place, OPEN, [behind])
        behind = place
    return page


def _corner(page: Page, shared: Shared, place: Place, line: str, before: Sequence[Place]) -> Answered:
    corner, part = place[:3], int(place[3])
    readings = several(line, unit_of(page.paper) or shared.unit)
    if len(readings) > (len(CORNER), 1)[part]:
        what = f"{len(readings)} readings at once, and {'the height alone is asked' if part else 'a corner has three'}"
        raise Misread(what, "one reading, or `b` for both again" if part else "half-breadth, height, its own distance")
    side = side_of(str(place[2]), tuple(mark_order(page)))
    texts = [reading_text(one) for one in readings]
    for k, text in enumerate(texts, part):
        checked(page, shared, CORNER[k], text, (*corner, k), side)
    if page.value(corner) is None and len(texts) > 1:
        new = put(page, corner, f"[{', '.join(texts)}]", [one[:3] for one in before])
    else:
        new = page
        for k, text in enumerate(texts, part):
            new = put(new, (*corner, k), text, [one[:3] for one in before])
    words = (*PARTS, "its own distance")
    told = ", ".join(f"{words[k]} {one}" for k, one in enumerate(readings, part)) if len(readings) > 1 else ""
    return Answered(new, (*corner, min(part + len(texts), 2) - 1), told)


def _letters(page: Page, line: str, before: Sequence[Place]) -> Answered:
    marks = [mark for mark in re.split(r"[\s,;]+", line) if mark]
    odd = next((mark for mark in marks if not _MARK.fullmatch(mark) or mark in TAKEN), None)
    if odd is not None:
        raise Misread(f"{shown(odd)} is no letter for a corner", "write A B C D, or Ap Bp C Bs As")
    twice = next((mark for number, mark in enumerate(marks) if mark in marks[:number]), None)
    if twice or len(marks) < 3:
        count = f"{len(marks)} corner{' makes' if len(marks) == 1 else 's make'} no section"
        mend = "name each corner once, three or more, in order round the section, a blank between: A B C D"
        raise Misread(f"{twice} is named twice" if twice else count, mend)
    lost = [mark for name in stations(page) for mark in read_at(page, name) if mark not in marks and mark != "point"]
    lost = [mark for mark in lost if any(page.value(("station", name, mark)) is not None for name in stations(page))]
    if lost:
        raise Misread(f"{lost[0]} has been read already and is not among them", "name it too, or take it out by hand")
    new = put(page, ("marks", "order"), f"[{', '.join(map(quoted, marks))}]", before)
    return Answered(
        _opened(new, [("marks", mark) for mark in about_marks(marks)], ("marks", "order")), ("marks", "order")
    )


def _names_tape(page: Page, line: str) -> bool:
    """Return whether a line names a tape of its own, with its reading, where another was asked for."""
    said = _ONE_TAPE.fullmatch(line)
    return said is not None and set(said[1].split("-")) <= _labels(page)


def _labels(page: Page) -> set[str]:
    return {name + mark for name in stations(page) for mark in read_at(page, name)}


def _tape(page: Page, shared: Shared, line: str) -> Answered:
    said = _ONE_TAPE.fullmatch(line)
    if not said:
        raise Misread(f"{shown(line)} is no tape with its corners", "write both corners and the reading: 0A-1C 1240")
    labels = _labels(page)
    ends = said[1].split("-")
    unknown = next((end for end in ends if end not in labels), None)
    if unknown is not None:
        raise Misread(f"{shown(unknown)} is no corner{nearest(unknown, sorted(labels))}", "station and letter, as 1A")
    if any(a == b for a, b in pairwise(ends)):
        raise Misread(f"{said[1]} goes from a corner to itself", "name two corners")
    place: Place = ("check", said[1])
    text = reading_text(said[2].strip())
    checked(page, shared, TAPED, text, place)
    behind = [("check", label) for label in reversed(tapes_told(page))]
    return Answered(put(page, place, text, behind), place)


def _thing(page: Page, shared: Shared, question: Question, line: str) -> Answered:
    kind = str(question.place[0])
    text = toml_text(str, line, None)
    name = tomllib.loads(f"value = {text}")["value"]
    listed = page.value((kind,))
    number = len(listed) if isinstance(listed, list) else 0
    if any(page.value((kind, k, "name")) == name for k in range(number)):
        raise Misread(f"there is {shown(name)} already", f"give it another name, or read it again: `again {name}`")
    new = begun(page, kind, [f"[[{kind}]]", f"name = {text}"])
    return Answered(reopened(new, kind), (kind,))
