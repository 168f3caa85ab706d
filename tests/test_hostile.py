"""Whatever is typed amiss has its own message: where it stands, what is wrong in the trade's words, what mends it.

One small survey, one change each. Each row says how the line begins that the message must point at, the place it
must name, and words that it must use; and there must be no second message beside it.
"""

import os
import re
import struct
from pathlib import Path

import pytest

from tapeloft.model.compartment import build
from tapeloft.model.errors import FileError, Problem, SurveyError, TapeloftError
from tapeloft.model.survey.boat import examined, read_survey
from tapeloft.model.survey.oddities import oddities

SHEET = """\
format = "tapeloft-survey"
version = 1
unit = "mm"
[survey]
compartment = "locker"
[marks]
side = "port"
order = ["A", "B", "C", "D"]
[parameter]
step = 165
[station.0]
at = 0
A = [500, 0]
B = [900, 0]
C = [1100, 700]
D = [500, 720]
[station.1]
at = 600
A = [500, 1]
B = [920, 1]
C = [1120, 705]
D = [500, 725]
[station.2]
at = 1300
A = [500, 2]
B = [930, 2]
C = [1130, 710]
D = [500, 730]
[[obstruction]]
name = "tank"
shape = "box"
x = [200, 500]
y = ["starboard", 800]
z = ["bottom", "=step"]
"""
HEAD = SHEET[: SHEET.index("[station.0]")].replace("version = 1", 'version = 1\nreadings = "readings.csv"')
TABLE = """\
station;at;mark;half-breadth;height
0;0;A;500;0
0;;B;900;0
0;;C;1100;700
0;;D;500;720
1;600,25;A;500;1
1;;B;920;1
1;;C;1120,5;705
1;;D;500;725
"""
POST = '[[obstruction]]\nname = "post"\nshape = "post"\nx = 700\ny = 700\ndiameter = 70\n'
PANEL = '[[obstruction]]\nname = "panel"\nshape = "panel"\n'


def all_problems(path: Path) -> list[Problem]:
    """Return what reading and then building say is wrong."""
    found = examined(path)
    problems = list(found.problems)
    for survey in found.boat.compartments:
        try:
            build(survey)
        except SurveyError as bad:
            problems += bad.problems
    return problems


def line_of(text: str, begins: str) -> int:
    lines = [number for number, line in enumerate(text.splitlines(), 1) if line.startswith(begins)]
    assert len(lines) == 1, f"{begins!r} must begin one line of the changed survey"
    return lines[0]


def changed(text: str, old: str, new: str) -> str:
    assert text.count(old) == 1, f"{old!r} must stand once in the survey"
    return text.replace(old, new)


def check_one(problems: list[Problem], file: Path, line: int, place: str, what: str, mend: str) -> None:
    assert [str(p) for p in problems[1:]] == []
    (problem,) = problems
    spot = ", ".join(filter(None, ["locker", problem.station and f"station {problem.station}", problem.measure]))
    assert (problem.file, problem.line, spot) == (str(file), line, ", ".join(filter(None, ["locker", place])))
    assert what in problem.what
    assert mend in problem.mend


