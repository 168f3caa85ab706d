"""What is read is what was written: every notation and every feature of a survey, held to closed forms.

Bodies: mensuration as in any handbook (from memory, the figures recomputed), the truncated pyramid also as problem
14 of the Moscow Mathematical Papyrus.
"""

import datetime
import json
import math
import tomllib
from importlib.resources import files
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from tapeloft.model.compartment import Compartment, build
from tapeloft.model.survey.boat import Boat, examined, read_survey
from tapeloft.model.survey.schema import schema_text, survey_schema
from tapeloft.model.survey.survey import Survey

DEMO = files("tapeloft.shapes").joinpath("demo")
TOP = 'format = "tapeloft-survey"\nversion = 1\nunit = "{unit}"\n[survey]\ncompartment = "locker"\n'


@pytest.fixture
def file(tmp_path: Path) -> Path:
    return tmp_path / "locker.toml"


def read(file: Path, text: str, unit: str = "m", **asked: Any) -> Survey:
    """Return the survey of a sheet with the usual head."""
    file.write_text(TOP.format(unit=unit) + text)
    (survey, *_) = read_survey(file, **asked).compartments
    return survey


def built(file: Path, text: str, unit: str = "m", **asked: Any) -> Compartment:
    return build(read(file, text, unit, **asked))


def station(name: object, at: float, **corners: object) -> str:
    rows = [f"{mark} = {json.dumps(reading)}" for mark, reading in corners.items()]
    return "\n".join([f"[station.{name}]", f"at = {at}", *rows, ""])


def rectangle(y0: float, y1: float, z0: float, z1: float) -> dict[str, list[float]]:
    return {"A": [y0, z0], "B": [y1, z0], "C": [y1, z1], "D": [y0, z1]}


PORT = '[marks]\nside = "port"\norder = ["A", "B", "C", "D"]\n'
UNIT_BOX = station(0, 0, **rectangle(0, 1, 0, 1)) + station(1, 2, **rectangle(0, 1, 0, 1))


# readings


@pytest.mark.parametrize(
    ("unit", "written", "metres"),
    [
        ("mm", 546, 0.546),
        ("mm", 546.25, 0.54625),
        ("mm", "546", 0.546),
        ("mm", "546,25", 0.54625),
        ("cm", 54.6, 0.546),
        ("m", 0.546, 0.546),
        ("in", 21.5, 0.5461),
        ("ft", 2, 0.6096),
        ("mm", "54.6 cm", 0.546),
        ("mm", "1.5 m", 1.5),
        ("mm", "59 3/8 in", 1.508125),
        ("mm", "4 ft 11 3/8 in", 1.508125),
        ("mm", "4' 11 3/8\"", 1.508125),
        ("mm", "4-11-3", 1.508125),
        ("ft-in-8", "4-11-3", 1.508125),
        ("ft-in-8", "2-3-5+", 0.7032625),
        ("ft-in-8", 0, 0.0),
        ("in", "=step * 2 + 1", 0.0254 * 13),
    ],
)
def test_every_notation(file: Path, unit: str, written: object, metres: float) -> None:
    text = '[parameter]\nstep = "6 in"\n[marks]\nside = "port"\norder = ["A", "B", "C"]\n'
    text += station(0, 0, A=["0 m", "0 m"], B=["9 m", "0 m"], C=["0 m", written])
    text += station(1, 0, A=["0 m", "0 m"], B=["9 m", "0 m"], C=["0 m", "9 m"]).replace("at = 0", 'at = "3 m"')
    survey = read(file, text, unit)
    assert survey.stations[0].corners[2].at == (0.0, 0.0, metres)


def test_two_decimals_of_a_millimetre_are_kept(file: Path) -> None:
    text = PORT + station(0, 0, **rectangle(500.01, 1234.56, 0.07, 700.99))
    text += station(1, 987.65, **rectangle(500.01, 1234.56, 0.07, 700.99))
    space = built(file, text, "mm")
    assert sorted(set(space.gross.vertices[:, 0])) == [0.0, 0.98765]
    assert sorted(set(space.gross.vertices[:, 1])) == [0.50001, 1.23456]
    assert sorted(set(space.gross.vertices[:, 2])) == [0.00007, 0.70099]
    assert space.gross.volume == pytest.approx(0.98765 * 0.73455 * 0.70092, rel=1e-12)


