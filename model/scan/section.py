"""One section of a scan: the corners where its fitted walls meet, how sure they are, and how much of it was seen."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from tapeloft.model.moments import Points
from tapeloft.model.scan.covered import Crowd, Seen, seen_of
from tapeloft.model.scan.endwall import End, EndWall, end_of
from tapeloft.model.scan.lines import Wall, band, crossing, fitted, walls
from tapeloft.model.scan.outline import FRAME, outline, within
from tapeloft.model.scan.slab import Slab

ROUNDS = 3  # of giving each wall its points and fitting it to them
ALIKE = 0.07  # rad: walls that turn less than this make no corner
SHORT = 0.04  # m, and
SHORT_NOISES = 6.0  # times the noise: a wall shorter than this is a rounded corner
KNUCKLE = 0.6  # of the noise: a wall that bends by less is straight
LEAST_KNUCKLE = 0.015  # m: less is how a scan wanders
SURE = 6.0  # standard deviations by which a bend must be more than chance
CHANCE = 0.03  # m that a corner may stand out of its neighbours' line and be how a scan wanders
FEWEST_CELLS = 6  # of a wall on either hand of a knuckle


@dataclass(frozen=True, eq=False)
class Section:
    """A section at a station: corners (n, 2) half-breadth and height, m, counter-clockwise seen from forward.

    stray (n,): one standard deviation of each corner in its less certain direction, m. seen: of the wall from
    each corner to the next, what of it points show. noise: how far points stray from their walls, one standard
    deviation, m. points: that it was fitted to. crowd: of those that stand within it. open: where no wall closes it.
    bulkhead (n,): how far forward of each corner a bulkhead stands that is at the station, m. end: the wall that closes
    the space here, as it leans; x is then the middle of its corners'.
    """

    x: float
    corners: Points
    stray: Points
    seen: tuple[Seen, ...]
    noise: float
    points: int
    crowd: Crowd | None
    open: bool
    bulkhead: Points | None = None
    end: End | None = None

    @property
    def spots(self) -> Points:
        """Where its corners are, (n, 3) m, compartment axes."""
        ahead = self.end.ahead if self.end else np.full(len(self.corners), self.x)
        return np.column_stack([ahead, self.corners])


def section_of(
    slab: Slab, x: float, most: int | None = None, proudest: float = CHANCE, seed: int = 0
) -> Section | None:
    """Return the section that the points of *slab* bound at the station *x*, m; None where they bound nothing.

    most: corners that it should have: one with more goes without those that stand out least of their neighbours' line,
    as long as that is no more than *proudest*, m.
    """
    found = walls(slab, seed)
    names = outline(slab, found, within(slab)) if found else None
    if names is None:
        return None
    ring = [found[name] for name in names if name != FRAME]
    if len(ring) < 3:
        return None
    for _ in range(ROUNDS):
        ring = _refitted(slab, _knuckled(slab, _without_short(ring, slab.noise)))
    ring = _with_at_most(slab, _without_short(ring, slab.noise), most, proudest)
    corners = _corners(ring)
    if corners is None or _area(corners) <= 0:
        return None
    stray = np.array([_stray(ring[k - 1], ring[k], corners[k]) for k in range(len(ring))])
    seen, crowd = seen_of(slab, ring, corners)
    rms = float(np.sqrt(np.mean([wall.spread**2 for wall in ring])))
    bulkhead = None if slab.bulkhead is None else slab.bulkhead[0] + corners @ slab.bulkhead[1:]
    return Section(x, corners, stray, seen, rms, len(slab.across), crowd, FRAME in names, bulkhead)


def ended(section: Section, wall: EndWall) -> Section:
    """Return a section, fitted among points that *wall* squares, as what closes the space: its corners on the wall."""
    end = end_of(wall, section.corners)
    stray = np.maximum(section.stray, wall.stray(section.corners))
    return replace(section, x=float(end.ahead.mean()), stray=stray, bulkhead=None, end=end)


def _corners(ring: Sequence[Wall]) -> Points | None:
    """Return where each wall meets the one before it, (n, 2); None where two neighbours run alike."""
    met = [crossing(ring[k - 1], ring[k]) for k in range(len(ring))]
    spots = [spot for spot in met if spot is not None]
    return np.array(spots) if len(spots) == len(ring) >= 3 else None


def _area(corners: Points) -> float:
    """Return the area of a loop (n, 2), m², counter-clockwise positive."""
    after = np.roll(corners, -1, axis=0)
    return float((corners[:, 0] * after[:, 1] - after[:, 0] * corners[:, 1]).sum()) / 2


def _without_short(ring: Sequence[Wall], noise: float) -> list[Wall]:
    """Return the walls without those too short to be one, and without one of two that run on in one line."""
    left = list(ring)
    while len(left) > 3:
        corners = _corners(left)
        if corners is None:
            turns = [_turn(left[k - 1], left[k]) for k in range(len(left))]
            del left[int(np.argmin(turns))]
            continue
        lengths = np.linalg.norm(np.roll(corners, -1, axis=0) - corners, axis=1)
        turns = [_turn(left[k - 1], left[k]) for k in range(len(left))]
        if lengths.min() < max(SHORT, SHORT_NOISES * noise):
            del left[int(lengths.argmin())]
        elif min(turns) < ALIKE:
            k = int(np.argmin(turns))
            del left[k if lengths[k] < lengths[k - 1] else k - 1]
        else:
            break
    return left


def _with_at_most(slab: Slab, ring: list[Wall], most: int | None, proudest: float) -> list[Wall]:
    """Return no more walls than asked for, as long as a corner stands out so little that it may be chance."""
    while most is not None and len(ring) > max(most, 3):
        corners = _corners(ring)
        if corners is None:
            break
        proud = [_proud(corners, k) for k in range(len(ring))]
        k = int(np.argmin(proud))
        if proud[k] > proudest:
            break
        lengths = np.linalg.norm(np.roll(corners, -1, axis=0) - corners, axis=1)
        shorter = k if lengths[k] < lengths[k - 1] else k - 1
        ring = [wall for j, wall in enumerate(ring) if j != shorter % len(ring)]
        for _ in range(ROUNDS):
            ring = _refitted(slab, ring)
    return ring


def _proud(corners: Points, k: int) -> float:
    """Return how far a corner stands out of the line of its neighbours, m."""
    before, here, after = (corners[(k + j) % len(corners)] for j in (-1, 0, 1))
    chord, to = after - before, here - before
    return float(abs(chord[0] * to[1] - chord[1] * to[0]) / max(float(np.hypot(*chord)), 1e-9))


def _turn(a: Wall, b: Wall) -> float:
    """Return the angle between two walls' lines, rad, 0 to a right angle."""
    return float(np.arcsin(min(1.0, abs(a.normal[0] * b.normal[1] - a.normal[1] * b.normal[0]))))


