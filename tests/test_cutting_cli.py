"""`tapeloft panel` and `tapeloft grate`: what they print and write, and what they refuse."""

import csv
import io
import json
import re
from fractions import Fraction
from pathlib import Path

import pypdf
import pytest
import trimesh

LOCKER = "cockpit locker, port"
PARTS = {
    "panel": ("gas locker", "--height", "20"), "grate": ("gas locker", "--height", "9"),
    "shelf": ("gas locker", "--height", "20"), "step": (LOCKER,), "rail": (LOCKER,),
    "crate": (LOCKER, "--item", "euro container, 400 x 300 x 147"),
}  # fmt: skip


def test_a_panel_with_every_file(run, boat: Path, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    names = ["p.pdf", "p.svg", "p.dxf", "p.csv", "p.stl", "p.obj"]
    to = [word for name in names for word in ("--to", tmp_path / name)]
    status, out, err = run("panel", boat, LOCKER, "--at", "700", "--thickness", "12", *to)
    assert status == 0
    assert "panel, after face at station 700 mm" in out
    assert "seat lid" in out
    named = ["p.pdf", *(f"p-{one}.{kind}" for one in ("A", "B", "strap-1") for kind in ("svg", "dxf"))]
    for name in (*named, "p.csv", "p.stl", "p.obj"):
        assert (tmp_path / name).stat().st_size > 0
        assert f"wrote {tmp_path / name}" in err
    assert "hardboard" in err
    assert "built from" in err
    rows = list(csv.DictReader(io.StringIO((tmp_path / "p.csv").read_text())))
    assert [row["piece"] for row in rows] == ["A", "B", "strap 1"]
    mesh = trimesh.load(tmp_path / "p.stl")
    assert mesh.bounds[:, 0] == pytest.approx([688, 712], abs=1e-3)  # in its place, mm, the strap behind it
    groups = [line[2:] for line in (tmp_path / "p.obj").read_text().splitlines() if line.startswith("g ")]
    assert groups[:3] == ["panel_A", "panel_B", "panel_strap_1"]
    assert mesh.volume / 12e6 == pytest.approx(sum(float(row["area_m2"]) for row in rows), abs=2e-4)
    pages = [page.extract_text() for page in pypdf.PdfReader(tmp_path / "p.pdf").pages]
    assert "3 pieces on" in pages[0]
    assert "on straps: their middles, from the starboard end" in pages[1]
    assert "the lower end 3 above it" in pages[1]
    for said in (
        "strap 1 behind, joint to B",
        "strap 1 behind, joint to A",
        "behind the joint of A and B, 12 mm thick",
    ):
        assert sum(said in page for page in pages[2:]) == 1


def test_straps_of_a_panel_are_told_and_weighed(run, boat: Path) -> None:  # type: ignore[no-untyped-def]
    asked = ("panel", boat, LOCKER, "--at", "700")
    said = json.loads(run(*asked, "--json", "--sheet", "2440x1220")[1])
    strap = said["pieces"][-1]
    (joint,) = said["joints"]
    assert said["strap_face"] == "after"
    assert (strap["piece"], joint["straps"], joint["between"]) == ("strap 1", ["strap 1"], ["A", "B"])
    assert joint["length_m"] == pytest.approx(
        sum(joint[f"{one}_m"] for one in ("strapped", "cleats", "bare")), abs=1e-9
    )
    assert strap["mass_kg"] == pytest.approx(strap["area_m2"] * 0.012 * 600, rel=1e-9)
    assert said["mass_kg"] == pytest.approx(sum(one["mass_kg"] for one in said["pieces"]), rel=1e-9)
    assert [one["piece"] for one in said["sheets"]["sheets"][0]["pieces"]].count("strap 1") == 1
    thicker = json.loads(run(*asked, "--json", "--strap", "80x18", "--sheet", "2440x1220")[1])
    assert [one["thickness_m"] for one in thicker["pieces"]] == [0.012, 0.012, 0.018]
    assert sorted(one["piece"] for one in thicker["sheets"]["sheets"][0]["pieces"]) == ["A", "B"]
    assert any("the straps are 18 mm thick, the sheets 12 mm" in one for one in thicker["remarks"])
    none = json.loads(run(*asked, "--json", "--strap", "none")[1])
    assert [one["piece"] for one in none["pieces"]] == ["A", "B"]
    assert any("back the joints by other means" in one for one in none["remarks"])
    status, out, err = run(*asked, "--cleat", "0")
    assert status == 0
    assert "of it, straps" in out
    assert "A and B" in out
    assert 'strap 1: in through "seat lid"' in err


def test_a_strap_that_goes_in_nowhere_is_told_so(run, boat: Path) -> None:  # type: ignore[no-untyped-def]
    """A bar 60 by 200 goes through a hatch 190 by 150 at no turn: at 45° it is 184 across both ways (arithmetic)."""
    sheet = boat / "gas-locker.toml"
    sheet.write_text(sheet.read_text().replace("clear = [54, 32]\ncorner_radius = 3", "clear = [19, 15]"))
    asked = ("panel", boat, "gas locker", "--height", "40", "--json", "--strap")
    (status, thick), (does, thin) = (
        (code, json.loads(out)) for code, out, _ in (run(*asked, one) for one in ("60x200", "60x12"))
    )
    assert (status, does) == (1, 0)
    found = [[one["through"] for one in said["pieces"] if "strap" in one["piece"]] for said in (thick, thin)]
    assert found[0]
    assert {*map(tuple, found[0])} == {()}
    assert {*map(tuple, found[1])} == {("coaming lid",)}


def test_json_has_units_in_its_names(run, boat: Path) -> None:  # type: ignore[no-untyped-def]
    status, out, _ = run("panel", boat, "gas locker", "--height", "20", "--json")
    said = json.loads(out)
    assert status == 0
    assert said["command"] == "panel"
    assert said["thickness_m"] == 0.012
    assert said["outside_m3"] < 1e-9
    assert said["pieces"][0]["through"] == ["coaming lid"]
    assert any("vapour-tight" in text for text in said["cautions"])
    assert any("fasten nothing" in text for text in said["cautions"])


def test_what_is_written_on_a_part_changes_with_the_survey(run, boat: Path) -> None:  # type: ignore[no-untyped-def]
    first = json.loads(run("panel", boat, LOCKER, "--at", "700", "--json")[1])["survey"]
    same = json.loads(run("panel", boat, LOCKER, "--at", "700", "--json")[1])["survey"]
    other = json.loads(run("panel", boat, LOCKER, "--at", "700", "--set", "sole_step=170", "--json")[1])["survey"]
    assert first == same != other
    assert len(first) == 12


def test_stations_that_rise_aft_are_meant_as_they_were_taped(run, boat: Path) -> None:  # type: ignore[no-untyped-def]
    status, out, _ = run("panel", boat, "lazarette", "--at", "430", "--json")
    assert status == 0
    assert json.loads(out)["clear_m2"] == pytest.approx(1.3, abs=0.3)


def test_a_side_is_asked_for_where_the_space_has_both(run, boat: Path) -> None:  # type: ignore[no-untyped-def]
    status, _, err = run("panel", boat, "lazarette", "--half-breadth", "200")
    assert status == 2
    assert '"p 200" or "s 200"' in err
    port, starboard = (
        json.loads(run("panel", boat, f"cockpit locker, {side}", "--half-breadth", "800", "--json")[1])
        for side in ("port", "starboard")
    )
    assert "to port" in port["place"]
    assert "to starboard" in starboard["place"]


def test_a_grate_tells_its_figures(run, boat: Path, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    file = tmp_path / "g.pdf"
    status, out, err = run("grate", boat, "gas locker", "--height", "9", "--to", file)
    assert status == 0
    for said in ("it may span", "open", "mass, dry", "runs out by the drain overboard", "clear height"):
        assert said in out
    assert "Wood Handbook" in err
    assert len(pypdf.PdfReader(file).pages) > 1
    said = json.loads(run("grate", boat, "gas locker", "--height", "9", "--json")[1])
    assert said["bearer_spacing_m"] <= said["span_m"]
    assert said["water"]["seconds"] > 0
    assert 0 < said["open_share"] < 1


def test_kinds_of_grate_and_what_they_are_cut_from(run, boat: Path, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    kind = ("--kind", "perforated", "--hole", "16", "--pitch", "30", "--pattern", "hex")
    to = [word for name in ("h.svg", "h.dxf", "h.pdf", "h.stl") for word in ("--to", tmp_path / name)]
    status, out, err = run("grate", boat, "lazarette", "--height", "300", *kind, "--sheet", "2440x1220", *to)
    assert status == 0
    assert "holes" in out
    assert "straight down" in err
    assert "offcut" in out
    assert (tmp_path / "h-sheet-1.svg").exists()
    assert (tmp_path / "h-sheet-1.dxf").exists()
    status, out, _ = run(
        "grate", boat, "gas locker", "--height", "9", "--kind", "egg-crate", "--stock", "2400", "--json"
    )
    said = json.loads(out)
    assert status == 0
    assert said["ideal_open_share"] == pytest.approx((40 / 60) ** 2)
    cut = [name for one in said["stock"] for length in one["lengths"] for name in length["bars"]]
    assert sorted(cut) == sorted(piece["piece"] for piece in said["pieces"])


def test_every_table_of_a_part_is_in_the_units_asked_for(run, boat: Path) -> None:  # type: ignore[no-untyped-def]
    status, out, _ = run("panel", boat, "gas locker", "--height", "20", "--units", "in")
    assert status == 0
    assert "long, mm" not in out
    assert out.count("long, in") == 2  # edges and cleats
    lengths = [float(one) for one in re.findall(r"A +([0-9.]+)  aft end", run("panel", boat, *PARTS["panel"][:3]).out)]
    whole, part = re.findall(r"A +([0-9]+) ?([0-9]+/[0-9]+)?  aft end", out)[0]
    assert int(whole) + float(Fraction(part or 0)) == pytest.approx(lengths[0] / 25.4, abs=1 / 32 + 1e-3)


@pytest.mark.parametrize("kind", ["battens", "egg-crate", "perforated"])
def test_what_a_grate_is_cut_into_weighs_what_it_does(run, boat: Path, kind: str) -> None:  # type: ignore[no-untyped-def]
    """The lines of the cut list make the masses of sections, and those the whole; halved bars too."""
    said = run("grate", boat, "gas locker", "--height", "9", "--kind", kind, "--json").json
    listed = sum(one["mass_kg"] for one in said["pieces"])
    assert listed == pytest.approx(said["mass_kg"], rel=1e-6)
    assert sum(one["mass_kg"] for one in said["sections"]) == pytest.approx(said["mass_kg"], rel=1e-9)


def test_files_of_pieces_that_are_no_more_are_pointed_at(run, boat: Path, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    """A board that was in many pieces and is in fewer: what is left in the folder would be cut for nothing."""
    words = ("panel", boat, "gas locker", "--height", "20", "--to", tmp_path / "p.svg", "--force")
    (tmp_path / "p-notes.svg").write_text("a person's own")
    assert "from another run" not in run(*words, "--mass", "0.4").err
    many = {file.name for file in tmp_path.glob("p-?.svg")}
    assert len(many) > 2
    err = run(*words).err  # whole
    assert (tmp_path / "p.svg").exists()
    assert {name for name in many if f"{tmp_path / name} is there from another run" in err} == many
    assert "p-notes.svg" not in err
    (said,) = [one for one in run(*words, "--mass", "0.4", "--json").json["remarks"] if "from another run" in one]
    assert "p.svg" in said


def test_a_panel_by_mass_on_sheets(run, boat: Path) -> None:  # type: ignore[no-untyped-def]
    words = ("panel", boat, "lazarette", "--height", "300", "--mass", "4 kg", "--sheet", "2440x1220", "--json")
    status, out, _ = run(*words)
    said = json.loads(out)
    assert status == 0
    assert max(piece["mass_kg"] for piece in said["pieces"]) <= 4.0
    laid = [one["piece"] for sheet in said["sheets"]["sheets"] for one in sheet["pieces"]]
    assert sorted(laid) == [piece["piece"] for piece in said["pieces"]]
    assert all(piece["passages"][0]["spare_m"] >= 0.005 for piece in said["pieces"])
    assert run("panel", boat, "lazarette", "--height", "300", "--mass", "1 g")[0] == 1


def test_a_shelf_is_parted_until_no_piece_weighs_more(run, boat: Path) -> None:  # type: ignore[no-untyped-def]
    asked = ("shelf", boat, "berth locker", "--height", "9", "--json")
    whole, parted = (json.loads(run(*asked, *words)[1])["pieces"] for words in ((), ("--mass", "4 kg")))
    boards = [[one for one in some if len(one["piece"]) == 1] for some in (whole, parted)]
    assert max(one["mass_kg"] for one in boards[0]) > 4.0 >= max(one["mass_kg"] for one in boards[1])
    assert sum(one["area_m2"] for one in boards[1]) == pytest.approx(sum(one["area_m2"] for one in boards[0]), rel=0.02)
    assert run(*asked, "--mass", "0 kg")[0] == 2


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--sheet", "2440"), 'write two sizes, length x breadth, for example "2440x1220"'),
        (("--sheet", "300x200"), "goes on no sheet"),
        (("--sheet", "0x0"), "a sheet of 0 × 0"),
        (("--sheet", "2440x1220", "--kerf", "-3"), "kerf"),
        (("--mass", "0 kg"), "no piece weighs nothing"),
        (("--mass", "heavy"), "--mass"),
        (("--density", "-600"), "kg/m³"),
    ],
)
def test_sheets_and_masses_that_cannot_be(run, boat: Path, words: tuple[str, ...], said: str) -> None:  # type: ignore[no-untyped-def]
    status, _, err = run("panel", boat, "gas locker", "--height", "20", *words)
    assert status == 2
    assert said in err
    assert "Traceback" not in err


@pytest.mark.parametrize(
    ("words", "said"),
    [
        *(((one, "--exploded"), "give --still FILE.png too") for one in PARTS),
        (("panel", "--kerf", "4"), "give --sheet L x B too"),
        (("panel", "--grain", "any"), "give --sheet L x B too"),
        (("grate", "--kerf", "4"), "give --sheet L x B or --stock LENGTH too"),
        (("grate", "--grain", "along", "--stock", "2 m"), "give --sheet L x B too"),
        *((("grate", f"--{one}", "12"), "give --kind perforated too") for one in ("thickness", "hole", "pitch", "web")),
        (("grate", "--of", "FRP"), "give --kind perforated too"),
        (("grate", "--pattern", "square"), "give --kind perforated too"),
        (("grate", "--batten", "40x18", "--kind", "perforated"), "give --kind battens or egg-crate too"),
        (("grate", "--spaced", "20", "--kind", "perforated"), "give --kind battens or egg-crate too"),
        (("panel", "--strap-face", "after", "--strap", "none"), "give --strap B x T too"),
        (("panel", "--hand", "100x35"), "give --hands N too"),
        (("panel", "--hand-down", "70"), "give --hands N too"),
        (("panel", "--slot", "120x20"), "give --vent CM2 too"),
        (("panel", "--hole-web", "30"), "give --hands N or --vent CM2 too"),
        (("shelf", "--fiddle", "40x18"), "give --from SIDE and --depth LENGTH too"),
        (("rail", "--metal", "aluminium"), "give --tube D x WALL too"),
        (("rail", "--pitch", "200", "--fender", "none"), "give --fender ITEM too"),
        *(((one, "--paper", "a3"), "give --to FILE.pdf too") for one in PARTS),
    ],
)
def test_what_does_nothing_alone_is_not_taken_in_silence(run, boat: Path, words: tuple[str, ...], said: str) -> None:  # type: ignore[no-untyped-def]
    command, *typed = words
    option = typed[0]
    status, out, err = run(command, boat, *PARTS[command], *typed)
    assert (status, out) == (2, "")
    assert f"{option}: it does nothing without" in err
    assert f"{said}, or leave {option} out" in err


def test_a_kerf_is_of_sheets_and_of_stock(run, boat: Path) -> None:  # type: ignore[no-untyped-def]
    asked = ("grate", boat, "gas locker", "--height", "9", "--stock", "2400", "--json")
    (usual, same, broad) = (
        json.loads(run(*asked, *words)[1])["stock"] for words in ((), ("--kerf", "4"), ("--kerf", "9"))
    )
    assert usual == same != broad


def test_a_grate_tells_the_bore_that_drains_it_in_time(run, boat: Path) -> None:  # type: ignore[no-untyped-def]
    asked = ("grate", boat, "gas locker", "--height", "90 mm", "--json")
    water = json.loads(run(*asked)[1])["water"]
    assert (water["discharge"], water["wanted_m"]) == (0.6, None)
    sooner = json.loads(run(*asked, "--empty-in", water["seconds"] / 4)[1])["water"]
    gas = json.loads(run("check", boat, "gas locker", "--json")[1])["compartments"][0]
    assert sooner["wanted_m"] == pytest.approx(2 * gas["drains"][0]["diameter_m"], rel=1e-9)
    assert "coefficient of discharge" in run(*asked[:-1])[1]
    assert run(*asked, "--empty-in", "-1")[0] == 2


def test_a_drain_above_the_grate_is_told(run, boat: Path) -> None:  # type: ignore[no-untyped-def]
    sheet = boat / "gas-locker.toml"
    sheet.write_text(sheet.read_text().replace("y = 101\nz = 0", "y = 101\nz = 30"))
    status, _, err = run("grate", boat, "gas locker", "--height", "9")
    assert status == 0
    assert "lies above the underside of the battens" in err


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("panel", LOCKER), "say where it stands with one of"),
        (("panel", LOCKER, "--at", "700", "--height", "300"), "say where it stands with one of"),
        (("panel", LOCKER, "--at", "9000"), "outside the space"),
        (("panel", LOCKER, "--at", "seven"), "--at"),
        (("panel", LOCKER, "--at", "700", "--thickness", "0"), "thick"),
        (("panel", LOCKER, "--at", "700", "--thickness", "-12"), "thick"),
        (("panel", LOCKER, "--at", "700", "--gap", "-1"), "0 to 500 mm"),
        (("panel", LOCKER, "--at", "700", "--gap", "450"), "nothing is left"),
        (("panel", LOCKER, "--at", "700", "--to", "panel.doc"), "let its name end in"),
        (
            ("panel", LOCKER, "--at", "700", "--strap", "60"),
            'write two sizes, breadth x thickness, for example "60x12"',
        ),
        (("panel", LOCKER, "--at", "700", "--strap", "5x12"), "10 to 500 mm, or none"),
        (("panel", LOCKER, "--at", "700", "--cleat", "-1"), "cleats -1 mm broad"),
        (("panel", LOCKER, "--at", "700", "--strap-face", "lower"), "the forward and the after one"),
        (("panel", LOCKER, "--at", "700", "--still", "panel.jpg"), ".png"),
        (("grate", LOCKER), "the survey has no grate"),
        (("grate", LOCKER, "--height", "90", "--batten", "40"), "two sizes"),
        (("grate", LOCKER, "--height", "90", "--batten", "900x18"), "3 to 500 mm"),
        (("grate", LOCKER, "--height", "90", "--timber", "cheese"), "no timber is called"),
        (("grate", LOCKER, "--height", "90", "--point", "heavy"), "--point"),
        (("grate", LOCKER, "--height", "5000"), "no room between"),
        (("grate", LOCKER, "--height", "300", "--bend", "nan"), "a bend of 1/nan"),
        (("grate", LOCKER, "--height", "300", "--density", "600"), "--density is of a perforated sheet"),
        (("grate", LOCKER, "--height", "300", "--kind", "perforated", "--modulus", "nan"), "a modulus of nan"),
        (("grate", LOCKER, "--height", "300", "--empty-in", "0"), "a time over 0"),
        (
            ("grate", "sail locker", "--height", "90", "--kind", "egg-crate", "--run", "athwartships"),
            "would be left without a grate",
        ),
    ],
)
def test_what_cannot_be_is_one_message_and_no_file(refused, words: tuple[str, ...], said: str) -> None:  # type: ignore[no-untyped-def]
    refused(words, said)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("panel", LOCKER, "--at", "700", "--lean", "nan"), "a lean of nan°: it has to be -60 to 60"),
        (("rail", LOCKER, "--tube", "25x2", "--batten", "20x45"), "a rail is the one or the other"),
        (("grate", "gas locker", "--height", "9", "--even", "-5"), "an even load of -5: it has to be"),
    ],
)
def test_what_was_taken_or_told_badly_is_told_well(refused, words: tuple[str, ...], said: str) -> None:  # type: ignore[no-untyped-def]
    refused(words, said)


