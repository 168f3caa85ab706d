"""tapeloft rail."""

import math
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from tapeloft.cli.cutting import PaperOption, Still, To
from tapeloft.cli.options import AsJson, Force, Given, OneName, Options, SurveyFile, UnitsOption

if TYPE_CHECKING:
    from tapeloft.cli.printing import Table
    from tapeloft.model.gear.forms import Capsule
    from tapeloft.model.reaching.arm import Reached
    from tapeloft.model.reaching.rail import Rail, Section
    from tapeloft.model.survey.survey import Survey

REACH = (
    "Reach is a straight arm, {reach:.0f} mm to the thumb's tip (95 of 100 women of ANSUR II reach 674), from a "
    "shoulder anywhere in the plane of the open lid; only the bay under it is reached, but what stands there does not "
    "stop an arm."
)
SideName = Literal["port", "starboard", "inboard", "outboard"]


def rail(
    survey: SurveyFile,
    compartment: OneName = None,
    opening: Annotated[
        str | None, typer.Option(metavar="NAME", help="reached through this lid; left out: through any in the top")
    ] = None,
    side: Annotated[SideName | None, typer.Option(help="that it lies along; left out: outboard")] = None,
    height: Annotated[
        str | None,
        typer.Option(metavar="HEIGHT", help="of its middle; left out: where most fenders hang, then longest"),
    ] = None,
    batten: Annotated[str, typer.Option(metavar="B x D", help="breadth and depth, mm")] = "20x45",
    tube: Annotated[str | None, typer.Option(metavar="D x WALL", help='a tube instead, mm: "25x1.5"')] = None,
    timber: Annotated[str, typer.Option(metavar="NAME", help="teak, dark red meranti, light red meranti")] = "teak",
    metal: Annotated[str, typer.Option(metavar="NAME", help="of a tube: aluminium, stainless")] = "stainless 316",
    stand_off: Annotated[str, typer.Option(metavar="LENGTH", help="of its near face from the side")] = "40",
    gap: Annotated[str, typer.Option(metavar="LENGTH", help="to ends, to lids, to what stands in the space")] = "5",
    fender: Annotated[
        str, typer.Option(metavar="ITEM", help='that hangs from it, as for `tapeloft fit`; "none" for none')
    ] = "fender, 150 mm",
    pitch: Annotated[str | None, typer.Option(metavar="LENGTH", help="of hooks; left out: a fender and a gap")] = None,
    pull: Annotated[str, typer.Option(metavar="MASS", help="that hangs on it anywhere, besides the fenders")] = "40 kg",
    reach: Annotated[str, typer.Option(metavar="LENGTH", help="of an arm; mm unless a unit stands behind")] = "674",
    to: To = None,
    paper: PaperOption = "a4",
    still: Still = None,
    sections: Annotated[
        Path | None, typer.Option("--sections", metavar="FILE.png", help="draw what is in reach, in three sections")
    ] = None,
    as_json: AsJson = False,
    given: Given = None,
    option: Options = None,
    units: UnitsOption = "mm",
    force: Force = False,
) -> None:
    """A rail along a side, within an arm's reach through the open lid: brackets, hooks, how many fenders.

    How much of the locker an arm reaches at all is told, and with --sections drawn.
    """
    from tapeloft.cli.asking import asked_survey, built
    from tapeloft.cli.basis import bases, say_bases
    from tapeloft.cli.chances import cuts_off_of
    from tapeloft.cli.cutting import cut_list, drawn, edge_list, files_of, hold_still, leave, size, weight
    from tapeloft.cli.printing import print_json, print_tables, say, say_notes
    from tapeloft.cli.spacing import length_of
    from tapeloft.model.cautions import GAS_ALONE, cautions_for
    from tapeloft.model.cutting.inset import Gaps
    from tapeloft.model.cutting.told import cut_cautions, digest, listed, on_piece
    from tapeloft.model.fall import lids_of
    from tapeloft.model.files.writing import write_set
    from tapeloft.model.plusminus.cutagain import worst
    from tapeloft.model.reaching.arm import Arm, lids_for, reached
    from tapeloft.model.reaching.rail import Asked, rail_in
    from tapeloft.viewer.reached import draw_reached
    from tapeloft.viewer.template.template import template_of

    hold_still(still, force=force)
    hold_still(sections, force=force)
    one = asked_survey(survey, compartment, given, option)
    hangs, mass = _fender(fender)
    asked = Asked(
        _side(one, side), _section(batten, tube, timber, metal), size("stand-off", stand_off), size("gap", gap),
        length_of("height", height, one.unit), Arm(size("reach", reach)), hangs, mass,
        None if pitch is None else size("pitch", pitch), weight("pull", pull),
    )  # fmt: skip
    (whole,) = built([one])
    falls = lids_of(whole, opening)
    made = rail_in(whole, falls, asked)
    arm = reached(whole, lids_for(whole, falls, asked.arm), asked.arm)
    pieces = [made.rail, *made.brackets]
    lines = [listed(piece, asked.section.deep) for piece in pieces]
    off = worst(cuts_off_of(whole, [(made.level.plane, asked.section.deep, made.rail.outline)], asked.gap))
    gas = (GAS_ALONE,) if one.space.use == "gas" else ()
    said = (
        REACH.format(reach=asked.arm.reach * 1000),
        *gas,
        *cut_cautions(one, Gaps(asked.gap, asked.gap, asked.gap), off),
        *cautions_for(one),
    )
    mark, title = digest(one), f"{whole.name}: rail along the {made.side} side"
    place, deep = f"middle {made.height * 1000:.0f} mm up", f"{asked.section.deep * 1000:g} mm deep"
    templates = [
        template_of(
            piece, made.level.plane, on_piece(piece, one, whole.name, ("this side: upper face", f"{place}, {deep}"))
        )
        for piece in pieces
    ]
    solids = [(piece.letter, piece.solid) for piece in pieces]
    remarks = (*filter(None, [whole.basis]), *made.notes, *said)
    files = files_of(to or (), templates, lines, solids, paper, title, remarks)
    write_set(files, force=force)
    if still is not None:
        parts = [("rail", made.rail.solid), *(("bracket", piece.solid) for piece in made.brackets)]
        parts += [(fender, hung.body) for hung in made.hung]
        drawn(whole, parts, still, units, exploded=False, force=force)
    if sections is not None:
        told = (
            f"{title}: {arm.least * 100:.0f} % of the net volume within {asked.arm.reach * 1000:.0f} mm of the shoulder"
        )
        draw_reached(
            whole, arm.solid, falls, made.rail.solid, made.height, sections, title=told, unit=units, force=force
        )

    written = [*map(str, files), *(str(picture) for picture in (still, sections) if picture)]
    if as_json:
        print_json(
            "rail", compartment=whole.name, side=made.side, height_m=made.height, line_m=made.line,
            length_m=made.length_m, stand_off_m=asked.stand_off, across_m=asked.section.across,
            deep_m=asked.section.deep, reach_m=asked.arm.reach, openings=[fall.name for fall in falls],
            in_reach={"least": arm.least, "most": arm.most}, span_m=made.span_m, overhang_m=made.overhang_m,
            spacing_m=made.spacing_m, brackets=len(made.brackets), fender=fender if hangs else None,
            pitch_m=made.pitch_m, under_lid=made.under_lid,
            hooks=[{"place_m": hung.hook, "leans_deg": hung.leans_deg} for hung in made.hung], plus_minus=off,
            survey=mark,
            pieces=lines,
            outside_m3=made.outside_m3, files=written, remarks=made.notes, basis=bases([whole]), notes=whole.notes,
            cautions=said,
        )  # fmt: skip
    else:
        print_tables(
            [*_tables(made, arm, one, title, fender if hangs else "", units), cut_list("to cut", lines, units)]
        )
        print_tables([edge_list(lines)])
        for remark in made.notes:
            say(f"note: {remark}")
        say_bases([whole])
        say_notes(whole.notes, said)
        for file in written:
            say(f"wrote {file}")
    leave(lines, len(one.openings), math.inf)