# old text, new text | the line pointed at begins | place | what is wrong | what mends it
WRONG = {
    # stations
    "out of order": (
        "at = 1300", "at = 450",
        "at = 450", "station 2, at", "lies at 450 mm, before station 1 at 600 mm", "in order along the tape"),
    "out of order by a lost figure": (
        "at = 1300", "at = 130",
        "at = 130", "station 2, at", "before station 1", "1300 mm at station 2 would fit"),
    "doubled by mistake": (
        'at = 600\nA = [500, 1]\nB = [920, 1]\nC = [1120, 705]\nD = [500, 725]',
        'at = 0 # again\nA = [500, 0]\nB = [900, 0]\nC = [1100, 700]\nD = [500, 720]',
        "at = 0 #", "station 1, at", "same distance and read the same", "take one out"),
    "at one distance": (
        "at = 600", "at = 0  # again",
        "at = 0  #", "station 1, at", "stations 0 and 1 are at the same distance", "add step = true; else"),
    "a station twice": (
        "[station.1]", "[station.0] # again",
        "[station.0] #", "", '"station.0" stands here and on line 11 too', "take one of them out"),
    "a step from nothing": (
        "at = 0\n", "at = 0\nstep = true\n",
        "step = true", "station 0, step", "nothing comes before the first station", "take step out"),
    "a step on its own": (
        "at = 1300", "at = 600 # too\nstep = true",
        "[station.2]", "station 2", "a step needs a station on either side of it", "where the space goes on"),
    "a step at another distance": (
        "at = 1300", "at = 1300\nstep = true",
        "at = 1300", "station 2, at", "a step has the distance of the station before it", "the same distance"),
    "a point between": (
        "A = [500, 1]\nB = [920, 1]\nC = [1120, 705]\nD = [500, 725]", "point = [700, 300]",
        "[station.1]", "station 1", "the section has no area", "only the first and the last station"),
    "a section written twice": (
        "at = 600", "at = 600\npoint = [700, 300]",
        "[station.1]", "station 1", "the section is written in two ways at once", "give lettered corners, or points"),
    "no distance": (
        "at = 600\n", "",
        "[station.1]", "station 1", "at is missing", "distance from zero"),
    # corners
    "crossing edges": (
        "B = [920, 1]\nC = [1120, 705]", "C = [920, 1]\nB = [1120, 705]",
        "[station.1]", "station 1", "the line A-B crosses the line C-D", "are two letters exchanged?"),
    "one section the other way round": (
        "A = [500, 1]\nB = [920, 1]\nC = [1120, 705]", "C = [500, 1]\nB = [920, 1]\nA = [1120, 705]",
        "[station.1]", "station 1", "run the other way round here", "two letters exchanged"),
    "twist between stations": (
        "A = [500, 1]\nB = [920, 1]\nC = [1120, 705]\nD = [500, 725]",
        "B = [500, 1]\nC = [920, 1]\nD = [1120, 705]\nA = [500, 725]",
        "[station.1]", "station 1", "letters are turned round: B stands here where A does", "letter the corners anew"),
    "a corner twice": (
        "B = [920, 1]", "A = [920, 1]",
        "A = [920, 1]", "", '"station.1.A" stands here and on line 19 too', "take one of them out"),
    "a corner twice in the order": (
        '"B", "C", "D"]', '"B", "C", "D", "B"]',
        "order", "marks, order", "mark B is named twice", "take one out"),
    "another order": (
        "at = 600", 'at = 600\norder = ["A", "C", "B", "D"] #',
        'order = ["A", "C"', "station 1, order", "named in another order here", "keep to A, B, C, D"),
    "an unknown corner": (
        "C = [1120, 705]", "F = [1120, 705]",
        "F = ", "station 1, F", 'unknown key or mark "F"; known: A, B, C, D', "name it under [marks] order"),
    "a blank mark": (
        '"D"]', '"D", " "]',
        "order", "marks, order", '" " is no mark', "give each corner a letter"),
    "a station's name over two lines": (
        "[station.1]", '[station."1\\n"]',
        "[station.\"1", "station 1\n", '"1·" is no name for a station', "give it a number"),
    "two corners only": (
        "C = [1120, 705]\nD = [500, 725]", "",
        "[station.1]", "station 1", "2 corners make no section", "three or more"),
    "no height": (
        "B = [920, 1]", "B = [920]",
        "B = [920]", "station 1, B", "1 value where 2 or 3 are needed", "[half-breadth, height"),
    "no brackets": (
        "B = [920, 1]", "B = 920",
        "B = 920", "station 1, B", "920 stands where a list should", "[ …, … ]"),
    # bulkheads
    "raked bulkheads that cross": (
        "at = 600", "at = 600\nrake = [800, 700]",
        "[station.2]", "station 2", "at C, D this station lies 129 mm aft of station 1: the two", "the rake of both"),
    "a rake over nothing": (
        "at = 1300", "at = 1300\nrake = [10, 0]",
        "rake", "station 2, rake", "over no height", "how far forward, over how much"),
    "a bulkhead not flat": (
        "D = [500, 730]", "D = [500, 730, 1320]",
        "[station.2]", "station 2", "the bulkhead is not flat: one corner stands 20 mm off", "its distance again"),
    # obstructions
    "outside": (
        'y = ["starboard", 800]', 'y = ["s 600", "s 800"]',
        "[[obstruction]]", 'obstruction "tank"', "stands wholly outside the space", "was the side or the datum"),
    "swallowing everything": (
        "x = [200, 500]\ny = [\"starboard\", 800]\nz = [\"bottom\", \"=step\"]\n", "",
        "[[obstruction]]", 'obstruction "tank"', "fills the whole space", "read its sizes again"),
    "no size": (
        "x = [200, 500]", "x = [200, 200]",
        "[[obstruction]]", 'obstruction "tank"', "it has no size in x", "read its sizes again"),
    "a size with a sign": (
        '[[obstruction]]\nname = "tank"', POST.replace("70\n", "-70\n", 1) + '[[obstruction]] #\nname = "tank"',
        "diameter", 'obstruction "post", diameter', "-70 is too small", "sizes have no sign"),
    "no such shape": (
        'shape = "box"', 'shape = "boks"',
        "shape", 'obstruction "tank", shape', 'no shape "boks"; known: box, cylinder', "a known shape"),
    "the wrong wall": (
        "x = [200, 500]", 'x = ["top", 500]',
        "x = ", 'obstruction "tank", x', '"top" is no reading here', '"aft" or "forward"'),
    # units and numbers
    "metres on a sheet in millimetres": (
        "at = 600", "at = 0.6",
        "unit", "unit", "the whole space is 1.3 mm at its largest", "were these metres"),
    "millimetres on a sheet in metres": (
        'unit = "mm"', 'unit = "m"',
        "unit", "unit", "readings are longer than any vessel, if they are in m", "is the unit another?"),
    "no unit": (
        'unit = "mm"', "# no unit",
        None, "unit", "no unit is stated for bare numbers", 'unit = "mm"'),
    "no such unit": (
        'unit = "mm"', 'unit = "millimetres"',
        "unit", "unit", '"millimetres" is none of "mm", "cm"', "choose one"),
    "no side": (
        'side = "port"', "# no side",
        "[marks]", "marks", "half-breadths do not say which side they are on", 'side = "port" or "starboard"'),
    "NaN": (
        "B = [920, 1]", "B = [nan, 1]",
        "B = [nan", "station 1, B", "nan is not a figure that can be read off a tape", "write the reading itself"),
    "infinite": (
        "B = [920, 1]", "B = [920, -inf]",
        "B = [920, -", "station 1, B", "-inf is not a figure that can be read off a tape", "write the reading itself"),
    "blank": (
        "B = [920, 1]", 'B = ["", 1]',
        'B = [""', "station 1, B", "only a blank", "write the reading"),
    "text in a number": (
        "B = [920, 1]", 'B = ["about 920", 1]',
        'B = ["a', "station 1, B", '"about 920" cannot be read as a length', "write a number and its unit"),
    "true for a number": (
        "B = [920, 1]", "B = [true, 1]",
        "B = [true", "station 1, B", "true is no measure", "write a number"),
    "a wall for a number": (
        "B = [920, 1]", 'B = ["port", 1]',
        'B = ["port', "station 1, B", '"port" is no reading here', "write the reading itself"),
    "a sign": (
        "B = [920, 1]", "B = [-920, 1]",
        "B = [-920", "station 1, B", "-920 has a sign", "name the side"),
    "a sign behind a side": (
        "B = [920, 1]", 'B = ["p -920", 1]',
        'B = ["p', "station 1, B", '"p -920" has a sign', "name the side"),
    "a comma": (
        "B = [920, 1]", 'B = ["1,920", 1]',
        'B = ["1,', "station 1, B", "may divide thousands or be a decimal comma", "write 1920 or 1.920"),
    "eleven eighths": (
        "B = [920, 1]", 'B = ["3-0-11", 1]',
        'B = ["3-', "station 1, B", "eighths", ""),
    "a number of 400 digits": (
        "B = [920, 1]", f"B = [{'9' * 400}, 1]",
        "B = [99", "station 1, B", "a number of more than 40 digits", "write the reading itself"),
    # names and keys
    "unknown key": (
        'compartment = "locker"', 'compartment = "locker"\nmeasured_too = "lining"',
        "measured_too", "survey, measured_too", 'did you mean "measured_to"?', "correct it or take it out"),
    "unknown key of a station": (
        "at = 600", 'at = 600\nremrk = "wet"',
        "remrk", "station 1, remrk", 'did you mean "remark"?', "correct it or take it out"),
    "unknown key of the marks": (
        'side = "port"', 'side = "port"\nordr = ["A"]',
        "ordr", "marks, ordr", 'did you mean "order"?', "correct it or take it out"),
    "unknown key of an obstruction": (
        'shape = "box"', 'shape = "box"\nremoveable = true',
        "removeable", 'obstruction "tank", removeable', 'did you mean "removable"?', "correct it or take it out"),
    "unknown table": (
        "[parameter]", "[parameters] #\nstep = 1\n[parameter]",
        "[parameters]", "parameters", 'did you mean "parameter"?', "correct it or take it out"),
    "two obstructions of one name": (
        '[[obstruction]]\nname = "tank"',
        POST.replace('"post"\nshape', '"tank"\nshape') + '[[obstruction]] # 2\nname = "tank"',
        "[[obstruction]] #", 'obstruction "tank"', 'two obstructions are called "tank"', "rename one"),
    "two drains of one name": (
        "[parameter]", '[[drain]]\nname = "d"\ndiameter = 25\n[[drain]] # 2\nname = "d"\ndiameter = 25\n[parameter]',
        "[[drain]] #", 'drain "d"', 'two drains are called "d"', "rename one"),
    "a blank name": (
        'name = "tank"', 'name = " "',
        "name", 'obstruction " ", name', "is no name", "give it a name"),
    "a twin of the same name": (
        "[parameter]", '[twin]\nname = "Locker" # her sister\'s\n[parameter]',
        'name = "Locker"', "twin, name", 'two compartments are called "Locker"', "rename one"),
    "a check tape to nowhere": (
        "[parameter]", "[check]\n1A-1F = 100\n[parameter]",
        "1A-1F", "check, 1A-1F", '"1A-1F" does not name two corners; known: 0A, 0B', 'write station and mark: "1A-1D"'),
    # parameters
    "circular parameters": (
        "step = 165", 'step = "=riser + 5"\nriser = "=step - 5"',
        "step", "parameter, step", "in a circle: step → riser → step", "a measured length"),
    "division by zero": (
        "step = 165", 'step = "=165 / (3 - 3)"',
        "step", "parameter, step", "divides by nothing", "under the stroke"),
    "unknown parameter": (
        '"=step"', '"=stp"',
        "z = ", 'obstruction "tank", z', '"stp" is no parameter; did you mean "step"?', "state it under [parameter]"),
    "an area": (
        '"=step"', '"=step * step"',
        "z = ", 'obstruction "tank", z', "an area, not a length", "divide it"),
    "an option that sets nothing known": (
        "[parameter]", '[option."bin out"]\nset = { stp = 5 }\n[parameter]',
        "set = ", 'option "bin out", set, stp', 'no parameter is called "stp"; did you mean "step"?', "[parameter]"),
    "an option that leaves out nothing known": (
        "[parameter]", '[option."bin out"]\nleave_out = ["tnak"]\n[parameter]',
        "leave_out", 'option "bin out", leave_out', 'nothing called "tnak"', "name an obstruction"),
    "an option with a bad reading": (
        "[parameter]", '[option."bin out".station.1]\nB = ["p q", 3]\n[parameter]',
        'B = ["p', 'station 1, option "bin out", B', '"q" cannot be read', "write a number"),
    # what kind of file it is
    "no survey": (
        'format = "tapeloft-survey"\n', "",
        None, "format", "does not say that it is a survey", 'format = "tapeloft-survey"'),
    "another format": (
        '"tapeloft-survey"', '"tapeloft-survay"',
        "format", "format", 'did you mean "tapeloft-survey"?', "correct it"),
    "a later version": (
        "version = 1", "version = 2",
        "version", "version", "version 2 of the format is not known", "the program that the file was written for"),
    "a version in quotes": (
        "version = 1", 'version = "1"',
        "version", "version", 'version "1" of the format', "write version = 1"),
}  # fmt: skip
WHOLE_FILE = {"a station twice", "a corner twice"}  # told before the compartment's name is read
NAMELESS = {"no survey", "another format", "a later version", "a version in quotes"}


