"""tapeloft crate."""

import time
from dataclasses import replace
from typing import TYPE_CHECKING, Annotated

import typer

from tapeloft.cli.asking import asked_survey, built
from tapeloft.cli.cratelist import crates_told, made_listed, made_told, modules_listed, order_listed, undecided
from tapeloft.cli.cutlist import cut_list
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
    To,
    UnitsOption,
    duration,
)
from tapeloft.cli.part import Out, Part, hold_paper, hold_picture, leave, tell
from tapeloft.cli.partfiles import OnPaper
from tapeloft.cli.progress import each, waiting
from tapeloft.cli.searching import warmed, warmed_to_pack
from tapeloft.cli.sizes import size
from tapeloft.cli.spacing import length_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tapeloft.model.compartment import Compartment
    from tapeloft.model.crating.made import Board
    from tapeloft.model.crating.stood import Stood
    from tapeloft.model.gear.forms import Block
    from tapeloft.model.gear.gear import Gear
    from tapeloft.model.solid import Solid

MODULES = ("euro container", "carton")  # as the catalogue calls standard sizes
AHEAD = 3  # of those still to come each has its share of the time, for as a rule none takes it
LIFTED = (
    "A crate comes out where it is slid or lifted over what stands there, turned on the level, tipped about an edge by "
    "15° to 90° or laid over on another side, and drawn straight out, those before it gone; others are undecided, not "
    "refused. Hands, slings, how a lid stands open, what a full crate weighs and whether it may be tipped "
    "are not looked at."
)


