"""What a machine may lack: where nothing can draw, tests that need a picture are skipped, and say so."""

from collections.abc import Generator

import pytest

from tapeloft.model.errors import TapeloftError
from tapeloft.viewer.device import off_screen_window


def why_no_pictures() -> str:
    try:
        off_screen_window()
    except TapeloftError as bad:
        return str(bad).splitlines()[0]
    return ""


NO_PICTURES = why_no_pictures()


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
