"""The fall of an opening: its clear outline carried straight down, which what is lowered through it needs."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from shapely import Polygon
from shapely.geometry.polygon import orient

from tapeloft.model.called import called
from tapeloft.model.compartment import Compartment
from tapeloft.model.cutting.outline import clear_outline
from tapeloft.model.cutting.plane import at_height
from tapeloft.model.errors import GeometryError
from tapeloft.model.flats import flats, room_over
from tapeloft.model.moments import Points
from tapeloft.model.openings import clear_openings
from tapeloft.model.solid import Solid, prism

THROUGH = 0.03  # m: so far under its frame a deck that is not plane may hang, and is cut away with the opening
EDGE = 1e-6  # m: corners that lie no nearer are at an edge
STEP = 1e-3  # m: over a sole, where it is looked at
OVER = 1e-3  # m: so far over the lip the opening is cut, so that rounding leaves no skin on it
MEETS = 1e-4  # m²: an opening that has less of the space under it is over nothing


@dataclass(frozen=True, eq=False)
class Fall:
    """The fall of a lid in the top of a compartment, in compartment axes.

    frame: its outline in the deck, (n, 3) m, drawn within rounded corners; plan: the same, x, y.
    coaming: its height, m.
    """

    name: str
    frame: Points
    plan: Polygon
    coaming: float

    @property
    def under(self) -> float:
        """Height of the lowest point of its frame, m."""
        return float(self.frame[:, 2].min())

    @property
    def lip(self) -> float:
        """Height of the highest point of its coaming, m."""
        return float(self.frame[:, 2].max()) + self.coaming

    def lip_toward(self, way: tuple[float, float]) -> float:
        """Return the height of its lip, m, at the edge that lies farthest along *way*, x and y."""
        along = self.frame[:, :2] @ way
        return float(self.frame[along > along.max() - EDGE, 2].mean()) + self.coaming

    def column(self, low: float) -> Solid:
        """Return what lies straight under the opening from a height *low*, m, to just over its lip."""
        return prism([np.array(self.plan.exterior.coords)[:-1]], low, self.lip + OVER)


def falls_of(compartment: Compartment) -> tuple[Fall, ...]:
    """Return the falls of all lids in the top of a compartment that have any of it under them, largest first."""
    depths = {one.name: one.depth for one in compartment.survey.openings}
    found = []
    for one in clear_openings(compartment):
        if one.wall == "top":
            fall = Fall(one.name, one.outline, orient(Polygon(one.outline[:, :2])), depths[one.name])
            if _meets(compartment, fall):
                found.append(fall)
    return tuple(sorted(found, key=lambda fall: -fall.plan.area))


def fall_called(compartment: Compartment, name: str | None) -> Fall:
    """Return the fall of the lid of that name, or the largest; GeometryError where no lid is over the space.

    Raises UnknownName where the name is no opening's.
    """
    found = falls_of(compartment)
    if name is not None:
        meant = called("opening", name, [one.name for one in compartment.survey.openings])
        for fall in found:
            if fall.name == meant:
                return fall
        what = f'"{meant}" is no lid in the top with the space under it'
        raise GeometryError(f"{compartment.name}: {what}\n    mend: name another opening, or read where it is again")
    if not found:
        what = "no opening in the top has the space under it" if compartment.survey.openings else "it has no opening"
        raise GeometryError(f"{compartment.name}: {what}\n    mend: write its lid into the survey, [[opening]]")
    return found[0]


def lids_of(compartment: Compartment, name: str | None) -> tuple[Fall, ...]:
    """Return the fall of the lid of that name, or of every lid over the space; raises as `fall_called` does."""
    one = fall_called(compartment, name)
    return falls_of(compartment) if name is None else (one,)


def opened(space: Solid, falls: Sequence[Fall]) -> Solid:
    """Return a space with what its lids leave open in the deck over it joined on."""
    whole = space
    for fall in falls:
        whole = whole + fall.column(fall.under - THROUGH)
    return whole


def floor_under(space: Solid, fall: Fall) -> float | None:
    """Return the height, m, of the level sole of which most lies under a fall; None where none does."""
    areas = {level: _borne(space, level, fall).area for level in flats(space)}
    best = max(areas, key=lambda level: areas[level], default=None)
    return best if best is not None and areas[best] > MEETS else None


def _borne(space: Solid, level: float, fall: Fall) -> Polygon:
    plan: Polygon = clear_outline(room_over(level, space, space), at_height(level), STEP).intersection(fall.plan)
    return plan


def _meets(compartment: Compartment, fall: Fall) -> bool:
    return bool((fall.column(fall.under - THROUGH) ^ compartment.inside).volume > MEETS * THROUGH / 2)