@pytest.mark.parametrize("change", WRONG)
def test_refused_with_its_own_message(tmp_path: Path, change: str) -> None:
    old, new, begins, place, what, mend = WRONG[change]
    text = changed(SHEET, old, new)
    if change == "metres on a sheet in millimetres":
        text = in_metres(SHEET)
    file = tmp_path / "locker.toml"
    file.write_text(text)
    problems = all_problems(file)
    if change in WHOLE_FILE | NAMELESS:
        assert {p.compartment for p in problems} == {""} if change in WHOLE_FILE else True
        problems = [Problem(p.what, p.mend, p.file, p.line, "locker", p.station, p.measure) for p in problems]
    line = None if begins is None else line_of(text, begins)
    check_one(problems, file, line, place, what, mend)  # type: ignore[arg-type]


def in_metres(sheet: str) -> str:
    """Return the sheet with every bare length a thousandth, and the unit as it was."""
    head, mark, rest = sheet.partition("[parameter]")
    return head + mark + re.sub(r"(?<=[ \[])\d+(?=[,\]\n])", lambda found: str(int(found[0]) / 1000), rest)


def test_the_survey_itself_is_sound(tmp_path: Path) -> None:
    file = tmp_path / "locker.toml"
    file.write_text(SHEET)
    (survey,) = read_survey(file).compartments
    assert build(survey).notes == ()