@pytest.mark.parametrize(
    ("side", "written", "y"),
    [
        ("port", 240, 0.24),
        ("starboard", 240, -0.24),
        ("both", "p 240", 0.24),
        ("both", "s 240", -0.24),
        ("both", "240 s", -0.24),
        ("both", "240s", -0.24),
        ("both", "port 24 cm", 0.24),
        ("both", "starboard 0-9-3", -0.238125),
        ("both", 0, 0.0),
        ("port", "s 240", -0.24),
        ("starboard", "5 inches", -0.127),
    ],
)
def test_sides(file: Path, side: str, written: object, y: float) -> None:
    text = f'[marks]\nside = "{side}"\norder = ["A", "B", "C"]\n'
    text += station(0, 0, A=["p 900", 0], B=[written, 400], C=["s 900", 0]) + station(
        1, 500, A=["p 900", 0], B=["p 1", 400], C=["s 900", 0]
    )
    corner = read(file, text, "mm").stations[0].corners[1]
    assert (corner.name, corner.at) == ("B", (0.0, y, 0.4))


def test_letters_of_both_sides(file: Path) -> None:
    """Ap is to port and As to starboard, whatever side the sheet is for; D is on the centreline."""
    for side in ("both", "port"):
        text = f'[marks]\nside = "{side}"\norder = ["Ap", "D", "As"]\n'
        text += station(0, 0, Ap=[300, 0], D=[0, 900], As=[310, 0]) + station(
            1, 400, Ap=[200, 0], D=[0, 900], As=[210, 0]
        )
        ys = [[corner.at[1] for corner in one.corners] for one in read(file, text, "mm").stations]
        assert ys == [[0.3, 0.0, -0.31], [0.2, 0.0, -0.21]]


def test_corners_come_in_the_order_of_the_marks(file: Path) -> None:
    turned = dict(reversed(rectangle(0, 1, 0, 1).items()))
    survey = read(file, PORT + station(0, 0, **turned) + station(1, 1, **turned))
    assert ["".join(corner.name for corner in one.corners) for one in survey.stations] == ["ABCD", "ABCD"]
    assert build(survey).notes == ()


def test_a_tape_that_ran_aft(file: Path) -> None:
    forward = PORT + UNIT_BOX + station(2, 5, **rectangle(0, 2, 0, 1))
    aft = forward.replace("[marks]", '[datum]\nx_positive = "aft"\n[marks]')
    post = '[[obstruction]]\nname = "tank"\nshape = "box"\nx = [1, "{}"]\ny = ["starboard", 0.5]\n'
    ahead, behind = built(file, forward + post.format("forward")), built(file, aft + post.format("aft"))
    assert behind.survey.stations[0].x == -5.0
    assert behind.net.volume == pytest.approx(ahead.net.volume, rel=1e-12)
    assert behind.net.centroid.tolist() == pytest.approx((ahead.net.centroid * [-1, 1, 1]).tolist(), abs=1e-9)


# closed forms, by stations along x (metres): volume and how far forward its centre lies

EDGE = {"A": [1, 0], "B": [3, 0], "C": [3, 0], "D": [1, 0]}
BODIES = {
    "prism": (UNIT_BOX, 2.0, 1.0),
    "frustum of a square pyramid, 4 to 2 over 6": (
        station(0, 0, **rectangle(0, 4, 0, 4)) + station(1, 6, **rectangle(1, 3, 1, 3)), 56.0, 2.357142857142857),
    "wedge, 4 × 3 to an edge of 2 over 6": (
        station(0, 0, **rectangle(0, 4, -1.5, 1.5)) + station(1, 6, **EDGE), 30.0, 1.8),
    "obelisk, 5 × 4 to 3 × 1 over 6; half-way between its ends' mean would be 69": (
        station(0, 0, **rectangle(0, 5, 0, 4)) + station(1, 6, **rectangle(1, 4, 1, 2)), 63.0, 2.19047619047619),
    "pyramid, 4 × 3 over 6": (
        station(0, 0, **rectangle(0, 4, 0, 3)) + "[station.1]\nat = 6\npoint = [1, 1]\n", 24.0, 1.5),
    "pyramid the other way": (
        "[station.0]\nat = 0\npoint = [1, 1]\n" + station(1, 6, **rectangle(0, 4, 0, 3)), 24.0, 4.5),
    "two pyramids": (
        "[station.0]\nat = 0\npoint = [1, 1]\n" + station(1, 6, **rectangle(0, 4, 0, 3))
        + "[station.2]\nat = 9\npoint = [1, 1]\n", 36.0, (24 * 4.5 + 12 * 6.75) / 36),
    "two prisms with a step": (
        UNIT_BOX + station(2, 2, step=True, **rectangle(0, 3, 0, 1)) + station(3, 3, **rectangle(0, 3, 0, 1)),
        5.0, (2 * 1.0 + 3 * 2.5) / 5),
}  # fmt: skip


FAIRED = {body for body in BODIES if body != "two pyramids"}  # they meet at a knuckle, which fairing rounds


