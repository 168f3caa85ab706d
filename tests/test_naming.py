"""Names stay apart and pass on every disk."""

import re
from pathlib import PureWindowsPath

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tapeloft.model.files.naming import distinct, file_stem, printable

# what Windows keeps for itself: "Naming Files, Paths, and Namespaces", Microsoft Learn
FORBIDDEN = re.compile(r'[<>:"/\\|?*\x00-\x1f]|[ .]$|^[ .]')
DEVICES = {"con", "prn", "aux", "nul"} | {f"{port}{digit}" for port in ("com", "lpt") for digit in "123456789¹²³"}


@given(st.text())
def test_a_stem_passes_on_every_disk(name: str) -> None:
    stem = file_stem(name)
    assert stem
    assert not FORBIDDEN.search(stem)
    assert stem.split(".")[0].lower() not in DEVICES
    assert len(f"{stem}.stl".encode()) <= 255  # NAME_MAX, limits.h
    assert PureWindowsPath(f"{stem}.stl").name == f"{stem}.stl"


@pytest.mark.parametrize("name", ["con", "AUX", "nul.tar", "com1", "lpt9", "COM¹"])
def test_a_stem_is_no_device(name: str) -> None:
    assert file_stem(name).split(".")[0].lower() not in DEVICES


def test_letters_of_any_language_are_kept() -> None:
    assert file_stem("Ankerkasten Süd/2") == "Ankerkasten-Süd-2"
    assert file_stem("A\u0308nker") == "Änker"  # composed, as most disks store it


@given(st.lists(st.text(max_size=3)))
def test_names_are_told_apart(names: list[str]) -> None:
    told = distinct(names)
    assert len({name.casefold() for name in told}) == len(names)
    assert all(own.startswith(name) for own, name in zip(told, names, strict=True))


@given(st.text())
def test_a_printable_name_is_one_line(name: str) -> None:
    told = printable(name)
    assert told.isprintable()
    assert told == told.strip() != ""
