"""The command line: what each command prints and where, how it ends, what it loads, and what it does when stopped."""

import json
import math
import os
import re
import signal
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tapeloft.cli.app import app

posix = pytest.mark.skipif(os.name != "posix", reason="signals, pipes and terminals of a POSIX system")


def change(file: Path, old: str, new: str) -> None:
    text = file.read_text(encoding="utf-8")
    assert text.count(old) == 1
    file.write_text(text.replace(old, new), encoding="utf-8")


# JSON: one object, whose structure is stable and whose names say their units

JSON = {
    "volume": (["volume", "{boat}"], {"compartments", "all", "basis", "notes", "cautions"}),
    "check": (["check", "{boat}"], {"good", "compartments", "problems", "notes"}),
    "capacity": (
        ["capacity", "{boat}", "lazarette"],
        {"compartment", "bay", "density_kg_m3", "capacity", "flooded_kg", "plus_minus", "basis", "notes", "cautions"},
    ),
    "box": (["box", "{boat}", "gas locker"], {"boxes", "basis", "notes", "cautions"}),
    "export": (["export", "{boat}", "lazarette", "--to", "{boat}/net.stl"], {"exported", "basis", "notes", "cautions"}),
    "fit": (["fit", "{boat}", "gas locker", "box 300x200x200"], {"fits", "basis", "notes", "cautions"}),
    "count": (
        ["count", "{boat}", "gas locker", "box 200x150x200", "--within", "3"],
        {"compartment", "item", "turn", "counted", "basis", "notes", "cautions"},
    ),
    "form": (
        ["form", "{boat}", "lazarette", "--to", "{boat}/sheet.pdf"],
        {"file", "compartment", "paper", "pages", "tapes"},
    ),
    "gear": (["gear"], {"gear"}),
    "shapes": (["shapes"], {"shapes"}),
    "new": (["new", "{boat}/new.toml"], {"file"}),
    "demo": (["demo", "{boat}/demo", "--no-stills"], {"boat", "compartments", "files", "basis", "cautions"}),
    "sister": (["sister", "{boat}", "cockpit locker, port", "--tape", "1A-1D = 1222"], {"sister"}),
}
UNITS = re.compile(r"_(m|m2|m3|m4|kg|kg_m3|deg|bytes)$")
COUNTS = {  # numbers of no unit, shares
    *("line", "factor", "drawn", "lost", "triangles", "faces", "hull_number", "axis", "gap", "branches", "turn"),
    *("at_least", "at_most", "count", "turns", "starts", "rounds", "pages"),
    *(
        "chi2",
        "chi2_left",
        "limit",
        "freedom",
        "blind",
        "of",
        "then_blind",
        "probability",
        "in_sigmas",
        "scatter",
        "touches",
    ),
}


def numbers(value: object, name: str = "") -> Iterator[tuple[str, float]]:
    """Yield every number with the name that it is under, or the nearest that has a unit."""
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from numbers(inner, name if UNITS.search(name) else key)
    elif isinstance(value, list):
        for inner in value:
            yield from numbers(inner, name)
    elif isinstance(value, int | float) and not isinstance(value, bool):
        yield name, value


@pytest.mark.usefixtures("warmed")
@pytest.mark.parametrize("command", JSON)
def test_json(run, boat: Path, command: str) -> None:  # type: ignore[no-untyped-def]
    words, keys = JSON[command]
    done = run(*(word.format(boat=boat) for word in words), "--json")
    assert done.status == 0
    assert set(done.json) == {"command", *keys}
    assert done.json["command"] == command
    assert [name for name, _ in numbers(done.json) if not UNITS.search(name) and name not in COUNTS] == []
    assert "NaN" not in done.out
    assert "Infinity" not in done.out


def test_every_command_has_json_but_the_window(run, boat: Path) -> None:  # type: ignore[no-untyped-def]
    named = {(one.name or one.callback.__name__) for one in app.registered_commands if one.callback}
    # each of these needs something else at hand, and has tests of its own that ask for it
    assert named == {
        *JSON,
        "show",
        "recheck",
        "scan",
        "laser",
        "enter",
        "panel",
        "grate",
        "step",
        "rail",
        "crate",
        "shelf",
        "liner",
    }
    done = run("show", boat, "gas locker", "--json")
    assert (done.status, done.out) == (2, "")
    assert "--json goes with --still" in done.err


