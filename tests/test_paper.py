"""A survey file from disk: where everything in it stands, and every way it can fail to be one."""

import os
import tempfile
import tomllib
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tapeloft.model.errors import FileError, SurveyError, TapeloftError
from tapeloft.model.survey.paper import LARGEST, Paper, read_paper
from tapeloft.model.survey.places import surveyed

SHEET = '''\
unit = "mm"                     # line 1
craft.name = "Saltmarsh Heron"
[survey]
date = 2026-03-15
"measured to" = "structure"
tape = { id = "T3", class.mark = "II" }

[station.2]
at = 1180
C = [
  1355,   # a remark inside
  221,
]
grid = [[1, 2],
        [3, 4]]
[[obstruction]]
name = "step"
x = [1180, 1900]
[[obstruction]]
name = "post"
holes = [
  { at = 1 },
  { at = 2 }]
[[obstruction.fitting]]
name = """
shackle
"""
'k"é' = 1
[option."panel out".set]
"caf\\u00e9" = 3
'''


@pytest.fixture
def survey(tmp_path: Path) -> Path:
    return tmp_path / "locker.toml"


def refused(path: Path | str) -> str:
    with pytest.raises(TapeloftError) as refusal:
        read_paper(path)
    return str(refusal.value)


@pytest.mark.parametrize(
    ("path", "line"),
    [
        (("unit",), 1),
        (("craft",), 2),
        (("craft", "name"), 2),
        (("survey",), 3),
        (("survey", "date"), 4),
        (("survey", "measured to"), 5),
        (("survey", "tape", "id"), 6),
        (("survey", "tape", "class", "mark"), 6),
        (("station", "2"), 8),
        (("station", "2", "C"), 10),
        (("station", "2", "C", 0), 11),
        (("station", "2", "C", 1), 12),
        (("station", "2", "grid", 1, 0), 15),
        (("station", "2", "D"), 8),  # missing: the heading around it
        (("station", "3", "A", 0), 8),  # the tables of stations begin there
        (("obstruction",), 16),
        (("obstruction", 0, "x", 1), 18),
        (("obstruction", 1), 19),
        (("obstruction", 1, "name"), 20),
        (("obstruction", 1, "holes", 1, "at"), 23),
        (("obstruction", 1, "fitting", 0), 24),
        (("obstruction", 1, "fitting", 0, "name"), 25),
        (("obstruction", 1, "fitting", 0, 'k"é'), 28),
        (("option", "panel out", "set", "café"), 30),
        (("drain",), None),
        ((), None),
    ],
)
@pytest.mark.parametrize("ends", ["\n", "\r\n"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
def test_line(survey: Path, path: tuple[str | int, ...], line: int | None, ends: str, mark: str) -> None:
    survey.write_bytes((mark + SHEET.replace("\n", ends)).encode())
    paper = read_paper(survey)
    assert paper.file == str(survey)
    assert paper.data["survey"]["date"] == date(2026, 3, 15)
    assert paper.line(path) == line


def leaves(value: object, path: tuple[str | int, ...] = ()) -> list[tuple[str | int, ...]]:
    if isinstance(value, dict):
        return [path, *(leaf for key, inner in value.items() for leaf in leaves(inner, (*path, key)))]
    if isinstance(value, list):
        return [path, *(leaf for number, inner in enumerate(value) for leaf in leaves(inner, (*path, number)))]
    return [path]


def test_everything_read_has_a_line_of_its_own() -> None:
    assert {path for path in leaves(tomllib.loads(SHEET)) if path} == set(surveyed(SHEET).lines)


def test_a_paper_is_a_value() -> None:
    assert Paper("a.toml", "x = 1", {"x": 1}) == Paper("a.toml", "x = 1", {"x": 1})
    assert len({Paper("a.toml", "x = 1", {"x": 1}), Paper("a.toml", "x = 2", {"x": 2})}) == 2


@pytest.mark.parametrize(
    ("text", "complaint"),
    [
        ("a = 1\nb = 59 3/8 in", ":2: column 8: there is more here than one value"),
        ("a = 1,5", ":1: column 6: there is more here than one value"),
        ("a = 2-3-5", ":1: column 6: there is more here than one value"),
        ("a = 012", ":1: column 6: a number begins with a nought"),
        ("a = [1, -012]", ":1: column 11: a number begins with a nought"),
        ("[a]]", ":1: column 4: there is more here than a heading"),
        ("[[a]", ":1: column 4: the heading is not closed"),
        ("[a\nb = 1", ":1: column 3: the heading is not closed"),
        ("A = [546 0]", ":1: column 10: a list begun here or above is not closed, or a comma is missing"),
        ("A = [546, 0\nB = [1, 2]", ":2: column 1: a list begun here or above"),
        ("A = [546,\n\n", ":1: this value cannot be read"),
        ("a = { b = 1", ":1: a { is not closed"),
        ("a = { b = 1\nc = 2 }", ":1: column 12: a { is not closed"),
        ("just words", ":1: column 6: there is no = after the name"),
        ("just", ":1: there is no = after the name"),
        ("a.= 1", ":1: column 3: there is no name here"),
        ("= 1", ":1: column 1: no line can begin like this"),
        ("höhe = 1", ":1: column 2: there is no = after the name"),
        ("name = cockpit locker", ":1: column 8: this value cannot be read"),
        ("name = ", ":1: this value cannot be read"),
        ("date = 2026-02-30", ":1: column 8: there is no such date"),
        ('csv = "c:\\users"', ":1: column 12: a backslash"),
        ('csv = "c:\\quay"', ":1: column 12: a backslash"),
        ('a = "x\nb = 1', ":1: column 7: a quote is opened and not closed on its line"),
        ('a = "x', ":1: a quote is opened and never closed"),
        ("a = 'x", ":1: a quote is opened and never closed"),
        ('a = """x\n\n', ":1: a quote is opened and never closed"),
        ('a = "\x01"', ":1: column 6: a character that no keyboard types"),
        ("# \x7f", ":1: column 3: a character that no keyboard types"),
        ("a = 1\n\nb = \0", ":3: it holds bytes that are no text"),
        ("[" * 1_000_000, ":1: column 3: there is no name here"),
        ("a = 1\nb = " + "[" * 1_000_000, ":2: the brackets are nested too deep"),
        ("a = " + "{a = " * 100_000, ":1: the brackets are nested too deep"),
        ("a = " + "[" * 1_000_000 + "]" * 1_000_000, ":1: the brackets are nested too deep"),
        ("a" + ".a" * 500_000 + " = 1", ":1: a name has more parts"),
        ("\n[a" + ".a" * 500_000 + "]", ":2: a name has more parts"),
        ("a = 1\nb = " + "9" * 5000, ":2: a number has thousands of digits"),
        ("a = 1\nb = 0x" + "F" * 5000, ":2: a number has thousands of digits"),
    ],
)
def test_what_is_no_toml(survey: Path, text: str, complaint: str) -> None:
    survey.write_text(text, encoding="utf-8")
    said = refused(survey)
    assert said.startswith(f"{survey}{complaint}")
    assert "\n    mend: " in said
    assert len(said) < 500


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("C = 1\nD = 2\nC = 3\nD = 4", [("C", 1, 3), ("D", 2, 4)]),
        ("[station.2]\nC = 1\n[station.2]\nC = 1", [("station.2", 1, 3)]),
        ("[station.2]\nC = [1,\n2]\nC = 1", [("station.2.C", 2, 4)]),
        ("[[post]]\nx = 1\n[[post]]\nx = 1\nx = 2", [("post.x", 4, 5)]),
        ("[[post]]\n[post]", [("post", 1, 2)]),
        ("[post]\n[[post]]", [("post", 1, 2)]),
        ("[post.a]\n[[post]]", [("post", 1, 2)]),
        ("[post.a]\n[post]\na.b = 1", [("post.a", 1, 3)]),
        ("[[post.a]]\n[post]\na.b = 1", [("post.a", 1, 3)]),
        ("a = { b = 1, b = 2 }", [("a.b", 1, 1)]),
        ("a = { b = 1 }\n[a.c]", [("a", 1, 2)]),
        ("a = { b = 1 }\na.c = 1", [("a", 1, 2)]),
        ("a = [1]\n[[a]]", [("a", 1, 2)]),
        ("a.b = 1\n[a]", [("a", 1, 2)]),
        ("a.b = 1\na = 1", [("a", 1, 2)]),
        ("a = 1\n'a' = 1\n[b", [("a", 1, 2)]),
        ('a = 1\na = 2\n"\\q" = 1', [("a", 1, 2)]),
    ],
)
def test_stated_twice(survey: Path, text: str, expected: list[tuple[str, int, int]]) -> None:
    survey.write_text(text)
    with pytest.raises(SurveyError) as refusal:
        read_paper(survey)
    assert [(p.what, p.line) for p in refusal.value.problems] == [
        (f'"{name}" stands here and on line {first} too', second) for name, first, second in expected
    ]


