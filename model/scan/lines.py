"""The walls of a section as straight lines, found among points that stray, with strangers among them."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tapeloft.model.moments import Points
from tapeloft.model.scan.slab import Slab

TRIES = 250  # pairs of points that a wall is sought through, each time
PAIR = (0.05, 0.6)  # m: how far apart the two stand
BAND = 2.5  # times the noise: points so near are of the wall
LEAST_BAND = 0.025  # m: over a wall a scan wanders by more than its points stray from one another
CELL = 0.02  # m: points are counted once in each cell, so that a crowd of them weighs no more than a wall's length
SHORTEST = 0.08  # m: what shows over less of its length is no wall
ASKEW = 0.5  # a patch of wall whose normal lies more than this along a line (30 degrees) is not of it
MOST = 16  # walls of a section; more are noise
ROUNDS = 6  # of weighing the points anew


@dataclass(frozen=True, eq=False)
class Wall:
    """A wall where it passes a station: the line normal·(y, z) = offset, m, and how it leans fore and aft.

    lean: normal·(y, z) + lean·ahead = offset, ahead of the station, m. middle: of its points, along it, m;
    reach: their spread along it; spread: one standard deviation across it, m; cells: of `CELL` that show it.
    """

    normal: Points
    offset: float
    lean: float = 0.0
    middle: float = 0.0
    reach: float = 0.0
    spread: float = 0.0
    cells: int = 0

    @property
    def along(self) -> Points:
        """The direction that `t` is counted in: the normal a quarter turn on."""
        return np.array([-self.normal[1], self.normal[0]])

    def off(self, slab: Slab) -> Points:
        """Return how far each point of *slab* lies off the wall, m, on the normal's side positive."""
        off: Points = slab.across @ self.normal + self.lean * slab.ahead - self.offset
        return off

    def has(self, slab: Slab, width: float) -> NDArray[np.bool_]:
        """Return which points are of the wall: within *width* of its line, and not of a patch that runs askew."""
        own: NDArray[np.bool_] = (np.abs(self.off(slab)) <= width) & (np.abs(slab.facing @ self.along) <= ASKEW)
        return own

    def stray(self, t: float) -> float:
        """Return one standard deviation of where the wall is, m, at *t* along it.

        A straight line's through `cells` independent readings (textbook regression): strays of neighbouring
        points go together, so each cell counts as one reading.
        """
        turn = (t - self.middle) / self.reach if self.reach > 0 else 0.0
        return self.spread * float(np.sqrt((1.0 + turn**2) / max(self.cells, 1)))


def band(noise: float) -> float:
    """Return how near points of a wall lie to it, m, where they stray by *noise*."""
    return max(BAND * noise, LEAST_BAND)


def walls(slab: Slab, seed: int = 0) -> list[Wall]:
    """Return the walls that show in *slab*, the most of them first; random sample consensus, seeded.

    Method: Fischler and Bolles, Communications of the ACM 24 (1981), line by line (from memory).
    """
    chance = np.random.default_rng(seed)
    width = band(slab.noise)
    left = slab.thin
    found: list[Wall] = []
    while len(found) < MOST and len(left) > 2:
        best = _most_shown(slab.across[left], slab.facing[left], width, chance)
        if best is None:
            break
        wall = fitted(slab, np.flatnonzero(best.has(slab, width)), best)
        own = wall.has(slab, width)[left]
        if not own.any() or shown_over(wall, slab.across[left[own]]) < max(SHORTEST, 3 * width):
            break
        found.append(wall)
        left = left[~own]
    return _different(found, width)


