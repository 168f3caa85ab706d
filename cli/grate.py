"""tapeloft grate."""

from typing import TYPE_CHECKING, Annotated, Literal

import typer

from tapeloft.cli.asking import asked_survey, built
from tapeloft.cli.cutlist import block_list, cut_list, ways_in
from tapeloft.cli.gratekinds import BREADTH, KINDS, Asked
from tapeloft.cli.options import (
    AsJson,
    Bearer,
    Even,
    Exploded,
    Force,
    Gap,
    GapEnd,
    GapObstruction,
    Given,
    Mass,
    OneName,
    Options,
    PaperOption,
    PlanUnits,
    Still,
    SurveyFile,
    TimberName,
    To,
    does_nothing,
)
from tapeloft.cli.part import Out, Part, goes_in, hold_paper, hold_picture, leave, tell
from tapeloft.cli.partfiles import OnPaper
from tapeloft.cli.plusminus import square_beside
from tapeloft.cli.printing import Table
from tapeloft.cli.sheets import (
    LENGTHS,
    SHEETS,
    Grain,
    Kerf,
    SheetOption,
    Stock,
    hold_saw,
    nest_json,
    nest_of,
    nest_table,
    stock_of,
    stock_table,
)
from tapeloft.cli.sizes import gaps_of, heaviest, pair, size, weight
from tapeloft.cli.spacing import length_of

if TYPE_CHECKING:
    from tapeloft.model.compartment import Compartment
    from tapeloft.model.cutting.blocks import Blocked
    from tapeloft.model.cutting.flooded import Flooded
    from tapeloft.model.cutting.laying import Laid, Way
    from tapeloft.model.plusminus.cutagain import CutOff
    from tapeloft.model.survey.survey import Survey

TIPS = 0.02  # m: what reaches out so far beyond its blocks is told


