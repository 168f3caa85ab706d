"""The options that commands share."""

from typing import Annotated, Literal

import typer

Units = Literal["mm", "cm", "m", "in", "ft-in-8"]

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