def _most_shown(spots: Points, facing: Points, width: float, chance: np.random.Generator) -> Wall | None:
    """Return the line through two of *spots* that the most cells with points lie by whose patches run as it does."""
    a, b = (spots[chance.integers(0, len(spots), 4 * TRIES)] for _ in "ab")
    apart = np.linalg.norm(b - a, axis=1)
    usable = np.flatnonzero((apart >= PAIR[0]) & (apart <= PAIR[1]))[:TRIES]
    if not len(usable):
        return None
    way = (b[usable] - a[usable]) / apart[usable, None]
    normals = np.column_stack([-way[:, 1], way[:, 0]])
    offsets = np.einsum("ij,ij->i", normals, a[usable])
    near = (np.abs(normals @ spots.T - offsets[:, None]) <= width) & (np.abs(way @ facing.T) <= ASKEW)
    shown = near @ _weights(spots)
    best = int(shown.argmax())
    return Wall(normals[best], float(offsets[best]))


def _weights(spots: Points) -> Points:
    """Return for each point one share of its cell: all points of a cell weigh one together."""
    cells = np.floor(spots / CELL).astype(np.int64)
    _, which, many = np.unique(cells, axis=0, return_inverse=True, return_counts=True)
    weights: Points = 1.0 / many[which.reshape(-1)]
    return weights


def fitted(slab: Slab, of: NDArray[np.int64], like: Wall) -> Wall:
    """Return the wall fitted to the points numbered *of*, near the wall *like*.

    Least squares across the line with its lean fore and aft, strangers weighed down by Tukey's biweight
    (Beaton and Tukey, Technometrics 16, 1974, from memory; the usual constant 4.685).
    """
    spots, ahead = slab.across[of], slab.ahead[of]
    if len(of) < 3:
        return like
    wall = like
    for _ in range(ROUNDS):
        t, off = spots @ wall.along, spots @ wall.normal + wall.lean * ahead - wall.offset
        scale = max(1.4826 * float(np.median(np.abs(off))), 1e-6)
        weight = np.clip(1.0 - (off / (4.685 * scale)) ** 2, 0.0, None) ** 2
        wall = _weighed(wall, spots, ahead, t, weight)
    return wall


def _weighed(wall: Wall, spots: Points, ahead: Points, t: Points, weight: Points) -> Wall:
    total = weight.sum()
    if total <= 0:
        return wall
    middle = float(weight @ t / total)
    level = spots @ wall.normal
    root = np.sqrt(weight)
    columns = np.column_stack([np.ones_like(t), t - middle, ahead]) * root[:, None]
    (height, slope, lean), *_ = np.linalg.lstsq(columns, level * root, rcond=1e-6)
    size = float(np.hypot(1.0, slope))
    normal = (wall.normal - slope * wall.along) / size
    offset = float(height - slope * middle) / size
    off = spots @ normal - lean / size * ahead - offset
    along = np.array([-normal[1], normal[0]])
    t = spots @ along
    middle = float(weight @ t / total)
    reach = float(np.sqrt(weight @ (t - middle) ** 2 / total))
    spread = float(np.sqrt(weight @ off**2 / total))
    cells = len(np.unique(np.floor(t[weight > 0] / CELL)))
    return Wall(normal, offset, float(-lean / size), middle, reach, spread, cells)


def shown_over(wall: Wall, spots: Points) -> float:
    """Return the length, m, over which points show along a wall, counted in cells."""
    return CELL * len(np.unique(np.floor(spots @ wall.along / CELL)))


def _different(found: Sequence[Wall], width: float) -> list[Wall]:
    """Return the walls without those that run along a better-shown one."""
    kept: list[Wall] = []
    for wall in found:
        ends = [wall.middle + k * wall.reach * np.sqrt(3.0) for k in (-1, 1)]
        spots = np.array([wall.normal * wall.offset + wall.along * t for t in ends])
        if not any((np.abs(spots @ other.normal - other.offset) < width).all() for other in kept):
            kept.append(wall)
    return kept


def crossing(a: Wall, b: Wall) -> Points | None:
    """Return the point (2,) where two walls meet at the station, m; None where they run alike."""
    both = np.array([a.normal, b.normal])
    if abs(np.linalg.det(both)) < 1e-6:
        return None
    return np.linalg.solve(both, np.array([a.offset, b.offset]))