def grate(
    context: typer.Context,
    survey: SurveyFile,
    compartment: OneName = None,
    height: Annotated[
        str | None,
        typer.Option(metavar="HEIGHT", help="of its upper face above the datum; left out: as the survey has it"),
    ] = None,
    kind: Annotated[
        Literal["battens", "egg-crate", "perforated"],
        typer.Option(help="battens one way, bars both ways halved into one another, or a sheet with holes"),
    ] = "battens",
    batten: Annotated[
        str | None, typer.Option(metavar="B x D", help="breadth and depth, mm; left out: 40x18, bars both ways 20x30")
    ] = None,
    spaced: Annotated[
        str | None,
        typer.Option(metavar="LENGTH", help='gap between battens, or the cells of an egg-crate: 20, "40x40"'),
    ] = None,
    bearer: Bearer = "30x30",
    run: Annotated[
        Literal["fore-and-aft", "athwartships"], typer.Option(help="which way battens run, or a sheet spans")
    ] = "fore-and-aft",
    timber: TimberName = "teak",
    of: Annotated[
        str, typer.Option(metavar="NAME", help="of a perforated sheet: plywood, cross-grain plywood, FRP")
    ] = "plywood",
    modulus: Annotated[
        float | None, typer.Option(metavar="GPA", help="the sheet's modulus of elasticity, as its maker states it")
    ] = None,
    strength: Annotated[float | None, typer.Option(metavar="MPA", help="and its modulus of rupture")] = None,
    density: Annotated[float | None, typer.Option(metavar="KG", help="and its density, kg/m³")] = None,
    thickness: Annotated[str, typer.Option(metavar="LENGTH", help="of a perforated sheet, mm")] = "18",
    hole: Annotated[str, typer.Option(metavar="LENGTH", help="bore of its holes, mm")] = "20",
    pitch: Annotated[str, typer.Option(metavar="LENGTH", help="from hole to hole, mm")] = "40",
    pattern: Annotated[Literal["square", "hex"], typer.Option(help="how its holes lie")] = "square",
    web: Annotated[str, typer.Option(metavar="LENGTH", help="from a hole to an edge or a bearer, mm")] = "10",
    point: Annotated[str, typer.Option(metavar="MASS", help="load that may stand on one batten")] = "40 kg",
    even: Even = 200.0,
    bend: Annotated[float, typer.Option(metavar="N", min=20, help="a batten bends no more than 1/N of its span")] = 200,
    empty_in: Annotated[
        float | None, typer.Option(metavar="SECONDS", help="tell the bore that drains what lies under it in that time")
    ] = None,
    gap: Gap = "5",
    gap_end: GapEnd = None,
    gap_obstruction: GapObstruction = None,
    mass: Mass = None,
    sheet: SheetOption = None,
    stock: Stock = None,
    kerf: Kerf = None,
    grain: Grain = None,
    to: To = None,
    paper: PaperOption = None,
    still: Still = None,
    exploded: Exploded = False,
    as_json: AsJson = False,
    given: Given = None,
    option: Options = None,
    units: PlanUnits = None,
    force: Force = False,
) -> None:
    """A grate on bearers: sections that go in, what it bears, water under it, templates at true scale."""
    from tapeloft.cli.chances import cut_off_of
    from tapeloft.model.cautions import GRATE, cautions_for
    from tapeloft.model.cutting.beams import Load
    from tapeloft.model.cutting.board import Cut
    from tapeloft.model.cutting.flooded import flooded
    from tapeloft.model.cutting.timber import timber_called
    from tapeloft.model.cutting.told import cut_cautions, digest
    from tapeloft.model.units import format_length
    from tapeloft.viewer.template.plan import plan_of
    from tapeloft.viewer.template.template import template_of_sheet

    hold_picture(still, force=force, exploded=exploded)
    hold_paper(paper, to)
    hold_saw(kerf, grain, {SHEETS: sheet, LENGTHS: stock})
    does_nothing(
        context, "--kind perforated", kind == "perforated", "of", "thickness", "hole", "pitch", "pattern", "web"
    )
    does_nothing(context, "--kind battens or egg-crate", kind != "perforated", "batten", "spaced")
    shown = units or "mm"
    one = asked_survey(survey, compartment, given, option)
    top = _height(height, one)
    way: Way = "athwartships" if run == "athwartships" else "fore and aft"
    load = Load(weight("point", point), even, bend)
    cut = Cut(gaps_of(gap, gap_end, gap_obstruction), heaviest=heaviest(mass))
    asked = Asked(
        (pair("bearer", bearer, *BREADTH), way, timber_called(timber), load), batten, spaced, of, modulus, strength,
        density, size("thickness", thickness), size("hole", hole), size("pitch", pitch), pattern, size("web", web),
    )  # fmt: skip
    (whole,) = built([one])
    place = f"upper face {format_length(top, one.unit)} up"
    found = KINDS[kind](whole, top, asked, cut, (place,))
    made, sections = found.laid, found.laid.sections
    water = flooded(whole, made, top, empty_in)
    outlines = [section.outline for section in sections]
    off = cut_off_of(whole, made.plane, made.deep, made.clear, outlines, cut.gaps.widest)
    title = f"{whole.name}: grate, {place}"
    nest = nest_of(found.pieces, sheet, kerf, grain)
    bars = stock_of(found.bars, stock, kerf)
    layouts = [template_of_sheet(each, k, found.templates) for k, each in enumerate(nest.sheets if nest else (), 1)]
    bearers = [("bearer", one) for section in sections for one in section.bearers]
    bearers += [("ledge", one) for one in found.ledges]
    blocked, tips = _blocked(whole, made, asked.on_bearers[0])
    named = [(section.letter, section.outline) for section in sections]
    plan = plan_of(named, bearers, made.plane, int(way == "athwartships"), units or one.unit)
    part = Part(
        "grate", whole, pieces=found.solids,
        answer={
            "height_m": top, "kind": kind, **found.told, "load": load, "way": way, "span_m": made.span_m,
            "overhang_m": made.overhang_m, "block_m": made.block_m, "bearer_spacing_m": made.bearer_spacing_m,
            "outline_m2": made.outline_m2, "plus_minus": off, "open_share": made.open_share, "mass_kg": made.mass_kg,
            "outside_m3": made.outside_m3, "water": water, "survey": digest(one),
            "sections": [
                {"letter": section.letter, "through": [way.opening for way in section.passages],
                 "passages": section.passages, "mass_kg": section.mass_kg}
                for section in sections
            ],
            "pieces": found.lines, "blocks": blocked, "sheets": nest_json(nest), "stock": bars or None,
        },
        tables=[
            _figures(whole, made, water, off, shown, found.rows), cut_list(title, found.lines, shown),
            block_list(blocked, shown), *([nest_table(nest, shown)] if nest else []),
            *([stock_table(bars, shown)] if bars else []),
        ],
        cautions=(
            *found.cautions, *cut_cautions(one, cut.gaps, off), *(said for said in cautions_for(one) if said != GRATE),
        ),
        on_paper=OnPaper(title, found.lines, found.templates, layouts, plan),
        ways=ways_in(sections, [f"{one.letter} ({one.mass_kg:.2f} kg)" for one in sections], made.plane),
        remarks=(*made.notes, *water.notes, *tips),
        serves=goes_in(sections, len(one.openings), cut.heaviest),
    )  # fmt: skip
    out = Out(to or (), still, as_json, shown, force, paper, exploded)
    tell(part, out, leave(part, out))


