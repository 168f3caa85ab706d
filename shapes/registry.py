"""Every shape by the name it has in a survey."""

from collections.abc import Callable
from dataclasses import MISSING, fields
from typing import Any, Protocol, TypeVar, get_args, get_type_hints

from tapeloft.shapes.polyhedron import Bounds, Polyhedron, Round
from tapeloft.shapes.readings import Choice


class Shape(Protocol):
    """A frozen dataclass of readings, constructible without arguments, that gives closed bodies.

    Its defaults make an example; what a survey leaves out is another matter, see `left_out`.
    """

    def bodies(self, space: Bounds, how: Round) -> tuple[Polyhedron, ...]:
        """Return the bodies, compartment axes, m, whose union is the shape standing in *space*.

        Raises ValueError, in words fit to show, where the readings make no body.
        """
        ...


SHAPES: dict[str, type[Shape]] = {}
Kind = TypeVar("Kind", bound=type)


def shape(name: str) -> Callable[[Kind], Kind]:
    """Register the decorated dataclass as the shape called *name* in surveys."""

    def register(kind: Kind) -> Kind:
        if name in SHAPES:
            raise ValueError(f"two shapes are called {name!r}")
        SHAPES[name] = kind
        return kind

    return register


def left_out(kind: type[Shape], name: str) -> Any:
    """Return what the field *name* of a shape is where a survey leaves it out; MISSING where it may not.

    A reading is never guessed: left out it is None, or refused where the type has no None. Only a choice of
    words falls back on its default.

    >>> left_out(SHAPES["post"], "diameter"), left_out(SHAPES["post"], "section"), SHAPES["post"]().diameter
    (None, 'round', 0.06)
    """
    hint = get_type_hints(kind, include_extras=True)[name]
    about = get_args(hint)
    if any(isinstance(marker, Choice) for marker in about[1:]):
        return next(field.default for field in fields(kind) if field.name == name)  # type: ignore[arg-type]
    return None if type(None) in get_args(about[0]) else MISSING
