"""Steps to a lid, as a survey asks for them."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Literal

from tapeloft.model.parts.cutting import Gapped
from tapeloft.model.parts.registry import Made, Stage, kind
from tapeloft.shapes.readings import Choice, Height, Length, Mass

if TYPE_CHECKING:
    from tapeloft.model.climbing.wanted import Wanted
    from tapeloft.model.compartment import Compartment

Pair = tuple[float, float]


@kind("step", Stage.CLIMBED)
@dataclass(frozen=True, kw_only=True)
class Step(Gapped):
    """The treads of a flight from the sole to a lid, and cheeks where they are asked for."""

    opening: str | None = None
    side: Annotated[Literal["", "port", "starboard", "forward", "aft"], Choice("of the opening that they stand on")] = (
        ""
    )
    floor: Annotated[float | None, Height("that one stands on first; left out: the grate, or the sole")] = None
    rise: Annotated[Pair, Length("least and most that a rise may be")] = (0.165, 0.305)
    uneven: Annotated[float, Length("by how much rises may differ")] = 0.0095
    width: Annotated[Pair, Length("least and most of a tread, along the nosing")] = (0.250, 0.460)
    depth: Annotated[Pair, Length("least and most of a tread, behind the nosing")] = (0.1016, 0.250)
    thickness: Annotated[float, Length("of a tread")] = 0.025
    into: Annotated[float, Length("nosings stand so far within the opening's fall")] = 0.0
    going: Annotated[float, Length("each lower nosing so much farther")] = 0.0
    person: Annotated[Pair, Length("breadth and depth of who climbs, from above")] = (0.580, 0.330)
    cheeks: Annotated[float | None, Length("thickness of boards that hold the treads' ends; left out: none")] = None
    timber: str = "teak"
    load: Annotated[float, Mass("that stands on one tread, or on a grate before the first")] = 120.0

    @property
    def wanted(self) -> "Wanted":
        """What is asked of the flight; raises UnknownName for a timber that there is not."""
        from tapeloft.model.climbing.person import Person
        from tapeloft.model.climbing.rises import Comfort
        from tapeloft.model.climbing.wanted import Wanted
        from tapeloft.model.cutting.timber import timber_called

        least, most = zip(self.width, self.depth, strict=True)
        comfort, who = Comfort(*self.rise, self.uneven), (Person(*self.person), self.load)
        sawn = timber_called(self.timber)
        return Wanted(comfort, most, least, self.thickness, self.into, self.going, *who, sawn, self.cheeks)

    def made(self, space: "Compartment") -> Made:
        """Return the treads in a space; raises GeometryError where no flight works, or it wants no board."""
        from tapeloft.model.climbing.steps import steps_in
        from tapeloft.model.cutting.board import Cut
        from tapeloft.model.errors import GeometryError
        from tapeloft.model.fall import fall_called

        lid, side = fall_called(space, self.opening), self.side or None
        found = steps_in(space, lid, self.wanted, Cut(self.gaps), side, self.floor)
        if found.shortfalls:
            why = "; ".join(f"{one.side}: {one.what}" for one in found.shortfalls)
            raise GeometryError(f"no flight of steps works: {why}")
        if not found.boards:
            raise GeometryError("; ".join(("there is no tread to cut", *found.notes)))
        treads = [(f"tread {one.letter}", one.solid) for one in found.boards]
        cheeks = [(piece.letter, piece.solid) for one in found.cheeks for piece in one.pieces]
        return Made((*treads, *cheeks), found.notes)
