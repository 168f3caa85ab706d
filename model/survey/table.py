"""A table of readings straight from a spreadsheet: CSV with whatever separator it was saved with."""

import csv
import io
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import islice
from pathlib import Path

from tapeloft.model.errors import Problem, SurveyError, nearest
from tapeloft.model.survey.paper import decoded, read_bytes

SEPARATORS = ";\t,"
MOST_TOLD = 20
"""Rows at fault that are told one by one."""


@dataclass(frozen=True)
class Table:
    """The rows of a table, each by the names of its columns, and the line each begins on.

    A cell is text without the blanks around it; one that is empty, or whose column is not there, is "".
    """

    file: str
    columns: tuple[str, ...]
    rows: tuple[Mapping[str, str], ...]
    lines: tuple[int, ...]


@dataclass(frozen=True)
class _Heading:
    """The first row: its cells, the column each one names ("" where none is known), and what is wrong with it."""

    cells: Sequence[str]
    names: tuple[str, ...]
    problems: tuple[Problem, ...]


def read_table(path: str | Path, needed: Sequence[str], allowed: Sequence[str] = ()) -> Table:
    """Return the table at *path*; its first row that is not blank names the columns, in any order.

    needed: the columns that must be there; allowed: others that may. Capitals, and blanks, hyphens and underscores
    between words, make no difference. UTF-8, or UTF-16 with its mark; cells parted by semicolons, tabs or commas,
    whichever makes sense of the headings. Blank rows are passed over, and so are cells left off at the end of a row
    where none of them is needed. Raises FileError, and SurveyError with everything that is wrong with the table.

    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     path = Path(folder, "readings.csv")
    ...     _ = path.write_text("Mark;Half-breadth;Height\\n\\nA;546,5;0\\nB;980;4 1/2 in\\n")
    ...     table = read_table(path, ["mark", "half_breadth", "height"], ["remark"])
    >>> table.lines, table.rows[0]
    ((3, 4), {'mark': 'A', 'half_breadth': '546,5', 'height': '0', 'remark': ''})
    """
    file = str(path)
    text = _text(file, read_bytes(path))
    known = [*needed, *allowed]
    separator, text = _separator(text, known)
    rows = _rows(file, text, separator)
    line, first = next(rows, (1, []))
    if not first:
        raise SurveyError([Problem("the table is empty", f"begin it with the headings {', '.join(known)}", file, 1)])
    heading = _heading(file, line, first, needed, known)
    kept = list(rows)
    problems = [*heading.problems, *_summed_up(file, _misfits(file, heading, kept, needed))]
    if not kept and not problems:
        problems.append(Problem("there is nothing under the headings", "add the readings", file, line))
    if problems:
        raise SurveyError(problems)
    columns = tuple(filter(None, heading.names))
    empty = dict.fromkeys(known, "")
    cells = tuple(
        empty | {name: cell for name, cell in zip(heading.names, row, strict=False) if name} for _, row in kept
    )
    return Table(file, columns, cells, tuple(line for line, _ in kept))


def known_rows(path: str | Path, known: Sequence[str]) -> list[tuple[int, list[str]]]:
    """Return the rows of the table at *path* that are not blank, each with its line, as they stand.

    known: what its headings may be, to tell by what the cells are parted. Raises FileError and SurveyError.
    """
    file = str(path)
    separator, text = _separator(_text(file, read_bytes(path)), known)
    return list(_rows(file, text, separator))


def _text(file: str, raw: bytes) -> str:
    if raw[:2] in (b"\xff\xfe", b"\xfe\xff"):  # what spreadsheets call Unicode text
        try:
            raw = raw.decode("utf-16").encode()
        except UnicodeDecodeError:
            raise SurveyError([Problem("it is cut off in the middle of a letter", "save it again", file)]) from None
    return decoded(file, raw)


def _plain(heading: str) -> str:
    return re.sub(r"[\s_-]+", "_", heading.strip().casefold())


