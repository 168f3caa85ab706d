"""Tables as spreadsheets save them, and as they arrive when something went wrong on the way."""

import csv
import io
import tempfile
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tapeloft.model.errors import FileError, SurveyError
from tapeloft.model.survey.table import MOST_TOLD, Table, read_table

NEEDED = ["station", "mark", "half_breadth", "height"]
ALLOWED = ["remark"]
ROWS = (
    {"station": "0", "mark": "A", "half_breadth": "546,5", "height": "0", "remark": "by the frame, aft"},
    {"station": "0", "mark": "B", "half_breadth": '38 1/2"', "height": "1 500", "remark": ""},
)


@pytest.fixture
def readings(tmp_path: Path) -> Path:
    return tmp_path / "readings.csv"


def read(path: Path, text: str | bytes) -> Table:
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return read_table(path, NEEDED, ALLOWED)


def problems(path: Path, text: str | bytes) -> list[tuple[int | None, str]]:
    with pytest.raises(SurveyError) as refusal:
        read(path, text)
    assert all(problem.file == str(path) and problem.mend for problem in refusal.value.problems)
    return [(problem.line, problem.what) for problem in refusal.value.problems]


SEMICOLONS = 'station;mark;half_breadth;height;remark\n0;A;546,5;0;by the frame, aft\n0;B;"38 1/2""";1 500;\n'
COMMAS = 'station,mark,half_breadth,height,remark\n0,A,"546,5",0,"by the frame, aft"\n0,B,"38 1/2""",1 500,\n'


@pytest.mark.parametrize(
    "text",
    [
        SEMICOLONS,
        COMMAS,
        SEMICOLONS.replace(";", "\t"),
        SEMICOLONS.replace("\n", "\r\n"),
        COMMAS.replace("\n", "\r"),
        "sep=;\r\n" + SEMICOLONS,
        '"sep=|"\n' + SEMICOLONS.replace(";", "|"),
        "\n ; \n" + SEMICOLONS.replace("\n", "\n;;;;\n"),  # blank rows
        "\n".join(line + ";;" for line in SEMICOLONS.splitlines()),  # empty columns to the right
        SEMICOLONS.replace("station;mark", "Station ; MARK").replace("half_breadth", "Half-Breadth"),
        SEMICOLONS.replace("half_breadth", "half  breadth").replace(";A;", "; \u00a0A ;"),
        SEMICOLONS.replace("1 500;\n", "1 500"),  # the last, empty cell left off, and no line end
        SEMICOLONS.replace("38 1/2", "38 1/2").replace('"38 1/2"""', '38 1/2"'),  # an inch mark without quotes
        "height;remark;station;half_breadth;mark\n0;by the frame, aft;0;546,5;A\n1 500;;0;38 1/2\";B",
        "station;;mark;half_breadth;height;remark\n0;;A;546,5;0;by the frame, aft\n0;;B;38 1/2\";1 500;",
    ],
)  # fmt: skip
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_the_same_table_however_it_was_saved(readings: Path, text: str, encoding: str) -> None:
    assert read(readings, text.encode(encoding)).rows == ROWS


def test_lines_are_those_of_the_file(readings: Path) -> None:
    table = read(readings, '\nstation;mark;half_breadth;height;remark\n0;A;1;2;"two\nlines"\n\n0;B;1;2\n')
    assert table.lines == (3, 6)
    assert table.rows[0]["remark"] == "two\nlines"
    assert read(readings, "sep=;\n" + SEMICOLONS).lines == (3, 4)


def test_columns_are_those_that_are_there(readings: Path) -> None:
    table = read(readings, "mark;station;height;half breadth\nA;0;1;2")
    assert table.columns == ("mark", "station", "height", "half_breadth")
    assert table.rows[0]["remark"] == ""
    assert table.file == str(readings)


