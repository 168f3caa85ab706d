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
    """Print tables: plain text when piped or where NO_COLOR is set, else ruled and coloured, within the terminal.

    A table whose figures a terminal has no room for is told line by line: a figure that is broken in two reads as two.
    """
    for table in tables:
        room = _columns(sys.stdout)
        if room and _least_width(table) > room:
            put(line_by_line(table, room) + "\n", sys.stdout)
        elif room and not os.environ.get("NO_COLOR"):
            _print_ruled(table)
        else:
            put(as_text(table) + "\n", sys.stdout)


def as_text(table: Table) -> str:
    """Return a table as aligned plain text.

    >>> print(as_text(Table("sizes", ("what", "litres"), [("net", "12.0"), ("gross", "120.5")])))
    sizes
    what   litres
    net      12.0
    gross   120.5
    """
    every, widths = [tuple(table.head), *map(tuple, table.rows)], _widths(table)
    lines = [
        "  ".join(
            cell.ljust(w) if k in (0, *table.words) else cell.rjust(w)
            for k, (cell, w) in enumerate(zip(row, widths, strict=True))
        )
        for row in every
    ]
    return "\n".join([*filter(None, [table.title]), *(line.rstrip() for line in lines)])


def _print_ruled(table: Table) -> None:
    from rich.box import SIMPLE_HEAD
    from rich.console import Console
    from rich.table import Table as Ruled

    ruled = Ruled(
        title=table.title or None, box=SIMPLE_HEAD, title_justify="left", title_style="bold", show_edge=False,
        pad_edge=False, padding=(0, 1, 0, 0),
    )  # fmt: skip
    for k, (name, width) in enumerate(zip(table.head, _widths(table), strict=True)):
        least = None if _folds(table, k) else width
        ruled.add_column(name, justify="left" if k in (0, *table.words) else "right", overflow="fold", min_width=least)
    for row in table.rows:
        ruled.add_row(*row)
    Console(highlight=False, markup=False).print(ruled)
    put("", sys.stdout)


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


def _widths(table: Table) -> list[int]:
    every = [tuple(table.head), *map(tuple, table.rows)]
    return [max(len(row[k]) for row in every) for k in range(len(table.head))]


def _folds(table: Table, column: int) -> bool:
    """Return whether a column holds words, which may be folded, and no figures."""
    return column in table.words or any(len(row[column].split()) > WORDY for row in table.rows)


def _least_width(table: Table) -> int:
    """Return how many columns a table needs with its words folded and its figures whole."""
    widths = _widths(table)
    least = [min(width, FOLDED) if _folds(table, k) else width for k, width in enumerate(widths)]
    return sum(least) + 2 * len(least)


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