# old text, new text | the line pointed at begins | place | what to look at again | what may mend it
ODD = {
    "a clockwise section": (
        "A = [500, 1]\nB = [920, 1]\nC = [1120, 705]\nD = [500, 725]",
        "points = [[500, 725], [1120, 705], [920, 1], [500, 1]]",
        "[station.1]", "station 1", "runs clockwise; it was taken the other way round", "the same way round"),
    "every section clockwise": (
        '["A", "B", "C", "D"]', '["D", "C", "B", "A"]',
        "order", "marks, order", "the marks run clockwise", "nothing, if the corners are right"),
    "corners without letters": (
        "A = [500, 1]\nB = [920, 1]\nC = [1120, 705]\nD = [500, 725]",
        "points = [[500, 1], [920, 1], [1120, 705], [500, 725]]",
        "[station.1]", "station 1", "no letters at station 1: which meets which was guessed", "chalk a letter"),
    "a corner not read at one station": (
        "C = [1120, 705]\n", "",
        "[station.1]", "station 1", "C is read at other stations and not here", "read it"),
    "stations spaced by more than three": (
        "at = 600", "at = 1000",
        "[station.0]", "", "the distance between stations goes from 300 to 1000 mm", "a station more"),
    "a half-breadth a figure short": (
        "B = [930, 2]", "B = [93, 2]",
        "B = [93,", "station 2, B", "93 mm looks wrong, for its neighbours say about 930 mm", "read it again"),
    "a half-breadth a figure long": (
        "B = [920, 1]", "B = [9200, 1]",
        "B = [9200", "station 1, B", "for its neighbours say about 920 mm: a figure too many", "read it again"),
    "a height in centimetres": (
        "C = [1120, 705]", "C = [1120, 70.5]",
        "C = [1120, 70.5", "station 1, C", "about 705 mm: a figure too few, or centimetres", "read it again"),
    "a height in inches": (
        "D = [500, 725]", "D = [500, 28.5]",
        "D = [500, 28", "station 1, D", "about 724 mm: inches among millimetres?", "read it again"),
    "a height in metres": (
        "D = [500, 725]", "D = [500, 0.725]",
        "D = [500, 0.7", "station 1, D", "about 725 mm: metres among millimetres?", "read it again"),
    "a distance a figure short": (
        "at = 600", "at = 60",
        "at = 60", "station 1, at", "60 mm looks wrong, for its neighbours say about 600 mm", "read it again"),
    "a distance a figure long": (
        "at = 1300", "at = 13000",
        "at = 13000", "station 2, at", "13000 mm looks wrong, for its neighbours say about 1300 mm", "read it again"),
    "a corner far from its station": (
        "D = [500, 730]", "D = [500, 730, 4000]",
        "D = [500, 730", "station 2, D", "lies 2700 mm from its station, fore and aft", "its own distance again"),
    "a check tape a figure short": (
        "[parameter]", "[check]\n0A-0C = 92.2\n0A-1C = 1102\n[parameter]",
        "0A-0C", "check, 0A-0C", "92.2 mm looks wrong, for its corners are 922 mm apart", "read the tape again"),
    "a check tape in inches": (
        "[parameter]", "[check]\n0A-0C = 36.3\n[parameter]",
        "0A-0C", "check, 0A-0C", "922 mm apart: inches among millimetres?", "read the tape again"),
    "a station in centimetres": (
        "A = [500, 1]\nB = [920, 1]\nC = [1120, 705]\nD = [500, 725]",
        "A = [50, 0.1]\nB = [92, 0.1]\nC = [112, 70.5]\nD = [50, 72.5]",
        "[station.1]", "station 1", "6 readings look wrong", "the whole station read in another unit?"),
    "floating": (
        'z = ["bottom", "=step"]', "z = [13, 165]",
        "[[obstruction]]", 'obstruction "tank"', "floats 12 mm above what is below it", 'start its z at "bottom"'),
    "floating by less than a millimetre": (
        'z = ["bottom", "=step"]', "z = [0.95, 165]",
        "[[obstruction]]", 'obstruction "tank"', "floats 0.12 mm above", 'start its z at "bottom"'),
    "floating in the middle of the space": (
        'y = ["starboard", 800]\nz = ["bottom", "=step"]', "y = [600, 800]\nz = [302, 400]",
        "[[obstruction]]", 'obstruction "tank"', "floats 301 mm above", "else nothing"),
    "a post that falls short": (
        "[parameter]", POST + 'z = ["bottom", 712]\n[parameter]',
        "name = \"post\"", 'obstruction "post"', "mm short of what is above it", 'end its z at "top"'),
    "a panel that falls short": (
        "[parameter]", PANEL + 'x = [800, 812]\ny = ["starboard", 1115]\n[parameter]',
        "name = \"panel\"", 'obstruction "panel"', "short of the port wall: the space stays one bay", "leave out"),
    "a panel that falls short twice": (
        "[parameter]", PANEL + 'x = [800, 812]\ny = [501, "port"]\nz = ["bottom", 720]\n[parameter]',
        "name = \"panel\"", 'obstruction "panel"', "short of the starboard wall and the deck", "leave out the side"),
}  # fmt: skip
ABOVE = {"a post that falls short", "a panel that falls short", "a panel that falls short twice"}
ALSO_UNEVEN = {"a distance a figure short", "a distance a figure long"}