keys = st.sampled_from(["a", "b", "a.b", "b.a", "a.a", "'a'"])
statements = st.one_of(
    keys.map("[{}]".format), keys.map("[[{}]]".format), keys.map("{} = 1".format), keys.map("{} = {{a = 1}}".format)
)


@given(st.lists(statements, max_size=6))
def test_every_repeat_that_stops_the_reader_is_found_and_no_sound_text_has_one(lines: list[str]) -> None:
    text = "\n".join(lines)
    found = surveyed(text)
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        assert found.repeats
        return
    assert not found.repeats
    assert {path for path in leaves(data) if path} == set(found.lines)


def test_encodings(survey: Path) -> None:
    survey.write_bytes("a = 1\nname = 'caf\u00e9'".encode("cp1252"))
    assert ':2: it is not in UTF-8; if it is in Windows-1252 or Latin-1, the first letter amiss is "é"' in refused(
        survey
    )
    survey.write_bytes("a = 1".encode("utf-16"))
    assert "it is in UTF-16" in refused(survey)
    survey.write_bytes("a = 1".encode("utf-16-le"))
    assert "bytes that are no text" in refused(survey)
    survey.write_bytes(bytes(range(256)))
    assert "mend: save it again as UTF-8" in refused(survey)


def test_an_empty_file_is_an_empty_paper(survey: Path) -> None:
    survey.write_bytes(b"")
    paper = read_paper(survey)
    assert (paper.text, paper.data, paper.line(("unit",))) == ("", {}, None)


