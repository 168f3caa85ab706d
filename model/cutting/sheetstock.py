"""Sheets that boards and perforated grates are cut from: how stiff, how strong and how heavy."""

from dataclasses import dataclass

from tapeloft.model.called import called
from tapeloft.model.errors import GeometryError

PRESSED = (
    "plywood, softwood, along its face grain: the least of the Wood Handbook, USDA Forest Products Laboratory, 2010, "
    "table 12-1, from memory; FRP, chopped strand mat of 30 % glass by mass: 38·ψ − 5 GPa and 502·ψ² + 107 MPa as "
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
    one.name: one for one in (SheetStock("plywood", 6.96e9, 33.7e6, 600.0), SheetStock("FRP", 6.4e9, 152e6, 1428.0))
}


def sheet_called(name: str) -> SheetStock:
    """Return the sheet of that name, or whose name begins so; raises UnknownName.

    >>> sheet_called("ply").density_kg_m3
    600.0
    """
    return SHEETS[called("sheet", name, list(SHEETS))]


def sheet_stated(
    name: str, modulus_gpa: float | None = None, strength_mpa: float | None = None, density: float | None = None
) -> SheetStock:
    """Return the sheet of that name, with what its maker states of it, kg/m³; what he does not as the handbook has it.

    >>> sheet_stated("FRP", modulus_gpa=12.0).modulus_pa
    12000000000.0
    """
    found = sheet_called(name)
    for what, figure in {"modulus": modulus_gpa, "strength": strength_mpa, "density": density}.items():
        if figure is not None and not 0 < figure < 1e5:
            raise GeometryError(f"a {what} of {figure:g}: it has to be over 0, and less than 100000")
    return SheetStock(
        found.name,
        found.modulus_pa if modulus_gpa is None else modulus_gpa * 1e9,
        found.rupture_pa if strength_mpa is None else strength_mpa * 1e6,
        found.density_kg_m3 if density is None else density,
    )
