"""A laser meter's list in a sheet: every reading in its own place, or none in any."""

import json
import tomllib
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from tapeloft.cli.app import app
from tapeloft.model import build, read_survey
from tapeloft.model.errors import FileError, SurveyError
from tapeloft.model.survey.filled import filled, wanted
from tapeloft.model.survey.laser import brought_in, paired
from tapeloft.model.survey.laserlist import Held, LaserList, read_list
from tapeloft.model.survey.paper import Paper

SHEET = """# my sheet, "?" where the meter comes
format = "tapeloft-survey"
version = 1
unit = "mm"                       # bare numbers
[survey]
compartment = "locker"            # after locker
[marks]
side = "port"
order = ["A", "B", "C", "D"]

[station.0]                       # at the bulkhead
at = 0                            # zero
[station.1]
  at = 800
  A = [500, 0]   # from the tape, read twice
  B = ["?", 0]   # "?" by the meter
  C = ['?', "s ?"]
  D = [500, "?"]
[check]
0A-0C = "?"
1A-1C = 925
"""
REAR = Held("rear", "rear")


def sheet(text: str = SHEET) -> Paper:
    return Paper("locker.toml", text, tomllib.loads(text))


def listed(folder: Path, text: str | bytes, held: Held = REAR, unit: str | None = None, **how: Any) -> LaserList:
    file = folder / "list.csv"
    file.write_bytes(text.encode() if isinstance(text, str) else text)
    return read_list(file, held, unit, **how)


def problems(folder: Path, text: str | bytes, held: Held = REAR, unit: str | None = None, **how: Any) -> list[str]:
    with pytest.raises(SurveyError) as bad:
        listed(folder, text, held, unit, **how)
    assert all(problem.mend and problem.file for problem in bad.value.problems)
    return [f"{problem.line}: {problem.what}" for problem in bad.value.problems]


# The list


@pytest.mark.parametrize(
    "text",
    [
        "No.;Distance;Unit;Date\n1;0,500;m;2026-05-01\n2;1,234;m;\n",
        "number,value,unit,remark\n1,0.500,m,\n2,1.234,m,by the frame\n",
        "Nr\tReading\tUnits\n1\t500\tmm\n2\t1234\tmm\n",
        "value\n0.5 m\n1,234 m\n",
        "#;Measurement\n1;50 cm\n2;1234 mm\n",
        "\n\nID;Result;Unit;Time\n\n7;0,5;m;10:31\n8;1,2340;m;10:32\n",
        "Nr.;Messwert;Einheit;Datum\n1;500;mm;\n2;1234;mm;\n",
        "ID,Date,Distance [m]\n1,2026-05-01 10:00,0.500\n2,2026-05-01 10:01,1.234\n",
        "N°;Mesure (m)\n1;0,500\n2;1,234\n",
        "sep=;\nnúmero;Länge, mm\n1;500\n2;1234\n",
        "index,length_ft\n1,1.64041994750656\n2,4.04855643044619\n",
        "numero\tmisura/cm\tunità\n1\t50\t\n2\t1234\tmm\n",
    ],
)
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_the_same_readings_however_they_were_saved(tmp_path: Path, text: str, encoding: str) -> None:
    found = listed(tmp_path, text.encode(encoding))
    assert [shot.length for shot in found.shots] == [0.5, 1.234]


def test_a_column_with_a_heading_that_nobody_knows_is_named(tmp_path: Path) -> None:
    text = "номер;значение (m);Reading\n1;0,500;3\n2;1,234;4\n"
    assert [shot.length for shot in listed(tmp_path, text, column="значение").shots] == [0.5, 1.234]
    (said,) = problems(tmp_path, text.replace("Reading", "angle"))
    assert (
        said
        == '1: no column is called value, reading or distance, for the first row has "номер", "значение (m)", "angle"'
    )
    (said,) = problems(tmp_path, text, column="value")
    assert said.startswith("1: no column is called value, for")


