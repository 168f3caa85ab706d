"""What box is asked for, in metres, and the same in the unit frame."""

import math
from dataclasses import dataclass

import numpy as np

from tapeloft.model.proof.program import Numbers, Wish
from tapeloft.model.proof.search import Frame

DRAWN = 1e-6  # of the diagonal: how far inside what was found the box given out lies, on each side


@dataclass(frozen=True)
class Asked:
    """The box wanted: its given height or None, the clearance round it, m, and the gap at which to stop looking."""

    height: float | None
    clearance: float
    tolerance: float

    def __post_init__(self) -> None:
        if not 0 < self.tolerance < math.inf:
            raise ValueError(f"the tolerance must be above zero, not {self.tolerance}")
        if not 0 <= self.clearance < math.inf:
            raise ValueError(f"the clearance must be zero or more, not {self.clearance}")
        if self.height is not None and not 0 < self.height < math.inf:
            raise ValueError(f"the height must be above zero, not {self.height}")

    @property
    def log_gap(self) -> float:
        """The gap as a difference of log volumes, a little narrower so that rounding does not pass it."""
        return 0.999 * math.log1p(self.tolerance)

    @property
    def free_sides(self) -> int:
        """How many sides of the box are not given."""
        return 3 if self.height is None else 2

    def cubic_metres(self, log_volume: float, frame: Frame) -> float:
        """Return the volume, m³, of a box from the log of the product of its free sides in the unit frame."""
        return math.exp(log_volume) * frame.diagonal**self.free_sides * (1.0 if self.height is None else self.height)

    def wish(self, floor: float | None, frame: Frame) -> Wish:
        """Return what is asked for in the unit frame, for a box that stands at *floor*, z in m, or on nothing."""
        grown = np.full(3, 2 * self.clearance / frame.diagonal)
        drawn, level, size, start = np.full(3, 2 * DRAWN), np.full(3, np.nan), np.full(3, np.nan), np.zeros(6)
        turn, free = np.eye(6), np.full(6, True)
        if floor is not None:
            grown[2], drawn[2], free[2], turn[2, 2] = grown[2] / 2, DRAWN, False, 0.0
            level[2] = start[2] = (floor - frame.middle[2]) / frame.diagonal
        if self.height is not None:
            size[2], free[5], turn[5] = self.height / frame.diagonal + grown[2], False, turn[2]
            start[5] = start[2] + size[2]
        return Wish(np.ascontiguousarray(turn[:, free]), start, grown, drawn, level, size)

    def given_out(self, clear: Numbers, floor: float | None, frame: Frame) -> tuple[Numbers, Numbers]:
        """Return the corners, m, of the box to give out for the clear space found: drawn in, but where it is given."""
        inward = self.clearance + DRAWN * frame.diagonal
        low, high = clear[:3] + inward, clear[3:] - inward
        if floor is not None:
            low[2] = floor
        elif self.height is not None:
            low[2] = clear[2] + self.clearance
        if self.height is not None:
            high[2] = low[2] + self.height
        return low, high

    def clear_space(self, low: Numbers, high: Numbers, floor: float | None, frame: Frame) -> tuple[Numbers, Numbers]:
        """Return the corners, m, of what must be inside: a box given out, with its clearance, given faces drawn in."""
        below, above = low - self.clearance, high + self.clearance
        if floor is not None:
            below[2] = low[2] + DRAWN * frame.diagonal
        elif self.height is not None:
            below[2] += DRAWN * frame.diagonal
        if self.height is not None:
            above[2] -= DRAWN * frame.diagonal
        return below, above
