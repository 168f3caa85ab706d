"""Searches that take a while: why the first one does, how near they are, and Ctrl-C, which leaves the best so far."""

import signal
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from tapeloft.cli.progress import PATIENCE


def warmed(turned: bool) -> None:
    """Compile the inner loops where that was not yet done on this machine, and tell why it takes a while."""
    from tapeloft.model.warm import is_warm, warm

    if not is_warm(turned):
        _told_why("a minute" if turned else "some seconds")
        warm(turned)


def warmed_to_pack() -> None:
    """Do the same for the loops that things are packed by, and their limits; a single thing may be asked about too."""
    from tapeloft.model import warm
    from tapeloft.model.packing import warm as packing

    if not (warm.is_warm() and packing.is_warm()):
        _told_why("a minute or two")
        warm.warm()
        packing.warm()


def _told_why(longer: str) -> None:
    from tapeloft.cli.printing import say

    say(f"the first time ever takes {longer} longer: the inner loops are compiled for this machine and kept")


@contextmanager
def stoppable() -> Iterator[None]:
    """Let Ctrl-C end a search with the best so far; the second time it ends the program."""
    before = signal.getsignal(signal.SIGINT)

    def stop(number: int, frame: object) -> None:
        signal.signal(signal.SIGINT, before)
        raise KeyboardInterrupt

    signal.signal(signal.SIGINT, stop)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)


class Told:
    """Says on a terminal, once a person has begun to wait, how near a search is: *words* of best and limit so far."""

    def __init__(self, name: str, words: Callable[[float, float], str]) -> None:
        self.name, self.words, self.last = name, words, time.monotonic()

    def __call__(self, best: float, limit: float) -> None:
        """Say so, if it is time to."""
        now = time.monotonic()
        if sys.stderr.isatty() and now - self.last > PATIENCE:
            self.last = now
            print(f"\r{self.name}: {self.words(best, limit)}  ", end="\r", file=sys.stderr)
