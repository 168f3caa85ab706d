"""A panel, as a survey asks for it."""

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Literal

from tapeloft.model.parts.cutting import Cutting
from tapeloft.model.parts.registry import Made, kind
from tapeloft.shapes.readings import Angle, Breadth, Choice, Figure, Height, Length, Station

if TYPE_CHECKING:
    from tapeloft.model.compartment import Compartment
    from tapeloft.model.cutting.plane import Plane
    from tapeloft.model.cutting.slots import Holes
    from tapeloft.model.cutting.straps import Strapping

Pair = tuple[float, float]
Face = Literal["", "forward", "after", "upper", "lower", "port", "starboard"]
PLACES = "a panel stands at one place: give one of at, height, half_breadth"


@kind("panel")
@dataclass(frozen=True, kw_only=True)
class Panel(Cutting):
    """A board at a station, a height or a half-breadth, with holes for air and hands, clear of lids that *swing* in.

    Straps lie behind its joints.
    """

    at: Annotated[float | None, Station("its after face, square to the keel")] = None
    height: Annotated[float | None, Height("its upper face, where it lies level")] = None
    half_breadth: Annotated[float | None, Breadth("its starboard face, where it stands fore and aft")] = None
    lean: Annotated[float, Angle("that its top leans forward or to port, or it rises forward")] = 0.0
    thickness: Annotated[float, Length("thickness")] = 0.012
    density: Annotated[float, Figure("of the board, kg/m³, for what pieces weigh", "kg_m3")] = 600.0
    vent: Annotated[float, Figure("cm², that its slots add up to at least", "cm2")] = 0.0
    slot: Annotated[Pair, Length("length and breadth of a slot")] = (0.120, 0.020)
    hands: int = 0
    hand: Annotated[Pair, Length("length and breadth of a hand hole")] = (0.100, 0.035)
    hand_down: Annotated[float, Length("middle of a hand hole below the upper edge")] = 0.070
    hole_web: Annotated[float, Length("left between holes, and to edges")] = 0.030
    strap: Annotated[Pair, Length("breadth and thickness of straps behind joints; breadth 0: none")] = (0.060, 0.012)
    strap_face: Annotated[Face, Choice("the face that they lie on; left out: the far one")] = ""
    cleat: Annotated[float, Length("breadth of cleats on that face, that straps end at; 0: on the other face")] = 0.025
    swing: tuple[str, ...] = ()

    @property
    def plane(self) -> "Plane":
        """Return the plane of the face that its thickness is counted from; raises GeometryError for none or several."""
        from tapeloft.model.cutting.plane import at_half_breadth, at_height, at_station
        from tapeloft.model.errors import GeometryError

        if sum(place is not None for place in (self.at, self.height, self.half_breadth)) != 1:
            raise GeometryError(PLACES)
        lean = math.degrees(self.lean)
        if not -60 <= lean <= 60:
            raise GeometryError(f"a panel that leans {lean:g}°: it has to be -60 to 60")
        if self.at is not None:
            return at_station(self.at, lean)
        if self.height is not None:
            return at_height(self.height, lean).shifted(-self.thickness)
        return at_half_breadth(self.half_breadth or 0.0, lean)

    @property
    def holes(self) -> "Holes":
        """What holes it has."""
        from tapeloft.model.cutting.slots import Holes

        return Holes(self.hands, self.hand, self.hand_down, self.vent * 1e-4, self.slot, self.hole_web)

    @property
    def strapping(self) -> "Strapping":
        """What straps it has."""
        from tapeloft.model.cutting.straps import Strapping

        return Strapping(*self.strap, self.strap_face, self.cleat)

    def made(self, space: "Compartment") -> Made:
        """Return the panel in a space, its straps with it."""
        from tapeloft.model.cutting.board import board_at
        from tapeloft.model.cutting.slots import pierced
        from tapeloft.model.cutting.straps import strapped
        from tapeloft.model.spaces import swept

        clear_of = swept(space, self.swing)
        whole = board_at(space, self.plane, self.thickness, self.cut, self.density, clear_of=clear_of)
        board = pierced(whole, self.holes).board
        straps = strapped(space, board, self.strapping, self.cut, self.density, clear_of=clear_of)
        bodies = tuple((piece.letter, piece.solid) for piece in (*board.pieces, *straps.pieces))
        return Made(bodies, (*board.notes, *straps.notes))
