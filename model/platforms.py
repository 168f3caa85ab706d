"""Grates that are built in, as what people stand on and things are stowed on: where, and what they bear."""

import math
from dataclasses import dataclass

import shapely
from shapely import MultiPolygon

from tapeloft.model.compartment import Compartment
from tapeloft.model.cutting.outline import outline, polygons
from tapeloft.model.cutting.plane import at_height
from tapeloft.model.fitout import Fitted
from tapeloft.model.parts.grate import EggCrate, Grate, Grating, Perforated

UNDER = 1e-3  # m: so far under its top its bars are looked at
BOOT = 0.1016  # m: the breadth of a boot, as deep as a tread has to be at least
CLOSED = 1e-4  # m: so much more than half a gap its bars are drawn out by, and in again


@dataclass(frozen=True, eq=False)
class Platform:
    """A grate: its name, the height of its top, m, and its outline there, gaps between its bars closed, x, y, m.

    bars: how many of its bars, or places of a sheet, a boot stands on at the least. point_kg: what each is
    laid for.
    """

    name: str
    height: float
    plan: MultiPolygon
    bars: int
    point_kg: float

    def at_one_place(self, mass_kg: float) -> float:
        """Return what a bar, or a place of a sheet, bears at the most, kg, of who stands still on both boots."""
        return mass_kg / 2 / self.bars


def platforms_of(compartment: Compartment) -> tuple[Platform, ...]:
    """Return the grates that are built into a compartment, in the survey's order."""
    return tuple(_platform(one, one.part.kind) for one in compartment.fitted if isinstance(one.part.kind, Grating))


def _platform(one: Fitted, kind: Grating) -> Platform:
    gap, bars = _gap(kind)
    out = gap / 2 + CLOSED
    top = outline(one.solid, at_height(kind.height - UNDER))
    plan = shapely.buffer(shapely.buffer(top, out, join_style="mitre"), -out, join_style="mitre")
    return Platform(one.name, kind.height, polygons(plan), bars, kind.point)


def _gap(kind: Grating) -> tuple[float, int]:
    """Return the widest gap in a grate's top, m, and how many of its bars a boot stands on at least."""
    match kind:
        case Grate():
            return kind.spaced, bars_under(BOOT, kind.batten[0], kind.spaced)
        case EggCrate():
            return max(kind.spaced), bars_under(BOOT, kind.batten[0], max(kind.spaced))
        case Perforated():
            return kind.hole, 1
    raise TypeError(f"a grate of an unknown kind: {kind!r}")


def bars_under(long: float, broad: float, gap: float) -> int:
    """Return how many bars, *broad* m with a gap between any two, a stretch of a length, m, touches at the least.

    >>> bars_under(0.1016, 0.040, 0.020), bars_under(0.1016, 0.1, 0.2)
    (2, 1)
    """
    return max(1, math.floor((long + broad) / (broad + gap) + 1e-9))