@pytest.mark.parametrize(("body", "between"), [(b, "straight") for b in BODIES] + [(b, "fair") for b in sorted(FAIRED)])
def test_closed_forms(file: Path, body: str, between: str) -> None:
    text, volume, centre = BODIES[body]
    head = TOP.format(unit="m") + f'between = "{between}"\n' + PORT
    file.write_text(head + text)
    space = build(*read_survey(file).compartments)
    assert space.gross.volume == pytest.approx(volume, rel=1e-9)
    assert space.gross.centroid[0] == pytest.approx(centre, rel=1e-9)


def test_a_frustum_of_a_cone_by_bare_points(file: Path) -> None:
    """R 3, r 2, h 5: 99.48376737 and 2.171052632 from the large end, times a regular polygon's share of its circle."""
    n = 48
    round_ = [(math.cos(2 * math.pi * k / n), math.sin(2 * math.pi * k / n)) for k in range(n)]
    text = '[marks]\nside = "port"\n'
    for name, at, radius in ((0, 0, 3), (1, 5, 2)):
        points = [[round(4 + radius * y, 5), round(radius * z, 5)] for y, z in round_]
        text += f"[station.{name}]\nat = {at}\npoints = {points}\n"
    space = built(file, text)
    share = n / (2 * math.pi) * math.sin(2 * math.pi / n)
    assert space.gross.volume == pytest.approx(99.48376737 * share, rel=1e-5)  # points to 0.01 mm
    assert space.gross.centroid[0] == pytest.approx(2.171052632, rel=1e-5)
    assert "corners have no letters" in space.notes[0].what


@pytest.mark.parametrize(
    ("lean", "volume"),
    [
        ("rake = [0.4, 1]", 2 + 0.4 / 2),  # forward by 0.4 over its height: half that at its middle
        ("rake = [-0.2, 0.5]", 2 - 0.4 / 2),
        ('skew = ["30 cm", 1]', 2 + 0.3 / 2),
        ("rake = [0.4, 1]\nskew = [0.3, 1]", 2 + 0.4 / 2 + 0.3 / 2),
    ],
)
def test_raked_and_askew(file: Path, lean: str, volume: float) -> None:
    text = PORT + UNIT_BOX
    leaning = built(file, text.replace("at = 2", f"at = 2\n{lean}"))
    assert leaning.gross.volume == pytest.approx(volume, rel=1e-12)
    own = {mark: [*reading, corner.at[0]] for (mark, reading), corner in zip(
        rectangle(0, 1, 0, 1).items(), leaning.survey.stations[1].corners, strict=True)}  # fmt: skip
    each_its_own = built(file, PORT + station(0, 0, **rectangle(0, 1, 0, 1)) + station(1, 2, **own))
    assert each_its_own.gross.volume == leaning.gross.volume


def test_fair_between_stations(file: Path) -> None:
    """Half-breadths on a circle's arc: the faired side comes far nearer to the circle than the straight one."""
    radius, along = 5.0, [0, 1, 2, 3, 4]
    text = "".join(
        station(k, x, **rectangle(0, round(math.sqrt(radius**2 - x * x), 5), 0, 1)) for k, x in enumerate(along)
    )
    exact = (4 * math.sqrt(radius**2 - 16) + radius**2 * math.asin(4 / radius)) / 2
    off = {}
    for between in ("straight", "fair"):
        file.write_text(TOP.format(unit="m") + f'between = "{between}"\n' + PORT + text)
        off[between] = abs(build(*read_survey(file).compartments).gross.volume / exact - 1)
    assert off["straight"] == pytest.approx(0.0064, abs=0.0005)
    assert off["fair"] < off["straight"] / 4


# tables of offsets: heights 0, 0.5 and 1; the section's area by trapezoids

ROWS = "[offsets]\nheights = [0, 0.5, 1]\n{}[station.0]\nat = 0\nhalf_breadths = {}\n{}"
ROWS += "[station.1]\nat = 3\nhalf_breadths = {}\n{}"


@pytest.mark.parametrize(
    ("side", "offsets", "rows", "inner", "area"),
    [
        ("both", "", [0.4, 0.8, 1.0], "", 2 * (0.6 + 0.9) / 2),
        ("port", "", [0.4, 0.8, 1.0], "", (0.6 + 0.9) / 2),
        ("both", "", [0, 0.8, 1.0], "", 2 * (0.4 + 0.9) / 2),  # a keel
        ("starboard", "inner_face = 0.25\n", [0.4, 0.8, 1.0], "", (0.6 + 0.9) / 2 - 0.25),
        ("port", 'inner_face = 0.25\nreadings = "from_face"\n', [0.4, 0.8, 1.0], "", (0.6 + 0.9) / 2),
        ("port", "", [0.4, 0.8, 1.0], "inner = [0.1, 0.2, 0.5]\n", (0.6 + 0.9) / 2 - (0.15 + 0.35) / 2),
        ("port", 'inner_face = 3\nreadings = "from_face"\n', [0.4, 0.8, 1.0], "inner = [0.1, 0.2, 0.5]\n", 0.75 - 0.25),
    ],
)
def test_offsets(file: Path, side: str, offsets: str, rows: list[float], inner: str, area: float) -> None:
    text = f'[marks]\nside = "{side}"\n' + ROWS.format(offsets, rows, inner, rows, inner)
    space = built(file, text)
    assert space.gross.volume == pytest.approx(3 * area, rel=1e-12)
    assert space.notes == ()
    if side == "both":
        assert space.gross.centroid[1] == pytest.approx(0, abs=1e-12)


