"""The forms that gear has: each a few sizes, and closed bodies with straight sides that stand for it.

Every form lies in its own axes, m, its origin in the middle of its upright box. `drawn` gives a body within the
true thing (Round.INSIDE: where that does not fit, neither does the thing), around it (Round.OUTSIDE: where that
fits, so does the thing), or of the same volume (Round.EQUAL_AREA). A form whose sizes make no body is refused when
it is made: ValueError, in words fit to show.
"""

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np

from tapeloft.model.moments import Points
from tapeloft.model.units import LONGEST
from tapeloft.shapes.polyhedron import Polyhedron, Round, box, circle, prism

Symmetry = Literal["box", "round", "none"]
"""What leaves a form as it is: half turns about its three axes; any spin about z and turning over too; nothing."""
Sizes = tuple[float, float, float]

SHORTEST = 1e-4
"""m. Nothing that is stowed is smaller; a size that is has lost its unit."""
AROUND, QUARTER = 32, 8
"""Sides round a capsule, and chords from its belt to its tip: within and around it are 0.5 % of the radius apart."""
CHORD = 5e-4
"""m. How far a chord of a board's rocker may lie off its curve."""


@dataclass(frozen=True)
class Block:
    """An upright box; length along x, breadth along y, height along z, m.

    >>> Block(0.6, 0.4, 0.28).drawn(Round.INSIDE).vertices.max(axis=0).tolist()
    [0.3, 0.2, 0.14]
    >>> Block(0.6, 0.4, float("nan"))
    Traceback (most recent call last):
    ValueError: its height must be from 0.1 mm to 1000 m
    """

    length: float
    breadth: float
    height: float

    def __post_init__(self) -> None:
        _check(length=self.length, breadth=self.breadth, height=self.height)

    @property
    def symmetry(self) -> Symmetry:
        """What leaves it as it is."""
        return "box"

    @property
    def sizes(self) -> Sizes:
        """Sizes of its upright box along x, y and z, m."""
        return self.length, self.breadth, self.height

    @property
    def volume(self) -> float:
        """Volume of the true form, m³."""
        return self.length * self.breadth * self.height

    def drawn(self, how: Round) -> Polyhedron:
        """Return the box itself."""
        x, y, z = (size / 2 for size in self.sizes)
        return box((-x, -y, -z), (x, y, z))


@dataclass(frozen=True)
class Cylinder:
    """A cylinder standing on its end, its axis z; diameter and length, m.

    >>> can = Cylinder(0.32, 0.6)
    >>> [round(float(np.hypot(*can.drawn(how).vertices[0, :2])), 5) for how in (Round.INSIDE, Round.OUTSIDE)]
    [0.16, 0.16019]
    """

    diameter: float
    length: float

    def __post_init__(self) -> None:
        _check(diameter=self.diameter, length=self.length)

    @property
    def symmetry(self) -> Symmetry:
        """What leaves it as it is."""
        return "round"

    @property
    def sizes(self) -> Sizes:
        """Sizes of its upright box along x, y and z, m."""
        return self.diameter, self.diameter, self.length

    @property
    def volume(self) -> float:
        """Volume of the true form, m³."""
        return math.pi / 4 * self.diameter**2 * self.length

    def drawn(self, how: Round) -> Polyhedron:
        """Return the prism that stands for it."""
        return prism(circle((0.0, 0.0), self.diameter / 2, how), -self.length / 2, self.length / 2, 2)


