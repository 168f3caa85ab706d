"""The readings that parts which are cut have in common: gaps, a cutter's radius, the narrowest web, the mass."""

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated

from tapeloft.shapes.readings import Length, Mass

if TYPE_CHECKING:
    from tapeloft.model.cutting.board import Cut
    from tapeloft.model.cutting.inset import Gaps

Gap = Annotated[float | None, Length("gap; left out: as all round")]


@dataclass(frozen=True, kw_only=True)
class Gapped:
    """How far a part stays from its walls, m."""

    gap: Annotated[float, Length("gap all round")] = 0.003
    gap_end: Gap = None
    gap_obstruction: Gap = None

    @property
    def gaps(self) -> "Gaps":
        """The gaps, each as it was given, or as all round."""
        from tapeloft.model.cutting.inset import Gaps

        end, obstruction = (self.gap if gap is None else gap for gap in (self.gap_end, self.gap_obstruction))
        return Gaps(self.gap, end, obstruction)


@dataclass(frozen=True, kw_only=True)
class Cutting(Gapped):
    """How a part is cut to its walls, m."""

    cutter: Annotated[float, Length("radius of the cutter, for inside corners")] = 0.003
    web: Annotated[float, Length("nothing narrower is left standing")] = 0.02

    mass: Annotated[float | None, Mass("a piece weighs no more; left out: as it comes")] = None

    @property
    def cut(self) -> "Cut":
        """How the saw is told."""
        from tapeloft.model.cutting.board import Cut

        return Cut(self.gaps, self.cutter, self.web, heaviest=math.inf if self.mass is None else self.mass)
