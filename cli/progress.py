"""A bar for what takes over a second, on a terminal, on standard error."""

import sys
import time
from collections.abc import Iterator, Sequence
from typing import TypeVar

Item = TypeVar("Item")
PATIENCE = 0.7  # s before a bar is worth drawing


def each(items: Sequence[Item], doing: str) -> Iterator[Item]:
    """Yield *items*; draw a bar once they have taken longer than a person waits for nothing."""
    start = time.monotonic()
    bar = None
    for number, item in enumerate(items):
        if bar is None and sys.stderr.isatty() and time.monotonic() - start > PATIENCE:
            bar = _bar(doing, len(items))
        if bar is not None:
            bar.update(bar.task_ids[0], completed=number)
        yield item
    if bar is not None:
        bar.stop()


def _bar(doing: str, total: int):  # type: ignore[no-untyped-def]
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeElapsedColumn

    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TimeElapsedColumn())
    bar = Progress(*columns, console=Console(stderr=True), transient=True)
    bar.add_task(doing, total=total)
    bar.start()
    return bar
