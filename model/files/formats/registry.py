"""Every mesh format by the ending of its files."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from tapeloft.model.moments import Points
from tapeloft.model.solid import Solid

AXES = "x forward, y to port, z up"


@dataclass(frozen=True)
class NamedSolid:
    """A solid and the name it goes by in a file."""

    name: str
    solid: Solid


@dataclass(frozen=True)
class Format:
    """A kind of mesh file: its `ending` without the point, its length `unit`, whether it is `named`.

    `single`: whether coordinates are rounded to float32.
    `encode` turns parts, none of them empty, their names printable and distinct, into the bytes of a file;
    the same parts give the same bytes. A format that is not `named` is given one part only.
    """

    ending: str
    about: str
    unit: str
    named: bool
    single: bool
    encode: Callable[[Sequence[NamedSolid]], bytes]


FORMATS: dict[str, Format] = {}


def register(kind: Format) -> None:
    """Add *kind* to FORMATS."""
    if kind.ending in FORMATS:
        raise ValueError(f"two formats end in {kind.ending!r}")
    FORMATS[kind.ending] = kind


def millimetres(solid: Solid) -> Points:
    """Return the vertices, (n, 3), in mm, to the ninth decimal, which holds a volume to far below 1e-9."""
    rounded: Points = np.round(solid.vertices * 1000.0, 9) + 0.0  # no negative zeros
    return rounded


def digits(value: float) -> str:
    """Return *value* to nine decimals without exponent or idle zeros.

    >>> digits(1210.25), digits(1e-9), digits(40.0)
    ('1210.25', '0.000000001', '40')
    """
    return f"{value:.9f}".rstrip("0").rstrip(".")
