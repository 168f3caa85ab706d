"""Bars for what takes a while: on a terminal alone, also while a single thing is at work, and gone when it is done."""

import io
import sys
import time
from collections.abc import Callable

import pytest

from tapeloft.cli.progress import each, waiting


class Terminal(io.StringIO):
    """What is written to standard error, taken for a terminal."""

    def isatty(self) -> bool:
        return True


def looped(seconds: float) -> None:
    for _ in each(["one"], "at work"):
        time.sleep(seconds)


def waited(seconds: float) -> None:
    with waiting("at work"):
        time.sleep(seconds)


@pytest.mark.parametrize("work", [looped, waited])
def test_a_bar_is_drawn_while_one_thing_takes_long(
    work: Callable[[float], None], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("TERM", "xterm")
    monkeypatch.setattr(sys, "stderr", quick := Terminal())
    work(0.0)
    assert "at work" not in quick.getvalue()
    monkeypatch.setattr(sys, "stderr", slow := Terminal())
    work(1.5)
    assert "at work" in slow.getvalue()


@pytest.mark.parametrize("work", [looped, waited])
def test_no_bar_is_drawn_where_nobody_sees_it(work: Callable[[float], None], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stderr", written := io.StringIO())
    work(1.0)
    assert written.getvalue() == ""


def test_a_bar_ends_where_its_work_fails(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stderr", Terminal())

    def fails() -> None:
        with waiting("at work"):
            raise ValueError("it broke")

    with pytest.raises(ValueError, match="it broke"):
        fails()
