"""Round tubes: how stiff and how strong they are."""

import math
from dataclasses import dataclass

from tapeloft.model.called import called
from tapeloft.model.errors import GeometryError

THINNEST = 0.0005  # m, of a wall


@dataclass(frozen=True)
class Metal:
    """A metal that tubes are drawn from: modulus of elasticity and 0.2 % proof stress, Pa; kg/m³."""

    name: str
    modulus_pa: float
    proof_pa: float
    density_kg_m3: float


METALS = {  # densities are from memory
    one.name: one
    for one in (
        Metal("aluminium 6060 T6", 69e9, 140e6, 2700.0),  # EN 755-2, T6: 150 MPa, 140 where a wall is over 3 mm
        Metal("stainless 316", 193e9, 205e6, 8000.0),  # ASTM A213 TP316, annealed
    )
}


def metal_called(name: str) -> Metal:
    """Return the metal of that name, or whose name begins so; raises UnknownName.

    >>> metal_called("stainless").modulus_pa
    193000000000.0
    """
    return METALS[called("metal", name, list(METALS))]


@dataclass(frozen=True)
class Tube:
    """A round tube: outside diameter and wall, m, and its metal; a wall of half the diameter is a rod.

    Raises GeometryError where it has no bore and is no rod.

    >>> rod = Tube(0.02, 0.01, METALS["stainless 316"])
    >>> round(rod.stiffness / 193e9 / (math.pi * 0.02**4 / 64), 9)
    1.0
    """

    diameter: float
    wall: float
    metal: Metal

    def __post_init__(self) -> None:
        if not THINNEST <= self.wall <= self.diameter / 2:
            wall, half = self.wall * 1000, self.diameter * 500
            raise GeometryError(f"a tube's wall of {wall:g} mm: it has to be 0.5 mm to half its diameter, {half:g}")

    @property
    def stiffness(self) -> float:
        """E·I, N·m², I = π (D⁴ − d⁴) / 64."""
        return self.metal.modulus_pa * math.pi * (self.diameter**4 - self._bore**4) / 64

    @property
    def section_modulus(self) -> float:
        """2·I / D, m³."""
        return self.stiffness / self.metal.modulus_pa * 2 / self.diameter

    @property
    def breaking_pa(self) -> float:
        """The metal's proof stress, Pa."""
        return self.metal.proof_pa

    @property
    def kg_m(self) -> float:
        """Mass of a metre, kg.

        >>> round(Tube(0.025, 0.0015, METALS["stainless 316"]).kg_m, 2)
        0.89
        """
        return self.metal.density_kg_m3 * math.pi * (self.diameter**2 - self._bore**2) / 4

    @property
    def _bore(self) -> float:
        return self.diameter - 2 * self.wall
