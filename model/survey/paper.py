"""A survey file as it was typed: its text, what it holds, and on which line each thing stands."""

import os
import re
import tomllib
from dataclasses import dataclass, field
from difflib import get_close_matches
from functools import cached_property
from pathlib import Path
from typing import Any

from tapeloft.model.errors import FileError, Problem, SurveyError
from tapeloft.model.survey.places import Place, Places, surveyed

LARGEST = 5_000_000
"""Bytes. A sheet of a hundred stations has thirty thousand."""
MOST_POINTS = 200
"""In one key: reading a dotted key takes time with the square of its parts."""

# What tomllib says, by its first words, and what that means to someone who has a sheet of readings before them.
_TROUBLES = (
    ("Expected newline", "there is more here than one value",
     'put a reading with a unit, a fraction, a decimal comma or dashes in quotes, "59 3/8 in"; begin a remark with #'),
    ("Unclosed array", "a list begun here or above is not closed, or a comma is missing in it",
     'write [ …, … ]; a fraction, a unit or feet and inches in quotes, ["18 3/8", 0]'),
    ("Unclosed inline table", "a { is not closed, or a comma is missing after it", "write { name = value, … }"),
    ("Expected '=' after a key", "there is no = after the name", "write name = value"),
    ("Expected ']", "the heading is not closed", "write [station.2], or [[obstruction]] where there are several"),
    ("Invalid initial character for a key", "there is no name here", "write a name of letters, digits, - and _"),
    ("Invalid statement", "no line can begin like this", "begin it with a name, a [heading] or # for a remark"),
    ("Invalid value", "this value cannot be read", 'write a number, or put text in quotes: "…"'),
    ("Invalid date", "there is no such date", "write it as 2026-05-31"),
    ("Unescaped", "a backslash stands in quotes", "write file names with /, or put them in single quotes"),
    ("Invalid hex", "a backslash stands in quotes", "write file names with /, or put them in single quotes"),
    ("Escaped character", "a backslash stands in quotes", "write file names with /, or put them in single quotes"),
    ("Illegal character '\\n'", "a quote is opened and not closed on its line", "close the quote"),
    ("Unterminated string", "a quote is opened and never closed", "close the quote"),
    ("Expected '", "a quote is opened and never closed", "close the quote"),
    ("Expected \"", "a quote is opened and never closed", "close the quote"),
    ("Cannot", "this name stands for something else already", "give it another name"),
    ("Found invalid character", "a character that no keyboard types stands here", "take it out"),
    ("Illegal character", "a character that no keyboard types stands here", "take it out"),
)  # fmt: skip
_TWICE = re.compile("Cannot (overwrite|declare|mutate|redefine)|Duplicate")
_AT = re.compile(r" \(at (?:line (\d+), column (\d+)|end of document)\)$")


@dataclass(frozen=True)
class Paper:
    """A file read from disk: its name as given, its text and the tables in it."""

    file: str
    text: str = field(repr=False)
    data: dict[str, Any] = field(repr=False, compare=False)

    def line(self, path: Place) -> int | None:
        """Return the line, from 1, of the value at *path*, or of the nearest thing around it; None where nothing is.

        >>> text = "unit = 'mm'\\n[station.2]\\nC = [\\n  1260, 231]\\n"
        >>> paper = Paper("locker.toml", text, tomllib.loads(text))
        >>> paper.line(("station", "2", "C", 0)), paper.line(("station", "2", "D")), paper.line(("drain",))
        (4, 2, None)
        """
        around = (path[:length] for length in range(len(path), 0, -1))
        return next((self.places.lines[place] for place in around if place in self.places.lines), None)

    @cached_property
    def places(self) -> Places:
        """Where everything in the text stands."""
        return surveyed(self.text)


def read_paper(path: str | Path) -> Paper:
    """Return the TOML file at *path*.

    Raises FileError where it cannot be read, SurveyError where it is no TOML, with what is stated twice in it all told.
    """
    file = str(path)
    text = decoded(file, read_bytes(path))
    for part in re.finditer(r"[^=,\[\]{}\n]{400,}", text):
        if part[0].count(".") > MOST_POINTS:
            problem = "a name has more parts than can be read", f"keep it under {MOST_POINTS} points"
            raise _refusal(file, _line_at(text, part.start()), *problem)
    try:
        data = tomllib.loads(text)
        repr(data)  # a number too long to print could not be told of later
    except tomllib.TOMLDecodeError as bad:
        raise _translated(file, text, str(bad)) from None
    except RecursionError:
        lines = text.split("\n")
        deepest = max(range(len(lines)), key=lambda number: lines[number].count("[") + lines[number].count("{"))
        raise _refusal(file, deepest + 1, "the brackets are nested too deep", "take the brackets apart") from None
    except ValueError:
        found = re.search("[0-9a-fA-F_]{1000}", text)
        line = _line_at(text, found.start()) if found else None
        raise _refusal(file, line, "a number has thousands of digits", "write the reading itself") from None
    return Paper(file, text, data)