def _own(slab: Slab, ring: Sequence[Wall], corners: Points) -> list[NDArray[np.int64]]:
    """Return the numbers of the points of each wall; those by a corner could be of either and are of none."""
    width = band(slab.noise)
    own = []
    for k, wall in enumerate(ring):
        ends = np.sort(corners[[k, (k + 1) % len(ring)]] @ wall.along)
        inset = min(width, (ends[1] - ends[0]) / 4)
        t = slab.across @ wall.along
        on = (np.abs(wall.off(slab)) <= 1.5 * width) & (t >= ends[0] + inset) & (t <= ends[1] - inset)
        own.append(np.flatnonzero(on))
    return own


def _refitted(slab: Slab, ring: Sequence[Wall]) -> list[Wall]:
    corners = _corners(ring)
    if corners is None:
        return list(ring)
    own = _own(slab, ring, corners)
    return [fitted(slab, of, wall) if len(of) > 3 else wall for of, wall in zip(own, ring, strict=True)]


def _knuckled(slab: Slab, ring: Sequence[Wall]) -> list[Wall]:
    """Return the walls, one that bends in the middle parted in two where it does."""
    corners = _corners(ring)
    if corners is None:
        return list(ring)
    parted: list[Wall] = []
    for k, (of, wall) in enumerate(zip(_own(slab, ring, corners), ring, strict=True)):
        two = _bent(slab, of, wall)
        ahead = float((corners[(k + 1) % len(ring)] - corners[k]) @ wall.along) > 0
        parted += [wall] if two is None else two if ahead else two[::-1]
    return parted


def _bent(slab: Slab, of: NDArray[np.int64], wall: Wall) -> list[Wall] | None:
    """Return the two walls that the points of one make, if it has a knuckle between; else None.

    A line and a hinge fitted together, the hinge moved along for the best: segmented regression.
    """
    t, off = slab.across[of] @ wall.along, wall.off(slab)[of]
    near = np.abs(off) <= band(slab.noise) * 1.5
    t, off, of = t[near], off[near], of[near]
    spans = [t.min(), t.max()] if len(t) else [0.0, 0.0]
    margin = FEWEST_CELLS * 0.02
    if spans[1] - spans[0] < 2 * margin + 0.02:
        return None
    best, knuckle, bend, sure = np.inf, 0.0, 0.0, 0.0
    for s in np.linspace(spans[0] + margin, spans[1] - margin, 15):
        rest, slope, strength = _hinge(t, off, float(s))
        if rest < best:
            best, knuckle, sure = rest, float(s), strength
            bend = abs(slope) * (s - spans[0]) * (spans[1] - s) / (spans[1] - spans[0])
    if bend < max(KNUCKLE * slab.noise, LEAST_KNUCKLE) or sure < SURE:
        return None
    low, high = (fitted(slab, of[side], wall) for side in (t < knuckle, t >= knuckle))
    return [low, high] if _turn(low, high) >= ALIKE else None


def _hinge(t: Points, off: Points, s: float) -> tuple[float, float, float]:
    """Return what a line with a hinge at *s* leaves unexplained, how much it turns there, and by how many of its
    standard deviations it does."""
    columns = np.column_stack([np.ones_like(t), t - s, np.maximum(t - s, 0.0)])
    square = columns.T @ columns
    part = np.linalg.solve(square + 1e-12 * np.eye(3), columns.T @ off)
    rest = float(((off - columns @ part) ** 2).sum())
    stray = np.sqrt(max(rest, 1e-18) / max(len(t) - 3, 1) * np.linalg.inv(square + 1e-12 * np.eye(3))[2, 2])
    return rest, float(part[2]), abs(float(part[2])) / float(stray)


def _stray(a: Wall, b: Wall, corner: Points) -> float:
    """Return one standard deviation of a corner, m, in its less certain direction, from those of its walls there."""
    both = np.linalg.inv(np.array([a.normal, b.normal]))
    sure = np.array([wall.stray(float(corner @ wall.along)) for wall in (a, b)])
    return float(np.linalg.svd(both * sure)[1].max())
