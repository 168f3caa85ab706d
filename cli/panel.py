"""tapeloft panel."""

from functools import partial
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
    PlanUnits,
    Still,
    SurveyFile,
    Thickness,
    To,
    does_nothing,
)
from tapeloft.cli.part import Out, Part, goes_in, hold_paper, hold_picture, leave, tell
from tapeloft.cli.partfiles import OnPaper
from tapeloft.cli.plusminus import square_beside
from tapeloft.cli.printing import Table
from tapeloft.cli.sheets import SHEETS, Grain, Kerf, SheetOption, hold_saw, nest_json, nest_of, nest_table
from tapeloft.cli.sizes import gaps_of, heaviest, pair, size
from tapeloft.cli.spacing import length_of
from tapeloft.cli.straps import (
    CleatOption,
    StrapFace,
    StrapOption,
    behind,
    joint_list,
    left_out,
    lying_on,
    of_one_sheet,
    plan_with,
    said_on,
    strapping_of,
)

if TYPE_CHECKING:
    from tapeloft.model.compartment import Compartment
    from tapeloft.model.cutting.board import Board
    from tapeloft.model.cutting.plane import Plane
    from tapeloft.model.cutting.straps import Straps
    from tapeloft.model.plusminus.cutagain import CutOff
    from tapeloft.model.survey.survey import Survey
    from tapeloft.viewer.template.template import Template

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
    strap: StrapOption = "60x12",
    strap_face: StrapFace = None,
    cleat: CleatOption = "25",
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
    units: PlanUnits = None,
    force: Force = False,
) -> None:
    """A partition or a shelf cut to the space: pieces that go in, straps behind joints, bevels, templates."""
    from tapeloft.cli.chances import cut_off_of
    from tapeloft.model.cautions import cautions_for
    from tapeloft.model.cutting.board import Cut, board_at
    from tapeloft.model.cutting.cleats import held_in
    from tapeloft.model.cutting.slots import Holes, pierced
    from tapeloft.model.cutting.straps import strapped
    from tapeloft.model.cutting.told import cut_cautions, digest, listed
    from tapeloft.model.spaces import swept
    from tapeloft.viewer.template.template import template_of_sheet

    hold_picture(still, force=force, exploded=exploded)
    hold_paper(paper, to)
    hold_saw(kerf, grain, {SHEETS: sheet})
    does_nothing(context, "--hands N", hands, "hand", "hand_down")
    does_nothing(context, "--vent CM2", vent, "slot")
    does_nothing(context, "--hands N or --vent CM2", hands or vent, "hole_web")
    backing = strapping_of(strap, strap_face, cleat)
    does_nothing(context, "--strap B x T", backing.breadth, "strap_face")
    shown = units or "mm"
    one = asked_survey(survey, compartment, given, option)
    thick = size("thickness", thickness)
    plane, place = _plane(one, at, height, half_breadth, lean, thick)
    cut = Cut(gaps_of(gap, gap_end, gap_obstruction), size("cutter", cutter), size("web", web), heaviest=heaviest(mass))
    hole, long = (pair(name, text, "length x breadth", "120x20") for name, text in (("hand", hand), ("slot", slot)))
    asked = Holes(hands, hole, size("hand-down", hand_down), vent * 1e-4, long, size("hole-web", hole_web))
    (whole,) = built([one])
    clear_of = swept(whole, swing or ())
    found = pierced(board_at(whole, plane, thick, cut, density, clear_of=clear_of), asked)
    board, fixed = found.board, held_in(one, found.board.pieces)
    straps = strapped(whole, board, backing, cut, density, clear_of=clear_of)
    every, outlines = (*board.pieces, *straps.pieces), [piece.outline for piece in board.pieces]
    off = cut_off_of(whole, plane, thick, board.clear, outlines, cut.gaps.widest, behind=behind(straps))
    each_off = off.areas_sd_m2 if off else (None,) * len(outlines)
    lines = [listed(piece, thick, sd) for piece, sd in zip(board.pieces, each_off, strict=True)]
    lines += [listed(one, straps.thickness) for one in straps.pieces]
    title = f"{whole.name}: panel, {place}"
    templates = _templates(whole, board, straps, place)
    nest = nest_of([(piece.letter, piece.outline) for piece in of_one_sheet(board, straps)], sheet, kerf, grain)
    layouts = [template_of_sheet(one, k, templates) for k, one in enumerate(nest.sheets if nest else (), start=1)]
    ways = ways_in(lines, [line.piece for line in lines], plane)
    if found.slots:
        ways.append(f"note: {found.slots} slots leave {found.vent_m2 * 1e4:.0f} cm² open")
    part = Part(
        "panel", whole, pieces=lambda: [(f"panel {piece.letter}", piece.solid) for piece in every],
        answer={
            "place": place, "face": plane.face, "thickness_m": thick, "survey": digest(one), "pieces": lines,
            "mass_kg": sum(piece.mass_kg for piece in every),
            "sheets": nest_json(nest), "clear_m2": board.clear.area, "plus_minus": off,
            "slots": found.slots, "vent_m2": found.vent_m2, "hands": found.hands, "cleats": fixed,
            "joints": straps.joints, "strap_face": straps.face if straps.pieces else None,
            "outside_m3": board.outside_m3 + straps.outside_m3,
        },
        tables=[
            _figures(whole, board, straps, off), cut_list(title, lines, shown), *joint_list(straps.joints, shown),
            edge_list(lines, shown), cleat_list(fixed, shown), *([nest_table(nest, shown)] if nest else []),
        ],
        cautions=(*cut_cautions(one, cut.gaps, off), *cautions_for(one)),
        on_paper=OnPaper(title, lines, templates, layouts, plan_with(board, straps, units or one.unit)), ways=ways,
        remarks=(*board.notes, *straps.notes, *left_out(board, straps, bool(sheet))),
        serves=goes_in(lines, len(one.openings), cut.heaviest),
    )  # fmt: skip
    out = Out(to or (), still, as_json, shown, force, paper, exploded)
    tell(part, out, leave(part, out))


def _templates(whole: "Compartment", board: "Board", straps: "Straps", place: str) -> "list[Template]":
    """Return the templates of the pieces, with what lies behind them, and of the straps."""
    from tapeloft.model.cutting.told import on_piece
    from tapeloft.viewer.template.template import template_of

    plane, said = board.plane, partial(on_piece, survey=whole.survey, name=whole.name)
    on_it = f"this side: {plane.face}", f"{place}, {board.thickness * 1000:g} mm thick"
    return [
        *(template_of(one, plane, said(one, said=on_it), lying_on(one, straps)) for one in board.pieces),
        *(template_of(one, plane, said(one, said=said_on(one, straps, plane))) for one in straps.pieces),
    ]


def _figures(whole: "Compartment", board: "Board", straps: "Straps", off: "CutOff | None") -> Table:
    own, behind = (sum(piece.mass_kg for piece in some) for some in (board.pieces, straps.pieces))
    rows = [
        ("clear outline, without gaps", square_beside(board.clear.area, off.clear_sd_m2 if off else None), "m²"),
        ("mass, dry, all of it", f"{own + behind:.2f}", "kg"),
    ]
    if straps.pieces:
        rows.append(("of it, straps", f"{behind:.2f}", "kg"))
    return Table(whole.name, ("panel", "", ""), rows, words=(2,))


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
