"""How answers are printed: tables for people, JSON for programs, all else on standard error."""

import json
import math
import os
import sys
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, fields, is_dataclass
from datetime import date
from typing import Any, TextIO


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
    """Print tables, ruled and coloured on a terminal, plain text when piped or where NO_COLOR is set."""
    for table in tables:
        if sys.stdout.isatty() and not os.environ.get("NO_COLOR"):
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
    every = [tuple(table.head), *map(tuple, table.rows)]
    widths = [max(len(row[k]) for row in every) for k in range(len(table.head))]
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

    ruled = Ruled(title=table.title or None, box=SIMPLE_HEAD, title_justify="left", title_style="bold")
    for k, name in enumerate(table.head):
        ruled.add_column(name, justify="left" if k in (0, *table.words) else "right", overflow="fold")
    for row in table.rows:
        ruled.add_row(*row)
    Console(highlight=False, markup=False).print(ruled)


def say(text: str) -> None:
    """Print a line for the person, not the answer: standard error."""
    sys.stdout.flush()  # so that the two keep their order where both go to one place
    put(text, sys.stderr)


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