def test_offsets_at_other_heights(file: Path) -> None:
    """Rows more at one station lie on the same straight side: the highest is joined to the highest all the same."""
    text = '[marks]\nside = "both"\n[offsets]\nheights = [0, 1]\n'
    text += "[station.0]\nat = 0\nhalf_breadths = [0.2, 1]\n"
    text += "[station.1]\nat = 2\nheights = [0, 0.25, 0.5, 1]\nhalf_breadths = [0.2, 0.4, 0.6, 1]\n"
    assert built(file, text).gross.volume == pytest.approx(2 * 2 * 0.6, rel=1e-12)


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("[0, 0.5, 1]", "[0, 1, 0.5]", "the heights do not rise"),
        ("[0, 0.5, 1]", "[1]", "offsets need two heights or more"),
        ("half_breadths = [1, 1, 1]\n[", "half_breadths = [1, 1]\n[", "2 offsets for 3 heights"),
        ("at = 3\n", "at = 3\ninner = [0, 0, 0]\n", "no inner face where both sides are measured"),
        ("1]\n[st", '1]\ninner_face = "p 1"\n[st', "no inner face where both sides are measured"),
        ("1]\n[st", '1]\nreadings = "from_face"\n[st', "read from a face, and where that lies is not said"),
    ],
)
def test_offsets_refused(file: Path, old: str, new: str, words: str) -> None:
    rows = [1, 1, 1]
    text = '[marks]\nside = "both"\n' + ROWS.format("", rows, "", rows, "")
    assert old in text
    file.write_text(TOP.format(unit="m") + text.replace(old, new, 1))
    (problem,) = examined(file).problems
    assert words in problem.what


# tables beside the survey


def test_a_table_says_what_the_sheet_says(file: Path) -> None:
    rows = {0: rectangle(0, 4, 0, 4), 6: rectangle(1, 3, 1, 3)}
    in_sheet = built(file, PORT + "".join(station(k, x, **corners) for k, (x, corners) in enumerate(rows.items())))
    table = ["station,mark,at,half-breadth,height,remark"]
    for k, (x, corners) in enumerate(rows.items()):
        table += [f'{k},{mark},{x if mark == "A" else ""},{y} m,"{z}",' for mark, (y, z) in corners.items()]
    (file.parent / "readings.csv").write_text("\n".join(table))
    file.write_text(TOP.format(unit="m").replace("[survey]", 'readings = "readings.csv"\n[survey]') + PORT)
    beside = build(*read_survey(file).compartments)
    assert beside.gross.volume == in_sheet.gross.volume == pytest.approx(56)
    assert beside.survey.stations == in_sheet.survey.stations


def test_a_table_of_offsets(file: Path) -> None:
    rows = [f"{k};{3 * k};{z};{y}" for k in (0, 1) for z, y in (("0", "0,4"), ("0,5", "0,8"), ("1", "1,0"))]
    (file.parent / "readings.csv").write_text("station;at;height;half breadth\n" + "\n".join(rows))
    file.write_text(TOP.format(unit="m").replace("[survey]", 'readings = "readings.csv"\n[survey]'))
    assert build(*read_survey(file).compartments).gross.volume == pytest.approx(3 * 1.5)


def test_stations_of_a_table_and_of_the_sheet_together(file: Path) -> None:
    table = "station;at;mark;half_breadth;height\n0;0;A;0;0\n0;;B;1;0\n0;;C;1;1\n0;;D;0;1\n"
    (file.parent / "readings.csv").write_text(table)
    text = TOP.format(unit="m").replace("[survey]", 'readings = "readings.csv"\n[survey]') + PORT
    file.write_text(text + station(1, 2, **rectangle(0, 1, 0, 1)))
    assert build(*read_survey(file).compartments).gross.volume == pytest.approx(2.0)
    file.write_text(text + station(0, 2, **rectangle(0, 1, 0, 1)) + station(1, 3, **rectangle(0, 1, 0, 1)))
    (problem,) = examined(file).problems
    assert problem.what == "is both in the table and in the survey"


# what else a sheet holds


