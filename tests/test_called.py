"""Names may be shortened to how they begin, wherever one is asked for; where that could be several, it is told."""

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from typer.testing import CliRunner

import tapeloft.shapes
from tapeloft.cli.app import app
from tapeloft.model.called import called
from tapeloft.model.errors import TapeloftError, UnknownName

BOAT = str(Path(tapeloft.shapes.__file__).parent / "demo")
KNOWN = ["port bay", "port bay, aft", "starboard bay", "Panel"]


@pytest.mark.parametrize(
    ("said", "meant"),
    [("port bay", "port bay"), ("s", "starboard bay"), (" STAR ", "starboard bay"), ("port bay,", "port bay, aft"),
     ("panel", "Panel")],
)  # fmt: skip
def test_a_name_or_how_it_begins(said: str, meant: str) -> None:
    assert called("bay", said, KNOWN) == meant


@pytest.mark.parametrize("said", ["", " ", "bay", "port bays", "starboard bay "[::-1]])
def test_what_no_name_begins_with_is_unknown(said: str) -> None:
    with pytest.raises(UnknownName, match="no bay is called"):
        called("bay", said, KNOWN)


def test_what_several_begin_with_is_told() -> None:
    with pytest.raises(TapeloftError, match='"p" could be any of "port bay", "port bay, aft", "Panel": write more'):
        called("bay", "p", KNOWN)


@given(st.lists(st.text(min_size=1).filter(str.strip), min_size=1, unique=True), st.data())
def test_what_is_meant_begins_as_was_said(known: list[str], data: st.DataObject) -> None:
    one = data.draw(st.sampled_from(known))
    said = one[: data.draw(st.integers(0, len(one)))]
    try:
        meant = called("name", said, known)
    except TapeloftError:
        assert said not in known
    else:
        assert meant.casefold().startswith(said.strip().casefold())
    assert called("name", one, known) == one


@pytest.mark.usefixtures("warmed")
@pytest.mark.parametrize(
    ("short", "whole"),
    [
        (["volume", BOAT, "laz", "--option", "panel"], ["volume", BOAT, "lazarette", "--option", "panel out"]),
        (["volume", BOAT, "cockpit locker, p", "--set", "sole_s=200 mm"],
         ["volume", BOAT, "cockpit locker, port", "--set", "sole_step=200 mm"]),
        (["capacity", BOAT, "laz", "--bay", "Port"], ["capacity", BOAT, "lazarette", "--bay", "port bay"]),
        (["box", BOAT, "laz", "--bay", "star"], ["box", BOAT, "lazarette", "--bay", "starboard bay"]),
        (["box", BOAT, "laz", "--without", "fore"], ["box", BOAT, "lazarette", "--without", "fore-and-aft panel"]),
    ],
)  # fmt: skip
def test_commands_take_shortened_names(short: list[str], whole: list[str]) -> None:
    answers = [CliRunner().invoke(app, [*words, "--json"]) for words in (short, whole)]
    assert [answer.exit_code for answer in answers] == [0, 0], answers[0].output
    assert answers[0].stdout == answers[1].stdout
