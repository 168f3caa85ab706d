"""tapeloft step."""

from typing import TYPE_CHECKING, Annotated

import typer

from tapeloft.cli.asking import asked_survey, built
from tapeloft.cli.chances import cuts_off_of
from tapeloft.cli.cutlist import cut_list, edge_list, ways_in
from tapeloft.cli.options import (
    AsJson,
    Exploded,
    Force,
    Gap,
    GapEnd,
    GapObstruction,
    Given,
    OneName,
    Options,
    PaperOption,
    Side,
    Still,
    SurveyFile,
    TimberName,
    To,
    UnitsOption,
)
from tapeloft.cli.part import Out, Part, goes_in, hold_paper, hold_picture, leave, tell
from tapeloft.cli.partfiles import OnPaper
from tapeloft.cli.printing import Table, say
from tapeloft.cli.progress import waiting
from tapeloft.cli.sizes import gaps_of, pair, size, span_of, weight
from tapeloft.cli.spacing import length_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tapeloft.model.climbing.cheeks import Cheek
    from tapeloft.model.climbing.steps import Step, Steps
    from tapeloft.model.climbing.wanted import Wanted
    from tapeloft.model.compartment import Compartment
    from tapeloft.model.cutting.board import Piece
    from tapeloft.model.cutting.plane import Plane
    from tapeloft.model.cutting.told import Line
    from tapeloft.model.survey.survey import Survey
    from tapeloft.viewer.template.template import Template