def test_json_tells_what_is_wrong_by_its_parts(run, boat: Path) -> None:  # type: ignore[no-untyped-def]
    change(boat / "gas-locker.csv", "1;62,5;A;71,0;0", "1;62,5;A;wet;0")
    done = run("check", boat, "--json")
    assert done.status == 1
    assert done.json["good"] is False
    assert done.json["problems"] == [
        {
            "what": '"wet" cannot be read as a length',
            "mend": "write a number and its unit, as 1500 mm or 4 ft 11 3/8 in",
            "file": str(boat / "gas-locker.csv"),
            "line": 6,
            "compartment": "gas locker",
            "station": "1",
            "measure": "A",
        }
    ]


def test_json_of_check_holds_the_readings(run, boat: Path) -> None:  # type: ignore[no-untyped-def]
    told = {one["name"]: one for one in run("check", boat, "--json").json["compartments"]}
    cockpit = told["cockpit locker, port"]
    assert cockpit["stations"][1]["corners"][2] == {"mark": "C", "at_m": [0.7, 1.316, 0.233]}
    assert cockpit["obstructions"][0]["shape"] == {
        "name": "box",
        "x_m": [1.42, "forward"],
        "y_m": None,
        "z_m": ["bottom", 0.165],
    }
    assert cockpit["openings"][0]["opens_to_deg"] == pytest.approx(95)
    assert cockpit["checks"][0] == {"corners": ["0A", "0C"], "length_m": 0.727}
    assert cockpit["survey"]["load_limit_kg"] == 180
    assert told["lazarette"]["stations"][0]["x_m"] == -0.9  # the tape ran aft
    assert told["cockpit locker, starboard"]["mirrored"] is True


# tapes


def tapes_of(done: Any, name: str) -> Any:
    return next(one["tapes"] for one in done.json["compartments"] if one["name"] == name)


def test_check_says_what_to_measure_again_and_what_it_probably_was(run, boat: Path) -> None:  # type: ignore[no-untyped-def]
    change(boat / "sail-locker.toml", "Cp = [777, 922]", "Cp = [717, 922]")
    done = run("check", boat, "sail")
    assert done.status == 1
    lines = done.out.splitlines()
    head = lines.index("sail locker: 19 check tapes, and they do not agree with the readings")
    again, probably = lines[head + 1 : head + 3]
    assert again.startswith("  measure again: half-breadth of Cp at station 1")
    assert f"{boat / 'sail-locker.toml'}:44): 717 mm is written, and the other readings say 775 mm" in again
    assert re.fullmatch(r" +\d\d %  771 mm was meant, two figures swapped", probably)
    assert done.err.endswith("can be used, as taped; 1 compartment to measure again\n")
    shown = lines[
        next(k for k, line in enumerate(lines) if line.startswith("sail locker: check tapes, ")) + 2 : head - 1
    ]
    off = {words[0]: float(words[3]) for words in map(str.split, shown)}
    assert 0 < len(off) < 19
    assert all("1Cp" in label or abs(far) > 3 for label, far in off.items())
    assert lines.index("standing in it") < head < len(lines) - 3  # what to do stands last on the screen
    told = run("check", boat, "--json")
    assert (told.status, told.json["good"]) == (1, False)
    best = tapes_of(told, "sail locker")["again"][0]["best"]
    assert (best["problem"]["line"], best["written_m"]) == (44, 0.717)
    assert best["should_m"] == pytest.approx(0.777, abs=0.01)
    assert 0.5 < best["probably"][0]["probability"] < 1


def test_nothing_that_was_typed_is_changed_by_a_check(run, boat: Path) -> None:  # type: ignore[no-untyped-def]
    change(boat / "sail-locker.toml", "Cp = [777, 922]", "Cp = [717, 922]")
    before = {file: file.read_bytes() for file in boat.iterdir()}
    run("check", boat)
    assert {file: file.read_bytes() for file in boat.iterdir()} == before


