"""tapeloft laser."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Literal

import typer

from tapeloft.cli.options import AsJson, Force, Units

if TYPE_CHECKING:
    from tapeloft.cli.printing import Table
    from tapeloft.model.survey.laser import Paired
    from tapeloft.model.survey.laserlist import Held

Edge = Literal["front", "rear"]


def laser(
    readings: Annotated[Path, typer.Argument(metavar="LIST", help="the meter's list, CSV")],
    survey: Annotated[Path, typer.Argument(metavar="SURVEY", help="a sheet with letters, whose readings are missing")],
    counts_from: Annotated[Edge, typer.Option("--counts-from", help="the edge that the meter was set to count from")],
    held_at: Annotated[Edge, typer.Option("--held-at", help="the edge that was held at the mark")],
    meter: Annotated[
        str | None, typer.Option("--meter", metavar="LENGTH", help="its own length, needed where the edges differ")
    ] = None,
    to: Annotated[Path | None, typer.Option("--to", metavar="FILE", help="the survey to write; left out: none")] = None,
    unit: Annotated[Units | None, typer.Option("--unit", help="unit of readings that state none")] = None,
    accuracy: Annotated[
        str | None, typer.Option("--accuracy", metavar="LENGTH", help="what is stated for the meter, one deviation")
    ] = None,
    column: Annotated[
        str, typer.Option("--column", metavar="HEADING", help="the column of the readings, where no name tells")
    ] = "",
    newest_first: Annotated[bool, typer.Option("--newest-first", help="the list has its last reading on top")] = False,
    as_json: AsJson = False,
    force: Force = False,
) -> None:
    """Bring a laser meter's list into a survey, in the order of its sheet.

    Station by station, letters in order, half-breadth before height, then check tapes. Status 1 where rows and
    readings do not match; without --to it only shows which row would be which reading.
    """
    from tapeloft.cli.printing import print_json, print_tables, say
    from tapeloft.model.files.writing import write_whole
    from tapeloft.model.reread import reread
    from tapeloft.model.survey.laser import brought_in, paired
    from tapeloft.model.survey.laserlist import read_list
    from tapeloft.model.survey.paper import read_paper

    held = _held(counts_from, held_at, meter)
    stated = _stated(accuracy, "--accuracy")
    paper = read_paper(survey)
    found = paired(paper, read_list(readings, held, unit, column=column, newest_first=newest_first))
    problems = list(found.problems)
    if not problems:
        text = brought_in(paper, found, held, str(readings), stated)
        problems = reread(text, str(to or survey))
        if to is not None:
            write_whole(to, text.encode(), force=force)
    written = to if not found.problems else None
    if as_json:
        print_json("laser", **_as_json(found, held, written), problems=problems, notes=found.notes)
    else:
        print_tables([_table(found)])
        for problem in problems:
            say(f"wrong: {problem}")
        for note in found.notes:
            say(f"look again: {note}")
        if stated is not None and "accuracy" in paper.data:
            say(f"look again: {survey} has an [accuracy] of its own, which was kept")
        say(_verdict(to, bool(found.problems), bool(problems)))
    raise typer.Exit(1 if problems else 0)


def _held(counts_from: Edge, held_at: Edge, meter: str | None) -> "Held":
    from tapeloft.model.errors import TapeloftError
    from tapeloft.model.survey.laserlist import Held

    own = _stated(meter, "--meter")
    if counts_from != held_at and own is None:
        raise TapeloftError(
            f"the meter counts from its {counts_from} edge and was held at its {held_at} edge: its length is needed\n"
            '    mend: measure it and state it, --meter "118 mm"'
        )
    return Held(counts_from, held_at, own or 0.0)


def _stated(text: str | None, option: str) -> float | None:
    """Return a length that an option states, m; raises TapeloftError where it is none or is nothing."""
    from tapeloft.model.errors import TapeloftError
    from tapeloft.model.units import Misread, length

    if text is None:
        return None
    try:
        metres = length(text, None)
    except Misread as bad:
        raise TapeloftError(f"{option}: {bad.what}\n    mend: {bad.mend}") from None
    if not 0 < metres < 1:
        raise TapeloftError(f'{option}: "{text}" is no such length\n    mend: write it with its unit, "118 mm"')
    return metres


def _verdict(to: Path | None, mismatched: bool, wrong: bool) -> str:
    if mismatched:
        return "nothing was written: a reading too few or too many puts all that follow in the wrong place"
    if to is None:
        return "nothing was written: name the new survey with --to"
    return f"wrote {to}: {'cannot be used yet' if wrong else 'read it back against the paper'}, `tapeloft check {to}`"


def _table(found: "Paired") -> "Table":
    from tapeloft.cli.printing import Table
    from tapeloft.model.units import format_length

    rows = [
        (str(shot.line), shot.number, one.station, one.measure, shot.said, format_length(shot.length, "mm"))
        for one, shot in found.pairs
    ]
    return Table("", ("line", "number", "station", "reading", "the meter's", "written"), rows, words=(3,))


def _as_json(found: "Paired", held: "Held", file: Path | None) -> dict[str, Any]:
    return {
        "good": not found.problems,
        "file": str(file) if file else None,
        "added_m": held.added,
        "readings": [
            {
                "line": shot.line, "number": shot.number, "station": one.station, "measure": one.measure,
                "raw_m": shot.raw, "length_m": shot.length,
            }
            for one, shot in found.pairs
        ],
    }  # fmt: skip
