"""The options that commands share."""

import math
import re
from typing import Annotated, Literal

import typer

Units = Literal["mm", "cm", "m", "in", "ft-in-8"]

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


SurveyFile = Annotated[str, typer.Argument(metavar="SURVEY", help="a boat's folder, or one compartment's file")]
Name = Annotated[str | None, typer.Argument(metavar="[COMPARTMENT]", help="its name, or how it begins; left out: all")]
OneName = Annotated[str | None, typer.Argument(metavar="[COMPARTMENT]", help="its name, or how it begins")]
AsJson = Annotated[bool, typer.Option("--json", help="print JSON; units are in the names")]
Given = Annotated[
    list[str] | None, typer.Option("--set", metavar="NAME=LENGTH", help="give a parameter another length")
]
Options = Annotated[list[str] | None, typer.Option("--option", metavar="NAME", help="apply an option of the survey")]
UnitsOption = Annotated[Units, typer.Option("--units", help="units to print lengths in")]
Force = Annotated[bool, typer.Option("--force", help="overwrite files that are there")]
