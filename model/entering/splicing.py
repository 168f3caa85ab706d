"""Things said put into the text of a survey, and nothing else in it touched."""

import json
import re
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from tapeloft.model.errors import Problem, SurveyError
from tapeloft.model.survey.paper import Paper
from tapeloft.model.survey.places import Place, Span

OPEN, NONE = "?", "none"
LISTS = ("station", "obstruction", "opening", "drain")
"""What there may be several of: the line that asks for another stands wherever it stands, under any heading."""
_REMARK = re.compile(r"# ?(?P<key>[A-Za-z0-9_-]+|\"[^\"\\]+\") = (?P<state>\?|none)(?P<rest>[ \t]+#.*)?\s*")
_BARE = re.compile(r"[A-Za-z0-9_-]+")
BEHIND = 34  # column in which a remark behind a value begins


@dataclass(frozen=True)
class Page:
    """A survey's file as it is being written: what it holds, what is still to be asked and what was left out."""

    paper: Paper

    @cached_property
    def remarks(self) -> dict[Place, tuple[str, Span]]:
        """Return, for each thing that a remark line names, whether it is `OPEN` or `NONE`, and from where to where."""
        raw, found = self.raw, dict[Place, tuple[str, Span]]()
        for (low, high), table in self.paper.places.remarks:
            said = _REMARK.fullmatch(raw[low:high].decode())
            if said:
                key = said["key"].strip('"')
                found[(key,) if key in LISTS else (*table, key)] = (said["state"], (low, high))
        return found

    @cached_property
    def raw(self) -> bytes:
        """The text in bytes, in which places are counted."""
        return self.paper.text.encode()

    @property
    def newline(self) -> str:
        """What ends a line in this file."""
        return "\r\n" if "\r\n" in self.paper.text else "\n"

    def value(self, place: Place) -> object:
        """Return what stands at *place*, None where nothing does."""
        here: object = self.paper.data
        for step in place:
            if isinstance(here, dict):
                here = here.get(step)
            else:
                here = here[step] if isinstance(here, list) and isinstance(step, int) and step < len(here) else None
        return here

    def written(self, place: Place) -> str:
        """Return what stands at *place* as it was typed, without quotes and brackets; "" where nothing does."""
        span, value = self.paper.places.spans.get(place), self.value(place)
        if value is None or isinstance(value, str):
            return value or ""
        if isinstance(value, list):
            return ", ".join(self.written((*place, k)) for k in range(len(value)))
        return self.raw[slice(*span)].decode() if span else json.dumps(value, default=str)

    def state(self, place: Place) -> str:
        """Return `OPEN` or `NONE` as a remark says of *place*, "" where none does."""
        return self.remarks[place][0] if place in self.remarks else ""


def page_of(file: str, text: str) -> Page:
    """Return *text* as the page of a file; raises tomllib.TOMLDecodeError where it is no TOML."""
    return Page(Paper(file, text, tomllib.loads(text)))


def named(key: str) -> str:
    """Return a key as TOML has it: in quotes where it needs them."""
    return key if _BARE.fullmatch(key) else quoted(key)


def quoted(text: str) -> str:
    """Return a text as TOML has it.

    >>> print(quoted('4\\' 11 3/8"'))
    "4' 11 3/8\\""
    """
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def put(page: Page, place: Place, value: str, after: Sequence[Place] = ()) -> Page:
    """Return the page with *value*, TOML text, at *place*: over what stands there, on a line that asks for it, or new.

    A new line goes behind the first of *after* that is there, else behind the heading. A place that ends in a number
    is in a list, which is lengthened by it. Raises SurveyError where the file is so written that nothing can be added.
    """
    spans = page.paper.places.spans
    if place in spans:
        return _spliced(page, spans[place], value, place)
    if isinstance(place[-1], int) and place[:-1] in spans:
        end = spans[(*place[:-1], place[-1] - 1)][1] if place[-1] else spans[place[:-1]][0] + 1
        return _spliced(page, (end, end), f", {value}" if place[-1] else value, place)
    if isinstance(place[-1], int):
        return put(page, place[:-1], f"[{value}]", after)
    if place in page.remarks:
        return _uncovered(page, place, f"{named(str(place[-1]))} = {value}")
    return _line_put(page, place, f"{named(str(place[-1]))} = {value}", after)


def left_out(page: Page, place: Place, after: Sequence[Place] = ()) -> Page:
    """Return the page with a line saying that what *place* names was left out."""
    return remarked(page, place, NONE, after)


def remarked(page: Page, place: Place, state: str, after: Sequence[Place] = ()) -> Page:
    """Return the page with a line that asks for what *place* names, or says that it was left out."""
    line = f"# {named(str(place[-1]))} = {state}"
    return _uncovered(page, place, line) if place in page.remarks else _line_put(page, place, line, after)


def struck(page: Page, place: Place) -> Page:
    """Return the page with the line or the table at *place* put behind #, so that it says nothing and is not lost.

    Raises SurveyError where that would say nothing of something else too.
    """
    places = page.paper.places
    if place in places.ends:
        low, high = _line_start(page, places.lines[place]), _end_of_table(page, place)
    elif place in places.spans:
        low, high = _line_begin(page, places.spans[place][0]), _line_end(page, places.spans[place][1])
    else:
        raise _refusal(page, place)
    lines = page.raw[low:high].decode().splitlines(keepends=True)
    joined = page.raw[:low].decode() + "".join(f"# {line}" if line.strip() else line for line in lines)
    new = _read(page, joined + page.raw[high:].decode(), place)
    if _full(new.paper.data) != _full(_without(page.paper.data, place)):
        raise _refusal(page, place)
    return new


