"""A sheet material that was asked for, with what its maker states of it."""

from dataclasses import replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tapeloft.model.cutting.sheetstock import SheetStock


def stated_sheet(
    of: str | None, modulus: float | None, strength: float | None, density: float | None
) -> "SheetStock | None":
    """Return the sheet of that name; modulus GPa, strength MPa, density kg/m³; None where none was asked for."""
    from tapeloft.model.cutting.sheetstock import sheet_called
    from tapeloft.model.errors import TapeloftError

    figures = (("modulus", modulus), ("strength", strength), ("density", density))
    for name, figure in figures:
        if figure is not None and not 0 < figure < 1e5:
            raise TapeloftError(f"--{name} {figure:g}: it has to be over 0")
        if figure is not None and of is None:
            raise TapeloftError(f"--{name} is stated of a sheet: say which with --of, for example --of plywood")
    if of is None:
        return None
    found = sheet_called(of)
    return replace(
        found,
        modulus_pa=found.modulus_pa if modulus is None else modulus * 1e9,
        rupture_pa=found.rupture_pa if strength is None else strength * 1e6,
        density_kg_m3=found.density_kg_m3 if density is None else density,
    )


def stated_source(modulus: float | None, strength: float | None) -> str:
    """Return where a sheet's strength is from."""
    from tapeloft.model.cutting.sheetstock import PRESSED

    return "as stated" if modulus is not None and strength is not None else PRESSED