def test_everything_on_the_sheet_is_kept(file: Path) -> None:
    text = """
    use = "wet"
    finish = "grey"
    date = 2026-04-18
    state = "ashore"
    tape = { id = "T1", accuracy_class = "II", length = "5 m", end = "cut back to 100", checked_against = "rule" }
    measured_to = "lining"
    lining = 6
    load_limit = "120 kg"
    notes = "mind the sill"
    [boat]
    name = "Heron"
    hull_number = 2
    [datum]
    x_zero = "bulkhead"
    x_zero_in_boat = 1180
    y_zero_in_boat = "-20 mm"
    z_zero_in_boat = 640
    levelled = "with a tee-square"
    [accuracy]
    half_breadth = 5
    girth = "0.5 cm"
    [check]
    0A-0C = 1414
    0A-0B-0C = 2000
    0A-1C = "2.449 m"
    [[drain]]
    name = "drain"
    diameter = "1 in"
    x = 20
    y = 30
    z = 0
    [[opening]]
    name = "lid"
    wall = "top"
    x = 1000
    y = 500
    clear = [780, "40 cm"]
    corner_radius = 40
    depth = 50
    hinge = "outboard"
    opens_to = 95
    [grate]
    height = 60
    """
    corners = {mark: [1000 * y, 1000 * z] for mark, (y, z) in rectangle(0, 1, 0, 1).items()}
    marks = PORT + 'A = "sole, inboard"\n'
    stations = station(0, 0, **corners) + 'photo = "S01"\nremark = "wet"\n' + station(1, 2000, **corners)
    survey = read(file, "\n".join(line.strip() for line in text.splitlines()) + "\n" + marks + stations, "mm")
    space, datum = survey.space, survey.datum
    assert (space.use, space.finish, space.state, space.notes) == ("wet", "grey", "ashore", "mind the sill")
    assert (space.date, space.load_limit, space.measured_to, space.lining) == (
        datetime.date(2026, 4, 18), 120.0, "lining", 0.006)  # fmt: skip
    assert (space.tape.accuracy_class, space.tape.length, space.tape.end) == ("II", 5.0, "cut back to 100")
    assert (datum.x_zero, datum.levelled, survey.placement) == ("bulkhead", "with a tee-square", (1.18, -0.02, 0.64))
    assert (survey.accuracy.half_breadth, survey.accuracy.girth, survey.accuracy.station) == (0.005, 0.005, 0.002)
    assert [(["".join(c) for c in check.corners], check.length) for check in survey.checks] == [
        (["0A", "0C"], 1.414),
        (["0A", "0B", "0C"], 2.0),
        (["0A", "1C"], 2.449),
    ]
    (drain,), (lid,) = survey.drains, survey.openings
    assert (drain.diameter, drain.x, drain.y, drain.z) == (0.0254, 0.02, 0.03, 0.0)
    assert (lid.x, lid.y, lid.clear, lid.corner_radius, lid.depth) == (1.0, 0.5, (0.78, 0.4), 0.04, 0.05)
    assert lid.opens_to == pytest.approx(math.radians(95))
    assert survey.grate is not None
    assert (survey.grate.height, survey.grate.thickness) == (0.06, 0.022)
    assert build(survey).notes == ()


# parameters and options

TANK = '[[obstruction]]\nname = "tank"\nshape = "box"\nx = [0, "=long"]\nz = ["bottom", "=long / 2"]\n'
OPTIONED = (
    '[parameter]\nlong = 0.5\nshort = "=long / 5"\n'
    + PORT
    + UNIT_BOX
    + TANK
    + """
[option."tank out"]
leave_out = ["tank"]
[option."long tank"]
set = { long = 1 }
[option."box in"]
[[option."box in".obstruction]]
name = "crate"
shape = "box"
x = [1.5, "forward"]
z = ["bottom", "=short"]
[option."higher aft".station.0]
C = [1, 1.5]
D = [0, 1.5]
"""
)


@pytest.mark.parametrize(
    ("options", "given", "volume"),
    [
        ([], {}, 2 - 0.5 * 0.25),
        (["tank out"], {}, 2),
        (["long tank"], {}, 2 - 1 * 0.5),
        (["box in"], {}, 2 - 0.5 * 0.25 - 0.5 * 0.1),
        (["higher aft"], {}, 2.5 - 0.5 * 0.25),
        (["tank out", "box in"], {}, 2 - 0.5 * 0.1),
        (["box in", "tank out", "higher aft"], {}, 2.5 - 0.5 * 0.1),
        (["box in", "long tank"], {}, 2 - 1 * 0.5 - 0.5 * 0.2),
        ([], {"long": "100 cm"}, 2 - 1 * 0.5),
        (["long tank"], {"long": "0.5"}, 2 - 0.5 * 0.25),
        ([], {"long": "=short * 4", "short": "0.1"}, 2 - 0.4 * 0.2),
    ],
)
def test_options_and_lengths(file: Path, options: list[str], given: dict[str, str], volume: float) -> None:
    survey = read(file, OPTIONED, options=options, given=given)
    assert survey.options == tuple(options)
    assert build(survey).net.volume == pytest.approx(volume, rel=1e-12)


