"""tapeloft count."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from tapeloft.cli.options import AsJson, Force, Given, Options, SurveyFile, UnitsOption, duration
from tapeloft.cli.spacing import Bay, KeepClear, Swing, Without

if TYPE_CHECKING:
    from tapeloft.model.gear.gear import Gear
    from tapeloft.model.packing.count import Counted

STOWED = (
    "Only the stowed places are checked, not whether the things can be passed in through the lid, nor in which order, "
    "nor what holds a thing that leans."
)


def count(
    survey: SurveyFile,
    compartment: Annotated[str, typer.Argument(metavar="COMPARTMENT", help="its name, or how it begins")],
    item: Annotated[str, typer.Argument(metavar="ITEM", help="what; as for `tapeloft fit`")],
    turn: Annotated[
        str | None,
        typer.Option(metavar="RULE", help='how each may be turned: "as given", "upright", "on any face", "any tilt"'),
    ] = None,
    clearance: Annotated[str, typer.Option(metavar="LENGTH", help="keep this clear round each")] = "0 mm",
    bay: Bay = None,
    without: Without = None,
    keep_clear: KeepClear = None,
    swing: Swing = None,
    within: Annotated[float, typer.Option(metavar="TIME", parser=duration, help="stop after about so long")] = 10.0,
    still: Annotated[
        Path | None, typer.Option("--still", metavar="FILE.png", help="draw them in their places to this file")
    ] = None,
    as_json: AsJson = False,
    given: Given = None,
    option: Options = None,
    units: UnitsOption = "mm",
    force: Force = False,
) -> None:
    """How many of one thing go in: at least, and at most.

    At least so many: laid out, settled and checked. At most so many: proved for every arrangement that its turns
    allow. Ctrl-C ends the search with what is known by then. Status 0 where one goes in, 1 where none does, proved,
    3 where that stays undecided.
    """
    from tapeloft.cli.asking import asked_survey, built
    from tapeloft.cli.basis import bases, say_bases
    from tapeloft.cli.counting import counted_in, print_count
    from tapeloft.cli.printing import print_json, say, say_notes
    from tapeloft.cli.spacing import space_in, stood_words
    from tapeloft.model.cautions import cautions_for

    one = asked_survey(survey, compartment, given, option)
    (whole,) = built([one])
    space = space_in(whole, bay, without, keep_clear, swing)
    gear, rule, found = counted_in(space, item, turn, clearance, within)
    said = (*stood_words(gear, [one], turn), *cautions_for(one), STOWED)
    if as_json:
        told = {name: getattr(found, name) for name in found.__dataclass_fields__}
        told["poses"] = [{"turn": pose.turn, "place_m": pose.place} for pose in found.poses]
        print_json("count", compartment=whole.name, item=gear.name, turn=rule.value, counted=told, basis=bases([whole]),
                   notes=whole.notes, cautions=said)  # fmt: skip
    else:
        print_count(whole.name, gear, rule, found, units)
        say_bases([whole])
        say_notes(whole.notes, said)
    if still is not None:
        _draw(space.compartment, gear, found, still, units, one.boat, force)
        say(f"drew {still}")
    raise typer.Exit(0 if found.at_least else 1 if not found.at_most else 3)


def _draw(
    whole: object, gear: "Gear", found: "Counted", still: Path, units: str, boat: str, force: bool
) -> None:  # fmt: skip
    from typing import Any

    from tapeloft.model.facets import body
    from tapeloft.model.stowed import Stowed
    from tapeloft.shapes.polyhedron import Polyhedron, Round
    from tapeloft.viewer.still import draw_still

    form: Any = gear.form
    drawn = form.drawn(Round.EQUAL_AREA)
    stowed = [Stowed(gear.name, body(Polyhedron(pose.of(drawn.vertices), drawn.faces))) for pose in found.poses]
    one: Any = whole
    draw_still(one, still, stowed=stowed, unit=units, boat=boat, force=force)
