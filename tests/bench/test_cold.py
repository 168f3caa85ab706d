"""What a person waits for: whole processes, from nothing."""

import os
import resource
import shutil
import subprocess
import sys
import time
from pathlib import Path

import pytest

import tapeloft.shapes

pytestmark = pytest.mark.bench
DEMO = Path(tapeloft.shapes.__path__[0]) / "demo"
BARE = """
import typer
app = typer.Typer(add_completion=False, rich_markup_mode=None, pretty_exceptions_enable=False)
@app.command()
def only(name: str, loud: bool = False) -> None:
    "Say a name."
    print(name)
app()
"""


def seconds(*commands: list[str], times: int = 7) -> list[tuple[float, float]]:
    """The least time that each command took, by the clock and of the processor, after one run that compiles modules.

    Taken in turns. A machine that does other things besides makes the clock run ahead of the processor.
    """
    env = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
    taken: list[list[tuple[float, float]]] = [[] for _ in commands]
    for turn in range(times + 1):
        for command, times_ in zip(commands, taken, strict=True):
            start, used = time.perf_counter(), processor()
            subprocess.run(command, env=env, check=True, capture_output=True)
            if turn:
                times_.append((time.perf_counter() - start, processor() - used))
    return [(min(clock for clock, _ in times_), min(used for _, used in times_)) for times_ in taken]


def processor() -> float:
    """Processor time, s, of all processes started from here that have ended."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def program() -> str:
    found = shutil.which("tapeloft", path=f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}")
    assert found, "tapeloft is not installed"
    return found


def test_help_costs_little_more_than_a_bare_program() -> None:
    (ours, _), (bare, _) = seconds([program(), "--help"], [sys.executable, "-c", BARE, "--help"], times=15)
    print(f"\n--help {ours:.3f} s, {ours / bare:.2f} × a bare typer program of one command (at most 1.5)")
    assert ours <= 1.5 * bare


@pytest.mark.parametrize("command", ["volume", "check"])
def test_one_compartment_cold_takes_less_than_six_tenths_of_a_second(command: str) -> None:
    files = [path for path in sorted(DEMO.glob("*.toml")) if path.stem != "boat"]
    taken = seconds(*([program(), command, str(path)] for path in files), times=5)
    for path, (clock, used) in zip(files, taken, strict=True):
        print(f"\n{command} {path.stem}, cold: {clock:.2f} s, of the processor {used:.2f} s", end="")
    print()
    assert max(used for _, used in taken) < 0.6