@pytest.mark.parametrize(
    ("text", "metres"),
    [("45 3/8 in", 45.375 * 0.0254), ("3' 9\"", 45 * 0.0254), ("1.5 ft", 0.4572), ("0,05 m", 0.05), ("299.9 m", 299.9)],
)
def test_units_of_a_row(tmp_path: Path, text: str, metres: float) -> None:
    """An inch is 25.4 mm, a foot 304.8 mm, exactly (international yard and pound agreement, 1959, from memory)."""
    (shot,) = listed(tmp_path, f"value;remark\n{text};\n").shots
    assert shot.length == pytest.approx(metres, abs=1e-9)


@pytest.mark.parametrize(
    ("held", "length"),
    [
        (Held("rear", "rear"), 1.0),
        (Held("front", "front"), 1.0),
        (Held("rear", "front", 0.12), 0.88),  # the meter's own length is in the reading
        (Held("front", "rear", 0.12), 1.12),  # and here it is not
    ],
)
def test_the_edges_take_the_meters_length_off_or_add_it(tmp_path: Path, held: Held, length: float) -> None:
    (shot,) = listed(tmp_path, "value;unit\n1,0;m\n", held).shots
    assert (shot.raw, shot.length) == (1.0, pytest.approx(length))


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", ["1: the list is empty"]),
        ("value;unit\n", ["1: there is nothing under the headings"]),
        ("1;0,5;m\n2;0,6;m\n", [
            '1: no column is called value, reading or distance, for the first row has "1", "0,5", "m"',
        ]),
        ("value;Distance\n1;2\n", ['1: "value" and "Distance" could both be the value of a reading']),
        ("no;value;unit\n1;Err;m\n2;---;m\n3;;m\n4;Error 255;m\n", [
            '2: "Err" is no reading: the meter had none', '3: "---" is no reading: the meter had none',
            "4: a blank is no reading: the meter had none", '5: "Error 255" is no reading: the meter had none',
        ]),
        ("value;unit\n-0,5;m\n0;m\n", ['2: "-0,5" is not more than nothing', '3: "0" is not more than nothing']),
        ("value;unit\n500;m\n", ['2: "500" m is farther than a meter reaches']),
        ("value;unit\n5;yards long\n", ['2: "5 yards long" cannot be read as a length']),
        ("value;unit\n5;furlong\n", ['2: "furlong" in "5 furlong" is no unit known here']),
        ("value;unit\n5 mm;m\n", ['2: "5 mm" has a unit of its own, and its row states m']),
        ("value\n500\n", ['2: "500" has no unit, and none is stated for it']),
        ("value;unit\n1,234;mm\n", ['2: the comma in "1,234 mm" may divide thousands or be a decimal comma']),
        ("no,value,unit\n1,1,234,m\n", ["2: 4 cells under 3 headings"]),
        ("no;value;unit\n1;2;m\n1;3;m\n", ["3: the number stands on line 2 too"]),
        ("no;value;unit\n3;1;m\n2;2;m\n1;3;m\n", ["3: the numbers run back: the newest reading stands first"]),
        ("no;value;unit\n1;1;m\n3;2;m\n2;3;m\n4;3;m\n", ["4: the numbers run back from here"]),
    ],
)  # fmt: skip
def test_rows_that_are_no_reading_are_told_each(tmp_path: Path, text: str, said: list[str]) -> None:
    assert problems(tmp_path, text) == said


def test_a_reading_shorter_than_the_meter_is_told(tmp_path: Path) -> None:
    (said,) = problems(tmp_path, "value;unit\n0,1;m\n", Held("rear", "front", 0.12))
    assert said == '2: "0,1" is no longer than the meter itself'


def test_a_list_with_the_newest_on_top_is_turned(tmp_path: Path) -> None:
    found = listed(tmp_path, "no;value;unit\n3;1;m\n2;2;m\n1;3;m\n", newest_first=True)
    assert [shot.length for shot in found.shots] == [3, 2, 1]


