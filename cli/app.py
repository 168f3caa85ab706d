"""The program: every command by its name, and what happens when one refuses, or is stopped."""

import os
import signal
import sys
from types import FrameType

import typer

from tapeloft.cli.box import box
from tapeloft.cli.capacity import capacity
from tapeloft.cli.check import check
from tapeloft.cli.count import count
from tapeloft.cli.crate import crate
from tapeloft.cli.demo import demo
from tapeloft.cli.enter import enter
from tapeloft.cli.export import export
from tapeloft.cli.fit import fit
from tapeloft.cli.form import form
from tapeloft.cli.gear import gear
from tapeloft.cli.grate import grate
from tapeloft.cli.laser import laser
from tapeloft.cli.liner import liner
from tapeloft.cli.new import new
from tapeloft.cli.panel import panel
from tapeloft.cli.rail import rail
from tapeloft.cli.recheck import recheck
from tapeloft.cli.scan import scan
from tapeloft.cli.shapes import shapes
from tapeloft.cli.shelf import shelf
from tapeloft.cli.show import show
from tapeloft.cli.sister import sister
from tapeloft.cli.step import step
from tapeloft.cli.volume import volume

app = typer.Typer(
    help="From tape readings of a boat's lockers to a closed solid, and the answers taken from it.",
    epilog="Exit status: 0 yes or done, 1 no, 2 could not, and why, 3 undecided, or stopped before the end; "
    "130 stopped by Ctrl-C.",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)
COMMANDS = (
    new, form, enter, laser, scan, check, sister, volume, capacity, box, fit, count, panel, grate, shelf, step,
    rail, crate, liner, export, show, gear, shapes, demo, recheck,
)  # fmt: skip
for command in COMMANDS:
    app.command()(command)


def main() -> None:
    """Run the program; a refusal is one message on standard error and status 2."""
    signal.signal(signal.SIGINT, _stopped)
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # many small matrices: on a busy machine threads wait, not help
    for stream in (sys.stdout, sys.stderr):
        stream.reconfigure(errors="replace")  # type: ignore[union-attr]  # a terminal that has no ×, no ³
    try:
        app(prog_name="tapeloft")
    except Exception as bad:
        from tapeloft.cli.printing import say
        from tapeloft.model.errors import TapeloftError

        if not isinstance(bad, TapeloftError):
            raise
        say(str(bad))
        raise SystemExit(2) from None


def _stopped(number: int, frame: FrameType | None) -> None:
    """End where Ctrl-C was pressed; files half written are taken away on the way out."""
    print("\nstopped", file=sys.stderr)
    raise SystemExit(130)
