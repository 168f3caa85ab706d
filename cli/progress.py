"""A bar for what takes over a second, on a terminal, on standard error."""

import sys
import threading
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, TypeVar

if TYPE_CHECKING:
    from rich.progress import Progress

Item = TypeVar("Item")
PATIENCE = 0.7  # s before a bar is worth drawing


def each(items: Sequence[Item], doing: str) -> Iterator[Item]:
    """Yield *items*; draw a bar once they have taken longer than a person waits for nothing."""
    if not sys.stderr.isatty():
        yield from items
        return
    with _drawn(doing, len(items)) as bar:
        for number, item in enumerate(items):
            bar.update(bar.task_ids[0], completed=number)
            yield item


@contextmanager
def waiting(doing: str) -> Iterator[None]:
    """Draw a bar that tells of no end while something is *doing* that has no steps, likewise."""
    if not sys.stderr.isatty():
        yield
        return
    with _drawn(doing, None):
        yield


@contextmanager
def _drawn(doing: str, total: int | None) -> "Iterator[Progress]":
    """Draw a bar from when patience is at an end, whatever is going on then."""
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeElapsedColumn

    counted = () if total is None else (MofNCompleteColumn(),)
    columns = (TextColumn("{task.description}"), BarColumn(), *counted, TimeElapsedColumn())
    bar = Progress(*columns, console=Console(stderr=True), transient=True)
    bar.add_task(doing, total=total)
    later = threading.Timer(PATIENCE, bar.start)
    later.daemon = True
    later.start()
    try:
        yield bar
    finally:
        later.cancel()
        later.join()
        bar.stop()
