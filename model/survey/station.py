"""One section as read: its distance and its corners, in compartment axes."""

from dataclasses import dataclass

from tapeloft.model.survey.sheet import StationSheet

Point = tuple[float, float, float]


@dataclass(frozen=True)
class Corner:
    """A corner of a section: its letter ("" where it has none) and where it is, m, compartment axes."""

    name: str
    at: Point


@dataclass(frozen=True)
class Station:
    """One section: its distance x from zero, m, and its corners in order round it.

    pointed: all corners meet in one point. step: the space changes size here, in the plane of the station before.
    """

    name: str
    x: float
    corners: tuple[Corner, ...]
    pointed: bool = False
    step: bool = False


def leaning(one: StationSheet, y: float, z: float) -> float:
    """Return how far forward of its station a point lies, m, where the bulkhead is raked or runs askew.

    >>> leaning(StationSheet(0.9, rake=(-0.2, 0.5)), 0.3, 0.25)
    -0.1
    """
    forward = 0.0
    for slope, reach in ((one.rake, z), (one.skew, y)):
        forward += slope[0] / slope[1] * reach if slope and slope[1] else 0.0
    return forward