def _side(one: "Survey", side: str | None) -> Literal["port", "starboard"]:
    from tapeloft.model.errors import TapeloftError

    if side == "port":
        return "port"
    if side == "starboard":
        return "starboard"
    own = -one.side if one.mirrored else one.side
    if own == 0:
        raise TapeloftError(f"{one.name} lies on both sides: along which does the rail lie? --side port or starboard")
    return "port" if (own > 0) == (side != "inboard") else "starboard"


def _section(batten: str, tube: str | None, timber: str, metal: str) -> "Section":
    from tapeloft.cli.cutting import pair
    from tapeloft.model.cutting.beams import Bar
    from tapeloft.model.cutting.timber import timber_called
    from tapeloft.model.cutting.tube import Tube, metal_called
    from tapeloft.model.reaching.rail import METAL_SAFETY, Section

    if tube is not None:
        diameter, wall = pair("tube", tube, "diameter x wall", "25x2")
        return Section(diameter, diameter, Tube(diameter, wall, metal_called(metal)), METAL_SAFETY)
    across, deep = pair("batten", batten, "breadth x depth", "20x45")
    return Section(across, deep, Bar(across, deep, timber_called(timber)))


def _fender(text: str) -> "tuple[Capsule | None, float]":
    from tapeloft.model.errors import TapeloftError
    from tapeloft.model.gear.asked import gear_asked
    from tapeloft.model.gear.forms import Capsule

    if text == "none":
        return None, 0.0
    gear = gear_asked(text)
    if not isinstance(gear.form, Capsule):
        raise TapeloftError(f'--fender {text}: write a round one, for example "capsule 150x580", or "none"')
    return gear.form, gear.mass_kg or 0.0


def _tables(made: "Rail", arm: "Reached", one: "Survey", title: str, fender: str, units: str) -> "list[Table]":
    from tapeloft.cli.printing import Table
    from tapeloft.model.survey.told import way_of_tape
    from tapeloft.model.units import figure, figure_down

    share = (
        f"{arm.least * 100:.1f} to {arm.most * 100:.1f}" if arm.most - arm.least > 5e-4 else f"{arm.least * 100:.1f}"
    )
    rows = [
        ("of the net volume, within reach", share, "%"),
        ("middle of the rail, height", figure(made.height, units), units),
        ("long, along it", figure_down(made.length_m, units), units),
        ("brackets may be apart", figure_down(made.span_m, units), units),
        (
            f"they are, {len(made.brackets)} of them" if made.brackets else "fastenings to the side are apart",
            figure(made.spacing_m, units),
            units,
        ),
    ]
    if fender:
        rows.append((f"hooks, each with a {fender}", str(len(made.hung)), ""))
        rows.append(("hooks are apart", figure(made.pitch_m, units), units))
    way = way_of_tape(one)
    places = [
        (told, figure(way * x, units), figure(abs(y), units), "port" if y >= 0 else "starboard")
        for told, (x, y, _) in zip(_named(len(made.line)), made.line, strict=True)
    ]
    head = ("middle of the rail", f"station, {units}", "half-breadth", "to")
    return [Table(title, ("rail", "", ""), rows, words=(2,)), Table("", head, places, words=(3,))]


def _named(count: int) -> list[str]:
    return ["after end", *["bend"] * (count - 2), "forward end"]
