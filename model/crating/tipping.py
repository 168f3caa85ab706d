"""A crate tipped up about a lower edge, and drawn out through a lid upward or along itself."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from tapeloft.model.crating.moves import about, pushed, swung
from tapeloft.model.fall import Fall
from tapeloft.model.gear.forms import Block
from tapeloft.model.moments import Points

ANGLES = tuple(math.radians(angle) for angle in (90, 75, 60, 45, 30, 15))


@dataclass(frozen=True, eq=False)
class Tip:
    """A crate *long* m along a heading, *broad* across, tipped by an angle about the edge behind it, then drawn out.

    along, angle, slope: radians; the slope that it is drawn out on. window: how long its passage in the lid is, m;
    ahead: so far ahead of the passage's middle its own is before it is tipped, m. low: the height, m, from which up the
    passage has to be clear for its whole length; a bound, for what it sweeps is held against the space itself.
    """

    fall: Fall
    along: float
    angle: float
    long: float
    broad: float
    slope: float
    window: float
    ahead: float
    low: float

    @property
    def aside(self) -> Points:
        """From the passage's middle to its own, x, y, m."""
        return np.array([math.cos(self.along), math.sin(self.along)]) * self.ahead

    def swept(self, flat: Points, spot: tuple[float, float], height: float) -> list[Points]:
        """Return what covers it on its way: its corners while *flat*, m, the middle of its bottom at a spot."""
        cos, sin, rise = math.cos(self.along), math.sin(self.along), self.fall.lip - height
        pivot: Points = np.array([spot[0] - cos * self.long / 2, spot[1] - sin * self.long / 2, height])
        hinge = (sin, -cos, 0.0)
        raised = (flat - pivot) @ about(hinge, self.angle).T + pivot
        aside = rise / math.tan(self.slope)
        return [*swung(flat, pivot, hinge, self.angle), *pushed(raised, (cos * aside, sin * aside, rise))]


def tips(form: Block, heading: float, falls: Sequence[Fall], height: float) -> Iterator[Tip]:
    """Yield the ways to tip a crate at a heading, radians, on a height, m, about any of its lower edges."""
    for fall in falls:
        for quarter in range(4):
            long, broad = (form.length, form.breadth) if quarter % 2 == 0 else (form.breadth, form.length)
            for angle in ANGLES:
                for drawn in passages(long, form.height, angle, fall.under - height, fall.lip - height):
                    yield Tip(fall, heading + quarter * math.pi / 2, angle, long, broad, *drawn[:3], drawn[3] + height)


def passages(
    long: float, high: float, angle: float, under: float, lip: float
) -> Iterator[tuple[float, float, float, float]]:
    """Yield slope, window, ahead and low, as a `Tip` has them, heights counted from the edge that it is tipped about.

    Upward its shadow is long·cos + high·sin of the angle. Along itself it sweeps a strip, at a height h from
    h/tan − high/sin to h/tan, and so the coaming, from *under* to *lip*, m, through its whole depth.

    >>> [round(one, 3) for one in next(passages(0.6, 0.3, math.radians(90), 0.8, 0.9))]
    [1.571, 0.3, 0.45, 0.0]
    """
    cos, sin = math.cos(angle), math.sin(angle)
    if cos < 1e-9:
        yield math.pi / 2, high, (long + high) / 2, 0.0
        return
    yield math.pi / 2, long * cos + high * sin, (long - long * cos + high * sin) / 2, max(long * sin, high * cos)
    window = (high + (lip - under) * cos) / sin
    yield angle, window, (long - (under + lip) * cos / sin + high / sin) / 2, under