@pytest.mark.parametrize("change", ODD)
def test_worth_a_second_look(tmp_path: Path, change: str) -> None:
    old, new, begins, place, what, mend = ODD[change]
    text = changed(SHEET, old, new)
    file = tmp_path / "locker.toml"
    file.write_text(text)
    found = examined(file)
    assert found.problems == ()
    (survey,) = found.boat.compartments
    problems: tuple[Problem, ...] = ()
    try:
        notes = list(build(survey).notes)
    except SurveyError as bad:  # what a slip does to the space may forbid it; it is looked at all the same
        notes, problems = oddities(survey), bad.problems
    slips = {note for note in notes if re.search("looks? wrong", note.what)}
    assert not problems or slips <= set(problems)
    if change in ALSO_UNEVEN:
        notes = [note for note in notes if "distance between stations goes from" not in note.what]
    if change == "a clockwise section":
        notes = [note for note in notes if "guessed" not in note.what]
    check_one(notes, file, line_of(text, begins) - (change in ABOVE), place, what, mend)


def test_a_clockwise_section_is_mended(tmp_path: Path) -> None:
    file = tmp_path / "locker.toml"
    file.write_text(SHEET)
    straight = build(*read_survey(file).compartments).gross.volume
    file.write_text(changed(SHEET, *ODD["every section clockwise"][:2]))
    assert build(*read_survey(file).compartments).gross.volume == pytest.approx(straight, rel=1e-12)


def stations(readings: dict[str, list[list[float]]], along: list[float]) -> str:
    rows = []
    for k, x in enumerate(along):
        rows += [f"[station.{k}]", f"at = {x}", *(f"{mark} = {line[k]}" for mark, line in readings.items())]
    return SHEET[: SHEET.index("[parameter]")] + "\n".join(rows) + "\n"


ALONG = [0, 500, 1000, 1500, 2000, 2500]
FAIR = {
    "A": [[500, z] for z in (0, 1, 3, 3, 1, 0)],
    "B": [[y, z] for y, z in ((900, 0), (950, 1), (985, 3), (1001, 3), (996, 1), (970, 0))],
    "C": [[y, z] for y, z in ((1100, 700), (1161, 706), (1203, 714), (1219, 721), (1214, 730), (1190, 741))],
    "D": [[500, z] for z in (720, 727, 736, 741, 750, 761)],
}


def test_a_corner_that_leaves_the_line_of_its_neighbours(tmp_path: Path) -> None:
    file = tmp_path / "locker.toml"
    for off, notes in ((0, []), (12, []), (90, [("3", "C")])):
        readings = FAIR | {"C": [[y + off * (k == 3), z] for k, (y, z) in enumerate(FAIR["C"])]}
        file.write_text(stations(readings, ALONG))
        told = build(*read_survey(file).compartments).notes
        assert [(note.station, note.measure) for note in told] == notes
    assert "lies 101 mm off the line of its neighbours" in told[0].what


def test_a_section_that_departs_from_its_neighbours(tmp_path: Path) -> None:
    file = tmp_path / "locker.toml"
    lower = {mark: [[y, z - 80 * (k == 2)] for k, (y, z) in enumerate(line)] for mark, line in FAIR.items()}
    file.write_text(stations(lower, ALONG))
    (note,) = build(*read_survey(file).compartments).notes
    assert (note.station, note.measure) == ("2", "")
    assert "most of the section lies" in note.what
    assert "its datum again" in note.mend


