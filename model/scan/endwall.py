"""The wall that closes a scanned space fore or aft: the plane, square or leaning, that the most points beyond show."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import label

from tapeloft.model.moments import Points
from tapeloft.model.scan.covered import LEAST_SHARE, Hole, contained
from tapeloft.model.scan.lines import band
from tapeloft.model.scan.slab import patches_of

FACES = 0.6  # of a patch's normal along the boat, from which it may be of an end wall: it leans 53 degrees at the most
FULL = 200_000  # points beyond the last station, chosen at random, that the wall is fitted to
LOOKED_AT = 12_000  # of them, that it is sought among
TRIES = 200  # patches, each of which may be the wall's
CELL = 0.05  # m: points are counted once in each cell, so that a crowd of them weighs no more than a wall's breadth
FEWEST_CELLS = 12  # that show a wall
ALIKE = 0.9  # cosine between a patch's normal and its wall's
ROUNDS = 8  # of weighing the points anew
TRIM = 99.5  # percentile to which the scan goes on, and
LONELY = 0.15  # of the usual number of neighbours: a point with fewer is a speck in the air


@dataclass(frozen=True, eq=False)
class EndWall:
    """The plane x = at + slopes · (y, z), m, compartment axes.

    stray: one standard deviation of x, m, by *middle* and the inverse covariance *shape* of where points show it,
    (2,) and (2, 2). spread: of its points across it. spots: half-breadth and height of points that show it, (k, 2).
    beyond: how far the scan goes on behind it, m.
    """

    at: float
    slopes: Points
    spread: float
    middle: Points
    shape: Points
    cells: int
    spots: Points
    beyond: float

    @property
    def x(self) -> float:
        """Where its middle is, fore and aft, m."""
        return float(self.at + self.middle @ self.slopes)

    def ahead(self, spots: Points) -> Points:
        """Return x of the wall, m, at half-breadths and heights (n, 2)."""
        ahead: Points = self.at + spots @ self.slopes
        return ahead

    def squared(self, points: Points) -> Points:
        """Return points (n, 3) moved fore and aft as far as the wall leans there: it stands square among them.

        Walls that are planes stay planes, and where they meet the end wall they keep half-breadth and height.
        """
        return np.column_stack([points[:, 0] - points[:, 1:] @ self.slopes, points[:, 1:]])

    def stray(self, spots: Points) -> Points:
        """Return one standard deviation of x, m, at half-breadths and heights (n, 2).

        A plane's through `cells` independent readings (textbook regression): strays of neighbouring points go together.
        """
        off = spots - self.middle
        far = np.einsum("ni,ij,nj->n", off, self.shape, off)
        stray: Points = self.spread * np.hypot(1.0, np.linalg.norm(self.slopes)) * np.sqrt((1.0 + far) / self.cells)
        return stray


def end_wall(points: Points, last: float, way: float, seed: int = 0) -> EndWall | None:
    """Return the wall that closes *points* (n, 3) beyond the station at *last*, m; None where none shows.

    way: +1 forward of the station, -1 aft. Random sample consensus over patches of wall, seeded (Fischler and Bolles,
    Communications of the ACM 24, 1981, from memory), then least squares with Tukey's biweight.
    """
    chance = np.random.default_rng(seed)
    beyond = np.flatnonzero(way * (points[:, 0] - last) > 0)
    there = points[chance.permutation(beyond)[:FULL]]
    some = there[:LOOKED_AT]
    patches = patches_of(some) if len(some) else None
    if patches is None or not np.isfinite(patches.spread).any():
        return None
    width = band(patches.noise)
    facing = np.abs(np.nan_to_num(patches.normal[:, 0])) > FACES
    best = _most_shown(some[facing], patches.normal[facing], width, chance)
    if best is None:
        return None
    spots = there
    for _ in range(ROUNDS):
        off = (spots[:, 0] - best.ahead(spots[:, 1:])) / np.hypot(1.0, np.linalg.norm(best.slopes))
        near = np.abs(off) <= width
        best = _fitted(spots[near], off[near])
        if best is None:
            return None
    some = some[patches.crowd >= LONELY * np.median(patches.crowd)]
    ahead = way * (some[:, 0] - best.ahead(some[:, 1:]))
    return replace(best, beyond=max(float(np.percentile(ahead, TRIM)), 0.0))


def _most_shown(spots: Points, normals: Points, width: float, chance: np.random.Generator) -> EndWall | None:
    """Return the plane through one of *spots*, along its patch, that the most cells with points lie by."""
    if len(spots) < FEWEST_CELLS:
        return None
    cells = np.floor(spots[:, 1:] / CELL).astype(np.int64)
    _, which, many = np.unique(cells, axis=0, return_inverse=True, return_counts=True)
    weights = 1.0 / many[which.reshape(-1)]
    tried = chance.permutation(len(spots))[:TRIES]
    off = np.einsum("tk,ntk->nt", normals[tried], spots[:, None] - spots[tried])
    near = (np.abs(off) <= width) & (np.abs(normals @ normals[tried].T) >= ALIKE)
    shown = weights @ near
    if shown.max() < FEWEST_CELLS / 2:
        return None
    k = int(tried[int(shown.argmax())])
    slopes = -normals[k, 1:] / normals[k, 0]
    at = float(spots[k, 0] - spots[k, 1:] @ slopes)
    return EndWall(at, slopes, 0.0, np.zeros(2), np.zeros((2, 2)), 0, spots[:0, 1:], 0.0)


def _fitted(spots: Points, off: Points) -> EndWall | None:
    """Return the plane fitted to points that lie *off* the one before, m; None where they show too little."""
    cells = len(np.unique(np.floor(spots[:, 1:] / CELL), axis=0))
    if cells < FEWEST_CELLS:
        return None
    scale = max(1.4826 * float(np.median(np.abs(off))), 1e-6)
    weight = np.clip(1.0 - (off / (4.685 * scale)) ** 2, 0.0, None) ** 2
    total = weight.sum()
    middle = weight @ spots[:, 1:] / total
    columns = np.column_stack([np.ones(len(spots)), spots[:, 1:] - middle])
    root = np.sqrt(weight)[:, None]
    (height, *lean), *_ = np.linalg.lstsq(columns * root, spots[:, 0] * root[:, 0], rcond=1e-9)
    slopes = np.array(lean)
    left = (spots[:, 0] - height - columns[:, 1:] @ slopes) / np.hypot(1.0, np.linalg.norm(slopes))
    about = (columns[:, 1:] * weight[:, None]).T @ columns[:, 1:] / total
    if np.linalg.eigvalsh(about)[0] <= CELL**2 / 12:
        return None
    spread = float(np.sqrt(weight @ left**2 / total))
    at = float(height - middle @ slopes)
    return EndWall(at, slopes, spread, middle, np.linalg.inv(about), cells, spots[weight > 0, 1:], 0.0)


@dataclass(frozen=True, eq=False)
class End:
    """The wall at an end of the space as its section has it: x of each corner, (n,) m, and what its points show.

    share: of the section's area; unseen: the largest piece of the rest, from its low corner to its high one.
    """

    wall: EndWall
    ahead: Points
    share: float
    unseen: Hole | None

    @property
    def enough(self) -> bool:
        """Whether the wall's plane can be told from what was seen of it."""
        return self.share >= LEAST_SHARE