@dataclass(frozen=True)
class Capsule:
    """A cylinder with half a ball on each end, its axis z; diameter and length over all, m. As long as thick: a ball.

    >>> Capsule(0.2, 0.7).drawn(Round.OUTSIDE).vertices[:, 2].max().round(12)
    np.float64(0.35)
    >>> Capsule(0.7, 0.2)
    Traceback (most recent call last):
    ValueError: its length over all is less than its diameter, which comes first
    """

    diameter: float
    length: float

    def __post_init__(self) -> None:
        _check(diameter=self.diameter, length=self.length)
        if self.length < self.diameter:
            raise ValueError("its length over all is less than its diameter, which comes first")

    @property
    def symmetry(self) -> Symmetry:
        """What leaves it as it is."""
        return "round"

    @property
    def sizes(self) -> Sizes:
        """Sizes of its upright box along x, y and z, m."""
        return self.diameter, self.diameter, self.length

    @property
    def volume(self) -> float:
        """Volume of the true form, m³."""
        return math.pi * self.diameter**2 * (self.length / 4 - self.diameter / 12)

    def drawn(self, how: Round) -> Polyhedron:
        """Return rings of straight sides that stand for it: chords of its profile within, tangents around."""
        radius, middle = self.diameter / 2, (self.length - self.diameter) / 2
        step = math.pi / 2 / QUARTER
        if how is Round.OUTSIDE:
            angles, out = (np.arange(QUARTER) + 0.5) * step, radius / math.cos(step / 2)
        else:
            angles, out = np.append(np.arange(QUARTER) * step, math.pi / 2), radius
        rings, rises = out * np.cos(angles), out * np.sin(angles)
        rings[np.isclose(angles, math.pi / 2)] = 0.0
        profile = np.column_stack([np.append(rings[::-1], rings), np.append(-middle - rises[::-1], middle + rises)])
        if how is not Round.EQUAL_AREA:
            return _turned(profile, how)
        (r, z), (s, y) = profile[:-1].T, profile[1:].T
        chords = math.pi / 3 * float(((y - z) * (r * r + r * s + s * s)).sum())
        return _turned(profile * [math.sqrt(self.volume / chords), 1.0], how)


@dataclass(frozen=True)
class Board:
    """A board lying on its bottom, length along x with the nose forward, breadth along y, thickness along z, m.

    rocker: how far both ends rise above the middle, along a parabola; outline: (distance from the tail, breadth
    there), from tail to nose, straight between; without it the ends are square. Its edges are square too: a rounded
    one is a little smaller. Bent, it is drawn within `CHORD` of its curve.

    >>> board = Board(1.9, 0.5, 0.08, rocker=0.04, outline=((0, 0.3), (1.0, 0.5), (1.9, 0.02)))
    >>> [round(size, 9) for size in board.sizes], round(board.volume, 6)
    ([1.9, 0.5, 0.12], 0.05072)
    """

    length: float
    breadth: float
    thickness: float
    rocker: float = 0.0
    outline: tuple[tuple[float, float], ...] = ()

    def __post_init__(self) -> None:
        _check(length=self.length, breadth=self.breadth, thickness=self.thickness)
        if not 0 <= self.rocker <= self.length / 4:
            raise ValueError("its rocker must be from nothing to a quarter of its length")
        if self.outline:
            _check_outline(np.array(self.outline, np.float64), self.length, self.breadth)

    @property
    def symmetry(self) -> Symmetry:
        """What leaves it as it is."""
        at, breadths = self._widths
        same = np.allclose(at, self.length - at[::-1], 0, 1e-9) and np.allclose(breadths, breadths[::-1], 0, 1e-9)
        return "box" if same and not self.rocker else "none"

    @property
    def sizes(self) -> Sizes:
        """Sizes of its upright box along x, y and z, m."""
        return self.length, self.breadth, self.thickness + self.rocker

    @property
    def volume(self) -> float:
        """Volume of the true form, m³."""
        at, breadths = self._widths
        return self.thickness * float((np.diff(at) * (breadths[1:] + breadths[:-1])).sum()) / 2

    @property
    def _widths(self) -> tuple[Points, Points]:
        at, breadths = np.array(self.outline or ((0.0, self.breadth), (self.length, self.breadth)), np.float64).T
        return at, breadths

    def drawn(self, how: Round) -> Polyhedron:
        """Return it cut into straight lengths; the chords of its rocker lie above the curve, so one face is moved."""
        at, breadths = self._widths
        pieces = math.ceil(math.sqrt(self.rocker / min(CHORD, self.thickness / 4))) or 1
        off = self.rocker / pieces**2  # the most that a chord of a parabola lies off it
        under, over = {Round.OUTSIDE: (-off, 0.0), Round.INSIDE: (0.0, -off)}.get(how, (0.0, 0.0))
        x = np.unique(np.append(np.linspace(0, self.length, pieces + 1), at))
        half = np.interp(x, at, breadths) / 2
        rise = self.rocker * (2 * x / self.length - 1) ** 2 - self.sizes[2] / 2
        low, high = rise + under, rise + self.thickness + over
        sides = [(-half, low), (half, low), (half, high), (-half, high)]
        rings = [np.column_stack([x - self.length / 2, y, z]) for y, z in sides]
        return _ringed(np.stack(rings, axis=1))


