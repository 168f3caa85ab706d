"""A section that is to be measured: its letters, and about where each of them lies."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tapeloft.model.moments import Points
from tapeloft.model.survey.station import Point

NEAR = 0.02  # m within which two letters are one spot: no tape between them says anything


@dataclass(frozen=True)
class Section:
    """A section to be measured: the marks in order round it, and about where each lies, m, compartment axes.

    x: distance of the station, m. marks: () where the section closes to a point that bears no letter.
    """

    station: str
    x: float
    marks: tuple[str, ...]
    corners: tuple[Point, ...]

    @property
    def spots(self) -> Points:
        """The corners, (n, 3) m."""
        return np.array(self.corners, np.float64).reshape(-1, 3)

    @property
    def outline(self) -> Points:
        """The corners in the plane of the section, (n, 2) m: y, z."""
        return self.spots[:, 1:]


@dataclass(frozen=True)
class Tape:
    """A tape to be taken: from corner to corner, (station, mark) each; three corners or more are a girth."""

    corners: tuple[tuple[str, str], ...]

    @property
    def label(self) -> str:
        """What a survey's [check] calls it.

        >>> Tape((("1", "A"), ("1", "D"))).label
        '1A-1D'
        """
        return "-".join(f"{station}{mark}" for station, mark in self.corners)


def nameable(sections: Sequence[Section]) -> frozenset[tuple[str, str]]:
    """Return the corners, (station, mark), that a label of a survey's [check] can name and no other corner shares.

    A dash parts the corners of a label, so that none may stand in a name; station 1's "1A" is called as station 11's A.

    >>> corners = ((0.0, 0.5, 0.0), (0.0, 0.9, 0.0))
    >>> sorted(nameable([Section("1", 0.0, ("1A", "B"), corners), Section("11", 0.5, ("A", "C-D"), corners)]))
    [('1', 'B')]
    """
    every = [(one.station, mark) for one in sections for mark in one.marks if mark]
    called = [station + mark for station, mark in every]
    return frozenset(
        corner for corner, name in zip(every, called, strict=True) if "-" not in name and called.count(name) == 1
    )


def area(outline: Points) -> float:
    """Return the area of an outline (n, 2) m, m², below 0 where it runs clockwise."""
    y, z = outline.T
    return float(y @ np.roll(z, -1) - z @ np.roll(y, -1)) / 2


def inside(outline: Points, a: Points, b: Points) -> bool:
    """Whether the straight line from *a* to *b*, (2,) m each, stays within an outline (n, 2) m, or runs along it.

    >>> notched = np.array([[0, 0], [2, 0], [2, 1], [1, 1], [1, 2], [0, 2.0]])
    >>> inside(notched, notched[0], notched[2]), inside(notched, notched[2], notched[4])
    (True, False)
    """
    starts, ends = outline, np.roll(outline, -1, axis=0)
    if _crossing(a, b, starts, ends).any():
        return False
    return bool(contains(outline, a + (b - a) * np.array([[0.25], [0.5], [0.75]])).all())


def contains(outline: Points, points: Points, within: float = 1e-3) -> NDArray[np.bool_]:
    """Whether each of the points (m, 2) m lies in an outline (n, 2) m, or no more than *within* m off it.

    >>> contains(np.array([[0, 0], [2, 0], [0, 2.0]]), np.array([[0.5, 0.5], [1.5, 1.5]])).tolist()
    [True, False]
    """
    starts, along = outline, np.roll(outline, -1, axis=0) - outline
    off = points[:, None] - starts
    share = np.clip((off * along).sum(axis=2) / np.maximum((along**2).sum(axis=1), 1e-18), 0, 1)
    beside = ((off - share[..., None] * along) ** 2).sum(axis=2).min(axis=1) <= within**2
    rising = (off[..., 1] < 0) != (off[..., 1] < along[:, 1])
    with np.errstate(divide="ignore", invalid="ignore"):
        crossed = rising & (off[..., 0] < off[..., 1] * along[:, 0] / along[:, 1])
    found: NDArray[np.bool_] = beside | (crossed.sum(axis=1) % 2 == 1)
    return found


def _crossing(a: Points, b: Points, starts: Points, ends: Points) -> NDArray[np.bool_]:
    """Whether the line from a to b properly crosses each of the sides."""

    def turn(p: Points, q: Points, r: Points) -> Points:
        way: Points = (q[..., 0] - p[..., 0]) * (r[..., 1] - p[..., 1])
        return way - (q[..., 1] - p[..., 1]) * (r[..., 0] - p[..., 0])

    hair = 1e-9
    here = turn(starts, ends, a) * turn(starts, ends, b)
    there = turn(a, b, starts) * turn(a, b, ends)
    crossed: NDArray[np.bool_] = (here < -hair) & (there < -hair)
    return crossed
