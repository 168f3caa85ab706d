"""What is known while things are counted: limits, arrangements tried, and how much time there is for either."""

import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field

from tapeloft.model.fits.fitting import Pose
from tapeloft.model.packing.limits.limit import Limit
from tapeloft.model.packing.packer import Best, Packing

Progress = Callable[[int, int], None]  # told how many go in at least and at most, as far as is known


@dataclass
class Tried:
    """The arrangements tried so far, and how to go on; ended where there is nothing left to try."""

    packing: Packing
    best: Best
    steps: Iterator[int]
    until_left: float  # s that are left when they end
    ended: bool = False


@dataclass
class SoFar:
    """What is known so far; it tells *progress* whenever more is, and at most ten times a second in between."""

    start: float
    within_s: float
    progress: Progress | None
    reserved: float = 0.0  # s that the limits leave to arrangements
    limit: Limit = field(default_factory=lambda: Limit(0, "that there is no space"))
    square: Limit | None = None
    tried: Tried | None = None
    poses: list[Pose] = field(default_factory=list)
    stopped: bool = False  # by hand
    undecided: bool = False  # whether a single one fits
    told: float = 0.0

    def left(self) -> float:
        """How many seconds are left."""
        return self.start + self.within_s - time.perf_counter()

    def left_to_limits(self) -> float:
        """How many seconds the limits may take now."""
        return self.left() - self.reserved

    def lowered(self, limit: Limit, count: int) -> None:
        """Take a new limit for all that goes in, where so many are known to."""
        self.limit = limit
        self.tell(count)

    def tell(self, count: int) -> None:
        """Tell *progress* that so many go in."""
        if self.progress is not None:
            self.told = time.perf_counter()
            self.progress(count, self.limit.count)

    def goes_on(self, count: int, until_left: float) -> bool:
        """Whether more than *count* may go in, and there is more time left than that."""
        if time.perf_counter() - self.told > 0.1:
            self.tell(max(count, len(self.poses)))
        return count < self.limit.count and self.left() > until_left

    def could_tell_more(self) -> bool:
        """Whether there is time for more, and more to know."""
        return not self.stopped and self.left() > 0 and len(self.poses) < self.limit.count

    def is_cut(self) -> bool:
        """Whether the time has ended a search that might yet have told more."""
        cut = self.undecided or (self.tried is not None and not self.tried.ended) or self.left() <= 0
        return len(self.poses) < self.limit.count and cut
