"""`tapeloft shelf`, `tapeloft liner`, the holes of `tapeloft panel`, and parts of a survey in the other commands."""

import json
from fractions import Fraction
from importlib.resources import files
from pathlib import Path

import pypdf
import pytest
import trimesh
from PIL import Image

from tapeloft.model.compartment import build
from tapeloft.model.survey.boat import read_survey
from tapeloft.viewer.look import Look, chosen, keyed
from tapeloft.viewer.scene import scene_of

DEMO = str(files("tapeloft.shapes").joinpath("demo"))
FITTED = ("--option", "fitted out")


def test_a_shelf_with_its_plan(run, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    pdf, obj = tmp_path / "s.pdf", tmp_path / "s.obj"
    words = ("shelf", DEMO, "berth", "--height", "9", "--from", "starboard", "--depth", "12in", "--gap", "8")
    status, out, err = run(*words, "--to", pdf, "--to", obj)
    assert status == 0
    for said in ("it sags there, loaded", "clear height under it", "fiddle 1", "bearer 1", "cleats"):
        assert said in out
    assert "Wood Handbook" in err
    pages = pypdf.PdfReader(pdf).pages
    assert "plan, in" in pages[1].extract_text()  # the survey's own unit
    told = json.loads(run(*words, "--json")[1])
    long = told["pieces"][0]["length_m"]
    whole, rest = divmod(Fraction(round(long / 0.0254 * 16), 16), 1)
    assert f"{whole} {rest}" in pages[1].extract_text()  # over all, dimensioned
    run(*words, "--units", "mm", "--to", pdf, "--force")
    page = pypdf.PdfReader(pdf).pages[1].extract_text()
    assert "plan, mm" in page
    assert f"{long * 1000:.0f}" in page
    assert told["sag_m"] <= told["spacing_m"] / 200
    assert told["plus_minus"]["wall_sd_m"] > 0
    boards = len(told["plus_minus"]["areas_sd_m2"])
    assert [one["area_sd_m2"] for one in told["pieces"][:boards]] == told["plus_minus"]["areas_sd_m2"]
    assert all(0 < one < 0.01 for one in told["plus_minus"]["areas_sd_m2"])
    assert {one["area_sd_m2"] for one in told["pieces"][boards:]} == {None}  # bars are as they are sawn
    assert told["under"]["clear_m"] + told["over"]["clear_m"] < 0.42
    assert trimesh.load_scene(obj, split_object=True).volume * 1e-9 == pytest.approx(
        told["mass_kg"] / (1120 * 0.55 / (1 - 0.159 * 0.55)), rel=1e-6
    )


def test_a_shelf_of_plywood_says_so_and_holds_its_gap_against_the_walls(run, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    words = ("shelf", DEMO, "cockpit locker, port", "--height", "600", "--from", "port", "--depth", "500")
    pdf = tmp_path / "s.pdf"
    status, _, err = run(*words, "--of", "plywood", "--to", pdf)
    assert status == 0
    assert "plywood, its face grain along the span: E 6.96 GPa" in err
    assert "the walls are known to ±" in err
    text = " ".join(page.extract_text() for page in pypdf.PdfReader(pdf).pages)
    for said in ("12 mm plywood, face grain fore and aft", "this side: upper face", "station ", "height 588 to 600 mm"):
        assert said in text
    along, across, stated = (
        json.loads(run(*words, "--json", *more)[1])
        for more in (("--of", "ply"), ("--of", "cross"), ("--of", "ply", "--modulus", "12", "--strength", "60"))
    )
    assert across["span_m"] < along["span_m"] < stated["span_m"]
    assert (along["sheet"]["name"], across["sheet"]["modulus_pa"] < 0.4 * along["sheet"]["modulus_pa"]) == (
        "plywood",
        True,
    )
    assert along["plus_minus"]["wall_sd_m"] > 0
    status, _, err = run(*words, "--modulus", "12")
    assert (status, "say which with --of" in err) == (2, True)


def test_a_step_holds_its_gap_against_the_walls(run) -> None:  # type: ignore[no-untyped-def]
    told = json.loads(run("step", DEMO, "lazarette", "--json")[1])
    off = told["plus_minus"]
    assert 0.0005 < off["wall_sd_m"] < 0.02
    assert all(0 < one["area_sd_m2"] < 0.005 for one in told["pieces"])
    gap = [one for one in told["cautions"] if one.startswith("The least gap")]
    assert f"± {off['wall_sd_m'] * 1000:.1f} mm" in gap[0]
    assert f"in {off['touches']} of {off['drawn']} spaces" in gap[0]


def test_a_shelf_whose_bearers_do_not_all_lie_under_each_piece(run, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    """Low between what stands on the sole: a piece has only its own bearers marked on it."""
    words = ("shelf", DEMO, "cockpit locker, port", "--height", "3 in", "--from", "port", "--depth", "200")
    status, _, err = run(*words, "--to", tmp_path / "shelf.svg")
    assert status == 0
    assert f"wrote {tmp_path}" in err


def test_a_shelf_that_fills_the_level_has_the_panels_plus_and_minus(run) -> None:  # type: ignore[no-untyped-def]
    """In four pieces, under each of which only some bearers lie; nothing else asked of the two differs."""
    told = json.loads(run("shelf", DEMO, "sail", "--height", "500", "--json")[1])
    panel = json.loads(run("panel", DEMO, "sail", "--height", "500", "--json")[1])
    assert len(told["pieces"]) > len(told["plus_minus"]["areas_sd_m2"]) > 1
    assert all(0 < sd < 0.01 for sd in told["plus_minus"]["areas_sd_m2"])
    assert told["plus_minus"]["clear_sd_m2"] == pytest.approx(panel["plus_minus"]["clear_sd_m2"], rel=1e-6)


def test_a_panel_with_holes_and_cleats(run, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    words = ("panel", DEMO, "lazarette", "--option", "panel out", "--half-breadth", "p 330")
    plain = json.loads(run(*words, "--json")[1])
    holed = json.loads(run(*words, "--hands", "2", "--vent", "150", "--json")[1])
    assert holed["vent_m2"] >= 0.015
    assert holed["pieces"][0]["area_m2"] < plain["pieces"][0]["area_m2"] - 0.015
    assert sum(one["length_m"] for one in holed["cleats"]) > 2
    assert run(*words, "--vent", "99999")[0] == 2


def test_no_cleat_is_screwed_to_what_is_structural(run, boat: Path) -> None:  # type: ignore[no-untyped-def]
    sheet = boat / "cockpit-locker.toml"
    for structural in (True, False):
        said = run("panel", boat, "cockpit locker, port", "--height", "300", "--json").json
        assert any(edge["wall"] == "compression post" for piece in said["pieces"] for edge in piece["edges"])
        assert any(one["wall"] == "compression post" for one in said["cleats"]) is not structural
        assert any(one["wall"] == "battery box, serves as step" for one in said["cleats"])
        sheet.write_text(sheet.read_text().replace("structural = true\n", ""))


def test_a_liner(run, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    status, out, _ = run("liner", DEMO, "gas locker", "--thickness", "6", "--to", tmp_path / "l.stl")
    assert status == 0
    assert "thinnest, measured" in out
    mesh = trimesh.load(tmp_path / "l.stl")
    told = json.loads(run("liner", DEMO, "gas locker", "--thickness", "6", "--json")[1])
    assert mesh.is_watertight
    assert mesh.volume * 1e-9 == pytest.approx(told["lost_m3"], rel=1e-4)
    assert told["open"] == ["coaming lid"]
    assert 0 < told["plus_minus"]["lost_sd_m3"] < 0.02 * told["lost_m3"]
    assert "± if no reading is wrong" in run("liner", DEMO, "gas locker")[2]
    assert 0.0058 < told["thinnest_m"] <= 0.006


@pytest.mark.usefixtures("warmed")
def test_parts_of_the_survey_in_every_answer(run, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    _, out, _ = run("volume", DEMO, "berth", *FITTED)
    assert "less chart shelf, shelf built in" in out
    told = json.loads(run("check", DEMO, "berth", *FITTED, "--json")[1])["compartments"][0]["parts"]
    assert (told[0]["kind"], told[0]["even_kg_m2"]) == ("shelf", 100.0)
    full = [json.loads(run("capacity", DEMO, "berth", *some, "--json")[1])["flooded_kg"] for some in ((), FITTED)]
    assert full[1] < full[0]
    fits = run("fit", DEMO, "berth", "box 1900x560x250", *FITTED, "--within", "20")
    assert fits[0] == 1
    assert "chart shelf" in fits[1]  # it would fit with that out
    status, out, _ = run("export", DEMO, "berth", *FITTED, "--what", "parts", "--to", tmp_path / "p.obj")
    assert (status, "chart shelf fiddle 1" in out) == (0, True)
    assert run("volume", DEMO, "berth", *FITTED, "--json")[0] == 0


def test_an_area_of_a_part_that_is_made_anew_has_no_plus_minus(run) -> None:  # type: ignore[no-untyped-def]
    status, out, _ = run("volume", DEMO, "cockpit locker, port", *FITTED, "--json")
    (one,) = json.loads(out)["compartments"]
    stated = {area["name"] for area in one["plus_minus"]["areas"]}
    coated = {part["name"]: part["kind"] for part in one["areas"]["parts"]}
    assert status == 0
    assert {name for name in coated if name not in stated} == {"steps", "hand rail"}
    assert {coated[name] for name in ("steps", "hand rail")} == {"part"}


def test_parts_are_drawn() -> None:
    scene = scene_of(build(read_survey(DEMO, options=("fitted out",)).compartment("berth locker")))
    assert [part.name for part in scene.of("part")] == ["chart shelf"]
    assert not chosen(scene, keyed(Look(), "p", scene)).of("part")


@pytest.mark.usefixtures("draws", "warmed")
def test_parts_are_drawn_moved_apart(run, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    apart = tmp_path / "b.png"
    assert run("show", DEMO, "berth", *FITTED, "--no-box", "--exploded", "--still", apart)[0] == 0
    with Image.open(apart) as picture:
        tones = {tone for _, tone in picture.convert("RGB").getcolors(1 << 24)}
    assert len(tones) > 1000
    status, _, err = run("show", DEMO, "berth", "--exploded", "--still", tmp_path / "c.png")
    assert (status, "no parts to draw apart" in err) == (2, True)


@pytest.mark.parametrize(
    ("words", "why"),
    [
        ("shelf berth", "--height"),
        ("shelf berth --height 9 --depth 12", "both"),
        ("shelf berth --height 99", "outside the space"),
        ("shelf berth --height 16 --from starboard --depth 300", "no room over"),
        ("shelf berth --height 9 --from starboard --depth 300 --fiddle 40", "two sizes"),
        ("shelf berth --height 9 --from starboard --depth -3", "more than 0"),
        ("shelf berth --height 9 --thickness 0", "0.5 to 200"),
        ("shelf berth --height 9 --even nan", "it has to be"),
        ("shelf berth --height 9 --timber oak", "timber"),
        ("liner gas --thickness 0", "0.5 to 200"),
        ("liner gas --thickness 9m", "0.5 to 200"),
        ("liner gas --thickness 190", "leave nothing"),
        ("liner gas --density nan", "density"),
        ("liner gas --to x.pdf", "mesh format"),
        ("panel laz --at 300 --hands 99", "it has to be"),
        ("panel laz --at 300 --vent -1", "it has to be"),
        ("panel laz --at 300 --swing lid", "lid"),
    ],
)
def test_what_cannot_be_is_refused_in_one_message(run, words: str, why: str) -> None:  # type: ignore[no-untyped-def]
    command, name, *rest = words.split()
    status, out, err = run(command, DEMO, name, *rest)
    assert (status, out) == (2, "")
    assert why in err
    assert "Traceback" not in err