# what is done to the table | line | station and mark | what is wrong | what mends it
TABLES = {
    "decimal points and commas between": (lambda t: t.replace(",", ".").replace(";", ","), None),
    "tabs between": (lambda t: t.replace(";", "\t"), None),
    "a byte order mark": (lambda t: "\ufeff" + t, None),
    "UTF-16": (lambda t: t.encode("utf-16"), None),
    "commas between decimal commas": (
        lambda t: t.replace(";", ","), (6, "", "6 cells under 5 headings", "decimal commas want semicolons")),
    "a column missing": (
        lambda t: "\n".join(row.rpartition(";")[0] for row in t.splitlines()),
        (1, "", 'the column "height" is missing', "add it, or correct the heading")),
    "a heading misspelt": (
        lambda t: t.replace("mark", "marck"), (1, "", 'called "marck"; did you mean "mark"?', "correct it")),
    "a short row": (
        lambda t: t.replace("1100;700", "1100"), (4, "", "ends after 4 of 5 cells, before height", "separator")),
    "a long row": (
        lambda t: t.replace("1100;700", "1100;700;8"), (4, "", "6 cells under 5 headings", "semicolons")),
    "a mark twice": (
        lambda t: t.replace("0;;C", "0;;B"),
        (4, "station 0, B", "mark B is read twice at this station, on lines 3 and 4", "correct its mark")),
    "text for a number": (
        lambda t: t.replace("1100", "wet"), (4, "station 0, C", '"wet" cannot be read as a length', "a number")),
    "NaN": (
        lambda t: t.replace("1100", "NaN"), (4, "station 0, C", "not a figure that can be read off a tape", "")),
    "a blank for a number": (
        lambda t: t.replace("1100", ""), (4, "station 0, C", "only a blank", "write the reading")),
    "a comma that may divide thousands": (
        lambda t: t.replace("1100", "1,100"), (4, "station 0, C", "may divide thousands", "write 1100 or 1.100")),
    "no distance": (
        lambda t: t.replace("1;600,25", "1;"), (6, "station 1", "at is missing", "distance from zero")),
    "no station": (
        lambda t: t.replace("0;;C", ";;C"), (4, "", "does not say which station", "in every row")),
    "no mark": (
        lambda t: t.replace("0;;C", "0;;"), (4, "station 0", "the row has no mark", "the corner's letter")),
    "an unknown mark": (
        lambda t: t.replace("0;;C", "0;;F"), (4, "station 0, F", 'unknown key or mark "F"', "[marks] order")),
    "Latin-1": (
        lambda t: t.replace("mark", "märk").encode("latin-1"), (1, "", 'the first letter amiss is "ä"', "as UTF-8")),
    "nothing": (lambda t: "", (1, "", "the table is empty", "station, half_breadth, height")),
    "a quote left open": (
        lambda t: t.replace("0;;D", '0;;"D'), (5, "", "a quote is opened here and never closed", "close the quote")),
}  # fmt: skip


@pytest.mark.parametrize("change", TABLES)
def test_tables(tmp_path: Path, change: str) -> None:
    do, expected = TABLES[change]
    file, table = tmp_path / "locker.toml", tmp_path / "readings.csv"
    file.write_text(HEAD)
    table.write_text(TABLE)
    sound = build(*read_survey(file).compartments).net.volume
    text = do(TABLE)
    table.write_bytes(text if isinstance(text, bytes) else text.encode())
    problems = all_problems(file)
    if expected is None:
        assert problems == []
        assert build(*read_survey(file).compartments).net.volume == sound
        return
    line, place, what, mend = expected
    same_kind = [p for p in problems if p.what == problems[0].what]
    assert len(same_kind) == len(problems)
    check_one(problems[:1], table, line, place, what, mend)


TETRAHEDRON = [(0, 2, 1), (0, 1, 3), (0, 3, 2), (1, 2, 3)]
CORNERS = [(0, 0, 0), (200, 0, 0), (0, 200, 0), (0, 0, 200)]


def stl(faces: list[tuple[int, int, int]], corners: list[tuple[int, int, int]]) -> bytes:
    facets = [struct.pack("<12fH", 0, 0, 0, *(v for k in face for v in corners[k]), 0) for face in faces]
    return bytes(80) + struct.pack("<I", len(facets)) + b"".join(facets)


def moved(by: int) -> list[tuple[int, int, int]]:
    return [(x + by, y, z) for x, y, z in CORNERS]


MESHES = {
    "holes": (stl(TETRAHEDRON[:3], CORNERS), "is not closed: 3 open edges in 1 hole", "close it"),
    "zero size": (stl(TETRAHEDRON, [(0, 0, 0)] * 4), "has no size", ""),
    "flat": (stl(TETRAHEDRON, [(x, y, 0) for x, y, _ in CORNERS]), "", ""),
    "50 million triangles in 200 bytes": (
        (bytes(80) + struct.pack("<I", 50_000_000) + bytes(116)), "declares 50000000 triangles", "save it again"),
    "nothing": (b"", "is empty", ""),
    "no mesh": (b"half-breadth;height\n1;2\n", "", ""),
}  # fmt: skip
MESH = '[[obstruction]]\nname = "casting"\nshape = "mesh"\nunit = "mm"\nat = [800, 600, 100]\nfile = "casting.stl"\n'


@pytest.mark.parametrize("change", MESHES)
def test_meshes_refused(tmp_path: Path, change: str) -> None:
    data, what, mend = MESHES[change]
    text = SHEET + MESH
    (tmp_path / "locker.toml").write_text(text)
    (tmp_path / "casting.stl").write_bytes(data)
    place = 'obstruction "casting", file'
    problems = all_problems(tmp_path / "locker.toml")
    check_one(problems, tmp_path / "locker.toml", line_of(text, "file = "), place, f'"casting.stl" {what}', mend)


@pytest.mark.parametrize(
    ("data", "note", "litres"),
    [
        (stl(TETRAHEDRON, CORNERS), None, 4 / 3),
        (stl([face[::-1] for face in TETRAHEDRON], CORNERS), "was inside out, and is turned", 4 / 3),
        (
            stl([*TETRAHEDRON, *((a + 4, b + 4, c + 4) for a, b, c in TETRAHEDRON)], [*CORNERS, *moved(250)]),
            "holds 2 separate bodies, which stand as one obstruction",
            8 / 3,
        ),
    ],
    ids=["sound", "inside out", "two bodies"],
)
def test_meshes_mended(tmp_path: Path, data: bytes, note: str | None, litres: float) -> None:
    (tmp_path / "locker.toml").write_text(SHEET + MESH)
    (tmp_path / "casting.stl").write_bytes(data)
    built = build(*read_survey(tmp_path / "locker.toml").compartments)
    assert [n.what for n in built.notes if "floats" not in n.what] == ([note] if note else [])
    assert built.pieces[1].solid.volume * 1000 == pytest.approx(litres, rel=1e-9)  # a corner of a cube: a sixth


