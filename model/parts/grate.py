"""Grates, as a survey asks for them: of battens, of bars both ways, or of a sheet with holes."""

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Annotated, Literal

from tapeloft.model.parts.cutting import Cutting
from tapeloft.model.parts.registry import Made, kind
from tapeloft.shapes.readings import Choice, Figure, Height, Length, Mass

if TYPE_CHECKING:
    from tapeloft.model.compartment import Compartment
    from tapeloft.model.cutting.beams import Load
    from tapeloft.model.cutting.board import Cut
    from tapeloft.model.cutting.laying import Way
    from tapeloft.model.cutting.timber import Timber

Pair = tuple[float, float]


@dataclass(frozen=True, kw_only=True)
class Grating(Cutting):
    """What is asked of any grate on bearers, its upper face at a height."""

    height: Annotated[float, Height("its upper face")]
    gap: Annotated[float, Length("gap all round")] = 0.005
    bearer: Annotated[Pair, Length("breadth and depth of a bearer")] = (0.030, 0.030)
    run: Annotated[Literal["fore-and-aft", "athwartships"], Choice("which way battens run, or a sheet spans")] = (
        "fore-and-aft"
    )
    timber: str = "teak"
    point: Annotated[float, Mass("load that may stand on one batten")] = 40.0
    even: Annotated[float, Figure("even load, kg/m²", "kg_m2")] = 200.0
    bend: Annotated[float, Figure("it bends no more than this part of its span")] = 200.0

    @property
    def on_bearers(self) -> "tuple[Pair, Way, Timber, Load]":
        """Its bearers, which way it spans, of what, under what load; raises UnknownName for a timber there is not."""
        from tapeloft.model.cutting.beams import Load
        from tapeloft.model.cutting.timber import timber_called

        way: Way = "athwartships" if self.run == "athwartships" else "fore and aft"
        return self.bearer, way, timber_called(self.timber), Load(self.point, self.even, self.bend)


@kind("grate")
@dataclass(frozen=True, kw_only=True)
class Grate(Grating):
    """A grate of battens one way."""

    batten: Annotated[Pair, Length("breadth and depth of a batten")] = (0.040, 0.018)
    spaced: Annotated[float, Length("gap between battens")] = 0.020

    def made(self, space: "Compartment") -> Made:
        """Return the grate in a space."""
        from tapeloft.model.cutting.grate import Lay, grate_at

        found = grate_at(space, self.height, Lay(*self.on_bearers, self.batten, self.spaced), self.cut)
        return Made(tuple((bars.letter, bars.solid) for bars in found.sections), found.notes)


@kind("egg-crate grate")
@dataclass(frozen=True, kw_only=True)
class EggCrate(Grating):
    """A grate of bars both ways, halved into one another."""

    batten: Annotated[Pair, Length("breadth and depth of a bar")] = (0.020, 0.030)
    spaced: Annotated[Pair, Length("breadth and length of a cell, across its bars on the bearers and along them")] = (
        0.040,
        0.040,
    )

    def made(self, space: "Compartment") -> Made:
        """Return the egg-crate in a space."""
        from tapeloft.model.cutting.eggcrate import Cells, egg_crate_at

        found = egg_crate_at(space, self.height, Cells(*self.on_bearers, self.batten, self.spaced), self.cut)
        return Made(tuple((one.letter, one.solid) for one in found.sections), found.notes)


@kind("perforated grate")
@dataclass(frozen=True, kw_only=True)
class Perforated(Grating):
    """A grate that is a sheet with holes, made with them."""

    of: str = "plywood"
    modulus: Annotated[float | None, Figure("GPa, of elasticity, as the sheet's maker states it", "gpa")] = None
    strength: Annotated[float | None, Figure("MPa, of rupture, as he states it", "mpa")] = None
    density: Annotated[float | None, Figure("kg/m³, as he states it", "kg_m3")] = None
    thickness: Annotated[float, Length("of the sheet")] = 0.018
    hole: Annotated[float, Length("bore of its holes")] = 0.020
    pitch: Annotated[float, Length("from hole to hole")] = 0.040
    pattern: Annotated[Literal["square", "hex"], Choice("how its holes lie")] = "square"
    web: Annotated[float, Length("from a hole to an edge or a bearer")] = 0.010

    @property
    def cut(self) -> "Cut":
        """How the saw is told: its web is that of holes, and what is left standing is as usual."""
        from tapeloft.model.cutting.board import Cut

        return replace(super().cut, web=Cut.web)

    def made(self, space: "Compartment") -> Made:
        """Return the sheet in a space, drilled."""
        from tapeloft.model.cutting.perforated import Holed, drilled, perforated_at
        from tapeloft.model.cutting.sheetstock import sheet_stated

        sheet = sheet_stated(self.of, self.modulus, self.strength, self.density)
        holed = Holed(*self.on_bearers, self.thickness, self.hole, self.pitch, self.pattern, self.web, sheet)
        found = perforated_at(space, self.height, holed, self.cut)
        return Made(tuple((one.letter, drilled(one, found)) for one in found.sections), found.notes)
