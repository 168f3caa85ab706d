"""`tapeloft step`, `rail` and `crate`: what they print and write, and what they refuse."""

import csv
import io
import json
import math
from itertools import pairwise
from pathlib import Path
from typing import Any

import ezdxf
import pytest
import shapely
import trimesh

pytestmark = pytest.mark.usefixtures("warmed")

LOCKER = "cockpit locker, port"


def test_steps_with_every_file(run, boat: Path, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    names = ["s.pdf", "s.svg", "s.dxf", "s.csv", "s.stl"]
    to = [word for name in names for word in ("--to", tmp_path / name)]
    status, out, err = run("step", boat, LOCKER, *to)
    assert status == 0
    assert "on the port side of the fall" in out
    assert "facing it" in out
    for caution in ("one hand for the boat", "held at both ends", "hardboard"):
        assert caution in err
    rows = list(csv.DictReader(io.StringIO((tmp_path / "s.csv").read_text())))
    assert [row["piece"] for row in rows] == ["A", "B", "C"]
    mesh = trimesh.load(tmp_path / "s.stl")
    assert mesh.volume / 25e6 == pytest.approx(sum(float(row["area_m2"]) for row in rows), abs=3e-4)
    for row in rows:  # read back by another library: the outline's area
        lines = ezdxf.readfile(tmp_path / f"s-{row['piece']}.dxf").modelspace().query('LWPOLYLINE[layer=="CUT"]')
        area = sum(shapely.Polygon([point[:2] for point in line.get_points()]).area for line in lines)
        assert area / 1e6 == pytest.approx(float(row["area_m2"]), abs=1e-4)


def test_cheeks_with_every_file(run, boat: Path, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    """On each cheek the treads' ends are marked: 25 mm high, as long as the tread is deep there."""
    names = ["s.pdf", "s.dxf", "s.csv", "s.stl"]
    to = [word for name in names for word in ("--to", tmp_path / name)]
    assert run("step", boat, LOCKER, "--cheeks", "20", *to)[0] == 0
    rows = list(csv.DictReader(io.StringIO((tmp_path / "s.csv").read_text())))
    assert [row["piece"] for row in rows] == ["A", "B", "C", "cheek aft", "cheek forward"]
    volume = sum(float(row["area_m2"]) * float(row["thickness_mm"]) for row in rows) * 1e6
    assert trimesh.load(tmp_path / "s.stl").volume == pytest.approx(volume, rel=5e-3)
    drawing = ezdxf.readfile(tmp_path / "s-cheek-forward.dxf")
    cut, marks = (drawing.modelspace().query(f'LWPOLYLINE[layer=="{layer}"]') for layer in ("CUT", "MARK"))
    (outline,) = (shapely.Polygon([point[:2] for point in line.get_points()]) for line in cut)
    assert outline.area / 1e6 == pytest.approx(float(rows[-1]["area_m2"]), abs=1e-4)
    dashed = [[point[:2] for point in line.get_points()] for line in marks if line.dxf.linetype == "DASHED"]
    level = {round(float(a[1]), 1) for line in dashed for a, b in pairwise(line) if abs(a[1] - b[1]) < 0.01}
    top, rise = outline.bounds[3], 1000 * json.loads(run("step", boat, LOCKER, "--json")[1])["rises_m"][0]
    faces = [top - 2 * rise, top - rise, top]  # of the treads, the highest along the cheek's own edge
    assert sorted(level) == pytest.approx(sorted([*faces[:2], *(face - 25 for face in faces)]), abs=0.1)


def test_step_json(run, boat: Path) -> None:  # type: ignore[no-untyped-def]
    said = json.loads(run("step", boat, LOCKER, "--json")[1])
    assert said["command"] == "step"
    assert said["rises_m"][0] * 4 == pytest.approx(said["lip_m"] - said["floor_m"])
    assert said["outside_m3"] < 1e-9
    assert [step["name"] for step in said["steps"]] == ["tread A", "tread B", "tread C"]
    assert all(step["turned_deg"] == 0 for step in said["steps"])
    assert said["person_m"] == [0.58, 0.33]


def test_json_tells_where_cheeks_stand_and_what_they_hold(run, boat: Path) -> None:  # type: ignore[no-untyped-def]
    """A tread 460 long stands between two cheeks of 20: so far apart are their after faces. 12 mm is thin for it."""
    code, out, _ = run("step", boat, LOCKER, "--cheeks", "20", "--thickness", "12", "--json")
    told = json.loads(out)
    assert code == 0
    pieces = {one["piece"] for one in told["pieces"]}
    for one in told["cheeks"]:
        assert set(one["pieces"]) <= pieces
        assert (one["right"], one["up"]) == ([0.0, 1.0, 0.0], [0.0, 0.0, 1.0])
        assert [held["tread"] for held in one["holds"]] == [step["name"] for step in told["steps"]]
        assert all(0.5 < held["share"] < 1.001 for held in one["holds"])
    aft, forward = (one["start_m"][0] for one in told["cheeks"])
    assert forward - aft == pytest.approx(0.460 + 0.020, abs=3e-5)
    assert len(told["supports"]) == 3
    assert min(told["supports"]) > 2
    assert any("at both ends alone it bends too much: tread A, tread B, tread C" in said for said in told["remarks"])


def test_steps_that_do_not_work_say_why(run, boat: Path) -> None:  # type: ignore[no-untyped-def]
    status, out, _ = run("step", boat, "sail locker")
    assert status == 1
    assert out.count("head room") == 4
    said = json.loads(run("step", boat, "chain locker", "--json")[1])
    assert said["shortfalls"]
    assert said["rises_m"] == [None, None]
    assert said["pieces"] == []


def test_a_table_without_a_row_is_left_out(run, boat: Path) -> None:  # type: ignore[no-untyped-def]
    """Treads that stand in the fall touch no wall: there is no edge to tell."""
    words = ("step", boat, LOCKER, "--side", "aft", "--into", "100", "--depth", "101.6..120", "--width", "250..300")
    said = run(*words, "--json").json
    assert said["pieces"]
    assert not any(edge["wall"] for piece in said["pieces"] for edge in piece["edges"])
    assert "edges" not in run(*words).out


def test_a_rail_with_its_files(run, boat: Path, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    status, out, err = run("rail", boat, LOCKER, "--to", tmp_path / "r.csv", "--to", tmp_path / "r.obj")
    assert status == 0
    assert "hooks, each with a fender, 150 mm" in out
    assert "674 mm to the thumb's tip" in err
    assert len((tmp_path / "r.csv").read_text().splitlines()) >= 4
    said = json.loads(run("rail", boat, LOCKER, "--tube", "25x1.5", "--json")[1])
    assert said["side"] == "port"
    assert 0.5 < said["in_reach"]["least"] <= said["in_reach"]["most"] < 1
    assert len(said["hooks"]) >= 7
    assert said["spacing_m"] <= said["span_m"]


@pytest.mark.parametrize(
    ("words", "kg_m"),
    [
        (("--tube", "25x1.5"), 8000 * math.pi * (0.025**2 - 0.022**2) / 4),
        (("--tube", "30x2", "--metal", "aluminium"), 2700 * math.pi * (0.030**2 - 0.026**2) / 4),
        (("--batten", "20x45", "--timber", "light red meranti"), 0.020 * 0.045 * 1120 * 0.34 / (1 - 0.159 * 0.34)),
    ],
)
def test_a_rail_weighs_what_it_is_made_of(run, boat: Path, words: tuple[str, ...], kg_m: float) -> None:  # type: ignore[no-untyped-def]
    """A metre of tube is density · π (D² − d²) / 4; timber's density as in the Wood Handbook, chapter 4."""
    said = run("rail", boat, LOCKER, *words, "--fender", "none", "--json").json
    rail, *brackets = said["pieces"]
    assert rail["mass_kg"] == pytest.approx(said["length_m"] * kg_m, rel=1e-9)
    for one in brackets:
        sawn = one["mass_kg"] / one["area_m2"] / one["thickness_m"]
        assert sawn == pytest.approx(said["timber"]["gravity"] * 1120 / (1 - 0.159 * said["timber"]["gravity"]))


def test_treads_weigh_what_they_are_sawn_from(run, boat: Path) -> None:  # type: ignore[no-untyped-def]
    for timber, gravity in (("teak", 0.55), ("dark red meranti", 0.46)):
        status, out, err = run("step", boat, LOCKER, "--timber", timber, "--json")
        assert status == 0, err
        for one in json.loads(out)["pieces"]:
            volume = one["area_m2"] * one["thickness_m"]
            assert one["mass_kg"] / volume == pytest.approx(1120 * gravity / (1 - 0.159 * gravity))


def test_what_a_beam_is_reckoned_by_is_printed(run, boat: Path) -> None:  # type: ignore[no-untyped-def]
    """What the handbook's formulas want: the material, its share, the load, how far it may bend."""
    for words, said in (
        (("rail", boat, LOCKER, "--tube", "25x1.5"), "E 193 GPa, 0.2 % proof stress 205 MPa, divided by 2"),
        (("rail", boat, LOCKER, "--pull", "55", "--fender", "none"), "Under 55 kg at any one place it bends by 1/200"),
        (("step", boat, LOCKER, "--load", "90"), "Under 90 kg at any one place it bends by 1/200"),
        (("grate", boat, "gas locker", "--height", "9", "--bend", "300"), "Under 40 kg at any one place and 200 kg/m²"),
        (
            ("shelf", boat, "gas locker", "--height", "20"),
            "Under 10 kg at any one place and 100 kg/m² it bends by 1/200",
        ),
    ):
        assert said in " ".join(run(*words).err.split())


def test_two_pictures_of_one_name_are_refused(run, boat: Path, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    picture = tmp_path / "one.png"
    for force in ((), ("--force",)):
        status, _, err = run("rail", boat, LOCKER, "--still", picture, "--sections", picture, *force)
        assert status == 2
        assert "two files are to be written under this one name" in err
        assert not picture.exists()


def test_a_rail_wants_a_side_where_the_space_has_both(run, boat: Path) -> None:  # type: ignore[no-untyped-def]
    status, _, err = run("rail", boat, "lazarette", "--fender", "none")
    assert status == 2
    assert "--side port or starboard" in err
    assert run("rail", boat, "lazarette", "--fender", "none", "--side", "starboard")[0] == 0


def test_crates_and_one_made_to_measure(run, boat: Path, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    words = ("crate", boat, LOCKER, "--item", "euro container, 400 x 300 x 147", "--within", "2")
    status, out, err = run(*words, "--to", tmp_path / "c.svg")
    assert status == 0
    assert "goes through" in out
    assert "over all" in out
    assert "undecided, not refused" in err
    drawn = sorted(file.stem for file in tmp_path.glob("c-*.svg"))  # boards that are alike share a template
    assert drawn == ["c-bottom", "c-end-1-and-end-2", "c-side-1-and-side-2"]
    said = json.loads(run(*words, "--json")[1])
    (module,) = said["modules"]
    assert module["at_least"] == len(module["crates"]) <= module["at_most"]
    assert said["made"]["holds_m3"] < said["made"]["volume_m3"] <= said["made"]["limit_m3"]


def test_a_picture_numbers_crates_as_they_come_out(  # type: ignore[no-untyped-def]
    run, boat: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The key has one line for all that come out, so that their numbers are those of the order that is printed."""
    drawn: list[tuple[Any, ...]] = []
    monkeypatch.setattr("tapeloft.viewer.still.draw_still", lambda *args, **more: drawn.append((args, more)))
    words = ("crate", boat, LOCKER, "--item", "box 400x300x147", "--within", "8", "--json")
    said = json.loads(run(*words, "--still", tmp_path / "c.png")[1])
    (module,) = said["modules"]
    crates = module["laid_to_come_out"] or module["crates"]
    ((_, more),) = drawn
    stowed = more["stowed"]
    assert len(stowed) == len(crates) >= 4
    for one, crate in zip(stowed, crates, strict=True):
        low, high = one.body.bounds
        assert ((low + high) / 2)[:2] == pytest.approx(crate["place_m"][:2], abs=1e-4)
        assert one.name.endswith("numbered as they come out") == (crate["order"] > 0)
    orders = [crate["order"] for crate in crates if crate["order"]]
    assert orders == list(range(1, len(orders) + 1))
    assert len(orders) >= 2


def test_where_there_is_no_crate_no_picture_is_drawn(run, boat: Path, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    words = ("crate", boat, "chain locker", "--item", "box 400x300x200", "--within", "1")
    status, _, err = run(*words, "--still", tmp_path / "c.png")
    assert status == 1
    assert "no picture is drawn" in err
    assert not (tmp_path / "c.png").exists()


def test_in_a_gas_locker_nothing_else_is_kept(run, boat: Path) -> None:  # type: ignore[no-untyped-def]
    status, _, err = run("crate", boat, "gas locker", "--item", "box 200x150x200", "--within", "1")
    assert status == 0
    assert "nothing but the gas" in err
    assert "vapour-tight" in err
    assert "nothing but the gas" in run("step", boat, "gas locker")[2]


def test_a_locker_that_lets_no_crate_out(run, boat: Path) -> None:  # type: ignore[no-untyped-def]
    status, out, err = run("crate", boat, "chain locker", "--item", "box 200x150x100", "--within", "1")
    assert status == 1
    assert "not level, proved" in out
    assert "no crate made to measure" in err


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("step", LOCKER, "--rise", "200"), "write the least and the most"),
        (("step", LOCKER, "--rise", "high..higher"), "--rise"),
        (("step", LOCKER, "--rise", "305..165"), "the least no more than the most"),
        (("step", LOCKER, "--opening", "side door"), "no opening is called"),
        (("step", LOCKER, "--floor", "5000"), "no way up"),
        (("step", LOCKER, "--thickness", "0"), "thick"),
        (("step", LOCKER, "--cheeks", "0"), "they have to be 3 to 100 mm"),
        (("step", LOCKER, "--person", "580"), "two sizes"),
        (("step", LOCKER, "--load", "heavy"), "--load"),
        (("step", LOCKER, "--load", "0 kg"), "1 to 1000 kg"),
        (("step", LOCKER, "--timber", "cheese"), "no timber is called"),
        (("step", LOCKER, "--to", "s.doc"), "let its name end in"),
        (("rail", LOCKER, "--reach", "0"), "50 to 1500 mm"),
        (("rail", LOCKER, "--reach", "-674"), "50 to 1500 mm"),
        (("rail", LOCKER, "--reach", "60 m"), "50 to 1500 mm"),
        (("rail", LOCKER, "--height", "5000"), "no room for a rail"),
        (("rail", LOCKER, "--batten", "900x45"), "3 to 200 mm"),
        (("rail", LOCKER, "--tube", "25x20"), "wall"),
        (("rail", LOCKER, "--tube", "25"), "two sizes"),
        (("rail", LOCKER, "--fender", "box 100x100x100"), "a round one"),
        (("rail", LOCKER, "--pitch", "0"), "20 to 5000 mm"),
        (("rail", LOCKER, "--still", "rail.jpg"), ".png"),
        (("rail", "chain locker", "--side", "port"), "no arm"),
        (("crate", LOCKER, "--item", "fender, 150 mm"), "a crate is a box"),
        (("crate", LOCKER, "--item", "box 1x1x1", "--within", "1"), "50 mm at least"),
        (("crate", LOCKER, "--wall", "0"), "2 to 50 mm"),
        (("crate", LOCKER, "--clearance", "-5"), "0 to 500 mm"),
        (("crate", LOCKER, "--height", "0"), "50 to 5000 mm"),
        (("crate", LOCKER, "--on", "grate"), "no grate"),
        (("crate", LOCKER, "--on", "5000"), "nothing level"),
    ],
)
def test_what_cannot_be_is_one_message_and_no_file(refused, words: tuple[str, ...], said: str) -> None:  # type: ignore[no-untyped-def]
    refused(words, said)


def test_without_an_opening_there_is_no_way(run, boat: Path) -> None:  # type: ignore[no-untyped-def]
    sheet = boat / "gas-locker.toml"
    sheet.write_text(sheet.read_text().split("[[opening]]")[0])
    for command in ("step", "rail", "crate"):
        status, _, err = run(command, boat, "gas locker")
        assert status == 2
        assert "it has no opening" in err


def test_a_rail_that_ends_short_of_the_walls_has_no_gap_to_try(run, boat: Path) -> None:  # type: ignore[no-untyped-def]
    """Its gap of 5 mm is less than twice the tape's ±, but its ends are where an arm no longer reaches."""
    off = run("rail", boat, LOCKER, "--json").json
    assert off["plus_minus"]["wall_sd_m"] is None
    assert not any("hardboard" in said for said in off["cautions"])


def test_parts_are_drawn_in_place(run, boat: Path, tmp_path: Path, draws: None) -> None:  # type: ignore[no-untyped-def]
    from PIL import Image

    reach = tmp_path / "reach.png"
    assert run("rail", boat, LOCKER, "--height", "750", "--still", tmp_path / "r.png", "--sections", reach)[0] == 0
    with Image.open(tmp_path / "r.png") as picture:
        assert picture.size == (1600, 1100)
    with Image.open(reach) as picture:
        shades = {shade for _, shade in picture.convert("RGB").getcolors(1 << 24)}
    assert {(207, 227, 210), (227, 183, 172)} <= shades  # within and out of reach


@pytest.mark.parametrize(
    "words",
    [
        ("step", LOCKER), ("rail", LOCKER, "--height", "750"),
        ("crate", LOCKER, "--item", "euro container, 400 x 300 x 147", "--within", "1"),
    ],
    ids=lambda words: words[0],
)  # fmt: skip
def test_pieces_are_drawn_moved_apart(  # type: ignore[no-untyped-def]
    run, boat: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, words: tuple[str, ...]
) -> None:
    drawn: list[Any] = []
    monkeypatch.setattr("tapeloft.viewer.still.draw_still", lambda *_, stowed, **__: drawn.append(stowed))
    mesh = tmp_path / "in-place.3mf"
    done = run(words[0], boat, *words[1:], "--exploded", "--still", tmp_path / "apart.png", "--to", mesh, "--json")
    (apart,) = drawn
    assert [one.name.removeprefix("tread ") for one in apart] == [piece["piece"] for piece in done.json["pieces"]]
    placed = trimesh.load_scene(mesh).geometry
    moved = [one for one in apart if one.leader]
    assert len(moved) >= 2
    for one in moved:  # its line runs from the middle of where it belongs to the middle of where it is drawn
        start, end = one.leader
        assert placed[one.name].bounds.mean(axis=0) / 1000 == pytest.approx(start, abs=1e-5)
        assert one.body.bounds.mean(axis=0) == pytest.approx(end, abs=1e-9)
