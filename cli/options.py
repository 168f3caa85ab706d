"""The options that commands share."""

import math
import re
from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, Literal

import typer

Units = Literal["mm", "cm", "m", "in", "ft-in-8"]
Side = Literal["port", "starboard", "forward", "aft"]
ENDINGS = ".pdf .svg .dxf .csv .stl .obj .ply .glb .3mf"

SECONDS = {"": 1.0, "s": 1.0, "min": 60.0}


def duration(text: str) -> float:
    """Return a time in seconds: "5", "5s", "1.5 min". Raises typer.BadParameter.

    >>> [duration(text) for text in ("5", "0.5s", "2 min")]
    [5.0, 0.5, 120.0]
    """
    said = re.fullmatch(r"([0-9]+(?:\.[0-9]*)?|\.[0-9]+) *(s|min|)", str(text).strip())
    if said is None or not math.isfinite(float(said[1])):
        raise typer.BadParameter(f'"{text}" is no time: say how many seconds, as in 5 or 5s, or minutes, as in 2min')
    return float(said[1]) * SECONDS[said[2]]


def goes_with(name: str, typed: object, others: Mapping[str, object]) -> None:
    """Refuse an option that was *typed* and does nothing but beside one of *others*: how each is written, its value.

    Raises TapeloftError.
    """
    if typed and not any(others.values()):
        from tapeloft.model.errors import TapeloftError

        one = " or ".join(others)
        raise TapeloftError(f"{name}: it does nothing without {one}\n    mend: give {one} too, or leave {name} out")


def typed(context: typer.Context, parameter: str) -> bool:
    """Whether an option of a command was typed, and not left to its default."""
    source = context.get_parameter_source(parameter)
    return source is not None and source.name == "COMMANDLINE"


def does_nothing(context: typer.Context, without: str, there: object, *options: str) -> None:
    """Refuse the first of some *options*, by their parameters, that was typed and does nothing *without* another.

    there: what of that other there is. Raises TapeloftError.
    """
    for one in options:
        goes_with(f"--{one.replace('_', '-')}", typed(context, one), {without: there})


SurveyFile = Annotated[str, typer.Argument(metavar="SURVEY", help="a boat's folder, or one compartment's file")]
Name = Annotated[str | None, typer.Argument(metavar="[COMPARTMENT]", help="its name, or how it begins; left out: all")]
OneName = Annotated[str | None, typer.Argument(metavar="[COMPARTMENT]", help="its name, or how it begins")]
AsJson = Annotated[bool, typer.Option("--json", help="print JSON; units are in the names")]
Given = Annotated[
    list[str] | None, typer.Option("--set", metavar="NAME=LENGTH", help="give a parameter another length")
]
Options = Annotated[list[str] | None, typer.Option("--option", metavar="NAME", help="apply an option of the survey")]
UnitsOption = Annotated[Units, typer.Option("--units", help="units to print lengths in")]
OwnUnits = Annotated[
    Units | None, typer.Option("--units", help="units to print lengths in; left out: the survey's own")
]
PlanUnits = Annotated[
    Units | None, typer.Option("--units", help="units to print lengths in; left out: mm, on the plan the survey's own")
]
Force = Annotated[bool, typer.Option("--force", help="overwrite files that are there")]
To = Annotated[
    list[Path] | None, typer.Option("--to", metavar="FILE", help=f"a file to write, again for more: {ENDINGS}")
]
PaperOption = Annotated[
    Literal["a4", "a3", "letter"] | None,
    typer.Option("--paper", help="the paper templates are tiled on; left out: a4"),
]
Gap = Annotated[str, typer.Option("--gap", metavar="LENGTH", help="gap all round; mm unless a unit stands behind")]
GapEnd = Annotated[
    str | None, typer.Option("--gap-end", metavar="LENGTH", help="gap to the ends; left out: as all round")
]
GapObstruction = Annotated[
    str | None, typer.Option("--gap-obstruction", metavar="LENGTH", help="gap to what stands in the space; likewise")
]
Mass = Annotated[
    str | None, typer.Option("--mass", metavar="MASS", help='a piece weighs no more, "12 kg": parted until it does not')
]
Exploded = Annotated[
    bool, typer.Option("--exploded", help="draw its pieces moved apart, each with a line to where it belongs")
]
Still = Annotated[Path | None, typer.Option("--still", metavar="FILE.png", help="draw the part in its place")]
Bearer = Annotated[str, typer.Option("--bearer", metavar="B x D", help="breadth and depth, mm")]
TimberName = Annotated[str, typer.Option("--timber", metavar="NAME", help="teak, dark red meranti, light red meranti")]
Thickness = Annotated[str, typer.Option("--thickness", metavar="LENGTH", help="mm unless a unit stands behind")]
Even = Annotated[float, typer.Option("--even", metavar="KG", help="load spread over it, kg/m²")]
