"""tapeloft panel."""

from typing import TYPE_CHECKING, Annotated

import typer

from tapeloft.cli.asking import asked_survey, built
from tapeloft.cli.cutlist import cleat_list, cut_list, edge_list, ways_in
from tapeloft.cli.options import (
    AsJson,
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
    Still,
    SurveyFile,
    Thickness,
    To,
    UnitsOption,
    does_nothing,
)
from tapeloft.cli.part import Out, Part, goes_in, hold_paper, hold_picture, leave, tell
from tapeloft.cli.partfiles import OnPaper
from tapeloft.cli.sheets import SHEETS, Grain, Kerf, SheetOption, hold_saw, nest_json, nest_of, nest_table
from tapeloft.cli.sizes import gaps_of, heaviest, pair, size
from tapeloft.cli.spacing import length_of

if TYPE_CHECKING:
    from tapeloft.model.cutting.plane import Plane
    from tapeloft.model.survey.survey import Survey

PLACES = "say where it stands with one of --at STATION, --height HEIGHT, --half-breadth BREADTH"


def panel(
    context: typer.Context,
    survey: SurveyFile,
    compartment: OneName = None,
    at: Annotated[
        str | None, typer.Option("--at", metavar="STATION", help="its after face stands here, square to the keel")
    ] = None,
    height: Annotated[
        str | None, typer.Option("--height", metavar="HEIGHT", help="level instead: a shelf, its upper face here")
    ] = None,
    half_breadth: Annotated[
        str | None,
        typer.Option("--half-breadth", metavar="BREADTH", help='fore and aft instead: "p 330", its starboard face'),
    ] = None,
    lean: Annotated[
        float,
        typer.Option(min=-60, max=60, help="degrees that its top leans forward or to port, or a shelf rises forward"),
    ] = 0.0,
    thickness: Thickness = "12",
    gap: Gap = "3",
    gap_end: GapEnd = None,
    gap_obstruction: GapObstruction = None,
    cutter: Annotated[str, typer.Option(metavar="RADIUS", help="opens inside corners for it; 0: left sharp")] = "3",
    web: Annotated[str, typer.Option(metavar="LENGTH", help="nothing narrower is left standing")] = "20",
    mass: Mass = None,
    density: Annotated[float, typer.Option(metavar="KG", help="of the board, kg/m³, for what pieces weigh")] = 600.0,
    sheet: SheetOption = None,
    kerf: Kerf = None,
    grain: Grain = None,
    hands: Annotated[int, typer.Option(metavar="N", help="hand holes, evenly across")] = 0,
    hand: Annotated[str, typer.Option(metavar="L x B", help="length and breadth of a hand hole, mm")] = "100x35",
    hand_down: Annotated[
        str, typer.Option(metavar="LENGTH", help="from the upper edge to the middle of a hand hole")
    ] = "70",
    vent: Annotated[float, typer.Option(metavar="CM2", help="cut slots that add up to so many cm² at least")] = 0.0,
    slot: Annotated[str, typer.Option(metavar="L x B", help="length and breadth of a slot, mm")] = "120x20",
    hole_web: Annotated[
        str, typer.Option(metavar="LENGTH", help="left standing between holes, and between a hole and an edge")
    ] = "30",
    swing: Annotated[
        list[str] | None, typer.Option("--swing", metavar="NAME", help="keep clear of this lid swinging inward")
    ] = None,
    to: To = None,
    paper: PaperOption = None,
    still: Still = None,
    exploded: Exploded = False,
    as_json: AsJson = False,
    given: Given = None,
    option: Options = None,
    units: UnitsOption = "mm",
    force: Force = False,
) -> None:
    """A partition or a shelf cut to the space: pieces that go in, bevels, templates at true scale."""
    from tapeloft.cli.chances import cut_off_of
    from tapeloft.model.cautions import cautions_for
    from tapeloft.model.cutting.board import Cut, board_at
    from tapeloft.model.cutting.cleats import cleats
    from tapeloft.model.cutting.slots import Holes, pierced
    from tapeloft.model.cutting.told import cut_cautions, digest, listed, on_piece, structural
    from tapeloft.model.spaces import swept
    from tapeloft.viewer.template.template import template_of, template_of_sheet

    hold_picture(still, force=force, exploded=exploded)
    hold_paper(paper, to)
    hold_saw(kerf, grain, {SHEETS: sheet})
    does_nothing(context, "--hands N", hands, "hand", "hand_down")
    does_nothing(context, "--vent CM2", vent, "slot")
    does_nothing(context, "--hands N or --vent CM2", hands or vent, "hole_web")
    one = asked_survey(survey, compartment, given, option)
    thick = size("thickness", thickness)
    plane, place = _plane(one, at, height, half_breadth, lean, thick)
    cut = Cut(gaps_of(gap, gap_end, gap_obstruction), size("cutter", cutter), size("web", web), heaviest=heaviest(mass))
    hole, long = (pair(name, text, "length x breadth", "120x20") for name, text in (("hand", hand), ("slot", slot)))
    asked = Holes(hands, hole, size("hand-down", hand_down), vent * 1e-4, long, size("hole-web", hole_web))
    (whole,) = built([one])
    found = pierced(board_at(whole, plane, thick, cut, density, clear_of=swept(whole, swing or ())), asked)
    board, fixed = found.board, cleats(found.board.pieces, structural(one))
    outlines = [piece.outline for piece in board.pieces]
    off = cut_off_of(whole, plane, thick, board.clear, outlines, cut.gaps.widest)
    each_off = off.areas_sd_m2 if off else (None,) * len(outlines)
    lines = [listed(piece, thick, sd) for piece, sd in zip(board.pieces, each_off, strict=True)]
    title = f"{whole.name}: panel, {place}"
    on_it = f"this side: {plane.face}", f"{place}, {thick * 1000:g} mm thick"
    templates = [template_of(piece, plane, on_piece(piece, one, whole.name, on_it)) for piece in board.pieces]
    nest = nest_of([(piece.letter, piece.outline) for piece in board.pieces], sheet, kerf, grain)
    layouts = [template_of_sheet(one, k, templates) for k, one in enumerate(nest.sheets if nest else (), start=1)]
    ways = ways_in(lines, [line.piece for line in lines], plane)
    if found.slots:
        ways.append(f"note: {found.slots} slots leave {found.vent_m2 * 1e4:.0f} cm² open")
    part = Part(
        "panel", whole, pieces=lambda: [(f"panel {piece.letter}", piece.solid) for piece in board.pieces],
        answer={
            "place": place, "face": plane.face, "thickness_m": thick, "survey": digest(one), "pieces": lines,
            "sheets": nest_json(nest), "clear_m2": board.clear.area, "plus_minus": off, "slots": found.slots,
            "vent_m2": found.vent_m2, "hands": found.hands, "cleats": fixed, "outside_m3": board.outside_m3,
        },
        tables=[
            cut_list(title, lines, units), edge_list(lines, units), cleat_list(fixed, units),
            *([nest_table(nest, units)] if nest else []),
        ],
        cautions=(*cut_cautions(one, cut.gaps, off), *cautions_for(one)),
        on_paper=OnPaper(title, lines, templates, layouts), ways=ways, remarks=board.notes,
        serves=goes_in(lines, len(one.openings), cut.heaviest),
    )  # fmt: skip
    out = Out(to or (), still, as_json, units, force, paper, exploded)
    tell(part, out, leave(part, out))