BOAT = """
format = "tapeloft-boat"
version = 1
unit = "cm"
compartments = ["locker.toml", "other.toml"]
[boat]
name = "Heron"
[trim]
displacement = "9.8 t"
waterline = 62
centre_of_gravity = [450, "s 1", 80]
[parameter]
long = 50
[option."tank out"]
leave_out = ["tank"]
[option."long tank"]
set = { long = 100 }
"""


@pytest.fixture
def boat(file: Path) -> Path:
    """A boat of two compartments, one of which says nothing of the unit and of the length that they share."""
    own = TOP.format(unit="m").replace('unit = "m"\n', "")
    sheet = (PORT + UNIT_BOX).replace("1]", '"1 m"]').replace("[1,", '["1 m",').replace("at = 2", 'at = "2 m"')
    file.write_text(own.replace('"locker"', '"fore"') + sheet.replace("1.0", "1") + TANK)
    (file.parent / "other.toml").write_text(TOP.format(unit="m") + PORT + UNIT_BOX + TANK.replace("tank", "box"))
    (file.parent / "boat.toml").write_text(BOAT)
    return file.parent


def nets(boat: Boat) -> list[float]:
    return [build(survey).net.volume for survey in boat.compartments]


def test_what_a_boat_lends_her_compartments(boat: Path) -> None:
    read_ = read_survey(boat)
    assert (read_.craft.name, read_.trim.displacement, read_.trim.waterline) == ("Heron", 9800.0, 0.62)
    assert read_.trim.centre_of_gravity == (4.5, -0.01, 0.8)
    assert [survey.name for survey in read_.compartments] == ["fore", "locker"]
    assert nets(read_) == pytest.approx([2 - 0.5 * 0.25] * 2)
    assert nets(read_survey(boat / "boat.toml")) == nets(read_)
    assert nets(read_survey(boat / "locker.toml")) == nets(read_)[:1]  # alone, it borrows from the sheet beside it
    assert nets(read_survey(boat, options=["long tank"])) == pytest.approx([2 - 1 * 0.5] * 2)
    assert nets(read_survey(boat, options=["tank out"])) == pytest.approx([2, 2 - 0.5 * 0.25])
    assert nets(read_survey(boat / "locker.toml", options=["tank out"])) == pytest.approx([2])
    assert nets(read_survey(boat, given={"long": "100"})) == pytest.approx([2 - 1 * 0.5] * 2)  # in the boat's unit


def test_a_compartment_goes_before_her_boat(boat: Path) -> None:
    file = boat / "other.toml"
    file.write_text(file.read_text().replace("[marks]", '[parameter]\nlong = 0.8\n[option."long tank"]\n[marks]'))
    assert nets(read_survey(boat)) == pytest.approx([2 - 0.5 * 0.25, 2 - 0.8 * 0.4])
    assert nets(read_survey(boat, options=["long tank"])) == pytest.approx([2 - 1 * 0.5] * 2)
    assert nets(read_survey(boat, given={"long": "1"})) == pytest.approx([2 - 0.01 * 0.005, 2 - 1 * 0.5])


def test_a_sheet_that_its_neighbour_does_not_list_borrows_nothing(boat: Path) -> None:
    (boat / "third.toml").write_text((boat / "other.toml").read_text())
    (problem, *_) = examined(boat / "third.toml").problems
    assert '"long" is no parameter' in problem.what


# twins


def test_a_twin_is_mirrored_with_her_differences(file: Path) -> None:
    text = (
        OPTIONED + '[check]\n0A-0C = 1.414\n[twin]\nname = "twin"\nleave_out = ["tank"]\n[twin.check]\n1A-1C = 1.415\n'
    )
    file.write_text(TOP.format(unit="m") + text.replace("[option", "[datum]\ny_zero_in_boat = 0.1\n[option", 1))
    sister, twin = read_survey(file).compartments
    assert (twin.name, twin.mirrored, twin.placement) == ("twin", True, (0.0, -0.1, 0.0))
    assert [(check.corners, check.length) for check in sister.checks] == [((("0", "A"), ("0", "C")), 1.414)]
    assert [(check.corners, check.length) for check in twin.checks] == [((("1", "A"), ("1", "C")), 1.415)]
    # 2 m³ as taped; the sister's diagonal is a fifth of a millimetre short of √2 m, and moves her corners by as little
    assert build(twin).net.volume == pytest.approx(2, abs=2e-4)
    assert build(twin).net.centroid.tolist() == pytest.approx([1, -0.5, 0.5], abs=1e-4)
    assert build(sister).net.centroid[1] == pytest.approx(0.5, abs=1e-4)
    assert twin.sister == sister.checks


