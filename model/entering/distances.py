"""The stations along the tape: a new one put where it belongs, and none out of its order."""

import re

from tapeloft.model.entering.held import CORNER, checked
from tapeloft.model.entering.placed import along
from tapeloft.model.entering.questions import stations
from tapeloft.model.entering.splicing import OPEN, Page, begun, reopened
from tapeloft.model.entering.typed import reading_text
from tapeloft.model.survey.copied import Shared, reader_of
from tapeloft.model.units import Misread

_WAYS = re.compile(r"(.+?)[ ,]+(step|leans|point)", re.IGNORECASE)
_LINES = {"": [], "step": ["step = true"], "leans": ["# rake = ?"], "point": ["# point = ?"]}


def new_station(page: Page, shared: Shared, line: str) -> Page:
    """Return the page with a station at the distance in *line*, behind which may stand `step`, `leans` or `point`.

    Raises Misread where it cannot stand there.
    """
    said = _WAYS.fullmatch(line)
    typed, way = (said[1], said[2].lower()) if said else (line, "")
    text = reading_text(typed)
    here = reader_of(page.paper, shared).how.ahead * checked(page, shared, CORNER[2], text, ("station",))
    placed = along(page, shared)
    _check_step(placed, here, stepped=way == "step")
    names = list(placed)
    before = [name for name in names if placed[name] <= here]
    if len(before) < len(names) and (page.state(("station",)) == OPEN or not before):
        what = f"that is before station {names[-1]}, at {page.written(('station', names[-1], 'at'))}"
        raise Misread(what, "stations go in order along the tape: read it again")
    name = str(max((int(one) for one in stations(page) if one.isdecimal()), default=-1) + 1)
    behind = ("station", before[-1]) if len(before) < len(names) else None
    new = begun(page, "station", [f"[station.{name}]", f"at = {text}", *_LINES[way]], behind)
    return reopened(new, "station")


def keep_in_order(page: Page, shared: Shared, name: str, x: float) -> None:
    """Refuse, as Misread, a distance x, m, read again for a station that would put it past the one beside it."""
    placed = along(page, shared) | {name: reader_of(page.paper, shared).how.ahead * x}
    names = [one for one in stations(page) if one in placed]
    k = names.index(name)
    beside = [placed[one] for one in names[max(k - 1, 0) : k + 2]]
    if beside != sorted(beside):
        raise Misread("that is past the station beside it", "stations go in order along the tape: read it again")
    steps = [page.value(("station", one, "step")) for one in names[k : k + 2]]
    if len(set(beside)) < len(beside) and True not in steps:
        raise Misread("that is the distance of the station beside it", "read it again")


def _check_step(placed: dict[str, float], here: float, *, stepped: bool) -> None:
    last = list(placed)[-1:]
    if stepped and [placed[name] for name in last] != [here]:
        raise Misread("a step has the distance of the station before it", "read it again, or leave `step` out")
    equal = [name for name in placed if placed[name] == here]
    if equal and not stepped:
        what = f"station {equal[0]} is at that distance already"
        raise Misread(what, "write `step` behind it if the space changes size there, else read it again")
