"""Asking for the largest box."""

from typing import TYPE_CHECKING, Any

from tapeloft.cli.searching import Told, stoppable, warmed

if TYPE_CHECKING:
    from tapeloft.model.boxes import BoxFound
    from tapeloft.model.solid import Solid


def found_box(name: str, inside: "Solid", outside: "Solid", **rules: Any) -> "BoxFound | None":
    """Return the largest box in a space of a compartment called *name* under the rules that `largest_box` takes."""
    from tapeloft.model.boxes import largest_box
    from tapeloft.model.errors import TapeloftError

    rules = {key: value for key, value in rules.items() if value is not None}
    warmed(turned=bool({"turn", "least", "proportion", "kept"} & rules.keys()))
    try:
        with stoppable():
            return largest_box(inside, outside, progress=Told(name, _near), **rules)
    except ValueError as bad:
        raise TapeloftError(str(bad)) from None


def _near(volume: float, limit: float) -> str:
    return f"{volume * 1000:.1f} l so far, at most {limit * 1000:.1f} l"