def test_what_is_odd_is_told_and_kept(tmp_path: Path) -> None:
    found = listed(tmp_path, "no;value;unit;angle\n1;1;m;3\n2;1;m;4\n5;2;m;5\n")
    assert [f"{note.line}: {note.what}" for note in found.notes] == [
        "3: 1 m is what the row before reads too",
        "4: the number before is 2: readings between were taken out, or lost",
        '1: the column "angle" is not read',
    ]
    assert len(found.shots) == 3


def test_a_list_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(FileError, match="there is no such file"):
        read_list(tmp_path / "none.csv", REAR)


@given(st.binary(max_size=60))
def test_any_bytes_are_read_or_refused(tmp_path_factory: pytest.TempPathFactory, data: bytes) -> None:
    for start in (b"", b"no;value;unit\n"):
        file = tmp_path_factory.mktemp("any") / "list.csv"
        file.write_bytes(start + data)
        try:
            found = read_list(file, REAR, "m")
        except SurveyError:
            continue
        assert all(0 < shot.length <= 300 for shot in found.shots)


# What the sheet asks for


def test_readings_are_asked_for_in_the_order_they_are_taken() -> None:
    assert [(one.station, one.measure) for one in wanted(sheet())] == [
        *(("0", f"{mark}, {kind}") for mark in "ABCD" for kind in ("half-breadth", "height")),
        ("1", "B, half-breadth"),
        ("1", "C, half-breadth"),
        ("1", "C, height"),
        ("1", "D, height"),
        ("", "check 0A-0C"),
    ]


def test_a_station_that_closes_to_a_point_asks_for_nothing_and_one_with_its_own_order_for_that() -> None:
    text = SHEET.replace("at = 0   ", 'order = ["A", "B", "C"]\nat = 0   ') + "[station.2]\nat = 900\npoint = [0, 1]\n"
    asked = wanted(sheet(text))
    assert [one.measure[0] for one in asked if one.station == "0"] == list("AABBCC")
    assert not [one for one in asked if one.station == "2"]


def test_a_sheet_that_asks_for_nothing_or_names_no_letters_is_refused() -> None:
    with pytest.raises(SurveyError, match="asks for no reading"):
        wanted(sheet(SHEET.split("[station.0]")[0]))
    with pytest.raises(SurveyError, match="no letters are named"):
        wanted(sheet(SHEET.replace('order = ["A", "B", "C", "D"]', "")))


# The sheet filled


def values(count: int) -> str:
    return "no;value;unit\n" + "".join(f"{k};{0.5 + k / 100:.3f};m\n".replace(".", ",") for k in range(1, count + 1))


def test_nothing_that_was_typed_is_lost(tmp_path: Path) -> None:
    text = SHEET.replace('"s ?"', '"?"')
    paper = sheet(text)
    found = paired(paper, listed(tmp_path, values(13)))
    assert not found.problems
    new = brought_in(paper, found, REAR, "list.csv", 0.002)
    kept = iter(new.splitlines())
    for line in text.splitlines():
        asked = '"?"' in line.split("#")[0] or "'?'" in line
        assert any(here == line or (asked and here.split("=")[0] == line.split("=")[0]) for here in kept), line
    data = tomllib.loads(new)
    assert data["station"]["0"]["A"] == [510, 520]
    assert data["station"]["1"] == {"at": 800, "A": [500, 0], "B": [590, 0], "C": [600, 610], "D": [500, 620]}
    assert data["check"] == {"0A-0C": 630, "1A-1C": 925}
    assert data["accuracy"]["height"] == "2 mm"
    assert '# "?" by the meter' in new


