"""`tapeloft form`: what it writes and where, what it refuses, and surveys whose readings are still to be taken."""

import io
import json
from functools import partial
from pathlib import Path

import pypdf
import pytest


@pytest.fixture
def run(run):  # type: ignore[no-untyped-def]
    """Run `tapeloft form`."""
    return partial(run, "form")


def text_of(file: Path) -> str:
    return "\n".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(file.read_bytes())).pages)


def test_an_empty_sheet(run, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    file = tmp_path / "sheet.pdf"
    status, out, err = run("--to", file)
    assert (status, out) == (0, "")
    assert err == f"wrote {file}: 4 pages, a4, with 45 check tapes; print it at full size\n"
    assert "STATION 4" in text_of(file)
    assert "STATION 5" not in text_of(file)


def test_as_many_stations_and_letters_as_asked_for(run, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    file = tmp_path / "sheet.pdf"
    words = ("--stations", 7, "--letters", 4, "--side", "across", "--units", "in", "--paper", "letter", "--to", file)
    assert run(*words)[0] == 0
    text = text_of(file)
    assert "STATION 6" in text
    assert "Ap Bp Cp D Cs Bs As" in text
    assert "sixteenths" in text
    page = pypdf.PdfReader(file).pages[0]
    assert [float(side) for side in page.mediabox[2:]] == pytest.approx([612, 792], abs=0.03)


def test_json(run, boat: Path) -> None:  # type: ignore[no-untyped-def]
    file = boat / "sheet.pdf"
    status, out, _ = run(boat, "sail", "--to", file, "--json")
    told = json.loads(out)
    assert status == 0
    assert {key: told[key] for key in ("command", "compartment", "paper", "file")} == {
        "command": "form",
        "compartment": "sail locker",
        "paper": "a4",
        "file": str(file),
    }
    assert told["pages"] == len(pypdf.PdfReader(file).pages)
    assert "0Cp-0Cs" in told["tapes"]


def test_the_same_sheet_is_the_same_file(run, boat: Path) -> None:  # type: ignore[no-untyped-def]
    for name in ("one.pdf", "two.pdf"):
        assert run(boat, "gas", "--to", boat / name, "--readings")[0] == 0
    assert (boat / "one.pdf").read_bytes() == (boat / "two.pdf").read_bytes()


def test_what_is_there_is_kept(run, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    file = tmp_path / "sheet.pdf"
    file.write_text("mine")
    status, out, err = run("--to", file)
    assert (status, out) == (2, "")
    assert "the file is there already" in err
    assert file.read_text() == "mine"
    assert run("--to", file, "--force")[0] == 0
    assert file.read_bytes().startswith(b"%PDF")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--to", "sheet.png"], "the sheet is written as PDF"),
        (["--letters", "2"], "a sheet has 3 to 26 letters"),
        (["--letters", "27"], "a sheet has 3 to 26 letters"),
        (["--stations", "1"], "a sheet has 2 to 99 stations"),
        (["--readings"], "go with a survey"),
        (["{boat}"], 'which compartment? this survey has "sail locker", "chain locker"'),
        (["{boat}", "gas", "--letters", "4"], "the survey says its own"),
        (["{boat}", "gsa locker"], 'did you mean "gas locker"?'),
        (["{boat}/none.toml"], "there is no such file"),
    ],
)
def test_refusals(run, boat: Path, words: list[str], said: str, monkeypatch: pytest.MonkeyPatch) -> None:  # type: ignore[no-untyped-def]
    monkeypatch.chdir(boat)
    status, out, err = run(*(word.format(boat=boat) for word in words))
    assert (status, out) == (2, "")
    assert said in err
    assert "Traceback" not in err
    assert not list(boat.glob("*.pdf"))
    assert not list(boat.glob(".tapeloft*"))


PLANNED = """
format = "tapeloft-survey"
version = 1
unit = "mm"
[survey]
compartment = "quarter locker"
[datum]
x_zero = "after bulkhead"
[marks]
side = "starboard"
order = ["A", "B", "C", "D"]
A = "sole, inboard"
[station.0]
at = 0
[station.1]
at = 650
[station.2]
at = 1200
point = [300, 400]
"""


def test_readings_still_to_be_taken(run, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    """The names, letters and stations are typed first, the sheet is printed, then someone climbs in."""
    survey, file = tmp_path / "quarter.toml", tmp_path / "sheet.pdf"
    survey.write_text(PLANNED, encoding="utf-8")
    status, _, err = run(survey, "--to", file)
    assert status == 0
    assert "its boxes stay empty" in err
    text = text_of(file)
    for known in ("quarter locker", "sole, inboard", "after bulkhead", "STATION 2", "650", "1200", "1A-1C", "0A-1C"):
        assert known in text
    assert "2A" not in text  # it closes to a point there
    status, _, err = run(survey, "--to", tmp_path / "read.pdf", "--readings")
    assert status == 2
    assert "no corners are given" in err


def test_offsets_still_to_be_taken(run, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    survey, file = tmp_path / "chain.toml", tmp_path / "sheet.pdf"
    offsets = "[offsets]\nheights = [0, 120, 370]\n[station.0]\nat = 0\n[station.1]\nat = 500\n"
    head = PLANNED[: PLANNED.index("[marks]")]
    survey.write_text(head + offsets, encoding="utf-8")
    assert run(survey, "--to", file)[0] == 0
    assert "0p bottom-0s top" in text_of(file)
    assert "p 120" in text_of(file)


def test_no_letters_are_no_sheet(run, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    survey = tmp_path / "quarter.toml"
    survey.write_text(PLANNED.replace('order = ["A", "B", "C", "D"]\nA = "sole, inboard"\n', ""), encoding="utf-8")
    status, _, err = run(survey, "--to", tmp_path / "sheet.pdf")
    assert status == 2
    assert "no station has letters" in err
    assert "Traceback" not in err
    assert not (tmp_path / "sheet.pdf").exists()


HOSTILE = {
    "a long name": ("quarter locker", "locker " * 60),
    "a long word": ("after bulkhead", "b" * 400),
    "two lines": ("sole, inboard", "sole\\ninboard\\t!"),
    "letters of other tongues": ("quarter locker", "船 ящик"),
    "many letters": ('order = ["A", "B", "C", "D"]', "order = " + json.dumps([f"M{k}" for k in range(40)])),
    "long letters": ('"B", "C"', '"bilge keel, lower edge, outside", "C"'),
    "dashed letters": ('"B", "C"', '"B-1", "C-1"'),
    "stations of long names": ("[station.1]", '[station."the frame just forward of the fuel tank"]'),
}


@pytest.mark.parametrize("what", HOSTILE)
def test_whatever_is_typed_the_sheet_is_drawn_within_its_margins(run, tmp_path: Path, what: str) -> None:  # type: ignore[no-untyped-def]
    from itertools import combinations

    from tapeloft.model.measuring.filled import form_of, sections_planned
    from tapeloft.model.survey.boat import examined
    from tapeloft.viewer.form.flow import MARGIN
    from tapeloft.viewer.form.ink import Words
    from tapeloft.viewer.form.sheet import laid_out

    survey, file = tmp_path / "quarter.toml", tmp_path / "sheet.pdf"
    survey.write_text(PLANNED.replace(*HOSTILE[what]), encoding="utf-8")
    status, _, err = run(survey, "--to", file)
    assert status == 0
    assert ("no letters for" in err) == (what == "letters of other tongues")
    found = examined(survey)
    (plan,) = found.plans
    for page in laid_out(form_of(plan.survey, sections_planned(plan), found.boat.craft)):
        words = [mark.extent for mark in page.marks if isinstance(mark, Words)]
        assert all(a >= MARGIN and c <= page.size[0] - MARGIN and d <= page.size[1] - MARGIN for a, _, c, d in words)
        for a, b in combinations(words, 2):
            assert a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]
