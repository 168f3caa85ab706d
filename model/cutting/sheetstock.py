"""Sheets that boards and perforated grates are cut from: how stiff, how strong and how heavy."""

from dataclasses import dataclass, replace

from tapeloft.model.called import called
from tapeloft.model.cutting.timber import PSI
from tapeloft.model.errors import GeometryError

PRESSED = (
    "plywood, along its face grain: the least of the Wood Handbook, USDA Forest Products Laboratory, FPL-GTR-190, "
    "2010, page 12-2, table 12-1; across it: what its layers make of that, Forest Products Laboratory note FPL-059, "
    "1964, for five plies, the fewest a board of 9 mm has; FRP, polyester sprayed or laid up with 30 % of chopped "
    "glass: 0.75·10⁶ lb/in² by ASTM D790, of the table Property Comparisons of Fiberglass/Composites, and 20 000 of a "
    "moulder's data sheet, the least of those read; densities are common practice"
)
ACROSS_FIBRES = (
    0.05  # of the modulus along them: Wood Handbook, table 5-1, Douglas-fir, tangential, as a database has it
)
PLIES = 5
ALONG, ACROSS = "its face grain along the span", "its face grain across the span"


@dataclass(frozen=True)
class SheetStock:
    """A sheet material: moduli of elasticity and of rupture, Pa; kg/m³; how it is laid for that, in words."""

    name: str
    modulus_pa: float
    rupture_pa: float
    density_kg_m3: float
    laid: str = ""


def across_the_grain(plies: int, cross: float = ACROSS_FIBRES) -> tuple[float, float]:
    """Return what shares of its moduli of elasticity and of rupture plywood has across its face grain.

    plies: an odd number, alike, the grain of each square to the next; cross: modulus across fibres over that along.
    E·I is the sum of those of the plies; it breaks in the outermost of those whose fibres run along the span
    (FPL-059). More plies than were counted have more of both.

    >>> [round(share, 4) for share in across_the_grain(3, 0.0)]
    [0.0385, 0.1154]
    """
    outer = [k / plies for k in range(1, plies + 1, 2)]  # of half the thickness: where each pair of plies ends
    inertia = [b**3 - a**3 for a, b in zip([0.0, *outer], outer, strict=False)]
    face = sum(inertia[::-2])
    crossing = 1.0 - face
    stiff = (crossing + cross * face) / (face + cross * crossing)
    return stiff, stiff / outer[-2]


_STIFF, _STRONG = across_the_grain(PLIES)
SHEETS = {
    one.name: one
    for one in (
        SheetStock("plywood", 6.96e9, 33.72e6, 600.0, ALONG),
        SheetStock("cross-grain plywood", 6.96e9 * _STIFF, 33.72e6 * _STRONG, 600.0, ACROSS),
        SheetStock("FRP", 0.75e6 * PSI, 20_000 * PSI, 1428.0),
    )
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
    return replace(
        found,
        modulus_pa=found.modulus_pa if modulus_gpa is None else modulus_gpa * 1e9,
        rupture_pa=found.rupture_pa if strength_mpa is None else strength_mpa * 1e6,
        density_kg_m3=found.density_kg_m3 if density is None else density,
    )


def source_of(modulus: float | None, strength: float | None) -> str:
    """Return where what a sheet bears is from, with a modulus and a strength that its maker states, or without."""
    return "as stated" if modulus is not None and strength is not None else PRESSED