def _separator(text: str, known: Sequence[str]) -> tuple[str, str]:
    """Return the separator that finds the most of the known names in the headings, and the text to read with it."""
    stated = re.match(r'"?sep=([;,\t|])"?\r?\n', text)  # a first line that spreadsheets write and obey
    if stated:
        return stated[1], "\n" + text[stated.end() :]
    heading = next((line for line in text.splitlines() if line.strip(SEPARATORS + ' "')), "")
    plain = {_plain(name) for name in known}

    def sense(separator: str) -> tuple[int, int]:
        cells = [_plain(cell.strip(' "')) for cell in heading.split(separator)]
        return len(plain & set(cells)), len(cells)

    return max(SEPARATORS, key=sense), text


def _rows(file: str, text: str, separator: str) -> Iterator[tuple[int, list[str]]]:
    """Yield each row that is not blank with the line it begins on, the blanks around its cells taken off."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    begins = 1
    while True:
        try:
            row = [cell.strip() for cell in next(reader)]
        except StopIteration:
            return
        except csv.Error as bad:
            raise SurveyError([_unreadable(file, begins, str(bad))]) from None
        if any(row):
            yield begins, row
        begins = reader.line_num + 1


def _unreadable(file: str, line: int, said: str) -> Problem:
    if "field limit" in said:
        return Problem("a cell is longer than any reading or remark", "look for a quote that is not closed", file, line)
    if "unexpected end" in said:
        return Problem("a quote is opened here and never closed", "close the quote, or take it out", file, line)
    return Problem(
        "a cell goes on after its closing quote", 'double the quotes within it: "a ""box"" locker"', file, line
    )


def _heading(file: str, line: int, row: Sequence[str], needed: Sequence[str], known: Sequence[str]) -> _Heading:
    meant = {_plain(name): name for name in known}
    names = tuple(meant.get(_plain(cell), "") for cell in row)
    if not any(names):
        mend = f"begin it with a row of headings: {', '.join(known)}"
        return _Heading(row, names, (Problem("no heading is known here", mend, file, line),))
    unknown = [cell[:40] for cell, name in zip(row, names, strict=True) if cell and not name]
    problems = [
        Problem(f'no column is called "{cell}"{nearest(_plain(cell), known)}', "correct it, or take it out", file, line)
        for cell in unknown
    ]
    problems += [
        Problem(f'two columns are called "{name}"', "take one out, or correct its heading", file, line)
        for name in dict.fromkeys(names)
        if name and names.count(name) > 1
    ]
    problems += [
        Problem(f'the column "{name}" is missing', "add it, or correct the heading it stands under", file, line)
        for name in needed
        if name not in names
    ]
    return _Heading(row, names, tuple(problems))


def _misfits(
    file: str, heading: _Heading, rows: Sequence[tuple[int, list[str]]], needed: Sequence[str]
) -> Iterator[Problem]:
    """Yield a problem for each row that the headings do not fit."""
    if not any(heading.names):
        return
    width = len(heading.cells)
    needs = [number for number, name in enumerate(heading.names) if name in needed]
    for line, row in rows:
        stray = [cell for cell, head in zip(row, heading.cells, strict=False) if cell and not head]
        if len(row) > width:
            mend = "decimal commas want semicolons between the cells; a remark with a separator in it wants quotes"
            yield Problem(f"{len(row)} cells under {width} headings", mend, file, line)
        elif stray:
            yield Problem(f'"{stray[0][:40]}" stands under no heading', "give its column a heading", file, line)
        elif needs and len(row) <= needs[-1]:
            what = f"the row ends after {len(row)} of {width} cells, before {heading.names[needs[-1]]}"
            yield Problem(what, "look for a missing separator, or add the cells", file, line)
        elif any("\n" in row[number] for number in needs):
            yield Problem("a cell runs over more than one line", "close its quote; write no ditto marks", file, line)


def _summed_up(file: str, problems: Iterator[Problem]) -> list[Problem]:
    told = list(islice(problems, MOST_TOLD))
    more = sum(1 for _ in problems)
    last = Problem(f"{more} more rows do not fit the headings", "mend the first ones and look again", file)
    return [*told, last] if more else told
