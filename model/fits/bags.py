"""Does a soft bag fit: one that takes any form of no less than its volume, nowhere thinner than its thickness."""

import time
from collections.abc import Callable

from tapeloft.model.boxes import BoxFound, largest_box
from tapeloft.model.fits.fit import Verdict, fitted
from tapeloft.model.gear.forms import Capsule, SoftBag
from tapeloft.model.gear.turn import Turn
from tapeloft.model.solid import Solid


def bag_fitted(
    inside: Solid, outside: Solid, bag: SoftBag, *, within_s: float = 10.0,
    progress: Callable[[float, float], None] | None = None,
) -> tuple[Verdict, BoxFound | None]:  # fmt: skip
    """Return whether a soft bag fits, and the box that it can take the form of.

    It fits where a box does of its volume, no side thinner than the bag; it does not where no bay has its volume, or
    none takes a ball as thick as it. Between these it is undecided.

    >>> from tapeloft.model.facets import body
    >>> from tapeloft.shapes.polyhedron import box
    >>> locker = body(box((0, 0, 0), (1.2, 0.6, 0.5)))
    >>> bag_fitted(locker, locker, SoftBag(0.3, 0.2))[0], bag_fitted(locker, locker, SoftBag(0.4, 0.2))[0]
    ('fits', 'does not fit')
    """
    end = time.perf_counter() + within_s
    if max((part.volume for part in outside.parts()), default=0.0) < bag.volume:
        return "does not fit", None
    thickness = (bag.thickness, bag.thickness, bag.thickness)
    for turn in (Turn.AS_GIVEN, Turn.UPRIGHT, Turn.ANY_TILT):
        left = max(0.0, end - time.perf_counter()) / 2
        found = largest_box(
            inside, outside, turn=turn, least=thickness, within_s=left, tolerance=0.05, progress=progress
        )
        if found is not None and found.volume_m3 >= bag.volume:
            return "fits", found
    ball = Capsule(bag.thickness, bag.thickness)
    left = max(0.0, end - time.perf_counter())
    if fitted(inside, outside, ball, turn=Turn.AS_GIVEN, within_s=left).verdict == "does not fit":
        return "does not fit", None
    return "undecided", None
