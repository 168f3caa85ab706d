"""tapeloft grate."""

from typing import TYPE_CHECKING, Annotated, Literal

import typer

from tapeloft.cli.cutting import Exploded, Gap, GapEnd, GapObstruction, Mass, PaperOption, Still, To
from tapeloft.cli.options import AsJson, Force, Given, OneName, Options, SurveyFile, UnitsOption
from tapeloft.cli.sheets import Grain, Kerf, SheetOption, Stock

if TYPE_CHECKING:
    from tapeloft.cli.printing import Table
    from tapeloft.model.compartment import Compartment
    from tapeloft.model.cutting.flooded import Flooded
    from tapeloft.model.cutting.laying import Laid
    from tapeloft.model.plusminus.cutagain import CutOff


def grate(
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
    bearer: Annotated[str, typer.Option(metavar="B x D", help="breadth and depth, mm")] = "30x30",
    run: Annotated[
        Literal["fore-and-aft", "athwartships"], typer.Option(help="which way battens run, or a sheet spans")
    ] = "fore-and-aft",
    timber: Annotated[str, typer.Option(metavar="NAME", help="teak, dark red meranti, light red meranti")] = "teak",
    of: Annotated[str, typer.Option(metavar="NAME", help="a perforated sheet is of plywood or FRP")] = "plywood",
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
    even: Annotated[float, typer.Option(metavar="KG", help="load spread over it, kg/m²")] = 200.0,
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
    kerf: Kerf = "4",
    grain: Grain = "any",
    to: To = None,
    paper: PaperOption = "a4",
    still: Still = None,
    exploded: Exploded = False,
    as_json: AsJson = False,
    given: Given = None,
    option: Options = None,
    units: UnitsOption = "mm",
    force: Force = False,
) -> None:
    """A grate on bearers: sections that go in, what it bears, water under it, templates at true scale."""
    from tapeloft.cli.asking import asked_survey, built
    from tapeloft.cli.basis import bases, say_bases
    from tapeloft.cli.chances import cut_off_of
    from tapeloft.cli.cutting import (
        cut_list,
        drawn,
        files_of,
        gaps_of,
        heaviest,
        hold_still,
        leave,
        size,
        wants_mesh,
        ways_in,
        weight,
    )
    from tapeloft.cli.gratekinds import KINDS, Asked
    from tapeloft.cli.printing import print_json, print_tables, say, say_notes
    from tapeloft.cli.sheets import nest_json, nest_of, nest_table, stock_of, stock_table
    from tapeloft.model.cautions import GRATE, cautions_for
    from tapeloft.model.cutting.beams import Load
    from tapeloft.model.cutting.board import Cut
    from tapeloft.model.cutting.flooded import flooded
    from tapeloft.model.cutting.told import cut_cautions, digest, surveyed
    from tapeloft.model.files.writing import write_set
    from tapeloft.model.units import format_length
    from tapeloft.viewer.template.plan import plan_of
    from tapeloft.viewer.template.template import template_of_sheet

    hold_still(still, force=force)
    one = asked_survey(survey, compartment, given, option)
    top = _height(height, one)
    load = Load(weight("point", point), even, bend)
    cut = Cut(gaps_of(gap, gap_end, gap_obstruction), heaviest=heaviest(mass))
    asked = Asked(
        batten, spaced, bearer, "athwartships" if run == "athwartships" else "fore and aft", timber, of, modulus,
        strength, density, size("thickness", thickness), size("hole", hole), size("pitch", pitch), pattern,
        size("web", web), load,
    )  # fmt: skip
    (whole,) = built([one])
    mark, place = digest(one), f"upper face {format_length(top, one.unit)} up"
    found = KINDS[kind](whole, top, asked, cut, (place, surveyed(one)))
    made, lines = found.laid, found.lines
    water = flooded(whole, made, top, empty_in)
    outlines = [section.outline for section in made.sections]
    off = cut_off_of(whole, made.plane, made.deep, made.clear, outlines, cut.gaps.widest)
    said = (*found.cautions, *cut_cautions(one, cut.gaps, off), *(text for text in cautions_for(one) if text != GRATE))
    title = f"{whole.name}: grate, {place}"
    nest = nest_of(found.pieces, sheet, kerf, grain)
    bars = stock_of(found.bars, stock, kerf)
    sheets = [template_of_sheet(each, k, found.templates) for k, each in enumerate(nest.sheets if nest else (), 1)]
    solids = found.solids() if still is not None or wants_mesh(to or ()) else []
    remarks = (*made.notes, *water.notes)
    bearers = [("bearer", one) for section in made.sections for one in section.bearers]
    whole_ones = [(section.letter, section.outline) for section in made.sections]
    plan = plan_of(whole_ones, bearers, made.plane, int(asked.way == "athwartships"))
    told = (*filter(None, [whole.basis]), *remarks, *said)
    files = files_of(to or (), found.templates, lines, solids, paper, title, told, sheets, plan)
    write_set(files, force=force)
    if still is not None:
        drawn(whole, solids, still, units, exploded=exploded, force=force)
    written = [*map(str, files), *([str(still)] if still else [])]
    if as_json:
        print_json(
            "grate", compartment=whole.name, height_m=top, kind=kind, **found.told, load=load, way=asked.way,
            span_m=made.span_m, overhang_m=made.overhang_m,
            block_m=made.block_m, bearer_spacing_m=made.bearer_spacing_m, outline_m2=made.outline_m2,
            plus_minus=off,
            open_share=made.open_share, mass_kg=made.mass_kg, outside_m3=made.outside_m3, water=water, survey=mark,
            sections=[
                {"letter": section.letter, "through": [way.opening for way in section.passages],
                 "passages": section.passages, "mass_kg": section.mass_kg}
                for section in made.sections
            ],
            pieces=lines, sheets=nest_json(nest), stock=bars or None, files=written, remarks=remarks,
            basis=bases([whole]), notes=whole.notes, cautions=said,
        )  # fmt: skip
        leave(made.sections, len(one.openings), cut.heaviest)
        return
    laid = [*([nest_table(nest, units)] if nest else []), *([stock_table(bars, units)] if bars else [])]
    print_tables([_figures(whole, made, water, off, units, found.rows), cut_list(title, lines, units), *laid])
    names = [f"{section.letter} ({section.mass_kg:.2f} kg)" for section in made.sections]
    for way in ways_in(made.sections, names, made.plane):
        say(way)
    for remark in remarks:
        say(f"note: {remark}")
    say_bases([whole])
    say_notes(whole.notes, said)
    for file in written:
        say(f"wrote {file}")
    leave(made.sections, len(one.openings), cut.heaviest)


