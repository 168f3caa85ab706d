"""How properties are searched, what tests share, and what a machine may lack: what needs it skips, and says so."""

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # as the program does, before numpy is loaded: the cores are shared

import json
import signal
import sys
import time
from collections.abc import Callable, Generator, Iterator
from importlib.resources import files
from pathlib import Path
from typing import Any, NamedTuple

import pytest
from hypothesis import settings

from tapeloft.cli.app import main
from tapeloft.model import warm
from tapeloft.model.errors import TapeloftError
from tapeloft.model.packing import warm as packing
from tapeloft.viewer.device import off_screen_window

settings.register_profile("steady", deadline=None, derandomize=True)
settings.register_profile("searching", deadline=None, max_examples=1000)
settings.load_profile(os.environ.get("TAPELOFT_PROPERTIES", "steady"))
WORKER = os.environ.get("PYTEST_XDIST_WORKER")


def pytest_xdist_auto_num_workers(config: pytest.Config) -> int:
    """Tests share the cores; benchmarks have them to themselves."""
    return 0 if config.option.markexpr == "bench" else min(os.cpu_count() or 1, 4)


def why_no_pictures() -> str:
    try:
        off_screen_window()
    except TapeloftError as bad:
        return str(bad).splitlines()[0]
    return ""


NO_PICTURES = why_no_pictures()


@pytest.fixture(scope="module")
def occ() -> Iterator[Any]:
    """gmsh's OpenCASCADE kernel: true cylinders, ruled lofts and booleans of its own."""
    try:
        import gmsh
    except (ImportError, OSError) as missing:
        pytest.skip(f"gmsh does not load here: {missing}")
    gmsh.initialize(interruptible=False)
    gmsh.option.set_number("General.Terminal", 0)
    yield gmsh.model.occ
    gmsh.finalize()


def compiled_once(basetemp: str) -> None:
    """Compile the inner loops in one of the processes of a run, by its folder of one; the others find them kept."""
    begun, done = Path(basetemp).with_name("compiling"), Path(basetemp).with_name("compiled")
    try:
        begun.touch(exist_ok=False)
    except FileExistsError:
        end = time.monotonic() + 600  # whoever began may have died
        while not done.exists() and time.monotonic() < end:
            time.sleep(0.1)
        return
    try:
        warm.warm()
        packing.warm()
    finally:
        done.touch()


@pytest.fixture(scope="session")
def warmed(request: pytest.FixtureRequest) -> None:
    """So that no time limit runs out while inner loops are compiled, and that no two processes compile the same."""
    if warm.is_warm() and packing.is_warm():
        return
    if WORKER:
        compiled_once(request.config.option.basetemp)
    else:
        warm.warm()
        packing.warm()


def needs_loops(item: pytest.Item) -> bool:
    return "warmed" in getattr(item, "fixturenames", ())


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """What needs the inner loops comes last, so that there is something to do while they are compiled."""
    items.sort(key=needs_loops)


@pytest.hookimpl(tryfirst=True)
def pytest_runtestloop(session: pytest.Session) -> None:
    """The last process begins by compiling them, where they are needed at all."""
    last = f"gw{int(os.environ.get('PYTEST_XDIST_WORKER_COUNT', 1)) - 1}"
    if last == WORKER and any(map(needs_loops, session.items)) and not (warm.is_warm() and packing.is_warm()):
        compiled_once(session.config.option.basetemp)


@pytest.fixture
def draws() -> None:
    """For a test that draws in a process of its own."""
    if NO_PICTURES:
        pytest.skip(NO_PICTURES)


def skipping() -> Generator[None, object, object]:
    try:
        return (yield)
    except TapeloftError as bad:
        if NO_PICTURES and str(bad).startswith(NO_PICTURES):
            pytest.skip(NO_PICTURES)
        raise


@pytest.hookimpl(wrapper=True)
def pytest_pyfunc_call() -> Generator[None, object, object]:
    return (yield from skipping())


@pytest.hookimpl(wrapper=True)
def pytest_fixture_setup() -> Generator[None, object, object]:
    return (yield from skipping())


class Ran(NamedTuple):
    """How a command ended, and what it printed."""

    status: int
    out: str
    err: str

    @property
    def json(self) -> Any:
        return json.loads(self.out)


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]) -> Iterator[Callable[..., Ran]]:
    """Run a command in this process, as the program does."""
    before = signal.getsignal(signal.SIGINT)

    def ran(*words: object) -> Ran:
        monkeypatch.setattr(sys, "argv", ["tapeloft", *map(str, words)])
        capfd.readouterr()
        with pytest.raises(SystemExit) as ended:
            main()
        return Ran(ended.value.code if isinstance(ended.value.code, int) else 0, *capfd.readouterr())

    yield ran
    signal.signal(signal.SIGINT, before)


@pytest.fixture
def boat(tmp_path: Path) -> Path:
    """The demo boat's folder, to be changed at will."""
    folder = tmp_path / "heron"
    folder.mkdir()
    for one in files("tapeloft.shapes").joinpath("demo").iterdir():
        if one.is_file():
            (folder / one.name).write_bytes(one.read_bytes())
    return folder


@pytest.fixture
def refused(
    run: Callable[..., Ran], boat: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> Callable[[tuple[str, ...], str], None]:
    """Hold that a command over the demo boat is refused in one message, and that it writes nothing."""
    monkeypatch.chdir(tmp_path)
    before = sorted(tmp_path.iterdir())

    def held(words: tuple[str, ...], said: str) -> None:
        status, out, err = run(words[0], boat, *words[1:])
        assert (status, out) == (2, "")
        assert said in err
        assert "Traceback" not in err
        assert sorted(tmp_path.iterdir()) == before

    return held


PLAIN = """format = "tapeloft-survey"
version = 1
unit = "mm"
[survey]
compartment = "plain locker"
use = "{use}"
measured_to = "structure"
[datum]
x_zero = "after end"
y_zero = "centreline"
z_zero = "sole"
[marks]
side = "port"
order = ["A", "B", "C", "D"]
[station.0]
at = 0
A = [100, 0]
B = [{out}, 0]
C = [{out}, {high}]
D = [100, {high}]
[station.1]
at = {long}
A = [100, 0]
B = [{out}, 0]
C = [{out}, {high}]
D = [100, {high}]
{more}
"""
LID = """[[opening]]
name = "lid"
wall = "top"
x = {x}
y = {y}
clear = [{along}, {across}]
depth = {depth}
"""


@pytest.fixture(scope="session")
def plain(tmp_path_factory: pytest.TempPathFactory) -> Any:
    """Build an upright box of a locker, mm, from 100 to port outward; lid: x, y, along, across, in its top."""
    from tapeloft.model.compartment import build
    from tapeloft.model.survey.boat import read_survey

    def made(long: float, broad: float, high: float, lid: tuple[float, ...] | None = None, *, more: str = "") -> Any:
        file = tmp_path_factory.mktemp("plain") / "plain.toml"
        sizes = dict(zip(("x", "y", "along", "across", "depth"), (*lid, 0.0)[:5], strict=True)) if lid else {}
        text = more + (LID.format(**sizes) if lid else "")
        file.write_text(PLAIN.format(use="dry", out=100 + broad, high=high, long=long, more=text))
        return build(read_survey(str(file)).compartments[0])

    return made