def crate(
    survey: SurveyFile,
    compartment: OneName = None,
    item: Annotated[
        list[str] | None,
        typer.Option("--item", metavar="ITEM", help='"box 600x400x280" or a name, again for more; left out: modules'),
    ] = None,
    opening: Annotated[
        str | None, typer.Option(metavar="NAME", help="out through this lid; left out: through any in the top")
    ] = None,
    on: Annotated[
        str, typer.Option(metavar="WHAT", help='standing on the "sole", the "grate", or a shelf at a height')
    ] = "sole",
    clearance: Annotated[str, typer.Option(metavar="LENGTH", help="round each; mm unless a unit stands behind")] = "5",
    wall: Annotated[str, typer.Option(metavar="LENGTH", help="of the crate made to measure")] = "9",
    height: Annotated[
        str | None, typer.Option(metavar="LENGTH", help="of the crate made to measure; left out: up to the lid")
    ] = None,
    within: Annotated[float, typer.Option(metavar="TIME", parser=duration, help="stop after about so long")] = 45.0,
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
    """Crates: which modules stand side by side and go out through the lid; the largest made to measure, its boards.

    The picture shows the crates of the one --item asked for, else the one made to measure; --exploded its boards.
    Status 1 where nothing goes out.
    """
    from tapeloft.model.cautions import GAS_ALONE, cautions_for
    from tapeloft.model.crating.ground import floors_of
    from tapeloft.model.crating.made import made_to_measure
    from tapeloft.model.crating.stood import stood
    from tapeloft.model.cutting.board import PLYWOOD
    from tapeloft.model.cutting.told import digest, listed, surveyed
    from tapeloft.model.fall import lids_of
    from tapeloft.model.openings import clear_openings
    from tapeloft.viewer.template.template import template_of

    hold_picture(still, force=force, exploded=exploded)
    hold_paper(paper, to)
    one = asked_survey(survey, compartment, given, option)
    asked, kept, thick = _items(item), size("clearance", clearance), size("wall", wall)
    high = None if height is None else size("height", height)
    (whole,) = built([one])
    falls = lids_of(whole, opening)
    floors = floors_of(whole, _heights(whole, on))
    warmed_to_pack()
    warmed(turned=True)
    until = time.perf_counter() + within
    with waiting("looking for the largest crate"):
        made = made_to_measure(floors, falls, clear_openings(whole), thick, kept, high, within / 4)
    found = []
    for number, (gear, form) in enumerate(each(asked, "standing crates side by side")):
        share = max(until - time.perf_counter(), 0.0) / min(len(asked) - number, AHEAD)
        found.append((gear, stood(whole.inside, floors, falls, form, kept, share)))
    boards = made.boards if made else ()
    lines = [listed(board.piece, thick) for board in boards]
    title = f"{whole.name}: crate made to measure"
    templates = [
        template_of(replace(some[0].piece, letter=name), some[0].plane, (
            f"{name}   {whole.name}", f"this side: {some[0].plane.face}",
            f"crate made to measure, {thick * 1000:g} mm thick", surveyed(one),
        ))
        for name, some in _alike(boards)
    ]  # fmt: skip
    solids = [(board.piece.letter, board.piece.solid) for board in boards]
    shown = _shown(found, solids, item)
    picture = still if (solids if exploded else shown) else None
    cautions = (*((GAS_ALONE,) if one.space.use == "gas" else ()), LIFTED, *cautions_for(one))
    part = Part(
        "crate", whole, pieces=lambda: solids,
        answer={
            "openings": [fall.name for fall in falls], "floors_m": [floor.height for floor in floors],
            "clearance_m": kept, "modules": [crates_told(*one) for one in found],
            "made": None if made is None else made_told(made, thick), "survey": digest(one), "pieces": lines,
        },
        tables=[
            modules_listed(found, f"{whole.name}: crates side by side, one layer"),
            *([order_listed(found[0][1], units)] if item and len(found) == 1 and found[0][1].most_out else []),
            *([made_listed(made, title, thick, units), cut_list(TO_CUT.format(PLYWOOD), lines, units)] if made else []),
        ],
        cautions=cautions,
        on_paper=OnPaper(title, lines, templates),
        remarks=(
            *(undecided(*one) for one in found if len(one[1].crates) > one[1].out),
            *(() if made else (f"{NONE}: no file is written of it" if to else NONE,)),
            *((UNDRAWN,) if still and not picture else ()),
        ),
        in_place=shown,
        serves=made is not None or any(stood.most_out or stood.straight_least for _, stood in found),
    )  # fmt: skip
    out = Out(to if to and lines else (), picture, as_json, units, force, paper, exploded)
    tell(part, out, leave(part, out))


def _alike(boards: "Sequence[Board]") -> "list[tuple[str, list[Board]]]":
    """Return the boards that are cut alike together, with what they are called."""
    groups: list[list[Board]] = []
    for board in boards:
        own = next((some for some in groups if _is_like(some[0], board)), None)
        if own is None:
            groups.append([board])
        else:
            own.append(board)
    return [(" and ".join(board.piece.letter for board in some), some) for some in groups]


def _is_like(one: "Board", other: "Board") -> bool:
    same = one.plane.face == other.plane.face and one.plane.ways == other.plane.ways
    return same and bool(one.piece.outline.normalize().equals_exact(other.piece.outline.normalize(), 1e-6))


TO_CUT = "to cut, plywood of {:.0f} kg/m³"
NONE = "no crate made to measure stands under a lid and goes straight up through it"
UNDRAWN = "there is no crate to show: no picture is drawn"


def _items(items: list[str] | None) -> "list[tuple[Gear, Block]]":
    """Return the crates asked for, or the modules of the catalogue, each with its form."""
    from tapeloft.model.errors import TapeloftError
    from tapeloft.model.gear.asked import gear_asked
    from tapeloft.model.gear.catalogue import catalogue
    from tapeloft.model.gear.forms import Block

    if items:
        asked = [gear_asked(text) for text in items]
    else:
        asked = [gear for gear in catalogue() if gear.name.startswith(MODULES)]
    found = []
    for gear in asked:
        if not isinstance(gear.form, Block):
            raise TapeloftError(f'--item {gear.name}: a crate is a box: write its sizes, as "box 600x400x280"')
        found.append((gear, gear.form))
    return found


def _heights(whole: "Compartment", on: str) -> list[float] | None:
    from tapeloft.model.errors import TapeloftError
    from tapeloft.model.platforms import platforms_of

    if on == "sole":
        return None
    if on == "grate":
        built_in = [one.height for one in platforms_of(whole)]
        if built_in:
            return built_in
        if whole.survey.grate is None:
            raise TapeloftError(f"{whole.name} has no grate: give its height under [grate], or name one with --on")
        return [whole.survey.grate.height]
    return [length_of("on", on, whole.survey.unit) or 0.0]


def _shown(
    found: "list[tuple[Gear, Stood]]", solids: "list[tuple[str, Solid]]", item: list[str] | None
) -> "list[tuple[str, Solid]]":
    """Return what a picture shows, called as its key has it: crates of the one size asked for, in the order told."""
    if not item or len(item) > 1:
        return solids
    ((gear, stood),) = found
    crates = stood.freed or stood.crates
    goes = f"{gear.name}, numbered as they come out" if stood.most_out > 1 else f"{gear.name}, comes out"
    return [(goes if one.way else f"{gear.name}, undecided", one.solid) for one in crates]