def _figures(
    whole: "Compartment",
    made: "Laid",
    water: "Flooded",
    off: "CutOff | None",
    units: str,
    own: list[tuple[str, str, str]],
) -> "Table":
    from tapeloft.cli.printing import Table
    from tapeloft.model.units import figure, figure_down, figure_up

    rows = [
        *own,
        ("it may span between bearers", figure_down(made.span_m, units), units),
        ("and stand out beyond the last", figure_down(made.overhang_m, units), units),
        ("bearers are apart, at most", figure(made.bearer_spacing_m, units), units),
        ("a bearer is held up at least every", figure_down(made.block_m, units), units),
        ("outline", f"{made.outline_m2:.4f}" + (f" ± {off.area_sd_m2:.4f}" if off else ""), "m²"),
        ("open", f"{made.open_share * 100:.1f}", "%"),
        ("mass, dry", f"{made.mass_kg:.2f}", "kg"),
        ("water under the battens", f"{water.held_m3 * 1000:.1f}", "litres"),
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


def _height(text: str | None, one: "object") -> float:
    from tapeloft.cli.spacing import length_of
    from tapeloft.model.errors import TapeloftError
    from tapeloft.model.survey.survey import Survey

    assert isinstance(one, Survey)
    if text is not None:
        return length_of("height", text, one.unit) or 0.0
    if one.grate is None:
        raise TapeloftError(f"{one.name}: the survey has no grate: say how high its upper face is with --height")
    return one.grate.height