def test_files_that_cannot_be_read(survey: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    survey.write_text("a = 1")
    assert refused(tmp_path / "lockr.toml").endswith('there is no such file; did you mean "locker.toml"?')
    assert refused(tmp_path / "zzz").endswith("there is no such file")
    assert f"there is no folder {tmp_path / 'no'}" in refused(tmp_path / "no" / "x.toml")
    assert refused(tmp_path).endswith("this is a folder; name the file in it")
    assert "null byte" in refused("x\0y")
    assert "File name too long" in refused("y" * 5000)
    survey.write_bytes(b"#" * (LARGEST + 1))
    assert "longer than 5 MB" in refused(survey)
    survey.unlink()
    with pytest.raises(FileError, match="no such file"):
        read_paper(survey)
    monkeypatch.setattr("builtins.open", _forbidden)
    assert refused(survey).endswith("you may not read this file")


def _forbidden(*_: object) -> None:
    raise PermissionError(13, "Permission denied")


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="the superuser may read everything")
def test_a_file_without_leave_to_read(survey: Path) -> None:
    survey.write_text("a = 1")
    survey.chmod(0)
    assert refused(survey).endswith("you may not read this file")


@given(st.text(max_size=60) | st.text(alphabet="ab.=[]{}\",'#1 \n", max_size=40))
def test_any_text_is_read_or_refused(text: str) -> None:
    with tempfile.TemporaryDirectory() as folder:
        survey = Path(folder, "survey.toml")
        survey.write_text(text, encoding="utf-8")
        try:
            paper = read_paper(survey)
        except SurveyError:
            return
    assert {path for path in leaves(paper.data) if path} == set(surveyed(paper.text).lines)