def _blocked(whole: "Compartment", made: "Laid", bearer: tuple[float, float]) -> "tuple[list[Blocked], list[str]]":
    """Return the blocks under all bearers, breadth and depth m, and in words which sections reach out beyond theirs."""
    from tapeloft.model.cutting.blocks import Under, blocks_under, stands_out
    from tapeloft.model.cutting.told import bearers_of, stood_on

    low = Under(whole, made.plane.start[2] - bearer[1])
    each = [blocks_under(low, bearers_of(one), bearer[0], made.block_m) for one in made.sections]
    out = [(one.letter, stands_out(stood_on(one), some)) for one, some in zip(made.sections, each, strict=True)]
    far = [f"{letter} by {by * 1000:.0f} mm" for letter, by in out if by > TIPS]
    said = [f"stands out beyond its blocks: {', '.join(far)}: stood on there it tips, unless it is held down"]
    return [one for some in each for one in some], said if far else []


def _figures(
    whole: "Compartment",
    made: "Laid",
    water: "Flooded",
    off: "CutOff | None",
    units: str,
    own: list[tuple[str, str, str]],
) -> Table:
    from tapeloft.model.units import figure, figure_down, figure_up

    rows = [
        *own,
        ("it may span between bearers", figure_down(made.span_m, units), units),
        ("and stand out beyond the last", figure_down(made.overhang_m, units), units),
        ("bearers are apart, at most", figure(made.bearer_spacing_m, units), units),
        ("a bearer is held up at least every", figure_down(made.block_m, units), units),
        ("outline", square_beside(made.outline_m2, off.area_sd_m2 if off else None), "m²"),
        ("open", f"{made.open_share * 100:.1f}", "%"),
        ("mass, dry", f"{made.mass_kg:.2f}", "kg"),
        ("water under the grate", f"{water.held_m3 * 1000:.1f}", "litres"),
    ]
    if water.drain:
        rows.append(("of it, stays below the drain", f"{water.below_m3 * 1000:.1f}", "litres"))
        rows.append((f"runs out by the {water.drain} in", f"{water.seconds:.0f}", "s"))
        rows.append(("its coefficient of discharge", f"{water.discharge:.2f}", ""))
    if water.wanted_m is not None:
        rows.append(("bore that drains it in the time wanted", figure_up(water.wanted_m, units), units))
    rows.append(("clear height over it, where highest", figure_down(water.clear_m, units), units))
    rows.append(("net space over it", f"{water.above_m3 * 1000:.1f}", "litres"))
    return Table(whole.name, ("grate", "", ""), rows, words=(2,))


def _height(text: str | None, one: "Survey") -> float:
    from tapeloft.model.errors import TapeloftError

    if text is not None:
        return length_of("height", text, one.unit) or 0.0
    if one.grate is None:
        raise TapeloftError(f"{one.name}: the survey has no grate: say how high its upper face is with --height")
    return one.grate.height
