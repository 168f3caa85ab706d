"""tapeloft show."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from tapeloft.cli.options import AsJson, Exploded, Force, Given, OneName, Options, SurveyFile, UnitsOption

if TYPE_CHECKING:
    from tapeloft.model.compartment import Compartment
    from tapeloft.model.stowed import Stowed
    from tapeloft.model.survey.survey import Survey


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
    exploded: Exploded = False,
    as_json: AsJson = False,
    given: Given = None,
    option: Options = None,
    units: UnitsOption = "mm",
    force: Force = False,
) -> None:
    """Look at it: a window, or with --still a picture.

    --json tells what was drawn.
    """
    from tapeloft.cli.asking import asked_survey, built
    from tapeloft.cli.basis import bases, say_bases
    from tapeloft.cli.boxing import found_box
    from tapeloft.cli.printing import print_json, say, say_notes
    from tapeloft.model.errors import TapeloftError
    from tapeloft.viewer.device import NO_DISPLAY, display_here

    if as_json and still is None:
        raise TapeloftError("--json goes with --still FILE.png: a window has nothing to print")
    one = asked_survey(survey, compartment, given, option)
    height = _height(level, one)
    if still is None and not display_here():  # said before the minute that a box may take
        raise TapeloftError(NO_DISPLAY)
    (whole,) = built([one])
    found = found_box(whole.name, whole.inside, whole.outside) if box else None
    drawn, stowed = _apart(whole) if exploded else (whole, [])
    if still is None:
        from tapeloft.viewer.window import open_window

        open_window(drawn, box=found, unit=units, stowed=stowed)
        return
    from tapeloft.viewer.still import draw_still

    draw_still(
        drawn,
        still,
        box=found,
        stowed=stowed,
        level=height,
        orthographic=not perspective,
        view=view,
        unit=units,
        boat=one.boat,
        force=force,
    )
    if as_json:
        told = {"compartment": whole.name, "file": str(still), "view": view, "level_m": height}
        print_json("show", **told, basis=bases([whole]), notes=whole.notes)
        return
    say_bases([whole])
    say_notes(whole.notes, ())
    say(f"drew {still}")


def _apart(whole: "Compartment") -> "tuple[Compartment, list[Stowed]]":
    """Return a compartment without its parts, and these by their pieces, moved apart."""
    from dataclasses import replace

    from tapeloft.model.errors import TapeloftError
    from tapeloft.model.stowed import Stowed
    from tapeloft.viewer.exploding import moved_apart

    if not whole.fitted:
        raise TapeloftError(f"{whole.name} has no parts to draw apart: put them in with [[part]], or leave --exploded")
    pieces = [
        piece
        for part in whole.fitted
        for piece in moved_apart([Stowed(_called(part.name, piece), body) for piece, body in part.bodies])
    ]
    return replace(whole, fitted=()), pieces


def _called(part: str, piece: str) -> str:
    """Return what a piece of a part is called in the key, where those alike have one line.

    >>> _called("shelf", "bearer 2"), _called("shelf", "A"), _called("hand rail", "rail")
    ('shelf bearer', 'shelf A', 'hand rail')
    """
    kind = piece.rstrip("0123456789").rstrip() or piece
    return part if part.endswith(kind) and len(kind) > 1 else f"{part} {kind}"


def _height(level: str | None, one: "Survey") -> float | None:
    from tapeloft.model.errors import TapeloftError
    from tapeloft.model.units import Misread, length

    try:
        return None if level is None else length(level, one.unit)
    except Misread as bad:
        raise TapeloftError(f"--level: {bad}") from None
