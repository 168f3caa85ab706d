"""What compartments were built from, said with every answer."""

from collections.abc import Iterable
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tapeloft.model.compartment import Compartment


def bases(spaces: "Iterable[Compartment]") -> list[dict[str, str]]:
    """Return what each compartment was built from, as JSON tells it."""
    return [{"compartment": one.name, "built_from": one.basis} for one in spaces]


def say_bases(spaces: "Iterable[Compartment]") -> None:
    """Print what compartments were built from, those of one basis on one line, to standard error."""
    from tapeloft.cli.printing import say

    named: dict[str, list[str]] = {}
    for one in spaces:
        named.setdefault(one.basis, []).append(one.name)
    for basis, names in named.items():
        say(basis if len(named) == 1 else f"{'; '.join(names)}: {basis}")