def test_check_says_how_well_tapes_agree(run, boat: Path) -> None:  # type: ignore[no-untyped-def]
    out = run("check", boat).out.splitlines()
    assert any(line.startswith("sail locker: 19 check tapes, all within what such tapes do; ") for line in out)
    assert "chain locker: no check tapes, so nothing would show a slip" in out
    assert any(line.startswith("cockpit locker, starboard: her sister mirrored, within what tapes") for line in out)
    assert any(line.startswith("  the tape that would help most: ") for line in out)


def test_answers_say_what_they_were_built_from(run, boat: Path) -> None:  # type: ignore[no-untyped-def]
    def built(name: str) -> tuple[str, str]:
        told = run("volume", boat, name, "--json").json["basis"]
        return told[0]["built_from"], run("volume", boat, name).err.splitlines()[0]

    assert built("gas") == ("built from the readings as taped: no check tapes",) * 2
    assert built("cockpit locker, port") == ("built from adjusted corners (18 check tapes agree)",) * 2
    taped = net(run("volume", boat, "cockpit locker, port", "--json"))
    change(boat / "cockpit-locker.toml", "1A-1D = 1221\n1B-1E", "1A-1D = 1321\n1B-1E")
    words = "built from the readings as taped: the check tapes do not agree, see tapeloft check"
    assert built("cockpit locker, port") == (words,) * 2
    change(boat / "cockpit-locker.toml", "1A-1D = 1321\n1B-1E", "1B-1E")
    assert net(run("volume", boat, "cockpit locker, port", "--json")) != taped


def test_a_twin_that_is_not_her_sister_is_told_of(run, boat: Path) -> None:  # type: ignore[no-untyped-def]
    change(boat / "cockpit-locker.toml", "3A-3D = 1270", "3A-3D = 1310")
    done = run("check", boat, "cockpit locker, starboard")
    assert done.status == 1
    assert "not her sister mirrored, by 3 check tapes of her own" in done.out
    assert "1310 mm is written, and her sister's corners make it 1271 mm" in done.out


@pytest.mark.parametrize(
    ("tapes", "status", "said"),
    [
        (["1A-1D = 1224", "2B-2E = 99.5 cm"], 0, "the same, within what tapes and building do"),
        (["1A-1D = 1224", "2B-2E = 1035"], 1, "here it differs"),
        (["1A-1G = 1224"], 2, "no corner is called '1G'"),
        (["1A = 1224"], 2, "does not go from one corner to another"),
        (["1A-1D = 0"], 2, "is no length for a tape"),
        (["1A-1D"], 2, "write it as 1A-1D = 1210"),
        ([], 2, "name the tapes that were taken in the sister"),
    ],
)
def test_a_sister(run, boat: Path, tapes: list[str], status: int, said: str) -> None:  # type: ignore[no-untyped-def]
    done = run("sister", boat, "cockpit locker, port", *(word for tape in tapes for word in ("--tape", tape)))
    assert done.status == status
    assert said in done.out + done.err
    file = boat / "sister.txt"
    file.write_text("[check]  # hull no. 3\n" + "\n".join(tapes), encoding="utf-8")
    from_file = run("sister", boat, "cockpit locker, port", "--tapes", file)
    assert (from_file.status, from_file.out) == (status, done.out)


# tables


def test_volume_prints_the_sum_of_its_lines(run, boat: Path) -> None:  # type: ignore[no-untyped-def]
    rows = [re.split(r"  +", line) for line in run("volume", boat).out.splitlines() if line]
    assert rows[0][:3] == ["compartment", "gross l", "net l"]
    assert [row[0] for row in rows[1:]][-2:] == ["berth locker", "all"]
    for column in (1, 2):
        *of_each, whole = [[float(figure) for figure in row[column].split(" ± ")] for row in rows[1:]]
        assert sum(one for one, _ in of_each) == pytest.approx(whole[0], abs=0.4)
        assert math.hypot(*(sd for _, sd in of_each)) < whole[1] < sum(sd for _, sd in of_each)  # two are twins


NOUGHT = re.compile(r"(?<![\d.])0(\.0*)?(?![\d.])")