@pytest.mark.parametrize(
    ("difference", "volume"),
    [
        ("", 2 - 0.5 * 0.25),
        ("set = { long = 1 }", 2 - 1 * 0.5),
        ("[twin.station.0]\nC = [1, 1.5]\nD = [0, 1.5]", 2.5 - 0.5 * 0.25),
        ('[[twin.obstruction]]\nname = "crate"\nshape = "box"\nx = [1.5, 2]\nz = [0, 0.2]', 2 - 0.125 - 0.1),
    ],
)
def test_how_a_twin_may_differ(file: Path, difference: str, volume: float) -> None:
    file.write_text(TOP.format(unit="m") + OPTIONED + f"[twin]\n{difference}\n")
    sister, twin = read_survey(file).compartments
    assert (twin.name, twin.mirrored) == ("locker, twin", True)
    assert build(sister).net.volume == pytest.approx(2 - 0.5 * 0.25)
    assert build(twin).net.volume == pytest.approx(volume)
    assert nets(read_survey(file, options=["tank out"]))[0] == pytest.approx(2)
    assert nets(read_survey(file, given={"long": "1"}))[1] == pytest.approx(
        volume - (0.375 if "set" not in difference else 0)
    )


# the demo boat, and the schema


def test_the_demo_boat_has_nothing_to_look_at_again() -> None:
    found = examined(str(DEMO))
    assert found.problems == ()
    assert [note for survey in found.boat.compartments for note in build(survey).notes] == []


def told_to_editors(text: str) -> Any:
    """Return a TOML file as an editor's JSON Schema checker sees it: a date is text there."""

    def plain(value: Any) -> Any:
        if isinstance(value, dict):
            return {key: plain(inner) for key, inner in value.items()}
        if isinstance(value, list):
            return [plain(inner) for inner in value]
        return value.isoformat() if isinstance(value, datetime.date) else value

    return plain(tomllib.loads(text))


SCHEMA = jsonschema.Draft202012Validator(survey_schema(), format_checker=jsonschema.FormatChecker())


def test_the_schema_is_one() -> None:
    jsonschema.Draft202012Validator.check_schema(json.loads(schema_text()))
    assert json.loads(schema_text()) == survey_schema()
    assert survey_schema()["$schema"] == "https://json-schema.org/draft/2020-12/schema"


@pytest.mark.parametrize("name", sorted(f.name for f in DEMO.iterdir() if f.name.endswith(".toml")))
def test_the_demo_boat_fits_the_schema(name: str) -> None:
    SCHEMA.validate(told_to_editors(DEMO.joinpath(name).read_text(encoding="utf-8")))


STRUCTURE = {
    "another format": ('format = "tapeloft-survey"', 'format = "other"'),
    "another version": ("version = 1", "version = 2"),
    "a version in quotes": ("version = 1", 'version = "1"'),
    "no version": ("version = 1\n", ""),
    "no such unit": ('unit = "mm"', 'unit = "yd"'),
    "no compartment": ('compartment = "cockpit locker, port"\n', ""),
    "a blank name": ('compartment = "cockpit locker, port"', 'compartment = " "'),
    "a number for a name": ('compartment = "cockpit locker, port"', "compartment = 7"),
    "no such use": ('use = "general"', 'use = "anything"'),
    "an unknown key": ('use = "general"', 'usage = "general"'),
    "an unknown table": ("[datum]", "[datums]"),
    "a date that is none": ("date = 2026-04-19", 'date = "spring"'),
    "a mass without its unit": ('load_limit = "180 kg"', "load_limit = 180"),
    "a list for a length": ("x_zero_in_boat = 1180", "x_zero_in_boat = [1180]"),
    "no distance": ("at = 1240\n", ""),
    "one reading for a corner": ("A = [556, 0]", "A = [556]"),
    "four readings for a corner": ("A = [556, 0]", "A = [556, 0, 1, 2]"),
    "no brackets": ("A = [556, 0]", "A = 556"),
    "true for a reading": ("A = [556, 0]", "A = [true, 0]"),
    "no such shape": ('shape = "post"', 'shape = "pole"'),
    "no shape": ('shape = "post"\n', ""),
    "no name": ('name = "compression post"\n', ""),
    "a section that is none": ('section = "round"', 'section = "oval"'),
    "a key of another shape": ('diameter = "=post"', "risers = [1]"),
    "one reading where from and to are": ("x = [180, 600]", "x = 180"),
    "three readings where from and to are": ("x = [180, 600]", "x = [180, 600, 700]"),
    "no wall": ('wall = "top"\n', ""),
    "no such wall": ('wall = "top"', 'wall = "roof"'),
    "text for an angle": ("opens_to = 95", 'opens_to = "wide"'),
    "text for true": ("structural = true", 'structural = "yes"'),
    "text for a list": ('leave_out = ["battery box, serves as step"]\n\n', 'leave_out = "battery box"\n\n'),
    "a table for a check tape": ("0A-0C = 727", "0A-0C = {}"),
}