def end_of(wall: EndWall, corners: Points) -> End:
    """Return the end of a space whose section there has the corners (n, 2), half-breadth and height, m."""
    low, high = corners.min(axis=0), corners.max(axis=0)
    counts = np.maximum(np.ceil((high - low) / CELL).astype(int), 1)
    size = (high - low) / counts
    middles = low + (np.indices(counts).reshape(2, -1).T + 0.5) * size
    within = contained(middles, corners).reshape(counts)
    cells = np.floor((wall.spots - low) / size).astype(np.int64)
    seen = np.zeros(counts, bool)
    seen[tuple(cells[((cells >= 0) & (cells < counts)).all(axis=1)].T)] = True
    share = float(seen[within].mean()) if within.any() else 0.0
    return End(wall, wall.ahead(corners), share, _largest(within & ~seen, low, size))


def _largest(missed: NDArray[np.bool_], low: Points, size: Points) -> Hole | None:
    """Return the largest piece of the cells *missed*, from *low* on, each of a *size*, m; None if there is none."""
    pieces, count = label(missed)
    if not count:
        return None
    cells = np.argwhere(pieces == 1 + int(np.argmax(np.bincount(pieces.reshape(-1))[1:])))
    (a, b), (c, d) = (low + cells.min(axis=0) * size).tolist(), (low + (cells.max(axis=0) + 1) * size).tolist()
    return Hole((a, b), (c, d))
