"""What a tape itself may be off by: the directive's maximum permissible error, and the standard uncertainty of that."""

import math

CLASSES = {"I": (1e-4, 1e-4), "II": (3e-4, 2e-4), "III": (6e-4, 4e-4)}
"""a and b, m: a tape of the class may be off by a + b·L, L in metres rounded up (Directive 2014/32/EU, MI-008)."""


def permitted(length: float, accuracy_class: str) -> float:
    """Return by how much, m, a tape of an accuracy class may be off over a *length*, m.

    >>> [round(permitted(length, "II") * 1e3, 6) for length in (2, 2.1, 5, 8)]
    [0.7, 0.9, 1.3, 1.9]
    """
    fixed, per_metre = CLASSES[accuracy_class]
    return fixed + per_metre * math.ceil(length)


def uncertainty(length: float, accuracy_class: str) -> float:
    """Return the standard uncertainty, m, of a tape of a class over a *length*, m: no part of its band likelier (√3).

    JCGM 100:2008, 4.3.7.

    >>> [round(uncertainty(length, "II") * 1e3, 3) for length in (3, 5)]
    [0.52, 0.751]
    """
    return permitted(length, accuracy_class) / math.sqrt(3)