def step(
    survey: SurveyFile,
    compartment: OneName = None,
    opening: Annotated[
        str | None, typer.Option(metavar="NAME", help="up to this lid; left out: the largest in the top")
    ] = None,
    side: Annotated[Side | None, typer.Option(help="of the opening that they stand on; left out: the best")] = None,
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
    cheeks: Annotated[
        str | None, typer.Option(metavar="LENGTH", help="boards so thick that hold the treads' ends; left out: none")
    ] = None,
    person: Annotated[str, typer.Option(metavar="B x D", help="who climbs, from above: breadth and depth")] = "580x330",
    timber: TimberName = "teak",
    load: Annotated[str, typer.Option(metavar="MASS", help="that stands on one tread")] = "120 kg",
    gap: Gap = "3",
    gap_end: GapEnd = None,
    gap_obstruction: GapObstruction = None,
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
    """Steps from the sole to the lid: equal rises, treads cut to the side, head room, templates at true scale.

    What stands there with a flat top is a step where it serves. Status 1 where no flight works: why, for each side.
    """
    from tapeloft.model.cautions import cautions_for
    from tapeloft.model.climbing.load import held_every, supports
    from tapeloft.model.climbing.steps import steps_in
    from tapeloft.model.cutting.board import Cut
    from tapeloft.model.cutting.told import cut_cautions, digest, listed, on_piece
    from tapeloft.model.fall import fall_called
    from tapeloft.model.parts.step import Step
    from tapeloft.model.plusminus.cutagain import worst
    from tapeloft.viewer.template.template import template_of

    hold_picture(still, force=force, exploded=exploded)
    hold_paper(paper, to)
    one = asked_survey(survey, compartment, given, option)
    mass = weight("load", load)
    wanted = Step(
        rise=span_of("rise", rise), uneven=size("uneven", uneven), width=span_of("width", width),
        depth=span_of("depth", depth), thickness=size("thickness", thickness), into=size("into", into),
        going=size("going", going), person=pair("person", person, "breadth x depth", "567x298"),
        cheeks=None if cheeks is None else size("cheeks", cheeks), timber=timber, load=mass,
    ).wanted  # fmt: skip
    cut = Cut(gaps_of(gap, gap_end, gap_obstruction))
    (whole,) = built([one])
    with waiting("looking for steps"):
        made = steps_in(whole, fall_called(whole, opening), wanted, cut, side, _floor(floor, one))
    every = held_every(wanted.least[1], wanted.thickness, wanted.timber, mass)
    boards = [(step, step.piece) for step in made.steps if step.piece is not None]
    upright = [(cheek, piece) for cheek in made.cheeks for piece in cheek.pieces]
    cuts = [(step.plane, wanted.thickness, piece) for step, piece in boards]
    cuts += [(cheek.plane, cheek.thickness, piece) for cheek, piece in upright]
    each_off = cuts_off_of(whole, [(*at, piece.outline) for *at, piece in cuts], cut.gaps.widest) if cuts else ()
    off = worst(each_off)
    lines = [
        listed(piece, thick, known.area_sd_m2 if known else None)
        for (_, thick, piece), known in zip(cuts, each_off, strict=True)
    ]
    texts = [f"upper face {step.height * 1000:.0f} mm up, {wanted.thickness * 1000:g} mm thick" for step, _ in boards]
    templates = [
        template_of(piece, step.plane, on_piece(piece, one, whole.name, ("this side: upper face", text)))
        for (step, piece), text in zip(boards, texts, strict=True)
    ]
    templates += [_marked(cheek, piece, one, whole.name) for cheek, piece in upright]
    held, title = [supports(_long(piece, made.side), every) for _, piece in boards], _title(whole, made)
    part = Part(
        "step", whole, pieces=lambda: [
            *((step.name, piece.solid) for step, piece in boards),
            *((piece.letter, piece.solid) for _, piece in upright),
        ],
        answer={
            "opening": made.fall.name, "side": made.side, "floor_m": made.sole, "lip_m": made.lip,
            "rises_m": made.rises, "going_m": wanted.going, "into_fall_m": made.into_m,
            "person_m": (wanted.person.breadth, wanted.person.depth),
            "steps": [
                {"height_m": step.height, "name": step.name, "depth_m": step.depth, "width_m": step.width,
                 "stand_m": step.stand, "turned_deg": step.turned, "below_lip_m": step.below_lip}
                for step in made.steps
            ],
            "cheeks": [_told(cheek) for cheek in made.cheeks],
            "held_every_m": every, "supports": held, "load_kg": mass, "timber": wanted.timber,
            "shortfalls": made.shortfalls, "plus_minus": off,
            "survey": digest(one), "pieces": lines, "outside_m3": made.outside_m3,
        },
        tables=[
            *_tables(made, wanted, title, units, every, held),
            *([cut_list("to cut", lines, units), edge_list(lines, units)] if lines else []),
        ],
        cautions=(
            *_cautions(one, mass, wanted), *(cut_cautions(one, cut.gaps, off) if lines else ()), *cautions_for(one),
        ),
        on_paper=OnPaper(title, lines, templates), remarks=(*made.notes, *_between(boards, held), *made.asides),
        ways=_ways(lines, [plane for plane, _, _ in cuts]),
        serves=not made.shortfalls and goes_in(lines, len(one.openings)),
    )  # fmt: skip
    if (to or still) and not lines:
        say("note: there is no board: no file is written")
    out = Out(to if to and lines else (), still if lines else None, as_json, units, force, paper, exploded)
    tell(part, out, leave(part, out))


def _title(whole: "Compartment", made: "Steps") -> str:
    return f"{whole.name}: steps to {made.fall.name}"


def _long(piece: "Piece", side: str) -> float:
    """Return how long a tread is along its nosing, m: fore and aft on the port and starboard sides."""
    x0, y0, x1, y1 = piece.outline.bounds
    return float(x1 - x0 if side in ("port", "starboard") else y1 - y0)


def _told(cheek: "Cheek") -> "dict[str, object]":
    """Return what the JSON says of a cheek: where it stands, and what share of the end of each tread it holds."""
    from tapeloft.model.climbing.cheeks import shares

    plane = cheek.plane
    return {
        "name": cheek.name, "pieces": [piece.letter for piece in cheek.pieces], "thickness_m": cheek.thickness,
        "face": plane.face, "start_m": plane.start, "right": plane.right, "up": plane.up, "treads_behind": cheek.far,
        "holds": [{"tread": name, "share": share} for name, share in shares(cheek)],
    }  # fmt: skip


def _between(boards: "Sequence[tuple[Step, Piece]]", held: list[int]) -> list[str]:
    """Return in words which treads bend too much where they are held at their ends alone."""
    thin = ", ".join(step.name for (step, _), count in zip(boards, held, strict=True) if count > 2)
    return (
        [f"held at both ends alone it bends too much: {thin}: give it supports between, or thicken it"] if thin else []
    )


def _ways(lines: "Sequence[Line]", planes: "Sequence[Plane]") -> list[str]:
    return [way for line, plane in zip(lines, planes, strict=True) for way in ways_in([line], [line.piece], plane)]


def _marked(cheek: "Cheek", piece: "Piece", one: "Survey", name: str) -> "Template":
    """Return the template of a cheek, with the ends of the treads marked on it."""
    from tapeloft.model.cutting.told import on_piece
    from tapeloft.viewer.template.template import Lying, template_of

    where = "dashed: treads on the other face" if cheek.far else "lines: treads on this face"
    said = (f"this side: {cheek.plane.face}", f"{cheek.thickness * 1000:g} mm thick; {where}")
    ends = [Lying(end, tread, cheek.far) for tread, end in cheek.ends]
    return template_of(piece, cheek.plane, on_piece(piece, one, name, said), ends)


def _floor(text: str | None, one: "Survey") -> float | None:
    return None if text is None else length_of("floor", text, one.unit)


def _tables(made: "Steps", wanted: "Wanted", title: str, units: str, every: float, held: list[int]) -> list[Table]:
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
    from tapeloft.model.cutting.beams import Load
    from tapeloft.model.cutting.told import loads_told

    loads = (
        "Treads are taken as held at both ends, by the walls they meet or by cheeks (--cheeks 20), for "
        f"{mass:g} kg standing still on a strip {wanted.least[1] * 1000:.0f} mm deep behind the nosing; how they are "
        "fastened, and a person who jumps, are for a builder to reckon."
    )
    person = f"{wanted.person.breadth * 1000:.0f} × {wanted.person.depth * 1000:.0f} mm"
    room = (
        f"Head room: over each step a person {person} from above stands upright and goes up through the opening, "
        "turned any way (the 95th percentiles of men in ANSUR II are 567 and 298); how one swings in and out is "
        "not looked at."
    )
    rises = (
        "Rises of 165 to 305 mm and treads 102 mm deep are those of ship stairs in 29 CFR 1910.25(e); a "
        "local standard that asks for more rules."
    )
    of = loads_told(wanted.timber, Load(mass, 0.0))
    return (CLIMBING, room, rises, loads, of, *((GAS_ALONE,) if one.space.use == "gas" else ()))
