"""The kinds of grate that can be asked for: each made, listed, drawn and told."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from tapeloft.cli.progress import each
from tapeloft.cli.sizes import pair, size

if TYPE_CHECKING:
    from shapely import Polygon

    from tapeloft.model.compartment import Compartment
    from tapeloft.model.cutting.beams import Load
    from tapeloft.model.cutting.board import Cut
    from tapeloft.model.cutting.holes import Pattern
    from tapeloft.model.cutting.laying import Laid, Section, Way
    from tapeloft.model.cutting.perforated import Holed
    from tapeloft.model.cutting.timber import Timber
    from tapeloft.model.cutting.told import Line
    from tapeloft.model.solid import Solid
    from tapeloft.viewer.template.template import Template


@dataclass(frozen=True)
class Asked:
    """What was asked of a grate, as typed or in m.

    on_bearers: breadth and depth of a bearer, which way the grate spans, of what timber, under what load.
    """

    on_bearers: "tuple[tuple[float, float], Way, Timber, Load]"
    batten: str | None
    spaced: str | None
    of: str
    modulus: float | None
    strength: float | None
    density: float | None
    thickness: float
    hole: float
    pitch: float
    pattern: "Pattern"
    web: float


@dataclass(frozen=True)
class Kind:
    """A grate that was made, and what goes with its kind.

    pieces: outlines that are cut from sheets, m; bars: lines that are cut from lengths; ledges: outlines of bars round
    it, under it, m; solids: made when asked for.
    """

    laid: "Laid"
    lines: "list[Line]"
    templates: "list[Template]"
    solids: "Callable[[], list[tuple[str, Solid]]]"
    pieces: "list[tuple[str, Polygon]]"
    bars: "list[Line]"
    ledges: "list[Polygon]"
    rows: list[tuple[str, str, str]]
    told: dict[str, Any]
    cautions: tuple[str, ...]


def battens(whole: "Compartment", top: float, asked: Asked, cut: "Cut", on_it: Sequence[str]) -> Kind:
    """Return a grate of battens one way."""
    from tapeloft.model.cutting.grate import Lay, grate_at
    from tapeloft.model.cutting.told import bars_listed, loads_told
    from tapeloft.viewer.template.template import template_of_bars

    _only_of_sheets(asked)
    bar, gap = pair("batten", asked.batten or "40x18", *BREADTH), size("spaced", asked.spaced or "20")
    lay = Lay(*asked.on_bearers, bar, gap)
    made = grate_at(whole, top, lay, cut)
    per = lay.batten[1], lay.bearer[1], lay.timber.density_kg_m3
    lines = [line for bars in made.sections for line in bars_listed(bars, *per)]
    sizes = f"battens {_mm(lay.batten)}, bearers {_mm(lay.bearer)} under them"
    templates = [template_of_bars(one, made.plane, _said(one, whole, on_it, sizes)) for one in made.sections]
    told = {"timber": lay.timber, "batten_m": lay.batten, "gap_m": lay.gap, "bearer_m": lay.bearer}
    loads = (loads_told(lay.timber, lay.load),)
    return Kind(made, lines, templates, lambda: _solids(made), [], lines, [], [], told, loads)


def egg_crate(whole: "Compartment", top: float, asked: Asked, cut: "Cut", on_it: Sequence[str]) -> Kind:
    """Return a grate of bars both ways."""
    from tapeloft.model.cutting.eggcrate import Cells, egg_crate_at
    from tapeloft.model.cutting.told import crossed_listed, loads_told
    from tapeloft.viewer.template.template import templates_of_crossed

    _only_of_sheets(asked)
    spaced = asked.spaced or "40"
    cell = pair("spaced", spaced if "x" in spaced.lower() or "×" in spaced else f"{spaced}x{spaced}", *CELL)
    bar = pair("batten", asked.batten or "20x30", *BREADTH)
    cells = Cells(*asked.on_bearers, bar, cell)
    made = egg_crate_at(whole, top, cells, cut)
    per = cells.bar[1], cells.bearer[1], cells.timber.density_kg_m3
    lines = [line for one in made.sections for line in crossed_listed(one, *per)]
    sizes = f"bars {_mm(bar)}, halved at every crossing, bearers {_mm(cells.bearer)} under them"
    templates = [
        template
        for one in made.sections
        for template in templates_of_crossed(one, made.plane, _said(one, whole, on_it, sizes))
    ]
    ideal = cell[0] * cell[1] / ((bar[0] + cell[0]) * (bar[0] + cell[1]))
    rows = [("open, of cells without an edge", f"{ideal * 100:.1f}", "%")]
    told = {
        "timber": cells.timber, "batten_m": bar, "cell_m": cell, "bearer_m": cells.bearer, "ideal_open_share": ideal,
    }  # fmt: skip
    loads = (loads_told(cells.timber, cells.load),)
    return Kind(made, lines, templates, lambda: _solids(made), [], lines, [], rows, told, loads)


def perforated(whole: "Compartment", top: float, asked: Asked, cut: "Cut", on_it: Sequence[str]) -> Kind:
    """Return a grate that is a sheet with holes."""
    from tapeloft.model.cutting.holes import ideal_open_share
    from tapeloft.model.cutting.perforated import Holed, drilled, perforated_at
    from tapeloft.model.cutting.sheetstock import sheet_stated
    from tapeloft.model.cutting.told import pierced_listed
    from tapeloft.viewer.template.template import template_of_pierced

    of = sheet_stated(asked.of, asked.modulus, asked.strength, asked.density)
    holed = Holed(*asked.on_bearers, asked.thickness, asked.hole, asked.pitch, asked.pattern, asked.web, of)
    made = perforated_at(whole, top, holed, cut)
    densities = of.density_kg_m3, holed.timber.density_kg_m3
    listed = [pierced_listed(one, holed.bearer[1], *densities) for one in made.sections]
    lines, bars = [line for one in listed for line in one], [line for one in listed for line in one[1:]]
    ledges = [ledge for one in made.sections for ledge in one.ledges]
    sizes = f"{of.name} {holed.thickness * 1000:g} mm, holes {holed.bore * 1000:g} mm every {holed.pitch * 1000:g}"
    templates = [template_of_pierced(one, made.plane, _said(one, whole, on_it, sizes)) for one in made.sections]
    pieces = [(one.letter, one.outline) for one in made.sections]
    count = sum(len(one.middles) for one in made.sections)
    ideal = ideal_open_share(holed.bore, holed.pitch, holed.pattern)
    rows = [("holes", str(count), ""), ("open, of a sheet without an edge", f"{ideal * 100:.1f}", "%")]
    told = {
        "sheet": of, "timber": holed.timber, "thickness_m": holed.thickness, "hole_m": holed.bore,
        "pitch_m": holed.pitch, "pattern": holed.pattern, "web_m": holed.web, "bearer_m": holed.bearer, "holes": count,
        "ideal_open_share": ideal,
    }  # fmt: skip

    def solids() -> "list[tuple[str, Solid]]":
        return [(f"grate {one.letter}", drilled(one, made)) for one in each(made.sections, "drilling")]

    return Kind(made, lines, templates, solids, pieces, bars, ledges, rows, told, (_pressed(holed, asked),))


KINDS = {"battens": battens, "egg-crate": egg_crate, "perforated": perforated}
BREADTH, CELL = ("breadth x depth", "40x18"), ("a gap, or breadth x length of a cell", "40x40")


def _only_of_sheets(asked: Asked) -> None:
    from tapeloft.model.errors import TapeloftError

    for name, figure in (("modulus", asked.modulus), ("strength", asked.strength), ("density", asked.density)):
        if figure is not None:
            raise TapeloftError(f"--{name} is of a perforated sheet: bars are of --timber")


def _said(section: "Section", whole: "Compartment", on_it: Sequence[str], sizes: str) -> tuple[str, ...]:
    from tapeloft.model.cutting.told import on_piece

    (place,) = on_it
    return on_piece(section, whole.survey, whole.name, (f"this side: {place}", sizes))


def _solids(made: "Laid") -> "list[tuple[str, Solid]]":
    return [(f"grate {one.letter}", one.solid) for one in made.sections]


def _pressed(holed: "Holed", asked: Asked) -> str:
    from tapeloft.model.cutting.perforated import STOOD_ON
    from tapeloft.model.cutting.sheetstock import source_of
    from tapeloft.model.cutting.told import sheet_loads_told

    return (
        f"{sheet_loads_told(holed.stock, holed.load, source_of(asked.modulus, asked.strength))} The point load stands "
        f"on a strip {STOOD_ON * 1000:.0f} mm broad, of which what lies between holes is counted."
    )


def _mm(pair: tuple[float, float]) -> str:
    return f"{pair[0] * 1000:g} × {pair[1] * 1000:g} mm"