def test_a_mesh_that_is_not_there(tmp_path: Path) -> None:
    text = SHEET + MESH.replace("unit", "# unit")
    (tmp_path / "locker.toml").write_text(text)
    told = [(p.line, p.what, p.mend) for p in all_problems(tmp_path / "locker.toml")]
    begins = [line_of(text, 'name = "casting"') - 1, line_of(text, "file = ")]
    assert [line for line, _, _ in told] == begins
    assert told[0][1:] == ("unit is missing", "add unit = … (the unit of the file)")
    assert '"casting.stl" is not there' in told[1][1]


def test_the_mesh_file_that_its_name_leads_elsewhere(tmp_path: Path) -> None:
    (tmp_path / "casting.stl").mkdir()
    (tmp_path / "locker.toml").write_text(SHEET + MESH)
    assert "is a folder" in all_problems(tmp_path / "locker.toml")[0].what


def test_everything_wrong_is_told_at_once(tmp_path: Path) -> None:
    text = SHEET
    for old, new in (
        ("B = [920, 1]", "B = [nan, 1]"),
        ("at = 1300", "at = 130"),
        ('shape = "box"', 'shape = "bx"'),
        ("step = 165", 'step = 165\nriser = "=steep / 2"'),
        ('compartment = "locker"', 'compartmet = "locker"'),
        ("D = [500, 730]", "D = [500]"),
        ("[parameter]", '[check]\n0A-9Z = 3\n[option.a]\nleave_out = ["bx"]\n[parameter]'),
        ("[parameter]", "[option.a.station.7]\nA = [1, 2]\n[parameter]"),
    ):
        text = changed(text, old, new)
    file = tmp_path / "locker.toml"
    file.write_text(text)
    lines = [problem.line for problem in all_problems(file)]
    begun = ["compartmet", "0A-9Z", "leave_out", "[option.a.station.7]", "riser", "B = [nan", "at = 130", "D = [500]"]
    assert set(map(line_of, [text] * len(begun), begun)) <= set(lines)
    assert line_of(text, 'shape = "bx"') in lines
    assert lines == sorted(lines, key=lambda line: line or 0)


def test_what_stands_in_it_is_looked_at_though_a_check_tape_is_wrong(tmp_path: Path) -> None:
    """The parts of a sheet that can be read are built, to look for what else is wrong."""
    text = changed(SHEET, "[parameter]", "[check]\n0A-9Z = 3\n[parameter]")
    text = changed(text, "x = [200, 500]", "x = [2000, 5000]")
    file = tmp_path / "locker.toml"
    file.write_text(text)
    found = examined(file)
    assert [p.measure for p in found.problems] == ["check, 0A-9Z"]
    assert found.boat.compartments == ()
    (draft,) = found.drafts
    with pytest.raises(SurveyError, match="stands wholly outside the space"):
        build(draft)


@pytest.mark.parametrize(
    "text",
    ["[" * 1_000_000, "a = " + "[" * 1_000_000, "a = " + "{b=" * 330_000, "a." * 500_000 + "a = 1", "[[" * 500_000],
    ids=["headings", "lists", "tables", "points", "lists of headings"],
)
def test_a_megabyte_of_brackets(tmp_path: Path, text: str) -> None:
    file = tmp_path / "locker.toml"
    file.write_text(text)
    (problem,) = examined(file).problems
    assert (problem.file, problem.line) == (str(file), 1)
    assert problem.what
    assert problem.mend


def test_files_that_are_none(tmp_path: Path) -> None:
    folder, empty = tmp_path / "locker.toml", tmp_path / "boat"
    folder.mkdir()
    empty.mkdir()
    (empty / "aft.toml").write_text(SHEET)
    for path, words in (
        (folder, "there is no boat.toml in this folder"),
        (empty, "name one of the files in it: aft.toml"),
        (empty / "att.toml", 'there is no such file; did you mean "aft.toml"?'),
        (tmp_path / "none" / "aft.toml", "there is no folder"),
    ):
        with pytest.raises(FileError, match=re.escape(words)) as refusal:
            examined(path)
        assert str(path) in str(refusal.value)


@pytest.mark.skipif(os.name != "posix" or os.geteuid() == 0, reason="this user may read everything")
def test_a_file_that_may_not_be_read(tmp_path: Path) -> None:
    file = tmp_path / "locker.toml"
    file.write_text(SHEET)
    file.chmod(0)
    with pytest.raises(FileError, match="you may not read this file"):
        examined(file)