def read_bytes(path: str | Path) -> bytes:
    """Return the whole of a file of readings; raises FileError in words fit to show."""
    try:
        with open(path, "rb") as stream:
            raw = stream.read(LARGEST + 1)
    except FileNotFoundError:
        raise FileError(f"{path}: there is no such file{_near(Path(path))}") from None
    except IsADirectoryError:
        raise FileError(f"{path}: this is a folder; name the file in it") from None
    except PermissionError:
        what = "this is a folder; name the file in it" if os.path.isdir(path) else "you may not read this file"
        raise FileError(f"{path}: {what}") from None
    except (OSError, ValueError) as bad:
        raise FileError(f"{path!s:.100}: cannot be read: {getattr(bad, 'strerror', None) or bad}") from None
    if len(raw) > LARGEST:
        raise FileError(f"{path}: this is longer than {LARGEST // 1_000_000} MB; no survey is")
    return raw


def _near(path: Path) -> str:
    if not path.parent.is_dir():
        return f": there is no folder {path.parent}"
    try:
        close = get_close_matches(path.name, os.listdir(path.parent), n=1)
    except OSError:
        return ""
    return f'; did you mean "{close[0]}"?' if close else ""


def decoded(file: str, raw: bytes) -> str:
    """Return the text in the bytes of a file, UTF-8 with or without its mark; raises SurveyError for anything else."""
    if raw[:2] in (b"\xff\xfe", b"\xfe\xff"):
        raise _refusal(file, None, "it is in UTF-16, not in UTF-8", "save it again as UTF-8")
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as bad:
        letter = raw[bad.start : bad.start + 1].decode("cp1252", "replace")
        what = f'it is not in UTF-8; if it is in Windows-1252 or Latin-1, the first letter amiss is "{letter}"'
        raise _refusal(file, raw.count(b"\n", 0, bad.start) + 1, what, "save it again as UTF-8") from None
    if "\0" in text:
        line = _line_at(text, text.index("\0"))
        raise _refusal(file, line, "it holds bytes that are no text", "save it as plain text in UTF-8")
    return text


def _refusal(file: str, line: int | None, what: str, mend: str) -> SurveyError:
    return SurveyError([Problem(what, mend, file, line)])


def _line_at(text: str, position: int) -> int:
    return text.count("\n", 0, position) + 1


def _translated(file: str, text: str, said: str) -> SurveyError:
    repeats = surveyed(text).repeats if _TWICE.match(said) else []
    if repeats:
        mend = "take one of them out, or give it another name"
        return SurveyError(
            Problem(f'"{name}" stands here and on line {first} too', mend, file, line) for name, first, line in repeats
        )
    at = _AT.search(said)
    if not at or not at[1]:
        return _refusal(file, _line_at(text, len(text.rstrip())), *_trouble(said, "", ""))
    line, column = int(at[1]), int(at[2])
    typed = text.replace("\r\n", "\n").split("\n")[line - 1]
    what, mend = _trouble(said, typed[: column - 1], typed[column - 1 :])
    return _refusal(file, line, f"column {column}: {what}", mend)


def _trouble(said: str, before: str, after: str) -> tuple[str, str]:
    """Return what is wrong and its mend, from what tomllib said and the line before and after where it stopped."""
    if re.search(r"[=,\[\s][-+]?0$", before) and after[:1].isdigit():
        return "a number begins with a nought", "leave the nought out, or put a name made of digits in quotes"
    if said.startswith("Expected newline") and before.lstrip().startswith("["):
        return "there is more here than a heading", "write a [heading] on a line by itself"
    for words, what, mend in _TROUBLES:
        if said.startswith(words):
            return what, mend
    return f"this cannot be read as TOML: {_AT.sub('', said)}", "look at this line"