@pytest.mark.usefixtures("warmed")
def test_no_plus_or_minus_is_a_nought(run, boat: Path) -> None:  # type: ignore[no-untyped-def]
    """What is off by less than the last figure told has more figures; what is off by nothing, or not known, no ±."""
    beside = re.compile(r"± *(\d\S*)")
    said = [run("volume", boat), run("volume", boat, "gas"), run("box", boat, "gas")]
    off = [figure for one in said for figure in beside.findall(one.out + one.err)]
    assert len(off) > 20
    assert not [figure for figure in off if NOUGHT.fullmatch(figure)]
    assert "0.99 ± 0.0044" in said[0].out  # the chain locker's area, to the hundredth
    # from the datum, where nothing is off, to a bracket that is taken as typed
    assert re.search(r"largest box 520 × 310 ± \d\.\d × 462 ± \d\.\d mm, 74\.5 ± 0\.\d l", said[2].err)


@pytest.mark.parametrize(("name", "top"), [("chain", 0.241), ("gas", 0.0)])
def test_what_a_level_cuts_at_the_very_top_has_no_plus_or_minus(run, boat: Path, name: str, top: float) -> None:  # type: ignore[no-untyped-def]
    """There a level is within the space or above it, as the tape has it: all of its area, or none."""
    told = run("capacity", boat, name, "--json").json
    *below, highest = told["plus_minus"]["plan_area_sd_m2"]
    assert told["capacity"]["plan_area_m2"][-1] == pytest.approx(top, abs=1e-3)
    assert highest is None
    assert min(below) > 0
    (beyond,) = run("capacity", boat, name, "--heights", "9 m", "--json").json["plus_minus"]["plan_area_sd_m2"]
    assert beyond is None
    head, *rows = [re.split(r"  +", line) for line in run("capacity", boat, name).out.splitlines()[1:-1]]
    columns = [k for k, title in enumerate(head) if "±" in title]
    noughts = [row[k] for row in rows[:-1] for k in columns if NOUGHT.fullmatch(row[k])]
    assert (len(columns), noughts) == (6, [])


def test_check_prints_the_readings_as_on_paper(run, boat: Path) -> None:  # type: ignore[no-untyped-def]
    out = run("check", boat, "lazarette").out
    lines = [line.split() for line in out.splitlines()]
    assert " ".join(lines[0]) == "lazarette: general, measured to lining, straight between stations"
    assert " ".join(lines[1]) == "station at, mm mark half-breadth side height its own at"
    assert ["0", "0", "Ap", "905", "p", "0"] in lines
    assert ["Cs", "1357", "s", "641"] in lines
    assert ["1", "430", "Ap", "872", "p", "0"] in lines  # along the tape, which ran aft
    told = {words[0]: words[1:] for line in out.splitlines() if len(words := re.split("  +", line)) > 1}
    assert told["rudder-stock tube"] == ["post", "structural", "x 520, y 0, section tube, diameter 140, wall 8"]
    assert told["fore-and-aft panel"] == ["panel", "removable", "y p 330 to p 345"]
    assert ["0Cp-0Cs", "2713"] in lines
    assert ["post", "70"] in lines


def test_check_prints_offsets_from_the_face_in_the_unit_of_the_sheet(run, boat: Path) -> None:  # type: ignore[no-untyped-def]
    lines = [line.split() for line in run("check", boat, "berth").out.splitlines()]
    assert " ".join(lines[1]) == "station at, in mark from face at 27 1/4 side height"
    assert ["0", "0", "o", "bottom", "17", "5/8", "s", "0"] in lines
    assert ["o", "12", "25", "1/4", "s", "12"] in lines
    assert any("points (aft, s 40, 3); (58, s 40, 3); (66, s 37, 3); (forward, s 37, 3)" in " ".join(x) for x in lines)


@pytest.mark.parametrize("units", ["mm", "cm", "m", "in", "ft-in-8"])
def test_every_unit_prints(run, boat: Path, units: str) -> None:  # type: ignore[no-untyped-def]
    for command in (["check", boat], ["volume", boat], ["volume", boat, "sail"], ["capacity", boat, "sail"]):
        done = run(*command, "--units", units)
        assert done.status == 0
        assert "inf" not in done.out
        assert "nan" not in done.out
    x = run("check", boat, "cockpit locker, port", "--units", units).out
    assert {"mm": "2150", "cm": "215", "m": "2.15", "in": "84.6457", "ft-in-8": "7-0-5"}[units] in x