HEADINGS = "station,mark,half_breadth,height,remark\n"


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("", [(1, "the table is empty")]),
        ("\n;;;\n\n", [(1, "the table is empty")]),
        (HEADINGS, [(1, "there is nothing under the headings")]),
        ("station,mark,height\n0,A,1", [(1, 'the column "half_breadth" is missing')]),
        ("mark\nA", [(1, f'the column "{name}" is missing') for name in ("station", "half_breadth", "height")]),
        (
            "station,mark,half_breadth,hieght\n0,A,1,2",
            [
                (1, 'no column is called "hieght"; did you mean "height"?'),
                (1, 'the column "height" is missing'),
            ],
        ),
        (HEADINGS.replace("remark", "Mark") + "0,A,1,2,3", [(1, 'two columns are called "mark"')]),
        ("0,A,546,0\n0,B,980,0", [(1, "no heading is known here")]),
        ("station|mark|half_breadth|height\n0|A|1|2", [(1, "no heading is known here")]),
        (HEADINGS + "0,A,546\n0,B,980,0\n0,C", [
            (2, "the row ends after 3 of 5 cells, before height"), (4, "the row ends after 2 of 5 cells, before height")
        ]),
        (HEADINGS + "0,A,546,5,0,\n", [(2, "6 cells under 5 headings")]),  # a decimal comma between commas
        (HEADINGS + "0,A,546,0,by the frame, aft\n", [(2, "6 cells under 5 headings")]),
        ("station,,mark,half_breadth,height\n0,x,A,1,2", [(2, '"x" stands under no heading')]),
        (HEADINGS + '0,A,1,2,"open\n0,B,1,2,\n', [(2, "a quote is opened here and never closed")]),
        (HEADINGS + '0,A,1,2,"box" locker\n', [(2, "a cell goes on after its closing quote")]),
        (HEADINGS + '0,A,1,2,\n1,",1,2,\n2,",1,2,\n', [(3, "a cell runs over more than one line")]),  # ditto marks
        (HEADINGS + "0,A,1,2," + "x" * 200_000, [(2, "a cell is longer than any reading or remark")]),
        (HEADINGS + "0,A\0,1,2,", [(2, "it holds bytes that are no text")]),
        (HEADINGS.encode() + "0,A,1,2,caf\u00e9".encode("cp1252"), [
            (2, 'it is not in UTF-8; if it is in Windows-1252 or Latin-1, the first letter amiss is "é"')
        ]),
        (HEADINGS.encode("utf-16")[:-1], [(None, "it is cut off in the middle of a letter")]),
        (
            "station,mark,half_breadth,height,note,mark\n0,A,1\n0,B,1,2,3,4,5\n",
            [
                (1, 'no column is called "note"; known: station, mark, half_breadth, height, remark'),
                (1, 'two columns are called "mark"'),
                (2, "the row ends after 3 of 6 cells, before mark"),
                (3, "7 cells under 6 headings"),
            ],
        ),
    ],
)  # fmt: skip
def test_all_that_is_wrong_is_told(readings: Path, text: str | bytes, expected: list[tuple[int | None, str]]) -> None:
    assert problems(readings, text) == expected


def test_a_thousand_rows_amiss_are_summed_up(readings: Path) -> None:
    found = problems(readings, HEADINGS + "0,A,546\n" * 1000)
    assert len(found) == MOST_TOLD + 1
    assert found[-1] == (None, f"{1000 - MOST_TOLD} more rows do not fit the headings")


def test_files_that_cannot_be_read(readings: Path, tmp_path: Path) -> None:
    readings.write_text(SEMICOLONS)
    with pytest.raises(FileError, match=r'did you mean "readings\.csv"'):
        read_table(tmp_path / "reading.csv", NEEDED)
    with pytest.raises(FileError, match="this is a folder"):
        read_table(tmp_path, NEEDED)


cells = st.text(st.characters(exclude_categories=["Cs", "Cc"]), max_size=8).map(str.strip)
filled = st.tuples(st.sampled_from("0123"), cells, cells, cells, cells)


@given(
    st.lists(filled, min_size=1, max_size=5),
    st.sampled_from(";,\t"),
    st.sampled_from(["utf-8", "utf-8-sig", "utf-16"]),
    st.booleans(),
    st.permutations(range(5)),
)
def test_what_a_spreadsheet_writes_is_read_back(
    rows: list[tuple[str, ...]], separator: str, encoding: str, quoted: bool, order: list[int]
) -> None:
    names = [*NEEDED, *ALLOWED]
    page = io.StringIO(newline="")
    writer = csv.writer(page, delimiter=separator, quoting=csv.QUOTE_ALL if quoted else csv.QUOTE_MINIMAL)
    writer.writerow([names[number] for number in order])
    writer.writerows([[row[number] for number in order] for row in rows])
    with tempfile.TemporaryDirectory() as folder:
        table = read(Path(folder, "readings.csv"), page.getvalue().encode(encoding))
    assert table.rows == tuple(dict(zip(names, row, strict=True)) for row in rows)


@given(st.text(alphabet='stationmrkhefb_d;,\t"\n\r01 A', max_size=40), st.booleans())
def test_any_text_is_read_or_refused(text: str, headed: bool) -> None:
    with tempfile.TemporaryDirectory() as folder:
        try:
            table = read(Path(folder, "readings.csv"), HEADINGS * headed + text)
        except SurveyError:
            return
    assert len(table.rows) == len(table.lines)
    assert all(list(row) == [*NEEDED, *ALLOWED] for row in table.rows)
