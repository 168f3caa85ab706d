"""tapeloft step."""

import math
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from tapeloft.cli.cutting import Gap, GapEnd, GapObstruction, PaperOption, Still, To
from tapeloft.cli.options import AsJson, Force, Given, OneName, Options, SurveyFile, UnitsOption

if TYPE_CHECKING:
    from tapeloft.cli.printing import Table
    from tapeloft.model.climbing.steps import Steps
    from tapeloft.model.climbing.wanted import Wanted
    from tapeloft.model.survey.survey import Survey

SideName = Literal["port", "starboard", "forward", "aft"]


def step(
    survey: SurveyFile,
    compartment: OneName = None,
    opening: Annotated[
        str | None, typer.Option(metavar="NAME", help="up to this lid; left out: the largest in the top")
    ] = None,
    side: Annotated[SideName | None, typer.Option(help="of the opening that they stand on; left out: the best")] = None,
    floor: Annotated[
        str | None, typer.Option(metavar="HEIGHT", help="that one stands on first; left out: the grate, or the sole")
    ] = None,
    rise: Annotated[str, typer.Option(metavar="LEAST..MOST", help="what a rise may be, mm")] = "165..305",
    uneven: Annotated[str, typer.Option(metavar="LENGTH", help="by how much rises may differ")] = "9.5",
    width: Annotated[str, typer.Option(metavar="LEAST..MOST", help="of a tread, along the nosing")] = "250..460",
    depth: Annotated[str, typer.Option(metavar="LEAST..MOST", help="of a tread, behind the nosing")] = "101.6..250",
    thickness: Annotated[str, typer.Option(metavar="LENGTH", help="of a tread; mm unless a unit stands behind")] = "25",
    into: Annotated[str, typer.Option(metavar="LENGTH", help="nosings stand so far within the opening's fall")] = "0",
    going: Annotated[str, typer.Option(metavar="LENGTH", help="each lower nosing so much farther")] = "0",
    person: Annotated[str, typer.Option(metavar="B x D", help="who climbs, from above: breadth and depth")] = "580x330",
    timber: Annotated[str, typer.Option(metavar="NAME", help="teak, dark red meranti, light red meranti")] = "teak",
    load: Annotated[str, typer.Option(metavar="MASS", help="that stands on one tread")] = "120 kg",
    gap: Gap = "3",
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
    """Steps from the sole to the lid: equal rises, treads cut to the side, head room, templates at true scale.

    What stands there with a flat top is a step where it serves. Status 1 where no flight works: why, for each side.
    """
    from tapeloft.cli.asking import asked_survey, built
    from tapeloft.cli.basis import bases, say_bases
    from tapeloft.cli.chances import cuts_off_of
    from tapeloft.cli.cutting import (
        cut_list,
        drawn,
        edge_list,
        files_of,
        gaps_of,
        hold_still,
        leave,
        pair,
        size,
        span_of,
        weight,
    )
    from tapeloft.cli.printing import print_json, print_tables, say, say_notes
    from tapeloft.model.cautions import cautions_for
    from tapeloft.model.climbing.load import held_every, supports
    from tapeloft.model.climbing.person import Person
    from tapeloft.model.climbing.rises import Comfort
    from tapeloft.model.climbing.steps import steps_in
    from tapeloft.model.climbing.wanted import Wanted
    from tapeloft.model.cutting.board import Cut
    from tapeloft.model.cutting.timber import timber_called
    from tapeloft.model.cutting.told import cut_cautions, digest, listed, on_piece
    from tapeloft.model.fall import fall_called
    from tapeloft.model.files.writing import write_set
    from tapeloft.model.plusminus.cutagain import worst
    from tapeloft.viewer.template.template import template_of

    hold_still(still, force=force)
    one = asked_survey(survey, compartment, given, option)
    least, deep = span_of("width", width), span_of("depth", depth)
    stands = Person(*pair("person", person, "breadth x depth", "567x298"))
    wanted = Wanted(
        Comfort(*span_of("rise", rise), size("uneven", uneven)), (least[1], deep[1]), (least[0], deep[0]),
        size("thickness", thickness), size("into", into), size("going", going), stands,
    )  # fmt: skip
    cut = Cut(gaps_of(gap, gap_end, gap_obstruction))
    sawn, mass = timber_called(timber), weight("load", load)
    (whole,) = built([one])
    made = steps_in(whole, fall_called(whole, opening), wanted, cut, side, _floor(floor, one))
    every = held_every(wanted.least[1], wanted.thickness, sawn, mass)
    lines = [listed(piece, wanted.thickness) for piece in made.boards]
    treads = [(one.plane, wanted.thickness, one.piece.outline) for one in made.steps if one.piece is not None]
    off = worst(cuts_off_of(whole, treads, cut.gaps.widest)) if treads else None
    said = (*_cautions(one, mass, wanted), *(cut_cautions(one, cut.gaps, off) if lines else ()), *cautions_for(one))
    mark, title = digest(one), f"{whole.name}: steps to {made.fall.name}"
    boards = [one for one in made.steps if one.piece is not None]
    texts = [f"upper face {step.height * 1000:.0f} mm up, {wanted.thickness * 1000:g} mm thick" for step in boards]
    templates = [
        template_of(step.piece, step.plane, on_piece(step.piece, one, whole.name, ("this side: upper face", text)))
        for step, text in zip(boards, texts, strict=True)
        if step.piece is not None
    ]
    solids = [(step.name, step.piece.solid) for step in boards if step.piece is not None]
    held = [supports(line.length_m, every) for line in lines]
    remarks = (*filter(None, [whole.basis]), *made.notes, *said)
    files = files_of(to or (), templates, lines, solids, paper, title, remarks) if lines else {}
    write_set(files, force=force)
    if still is not None and lines:
        drawn(whole, solids, still, units, exploded=False, force=force)
    written = [*map(str, files), *([str(still)] if still and lines else [])]
    if (to or still) and not lines:
        say("note: there is no board: no file is written")
    if as_json:
        print_json(
            "step", compartment=whole.name, opening=made.fall.name, side=made.side, floor_m=made.sole, lip_m=made.lip,
            rises_m=made.rises, going_m=wanted.going, into_fall_m=made.into_m,
            person_m=(wanted.person.breadth, wanted.person.depth),
            steps=[
                {"height_m": step.height, "name": step.name, "depth_m": step.depth, "width_m": step.width,
                 "stand_m": step.stand, "turned_deg": step.turned, "below_lip_m": step.below_lip}
                for step in made.steps
            ],
            held_every_m=every, supports=held, load_kg=mass, timber=sawn, shortfalls=made.shortfalls, plus_minus=off,
            survey=mark,
            pieces=lines, outside_m3=made.outside_m3, files=written, remarks=made.notes, basis=bases([whole]),
            notes=whole.notes, cautions=said,
        )  # fmt: skip
    else:
        print_tables(_tables(made, wanted, title, units, every, held))
        print_tables([cut_list("to cut", lines, units), edge_list(lines)] if lines else [])
        for remark in made.notes:
            say(f"note: {remark}")
        say_bases([whole])
        say_notes(whole.notes, said)
        for file in written:
            say(f"wrote {file}")
    if made.shortfalls:
        raise typer.Exit(1)
    leave(lines, len(one.openings), math.inf)


def _floor(text: str | None, one: "Survey") -> float | None:
    from tapeloft.cli.spacing import length_of

    if text is not None:
        return length_of("floor", text, one.unit)
    return one.grate.height if one.grate else None


def _tables(made: "Steps", wanted: "Wanted", title: str, units: str, every: float, held: list[int]) -> "list[Table]":
    from tapeloft.cli.printing import Table
    from tapeloft.model.units import figure, figure_down

    if made.shortfalls:
        rows = [(one.side, one.what, _by(one.by_m, units)) for one in made.shortfalls]
        return [Table(f"{title}: none works", ("side", "what fails first", f"short by, {units}"), rows, words=(1,))]
    flight = [
        ("one stands at the height", figure(made.sole, units), units),
        ("the lip is at", figure(made.lip, units), units),
        ("rises, least", figure(made.rises[0], units), units),
        ("rises, most", figure(made.rises[1], units), units),
    ]
    if made.steps:
        flight.append(("nosings stand in the fall by", figure(made.into_m, units), units))
        flight.append(("a tread is held at least every", figure_down(every, units), units))
    counts = iter(held)
    each = [
        (
            step.name, figure(step.height, units), figure(step.width, units), figure(step.depth, units),
            str(next(counts)) if step.piece else "", figure(step.below_lip, units),
            f"turned {abs(step.turned)}°" if step.turned else "facing it",
        )
        for step in made.steps
    ]  # fmt: skip
    head = ("step", f"height, {units}", "wide", "deep", "supports", "lip over it", "upright, clear")
    side = f", on the {made.side} side of the fall" if made.side else ""
    tables = [Table(f"{title}{side}", ("flight", "", ""), flight, words=(2,))]
    return [*tables, Table("", head, each, words=(6,))] if each else tables


def _by(by: float | None, units: str) -> str:
    from tapeloft.model.units import figure

    return "" if by is None else figure(by, units)


def _cautions(one: "Survey", mass: float, wanted: "Wanted") -> tuple[str, ...]:
    from tapeloft.model.cautions import CLIMBING, GAS_ALONE

    loads = (
        f"Treads are taken as held at both ends, by the walls they meet or by cheeks, for {mass:g} kg standing still; "
        "what holds them, and a person who jumps, are for a builder to reckon."
    )
    person = f"{wanted.person.breadth * 1000:.0f} × {wanted.person.depth * 1000:.0f} mm"
    room = (
        f"Head room: over each step a person {person} from above stands upright and goes up through the opening, "
        "turned any way (the 95th percentiles of men in ANSUR II are 567 and 298); how one swings in and out is "
        "not looked at."
    )
    rises = (
        "Rises of 165 to 305 mm and treads 102 mm deep are those of ship stairs in 29 CFR 1910.25(e), from memory; a "
        "local standard that asks for more rules."
    )
    return (CLIMBING, room, rises, loads, *((GAS_ALONE,) if one.space.use == "gas" else ()))
