"""Sheets that boards and perforated grates are cut from: how stiff, how strong and how heavy."""

from dataclasses import dataclass

from tapeloft.model.called import called

PRESSED = (
    "plywood, along its face grain: the least of the Wood Handbook, USDA Forest Products Laboratory, FPL-GTR-190, "
    "2010, page 12-2, table 12-1; FRP, chopped strand mat of 30 % glass by mass: 38·ψ − 5 GPa and 502·ψ² + 107 MPa as "
    "ISO 12215-5 has them, from memory; densities are common practice"
)


@dataclass(frozen=True)
class SheetStock:
    """A sheet material: moduli of elasticity and of rupture, Pa; kg/m³."""

    name: str
    modulus_pa: float
    rupture_pa: float
    density_kg_m3: float


SHEETS = {
    one.name: one for one in (SheetStock("plywood", 6.96e9, 33.72e6, 600.0), SheetStock("FRP", 6.4e9, 152e6, 1428.0))
}


def sheet_called(name: str) -> SheetStock:
    """Return the sheet of that name, or whose name begins so; raises UnknownName.

    >>> sheet_called("ply").density_kg_m3
    600.0
    """
    return SHEETS[called("sheet", name, list(SHEETS))]
