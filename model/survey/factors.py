"""By what a reading is off where its unit, or its decimal point, is another than it should be."""

from collections.abc import Iterable

FACTORS = {
    10.0: "a figure too few, or centimetres among millimetres",
    25.4: "inches among millimetres",
    100.0: "two figures too few, or metres among centimetres",
    1000.0: "metres among millimetres",
    1 / 10.0: "a figure too many, or millimetres among centimetres",
    1 / 25.4: "millimetres among inches",
    1 / 100.0: "two figures too many, or centimetres among metres",
    1 / 1000.0: "millimetres among metres",
}
"""What a reading must be multiplied by to be right, and what slip that is."""


def candidates(reading: float) -> Iterable[tuple[float, str]]:
    """Yield what a reading would be, were it off by one of the usual slips, and the slip's name.

    >>> next(iter(candidates(54.6)))
    (546.0, 'a figure too few, or centimetres among millimetres')
    """
    return ((reading * factor, slip) for factor, slip in FACTORS.items())


def fitting(low: float, reading: float, high: float) -> float | None:
    """Return what *reading* would be, off by a usual slip, between two others; None where no slip puts it there.

    >>> fitting(1240, 170, 2150), fitting(1240, 1800, 2150)
    (1700.0, None)
    """
    if low < reading < high:
        return None
    return next((value for value, _ in candidates(reading) if low < value < high), None)
