"""The options that say what parts are cut from, and what comes of it: pieces on sheets, bars from lengths of stock."""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from tapeloft.cli.options import goes_with
from tapeloft.cli.printing import Table
from tapeloft.cli.progress import each
from tapeloft.cli.sizes import pair, size

if TYPE_CHECKING:
    from shapely import Polygon

    from tapeloft.model.cutting.nesting import Nest, Sheet, Turns
    from tapeloft.model.cutting.stock import Stocked
    from tapeloft.model.cutting.told import Line

KERF = "4"  # mm
SHEETS, LENGTHS = "--sheet L x B", "--stock LENGTH"

SheetOption = Annotated[
    list[str] | None,
    typer.Option("--sheet", metavar="L x B", help='lay the pieces out on sheets "2440x1220", again for more sizes'),
]
Stock = Annotated[
    str | None, typer.Option("--stock", metavar="LENGTH", help="tell which bars are cut from which length of stock")
]
Kerf = Annotated[str | None, typer.Option("--kerf", metavar="LENGTH", help=f"what the saw takes; left out: {KERF} mm")]
Grain = Annotated[
    Literal["any", "along", "across"] | None,
    typer.Option(
        "--grain", help="the sheet's length lies along the part's first direction, or across it; left out: any"
    ),
]


def hold_saw(kerf: str | None, grain: str | None, cut_from: Mapping[str, object]) -> None:
    """Refuse a kerf where nothing is *cut_from* anything, and a grain where no sheets are given, before all else."""
    goes_with("--kerf", kerf, cut_from)
    goes_with("--grain", grain, {SHEETS: cut_from[SHEETS]})


def nest_of(
    pieces: "Sequence[tuple[str, Polygon]]", sheets: Sequence[str] | None, kerf: str | None, grain: str | None
) -> "Nest | None":
    """Return the pieces laid out on the sheets that were asked for; None where none were."""
    if not sheets:
        return None
    from tapeloft.model.errors import TapeloftError

    if not pieces:
        raise TapeloftError(
            "--sheet: nothing of it is cut from sheets\n    mend: battens and bars are sawn: use --stock"
        )
    from tapeloft.model.cutting.nesting import ACROSS, ALONG, ANY, nested

    turns: dict[str, Turns] = {"any": ANY, "along": ALONG, "across": ACROSS}
    asked = [_sheet(text) for text in sheets]
    for _ in each(["sheets"], "laying out"):
        found = nested(pieces, asked, size("kerf", kerf or KERF), turns[grain or "any"])
    return found


def stock_of(lines: "Sequence[Line]", stock: str | None, kerf: str | None) -> "list[Stocked]":
    """Return the bars of a cut list by their sections, cut from lengths of stock; none where that was not asked for."""
    if stock is None:
        return []
    if not lines:
        from tapeloft.model.errors import TapeloftError

        raise TapeloftError("--stock: nothing of it is listed as bars\n    mend: a sheet is laid out with --sheet")
    from tapeloft.model.cutting.stock import stocked

    bars: dict[tuple[float, float], list[tuple[str, float]]] = {}
    for one in lines:
        section = round(one.breadth_m, 4), round(one.thickness_m, 4)
        bars.setdefault(section, []).append((one.piece, one.length_m))
    length, saw = size("stock", stock), size("kerf", kerf or KERF)
    return [stocked(some, section, length, saw) for section, some in bars.items()]


def nest_table(nest: "Nest", units: str) -> Table:
    """Return what is cut from which sheet as a table."""
    from tapeloft.model.units import figure

    rows = [
        (
            str(k),
            f"{figure(one.sheet.length, units)} × {figure(one.sheet.breadth, units)}",
            f"{one.offcut * 100:.1f}",
            ", ".join(sorted(placed.piece for placed in one.placed)),
        )
        for k, one in enumerate(nest.sheets, start=1)
    ]
    title = f"sheets: {len(nest.sheets)}, by area at least {nest.at_least}; offcut {nest.offcut * 100:.1f} % in all"
    return Table(title, ("sheet", units, "offcut, %", "pieces"), rows, words=(3,))


def stock_table(found: "Sequence[Stocked]", units: str) -> Table:
    """Return which bars are cut from which length of stock as a table."""
    from tapeloft.model.units import figure

    rows = [
        (f"{one.section_m[0] * 1000:.1f} × {one.section_m[1] * 1000:.1f}", str(k), figure(length.left_m, units), bars)
        for one in found
        for k, length in enumerate(one.lengths, start=1)
        for bars in ["; ".join(length.bars)]
    ]
    many = ", ".join(
        f"{len(one.lengths)} of {one.section_m[0] * 1000:.0f} × {one.section_m[1] * 1000:.0f} "
        f"(at least {one.at_least}; offcut {one.offcut * 100:.1f} %)"
        for one in found
    )
    return Table(f"lengths of stock: {many}", ("section, mm", "length", f"left, {units}", "bars"), rows, words=(3,))


def nest_json(nest: "Nest | None") -> object:
    """Return a layout as it stands in JSON; null where none was asked for."""
    if nest is None:
        return None
    sheets = [
        {
            "length_m": one.sheet.length, "breadth_m": one.sheet.breadth, "offcut": one.offcut,
            "pieces": [
                {"piece": placed.piece, "turn_deg": placed.turn_deg, "shift_m": placed.shift_m,
                 "outline": list(placed.outline.exterior.coords)}
                for placed in one.placed
            ],
        }
        for one in nest.sheets
    ]  # fmt: skip
    return {"sheets": sheets, "at_least": nest.at_least, "offcut": nest.offcut}


def _sheet(text: str) -> "Sheet":
    from tapeloft.model.cutting.nesting import Sheet

    return Sheet(*pair("sheet", text, "length x breadth", "2440x1220"))