@pytest.mark.parametrize("change", STRUCTURE)
def test_what_is_not_built_as_a_survey_is_refused_by_reader_and_schema(tmp_path: Path, change: str) -> None:
    old, new = STRUCTURE[change]
    text = (
        DEMO.joinpath("cockpit-locker.toml")
        .read_text(encoding="utf-8")
        .replace("[parameter]", "[parameter]\npost = 70")
    )
    assert text.count(old) == 1
    file = tmp_path / "cockpit-locker.toml"
    file.write_text(text)
    assert examined(file).problems == ()
    assert SCHEMA.is_valid(told_to_editors(text))
    file.write_text(text.replace(old, new))
    assert examined(file).problems
    assert not SCHEMA.is_valid(told_to_editors(text.replace(old, new)))


# what an option does to a twin, and what a step may not be

TWO = (
    PORT
    + UNIT_BOX
    + '[parameter]\nstep = 0.2\n[[obstruction]]\nname = "battery"\nshape = "box"\nz = ["bottom", "=step"]\n'
)
OWN_BATTERY = (
    '[twin]\nleave_out = ["battery"]\n[[twin.obstruction]]\nname = "battery"\nshape = "box"\nz = ["bottom", 0.4]\n'
)


@pytest.mark.parametrize(
    ("twin", "option", "volumes"),
    [
        (OWN_BATTERY, "", (1.6, 1.2)),
        (OWN_BATTERY, 'leave_out = ["battery"]', (2.0, 2.0)),
        ("[twin]\nset = { step = 0.3 }\n", "", (1.6, 1.4)),
        ("[twin]\nset = { step = 0.3 }\n", "set = { step = 0.5 }", (1.0, 1.0)),
        (
            OWN_BATTERY,
            'leave_out = ["battery"]\n[[option.other.obstruction]]\nname = "battery"\nshape = "box"\nz = [-1, 0.1]',
            (1.8, 1.8),
        ),
    ],
)
def test_options_are_applied_to_what_the_twin_has(
    file: Path, twin: str, option: str, volumes: tuple[float, float]
) -> None:
    read(file, TWO + twin + f"[option.other]\n{option}\n", "m")
    boat = read_survey(file, options=["other"])
    assert [build(one).net.volume for one in boat.compartments] == pytest.approx(volumes, rel=1e-9)


def test_a_twin_leaves_out_what_an_option_puts_in(file: Path) -> None:
    """What the sheet has of that name is left out as before; what only an option puts in, of that, not of her own."""
    crate = '[[{table}]]\nname = "crate"\nshape = "box"\nz = ["bottom", {high}]\n'
    put_in = crate.format(table="option.other.obstruction", high=0.3)
    own = crate.format(table="twin.obstruction", high=0.5).replace('"crate"', '"chest"')
    read(file, TWO + '[twin]\nleave_out = ["crate"]\n' + own + put_in.replace("-1", "0"), "m")
    boat = read_survey(file, options=["other"])
    names = [[one.name for one in each.obstructions] for each in boat.compartments]
    assert names == [["battery", "crate"], ["battery", "chest"]]


def test_a_length_asked_for_is_in_the_unit_of_the_sheet_that_states_it(tmp_path: Path) -> None:
    (tmp_path / "boat.toml").write_text(
        'format = "tapeloft-boat"\nversion = 1\nunit = "mm"\ncompartments = ["locker.toml"]\n[boat]\nname = "any"\n'
        "[option.high]\nset = { step = 150 }\n"
    )
    file = tmp_path / "locker.toml"
    file.write_text(
        TOP.format(unit="in")
        + PORT
        + station(0, 0, **rectangle(0, 40, 0, 40))
        + station(1, 80, **rectangle(0, 40, 0, 40))
        + "[parameter]\nstep = 6\n"
    )
    for options in ((), ("high",)):
        (survey,) = read_survey(tmp_path, given={"step": "8"}, options=options).compartments
        assert dict(survey.parameters)["step"] == pytest.approx(8 * 0.0254, rel=1e-12)


@pytest.mark.parametrize("lean", ["rake = [-0.2, 0.5]", "skew = [0.1, 1]"])
@pytest.mark.parametrize("leaning", [1, 2])
def test_a_step_stands_square(file: Path, lean: str, leaning: int) -> None:
    """Two leaning planes rounded to the grid are not one plane: a slit between them would part the space unseen."""
    rows = [station(k, at, **rectangle(0, 1, 0, 1)) for k, at in enumerate((0, 1, 1, 2))]
    rows[2] += "step = true\n"
    rows[leaning] += lean + "\n"
    file.write_text(TOP.format(unit="m") + PORT + "".join(rows))
    (problem,) = examined(file).problems
    assert (problem.station, "stands square" in problem.what) == ("2", True)