@pytest.mark.parametrize(
    ("unit", "told"),
    [("mm", "1234.5"), ("cm", "123.45"), ("m", "1.2345"), ("in", '"1234.5 mm"'), (None, '"1234.5 mm"')],
)
def test_a_reading_is_written_to_the_last_figure(unit: str | None, told: str) -> None:
    """Metric sheets bare, in their own unit; inches cannot hold every millimetre, so those say mm."""
    text = SHEET.replace('unit = "mm" ', f'unit = "{unit}" ' if unit else "# ")
    paper = sheet(text)
    new = filled(paper, [(one, 1.2345) for one in wanted(paper)])
    assert f"A = [{told}, {told}]" in new
    assert f'C = [{told}, "s {told.strip(chr(34))}"]' in new


def test_line_ends_of_another_system_stay(tmp_path: Path) -> None:
    paper = sheet(SHEET.replace("\n", "\r\n"))
    new = filled(paper, [(one, 1.0) for one in wanted(paper)], "# end\n")
    assert new.count("\n") == new.count("\r\n")
    assert new.replace("\r\n", "\n") == filled(sheet(), [(one, 1.0) for one in wanted(sheet())], "# end\n")


def test_a_sheet_with_an_accuracy_of_its_own_keeps_it(tmp_path: Path) -> None:
    paper = sheet(SHEET + "[accuracy]\nheight = 5\n")
    found = paired(paper, listed(tmp_path, values(13)))
    assert tomllib.loads(brought_in(paper, found, REAR, "list.csv", 0.002))["accuracy"] == {"height": 5}


@pytest.mark.parametrize(
    "station",
    [
        "station = { 5 = { at = 0 } }",
        '[station]\n5 = { at = 0, A = ["?", "?"], B = [1, "?"], remark = "?" }',
        '[station.5]\nat = 0\nA = [\n  "?",\n  "?",\n]\nremark = """\nA = ["?"]\n"""',
        "station.5.at = 0",
        '[station.5]\nat = 0\nremark = "x"\nA = ["?", 1]   # was "?" and "?"',
    ],
)
def test_a_sheet_written_in_another_way_is_filled_right_or_refused(station: str) -> None:
    """Whatever the layout, what comes out holds all that was there and each reading in its place, or nothing does."""
    before, after = SHEET.split("[marks]")[0], 'marks = { side = "port", order = ["A", "B", "C"] }\n'
    top, rest = before.split("[survey]")
    text = f"{top}{after}{station}\n[survey]{rest}"
    paper = sheet(text)
    asked = wanted(paper)
    try:
        new = filled(paper, [(one, (k + 1) / 10) for k, one in enumerate(asked)])
    except SurveyError:
        return
    data: Any = tomllib.loads(new)
    for k, one in enumerate(asked):
        here = data
        for step in one.place:
            here = here[step]
        assert here == (k + 1) * 100


@given(st.integers(0, 25))
def test_too_few_and_too_many_rows_are_told_and_nothing_is_shifted(
    tmp_path_factory: pytest.TempPathFactory, count: int
) -> None:
    folder = tmp_path_factory.mktemp("rows")
    if count == 0:
        return
    found = paired(sheet(), listed(folder, values(count)))
    assert bool(found.problems) == (count != 13)
    if count < 13:
        assert f"{count} readings, and the sheet asks for 13: from this one on" in found.problems[0].what
        assert found.problems[0].measure == wanted(sheet())[count].measure
    if count > 13:
        assert found.problems[0].line == 15  # the fourteenth row, below the headings


def test_a_reading_taken_twice_is_pointed_at(tmp_path: Path) -> None:
    rows = values(13).splitlines()
    twice = [*rows[:6], rows[5].replace("5;", "50;", 1), *rows[6:]]
    found = listed(tmp_path, "\n".join(line.split(";", 1)[1] for line in twice))
    (problem,) = paired(sheet(), found).problems
    assert "line 7 reads what the row before reads" in problem.what


# The command