# settings and options


def net(done: Any) -> dict[str, float]:
    return {one["volume"]["compartment"]: one["volume"]["net"]["volume_m3"] for one in done.json["compartments"]}


def test_set_and_option_change_the_same_length(run, boat: Path) -> None:  # type: ignore[no-untyped-def]
    asked = ["volume", boat, "cockpit locker, port", "--json"]
    as_read = net(run(*asked))
    lifted = net(run(*asked, "--option", "upper sole 200"))
    assert lifted == net(run(*asked, "--set", "sole_step=200"))
    assert lifted == net(run(*asked, "--set", "sole_step = 20 cm"))
    assert lifted != as_read
    both = net(run(*asked, "--option", "upper sole 200", "--set", "sole_step=165"))
    assert both == as_read  # what is asked for now goes before all


def test_options_add_up(run, boat: Path) -> None:  # type: ignore[no-untyped-def]
    asked = ["volume", boat, "--json"]
    done = run(*asked, "--option", "panel out", "--option", "battery box out", "--option", "panel out")
    told = {one["volume"]["compartment"]: one for one in done.json["compartments"]}
    assert told["lazarette"]["options"] == ["panel out"]
    assert len(told["lazarette"]["volume"]["bays"]) == 1
    assert net(done)["cockpit locker, port"] == pytest.approx(net(done)["cockpit locker, starboard"], rel=1e-12)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["volume", "{boat}", "gas lokcer"], "no compartment is called 'gas lokcer'; did you mean \"gas locker\"?"),
        (
            ["volume", "{boat}", "cockpit"],
            '"cockpit" could be any of "cockpit locker, port", "cockpit locker, starboard"',
        ),
        (["volume", "{boat}", "--option", "panel ot"], "no option is called 'panel ot'; did you mean \"panel out\"?"),
        (["volume", "{boat}", "--set", "sole_stp=1"], "no parameter is called 'sole_stp'; did you mean \"sole_step\"?"),
        (["volume", "{boat}", "--set", "sole_step"], "--set takes NAME=LENGTH"),
        (["volume", "{boat}", "--set", "post=1,234"], "the length given for post: "),
        (["volume", "{boat}", "--set", "post=1", "--set", "post=2"], "--set gives post two lengths, 1 and 2"),
        (["capacity", "{boat}"], 'which compartment? this survey has "sail locker", "chain locker"'),
        (
            ["capacity", "{boat}", "lazarette", "--bay", "prt bay"],
            "no bay is called 'prt bay'; did you mean \"port bay\"?",
        ),
        (["capacity", "{boat}", "lazarette", "--heights", "100, wet"], '--heights: "wet" cannot be read'),
        (["box", "{boat}", "gas", "--height", "wet"], '--height: "wet" cannot be read'),
        (["show", "{boat}", "gas", "--level", "wet"], '--level: "wet" cannot be read'),
        (["export", "{boat}", "gas", "--to", "{boat}/net.dwg"], "no mesh format is called 'dwg'; known: "),
        (["export", "{boat}", "gas", "--to", "{boat}/boat.toml.d/net.stl"], "its folder does not exist"),
        (["volume", "{boat}/none.toml"], "there is no such file"),
        (["volume", "{boat}/gas-locker.csv"], "gas-locker.csv"),
        (["volume", "{boat}/.."], "there is no boat.toml in this folder"),
        (["new", "{boat}/boat.toml"], "the file is there already"),
        (["demo", "{boat}"], "has a boat in it already"),
    ],
)
def test_refusals_are_on_standard_error_alone(run, boat: Path, words: list[str], said: str) -> None:  # type: ignore[no-untyped-def]
    done = run(*(word.format(boat=boat) for word in words))
    assert (done.status, done.out) == (2, "")
    assert said in done.err
    assert "Traceback" not in done.err


