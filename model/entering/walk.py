"""The walk itself: what is asked next, and what comes of a line that is typed."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

from tapeloft.model.entering.answers import Answered, answered, unanswered
from tapeloft.model.entering.called import back_in, called, labels, told_of
from tapeloft.model.entering.doubts import Doubts, doubts, tapes_off
from tapeloft.model.entering.listing import listed
from tapeloft.model.entering.question import Question, is_of_corner, is_wanted
from tapeloft.model.entering.questions import END, TAPE, questions
from tapeloft.model.entering.splicing import LISTS, NONE, Page, remarked, struck
from tapeloft.model.errors import nearest
from tapeloft.model.survey.copied import Shared
from tapeloft.model.survey.measures import shown
from tapeloft.model.survey.places import Place
from tapeloft.model.units import Misread

BACK, LIST, STOP, HELP = ("b", "back"), ("l", "list"), ("q", "quit", "stop"), ("?", "h", "help")
ON = "on"
ADDED = {"station": ("station",), "tape": TAPE, **{kind: (kind,) for kind in LISTS}}
HELPED = (
    "b: back one",
    "l: what there is",
    "again 2Bp: read corner B port of station 2 again; again 2: all of station 2; also again 0A-0C, again unit",
    "on: enough read again, on to what is still to be asked",
    "again station: one station more; also again tape, obstruction, opening, drain",
    "drop 0A-0C: put a tape, a corner, a station or a thing behind #, as if it were not there",
    "none: not there, left out",
    "q: stop; all is written, and it goes on where it was left",
)


@dataclass(frozen=True)
class Walk:
    """Where the walk is: the page so far, and what is being read again, if anything.

    at: the place of the question that is asked though it is answered; None for the first that is wanted. through: the
    last place that is asked again; None to go on to the first that is wanted. today: what Enter means for the date.
    """

    page: Page
    shared: Shared = field(default_factory=Shared)
    today: str = ""
    at: Place | None = None
    through: Place | None = None

    @cached_property
    def questions(self) -> tuple[Question, ...]:
        """Every question of the sheet as it is now, in order."""
        return questions(self.page, self.shared, self.today)


@dataclass(frozen=True)
class Told:
    """What came of a line: the walk as it is then, what to say, and whether it has ended, done or stopped."""

    walk: Walk
    says: tuple[str, ...] = ()
    done: bool = False
    stopped: bool = False


def asked(walk: Walk) -> Question:
    """Return the question that is asked now; the last is whether there is anything more."""
    again = next((one for one in walk.questions if one.place == walk.at), None)
    wanted = (one for one in walk.questions if is_wanted(walk.page, one))
    return again or next(wanted, walk.questions[-1])


def progress(walk: Walk) -> tuple[int, int]:
    """Return how many readings of corners there are, and how many there will be."""
    corners = [one for one in walk.questions if is_of_corner(one.place)]
    return sum(walk.page.value(one.place) is not None for one in corners), len(corners)


def numbered(walk: Walk, question: Question) -> tuple[int, int]:
    """Return the number of a question among all readings of corners, 0 where it asks for none, and how many they are.

    It counts along the sheet, so that a reading has the same number whenever it is asked for.
    """
    corners = [one.place for one in walk.questions if is_of_corner(one.place)]
    return (corners.index(question.place) + 1 if question.place in corners else 0), len(corners)


def told(walk: Walk, line: str) -> Told:
    """Return what comes of a line typed at the question that is asked now; what cannot be is said, and asked again."""
    question, said = asked(walk), " ".join(line.split())
    try:
        return _commanded(walk, question, said) or _answered(walk, question, said)
    except Misread as bad:
        return Told(walk, (f"{bad.what}{'' if bad.what.endswith('?') else ':'} {bad.mend}",))


def _commanded(walk: Walk, question: Question, said: str) -> Told | None:
    word, _, rest = said.partition(" ")
    if said.lower() in STOP:
        return Told(walk, stopped=True)
    if said.lower() in HELP:
        return Told(walk, (question.explains, *HELPED) if question.explains else HELPED)
    if said.lower() in LIST:
        return Told(walk, tuple(listed(walk.page)))
    if said.lower() in BACK:
        return _back(walk, question)
    if said.lower() == ON:
        there = walk.at is None or is_wanted(walk.page, question)
        return Told(walk, ("nothing is being read again",)) if there else Told(replace(walk, at=None, through=None))
    if word.lower() == "again" and rest:
        return _again(walk, question, rest)
    if word.lower() == "drop" and rest:
        return _dropped(walk, rest)
    return None


def _back(walk: Walk, question: Question) -> Told:
    places = [one.place for one in walk.questions]
    here = places.index(question.place)
    if here == 0:
        return Told(walk, ("this is the first question",))
    return Told(replace(walk, at=places[here - 1]))


def _again(walk: Walk, question: Question, name: str) -> Told:
    page = back_in(walk.page, name)
    reread = replace(walk, page=page)
    places = called(page, reread.questions, question.place, name)
    if not places and name.lower() in ADDED:
        places = [ADDED[name.lower()]]
    if not places:
        raise Misread(f"nothing is called {shown(name)}{nearest(name, labels(page))}", "write 2Bp, 0A-0C, unit, a name")
    return Told(replace(reread, at=places[0], through=places[-1]))


def _dropped(walk: Walk, name: str) -> Told:
    place = told_of(walk.page, name)
    if place is None:
        hint = nearest(name, labels(walk.page))
        raise Misread(f"nothing called {shown(name)} is written{hint}", "a corner, a station, a tape or a thing")
    new = replace(walk, page=struck(walk.page, place), at=None, through=None)
    return Told(new, (f"{name} stands behind # in the file now, and counts no more",))


def _answered(walk: Walk, question: Question, said: str) -> Told:
    if not said:
        return _entered(walk, question)
    if question.place == END:
        return _more(walk, question, said)
    if question.place[0] == "check" and said.lower() in ("no more", "n"):
        return Told(replace(walk, page=remarked(walk.page, TAPE, NONE), at=None, through=None))
    before = _before(walk, question)
    try:
        got = answered(walk.page, walk.shared, question, said, before)
    except Misread:
        named = question.place[0] in ("station", "check") and not said.isdecimal()  # a bare number is a reading
        if named and called(walk.page, walk.questions, question.place, said):
            return _again(walk, question, said)
        raise
    return _written(walk, question, got)


def _written(walk: Walk, question: Question, got: Answered) -> Told:
    """Return the walk with an answer in it; where that looks wrong, its question stands, and Enter keeps it."""
    new = replace(walk, page=got.page)
    place = got.through if question.place[0] == "check" else question.place
    odd = doubts(walk.page, got.page, walk.shared, place) if got.page != walk.page else Doubts()
    says = (*((got.says,) if got.says else ()), *odd.elsewhere, *_tapes_to_it(new, got.through))
    if not odd.here:
        return Told(_onward(new, question, got.through), says)
    again = replace(new, at=place, through=walk.through if walk.at else got.through)
    return Told(again, (*says, *odd.here, "read it again, or Enter keeps it"))


def _tapes_to_it(walk: Walk, place: Place) -> tuple[str, ...]:
    """Return which check tapes to a corner are off once its height, the last of it, is given or kept."""
    return tapes_off(walk.page, walk.shared, place) if len(place) == 4 and place[3] == 1 else ()


def _entered(walk: Walk, question: Question) -> Told:
    """Return what Enter alone does: keep what there is, take what is usual, or leave it out."""
    if question.place == END:
        return Told(walk, done=True)
    if not is_wanted(walk.page, question):
        return Told(_onward(walk, question, question.place), _tapes_to_it(walk, question.place))
    if question.usual is None:
        raise Misread("this one is needed", question.explains or _ways_out(walk, question))
    if question.usual:
        got = answered(walk.page, walk.shared, question, question.usual, _before(walk, question))
        return Told(_onward(replace(walk, page=got.page), question, got.through))
    page = unanswered(walk.page, question, _before(walk, question))
    thing = question.place[0] in LISTS and len(question.place) > 1
    odd = doubts(walk.page, page, walk.shared, question.place) if thing else Doubts()
    return Told(_onward(replace(walk, page=page), question, question.place), odd.elsewhere)


def _ways_out(walk: Walk, question: Question) -> str:
    name = walk.page.value((*question.place[:2], "name")) if question.place[0] in LISTS else None
    return f"{f'`drop {name}` takes it out, ' if name else ''}`q` stops here, and goes on later"


def _before(walk: Walk, question: Question) -> Sequence[Place]:
    """Return the places asked before a question under the same heading, the nearest first."""
    places = [one.place for one in walk.questions]
    here = places.index(question.place) if question.place in places else len(places)
    table = question.place[:2] if question.place[0] in LISTS and len(question.place) > 1 else question.place[:-1]
    return [place for place in reversed(places[:here]) if place[: len(table)] == table and len(place) > len(table)]


def _onward(walk: Walk, question: Question, through: Place) -> Walk:
    """Return the walk past a question: to the next that is read again, or to the first that is wanted."""
    places = [one.place for one in walk.questions]
    if walk.at is None or question.place == walk.through or through == walk.through or len(question.place) == 1:
        return replace(walk, at=None, through=None)
    last = through if through in places else question.place
    after = places[places.index(last) + 1 :] if last in places else []
    if walk.through is not None:  # of a station its distance is asked far ahead of its corners
        after = [place for place in after if place[:2] == walk.through[:2]]
    following = next(iter(after), END)
    onward = replace(walk, at=following)
    wanted = is_wanted(walk.page, asked(onward)) or following == END
    return replace(walk, at=None, through=None) if wanted else onward


def _more(walk: Walk, question: Question, said: str) -> Told:
    word = said.lower()
    if word in ADDED:
        return Told(replace(walk, at=ADDED[word], through=ADDED[word]))
    if called(walk.page, walk.questions, question.place, said):
        return _again(walk, question, said)
    raise Misread(f"{shown(said)} is nothing to add", "station, tape, obstruction, opening, drain, or Enter when done")
