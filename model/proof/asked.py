"""What box is asked for, in metres, and the same in the unit frame."""

import math
from dataclasses import dataclass

import numpy as np

from tapeloft.model.proof.program import Numbers, Wish
from tapeloft.model.proof.search import Frame

DRAWN = 1e-6  # of the diagonal: how far inside what was found the box given out lies, on each side
SAME = 1e-12  # share to which a side that is set to a length is that long in the end

Sizes = tuple[float | None, float | None, float | None]


@dataclass(frozen=True)
class Asked:
    """The box wanted, own axes, m: sides that are given, what the others must be at least, the clearance round it.

    proportion: what its sides are to each other, where all of them are free. tolerance: the gap at which to stop.
    """

    sizes: Sizes
    clearance: float
    tolerance: float
    least: tuple[float, float, float] = (0.0, 0.0, 0.0)
    proportion: tuple[float, float, float] | None = None

    def __post_init__(self) -> None:
        if not 0 < self.tolerance < math.inf:
            raise ValueError(f"the tolerance must be above zero, not {self.tolerance}")
        if not 0 <= self.clearance < math.inf:
            raise ValueError(f"the clearance must be zero or more, not {self.clearance}")
        for name, size in zip(("length", "breadth", "height"), self.sizes, strict=True):
            if size is not None and not 0 < size < math.inf:
                raise ValueError(f"the {name} must be above zero, not {size}")
        if not all(0 <= size < math.inf for size in self.least):
            raise ValueError(f"the least sizes must be zero or more, not {self.least}")
        if self.proportion is not None:
            self._check_proportion(self.proportion)

    def _check_proportion(self, proportion: tuple[float, float, float]) -> None:
        if not all(0 < share < math.inf for share in proportion):
            raise ValueError(f"the proportion must be of sizes above zero, not {proportion}")
        if any(size is not None for size in self.sizes) or any(self.least):
            raise ValueError("a box is sought in proportion, or with sides given, or at least so large: not both")

    @property
    def log_gap(self) -> float:
        """The gap as a difference of log volumes, a little narrower so that rounding does not pass it."""
        return 0.999 * math.log1p(self.tolerance)

    @property
    def free_sides(self) -> int:
        """How many sides of the box are not given."""
        return sum(size is None for size in self.sizes)

    @property
    def alike(self) -> tuple[bool, bool, bool]:
        """Whether y and z, z and x, x and y are asked of alike, so that a quarter turn only renames them."""
        sides = list(zip(self.sizes, self.least, self.proportion or (1.0, 1.0, 1.0), strict=True))
        return sides[1] == sides[2], sides[2] == sides[0], sides[0] == sides[1]

    def cubic_metres(self, log_volume: float, frame: Frame) -> float:
        """Return the volume, m³, of a box from the log of the product of its free sides in the unit frame."""
        given = math.prod(size for size in self.sizes if size is not None)
        return math.exp(log_volume) * frame.diagonal**self.free_sides * given

    def wish(self, floor: float | None, frame: Frame) -> Wish:
        """Return what is asked for in the unit frame, for a box that stands at *floor*, z in m, or on nothing.

        What is free of it are its faces; or, where it must be so large at least, low faces and sides.
        """
        grown = np.full(3, 2 * self.clearance / frame.diagonal)
        drawn, level, size, start = np.full(3, 2 * DRAWN), np.full(3, np.nan), np.full(3, np.nan), np.zeros(6)
        turn, free = np.eye(6), np.full(6, True)
        if floor is not None:
            grown[2], drawn[2], free[2], turn[2, 2] = grown[2] / 2, DRAWN, False, 0.0
            level[2] = start[2] = (floor - frame.middle[2]) / frame.diagonal
        for i, given in enumerate(self.sizes):
            if given is not None:
                size[i], free[3 + i], turn[3 + i] = given / frame.diagonal + grown[i], False, turn[i]
                start[3 + i] = start[i] + size[i]
            elif any(self.least):
                turn[3 + i] += turn[i]
                start[3 + i] = start[i]
        return Wish(np.ascontiguousarray(turn[:, free]), start, grown, drawn, level, size)

    def least_free(self, wish: Wish, frame: Frame) -> Numbers:
        """Return the least of what is free in a wish, (k,): its sides may be no less than asked for."""
        free = [*np.isnan(wish.level), *np.isnan(wish.size)]
        sides = np.array(self.least) / frame.diagonal + wish.grown
        low: Numbers = np.concatenate([np.full(3, -1.0), sides if any(self.least) else np.full(3, -1.0)])[free]
        return low

    def given_out(self, clear: Numbers, floor: float | None, frame: Frame) -> tuple[Numbers, Numbers]:
        """Return the corners, m, of the box to give out for the clear space found.

        It is drawn in, but where a side is given, or would then be less than it must be at least.
        """
        inward = self.clearance + DRAWN * frame.diagonal
        low, high = clear[:3] + inward, clear[3:] - inward
        if floor is not None:
            low[2] = floor
        for i, side in self._exact(low, high):
            low[i] = clear[i] + self.clearance if floor is None or i < 2 else floor
            high[i] = low[i] + side
        return low, high

    def _exact(self, low: Numbers, high: Numbers) -> list[tuple[int, float]]:
        """Return which sides of a box, m, are as they were asked for, and how long those are."""
        sides = [(i, self.least[i] if size is None else size) for i, size in enumerate(self.sizes)]
        return [(i, side) for i, side in sides if self.sizes[i] is not None or high[i] - low[i] < side * (1 + SAME)]

    def clear_space(self, low: Numbers, high: Numbers, floor: float | None, frame: Frame) -> tuple[Numbers, Numbers]:
        """Return the corners, m, of what must be inside: a box given out, with its clearance, exact sides drawn in."""
        below, above = low - self.clearance, high + self.clearance
        if floor is not None:
            below[2] = low[2]
        for i, _ in self._exact(low, high):
            below[i] += DRAWN * frame.diagonal
            above[i] -= DRAWN * frame.diagonal
        if floor is not None and below[2] == low[2]:
            below[2] += DRAWN * frame.diagonal
        return below, above
