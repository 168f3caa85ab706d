"""Asking for the largest box, and telling a person who waits why."""

import sys
import time
from typing import TYPE_CHECKING, Any

from tapeloft.cli.progress import PATIENCE

if TYPE_CHECKING:
    from tapeloft.model.boxes import BoxFound
    from tapeloft.model.compartment import Compartment


def found_box(built: "Compartment", **rules: Any) -> "BoxFound | None":
    """Return the largest box in the net space of *built* under the rules that `largest_box` takes."""
    from tapeloft.cli.printing import say
    from tapeloft.model.boxes import compiled_before, largest_box
    from tapeloft.model.errors import TapeloftError

    if not compiled_before():
        say("the first time ever takes some seconds longer: the inner loops are compiled for this machine and kept")
    try:
        return largest_box(built.inside, built.outside, progress=_Told(built.name), **rules)
    except ValueError as bad:
        raise TapeloftError(str(bad)) from None


class _Told:
    """Says on a terminal, once a person has begun to wait, how near the search is."""

    def __init__(self, name: str) -> None:
        self.name, self.last = name, time.monotonic()

    def __call__(self, volume: float, limit: float) -> None:
        now = time.monotonic()
        if sys.stderr.isatty() and now - self.last > PATIENCE:
            self.last = now
            print(
                f"\r{self.name}: {volume * 1000:.1f} l so far, at most {limit * 1000:.1f} l", end="\r", file=sys.stderr
            )
