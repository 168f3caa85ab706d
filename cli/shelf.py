"""tapeloft shelf."""

from typing import TYPE_CHECKING, Annotated

import typer

from tapeloft.cli.asking import asked_survey, built
from tapeloft.cli.chances import cut_off_of
from tapeloft.cli.cutlist import cleat_list, cut_list, edge_list, ways_in
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
    Side,
    Still,
    SurveyFile,
    Thickness,
    TimberName,
    To,
    does_nothing,
)
from tapeloft.cli.part import Out, Part, goes_in, hold_paper, hold_picture, leave, tell
from tapeloft.cli.partfiles import OnPaper
from tapeloft.cli.printing import Table
from tapeloft.cli.sizes import gaps_of, heaviest, pair, size, weight
from tapeloft.cli.spacing import length_of

if TYPE_CHECKING:
    from tapeloft.model.compartment import Compartment
    from tapeloft.model.cutting.room import Room
    from tapeloft.model.cutting.shelf import Shelf, Shelving
    from tapeloft.model.plusminus.cutagain import CutOff

NO_FIDDLE = (0.0, 0.0)


def shelf(
    context: typer.Context,
    survey: SurveyFile,
    compartment: OneName = None,
    height: Annotated[str, typer.Option(metavar="HEIGHT", help="of its upper face above the datum")] = "",
    side: Annotated[
        Side | None,
        typer.Option("--from", help="the side that it stands against; left out: the whole plan"),
    ] = None,
    depth: Annotated[
        str | None, typer.Option(metavar="LENGTH", help="from the farthest of that side to its straight open edge")
    ] = None,
    thickness: Thickness = "12",
    fiddle: Annotated[
        str, typer.Option(metavar="H x T", help='height and thickness of the strip on its open edge; "0": none')
    ] = "40x18",
    bearer: Bearer = "30x30",
    timber: TimberName = "teak",
    of: Annotated[
        str | None,
        typer.Option(metavar="NAME", help="its board: plywood, cross-grain plywood, FRP; left out: of the timber"),
    ] = None,
    modulus: Annotated[
        float | None, typer.Option(metavar="GPA", help="that sheet's modulus of elasticity, as its maker states it")
    ] = None,
    strength: Annotated[float | None, typer.Option(metavar="MPA", help="and its modulus of rupture")] = None,
    density: Annotated[float | None, typer.Option(metavar="KG", help="and its density, kg/m³")] = None,
    point: Annotated[str, typer.Option(metavar="MASS", help="load that may stand anywhere on it")] = "10 kg",
    even: Even = 100.0,
    bend: Annotated[float, typer.Option(metavar="N", min=20, help="it bends no more than 1/N of its span")] = 200,
    gap: Gap = "3",
    gap_end: GapEnd = None,
    gap_obstruction: GapObstruction = None,
    mass: Mass = None,
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
    """A shelf with a fiddle on bearers: pieces that go in, how it sags, room under and over it, templates."""
    from tapeloft.model.cautions import cautions_for
    from tapeloft.model.cutting.board import Cut
    from tapeloft.model.cutting.cleats import held_in
    from tapeloft.model.cutting.room import room_under_and_over
    from tapeloft.model.cutting.sheetstock import source_of
    from tapeloft.model.cutting.shelf import shelf_at
    from tapeloft.model.cutting.told import (
        cut_cautions,
        digest,
        loads_told,
        on_piece,
        sheet_loads_told,
        shelf_listed,
    )  # fmt: skip
    from tapeloft.model.errors import TapeloftError
    from tapeloft.model.parts.shelf import Shelf as Reading
    from tapeloft.model.units import format_length
    from tapeloft.viewer.template.plan import plan_of
    from tapeloft.viewer.template.template import Lying, template_of

    hold_picture(still, force=force, exploded=exploded)
    hold_paper(paper, to)
    shown = units or "mm"
    one = asked_survey(survey, compartment, given, option)
    if not height:
        raise TapeloftError("say how high its upper face is with --height HEIGHT")
    if (side is None) != (depth is None):
        raise TapeloftError("a shelf along one side wants both: --from SIDE and --depth LENGTH")
    does_nothing(context, "--from SIDE and --depth LENGTH", side or fiddle.strip() == "0", "fiddle")
    top = length_of("height", height, one.unit) or 0.0
    strip = pair("fiddle", fiddle, "height x thickness", "40x18") if side and fiddle.strip() != "0" else NO_FIDDLE
    bar = pair("bearer", bearer, "breadth x depth", "30x30")
    asked = Reading(
        height=top, side=side or "", depth=size("depth", depth or "0"), thickness=size("thickness", thickness),
        fiddle=strip, bearer=bar, timber=timber, of=of or "", modulus=modulus, strength=strength,
        density=density, point=weight("point", point), even=even, bend=bend,
    ).shelving  # fmt: skip
    cut = Cut(gaps_of(gap, gap_end, gap_obstruction), heaviest=heaviest(mass))
    (whole,) = built([one])
    made = shelf_at(whole, asked, cut)
    boards, bars = made.board.pieces, (*made.fiddles, *made.bearers)
    under, over = room_under_and_over(whole, made)
    off = _off(whole, made, cut.gaps.widest, asked)
    each_off = off.areas_sd_m2 if off else (None,) * len(boards)
    lines, fixed = shelf_listed(made, asked, each_off), held_in(one, boards)
    long = lines[: len(boards) + len(made.fiddles)]
    of_sheet = asked.sheet and sheet_loads_told(asked.sheet, asked.load, source_of(modulus, strength))
    place = f"upper face {format_length(top, one.unit)} up"
    title = f"{whole.name}: shelf, {place}"
    plane, under_it = made.board.plane, [bar.outline for bar in made.bearers]
    on_it = f"this side: {plane.face}", f"{place}, {asked.thickness * 1000:g} mm {_laid(asked.stock.name, made)}"
    lying = [Lying(outline) for outline in under_it]
    templates = [template_of(piece, plane, on_piece(piece, one, whole.name, on_it), lying) for piece in boards]
    named = [*(("bearer", outline) for outline in under_it), *(("fiddle", bar.outline) for bar in made.fiddles)]
    plan = plan_of([(piece.letter, piece.outline) for piece in boards], named, plane, made.stretch, units or one.unit)
    solids = [(piece.letter, piece.solid) for piece in boards] + [(bar.name, bar.solid) for bar in bars]
    part = Part(
        "shelf", whole, pieces=lambda: [(f"shelf {name}", solid) for name, solid in solids],
        answer={
            "height_m": top, "side": asked.side, "depth_m": asked.depth, "thickness_m": asked.thickness,
            "fiddle_m": asked.fiddle, "bearer_m": asked.bearer, "timber": asked.timber, "sheet": asked.sheet,
            "plus_minus": off, "load": asked.load,
            "span_m": made.span_m, "spacing_m": made.spacing_m, "sag_m": made.sag_m, "block_m": made.block_m,
            "mass_kg": made.mass_kg, "outside_m3": made.outside_m3, "under": under, "over": over,
            "survey": digest(one), "pieces": lines, "cleats": fixed,
        },
        tables=[
            _figures(whole, made, under, over, shown), cut_list(title, lines, shown), edge_list(lines, shown),
            cleat_list(fixed, shown),
        ],
        cautions=(
            of_sheet or loads_told(asked.timber, asked.load), *cut_cautions(one, cut.gaps, off), *cautions_for(one),
        ),
        on_paper=OnPaper(title, lines, templates, plan=plan), remarks=made.notes,
        ways=ways_in(long, [line.piece for line in long], plane),
        serves=goes_in(lines[: len(boards)], len(one.openings), cut.heaviest),
    )  # fmt: skip
    out = Out(to or (), still, as_json, shown, force, paper, exploded)
    tell(part, out, leave(part, out))


def _laid(name: str, made: "Shelf") -> str:
    """Return what the board is of, and which way the grain runs of a sheet whose strength hangs on that."""
    along, across = ("fore and aft", "athwartships")[:: 1 if made.stretch == 0 else -1]
    grain = {"plywood": along, "cross-grain plywood": across}.get(name)
    return f"plywood, face grain {grain}" if grain else name


def _off(whole: "Compartment", made: "Shelf", gap: float, asked: "Shelving") -> "CutOff | None":
    """Return how far its pieces may be off; the open edge of one along a side goes with that."""
    from tapeloft.model.cutting.outline import clear_outline
    from tapeloft.model.cutting.shelf import TOWARD
    from tapeloft.model.plusminus.cutagain import OpenEdge

    board, edge = made.board, OpenEdge(*TOWARD[asked.side]) if asked.side else None
    pieces = [piece.outline for piece in board.pieces]
    clear = clear_outline(whole.inside, board.plane, board.thickness)  # of the board's own, the open edge is an end
    return cut_off_of(whole, board.plane, board.thickness, clear, pieces, gap, edge)


def _figures(whole: "Compartment", made: "Shelf", under: "Room", over: "Room", units: str) -> "Table":
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
