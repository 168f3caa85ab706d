"""How answers are printed: tables for people, JSON for programs, all else on standard error."""

import json
import math
import os
import shutil
import sys
import textwrap
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, fields, is_dataclass
from datetime import date
from typing import Any, TextIO

WORDY = 6
"""Words in a cell from which its column is words, not figures."""
GAP = 2
"""Columns between two columns of a table."""
EDGE = 1
"""How many of them the last column of a table may go without: a ruled one keeps a blank there."""
FOLDED = 24
"""Columns that a column of words keeps at the least."""


@dataclass(frozen=True)
class Table:
    """Rows of text under a title; the first column and those of *words* are to the left, figures to the right."""

    title: str
    head: Sequence[str]
    rows: Sequence[Sequence[str]]
    words: Sequence[int] = ()


def print_json(command: str, **answer: Any) -> None:
    """Print an answer as one JSON object: {"command": …, …}; what is not finite is null."""
    told = {"command": command, **{k: plain(v) for k, v in answer.items()}}
    ascii_only = (sys.stdout.encoding or "").lower().replace("-", "") != "utf8"
    put(json.dumps(told, indent=2, ensure_ascii=ascii_only), sys.stdout)


def plain(value: Any) -> Any:
    """Return frozen results, arrays and tuples as what JSON can hold."""
    if is_dataclass(value) and not isinstance(value, type):
        return {f.name: plain(getattr(value, f.name)) for f in fields(value)}
    if hasattr(value, "tolist"):
        return plain(value.tolist())
    if isinstance(value, Mapping):
        return {str(k): plain(v) for k, v in value.items()}
    if isinstance(value, list | tuple):
        return [plain(v) for v in value]
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    return value.isoformat() if isinstance(value, date) else value


def print_tables(tables: Iterable[Table]) -> None:
    """Print tables: ruled and coloured on a terminal that takes it, else plain text; on any within its columns.

    A table that a terminal has no room for comes in several, one below another, or line by line: a figure that is
    broken in two reads as two.
    """
    room, plain = _columns(sys.stdout), bool(os.environ.get("NO_COLOR")) or os.environ.get("TERM") == "dumb"
    for whole in tables:
        for table in parted(whole, room, folds=not plain) if room else [whole]:
            if room and not _has_room(table, room, folds=not plain):
                put(line_by_line(table, room) + "\n", sys.stdout)
            elif room and not plain:
                _print_ruled(table, room)
            else:
                put(folded(as_text(table), sys.stdout) + "\n", sys.stdout)


def as_text(table: Table) -> str:
    """Return a table as aligned plain text.

    >>> print(as_text(Table("sizes", ("what", "litres"), [("net", "12.0"), ("gross", "120.5")])))
    sizes
    what   litres
    net      12.0
    gross   120.5
    """
    every, widths = [tuple(table.head), *map(tuple, table.rows)], _widths(table, folds=False)
    lines = [
        "  ".join(
            cell.ljust(w) if k in (0, *table.words) else cell.rjust(w)
            for k, (cell, w) in enumerate(zip(row, widths, strict=True))
        )
        for row in every
    ]
    return "\n".join([*filter(None, [table.title]), *(line.rstrip() for line in lines)])


def _print_ruled(table: Table, room: int) -> None:
    from rich.box import SIMPLE_HEAD
    from rich.console import Console
    from rich.table import Table as Ruled

    ruled = Ruled(
        title=table.title or None, box=SIMPLE_HEAD, title_justify="left", title_style="bold", show_edge=False,
        pad_edge=False, padding=(0, 1, 0, 0),
    )  # fmt: skip
    for k, (name, width) in enumerate(zip(table.head, _granted(table, room), strict=True)):
        ruled.add_column(name, justify="left" if k in (0, *table.words) else "right", overflow="fold", width=width)
    for row in table.rows:
        ruled.add_row(*row)
    Console(highlight=False, markup=False, width=room).print(ruled)
    put("", sys.stdout)


