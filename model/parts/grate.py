"""A grate of battens, as a survey asks for it."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Literal

from tapeloft.model.parts.cutting import Cutting
from tapeloft.model.parts.registry import Made, kind
from tapeloft.shapes.readings import Choice, Figure, Height, Length, Mass

if TYPE_CHECKING:
    from tapeloft.model.compartment import Compartment
    from tapeloft.model.cutting.grate import Lay

Pair = tuple[float, float]


@kind("grate")
@dataclass(frozen=True, kw_only=True)
class Grate(Cutting):
    """A grate of battens on bearers, its upper face at a height."""

    height: Annotated[float, Height("its upper face")]
    gap: Annotated[float, Length("gap all round")] = 0.005
    batten: Annotated[Pair, Length("breadth and depth of a batten")] = (0.040, 0.018)
    spaced: Annotated[float, Length("gap between battens")] = 0.020
    bearer: Annotated[Pair, Length("breadth and depth of a bearer")] = (0.030, 0.030)
    run: Annotated[Literal["fore-and-aft", "athwartships"], Choice("which way battens run")] = "fore-and-aft"
    timber: str = "teak"
    point: Annotated[float, Mass("load that may stand on one batten")] = 40.0
    even: Annotated[float, Figure("even load, kg/m²", "kg_m2")] = 200.0
    bend: Annotated[float, Figure("it bends no more than this part of its span")] = 200.0

    @property
    def lay(self) -> "Lay":
        """How it is laid; raises UnknownName for a timber that there is not."""
        from tapeloft.model.cutting.beams import Load
        from tapeloft.model.cutting.grate import Lay
        from tapeloft.model.cutting.timber import timber_called

        way: Literal["athwartships", "fore and aft"] = "athwartships" if self.run == "athwartships" else "fore and aft"
        load = Load(self.point, self.even, self.bend)
        return Lay(self.batten, self.spaced, self.bearer, way, timber_called(self.timber), load)

    def made(self, space: "Compartment") -> Made:
        """Return the grate in a space."""
        from tapeloft.model.cutting.grate import grate_at

        found = grate_at(space, self.height, self.lay, self.cut)
        return Made(tuple((bars.letter, bars.solid) for bars in found.sections), found.notes)
