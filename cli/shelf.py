"""tapeloft shelf."""

import math
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from tapeloft.cli.cutting import Exploded, Gap, GapEnd, GapObstruction, PaperOption, Still, To
from tapeloft.cli.options import AsJson, Force, Given, OneName, Options, SurveyFile, UnitsOption

if TYPE_CHECKING:
    from tapeloft.cli.printing import Table
    from tapeloft.model.compartment import Compartment
    from tapeloft.model.cutting.room import Room
    from tapeloft.model.cutting.shelf import Shelf, Side
    from tapeloft.model.plusminus.cutagain import CutOff

NO_FIDDLE = (0.0, 0.0)


def shelf(
    survey: SurveyFile,
    compartment: OneName = None,
    height: Annotated[str, typer.Option(metavar="HEIGHT", help="of its upper face above the datum")] = "",
    side: Annotated[
        Literal["port", "starboard", "forward", "aft"] | None,
        typer.Option("--from", help="the side that it stands against; left out: the whole plan"),
    ] = None,
    depth: Annotated[
        str | None, typer.Option(metavar="LENGTH", help="from the farthest of that side to its straight open edge")
    ] = None,
    thickness: Annotated[str, typer.Option(metavar="LENGTH", help="mm unless a unit stands behind")] = "12",
    fiddle: Annotated[
        str, typer.Option(metavar="H x T", help='height and thickness of the strip on its open edge; "0": none')
    ] = "40x18",
    bearer: Annotated[str, typer.Option(metavar="B x D", help="breadth and depth, mm")] = "30x30",
    timber: Annotated[str, typer.Option(metavar="NAME", help="teak, dark red meranti, light red meranti")] = "teak",
    point: Annotated[str, typer.Option(metavar="MASS", help="load that may stand anywhere on it")] = "10 kg",
    even: Annotated[float, typer.Option(metavar="KG", help="load spread over it, kg/m²")] = 100.0,
    bend: Annotated[float, typer.Option(metavar="N", min=20, help="it bends no more than 1/N of its span")] = 200,
    gap: Gap = "3",
    gap_end: GapEnd = None,
    gap_obstruction: GapObstruction = None,
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
    """A shelf with a fiddle on bearers: pieces that go in, how it sags, room under and over it, templates."""
    from tapeloft.cli.asking import asked_survey, built
    from tapeloft.cli.basis import bases, say_bases
    from tapeloft.cli.cutting import (
        cleat_list,
        cut_list,
        drawn,
        edge_list,
        files_of,
        gaps_of,
        hold_still,
        leave,
        pair,
        size,
        weight,
    )  # fmt: skip
    from tapeloft.cli.printing import print_json, print_tables, say, say_notes
    from tapeloft.cli.spacing import length_of
    from tapeloft.model.cautions import cautions_for
    from tapeloft.model.cutting.beams import Load
    from tapeloft.model.cutting.board import Cut
    from tapeloft.model.cutting.cleats import cleats
    from tapeloft.model.cutting.room import room_under_and_over
    from tapeloft.model.cutting.shelf import Shelving, shelf_at
    from tapeloft.model.cutting.timber import timber_called
    from tapeloft.model.cutting.told import cut_cautions, digest, loads_told, shelf_listed, surveyed
    from tapeloft.model.errors import TapeloftError
    from tapeloft.model.files.writing import write_set
    from tapeloft.model.units import format_length
    from tapeloft.viewer.template.plan import plan_of
    from tapeloft.viewer.template.template import template_of, under_piece

    hold_still(still, force=force)
    one = asked_survey(survey, compartment, given, option)
    if not height:
        raise TapeloftError("say how high its upper face is with --height HEIGHT")
    if (side is None) != (depth is None):
        raise TapeloftError("a shelf along one side wants both: --from SIDE and --depth LENGTH")
    top = length_of("height", height, one.unit) or 0.0
    strip = pair("fiddle", fiddle, "height x thickness", "40x18") if side and fiddle.strip() != "0" else NO_FIDDLE
    against: Side = side or ""
    bar = pair("bearer", bearer, "breadth x depth", "30x30")
    asked = Shelving(
        top, against, size("depth", depth or "0"), size("thickness", thickness), strip, bar,
        timber_called(timber), Load(weight("point", point), even, bend),
    )  # fmt: skip
    cut = Cut(gaps_of(gap, gap_end, gap_obstruction))
    (whole,) = built([one])
    made = shelf_at(whole, asked, cut)
    under, over = room_under_and_over(whole, made)
    off = None if against else _off(whole, made, cut.gaps.widest)  # the edge of one along a side is where it is typed
    each_off = off.areas_sd_m2 if off else (None,) * len(made.board.pieces)
    lines, fixed = shelf_listed(made, asked, each_off), cleats(made.board.pieces)
    said = (loads_told(asked.timber, asked.load), *cut_cautions(one, cut.gaps, off), *cautions_for(one))
    mark, place = digest(one), f"upper face {format_length(top, one.unit)} up"
    title = f"{whole.name}: shelf, {place}"
    plane, bars = made.board.plane, [bar.outline for bar in made.bearers]
    on_it = (f"this side: {plane.face}", f"{place}, {asked.thickness * 1000:g} mm thick", surveyed(one))
    templates = [
        under_piece(template_of(piece, plane, (f"{piece.letter}   {whole.name}", *on_it)), piece, bars)
        for piece in made.board.pieces
    ]
    outlines = [(piece.letter, piece.outline) for piece in made.board.pieces]
    strips = [("bearer", outline) for outline in bars] + [("fiddle", bar.outline) for bar in made.fiddles]
    plan = plan_of(outlines, strips, plane, made.stretch)
    solids = [(f"shelf {piece.letter}", piece.solid) for piece in made.board.pieces]
    solids += [(f"shelf {bar.name}", bar.solid) for bar in (*made.fiddles, *made.bearers)]
    remarks = (*filter(None, [whole.basis]), *made.notes, *said)
    files = files_of(to or (), templates, lines, solids, paper, title, remarks, plan=plan)
    write_set(files, force=force)
    if still is not None:
        drawn(whole, solids, still, units, exploded=exploded, force=force)
    written = [*map(str, files), *([str(still)] if still else [])]
    boards = lines[: len(made.board.pieces)]
    if as_json:
        print_json(
            "shelf", compartment=whole.name, height_m=top, side=against, depth_m=asked.depth,
            thickness_m=asked.thickness, fiddle_m=asked.fiddle, bearer_m=asked.bearer, timber=asked.timber,
            load=asked.load, span_m=made.span_m, spacing_m=made.spacing_m, sag_m=made.sag_m, block_m=made.block_m,
            mass_kg=made.mass_kg, plus_minus=off, outside_m3=made.outside_m3, under=under, over=over, survey=mark,
            pieces=lines, cleats=fixed, files=written, remarks=made.notes, basis=bases([whole]), notes=whole.notes,
            cautions=said,
        )  # fmt: skip
        leave(boards, len(one.openings), math.inf)
        return
    tables = [_figures(whole, made, under, over, units), cut_list(title, lines, units), edge_list(lines)]
    print_tables([*tables, cleat_list(fixed, units)])
    for remark in made.notes:
        say(f"note: {remark}")
    say_bases([whole])
    say_notes(whole.notes, said)
    for file in written:
        say(f"wrote {file}")
    leave(boards, len(one.openings), math.inf)


def _off(whole: "Compartment", made: "Shelf", gap: float) -> "CutOff | None":
    from tapeloft.cli.chances import cut_off_of

    board = made.board
    pieces = [piece.outline for piece in board.pieces]
    return cut_off_of(whole, board.plane, board.thickness, board.clear, pieces, gap)


def _figures(whole: "Compartment", made: "Shelf", under: "Room", over: "Room", units: str) -> "Table":
    from tapeloft.cli.printing import Table
    from tapeloft.model.units import figure, figure_down

    rows = [
        ("the board may span between bearers", figure_down(made.span_m, units), units),
        ("bearers are apart, at most", figure(made.spacing_m, units), units),
        ("it sags there, loaded, at most", f"{made.sag_m * 1000:.2f}", "mm"),
        ("a bearer is held up at least every", figure_down(made.block_m, units), units),
        ("mass, dry, all of it", f"{made.mass_kg:.2f}", "kg"),
        ("clear height under it, where highest", figure_down(under.clear_m, units), units),
        ("room under it", f"{under.volume_m3 * 1000:.1f}", "litres"),
        ("clear height over it, where highest", figure_down(over.clear_m, units), units),
        ("room over it", f"{over.volume_m3 * 1000:.1f}", "litres"),
    ]
    return Table(whole.name, ("shelf", "", ""), rows, words=(2,))