@pytest.mark.parametrize("words", [["volume"], ["volme", "x"], ["volume", "x", "--units", "yd"], ["box", "x", "--no"]])
def test_misuse(run, words: list[str]) -> None:  # type: ignore[no-untyped-def]
    done = run(*words)
    assert (done.status, done.out) == (2, "")
    assert "Usage" in done.err


@pytest.mark.usefixtures("warmed")
def test_no_box_fits(run, boat: Path) -> None:  # type: ignore[no-untyped-def]
    assert run("box", boat, "gas locker", "--height", "470 mm").status == 0
    done = run("box", boat, "gas locker", "--height", "490 mm")
    assert done.status == 1
    assert "none to speak of" in done.out


def test_a_boat_of_no_compartments(run, boat: Path) -> None:  # type: ignore[no-untyped-def]
    (boat / "boat.toml").write_text('format = "tapeloft-boat"\nversion = 1\ncompartments = []\n[boat]\n')
    for command in ("volume", "check", "box", "capacity"):
        done = run(command, boat)
        assert done.status == (1 if command == "check" else 2)
        assert "no compartment is listed" in done.err
        assert "Traceback" not in done.err


def test_others_do_not_keep_a_sound_compartment_from_being_answered_for(run, boat: Path) -> None:  # type: ignore[no-untyped-def]
    change(boat / "gas-locker.csv", "1;62,5;A;71,0;0", "1;62,5;A;wet;0")
    (boat / "sail-locker.toml").write_text("[survey")
    done = run("volume", boat, "lazarette", "--json")
    assert done.status == 0
    assert net(done)["lazarette"] == pytest.approx(1.48012, abs=1e-5)  # as taped 1.48008: her five tapes agree
    assert "note: sail-locker, gas locker cannot be used yet" in done.err
    for asked in ([], ["gas locker"], ["gas"]):
        done = run("volume", boat, *asked)
        assert (done.status, done.out) == (2, "")
        assert 'gas-locker.csv:6: gas locker, station 1, A: "wet" cannot be read' in done.err
    assert "sail-locker.toml" not in done.err
    assert run("check", boat, "lazarette").status == 0
    assert run("check", boat, "gas").status == 1
    assert run("check", boat, "sail").status == 1


def test_all_that_forbids_any_compartment_is_told_at_once(run, boat: Path) -> None:  # type: ignore[no-untyped-def]
    change(boat / "gas-locker.toml", 'y = ["starboard", "p 86"]', 'y = ["s 10", "s 86"]')
    change(boat / "lazarette.toml", "x = 520", "x = 5200")
    done = run("volume", boat)
    assert (done.status, done.out) == (2, "")
    assert done.err.count("stands wholly outside the space") == 2


def test_second_looks_of_twins_are_told_once(run, boat: Path) -> None:  # type: ignore[no-untyped-def]
    change(boat / "cockpit-locker.toml", "C = [1316, 233]", "C = [1316, 23.3]")
    done = run("volume", boat / "cockpit-locker.toml")
    assert done.status == 0
    assert done.err.count("look again: ") == 1