@dataclass(frozen=True)
class SoftBag:
    """A bag that gives: it takes any form of no less than its volume, m³, that is nowhere thinner than thickness, m.

    >>> SoftBag(0.06, 0.6)
    Traceback (most recent call last):
    ValueError: a bag nowhere thinner than that holds a ball as thick, which alone is 113.1 litres
    """

    volume: float
    thickness: float

    def __post_init__(self) -> None:
        _check(thickness=self.thickness)
        if not 1e-6 <= self.volume <= 1e6:
            raise ValueError("its volume must be from a millilitre to a million cubic metres")
        ball = math.pi / 6 * self.thickness**3
        if ball > self.volume:
            raise ValueError(
                f"a bag nowhere thinner than that holds a ball as thick, which alone is {ball * 1000:.1f} litres"
            )


def _check(**sizes: float) -> None:
    for name, size in sizes.items():
        if not SHORTEST <= size <= LONGEST:
            raise ValueError(f"its {name} must be from 0.1 mm to {LONGEST} m")


def _check_outline(outline: Points, length: float, breadth: float) -> None:
    at, breadths = outline.T
    if not (np.diff(at) > 0).all() or abs(at[0]) > SHORTEST or abs(at[-1] - length) > SHORTEST:
        raise ValueError("its outline must go from the tail, 0, in rising distances to its whole length")
    if not (breadths[1:-1] >= SHORTEST).all() or not (breadths[[0, -1]] >= 0).all():
        raise ValueError("its outline must have a breadth everywhere but at its ends")
    if not abs(breadths.max() - breadth) <= SHORTEST:
        raise ValueError("its outline must be as broad as the board where it is broadest, and nowhere broader")


def _turned(profile: Points, how: Round) -> Polyhedron:
    """Return rings of `AROUND` sides at the (radius, height) of a *profile*, (n, 2) m, from the bottom up."""
    rings = [np.insert(circle((0.0, 0.0), radius, how, AROUND), 2, z, axis=1) for radius, z in profile]
    return _ringed(np.stack(rings))


def _ringed(rings: Points) -> Polyhedron:
    """Return the body between rings of corners, (n, k, 3) m, each counter-clockwise seen from the next.

    Corners in one place are one, so that a ring can be a point or an edge.
    """
    n, k = rings.shape[:2]
    number = np.arange(n * k).reshape(n, k)
    aside = np.roll(number, -1, axis=1)
    sides = np.stack([number[:-1], aside[:-1], aside[1:], number[1:]], axis=-1).reshape(-1, 4)
    loops = [number[0, ::-1].tolist(), number[-1].tolist(), *sides.tolist()]
    places, one = np.unique(rings.reshape(-1, 3) + 0.0, axis=0, return_inverse=True)
    faces = (tuple(dict.fromkeys(one.ravel()[loop].tolist())) for loop in loops)
    return Polyhedron(places, tuple(face for face in faces if len(face) > 2))
