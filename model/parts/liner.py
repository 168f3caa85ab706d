"""A liner, as a survey asks for it."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated

from tapeloft.model.parts.registry import Made, Stage, kind
from tapeloft.shapes.readings import Figure, Length

if TYPE_CHECKING:
    from tapeloft.model.compartment import Compartment

LAMINATE = 1500.0  # kg/m³: glass and polyester by hand, common practice, no source


@kind("liner", Stage.LINING)
@dataclass(frozen=True)
class Liner:
    """A liner all round, open at the lids; what else is built in stands within it."""

    thickness: Annotated[float, Length("thickness of its walls")]
    density: Annotated[float, Figure("of what it is made of, kg/m³", "kg_m3")] = LAMINATE

    def made(self, space: "Compartment") -> Made:
        """Return the liner of a space."""
        from tapeloft.model.cutting.liner import liner_of

        found = liner_of(space, self.thickness, self.density)
        return Made((("liner", found.solid),), found.notes)
