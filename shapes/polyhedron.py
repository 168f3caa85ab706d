"""What a shape is made of: plane polygons that close."""

import math
from dataclasses import dataclass
from enum import Enum

import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.float64]
OVER = 1e-3  # m that a shape is carried through a wall it is meant to reach, so that no sliver is left
PER_METRE = 1e5  # what is taped lies on whole hundredths of a millimetre, so that faces meant to touch do touch
NO_SIZE = "its two readings are the same, or one lies beyond the wall that the other runs to"
TOWARD = {"forward": (0, math.inf), "aft": (0, -math.inf), "port": (1, math.inf), "starboard": (1, -math.inf)}
SIDES = 64  # of every polygon that stands for a circle: around and within it, the two are 0.12 % of the radius apart


@dataclass(frozen=True, eq=False)
class Polyhedron:
    """A closed body: vertices (n, 3) m; faces as vertex numbers, each plane, counter-clockwise from outside.

    Two are equal when their corners and faces are, number for number; the corners are a read-only copy.
    remarks says in words what was mended in it when it was read from a file.
    """

    vertices: Points
    faces: tuple[tuple[int, ...], ...]
    remarks: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        corners = np.array(self.vertices, np.float64).reshape(-1, 3)
        corners.setflags(write=False)
        object.__setattr__(self, "vertices", corners)

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, Polyhedron):
            return NotImplemented
        return self.faces == other.faces and np.array_equal(self.vertices, other.vertices)

    def __hash__(self) -> int:
        return hash((self.vertices.tobytes(), self.faces))


@dataclass(frozen=True)
class Bounds:
    """The upright box around the space that a shape stands in, m; `low` and `high` are (x, y, z)."""

    low: tuple[float, float, float]
    high: tuple[float, float, float]

    def reach(self, axis: int, span: tuple[float, float] | None) -> tuple[float, float]:
        """Return *span* in rising order, with whatever runs to the end of the space carried just through it.

        None or an infinite end means as far as the space goes.

        >>> Bounds((0, 0, 0), (2, 1, 1)).reach(2, (math.inf, 0.3))
        (0.3, 1.001)
        >>> Bounds((0, 0, 0), (2, 1, 1)).reach(0, None)
        (-0.001, 2.001)
        """
        low, high = sorted(span) if span else (-math.inf, math.inf)
        return self.at(axis, low), self.at(axis, high)

    def at(self, axis: int, reading: float) -> float:
        """Return one *reading*; an infinite one is the end of the space, carried just through it.

        >>> Bounds((0, 0, 0), (2, 1, 1)).at(1, -math.inf)
        -0.001
        """
        end = {-math.inf: self.low[axis] - OVER, math.inf: self.high[axis] + OVER}
        return on_grid(end.get(reading, reading))

    def wall(self, axis: int, reading: float) -> float:
        """Return one *reading*; an infinite one is the very end of the space, not carried through."""
        return on_grid(min(max(reading, self.low[axis]), self.high[axis]) if math.isinf(reading) else reading)

    def run(self, axis: int, span: tuple[float, float] | None) -> tuple[float, float]:
        """Return *span* as `reach` does; ValueError where nothing lies between its ends."""
        low, high = self.reach(axis, span)
        if not low < high:
            raise ValueError(f"it has no size in {'xyz'[axis]}: {NO_SIZE}")
        return low, high

    def box(self, *spans: tuple[float, float] | None) -> "Polyhedron":
        """Return the upright box between *spans* in x, y and z; ValueError where one way leaves it no size."""
        (x0, x1), (y0, y1), (z0, z1) = (self.run(axis, span) for axis, span in enumerate(spans))
        return box((x0, y0, z0), (x1, y1, z1))


