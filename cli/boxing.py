"""Asking for the largest box, and telling a person who waits why."""

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from tapeloft.model.boxes import BoxFound
    from tapeloft.model.compartment import Compartment


def found_box(built: "Compartment", **rules: Any) -> "BoxFound | None":
    """Return the largest box in the net space of *built* under the rules that `largest_box` takes."""
    from tapeloft.cli.printing import say
    from tapeloft.model.boxes import compiled_before, largest_box

    if not compiled_before():
        say("the first time ever takes some seconds longer: the inner loops are compiled for this machine and kept")
    return largest_box(built.inside, built.outside, **rules)
