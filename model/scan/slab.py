"""The points of a scan near one station: what stands alone and what faces fore and aft taken away."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from tapeloft.model.moments import Points

THIN = 3000  # points: more tell no more of a section's shape, and only cost time
FULL = 20_000  # points that the walls are fitted to, once their shape is known
AROUND = 48  # neighbours that a point's own patch of wall is judged by
REACH = 0.08  # m: neighbours farther off are of another wall
LONELY = 0.15  # of the usual number of neighbours: a point with fewer is a speck in the air
NEAR = 0.04  # m that neighbours are counted within
ACROSS = 0.7  # a patch whose normal lies more than this fore and aft is a bulkhead, or the end of a thing
BULKHEAD = 0.2  # of the patches at a station: where so many lie across, a bulkhead stands there
CLEAR = 4.0  # times the noise that the points taken stand clear of a bulkhead
FEWEST = 6  # neighbours from which a patch of wall can be told


@dataclass(frozen=True, eq=False)
class Slab:
    """Points near a station.

    across (n, 2): half-breadth (port positive) and height, m. ahead (n,): how far forward of the station, m.
    facing (n, 2): the way that each point's patch of wall faces across the boat, either way round, of length 1; 0 where
    that cannot be told. noise: how far points stray from their own patch of wall, one standard deviation, m. thin: the
    numbers of a few thousand of them, chosen at random. bulkhead (3,): where one stands at the station, that many m
    forward of it, and so much more for each m of half-breadth and of height.
    """

    across: Points
    ahead: Points
    facing: Points
    noise: float
    thin: NDArray[np.int64]
    bulkhead: Points | None = None


@dataclass(frozen=True, eq=False)
class Patches:
    """The patch of wall about each point: how far its points stray from its plane, m, and its normal, (n, 3).

    NaN where there are too few to tell. crowd: points nearby.
    """

    spread: Points
    normal: Points
    crowd: NDArray[np.int64]

    @property
    def athwart(self) -> NDArray[np.bool_]:
        """Which lie across the boat, as bulkheads do."""
        across: NDArray[np.bool_] = np.abs(self.normal[:, 0]) > ACROSS
        return across

    @property
    def sound(self) -> NDArray[np.bool_]:
        """Which are neither specks in the air nor of a face that lies across the boat."""
        walls = ~self.athwart
        usual = float(np.median(self.crowd[walls])) if walls.any() else 0.0
        sound: NDArray[np.bool_] = walls & (self.crowd >= max(LONELY * usual, 2))
        return sound

    @property
    def noise(self) -> float:
        """How far points stray from their own patch, one standard deviation, m: the middling one."""
        told = self.spread[np.isfinite(self.spread)]
        return float(np.median(told)) if len(told) else 0.0


def near(points: Points, x: float, half: float, seed: int = 0) -> Slab | None:
    """Return the points (n, 3) within *half* fore and aft of the station at *x*, m; None where there are too few.

    Where a bulkhead stands at the station, the points are those as deep on the side that has more of them, clear of
    the bulkhead's own. The same points and seed give the same slab.
    """
    chance = np.random.default_rng(seed)
    within, thin = _chosen(points[np.abs(points[:, 0] - x) <= half], chance)
    if len(thin) < FEWEST:
        return None
    patches = patches_of(within[thin])
    bulkhead = None
    if patches.athwart.mean() > BULKHEAD:
        beside = points[np.abs(points[:, 0] - x) <= 5 * half]
        across = within[thin][patches.athwart]
        bulkhead = _plane(across)
        within, thin = _chosen(_clear(beside, bulkhead, patches.noise, half), chance)
        if len(thin) < FEWEST:
            return None
        patches = patches_of(within[thin])
    if patches.sound.sum() < FEWEST:
        return None
    _, who = cKDTree(within[thin]).query(within)
    keep = patches.sound[who]
    numbers = np.cumsum(keep) - 1
    ways = np.nan_to_num(patches.normal[:, 1:])
    ways /= np.maximum(np.linalg.norm(ways, axis=1, keepdims=True), 1e-9)
    if bulkhead is not None:
        bulkhead = bulkhead - [x, 0.0, 0.0]
    return Slab(
        within[keep][:, 1:], within[keep, 0] - x, ways[who[keep]], patches.noise, numbers[thin[keep[thin]]], bulkhead
    )


def _chosen(points: Points, chance: np.random.Generator) -> tuple[Points, NDArray[np.int64]]:
    """Return the points, no more of them than are fitted to, and the numbers of a few thousand."""
    if len(points) > FULL:
        points = points[chance.choice(len(points), FULL, replace=False)]
    return points, np.sort(chance.permutation(len(points))[:THIN])


def _plane(across: Points) -> Points:
    """Return the bulkhead that points lie on: x at half-breadth and height 0, m, and its slopes over both, (3,)."""
    plane = np.zeros(3)
    of = np.ones(len(across), bool)
    for _ in range(3):
        columns = np.column_stack([np.ones(len(across)), across[:, 1:]])
        plane, *_ = np.linalg.lstsq(columns[of], across[of, 0], rcond=1e-9)
        off = np.abs(columns @ plane - across[:, 0])
        of = off <= max(3 * float(np.median(off)), 1e-6)
    return plane


def _clear(beside: Points, plane: Points, noise: float, half: float) -> Points:
    """Return the points on one side of the bulkhead *plane*, twice *half* deep."""
    ahead = beside[:, 0] - (plane[0] + beside[:, 1:] @ plane[1:])
    from_, to = max(CLEAR * noise, 1e-3), max(CLEAR * noise, 1e-3) + 2 * half
    sides = [beside[(side * ahead >= from_) & (side * ahead <= to)] for side in (1.0, -1.0)]
    return max(sides, key=len)


def patches_of(spots: Points) -> Patches:
    """Return the patch of wall about each point: the principal axes of its neighbours."""
    tree = cKDTree(spots)
    reached, who = tree.query(spots, k=min(AROUND, len(spots)), distance_upper_bound=REACH)
    there = np.isfinite(reached)
    share = there[..., None].astype(np.float64)
    count = there.sum(axis=1)
    beside = spots[np.where(there, who, 0)]
    off = (beside - (beside * share).sum(axis=1, keepdims=True) / count[:, None, None]) * share
    size, axes = np.linalg.eigh(np.einsum("nki,nkj->nij", off, off) / np.maximum(count - 3, 1)[:, None, None])
    enough = count >= FEWEST
    spread = np.where(enough, np.sqrt(np.maximum(size[:, 0], 0.0)), np.nan)
    crowd = (reached <= NEAR).sum(axis=1)
    return Patches(spread, np.where(enough[:, None], axes[:, :, 0], np.nan), crowd)