def test_a_file_that_vanishes(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """It was there when it was looked for, and gone when it was opened."""
    file = tmp_path / "boat.toml"
    file.write_text("")
    monkeypatch.setattr(Path, "is_file", lambda path: True)
    monkeypatch.setattr(Path, "exists", lambda path: True)
    file.unlink()
    with pytest.raises(FileError, match="there is no such file"):
        examined(tmp_path)


BOAT = """\
format = "tapeloft-boat"
version = 1
unit = "mm"
compartments = ["aft.toml", "fore.toml"]
[boat]
name = "Heron"
[parameter]
post = 70
[option."tank out"]
leave_out = ["tank"]
"""
BOATS = {
    "a compartment not there": ('"fore.toml"', '"for.toml"', "compartments", 'did you mean "fore.toml"?', "correct"),
    "a compartment twice": ('"fore.toml"', '"aft.toml"', "compartments", '"aft.toml" is listed twice', "take it out"),
    "no compartments": ('["aft.toml", "fore.toml"]', "[]", "compartments", "no compartment is listed", "name"),
    "no list": ('["aft.toml", "fore.toml"]', "4", "compartments", "4 stands where a list should", "[ …, … ]"),
    "a boat in the list": ('"fore.toml"', '"boat.toml"', "format", "format is \"tapeloft-boat\"", "correct it"),
    "a parameter in a circle": ("post = 70", 'post = "=post"', "post", "in a circle", "a measured length"),
    "an option of nothing": ('["tank"]', '["tnk"]', "leave_out", 'in any compartment; did you mean "tank"?', "name"),
    "an unknown key": ('name = "Heron"', 'nmae = "Heron"', "nmae", 'did you mean "name"?', "correct it"),
}  # fmt: skip


@pytest.mark.parametrize("change", BOATS)
def test_boats(tmp_path: Path, change: str) -> None:
    old, new, begins, what, mend = BOATS[change]
    (tmp_path / "aft.toml").write_text(SHEET.replace('"locker"', '"aft locker"'))
    (tmp_path / "fore.toml").write_text(SHEET.replace('"locker"', '"fore locker"'))
    text = changed(BOAT, old, new)
    (tmp_path / "boat.toml").write_text(text)
    (problem,) = examined(tmp_path).problems
    assert (problem.file, problem.line) == (str(tmp_path / "boat.toml"), line_of(text, begins))
    assert what in problem.what
    assert mend in problem.mend


def test_two_compartments_of_one_name(tmp_path: Path) -> None:
    for name in ("aft.toml", "fore.toml"):
        (tmp_path / name).write_text(SHEET)
    (tmp_path / "boat.toml").write_text(BOAT)
    (problem,) = examined(tmp_path).problems
    assert (problem.file, problem.line) == (str(tmp_path / "fore.toml"), 5)
    assert problem.what == 'two compartments are called "locker"'


def test_a_boat_that_cannot_be_read_is_told_with_its_compartment(tmp_path: Path) -> None:
    (tmp_path / "aft.toml").write_text(SHEET)
    (tmp_path / "boat.toml").write_text(BOAT + "[boat\n")
    (problem,) = examined(tmp_path / "aft.toml").problems
    assert problem.file == str(tmp_path / "boat.toml")


def test_unknown_names_say_what_is_near(tmp_path: Path) -> None:
    file = tmp_path / "locker.toml"
    file.write_text(SHEET)
    for asked, words in (
        ({"given": {"stp": "1"}}, "no parameter is called 'stp'; did you mean \"step\"?"),
        ({"options": ["tank out"]}, "no option is called 'tank out'"),
    ):
        with pytest.raises(TapeloftError, match=re.escape(words)):
            examined(file, **asked)  # type: ignore[arg-type]
    with pytest.raises(TapeloftError, match=re.escape('the length given for step: "wet" cannot be read')):
        read_survey(file, given={"step": "wet"})


def test_a_side_that_twists_beyond_any_boat(tmp_path: Path) -> None:
    """Fine enough a mesh of it would take minutes; the reading that looks like the cause is told with it."""
    file = tmp_path / "locker.toml"
    file.write_text(changed(SHEET, "C = [1120, 705]", "C = [28448, 705]"))
    problems = all_problems(file)
    assert [(p.station, p.measure) for p in problems] == [("1", ""), ("2", ""), ("1", "C")]
    assert "between station 0 and here the sides twist more than those of any boat" in problems[0].what
    assert "its neighbours say about 1120 mm: millimetres among inches?" in problems[2].what


PLAIN = 'format = "tapeloft-survey"\nversion = 1\nunit = "mm"\n[survey]\ncompartment = "locker"\n'
PLAIN += '[marks]\nside = "port"\n'


def test_a_decimal_comma_that_parts_one_reading_in_two(tmp_path: Path) -> None:
    """[610,5, 0] is three readings to the file and one and a half to the hand that wrote it."""
    file = tmp_path / "locker.toml"
    rows = "A = [0, 0]\nB = [610,5, 0]\nC = [600, 700]\nD = [0, 700]\n"
    file.write_text(f"{PLAIN}[station.0]\nat = 0\n{rows}[station.1]\nat = 900\n{rows.replace('610,5', '610')}")
    (problem,) = examined(file).problems
    assert (problem.line, problem.station, problem.measure) == (11, "0", "B")
    assert "decimal comma" in problem.what
    file.write_text(file.read_text().replace("[610,5, 0]", "[610, 5, 0]"))
    assert examined(file).problems == ()


@pytest.mark.parametrize(
    ("table", "words"),
    [
        ('[[obstruction]]\nname = "panel"\nshape = "panel"\nx = [300, "42 cm"]\n', "is 120 mm thick"),
        ('[[opening]]\nname = "lid"\nwall = "top"\nx = 7000\ny = 300\n', "does not lie in any wall"),
        ('[[opening]]\nname = "lid"\nwall = "top"\nclear = [5000, 400]\n', "does not lie in any wall"),
    ],
)
def test_what_no_locker_has_is_worth_a_second_look(tmp_path: Path, table: str, words: str) -> None:
    file = tmp_path / "locker.toml"
    rows = "A = [0, 0]\nB = [610, 0]\nC = [600, 700]\nD = [0, 700]\n"
    file.write_text(f"{PLAIN}[station.0]\nat = 0\n{rows}[station.1]\nat = 900\n{rows}{table}")
    (survey,) = examined(file).boat.compartments
    assert [words in note.what for note in build(survey).notes] == [True]
