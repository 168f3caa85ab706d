"""tapeloft rail."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from tapeloft.cli.asking import asked_survey, built
from tapeloft.cli.chances import cuts_off_of
from tapeloft.cli.cutlist import cut_list, edge_list, ways_in
from tapeloft.cli.options import (
    AsJson,
    Exploded,
    Force,
    Given,
    OneName,
    Options,
    PaperOption,
    Still,
    SurveyFile,
    TimberName,
    To,
    UnitsOption,
    does_nothing,
    typed,
)
from tapeloft.cli.part import Out, Part, goes_in, hold_paper, hold_picture, leave, tell
from tapeloft.cli.partfiles import OnPaper
from tapeloft.cli.printing import Table
from tapeloft.cli.sizes import pair, size, weight
from tapeloft.cli.spacing import length_of

if TYPE_CHECKING:
    from tapeloft.model.reaching.arm import Reached
    from tapeloft.model.reaching.rail import Asked, Rail
    from tapeloft.model.survey.survey import Survey

REACH = (
    "Reach is a straight arm, {reach:.0f} mm to the thumb's tip (95 of 100 women of ANSUR II reach 674), from a "
    "shoulder anywhere in the plane of the open lid; only the bay under it is reached, but what stands there does not "
    "stop an arm."
)
SideName = Literal["port", "starboard", "inboard", "outboard"]


def rail(
    context: typer.Context,
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
    timber: TimberName = "teak",
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
    paper: PaperOption = None,
    still: Still = None,
    exploded: Exploded = False,
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
    from tapeloft.model.cautions import GAS_ALONE, cautions_for
    from tapeloft.model.cutting.inset import Gaps
    from tapeloft.model.cutting.told import cut_cautions, digest, listed, on_piece
    from tapeloft.model.cutting.tube import Tube
    from tapeloft.model.errors import TapeloftError
    from tapeloft.model.fall import lids_of
    from tapeloft.model.files.writing import hold_names
    from tapeloft.model.parts.rail import Rail as Reading
    from tapeloft.model.plusminus.cutagain import worst
    from tapeloft.model.reaching.arm import lids_for, reached
    from tapeloft.model.reaching.rail import rail_in
    from tapeloft.viewer.reached import draw_reached
    from tapeloft.viewer.template.template import template_of

    hold_picture(still, force=force, exploded=exploded)
    hold_paper(paper, to)
    hold_picture(sections, force=force)
    does_nothing(context, "--tube D x WALL", tube, "metal")
    does_nothing(context, "--fender ITEM", fender != "none", "pitch")
    if tube is not None and typed(context, "batten"):
        raise TapeloftError("--batten and --tube: a rail is the one or the other\n    mend: leave one of them out")
    hold_names([*filter(None, (still, sections))], force=force)
    one = asked_survey(survey, compartment, given, option)
    asked = Reading(
        side=side or "outboard", height=length_of("height", height, one.unit),
        batten=pair("batten", batten, "breadth x depth", "20x45"),
        tube=None if tube is None else pair("tube", tube, "diameter x wall", "25x2"), timber=timber, metal=metal,
        stand_off=size("stand-off", stand_off), gap=size("gap", gap), fender=fender,
        pitch=None if pitch is None else size("pitch", pitch), pull=weight("pull", pull), reach=size("reach", reach),
    ).asked(one)  # fmt: skip
    (whole,) = built([one])
    falls = lids_of(whole, opening)
    made = rail_in(whole, falls, asked)
    arm = reached(whole, lids_for(whole, falls, asked.arm), asked.arm)
    pieces, beam = [made.rail, *made.brackets], asked.section.beam
    lines = [listed(piece, asked.section.deep) for piece in pieces]
    title = f"{whole.name}: rail along the {made.side} side"
    off = worst(cuts_off_of(whole, [(made.level.plane, asked.section.deep, made.rail.outline)], asked.gap))
    place = f"middle {made.height * 1000:.0f} mm up, {asked.section.deep * 1000:g} mm deep"
    on_it = "this side: upper face", place
    templates = [template_of(piece, made.level.plane, on_piece(piece, one, whole.name, on_it)) for piece in pieces]
    in_place = [("rail", made.rail.solid), *(("bracket", piece.solid) for piece in made.brackets)]
    in_place += [(fender, hung.body) for hung in made.hung]
    hangs = fender if asked.fender else ""
    part = Part(
        "rail", whole, pieces=lambda: [(piece.letter, piece.solid) for piece in pieces],
        answer={
            "side": made.side, "height_m": made.height, "line_m": made.line, "length_m": made.length_m,
            "stand_off_m": asked.stand_off, "timber": asked.timber,
            "metal": beam.metal if isinstance(beam, Tube) else None,
            "pull_kg": made.load.point_kg, "hung_kg_m": made.load.even_kg_m2, "safety": made.load.safety,
            "across_m": asked.section.across, "deep_m": asked.section.deep,
            "reach_m": asked.arm.reach, "openings": [fall.name for fall in falls],
            "in_reach": {"least": arm.least, "most": arm.most}, "span_m": made.span_m, "overhang_m": made.overhang_m,
            "spacing_m": made.spacing_m, "brackets": len(made.brackets), "fender": hangs or None,
            "pitch_m": made.pitch_m, "under_lid": made.under_lid,
            "hooks": [{"place_m": hung.hook, "leans_deg": hung.leans_deg} for hung in made.hung],
            "plus_minus": off, "survey": digest(one), "pieces": lines, "outside_m3": made.outside_m3,
        },
        tables=[
            *_tables(made, arm, one, title, hangs, units), cut_list("to cut", lines, units), edge_list(lines, units),
        ],
        cautions=(
            REACH.format(reach=asked.arm.reach * 1000), _loads(asked, made),
            *((GAS_ALONE,) if one.space.use == "gas" else ()),
            *cut_cautions(one, Gaps(asked.gap, asked.gap, asked.gap), off), *cautions_for(one),
        ),
        on_paper=OnPaper(title, lines, templates), remarks=made.notes, in_place=in_place,
        ways=ways_in(lines[:1], [made.rail.letter], made.level.plane),
        serves=goes_in(lines, len(one.openings)),
    )  # fmt: skip
    out = Out(to or (), still, as_json, units, force, paper, exploded)
    written = leave(part, out)
    if sections is not None:
        share = f"{arm.least * 100:.0f} % of the net volume within {asked.arm.reach * 1000:.0f} mm of the shoulder"
        draw_reached(
            whole, arm.solid, falls, made.rail.solid, made.height, sections, title=f"{title}: {share}", unit=units,
            force=force,
        )  # fmt: skip
        written.append(str(sections))
    tell(part, out, written)


def _loads(asked: "Asked", made: "Rail") -> str:
    from tapeloft.model.cutting.told import loads_told, metal_loads_told
    from tapeloft.model.cutting.tube import Tube

    beam = asked.section.beam
    if isinstance(beam, Tube):
        return metal_loads_told(beam.metal, made.load)
    return loads_told(asked.timber, made.load, "m")


def _tables(made: "Rail", arm: "Reached", one: "Survey", title: str, fender: str, units: str) -> list[Table]:
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
    if fender and len(made.hung) > 1:
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
