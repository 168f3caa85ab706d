"""tapeloft sister."""

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from tapeloft.cli.options import AsJson, Given, Options, OwnUnits, SurveyFile

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tapeloft.model.survey.survey import Check, Survey
    from tapeloft.model.tapes.sister import SisterHeld


def sister(
    survey: SurveyFile,
    compartment: Annotated[
        str | None, typer.Argument(metavar="[COMPARTMENT]", help="the first one's name, or how it begins")
    ] = None,
    tape: Annotated[
        list[str] | None, typer.Option("--tape", metavar='"1A-1D = 1210"', help="a tape taken in the sister")
    ] = None,
    tapes: Annotated[
        Path | None, typer.Option("--tapes", metavar="FILE", help="a file of them, one a line, as under [check]")
    ] = None,
    building: Annotated[
        str, typer.Option(metavar="LENGTH", help="by how much two that are built alike differ, one standard deviation")
    ] = "5 mm",
    as_json: AsJson = False,
    given: Given = None,
    option: Options = None,
    units: OwnUnits = None,
) -> None:
    """Hold the next hull, or the other side, against the first by a few tapes.

    Status 0 where it is the same within what tapes and building do, 1 where it is not.
    """
    from tapeloft.cli.asking import asked_survey
    from tapeloft.cli.printing import print_json
    from tapeloft.cli.spacing import length_of
    from tapeloft.model.errors import TapeloftError
    from tapeloft.model.tapes.settling import settled
    from tapeloft.model.tapes.sister import held_against

    first = asked_survey(survey, compartment, given, option)
    taken = [*(_tape(first, one, "--tape") for one in tape or ()), *(_filed(first, tapes) if tapes else ())]
    if not taken:
        raise TapeloftError('name the tapes that were taken in the sister: --tape "1A-1D = 1210", or --tapes FILE')
    basis = settled(first)
    if basis.basis == "disagreeing":
        raise TapeloftError(f"{first.name}: her own check tapes do not agree, see tapeloft check; nothing holds to her")
    held = held_against(first, taken, basis.adjustment, length_of("building", building, first.unit) or 0.0)
    if as_json:
        print_json("sister", sister=held)
    else:
        _print(held, units or first.unit)
    raise typer.Exit(0 if held.alike else 1)


def _filed(first: "Survey", file: Path) -> "Iterator[Check]":
    from tapeloft.model.errors import FileError

    try:
        lines = file.read_text(encoding="utf-8").splitlines()
    except (OSError, UnicodeDecodeError) as bad:
        why = getattr(bad, "strerror", None) or "it is no text"
        raise FileError(f"{file} cannot be read: {why}") from None
    for number, line in enumerate(lines, start=1):
        text = line.partition("#")[0].strip()
        if text and not text.startswith("["):
            yield _tape(first, text, f"{file}:{number}")


def _tape(first: "Survey", text: str, where: str) -> "Check":
    """Return a tape as typed, "1A-1D = 1210"."""
    from tapeloft.model.errors import TapeloftError
    from tapeloft.model.survey.survey import Check
    from tapeloft.model.tapes.sister import corners_called
    from tapeloft.model.units import Misread, length

    label, equals, written = (part.strip().strip('"') for part in text.partition("="))
    if not (label and equals and written):
        raise TapeloftError(f'{where}: "{text}" is no tape: write it as 1A-1D = 1210')
    try:
        taped = length(written, first.unit)
        corners = corners_called(first, label)
    except (Misread, TapeloftError) as bad:
        raise TapeloftError(f"{where}: {bad}") from None
    if taped <= 0:
        raise TapeloftError(f"{where}: {label} = {written} is no length for a tape: measure it again")
    return Check(corners, taped)


def _print(held: "SisterHeld", units: str) -> None:
    from tapeloft.cli.printing import Table, print_tables, put
    from tapeloft.model.survey.told import on_paper

    verdict = "the same, within what tapes and building do" if held.alike else "not the same"
    put(f"held against {held.first}: {verdict}", sys.stdout)
    rows = [
        (
            one.label,
            *(on_paper(round(m, 3), units) for m in (one.taped_m, one.first_m, one.taped_m - one.first_m)),
            on_paper(round(2 * one.sigma_m, 3), units),
            "" if one.alike else "here it differs",
        )
        for one in held.tapes
    ]
    head = ("from, to", "taped", "in the first", "off", "19 in 20 within", "")
    print_tables([Table(f"tapes, {units}", head, rows, words=(5,))])
    tolerance = on_paper(round(held.building_m, 4), units)
    put(f"reckoned with {tolerance} {units} of building, one standard deviation (common practice)", sys.stdout)
