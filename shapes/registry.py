"""Every shape by the name it has in a survey."""

from collections.abc import Callable
from typing import Protocol, TypeVar

from tapeloft.shapes.polyhedron import Bounds, Polyhedron, Round


class Shape(Protocol):
    """A frozen dataclass of readings, constructible without arguments, that gives closed bodies.

    Its defaults make an example and are never taken for readings: what a survey leaves out is None, or asked for
    where the field's type has no None. Only a `Choice` of words falls back on its default.
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
