"""A rail along a side, as a survey asks for it."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Literal

from tapeloft.model.parts.registry import Made, kind
from tapeloft.shapes.readings import Choice, Height, Length, Mass

if TYPE_CHECKING:
    from tapeloft.model.compartment import Compartment
    from tapeloft.model.gear.forms import Capsule
    from tapeloft.model.reaching.rail import Asked, Section
    from tapeloft.model.survey.survey import Survey

Pair = tuple[float, float]


@kind("rail")
@dataclass(frozen=True, kw_only=True)
class Rail:
    """A rail and its brackets, within an arm's reach through a lid; fenders are reckoned with, and not built in."""

    opening: str | None = None
    side: Annotated[Literal["outboard", "inboard", "port", "starboard"], Choice("that it lies along")] = "outboard"
    height: Annotated[float | None, Height("of its middle; left out: where most fenders hang, then longest")] = None
    batten: Annotated[Pair, Length("breadth and depth")] = (0.020, 0.045)
    tube: Annotated[Pair | None, Length("diameter and wall of a tube instead")] = None
    timber: str = "teak"
    metal: str = "stainless 316"
    stand_off: Annotated[float, Length("of its near face from the side")] = 0.040
    gap: Annotated[float, Length("to ends, to lids, to what stands in the space")] = 0.005
    fender: str = "fender, 150 mm"
    pitch: Annotated[float | None, Length("of hooks; left out: a fender and a gap")] = None
    pull: Annotated[float, Mass("that hangs on it anywhere, besides the fenders")] = 40.0
    reach: Annotated[float, Length("of an arm")] = 0.674

    @property
    def section(self) -> "Section":
        """What the rail is; raises UnknownName for a timber or metal that there is not."""
        from tapeloft.model.cutting.beams import Bar
        from tapeloft.model.cutting.timber import timber_called
        from tapeloft.model.cutting.tube import Tube, metal_called
        from tapeloft.model.reaching.rail import METAL_SAFETY, Section

        if self.tube is None:
            return Section(*self.batten, Bar(*self.batten, timber_called(self.timber)))
        round_one = Tube(*self.tube, metal_called(self.metal))
        return Section(round_one.diameter, round_one.diameter, round_one, METAL_SAFETY)

    @property
    def hangs(self) -> "tuple[Capsule | None, float]":
        """The fender that hangs from it, and its mass, kg; raises UnknownName, GeometryError for one not round."""
        from tapeloft.model.errors import GeometryError
        from tapeloft.model.gear.asked import gear_asked
        from tapeloft.model.gear.forms import Capsule

        if self.fender == "none":
            return None, 0.0
        gear = gear_asked(self.fender)
        if not isinstance(gear.form, Capsule):
            mend = 'write a round one, for example "capsule 150x580", or "none"'
            raise GeometryError(f'"{self.fender}" is no round fender\n    mend: {mend}')
        return gear.form, gear.mass_kg or 0.0

    def lies_along(self, survey: "Survey") -> 'Literal["port", "starboard"]':
        """Return the side that it lies along; raises GeometryError where the space lies on both."""
        from tapeloft.model.errors import GeometryError

        if self.side == "port" or self.side == "starboard":
            return self.side
        own = -survey.side if survey.mirrored else survey.side
        if own == 0:
            what = f"{survey.name} lies on both sides: along which does the rail lie?"
            raise GeometryError(f'{what}\n    mend: say --side port or starboard; in a survey, side = "port"')
        return "port" if (own > 0) == (self.side == "outboard") else "starboard"

    def asked(self, survey: "Survey") -> "Asked":
        """Return what rail is asked for in the space of a survey; raises what its side, section and fender raise."""
        from tapeloft.model.cutting.timber import timber_called
        from tapeloft.model.reaching.arm import Arm
        from tapeloft.model.reaching.rail import Asked

        sizes, sawn = (self.stand_off, self.gap, self.height, Arm(self.reach)), timber_called(self.timber)
        return Asked(self.lies_along(survey), self.section, *sizes, *self.hangs, self.pitch, self.pull, sawn)

    def made(self, space: "Compartment") -> Made:
        """Return the rail in a space, with its brackets."""
        from tapeloft.model.fall import lids_of
        from tapeloft.model.reaching.rail import rail_in

        found = rail_in(space, lids_of(space, self.opening), self.asked(space.survey))
        return Made(tuple((one.letter, one.solid) for one in (found.rail, *found.brackets)), found.notes)
