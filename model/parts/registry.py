"""Every kind of part by the name it has in a survey, and what it is once made."""

from collections.abc import Callable
from dataclasses import dataclass
from enum import IntEnum
from typing import TYPE_CHECKING, Protocol, TypeVar

if TYPE_CHECKING:
    from tapeloft.model.compartment import Compartment
    from tapeloft.model.solid import Solid


@dataclass(frozen=True, eq=False)
class Made:
    """A part as it was made for a space, compartment axes, m.

    bodies: its pieces by their letters, each where it lies. notes: what a person should know before the saw goes in.
    """

    bodies: "tuple[tuple[str, Solid], ...]"
    notes: tuple[str, ...] = ()


class Kind(Protocol):
    """A frozen dataclass of readings, with the words of the command that cuts the same part, that is made in a space.

    What it has a default for may be left out of a survey. Heavy imports stand inside `made`: reading a survey needs
    none of them.
    """

    def made(self, space: "Compartment") -> Made:
        """Return the part made for a *space* that has the parts of earlier stages, and no others yet.

        Raises GeometryError, in words fit to show, where it cannot be.
        """
        ...


class Stage(IntEnum):
    """When a part is made: within what all earlier stages leave of the space, and besides the others of its own."""

    LINING = 0
    BUILT = 1
    CLIMBED = 2  # it is stood on, and people stand on what is built
    STOWED = 3


KINDS: dict[str, type[Kind]] = {}
STAGES: dict[type[Kind], Stage] = {}
Declared = TypeVar("Declared", bound=type)


def kind(name: str, stage: Stage = Stage.BUILT) -> Callable[[Declared], Declared]:
    """Register the decorated dataclass as the kind of part called *name* in surveys, made at a stage."""

    def register(made: Declared) -> Declared:
        if name in KINDS:
            raise ValueError(f"two kinds of part are called {name!r}")
        KINDS[name] = made
        STAGES[made] = stage
        return made

    return register


def kind_name(one: Kind) -> str:
    """Return what a survey calls the kind of a part."""
    return next(name for name, made in KINDS.items() if made is type(one))