def test_new_is_read_checked_and_fits_the_schema(run, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    import jsonschema

    file, schema = tmp_path / "locker.toml", tmp_path / "survey.schema.json"
    assert run("new", file).status == 0
    assert run("new", schema, "--schema").status == 0
    done = run("check", file)
    assert done.status == 0
    assert "12 readings of corners are those of the example that `tapeloft new` writes" in " ".join(done.err.split())
    assert done.err.endswith("1 compartment, 0 problems, 1 second look: can be used\n")
    jsonschema.validate(tomllib.loads(file.read_text(encoding="utf-8")), json.loads(schema.read_text(encoding="utf-8")))
    with_all = re.sub(r"(?m)^# ?(?=[a-z\[0-9])", "", file.read_text(encoding="utf-8"))
    sound = with_all.replace("rake = [60, 700]", "").replace("step = true", "").replace("point = [0, 400]", "")
    file.write_text(sound.replace("`tapeloft", "# `tapeloft"), encoding="utf-8")
    done = run("check", file)
    assert done.err.splitlines()[-1] == "2 compartments, 0 problems, 1 second look: can be used"


OWN = {"0": ("898, 0", "1104, 697", "502, 718"), "1": ("947, 0", "1149, 708", "502, 729")}


@pytest.mark.parametrize(("anew", "left"), [("1", "8 readings"), ("0", "8 readings"), ("01", "")])
def test_numbers_of_the_example_are_told_of_as_a_second_look(run, tmp_path: Path, anew: str, left: str) -> None:  # type: ignore[no-untyped-def]
    """B, C and D of some stations read anew; the inboard half-breadths stand as in the example, no sign alone."""
    file = tmp_path / "locker.toml"
    assert run("new", file).status == 0
    text = file.read_text(encoding="utf-8")
    for theirs in (one for station in anew for one in OWN[station]):
        y, z = map(int, theirs.split(", "))
        text = text.replace(f"[{theirs}]", f"[{y if y == 502 else y + 13}, {z and z - 9}]")
    file.write_text(text, encoding="utf-8")
    for command in ("check", "volume"):
        said = " ".join(run(command, file).err.split())
        assert ("of the example that `tapeloft new` writes" in said) is bool(left)
        assert f"{left} of corners are those" in said or not left


def test_new_keeps_what_is_there(run, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    file = tmp_path / "locker.toml"
    file.write_text("mine")
    assert run("new", file).status == 2
    assert file.read_text() == "mine"
    assert run("new", file, "--force").status == 0
    assert file.read_text().startswith("# A compartment's survey")


# whole processes

PROGRAM = "import sys; from tapeloft.cli.app import main; sys.argv[0] = 'tapeloft'; main()"


def process(*words: object, before: str = "", **more: Any) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-c", before + PROGRAM, *map(str, words)]
    return subprocess.run(command, capture_output=True, text=True, encoding="utf-8", timeout=120, **more)


def test_help_loads_next_to_nothing() -> None:
    command = [sys.executable, "-X", "importtime", "-c", PROGRAM, "--help"]
    done = subprocess.run(command, capture_output=True, text=True, timeout=60)
    assert done.returncode == 0
    assert "Exit status: 0 yes or done, 1 no, 2 could not, and why, 3 undecided" in done.stdout
    loaded = {line.rpartition("|")[2].strip().partition(".")[0] for line in done.stderr.splitlines()}
    assert "typer" in loaded
    assert (
        loaded & {"numpy", "scipy", "numba", "trimesh", "pyvista", "vtkmodules", "manifold3d", "rich", "simpleeval"}
        == set()
    )


AFTERWARDS = "import atexit, sys; atexit.register(lambda: print(*sorted(sys.modules), file=sys.stderr, sep='\\n')); "


@pytest.mark.parametrize("command", ["volume", "check"])
def test_quick_commands_load_nothing_slow(command: str, boat: Path) -> None:
    for path in (boat / "cockpit-locker.toml", boat):
        done = process(command, path, before=AFTERWARDS)
        assert done.returncode == 0
        loaded = set(done.stderr.splitlines())
        assert "manifold3d" in loaded
        slow = {"trimesh", "pyvista", "vtkmodules", "scipy", "numba", "shapely", "jsonschema", "rich", "tree_sitter"}
        assert loaded & slow == set()


def test_every_command_explains_itself(run) -> None:  # type: ignore[no-untyped-def]
    for command in (*JSON, "show"):
        done = run(command, "--help")
        assert (done.status, done.err) == (0, "")
        assert "Usage: tapeloft" in done.out


@posix
@pytest.mark.parametrize("streams", ["out", "both"])
def test_a_reader_who_goes_away_is_no_error(boat: Path, streams: str) -> None:
    end, start = os.pipe()
    os.close(end)  # nobody reads
    words = [sys.executable, "-c", PROGRAM, "check", str(boat)]
    error = subprocess.PIPE if streams == "out" else start
    child = subprocess.Popen(words, stdout=start, stderr=error, text=True)
    os.close(start)
    _, err = child.communicate(timeout=60)
    assert child.returncode == 0
    if streams == "out":
        assert err == "7 compartments, 0 problems, 0 second looks: can be used\n"


SLOW = """
import tapeloft.model.compartment as compartment, time
def build(survey):
    print("building", flush=True)
    time.sleep(600)
compartment.build = build
"""


@posix
def test_ctrl_c(boat: Path) -> None:
    words = [sys.executable, "-c", SLOW + PROGRAM, "volume", str(boat)]
    child = subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    assert child.stdout is not None
    assert child.stdout.readline() == "building\n"
    child.send_signal(signal.SIGINT)
    out, err = child.communicate(timeout=120)
    assert (child.returncode, out, err) == (130, "", "\nstopped\n")


KILLED = {
    "kill -9": ("import os, signal\nos.replace = lambda *_: os.kill(os.getpid(), signal.SIGKILL)\n", -9, ""),
    "Ctrl-C": ("import os, signal\nos.replace = lambda *_: os.kill(os.getpid(), signal.SIGINT)\n", 130, "stopped"),
    "full disk": (
        "import errno, os\ndef full(*_):\n    raise OSError(errno.ENOSPC, 'No space')\nos.fsync = full\n",
        2,
        "the disk is full",
    ),
    "a file larger than allowed": (
        "import resource\nresource.setrlimit(resource.RLIMIT_FSIZE, (900, 900))\n",
        2,
        "larger than the disk takes",
    ),
}


@posix
@pytest.mark.parametrize("how", KILLED)
@pytest.mark.parametrize(
    "what", [["export", "gas locker"], ["export", "--each", "--what", "all", "lazarette"], ["new"]]
)
def test_a_file_is_whole_whatever_happens(boat: Path, how: str, what: list[str]) -> None:
    before, status, said = KILLED[how]
    command, *rest = what
    old = boat / ("new.toml" if command == "new" else "net.stl")
    for name in ("net.stl", "new.toml", "net-net.stl", "net-gross.stl"):
        (boat / name).write_bytes(b"old " * 1000)
    words = [command, old] if command == "new" else [command, boat, *rest, "--to", old]
    done = process(*words, "--force", before=before)
    assert done.returncode == status
    assert said in done.stderr
    assert "Traceback" not in done.stderr
    kept = [f for f in boat.iterdir() if f.suffix == ".stl" or f.name == "new.toml"]
    assert {f.read_bytes() for f in kept if not f.name.startswith(".")} == {b"old " * 1000}
    if how != "kill -9":
        assert [f.name for f in boat.iterdir() if f.name.startswith(".")] == []


def on_a_terminal(words: list[str], **environment: str) -> str:
    """Return what a command prints on standard output where that is a terminal."""
    import pty

    ours, its = pty.openpty()
    surroundings = {k: v for k, v in os.environ.items() if k != "NO_COLOR"} | {"TERM": "xterm", "COLUMNS": "200"}
    command = [sys.executable, "-c", PROGRAM, *words]
    child = subprocess.Popen(command, stdout=its, stderr=subprocess.PIPE, env=surroundings | environment)
    os.close(its)
    seen = bytearray()
    try:
        while got := os.read(ours, 4096):
            seen += got
    except OSError:  # so a terminal ends whose other side is closed
        pass
    os.close(ours)
    child.communicate(timeout=60)
    return seen.decode().replace("\r\n", "\n")


@posix
def test_tables_are_ruled_on_a_terminal_alone(boat: Path) -> None:
    words = ["volume", str(boat / "gas-locker.toml")]
    ruled = on_a_terminal(words)
    assert "\x1b[" in ruled
    assert "───" in ruled
    assert on_a_terminal(words, NO_COLOR="1") == process(*words).stdout


def test_a_terminal_without_the_letters(boat: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-c", PROGRAM, "volume", str(boat / "gas-locker.toml")],
        capture_output=True,
        timeout=60,
        env={**os.environ, "PYTHONIOENCODING": "ascii", "PYTHONUTF8": "0"},
    )
    assert done.returncode == 0
    assert b"litres" in done.stdout
    done = subprocess.run(
        [sys.executable, "-c", PROGRAM, "check", str(boat), "--json"],
        capture_output=True,
        timeout=60,
        env={**os.environ, "PYTHONIOENCODING": "ascii", "PYTHONUTF8": "0"},
    )
    assert json.loads(done.stdout)["good"] is True
