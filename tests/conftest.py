"""How properties are searched; and what a machine may lack: a test that needs it skips, and says so."""

import os
from collections.abc import Generator, Iterator
from typing import Any

import pytest
from hypothesis import settings

from tapeloft.model.errors import TapeloftError
from tapeloft.model.warm import warm
from tapeloft.viewer.device import off_screen_window

settings.register_profile("steady", deadline=None, derandomize=True)
settings.register_profile("searching", deadline=None, max_examples=1000)
settings.load_profile(os.environ.get("TAPELOFT_PROPERTIES", "steady"))


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


@pytest.fixture(scope="session")
def warmed() -> None:
    """So that no time limit runs out while inner loops are compiled."""
    warm()


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
