"""tapeloft enter."""

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from tapeloft.cli.options import AsJson

if TYPE_CHECKING:
    from tapeloft.cli.dialogue import Dialogue
    from tapeloft.model.entering.keeping import Kept
    from tapeloft.model.entering.walk import Walk

UNFINISHED = 3
WAYS = "b back, l list, ? help, q stop. Every answer is written at once."


def enter(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="the survey to begin, or to go on with")],
    as_json: AsJson = False,
) -> None:
    """Walk through a survey, one question a reading.

    Every answer is written at once, and it goes on where it was left. Status as for check when all is asked, 3 where
    it was stopped before.
    """
    from tapeloft.cli.check import check
    from tapeloft.cli.dialogue import Dialogue
    from tapeloft.cli.printing import print_json
    from tapeloft.model.entering.walk import progress
    from tapeloft.model.errors import TapeloftError

    if sys.stdin is None:
        raise TapeloftError("nobody can answer here, for there is no input; run it in a terminal, or pipe answers in")
    sys.stdin.reconfigure(errors="replace")  # type: ignore[union-attr]  # what is no text is refused, and asked again
    talk = Dialogue(sys.stdin, sys.stderr if as_json else sys.stdout)
    try:
        walk, done = _walked(talk, file)
    except SystemExit:
        talk.say(_onward(file))
        raise
    read, of = progress(walk)
    if as_json:
        print_json("enter", file=str(file), finished=done, readings=read, of=of)
    elif done:
        talk.say("", f"all is asked. `tapeloft check {file}` says of it:", "")
        check(str(file))
    else:
        talk.say("", f"{read} of {of} readings are there. {_onward(file)}")
    raise typer.Exit(0 if done else UNFINISHED)


def _onward(file: Path) -> str:
    return f"All that was answered is in {file}; `tapeloft enter {file}` goes on." if file.exists() else "No file."


def _walked(talk: "Dialogue", file: Path) -> "tuple[Walk, bool]":
    """Ask, and write each answer, until all is asked or the person stops; return where that was, and whether done."""
    from tapeloft.model.entering.keeping import ChangedMeanwhile, written
    from tapeloft.model.entering.walk import told
    from tapeloft.model.errors import FileError

    kept, walk = _begun(talk, file)
    while True:
        line = talk.answer(walk)
        if line is None:
            return walk, False
        got = told(walk, line)
        try:
            kept = written(kept, got.walk.page) if got.walk.page != walk.page else kept
        except ChangedMeanwhile as bad:
            talk.say(str(bad), f'It is read anew; "{line:.60}" is not in it yet.')
            kept, walk = _begun(talk, file)
            continue
        except FileError:
            talk.say(f'"{line:.60}" is not written.')
            raise
        walk = got.walk
        talk.say(*got.says)
        if got.done or got.stopped:
            return walk, got.done


def _begun(talk: "Dialogue", file: Path) -> "tuple[Kept, Walk]":
    """Return a survey as it lies on the disk, and the walk through it from its first open question."""
    from datetime import date

    from tapeloft.model.entering.keeping import lent_to, opened
    from tapeloft.model.entering.walk import Walk, progress
    from tapeloft.model.errors import FileError
    from tapeloft.model.survey.example import examples_left, is_example

    kept, page = opened(file)
    if is_example(page.paper.data):
        raise FileError(
            f"{file}: this is the sheet that `tapeloft new` writes, and its numbers are examples\n"
            "    mend: name a file that is not there yet, and the walk begins it"
        )
    walk = Walk(page, lent_to(page), date.today().isoformat())
    read, of = progress(walk)
    there = f"{file}: {read} of {of} readings are there." if of else f"{file} goes on."
    talk.say(there if kept.lies is not None else f"{file} is begun with the first answer.", WAYS)
    left = examples_left(page.paper.data)
    if left:
        talk.say(
            f"{left} readings are those of the example that `tapeloft new` writes: `again 0` asks for station 0 anew"
        )
    return kept, walk
