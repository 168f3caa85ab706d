"""tapeloft grate."""

from typing import TYPE_CHECKING, Annotated, Literal

import typer

from tapeloft.cli.cutting import Gap, GapEnd, GapObstruction, PaperOption, Still, To
from tapeloft.cli.options import AsJson, Force, Given, OneName, Options, SurveyFile, UnitsOption

if TYPE_CHECKING:
    from tapeloft.cli.printing import Table
    from tapeloft.model.compartment import Compartment
    from tapeloft.model.cutting.flooded import Flooded
    from tapeloft.model.cutting.grate import Grate
    from tapeloft.model.plusminus.cutagain import CutOff


def grate(
    survey: SurveyFile,
    compartment: OneName = None,
    height: Annotated[
        str | None,
        typer.Option(metavar="HEIGHT", help="of its upper face above the datum; left out: as the survey has it"),
    ] = None,
    batten: Annotated[str, typer.Option(metavar="B x D", help="breadth and depth, mm")] = "40x18",
    spaced: Annotated[str, typer.Option(metavar="LENGTH", help="gap between battens")] = "20",
    bearer: Annotated[str, typer.Option(metavar="B x D", help="breadth and depth, mm")] = "30x30",
    run: Annotated[
        Literal["fore-and-aft", "athwartships"], typer.Option(help="which way battens run")
    ] = "fore-and-aft",
    timber: Annotated[str, typer.Option(metavar="NAME", help="teak, dark red meranti, light red meranti")] = "teak",
    point: Annotated[str, typer.Option(metavar="MASS", help="load that may stand on one batten")] = "40 kg",
    even: Annotated[float, typer.Option(metavar="KG", help="load spread over it, kg/m²")] = 200.0,
    bend: Annotated[float, typer.Option(metavar="N", min=20, help="a batten bends no more than 1/N of its span")] = 200,
    gap: Gap = "5",
    gap_end: GapEnd = None,
    gap_obstruction: GapObstruction = None,
    to: To = None,
    paper: PaperOption = "a4",
    still: Still = None,
    as_json: AsJson = False,
    given: Given = None,
    option: Options = None,
    units: UnitsOption = "mm",
    force: Force = False,
) -> None:
    """A grate of battens on bearers: sections that go in, what it bears, water under it, templates at true scale."""
    from tapeloft.cli.asking import asked_survey, built
    from tapeloft.cli.basis import bases, say_bases
    from tapeloft.cli.chances import cut_off_of
    from tapeloft.cli.cutting import cut_list, drawn, files_of, gaps_of, hold_still, leave, size
    from tapeloft.cli.printing import print_json, print_tables, say, say_notes
    from tapeloft.model.cautions import GRATE, cautions_for
    from tapeloft.model.cutting.beams import Load
    from tapeloft.model.cutting.board import Cut
    from tapeloft.model.cutting.flooded import flooded
    from tapeloft.model.cutting.grate import Lay, grate_at
    from tapeloft.model.cutting.timber import HANDBOOK, timber_called
    from tapeloft.model.cutting.told import bars_listed, cut_cautions, digest
    from tapeloft.model.files.writing import write_set
    from tapeloft.model.units import format_length
    from tapeloft.viewer.template.template import template_of_bars

    hold_still(still, force=force)
    one = asked_survey(survey, compartment, given, option)
    top = _height(height, one)
    sawn = timber_called(timber)
    way: Literal["fore and aft", "athwartships"] = "athwartships" if run == "athwartships" else "fore and aft"
    load = Load(_mass(point), even, bend)
    lay = Lay(_pair("batten", batten), size("spaced", spaced), _pair("bearer", bearer), way, sawn, load)
    cut = Cut(gaps_of(gap, gap_end, gap_obstruction))
    (whole,) = built([one])
    made = grate_at(whole, top, lay, cut)
    water = flooded(whole, made, top)
    lines = [line for bars in made.sections for line in bars_listed(bars, lay.batten[1], lay.bearer[1])]
    wood = (
        f"Loads are taken by {sawn.name}: E {sawn.modulus_pa / 1e9:.2f} GPa, modulus of rupture "
        f"{sawn.rupture_pa / 1e6:.1f} MPa, of which a {load.safety:.0f}th is allowed ({HANDBOOK}). Knots and short "
        "grain take more off."
    )
    sections = [bars.outline for bars in made.sections]
    off = cut_off_of(whole, made.plane, lay.batten[1], made.clear, sections, cut.gaps.widest)
    said = (wood, *cut_cautions(one, cut.gaps, off), *(text for text in cautions_for(one) if text != GRATE))
    mark, place = digest(one), f"upper face {format_length(top, one.unit)} up"
    title = f"{whole.name}: grate, {place}"
    sizes = f"battens {_mm(lay.batten)}, bearers {_mm(lay.bearer)} under them"
    templates = [
        template_of_bars(bars, made.plane, (f"{bars.letter}   {whole.name}", f"upper face; {place}", sizes, mark))
        for bars in made.sections
    ]
    solids = [(f"grate {bars.letter}", bars.solid) for bars in made.sections]
    remarks = (*made.notes, *water.notes)
    files = files_of(to or (), templates, lines, solids, paper, title, (*filter(None, [whole.basis]), *remarks, *said))
    write_set(files, force=force)
    if still is not None:
        drawn(whole, solids, still, units, force=force)
    written = [*map(str, files), *([str(still)] if still else [])]
    if as_json:
        print_json(
            "grate", compartment=whole.name, height_m=top, timber=sawn, load=load, batten_m=lay.batten,
            gap_m=lay.gap, bearer_m=lay.bearer, way=way, span_m=made.span_m, overhang_m=made.overhang_m,
            block_m=made.block_m, bearer_spacing_m=made.bearer_spacing_m, outline_m2=made.outline_m2, plus_minus=off,
            open_share=made.open_share, mass_kg=made.mass_kg, outside_m3=made.outside_m3, water=water, survey=mark,
            sections=[{"letter": bars.letter, "through": bars.through} for bars in made.sections], pieces=lines,
            files=written, remarks=remarks, basis=bases([whole]),
            notes=whole.notes, cautions=said,
        )  # fmt: skip
        leave(lines, len(one.openings))
        return
    print_tables([_figures(whole, made, water, off, units), cut_list(title, lines, units)])
    for remark in remarks:
        say(f"note: {remark}")
    say_bases([whole])
    say_notes(whole.notes, said)
    for file in written:
        say(f"wrote {file}")
    leave(lines, len(one.openings))


def _figures(whole: "Compartment", made: "Grate", water: "Flooded", off: "CutOff | None", units: str) -> "Table":
    from tapeloft.cli.printing import Table
    from tapeloft.model.units import figure, figure_down

    rows = [
        ("a batten may span between bearers", figure_down(made.span_m, units), units),
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


def _pair(name: str, text: str) -> tuple[float, float]:
    """Return two sizes, "40x18"; mm unless a unit stands behind."""
    from tapeloft.cli.cutting import size
    from tapeloft.model.errors import TapeloftError

    parts = text.lower().replace("×", "x").split("x")
    if len(parts) != 2:
        raise TapeloftError(f'--{name} {text}: write breadth x depth, for example "40x18"')
    return size(name, parts[0].strip()), size(name, parts[1].strip())


def _mass(text: str) -> float:
    from tapeloft.model.errors import TapeloftError
    from tapeloft.model.units import Misread, mass

    try:
        return mass(text, "kg")
    except Misread as bad:
        raise TapeloftError(f"--point: {bad}") from None


def _mm(pair: tuple[float, float]) -> str:
    return f"{pair[0] * 1000:g} × {pair[1] * 1000:g}"