def ran(folder: Path, *words: object) -> tuple[int, str, str]:
    from typer.testing import CliRunner

    done = CliRunner().invoke(app, ["laser", str(folder / "list.csv"), str(folder / "locker.toml"), *map(str, words)])
    if done.exception and not isinstance(done.exception, SystemExit):
        return 2, "", str(done.exception)
    return done.exit_code, done.stdout, done.stderr


FIRST = [(0.5, 0.002), (0.9, 0.003), (1.1, 0.7), (0.5, 0.72)]
LAST = [(0.5, 0.0), (0.95, 0.0), (1.15, 0.71), (0.5, 0.73)]


def area(corners: NDArray[np.float64]) -> float:
    after = np.roll(corners, -1, axis=0)
    return float((corners[:, 0] * after[:, 1] - after[:, 0] * corners[:, 1]).sum()) / 2


READINGS = (500, 2, 900, 3, 1100, 700, 500, 720, 950, 1150, 710, 730, 922)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "locker.toml").write_text(SHEET.replace('"s ?"', '"?"'), encoding="utf-8")
    rows = "".join(f"{k};{mm / 1000 + 0.118:.3f};m\n".replace(".", ",") for k, mm in enumerate(READINGS, 1))
    (tmp_path / "list.csv").write_text("No.;Distance;Unit\n" + rows, encoding="utf-8")
    return tmp_path


EDGES = ("--counts-from", "rear", "--held-at", "front", "--meter", "118 mm")


def test_the_command_writes_a_survey_that_builds(folder: Path) -> None:
    out = folder / "new.toml"
    before = (folder / "locker.toml").read_bytes()
    status, told, _ = ran(folder, *EDGES, "--to", out, "--accuracy", "2 mm", "--json")
    assert status == 0
    answer = json.loads(told)
    assert answer["added_m"] == pytest.approx(-0.118)
    assert [one["length_m"] for one in answer["readings"]] == pytest.approx([mm / 1000 for mm in READINGS])
    assert (answer["good"], answer["file"], answer["problems"]) == (True, str(out), [])
    (one,) = read_survey(out).compartments
    assert one.stations[0].corners[2].at == (0.0, 1.1, 0.7)
    first, last = (np.array(corners) for corners in (FIRST, LAST))
    prismatoid = (area(first) + 4 * area((first + last) / 2) + area(last)) / 6 * 0.8  # exact between straight ribs
    assert build(one).gross.volume == pytest.approx(prismatoid, rel=1e-9)
    assert (folder / "locker.toml").read_bytes() == before
    assert ran(folder, *EDGES, "--to", out)[0] == 2  # it is there already


def test_the_command_says_which_row_is_which_and_writes_nothing_unasked(folder: Path) -> None:
    status, told, said = ran(folder, *EDGES)
    assert status == 0
    assert "C, height" in told
    assert "name the new survey with --to" in said
    assert sorted(file.name for file in folder.iterdir()) == ["list.csv", "locker.toml"]


def test_the_command_refuses_what_does_not_match(folder: Path) -> None:
    file = folder / "list.csv"
    file.write_text("\n".join(file.read_text(encoding="utf-8").splitlines()[:-1]), encoding="utf-8")
    status, _, said = ran(folder, *EDGES, "--to", folder / "new.toml")
    assert status == 1
    assert "12 readings, and the sheet asks for 13" in said
    assert not (folder / "new.toml").exists()


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--counts-from", "rear", "--held-at", "front"), "its length is needed"),
        ((*EDGES[:-1], "118"), "has no unit"),
        ((*EDGES[:-1], "4 m"), "no such length"),
        ((*EDGES, "--accuracy", "-2 mm"), "no such length"),
    ],
)
def test_the_command_refuses_edges_and_lengths_that_say_nothing(
    folder: Path, words: tuple[str, ...], said: str
) -> None:
    status, _, told = ran(folder, *words)
    assert status == 2
    assert said in told
