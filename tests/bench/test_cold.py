"""What a person waits for: whole processes, from nothing."""

import os
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


def seconds(*commands: list[str], times: int = 7) -> list[float]:
    """The least time that each command took, taken in turns, after one run that leaves compiled modules behind."""
    env = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
    taken: list[list[float]] = [[] for _ in commands]
    for turn in range(times + 1):
        for command, times_ in zip(commands, taken, strict=True):
            start = time.perf_counter()
            subprocess.run(command, env=env, check=True, capture_output=True)
            if turn:
                times_.append(time.perf_counter() - start)
    return [min(times_) for times_ in taken]


def program() -> str:
    found = shutil.which("tapeloft", path=f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}")
    assert found, "tapeloft is not installed"
    return found


def test_help_costs_little_more_than_a_bare_program() -> None:
    ours, bare = seconds([program(), "--help"], [sys.executable, "-c", BARE, "--help"], times=15)
    print(f"\n--help {ours:.3f} s, {ours / bare:.2f} × a bare typer program of one command (at most 1.5)")
    assert ours <= 1.5 * bare


@pytest.mark.parametrize("command", ["volume", "check"])
def test_one_compartment_cold_takes_less_than_six_tenths_of_a_second(command: str) -> None:
    files = [path for path in sorted(DEMO.glob("*.toml")) if path.stem != "boat"]
    taken = seconds(*([program(), command, str(path)] for path in files), times=5)
    print(f"\n{command}, cold: " + ", ".join(f"{p.stem} {t:.2f} s" for p, t in zip(files, taken, strict=True)))
    assert max(taken) < 0.6
