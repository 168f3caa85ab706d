"""tapeloft form."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from tapeloft.cli.options import AsJson, Force, Given, Options, Units

if TYPE_CHECKING:
    from tapeloft.model.measuring.form import Form
    from tapeloft.model.survey.boat import Examined
    from tapeloft.model.survey.survey import Survey

MOST = 26
SIDES = {"port": 1.0, "starboard": -1.0}


def form(
    survey: Annotated[
        str | None, typer.Argument(metavar="[SURVEY]", help="a boat's folder, or one compartment's file; none: empty")
    ] = None,
    compartment: Annotated[
        str | None, typer.Argument(metavar="[COMPARTMENT]", help="its name, or how it begins")
    ] = None,
    to: Annotated[Path, typer.Option("--to", metavar="FILE", help="the PDF to write")] = Path("measuring-sheet.pdf"),
    paper: Annotated[Literal["a4", "letter"], typer.Option("--paper", help="the paper it is printed on")] = "a4",
    readings: Annotated[bool, typer.Option("--readings", help="with the readings as they stand, to read back")] = False,
    stations: Annotated[
        int | None, typer.Option("--stations", metavar="N", help="of an empty sheet: stations; left out: 5")
    ] = None,
    letters: Annotated[
        int | None, typer.Option("--letters", metavar="N", help="of an empty sheet: letters; left out: 5")
    ] = None,
    side: Annotated[
        Literal["port", "starboard", "across"] | None,
        typer.Option("--side", help="of an empty sheet: across has each letter to port and to starboard"),
    ] = None,
    units: Annotated[Units | None, typer.Option("--units", help="of an empty sheet; left out: mm")] = None,
    as_json: AsJson = False,
    given: Given = None,
    option: Options = None,
    force: Force = False,
) -> None:
    """Write the measuring sheet to print: empty, or for one compartment."""
    from tapeloft.cli.printing import print_json, say
    from tapeloft.model.errors import TapeloftError
    from tapeloft.model.files.writing import write_whole

    if to.suffix.lower() != ".pdf":
        raise TapeloftError(f"{to}: the sheet is written as PDF\n    mend: let the name end in .pdf")
    if survey is None:
        sheet = _empty(stations, letters, side, units, [given, option, readings])
    else:
        sheet = _for_one(survey, compartment, given, option, readings, [stations, letters, side, units])
    from tapeloft.viewer.form.sheet import as_pdf, laid_out, not_in_the_faces

    pages = laid_out(sheet, paper)
    write_whole(to, as_pdf(pages, ": ".join(filter(None, ("Measuring sheet", sheet.name)))), force=force)
    if lacking := not_in_the_faces(pages):
        say(f"note: the sheet has no letters for {lacking}: an empty box stands for each")
    if as_json:
        tapes = [label for label, _ in sheet.tapes]
        print_json("form", file=str(to), compartment=sheet.name or None, paper=paper, pages=len(pages), tapes=tapes)
        return
    say(f"wrote {to}: {len(pages)} pages, {paper}, with {len(sheet.tapes)} check tapes; print it at full size")


def _empty(
    stations: int | None, letters: int | None, side: str | None, units: str | None, others: list[object]
) -> "Form":
    """Return an empty sheet, as many stations and letters as are asked for."""
    from tapeloft.model.errors import TapeloftError
    from tapeloft.model.measuring.form import blank_form
    from tapeloft.model.measuring.nominal import letters as lettered
    from tapeloft.model.measuring.nominal import nominal_sections

    if any(others):
        raise TapeloftError("--readings, --set and --option go with a survey: name one, or leave them out")
    count, each = 5 if stations is None else stations, 5 if letters is None else letters
    for what, number, least, most in (("stations", count, 2, 99), ("letters", each, 3, MOST)):
        if not least <= number <= most:
            raise TapeloftError(f"--{what} {number}: a sheet has {least} to {most} {what}")
    marks = lettered(each, across=side == "across")
    return blank_form(
        nominal_sections(marks, count, SIDES.get(side or "", 1.0)), units or "mm", SIDES.get(side or "", 0.0)
    )


def _for_one(
    path: str,
    name: str | None,
    given: list[str] | None,
    option: list[str] | None,
    readings: bool,
    others: list[object],
) -> "Form":
    """Return the sheet for one compartment of a survey."""
    from tapeloft.cli.asking import looked_at
    from tapeloft.cli.printing import say
    from tapeloft.model.errors import SurveyError, TapeloftError
    from tapeloft.model.measuring.filled import form_of, sections_of, sections_planned

    if any(other is not None for other in others):
        raise TapeloftError("--stations, --letters, --side and --units are for an empty sheet: the survey says its own")
    found = looked_at(path, given, option)
    one = _named(found, name)
    plan = next((plan for plan in found.plans if plan.survey is one), None)
    if plan is None:
        return form_of(one, sections_of(one), found.boat.craft, readings=readings)
    if readings:
        raise SurveyError(found.problems)
    say(f"note: {one.name} cannot be used yet, so its boxes stay empty; `tapeloft check {path}` says why")
    return form_of(one, sections_planned(plan), found.boat.craft)


def _named(found: "Examined", name: str | None) -> "Survey":
    """Return the survey of that name, made or still to be made."""
    from dataclasses import replace

    from tapeloft.model.errors import SurveyError, TapeloftError

    boat = replace(found.boat, compartments=(*found.boat.compartments, *(plan.survey for plan in found.plans)))
    if not boat.compartments:
        raise SurveyError(found.problems)
    if name is None and len(boat.compartments) > 1:
        names = ", ".join(f'"{one.name}"' for one in boat.compartments)
        raise TapeloftError(f"which compartment? this survey has {names}")
    return boat.compartment(name) if name is not None else boat.compartments[0]