def test_a_piece_too_heavy_is_not_said_not_to_go_in(run, boat: Path) -> None:  # type: ignore[no-untyped-def]
    """It goes in through the lid, and is told how; it is its mass that no joints mend."""
    status, _, err = run("panel", boat, "gas locker", "--height", "20", "--mass", "0.001")
    assert status == 1
    assert 'in through "coaming lid"' in err
    assert "will not go in" not in err
    assert "none of the joints that were tried does" in err


def test_a_lid_smaller_than_any_piece(run, boat: Path) -> None:  # type: ignore[no-untyped-def]
    sheet = boat / "gas-locker.toml"
    sheet.write_text(sheet.read_text().replace("clear = [54, 32]\ncorner_radius = 3", "clear = [3, 3]"))
    status, out, err = run("panel", boat, "gas locker", "--height", "20")
    assert status == 1
    assert "will not do as it is" in err
    assert "none" in out
    assert run("grate", boat, "gas locker", "--height", "9")[0] == 1


def test_a_file_that_is_there_is_kept(run, boat: Path, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    file = tmp_path / "p.svg"
    file.write_text("mine")
    status, _, err = run("panel", boat, "gas locker", "--height", "20", "--to", file)
    assert status == 2
    assert "there already" in err
    assert file.read_text() == "mine"
    assert run("panel", boat, "gas locker", "--height", "20", "--to", file, "--force")[0] == 0


def test_a_picture_that_cannot_be_drawn_keeps_the_rest_from_being_written(run, boat: Path, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    words = ("panel", boat, "gas locker", "--height", "20", "--to", tmp_path / "p.svg", "--still")
    (tmp_path / "there.png").write_text("mine")
    for still in ("panel.jpg", "there.png"):
        assert run(*words, tmp_path / still)[0] == 2
        assert not (tmp_path / "p.svg").exists()


@pytest.mark.parametrize(
    ("picture", "said"),
    [("nowhere/p.png", "its folder does not exist"), ("p.csv/p.png", "is a file"), ("there.png", "there already")],
)
def test_a_picture_that_finds_no_place_keeps_the_rest_from_being_written(  # type: ignore[no-untyped-def]
    run, boat: Path, tmp_path: Path, picture: str, said: str
) -> None:
    (tmp_path / "p.csv").write_text("kept")
    (tmp_path / "there.png").write_text("kept")
    to = ("--to", tmp_path / "new.csv", "--still", tmp_path / picture)
    status, out, err = run("panel", boat, "gas locker", "--height", "20", *to)
    assert (status, out) == (2, "")
    assert said in err
    assert not (tmp_path / "new.csv").exists()


def test_a_part_is_drawn_in_its_place(run, boat: Path, tmp_path: Path, draws: None) -> None:  # type: ignore[no-untyped-def]
    from PIL import Image

    file = tmp_path / "there.png"
    assert run("panel", boat, "gas locker", "--height", "20", "--still", file)[0] == 0
    with Image.open(file) as picture:
        assert picture.size == (1600, 1100)