def _full(data: object) -> object:
    """Return the tables of a page that hold anything."""
    return {key: one for key, one in data.items() if one not in ({}, [])} if isinstance(data, dict) else data


def begun(page: Page, kind: str, lines: Sequence[str], after: Place | None = None) -> Page:
    """Return the page with a new table, *lines* with its heading first, behind the table *after* or its last of a kind.

    It goes before the line that asks for more of the kind, where there is one and *after* is None.
    """
    block = page.newline.join([*lines, ""])
    if after is None and (kind,) in page.remarks:
        low = page.remarks[(kind,)][1][0]
        return _spliced(page, (low, low), block + page.newline, (kind,))
    last = after or next((table for table in reversed(page.paper.places.ends) if table[:1] == (kind,)), None)
    end = _end_of_table(page, last) if last else len(page.raw)
    return _spliced(page, (end, end), page.newline + block, (kind,))


def reopened(page: Page, kind: str) -> Page:
    """Return the page with another of a *kind* asked for, where its line says that there is none."""
    return remarked(page, (kind,), OPEN) if page.state((kind,)) == NONE else page


def _end_of_table(page: Page, table: Place) -> int:
    own = [span[1] for place, (_, span) in page.remarks.items() if place[:-1] == table and table]
    return _line_end(page, max([page.paper.places.ends[table], *own]))


def _line_begin(page: Page, at: int) -> int:
    return page.raw.rfind(b"\n", 0, at) + 1


def _line_start(page: Page, line: int) -> int:
    """Return where a line, counted from 1, begins."""
    at = 0
    for _ in range(line - 1):
        at = _line_end(page, at)
    return at


def _line_end(page: Page, at: int) -> int:
    """Return where the line after that at *at* begins."""
    end = page.raw.find(b"\n", at)
    return len(page.raw) if end < 0 else end + 1


def _uncovered(page: Page, place: Place, line: str) -> Page:
    """Put *line* where a remark line for *place* stands, and keep the remark behind it in its column."""
    low, high = page.remarks[place][1]
    said = _REMARK.fullmatch(page.raw[low:high].decode())
    rest = (said["rest"] or "").strip() if said else ""
    carriage = "\r" if page.raw[low:high].endswith(b"\r") else ""
    return _spliced(page, (low, high), (f"{line:<{BEHIND - 1}} {rest}" if rest else line) + carriage, place)


def _line_put(page: Page, place: Place, line: str, after: Sequence[Place]) -> Page:
    table = place[:-1]
    if table not in page.paper.places.ends and table:
        return _spliced(page, (len(page.raw),) * 2, page.newline.join(["", f"[{_heading(table)}]", line, ""]), place)
    spans = page.paper.places.spans
    behind = next((spans[p][1] if p in spans else page.remarks[p][1][1] for p in after if _is_there(page, p)), None)
    at = _line_end(page, page.paper.places.ends.get(table, 0) if behind is None else behind)
    return _spliced(page, (at, at), line + page.newline, place)


def _is_there(page: Page, place: Place) -> bool:
    return place in page.paper.places.spans or place in page.remarks


def _heading(table: Place) -> str:
    return ".".join(named(str(step)) for step in table)


def _spliced(page: Page, span: Span, text: str, place: Place) -> Page:
    """Return the page with *text* from, to *span*; refuse where that would alter anything but *place*."""
    low, high = span
    before = page.raw[:low]
    gap = page.newline if low and low == high == len(page.raw) and not before.endswith(b"\n") else ""
    new = _read(page, (before + gap.encode() + text.encode() + page.raw[high:]).decode(), place)
    if _without(new.paper.data, place) != _without(page.paper.data, place):
        raise _refusal(page, place)
    return new


def _read(page: Page, text: str, place: Place) -> Page:
    try:
        return page_of(page.paper.file, text)
    except tomllib.TOMLDecodeError:
        raise _refusal(page, place) from None


def _without(value: object, place: Place) -> object:
    """Return what is there without what *place* names, nor what around it is empty then.

    >>> _without({"a": {"b": 1, "c": 2}}, ("a", "b")), _without({"a": [{"b": 1}], "c": 0}, ("a", 0, "b"))
    ({'a': {'c': 2}}, {'c': 0})
    """
    if isinstance(value, dict):
        inner = {key: _within(one, place) if key == place[0] else one for key, one in value.items()}
        return {key: one for key, one in inner.items() if key != place[0] or one not in (None, {}, [])}
    if isinstance(value, list):
        listed = [_within(one, place) if k == place[0] else one for k, one in enumerate(value)]
        return [one for k, one in enumerate(listed) if k != place[0] or one not in (None, {}, [])]
    return value


def _within(value: object, place: Place) -> object:
    return _without(value, place[1:]) if place[1:] else None


def _refusal(page: Page, place: Place) -> SurveyError:
    what = f"{_heading(place)} is so written here that nothing can be put to it without rewriting it"
    mend = "put it in by hand, or write the table as a [heading] with a line a name"
    return SurveyError([Problem(what, mend, page.paper.file, page.paper.line(place))])