def parted(table: Table, room: int, *, folds: bool) -> list[Table]:
    """Return a table as several that have *room*, each with the first column; itself where they would not tell rows.

    folds: whether words and headings may be folded.

    >>> rows = [("net", "12.0", "0.42"), ("gross", "20.5", "0.72")]
    >>> for part in parted(Table("sizes", ("what", "litres", "ft³"), rows), 14, folds=False):
    ...     print(as_text(part))
    sizes
    what   litres
    net      12.0
    gross    20.5
    what    ft³
    net    0.42
    gross  0.72
    """
    widths = _widths(table, folds=folds)
    together: list[list[int]] = [[0]]
    for k in range(1, len(widths)):
        if sum(widths[j] + GAP for j in (*together[-1], k)) > room + EDGE and len(together[-1]) > 1:
            together.append([0])
        together[-1].append(k)
    parts = [
        Table(
            "" if number else table.title,
            [table.head[k] for k in columns],
            [[row[k] for k in columns] for row in table.rows],
            [here for here, k in enumerate(columns) if k in table.words],
        )
        for number, columns in enumerate(together)
    ]
    told = all(row[0] for row in table.rows) and all(_has_room(part, room, folds=folds) for part in parts)
    return parts if told else [table]


def line_by_line(table: Table, room: int) -> str:
    """Return a table with a paragraph a row, within *room* columns.

    >>> rows = [("net", "12.0", ""), ("gross", "20.5", "as read")]
    >>> print(line_by_line(Table("sizes", ("what", "litres", "note"), rows), 16))
    sizes
    net: litres 12.0
    gross: litres
      20.5, note as
      read
    """
    told = [table.title] if table.title else []
    for first, *cells in table.rows:
        said = [f"{name} {cell}".strip() for name, cell in zip(table.head[1:], cells, strict=True) if cell]
        told.append(f"{f'{first}: ' if first else '  '}{', '.join(said)}")
    return "\n".join(_wrapped(line, room) for line in told)


def folded(text: str, stream: TextIO) -> str:
    """Return a text with its lines folded to the terminal that *stream* is, each under its own beginning."""
    room = _columns(stream)
    return "\n".join(_wrapped(line, room) for line in text.split("\n")) if room else text


def _wrapped(line: str, room: int) -> str:
    indent = " " * (len(line) - len(line.lstrip()))
    wrapped = textwrap.wrap(line, room, subsequent_indent=indent + "  ", break_long_words=False, break_on_hyphens=False)
    return "\n".join(wrapped)


def _columns(stream: TextIO) -> int:
    """Return how many columns the terminal has that *stream* is, 0 where it is none."""
    return shutil.get_terminal_size().columns if stream.isatty() else 0


def _widths(table: Table, *, folds: bool) -> list[int]:
    """Return how broad each column is, at the least where words and headings are folded and figures are not."""
    heads = [max(map(len, name.split()), default=0) if folds else len(name) for name in table.head]
    cells = [max((len(row[k]) for row in table.rows), default=0) for k in range(len(table.head))]
    if folds:
        cells = [min(width, FOLDED) if _holds_words(table, k) else width for k, width in enumerate(cells)]
    return [max(pair) for pair in zip(heads, cells, strict=True)]


def _granted(table: Table, room: int) -> list[int]:
    """Return how broad each column may be within *room*: as it stands, less what can be folded of the broadest."""
    widths, least = _widths(table, folds=False), _widths(table, folds=True)
    over = sum(width + GAP for width in widths) - room - EDGE
    for k in sorted(range(len(widths)), key=lambda k: least[k] - widths[k]):
        given = min(max(over, 0), widths[k] - least[k])
        widths[k], over = widths[k] - given, over - given
    return widths


def _holds_words(table: Table, column: int) -> bool:
    return column in table.words or any(len(row[column].split()) > WORDY for row in table.rows)


def _has_room(table: Table, room: int, *, folds: bool) -> bool:
    return sum(width + GAP for width in _widths(table, folds=folds)) <= room + EDGE


def say(text: str) -> None:
    """Print a line for the person, not the answer: standard error."""
    sys.stdout.flush()  # so that the two keep their order where both go to one place
    put(folded(text, sys.stderr), sys.stderr)


def put(text: str, stream: TextIO) -> None:
    """Write *text* and a line's end; a reader who has gone away (`| head`) is no error: the rest goes nowhere."""
    try:
        print(text, file=stream, flush=True)
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())


def say_notes(notes: Iterable[object], cautions: Iterable[str]) -> None:
    """Print what is worth a second look, and the cautions, to standard error."""
    for note in notes:
        say(f"look again: {note}")
    for caution in cautions:
        say(f"caution: {caution}")
