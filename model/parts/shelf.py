"""A shelf, as a survey asks for it."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Literal

from tapeloft.model.errors import GeometryError
from tapeloft.model.parts.cutting import Cutting
from tapeloft.model.parts.registry import Made, kind
from tapeloft.shapes.readings import Choice, Figure, Height, Length, Mass

if TYPE_CHECKING:
    from tapeloft.model.compartment import Compartment
    from tapeloft.model.cutting.shelf import Shelving

Pair = tuple[float, float]


@kind("shelf")
@dataclass(frozen=True, kw_only=True)
class Shelf(Cutting):
    """A board at a height with a fiddle on its open edge, on bearers."""

    height: Annotated[float, Height("its upper face")]
    side: Annotated[Literal["", "port", "starboard", "forward", "aft"], Choice("the side that it stands against")] = ""
    depth: Annotated[float, Length("from the farthest of that side to its open edge")] = 0.0
    thickness: Annotated[float, Length("thickness")] = 0.012
    fiddle: Annotated[Pair, Length("height of the fiddle, and its thickness; height 0: none")] = (0.040, 0.018)
    bearer: Annotated[Pair, Length("breadth and depth of a bearer")] = (0.030, 0.030)
    timber: str = "teak"
    of: str = ""
    modulus: Annotated[float | None, Figure("GPa, of elasticity, as the sheet's maker states it", "gpa")] = None
    strength: Annotated[float | None, Figure("MPa, of rupture, as he states it", "mpa")] = None
    density: Annotated[float | None, Figure("kg/m³, as he states it", "kg_m3")] = None
    point: Annotated[float, Mass("load that may stand anywhere")] = 10.0
    even: Annotated[float, Figure("even load, kg/m²", "kg_m2")] = 100.0
    bend: Annotated[float, Figure("it bends no more than this part of its span")] = 200.0

    @property
    def shelving(self) -> "Shelving":
        """What is asked for; raises UnknownName for a timber or a sheet that there is not, GeometryError else."""
        from tapeloft.model.cutting.beams import Load
        from tapeloft.model.cutting.sheetstock import sheet_stated
        from tapeloft.model.cutting.shelf import Shelving
        from tapeloft.model.cutting.timber import timber_called

        stated = self.modulus, self.strength, self.density
        if not self.of and stated != (None, None, None):
            raise GeometryError(
                "a modulus, a strength, a density are stated of a sheet"
                '\n    mend: say which with --of, as --of plywood; in a survey, of = "plywood"'
            )
        sheet = sheet_stated(self.of, *stated) if self.of else None
        load = Load(self.point, self.even, self.bend)
        sizes = (self.thickness, self.fiddle if self.side else (0.0, 0.0), self.bearer)
        return Shelving(self.height, self.side, self.depth, *sizes, timber_called(self.timber), load, sheet)

    def made(self, space: "Compartment") -> Made:
        """Return the shelf in a space."""
        from tapeloft.model.cutting.shelf import shelf_at

        shelf = shelf_at(space, self.shelving, self.cut)
        bars = [(one.name, one.solid) for one in (*shelf.fiddles, *shelf.bearers)]
        return Made((*((one.letter, one.solid) for one in shelf.board.pieces), *bars), shelf.notes)
