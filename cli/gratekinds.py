"""The kinds of grate that can be asked for: each made, listed, drawn and told."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from shapely import Polygon

    from tapeloft.model.compartment import Compartment
    from tapeloft.model.cutting.beams import Load
    from tapeloft.model.cutting.board import Cut
    from tapeloft.model.cutting.grate import Way
    from tapeloft.model.cutting.holes import Pattern
    from tapeloft.model.cutting.laying import Laid
    from tapeloft.model.cutting.sheetstock import SheetStock
    from tapeloft.model.cutting.timber import Timber
    from tapeloft.model.cutting.told import Line
    from tapeloft.model.solid import Solid
    from tapeloft.viewer.template.template import Template


@dataclass(frozen=True)
class Asked:
    """What was asked of a grate, as typed or in m."""

    batten: str | None
    spaced: str | None
    bearer: str
    way: "Way"
    timber: str
    of: str
    modulus: float | None
    strength: float | None
    density: float | None
    thickness: float
    hole: float
    pitch: float
    pattern: "Pattern"
    web: float
    load: "Load"


@dataclass(frozen=True)
class Kind:
    """A grate that was made, and what goes with its kind.

    pieces: outlines that are cut from sheets, m; bars: lines that are cut from lengths; solids: made when asked for.
    """

    laid: "Laid"
    lines: "list[Line]"
    templates: "list[Template]"
    solids: "Callable[[], list[tuple[str, Solid]]]"
    pieces: "list[tuple[str, Polygon]]"
    bars: "list[Line]"
    rows: list[tuple[str, str, str]]
    told: dict[str, Any]
    cautions: tuple[str, ...]


def battens(whole: "Compartment", top: float, asked: Asked, cut: "Cut", on_it: Sequence[str]) -> Kind:
    """Return a grate of battens one way."""
    from tapeloft.cli.cutting import pair, size
    from tapeloft.model.cutting.grate import Lay, grate_at
    from tapeloft.model.cutting.timber import timber_called
    from tapeloft.model.cutting.told import bars_listed
    from tapeloft.viewer.template.template import template_of_bars

    _only_of_sheets(asked)
    sawn = timber_called(asked.timber)
    bar, gap = pair("batten", asked.batten or "40x18", *BREADTH), size("spaced", asked.spaced or "20")
    lay = Lay(bar, gap, pair("bearer", asked.bearer, *BREADTH), asked.way, sawn, asked.load)
    made = grate_at(whole, top, lay, cut)
    per = lay.batten[1], lay.bearer[1], sawn.density_kg_m3
    lines = [line for bars in made.sections for line in bars_listed(bars, *per)]
    sizes = f"battens {_mm(lay.batten)}, bearers {_mm(lay.bearer)} under them"
    templates = [template_of_bars(one, made.plane, _said(one.letter, whole, on_it, sizes)) for one in made.sections]
    told = {"timber": sawn, "batten_m": lay.batten, "gap_m": lay.gap, "bearer_m": lay.bearer}
    return Kind(made, lines, templates, lambda: _solids(made), [], lines, [], told, (_wood(sawn, asked),))


def egg_crate(whole: "Compartment", top: float, asked: Asked, cut: "Cut", on_it: Sequence[str]) -> Kind:
    """Return a grate of bars both ways."""
    from tapeloft.cli.cutting import pair
    from tapeloft.model.cutting.eggcrate import Cells, egg_crate_at
    from tapeloft.model.cutting.timber import timber_called
    from tapeloft.model.cutting.told import crossed_listed
    from tapeloft.viewer.template.template import templates_of_crossed

    _only_of_sheets(asked)
    sawn, spaced = timber_called(asked.timber), asked.spaced or "40"
    cell = pair("spaced", spaced if "x" in spaced.lower() or "×" in spaced else f"{spaced}x{spaced}", *CELL)
    bar, bearer = pair("batten", asked.batten or "20x30", *BREADTH), pair("bearer", asked.bearer, *BREADTH)
    cells = Cells(bar, cell, bearer, asked.way, sawn, asked.load)
    made = egg_crate_at(whole, top, cells, cut)
    per = cells.bar[1], cells.bearer[1], sawn.density_kg_m3
    lines = [line for one in made.sections for line in crossed_listed(one, *per)]
    sizes = f"bars {_mm(bar)}, halved at every crossing, bearers {_mm(bearer)} under them"
    templates = [
        each
        for one in made.sections
        for each in templates_of_crossed(one, made.plane, _said(one.letter, whole, on_it, sizes))
    ]
    ideal = cell[0] * cell[1] / ((bar[0] + cell[0]) * (bar[0] + cell[1]))
    rows = [("open, of cells without an edge", f"{ideal * 100:.1f}", "%")]
    told = {"timber": sawn, "batten_m": bar, "cell_m": cell, "bearer_m": bearer, "ideal_open_share": ideal}
    return Kind(made, lines, templates, lambda: _solids(made), [], lines, rows, told, (_wood(sawn, asked),))


def perforated(whole: "Compartment", top: float, asked: Asked, cut: "Cut", on_it: Sequence[str]) -> Kind:
    """Return a grate that is a sheet with holes."""
    from tapeloft.cli.cutting import pair
    from tapeloft.model.cutting.holes import ideal_open_share
    from tapeloft.model.cutting.perforated import Holed, drilled, perforated_at
    from tapeloft.model.cutting.sheetstock import sheet_stated
    from tapeloft.model.cutting.timber import timber_called
    from tapeloft.model.cutting.told import pierced_listed
    from tapeloft.viewer.template.template import template_of_pierced

    sawn, bearer = timber_called(asked.timber), pair("bearer", asked.bearer, *BREADTH)
    of = sheet_stated(asked.of, asked.modulus, asked.strength, asked.density)
    holed = Holed(
        asked.thickness, asked.hole, asked.pitch, asked.pattern, asked.web, bearer, asked.way, of, sawn, asked.load
    )
    made = perforated_at(whole, top, holed, cut)
    densities = of.density_kg_m3, sawn.density_kg_m3
    lines = [line for one in made.sections for line in pierced_listed(one, bearer[1], *densities)]
    sizes = f"{of.name} {holed.thickness * 1000:g} mm, holes {holed.bore * 1000:g} every {holed.pitch * 1000:g}"
    templates = [template_of_pierced(one, made.plane, _said(one.letter, whole, on_it, sizes)) for one in made.sections]
    pieces = [(one.letter, one.outline) for one in made.sections]
    count = sum(len(one.middles) for one in made.sections)
    ideal = ideal_open_share(holed.bore, holed.pitch, holed.pattern)
    rows = [("holes", str(count), ""), ("open, of a sheet without an edge", f"{ideal * 100:.1f}", "%")]
    told = {
        "sheet": of, "timber": sawn, "thickness_m": holed.thickness, "hole_m": holed.bore, "pitch_m": holed.pitch,
        "pattern": holed.pattern, "web_m": holed.web, "bearer_m": bearer, "holes": count, "ideal_open_share": ideal,
    }  # fmt: skip

    def solids() -> "list[tuple[str, Solid]]":
        from tapeloft.cli.progress import each

        return [(f"grate {one.letter}", drilled(one, made)) for one in each(made.sections, "drilling")]

    return Kind(made, lines, templates, solids, pieces, [], rows, told, (_pressed(of, asked),))


KINDS = {"battens": battens, "egg-crate": egg_crate, "perforated": perforated}
BREADTH, CELL = ("breadth x depth", "40x18"), ("a gap, or breadth x length of a cell", "40x40")


def _only_of_sheets(asked: Asked) -> None:
    from tapeloft.model.errors import TapeloftError

    for name, figure in (("modulus", asked.modulus), ("strength", asked.strength), ("density", asked.density)):
        if figure is not None:
            raise TapeloftError(f"--{name} is of a perforated sheet: bars are of --timber")


def _said(letter: str, whole: "Compartment", on_it: Sequence[str], sizes: str) -> tuple[str, ...]:
    place, mark = on_it
    return f"{letter}   {whole.name}", f"upper face; {place}", sizes, mark


def _solids(made: "Laid") -> "list[tuple[str, Solid]]":
    return [(f"grate {one.letter}", one.solid) for one in made.sections]


def _wood(sawn: "Timber", asked: Asked) -> str:
    from tapeloft.model.cutting.timber import HANDBOOK

    return (
        f"Loads are taken by {sawn.name}: E {sawn.modulus_pa / 1e9:.2f} GPa, modulus of rupture "
        f"{sawn.rupture_pa / 1e6:.1f} MPa, of which a {asked.load.safety:.0f}th is allowed ({HANDBOOK}). Knots and "
        "short grain take more off."
    )


def _pressed(of: "SheetStock", asked: Asked) -> str:
    from tapeloft.model.cutting.perforated import STOOD_ON
    from tapeloft.model.cutting.sheetstock import PRESSED

    stated = "as stated" if asked.modulus is not None and asked.strength is not None else PRESSED
    return (
        f"Loads are taken by {of.name}, its face grain along the span: E {of.modulus_pa / 1e9:.2f} GPa, modulus of "
        f"rupture {of.rupture_pa / 1e6:.1f} MPa, of which a {asked.load.safety:.0f}th is allowed ({stated}). The point "
        f"load stands on a strip {STOOD_ON * 1000:.0f} mm broad, of which what lies between holes is counted."
    )


def _mm(pair: tuple[float, float]) -> str:
    return f"{pair[0] * 1000:g} × {pair[1] * 1000:g}"
