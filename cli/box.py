"""tapeloft box."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from tapeloft.cli.options import AsJson, Force, Given, Name, Options, SurveyFile, UnitsOption, duration
from tapeloft.cli.spacing import Bay, KeepClear, On, Swing, Without

if TYPE_CHECKING:
    from tapeloft.model.boxes import BoxFound

STOWED = "Only the stowed place is checked, not whether it can be passed in through the lid."


def box(
    survey: SurveyFile,
    compartment: Name = None,
    turn: Annotated[
        str, typer.Option(metavar="RULE", help='"as given" (square to the boat), "upright" (any heading), "any tilt"')
    ] = "as given",
    on: On = None,
    height: Annotated[str | None, typer.Option(metavar="LENGTH", help="the box must be this high")] = None,
    footprint: Annotated[
        str | None, typer.Option(metavar="LENGTHxBREADTH", help="it must have this length and breadth")
    ] = None,
    least: Annotated[
        str | None, typer.Option(metavar="LxBxH", help="its sides must be no less; 0 where it does not matter")
    ] = None,
    proportion: Annotated[str | None, typer.Option(metavar="L:B:H", help="its sides must be as these")] = None,
    number: Annotated[
        int, typer.Option("--number", min=1, max=20, help="so many, each the largest that those before leave room for")
    ] = 1,
    clearance: Annotated[str, typer.Option(metavar="LENGTH", help="keep this clear all round")] = "0 mm",
    bay: Bay = None,
    without: Without = None,
    keep_clear: KeepClear = None,
    swing: Swing = None,
    within: Annotated[
        float | None, typer.Option(metavar="TIME", parser=duration, help="stop then, with what is proved so far: 5s")
    ] = None,
    tolerance: Annotated[
        float, typer.Option(min=1e-6, max=1, help="how close the limit must come, as a share")
    ] = 0.005,
    certificate: Annotated[
        Path | None, typer.Option(metavar="FILE.json", help="save the proof, for `tapeloft recheck`")
    ] = None,
    still: Annotated[Path | None, typer.Option("--still", metavar="FILE.png", help="draw it to this file")] = None,
    as_json: AsJson = False,
    given: Given = None,
    option: Options = None,
    units: UnitsOption = "mm",
    force: Force = False,
) -> None:
    """The largest box, and the most that any could be.

    The box is proved inside; no box of the kind asked for is larger than the limit. Ctrl-C ends the search with the
    best so far. Status 1 where none fits.
    """
    from tapeloft.cli.asking import asked_surveys, built, told_once
    from tapeloft.cli.basis import bases, say_bases
    from tapeloft.cli.boxes import boxes_in, print_boxes, told
    from tapeloft.cli.printing import print_json, say, say_notes
    from tapeloft.cli.progress import each
    from tapeloft.cli.spacing import space_in
    from tapeloft.model.cautions import cautions_for
    from tapeloft.model.errors import TapeloftError

    surveys = asked_surveys(survey, compartment, given, option)
    if (still or certificate) and len(surveys) > 1:
        raise TapeloftError("a picture or a proof is of one compartment: name it")
    spaces = [space_in(one, bay, without, keep_clear, swing) for one in built(surveys)]
    wanted = {
        "turn": turn, "on": on, "height": height, "footprint": footprint, "least": least, "proportion": proportion,
        "clearance": clearance, "within": within, "tolerance": tolerance,
    }  # fmt: skip
    answers = [boxes_in(space, wanted, number, certificate, force) for space in each(spaces, "searching")]
    said = tuple(dict.fromkeys(text for one in surveys for text in cautions_for(one)))
    wholes = [space.compartment for space in spaces]
    notes = told_once(note for space in spaces for note in space.compartment.notes)
    if as_json:
        print_json(
            "box",
            boxes=[row for answer in answers for row in told(answer)],
            basis=bases(wholes),
            notes=notes,
            cautions=said,
        )
    else:
        print_boxes(answers, units)
        say_bases(wholes)
        say_notes(notes, (*said, STOWED))
    if still is not None:
        import numpy as np

        from tapeloft.viewer.still import draw_still

        whole, found = spaces[0].compartment, answers[0].found
        drawn: list[BoxFound] = [one for one in found if one is not None and one.volume_m3]
        corners = np.stack([one.corners for one in drawn]) if drawn else None
        draw_still(whole, still, box=corners, unit=units, boat=surveys[0].boat, force=force)
        say(f"drew {still}")
    raise typer.Exit(0 if all(answer.found[0] for answer in answers) else 1)