def _plane(
    one: "Survey", at: str | None, height: str | None, half_breadth: str | None, lean: float, thick: float
) -> "tuple[Plane, str]":
    """Return the plane of the board's face that its thickness is counted from, and where it is, in words."""
    from tapeloft.model.cutting.plane import at_half_breadth, at_height, at_station
    from tapeloft.model.errors import TapeloftError
    from tapeloft.model.survey.told import way_of_tape
    from tapeloft.model.units import format_length

    if sum(text is not None for text in (at, height, half_breadth)) != 1:
        raise TapeloftError(PLACES)
    leaning = f", leaning {lean:g}°" if lean else ""
    if at is not None:
        x = length_of("at", at, one.unit) or 0.0
        told = f"after face at station {format_length(x, one.unit)}{leaning}"
        return at_station(way_of_tape(one) * x, lean), told
    if height is not None:
        z = length_of("height", height, one.unit) or 0.0
        return at_height(z, lean).shifted(-thick), f"upper face {format_length(z, one.unit)} up{leaning}"
    y = _breadth(one, half_breadth or "")
    side = "port" if y >= 0 else "starboard"
    told = f"starboard face {format_length(abs(y), one.unit)} to {side}{leaning}"
    return at_half_breadth(y, lean), told


def _breadth(one: "Survey", text: str) -> float:
    """Return y of a half-breadth, "p 330" or "s 330"; without a letter it is on the compartment's own side."""
    from tapeloft.model.errors import TapeloftError

    letter, rest = text[:1].lower(), text[1:].strip()
    own = -one.side if one.mirrored else one.side
    sign = {"p": 1.0, "s": -1.0}.get(letter, own)
    reading = length_of("half-breadth", rest if letter in ("p", "s") else text, one.unit) or 0.0
    if sign == 0 and reading != 0:
        raise TapeloftError(f'--half-breadth {text}: to which side? write "p {text}" or "s {text}"')
    return sign * reading
