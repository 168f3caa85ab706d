"""Timbers that battens are sawn from: how stiff, how strong and how heavy they are when wet through."""

from dataclasses import dataclass

from tapeloft.model.called import called

PSI = 6894.757293168  # Pa: a pound-force on a square inch (NIST SP 811)
HANDBOOK = (
    "Wood Handbook, USDA Forest Products Laboratory, FPL-GTR-190, 2010, table 5-5b (woods imported into the United "
    "States), green: clear, straight-grained wood"
)


@dataclass(frozen=True)
class Timber:
    """A timber, green, as a grate is wet: modulus of elasticity and of rupture Pa; basic specific gravity."""

    name: str
    modulus_pa: float
    rupture_pa: float
    gravity: float

    @property
    def density_kg_m3(self) -> float:
        """Its mass at 12 % moisture, kg/m³: 1000·G·1.12, G = Gb / (1 − 0.265·0.6·Gb).

        Wood Handbook, chapter 4, specific gravity and density; its white ash of 0.55 has G 0.605 and 678 kg/m³.
        """
        return 1120.0 * self.gravity / (1 - 0.265 * 0.6 * self.gravity)


TIMBERS = {
    one.name: one
    for one in (
        Timber("teak", 1.37e6 * PSI, 11_600 * PSI, 0.55),
        Timber("dark red meranti", 1.50e6 * PSI, 9_400 * PSI, 0.46),
        Timber("light red meranti", 1.04e6 * PSI, 6_600 * PSI, 0.34),
    )
}


def timber_called(name: str) -> Timber:
    """Return the timber of that name, or whose name begins so; raises UnknownName.

    >>> round(timber_called("teak").modulus_pa / 1e9, 2), round(timber_called("teak").density_kg_m3)
    (9.45, 675)
    """
    return TIMBERS[called("timber", name, list(TIMBERS))]
