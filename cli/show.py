"""tapeloft show."""

from pathlib import Path
from typing import Annotated, Literal

import typer

from tapeloft.cli.options import Force, Given, OneName, Options, SurveyFile, UnitsOption


def show(
    survey: SurveyFile,
    compartment: OneName = None,
    still: Annotated[Path | None, typer.Option(metavar="FILE.png", help="draw a picture instead of a window")] = None,
    view: Annotated[
        Literal["three-quarter", "plan", "profile", "section"], typer.Option(help="where a still is seen from")
    ] = "three-quarter",
    perspective: Annotated[
        bool, typer.Option("--perspective", help="a still as the eye sees it, not to scale")
    ] = False,
    level: Annotated[str | None, typer.Option(metavar="HEIGHT", help="fill a still to this height")] = None,
    box: Annotated[bool, typer.Option("--box/--no-box", help="draw the largest upright box")] = True,
    given: Given = None,
    option: Options = None,
    units: UnitsOption = "mm",
    force: Force = False,
) -> None:
    """Look at it: a window, or with --still a picture."""
    from tapeloft.cli.asking import asked_survey
    from tapeloft.cli.boxing import found_box
    from tapeloft.cli.printing import say
    from tapeloft.model.compartment import build
    from tapeloft.model.units import length

    one = asked_survey(survey, compartment, given, option)
    built = build(one)
    found = found_box(built) if box else None
    if still is None:
        from tapeloft.viewer.window import open_window

        open_window(built, box=found, unit=units)
        return
    from tapeloft.viewer.still import draw_still

    height = None if level is None else length(level, one.unit)
    draw_still(built, still, box=found, level=height, orthographic=not perspective, view=view, unit=units, force=force)
    say(f"drew {still}")
