"""tapeloft fit."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from tapeloft.cli.options import AsJson, Force, Given, Options, SurveyFile, UnitsOption, duration
from tapeloft.cli.spacing import Bay, KeepClear, On, Swing, Without

if TYPE_CHECKING:
    from tapeloft.model.fits.answer import Answer

STOWED = (
    "Only the stowed place is checked, not whether it can be passed in through the lid; of that the opening's clear "
    "size alone is looked at."
)


def fit(
    survey: SurveyFile,
    words: Annotated[list[str], typer.Argument(metavar="[COMPARTMENT] ITEM", help="where, left out: all; and what")],
    turn: Annotated[
        str | None,
        typer.Option(metavar="RULE", help='how it may be turned: "as given", "upright", "on any face", "any tilt"'),
    ] = None,
    clearance: Annotated[str, typer.Option(metavar="LENGTH", help="keep this clear all round")] = "0 mm",
    on: On = None,
    bay: Bay = None,
    without: Without = None,
    keep_clear: KeepClear = None,
    swing: Swing = None,
    within: Annotated[
        float,
        typer.Option(metavar="TIME", parser=duration, help="for each compartment; then it is left undecided"),
    ] = 10.0,
    certificate: Annotated[
        Path | None, typer.Option(metavar="FILE.json", help="save the proof, for `tapeloft recheck`")
    ] = None,
    still: Annotated[
        Path | None, typer.Option("--still", metavar="FILE.png", help="draw it in its place to this file")
    ] = None,
    show: Annotated[bool, typer.Option("--show", help="look at it in its place, in a window")] = False,
    as_json: AsJson = False,
    given: Given = None,
    option: Options = None,
    units: UnitsOption = "mm",
    force: Force = False,
) -> None:
    """Does it fit: in one compartment, or where on the boat.

    ITEM is a name that `tapeloft gear` lists, sizes such as "box 850x650x350" or "cylinder 320x600", a mesh file, or
    an entry of your own TOML. Status 0 where it fits, 1 where it is proved not to, 3 where that stays undecided.
    """
    from tapeloft.cli.asking import told_once
    from tapeloft.cli.basis import bases, say_bases
    from tapeloft.cli.fitting import answers, as_plain, drawn, print_answers
    from tapeloft.cli.printing import print_json, say_notes
    from tapeloft.model.errors import TapeloftError

    if len(words) > 2:
        raise TapeloftError(f"fit takes a compartment and an item, in quotes where they have spaces; not {len(words)}")
    name, item = (words[0] if len(words) == 2 else None), words[-1]
    if (still or show) and name is None:
        raise TapeloftError("a picture is of one compartment: name it before the item")
    found, spaces, said = answers(
        survey, name, item, given, option,
        {"turn": turn, "clearance": clearance, "on": on, "within": within},
        {"bay": bay, "without": without, "keep": keep_clear, "swings": swing}, certificate, force,
    )  # fmt: skip
    notes = told_once(note for one in spaces for note in one.notes)
    if as_json:
        print_json(
            "fit", fits=[as_plain(one) for one in found], basis=bases(spaces), notes=notes, cautions=(*said, STOWED)
        )
    else:
        print_answers(found, units)
        say_bases(spaces)
        say_notes(notes, (*said, STOWED))
    if still or show:
        drawn(found[0], survey, name, given, option, units, still, show, force)
    raise typer.Exit(_status(found))


def _status(found: "list[Answer]") -> int:
    verdicts = {one.verdict for one in found}
    return 0 if "fits" in verdicts else 3 if "undecided" in verdicts else 1