class Round(Enum):
    """How a circle is drawn with straight sides."""

    EQUAL_AREA = "equal area"  # same section, for volumes: radius r·√(θ / sin θ), θ = 2π/n
    OUTSIDE = "outside"  # around the circle, so that what clears it clears the true one: r / cos(π/n)
    INSIDE = "inside"  # corners on the circle: what it takes the true one takes too

    def radius(self, true: float, sides: int) -> float:
        """Return the corner radius of the regular polygon that stands for a circle of radius *true*.

        >>> round(Round.EQUAL_AREA.radius(1.0, 4) ** 2 * 2, 12) == round(math.pi, 12)
        True
        """
        turn = 2 * math.pi / sides
        if self is Round.EQUAL_AREA:
            return true * math.sqrt(turn / math.sin(turn))
        return true / math.cos(turn / 2) if self is Round.OUTSIDE else true

    def turned(self) -> "Round":
        """Return how a hole is drawn in a body that is itself drawn this way."""
        return {Round.OUTSIDE: Round.INSIDE, Round.INSIDE: Round.OUTSIDE}.get(self, self)


def on_grid(reading: float) -> float:
    """Return a taped *reading*, m, on the nearest whole hundredth of a millimetre.

    >>> on_grid(0.1 + 0.2)
    0.3
    """
    return round(reading * PER_METRE) / PER_METRE


def prism(outline: Points, low: float, high: float, axis: int) -> Polyhedron:
    """Return the body of a plane *outline* carried from *low* to *high* along *axis*.

    outline (n, 2) m, simple, either way round, in the two other axes in the order x, y, z.

    >>> prism(np.array([[0, 0], [1, 0], [1, 1.0]]), 0, 2, 2).faces
    ((2, 1, 0), (3, 4, 5), (0, 1, 4, 3), (1, 2, 5, 4), (2, 0, 3, 5))
    """
    flat = _wound(outline, axis)
    n = len(flat)
    ends = [np.insert(flat, axis, at, axis=1) for at in (low, high)]
    sides = tuple((i, (i + 1) % n, n + (i + 1) % n, n + i) for i in range(n))
    return Polyhedron(np.vstack(ends), (tuple(range(n))[::-1], tuple(range(n, 2 * n)), *sides))


def tube(outer: Points, inner: Points, low: float, high: float, axis: int) -> Polyhedron:
    """Return the body between two plane outlines, (n, 2) m each, that match corner for corner; else as `prism`.

    >>> ring = tube(circle((0, 0), 2, Round.INSIDE, 4), circle((0, 0), 1, Round.INSIDE, 4), 0, 1, 2)
    >>> len(ring.vertices), len(ring.faces)
    (16, 16)
    """
    rings = [_wound(outer, axis), _wound(inner, axis)]
    n = len(outer)
    ends = [np.insert(ring, axis, at, axis=1) for at in (low, high) for ring in rings]
    faces: list[tuple[int, ...]] = []
    for i in range(n):
        j = (i + 1) % n
        faces += [(i, j, 2 * n + j, 2 * n + i), (n + j, n + i, 3 * n + i, 3 * n + j)]
        faces += [(j, i, n + i, n + j), (2 * n + i, 2 * n + j, 3 * n + j, 3 * n + i)]
    return Polyhedron(np.vstack(ends), tuple(faces))


def _wound(outline: Points, axis: int) -> Points:
    """Return a plane outline so wound that it is counter-clockwise seen against *axis*."""
    a, b = np.asarray(outline, np.float64).T
    area = float(a @ np.roll(b, -1) - b @ np.roll(a, -1))
    flip = area < 0 if axis != 1 else area > 0  # the plane x-z is left-handed seen against y
    return np.asarray(outline, np.float64)[:: -1 if flip else 1]


def box(low: tuple[float, float, float], high: tuple[float, float, float]) -> Polyhedron:
    """Return the upright box between two corners, m."""
    (x0, y0, z0), (x1, y1, z1) = low, high
    return prism(np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]]), z0, z1, 2)


def circle(centre: tuple[float, float], radius: float, how: Round, sides: int = SIDES) -> Points:
    """Return the (sides, 2) polygon that stands for a circle of *radius* m."""
    turn = 2 * math.pi * (np.arange(sides) + 0.5) / sides
    corner = how.radius(radius, sides)
    return np.column_stack([centre[0] + corner * np.cos(turn), centre[1] + corner * np.sin(turn)])
