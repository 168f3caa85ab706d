"""Scans: made from the demo boat's own solids with noise, strangers and holes, and given back as surveys.

The truth is the solid that the points were taken from; fits are held against scipy, loops against shapely.
"""

import json
import re
import subprocess
import sys
import time
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from importlib.resources import files
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.spatial import ConvexHull
from scipy.spatial.transform import Rotation
from shapely import Point, Polygon

from tapeloft.model import build, read_survey
from tapeloft.model.compartment import Compartment
from tapeloft.model.errors import FileError, SurveyError, TapeloftError
from tapeloft.model.reread import reread
from tapeloft.model.scan.cloud import SAMPLES, Cloud, read_cloud
from tapeloft.model.scan.covered import contained
from tapeloft.model.scan.lettered import lettered
from tapeloft.model.scan.lines import Wall, fitted
from tapeloft.model.scan.placing import rigid
from tapeloft.model.scan.scan import STRAY, Scanned, scanned
from tapeloft.model.scan.section import section_of
from tapeloft.model.scan.slab import Slab, near
from tapeloft.model.scan.stations import depth, metres_of, stations_of
from tapeloft.model.scan.targets import Targets, read_targets
from tapeloft.model.scan.written import written
from tapeloft.model.solid import Solid

DEMO = files("tapeloft.shapes").joinpath("demo")
Array = NDArray[np.float64]


@pytest.fixture(scope="module")
def heron() -> dict[str, Compartment]:
    return {one.name: build(one) for one in read_survey(str(DEMO)).compartments}


# Making scans


def on_surface(solid: Solid, count: int, chance: np.random.Generator) -> Array:
    """Return points even over a solid's surface, by area."""
    a, b, c = np.moveaxis(solid.vertices[solid.triangles], 1, 0)
    area = np.linalg.norm(np.cross(b - a, c - a), axis=1)
    which = chance.choice(len(area), count, p=area / area.sum())
    r, s = np.sqrt(chance.random((count, 1))), chance.random((count, 1))
    spots: Array = (1 - r) * a[which] + r * (1 - s) * b[which] + r * s * c[which]
    return spots


def scan_of(solid: Solid, noise: float, count: int = 250_000, strangers: float = 0.02, seed: int = 7) -> Array:
    chance = np.random.default_rng(seed)
    low, high = solid.bounds
    walls = on_surface(solid, count, chance) + chance.normal(0.0, noise, (count, 3))
    return np.vstack([walls, chance.uniform(low - 0.1, high + 0.1, (int(strangers * count), 3))])


@dataclass(frozen=True)
class Away:
    """A scan's own axes: turned, moved and scaled from the compartment's, perhaps in a mirror."""

    turn: Array
    shift: Array
    scale: float = 1.0
    mirror: bool = False

    def of(self, spots: Array) -> Array:
        spots = spots * ([1.0, -1.0, 1.0] if self.mirror else [1.0, 1.0, 1.0])
        moved: Array = (spots @ self.turn.T + self.shift) * self.scale
        return moved


TURN = Rotation.from_euler("zxy", [40, 90, 5], degrees=True).as_matrix()
ASKEW = Away(TURN, np.array([1.2, -0.4, 0.3]))


def corners_of(solid: Solid) -> Array:
    """Return four corners of a solid, well apart and not in a plane."""
    (x, y, z), (far, wide, high) = solid.bounds
    wanted = ([x, y, z], [far, y, z], [x, wide, high], [far, wide, high])
    near_ = [int(np.linalg.norm(solid.vertices - spot, axis=1).argmin()) for spot in wanted]
    corners: Array = solid.vertices[near_]
    return corners


def sheet(
    folder: Path, spots: Array, away: Away, lengths: Sequence[tuple[int, int]] = ((0, 3),), more: str = ""
) -> Path:
    """Write targets at *spots*, found in the scan without error, and lengths between them."""
    lines = ['format = "tapeloft-targets"', "version = 1", 'unit = "mm"', 'compartment = "locker"', more]
    for k, (spot, seen) in enumerate(zip(spots, away.of(spots), strict=True)):
        x, y, z = (spot * 1000).round(2)
        lines += [f"[target.T{k + 1}]", f"scan = {seen.round(6).tolist()}"]
        lines += [f'taped = [{x:g}, "{"p" if y >= 0 else "s"} {abs(y):g}", {z:g}]']
    lines += ["[length]"]
    lines += [f"T{i + 1}-T{j + 1} = {np.linalg.norm(spots[i] - spots[j]) * 1000:.1f}" for i, j in lengths]
    file = folder / "targets.toml"
    file.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return file


def surveyed(found: Scanned, targets: Targets, folder: Path, stations: str = "") -> Compartment:
    """Return what the survey written from a scan builds, read back from its file."""
    assert not found.refused, [str(problem) for problem in found.refused]
    at = stations.split(", ") if stations else [f"{section.x * targets.ahead * 1000:g}" for section in found.sections]
    text = written(found, targets, "scan.ply", at)
    assert reread(text, "locker.toml") == []
    file = folder / "locker.toml"
    file.write_text(text, encoding="utf-8")
    return build(read_survey(file).compartments[0])


# Placing


@given(st.integers(3, 8), st.integers(0, 2**31), st.floats(0, 0.05))
def test_placing_is_the_rotation_that_scipy_finds(count: int, seed: int, noise: float) -> None:
    chance = np.random.default_rng(seed)
    source = chance.normal(size=(count, 3))
    turn = Rotation.random(random_state=seed).as_matrix()
    target = source @ turn.T + chance.normal(size=3) + chance.normal(0, noise, (count, 3))
    mine, shift, left = rigid(source, target)
    theirs, rest = Rotation.align_vectors(target - target.mean(axis=0), source - source.mean(axis=0))
    assert mine == pytest.approx(theirs.as_matrix(), abs=1e-6)
    assert left * np.sqrt(count) == pytest.approx(rest, abs=1e-6)
    assert source.mean(axis=0) @ mine.T + shift == pytest.approx(target.mean(axis=0))
    assert np.linalg.det(mine) == pytest.approx(1.0)


def box_of_targets(folder: Path, away: Away = ASKEW, more: str = "", count: int = 4) -> Targets:
    spots = np.array([[0, 0.5, 0], [2.0, 0.6, 0], [0, 1.4, 0.8], [2.0, 1.5, 0.9]])[:count]
    return read_targets(sheet(folder, spots, away, more=more, lengths=()))


def placed(targets: Targets, metres: float = 1.0) -> Scanned:
    return scanned(np.zeros((10, 3)), metres, targets, [0.0, 1.0])


def test_targets_found_exactly_lie_where_they_were_taped(tmp_path: Path) -> None:
    found = placed(box_of_targets(tmp_path)).placing
    assert found.off.max() < 2e-5  # as written: hundredths of a millimetre and micrometres
    assert found.turn == pytest.approx(TURN.T, abs=1e-4)


def refusal(targets: Targets, metres: float = 1.0) -> str:
    with pytest.raises(SurveyError) as bad:
        placed(targets, metres)
    assert all(problem.mend for problem in bad.value.problems)
    return str(bad.value)


def test_two_targets_are_too_few(tmp_path: Path) -> None:
    assert "2 taped targets, and 3 are needed" in refusal(box_of_targets(tmp_path, count=2))


def test_targets_in_one_line_are_refused(tmp_path: Path) -> None:
    spots = np.array([[0, 0.5, 0.1], [1.0, 0.5, 0.11], [2.0, 0.5, 0.09]])
    assert "in one line" in refusal(read_targets(sheet(tmp_path, spots, ASKEW, lengths=())))


@pytest.mark.parametrize(
    ("metres", "scale", "said"),
    [(1.0, 1000.0, "millimetres, not metres"), (0.001, 1.0, "metres, not millimetres"), (1.0, 39.37, "inches, not")],
)
def test_a_scan_in_another_unit_is_told(tmp_path: Path, metres: float, scale: float, said: str) -> None:
    assert said in refusal(box_of_targets(tmp_path, Away(TURN, ASKEW.shift, scale)), metres)


def test_a_mirrored_scan_is_told_by_four_targets(tmp_path: Path) -> None:
    assert "only in a mirror" in refusal(box_of_targets(tmp_path, Away(TURN, ASKEW.shift, mirror=True)))


def test_a_mirrored_scan_is_told_by_three_targets_and_up(tmp_path: Path) -> None:
    """Three points fit a mirror as well; the scan's own up, here its y, then comes out aslant."""
    upright = np.array([[0.0, 1, 0], [0, 0, 1], [1, 0, 0]])
    good = box_of_targets(tmp_path, Away(upright, ASKEW.shift), 'up = "y"', count=3)
    assert placed(good).placing.off.max() < 1e-4
    bad = box_of_targets(tmp_path, Away(upright, ASKEW.shift, mirror=True), 'up = "y"', count=3)
    assert 'up in the scan, "y", comes to lie' in refusal(bad)


def test_a_target_misread_by_digits_is_named(tmp_path: Path) -> None:
    file = tmp_path / "targets.toml"
    box_of_targets(tmp_path)
    text = file.read_text()
    assert text.count("taped = [2000,") == 2
    file.write_text(text.replace("taped = [2000,", "taped = [200,", 1))
    said = refusal(read_targets(file))
    assert "T2" in said
    assert "from where the tape puts it" in said
    assert f"{file}:" in said


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("scan = ", "scna = ", 'did you mean "scan"'),
        ("scan = [", 'scan = ["one", ', "4 values where 3"),
        ('taped = [0, "p 500", 0]', 'taped = [0, "p 500"]', "2 values where 3"),
        ('taped = [0, "p 500", 0]', "taped = [0, 500, 0]", "does not say which side"),
        ("version = 1", "version = 2", "version"),
        ('compartment = "locker"', "", "compartment is missing"),
        ("[length]", "[length]\nT1-T9 = 400", '"T9" is no target'),
        ("[length]", "[length]\nT1-T1 = 400", "a length from a target to itself"),
        ("scan = [", "scan = [nan, ", "4 values"),
    ],
)
def test_what_is_wrong_with_a_file_of_targets_is_told(tmp_path: Path, old: str, new: str, said: str) -> None:
    file = tmp_path / "targets.toml"
    box_of_targets(tmp_path)
    text = file.read_text()
    assert old in text
    file.write_text(text.replace(old, new, 1))
    with pytest.raises(SurveyError, match=said) as bad:
        read_targets(file)
    assert all(problem.file == str(file) for problem in bad.value.problems)


def test_how_sure_a_place_is_grows_as_targets_near_a_line(tmp_path: Path) -> None:
    """By drawing: targets picked 3 mm off a thousand times, and where a far point then comes to lie."""
    chance = np.random.default_rng(5)
    for aside in (0.12, 0.9):
        spots = np.array([[0, 0.5, 0.1], [1.0, 0.5 + aside, 0.1], [2.0, 0.5, 0.1]])
        place = placed(read_targets(sheet(tmp_path, spots, ASKEW, lengths=()))).placing
        there = np.array([[1.0, 0.6, 0.9]])
        drawn = [rigid(spots + chance.normal(0, 0.003, (3, 3)), spots)[:2] for _ in range(1000)]
        moved = np.array([(there @ turn.T + shift)[0] for turn, shift in drawn])
        own = np.sqrt(np.linalg.eigvalsh(np.cov(moved.T))[-1])
        assert place.stray_at(there)[0] == pytest.approx(own, rel=0.1)
        assert bool(own > 0.015) is (aside < 0.5)


def test_targets_near_a_line_cost_accuracy_and_are_told(tmp_path: Path) -> None:
    spots = np.array([[0, 0.4, 0], [1.0, 0.52, 0], [2.0, 0.4, 0]])
    targets = read_targets(sheet(tmp_path, spots, ASKEW, lengths=((0, 2),)))
    found = scanned(ASKEW.of(prism()), 1.0, targets, [0.5, 1.5])
    assert found.accuracy > 0.015
    (note,) = [note for note in found.notes if "near one line" in note.what]
    assert (
        f"to {np.median(found.placing.stray_at(np.vstack([s.spots for s in found.sections]))) * 1000:.0f} mm"
        in note.what
    )


# Scale


def test_a_scan_of_the_wrong_size_is_told_in_length_and_volume(tmp_path: Path) -> None:
    """1.5 % short in length is 4.4 % in volume: 0.985³ = 0.956."""
    spots = np.array([[0, 0.5, 0], [1.0, 0.6, 0], [0, 1.4, 0.8], [1.0, 1.5, 0.9]])
    targets = read_targets(sheet(tmp_path, spots, Away(TURN, ASKEW.shift, 0.985)))
    said = refusal(targets)
    assert "-1.5 % in length, -4.4 % in volume" in said
    assert "--scale taped" in said
    applied = scanned(np.zeros((10, 3)), 1.0, targets, [0.0, 1.0], wanted="taped")
    assert applied.scale.applied == pytest.approx(1 / 0.985, rel=1e-4)
    assert applied.placing.off.max() < 1e-4
    kept = scanned(np.zeros((10, 3)), 1.0, targets, [0.0, 1.0], wanted="scanned")
    assert kept.scale.applied == 1.0
    assert any("left as it is" in note.what for note in kept.notes)


def test_what_no_scale_is_off_by_is_a_unit_or_a_target(tmp_path: Path) -> None:
    """Two targets exchanged: the length between two others is then some tenths off, and no phone's scale is."""
    spots = np.array([[0, 0.5, 0], [1.0, 0.6, 0], [0, 1.4, 0.8], [1.0, 1.5, 0.9]])
    file = sheet(tmp_path, spots, ASKEW)
    seen = re.findall(r"scan = .*", file.read_text())
    file.write_text(file.read_text().replace(seen[0], "-").replace(seen[1], seen[0]).replace("-\n", seen[1] + "\n", 1))
    said = refusal(read_targets(file))
    assert "pick its two targets in it again" in said
    assert "--scale" not in said


@pytest.mark.parametrize("times", [1000.0, 0.001])
def test_targets_of_another_scan_or_unit_than_its_points_are_told(tmp_path: Path, times: float) -> None:
    targets = box_of_targets(tmp_path)
    with pytest.raises(SurveyError, match="in another scan, or in another unit"):
        scanned(ASKEW.of(prism()) * times, 1.0, targets, [0.5, 1.0])


def test_a_scale_that_nothing_checks_is_told(tmp_path: Path) -> None:
    found = placed(box_of_targets(tmp_path))
    assert any("scale is not checked" in note.what for note in found.notes)
    with pytest.raises(SurveyError, match="no length is taped"):
        scanned(np.zeros((10, 3)), 1.0, box_of_targets(tmp_path), [0.0, 1.0], wanted="taped")


def test_a_length_at_odds_with_the_others_is_named(tmp_path: Path) -> None:
    spots = np.array([[0, 0.5, 0], [2.0, 0.6, 0], [0, 1.4, 0.8], [2.0, 1.5, 0.9]])
    file = sheet(tmp_path, spots, ASKEW, lengths=((0, 3), (0, 1), (1, 2)))
    lines = file.read_text().splitlines()
    k = next(k for k, line in enumerate(lines) if line.startswith("T1-T2"))
    lines[k] = "T1-T2 = 1900"
    file.write_text("\n".join(lines))
    said = refusal(read_targets(file))
    assert "T1-T2" in said
    assert f":{k + 1}:" in said


# Sections

CASES = {"cockpit locker, port": (0.0, 0.7, 1.24, 1.7, 2.15), "gas locker": None, "sail locker": (0.0, 0.48, 0.96, 1.4)}


@pytest.mark.parametrize(
    ("name", "noise"),
    [("cockpit locker, port", 0.003), ("cockpit locker, port", 0.01), ("gas locker", 0.005), ("sail locker", 0.005)],
)
def test_a_scan_gives_back_volume_and_corners(
    heron: dict[str, Compartment], tmp_path: Path, name: str, noise: float
) -> None:
    """Within half a percent, where the hull of the same points, with no strangers among them, is several too large."""
    truth = heron[name]
    stations = CASES[name] or tuple(station.x for station in truth.survey.stations)
    gross = truth.gross.split((-1, 0, 0), -stations[-1])[0]
    targets = read_targets(sheet(tmp_path, corners_of(truth.gross), ASKEW))
    points = scan_of(truth.gross, noise)
    found = scanned(ASKEW.of(points), 1.0, targets, stations)
    again = surveyed(found, targets, tmp_path)
    assert again.gross.volume == pytest.approx(gross.volume, rel=0.005)
    walls = scan_of(truth.gross, noise, strangers=0.0)
    hull = ConvexHull(walls[walls[:, 0] < stations[-1]])
    assert hull.volume > 1.04 * gross.volume
    own = {station.x: station for station in truth.survey.stations}
    for section in found.sections:
        true = np.array([corner.at[1:] for corner in own[section.x].corners])
        off = np.linalg.norm(section.corners[:, None] - true[None], axis=2).min(axis=1)
        assert (off <= 3 * np.maximum(section.stray, STRAY)).all()
    assert found.accuracy >= STRAY
    assert again.survey.accuracy.height == pytest.approx(np.ceil(found.accuracy * 1000) / 1000)


def test_letters_are_the_trades_and_the_same_at_every_station(heron: dict[str, Compartment], tmp_path: Path) -> None:
    truth = heron["sail locker"].gross
    targets = read_targets(sheet(tmp_path, corners_of(truth), ASKEW))
    found = scanned(ASKEW.of(scan_of(truth, 0.002)), 1.0, targets, [0.0, 0.24, 0.48])
    assert found.letters is not None
    assert found.letters.side == "both"
    assert found.letters.order == ("Ap", "Bp", "Cp", "D", "Cs", "Bs", "As")
    for section, marks in zip(found.sections, found.letters.corners, strict=True):
        assert all(section.corners[marks[f"{mark}p"], 0] > 0 > section.corners[marks[f"{mark}s"], 0] for mark in "ABC")
        assert abs(section.corners[marks["D"], 0]) < 0.01


def test_the_same_scan_gives_the_same_survey(heron: dict[str, Compartment], tmp_path: Path) -> None:
    truth = heron["gas locker"].gross
    targets = read_targets(sheet(tmp_path, corners_of(truth), ASKEW))
    points = ASKEW.of(scan_of(truth, 0.008, 60_000))
    first, second = (scanned(points, 1.0, targets, [0.2, 0.4]) for _ in range(2))
    assert written(first, targets, "a", ["200", "400"]) == written(second, targets, "a", ["200", "400"])


# What was not scanned, and what stood in the way: a prism 1 m wide and 0.8 m high, along x


def prism(noise: float = 0.004, count: int = 120_000, seed: int = 5) -> Array:
    from tapeloft.model.facets import body
    from tapeloft.shapes.polyhedron import box

    return scan_of(body(box((0, 0.4, 0), (2, 1.4, 0.8))), noise, count, seed=seed)


def cut(
    points: Array, folder: Path, stations: Sequence[float] = (0.5, 1.0, 1.5), corners: int | None = None
) -> Scanned:
    spots = np.array([[0, 0.4, 0], [2.0, 0.4, 0], [0, 1.4, 0.8], [2.0, 1.4, 0.8]])
    return scanned(
        points, 1.0, read_targets(sheet(folder, spots, Away(np.eye(3), np.zeros(3)))), stations, corners=corners
    )


def test_a_hole_is_told_by_station_and_place_and_bridged(tmp_path: Path) -> None:
    """300 mm of the outboard wall left out: the line through what is left is still sure."""
    points = prism()
    hole = (abs(points[:, 0] - 1.0) < 0.1) & (points[:, 1] > 1.3) & (abs(points[:, 2] - 0.4) < 0.15)
    found = cut(points[~hole], tmp_path)
    assert not found.refused
    (told,) = [note for note in found.notes if "not scanned all along" in note.what]
    assert told.station == "at 1000 mm"
    (hole_told,) = [hole for seen in found.sections[1].seen for hole in seen.holes]
    assert hole_told.length == pytest.approx(0.3, abs=0.06)
    assert sorted((hole_told.start[1], hole_told.end[1])) == pytest.approx([0.25, 0.55], abs=0.04)
    assert "remark" in written(found, read_targets(tmp_path / "targets.toml"), "a", ["500", "1000", "1500"])


@pytest.mark.parametrize("kept", [0.6, 0.75])
def test_a_wall_hardly_seen_is_refused(tmp_path: Path, kept: float) -> None:
    """The upper part of the outboard wall alone: where it meets the sole would be a guess."""
    points = prism()
    unseen = (abs(points[:, 0] - 1.0) < 0.1) & (points[:, 1] > 1.35) & (points[:, 2] < kept)
    unseen |= (abs(points[:, 0] - 1.0) < 0.1) & (points[:, 1] > 1.0) & (points[:, 2] < 0.05)
    found = cut(points[~unseen], tmp_path)
    assert any(problem.station == "at 1000 mm" for problem in found.refused)
    assert all(problem.mend for problem in found.refused)


def test_a_scan_from_one_side_is_refused(tmp_path: Path) -> None:
    points = prism()
    found = cut(points[points[:, 1] < 0.9], tmp_path)
    assert {problem.station for problem in found.refused} == {"at 500 mm", "at 1000 mm", "at 1500 mm"}


def test_a_station_beyond_the_scan_is_refused(tmp_path: Path) -> None:
    found = cut(prism(), tmp_path, (0.5, 1.5, 2.6))
    (problem,) = found.refused
    assert "within 30 mm of 2600 mm no points bound a section; the scan reaches from" in problem.what


def test_a_thing_that_stood_in_the_space_is_told_and_not_cut_out(tmp_path: Path) -> None:
    """A post of 100 mm, in the open: the outline stays the walls', and its points are told of."""
    chance = np.random.default_rng(3)
    angle, x, z = chance.uniform(0, 2 * np.pi, 8000), chance.uniform(0.5, 1.5, 8000), 0
    pipe = np.column_stack([x, 0.9 + 0.05 * np.cos(angle), 0.4 + 0.05 * np.sin(angle) + z])
    found = cut(np.vstack([prism(), pipe]), tmp_path)
    assert not found.refused
    assert all(len(section.corners) == 4 for section in found.sections)
    crowd = found.sections[1].crowd
    assert crowd is not None
    assert crowd.low == pytest.approx((0.85, 0.35), abs=0.01)
    assert crowd.high == pytest.approx((0.95, 0.45), abs=0.01)
    assert any("points stand within the section" in note.what for note in found.notes)


def test_a_box_by_the_wall_that_hides_it_makes_corners_without_fellows(tmp_path: Path) -> None:
    """A battery box 300 x 300 in the corner: the wall behind it was not seen, so that station is refused."""
    points = prism(count=200_000)
    behind = (abs(points[:, 0] - 1.0) < 0.2) & (points[:, 1] < 0.72) & (points[:, 2] < 0.32)
    chance = np.random.default_rng(4)
    x, t = chance.uniform(0.8, 1.2, 12000), chance.uniform(0, 0.3, 12000)
    front = np.column_stack([x, np.full(12000, 0.7), t])
    top = np.column_stack([x, 0.4 + t, np.full(12000, 0.3)])
    found = cut(np.vstack([points[~behind], front, top]), tmp_path)
    assert {problem.station for problem in found.refused} == {"at 1000 mm"}
    assert any("no fellow" in problem.what for problem in found.refused)


def test_what_lies_beyond_the_last_station_is_told(tmp_path: Path) -> None:
    found = cut(prism(), tmp_path, (0.0, 1.0, 1.5))
    (told,) = [note for note in found.notes if "goes on" in note.what]
    assert told.station == "at 1500 mm"
    assert "goes on 50" in told.what


# Ends that lean: a prism of five sides, cut off by two planes

FIVE = Polygon([(0.4, 0.0), (1.0, 0.05), (1.35, 0.4), (1.4, 0.85), (0.45, 0.9)])


@dataclass(frozen=True)
class Lean:
    """A wall at x = at + skew · y + rake · z, m."""

    at: float
    skew: float = 0.0
    rake: float = 0.0

    def over(self, y: Array | float, z: Array | float) -> Array:
        return np.asarray(self.at + self.skew * y + self.rake * z)


ENDS = {
    "raked": (Lean(0.0, 0.0, -0.25), Lean(2.0, 0.0, 0.35)),
    "turned in plan": (Lean(0.0, 0.2, 0.0), Lean(2.0, -0.4, 0.0)),
    "both, one steep": (Lean(0.1, -0.3, 0.15), Lean(1.9, 0.25, -0.7)),
    "square": (Lean(0.0), Lean(2.0)),
}


def wedge_ended(aft: Lean, forward: Lean) -> tuple[Solid, float]:
    """Return the prism and its volume: its section's area times the distance of its ends at the section's centroid.

    Closed form: over a plane figure a linear function's mean is its value at the centroid.
    """
    from tapeloft.model.facets import body
    from tapeloft.shapes.polyhedron import box

    low, high = np.array(FIVE.bounds).reshape(2, 2)
    long = body(box((-2.0, *low), (5.0, *high)))
    ring = np.array(FIVE.exterior.coords)
    for (ay, az), (by, bz) in pairwise(ring):
        out = np.array([0.0, bz - az, ay - by]) * (-1.0 if FIVE.exterior.is_ccw else 1.0)
        out /= np.linalg.norm(out)
        long = long.split(tuple(out.tolist()), float(out[1] * ay + out[2] * az))[0]
    for wall, sign in ((aft, 1.0), (forward, -1.0)):
        normal = sign * np.array([1.0, -wall.skew, -wall.rake])
        size = float(np.linalg.norm(normal))
        long = long.split(tuple((normal / size).tolist()), sign * wall.at / size)[0]
    y, z = FIVE.centroid.coords[0]
    return long, FIVE.area * float(forward.over(y, z) - aft.over(y, z))


@pytest.mark.parametrize("noise", [0.003, 0.008])
@pytest.mark.parametrize("ends", ENDS)
def test_ends_that_lean_are_fitted_as_they_lean(tmp_path: Path, ends: str, noise: float) -> None:
    """The closed volume within what the scan's own accuracy leaves, and each end's corner where the planes meet."""
    aft, forward = ENDS[ends]
    solid, volume = wedge_ended(aft, forward)
    assert solid.volume == pytest.approx(volume, rel=1e-6)
    targets = read_targets(sheet(tmp_path, corners_of(solid), ASKEW))
    cuts = stations_of("end, 800, 1200, end", targets)
    found = scanned(ASKEW.of(scan_of(solid, noise)), 1.0, targets, [x for _, x in cuts])
    again = surveyed(found, targets, tmp_path, "end, 800, 1200, end")
    assert again.survey.accuracy.station == pytest.approx(0.01)
    truth = np.array(FIVE.exterior.coords)[:-1]
    for section, wall in ((found.sections[0], aft), (found.sections[-1], forward)):
        assert section.end is not None
        assert section.end.share > 0.95
        off = np.linalg.norm(section.corners[:, None] - truth[None], axis=2)
        assert (off.min(axis=1) <= 3 * np.maximum(section.stray, STRAY / 3)).all()
        lean = wall.over(*section.corners.T) - section.end.ahead
        assert (np.abs(lean) <= 3 * np.maximum(section.stray, STRAY / 3)).all()
    sigma = found.accuracy * (FIVE.area * np.sqrt(2.0) + 2.0 * FIVE.length / np.sqrt(2 * len(truth)))
    assert abs(again.gross.volume - volume) <= sigma
    assert again.gross.volume == pytest.approx(volume, rel=0.01)
    assert not [note for note in found.notes if "goes on" in note.what or "bulkhead" in note.what]


def test_an_end_is_written_with_each_corners_own_distance(tmp_path: Path) -> None:
    """In a sheet whose distances rise aft, too; the figure on paper is the plane's, to the millimetre and noise."""
    solid, _ = wedge_ended(*ENDS["raked"])
    file = sheet(tmp_path, corners_of(solid), ASKEW)
    file.write_text(
        re.sub(r"taped = \[([-\d.]+)", lambda got: f"taped = [{-float(got[1]):g}", file.read_text())
        + '[datum]\nx_positive = "aft"\n'
    )
    targets = read_targets(file)
    cuts = stations_of("end, -1000, end", targets)
    found = scanned(ASKEW.of(scan_of(solid, 0.001)), 1.0, targets, [x for _, x in cuts])
    text = written(found, targets, "a.ply", [at for at, _ in cuts])
    first = tomllib.loads(text)["station"]["0"]
    assert first["at"] == pytest.approx(
        -np.mean([ENDS["raked"][1].over(y, z) * 1000 for y, z in FIVE.exterior.coords[:-1]]), abs=5
    )
    for y, z, x in (first[mark] for mark in "ABCDE"):
        assert x == pytest.approx(-1000 * float(ENDS["raked"][1].over(y / 1000, z / 1000)), abs=5)


def test_an_end_that_was_not_scanned_or_hardly_is_refused(tmp_path: Path) -> None:
    solid, _ = wedge_ended(*ENDS["raked"])
    points = scan_of(solid, 0.003, strangers=0.0)
    targets = read_targets(sheet(tmp_path, corners_of(solid), Away(np.eye(3), np.zeros(3))))
    ahead = ENDS["raked"][1].over(points[:, 1], points[:, 2]) - points[:, 0]
    stations = [x for _, x in stations_of("end, 1000, end", targets)]
    for unseen, said in ((ahead < 0.05, "no wall closes the space"), ((ahead < 0.05) & (points[:, 2] > 0.2), "of it")):
        found = scanned(points[~unseen], 1.0, targets, stations)
        assert any(said in problem.what for problem in found.refused), found.refused
    partly = scanned(points[~((ahead < 0.01) & (points[:, 2] > 0.5))], 1.0, targets, stations)
    assert not partly.refused
    assert any("of the end wall; none from" in note.what for note in partly.notes)


def test_a_bulkhead_that_leans_at_a_square_station_is_told(tmp_path: Path) -> None:
    solid, _ = wedge_ended(Lean(0.0, 0.0, 0.05), Lean(2.0))
    targets = read_targets(sheet(tmp_path, corners_of(solid), ASKEW))
    found = scanned(ASKEW.of(scan_of(solid, 0.003)), 1.0, targets, [0.02, 1.0, 2.0])
    (note,) = [note for note in found.notes if "a bulkhead is here" in note.what]
    assert note.station == "at 20 mm"
    assert "write end" in note.mend


def test_an_end_wall_that_leans_over_the_next_station_is_refused(tmp_path: Path) -> None:
    solid, _ = wedge_ended(Lean(0.0), Lean(1.5, 0.0, 0.7))
    targets = read_targets(sheet(tmp_path, corners_of(solid), ASKEW))
    found = scanned(ASKEW.of(scan_of(solid, 0.003)), 1.0, targets, [0.0, 1.6, np.inf])
    assert any("leans in past the station at 1600 mm" in problem.what for problem in found.refused)


@pytest.mark.parametrize("axis", [0, 1, 2])
def test_points_in_one_plane_or_place_are_refused(tmp_path: Path, axis: int) -> None:
    flat = np.random.default_rng(1).uniform(0.4, 1.4, (5000, 3))
    flat[:, axis] = 0.5
    assert cut(flat, tmp_path, (0.5, 1.0)).refused
    assert cut(np.ones((5000, 3)), tmp_path, (0.9, 1.0)).refused
    assert cut(np.ones((1, 3)), tmp_path, (0.9, 1.0)).refused


@given(st.integers(0, 2**31), st.integers(0, 400))
def test_a_cloud_of_nothing_is_refused_and_never_stumbled_over(seed: int, count: int) -> None:
    spots = np.random.default_rng(seed).uniform(-1, 1, (count, 3))
    slab = near(spots, 0.0, 0.2)
    section = section_of(slab, 0.0) if slab else None
    assert section is None or np.isfinite(section.corners).all()


# Lines and loops


def test_a_wall_is_the_least_squares_line(tmp_path: Path) -> None:
    """Without strangers the fit is numpy's, to a hundredth of the noise; with a fifth of strangers hardly moved."""
    chance = np.random.default_rng(2)
    t = np.linspace(0, 1, 2000)
    spots = np.column_stack([t, 0.2 + 0.1 * t + chance.normal(0, 0.005, 2000)])
    slope, level = np.polyfit(t, spots[:, 1], 1)
    far = np.column_stack([chance.uniform(0, 1, 500), chance.uniform(0.3, 0.6, 500)])
    for own in (spots, np.vstack([spots, far])):
        slab = Slab(own, np.zeros(len(own)), np.zeros_like(own), 0.005, np.arange(len(own)))
        wall = fitted(slab, np.arange(len(own)), Wall(np.array([0.0, 1.0]), 0.25))
        assert -wall.normal[0] / wall.normal[1] == pytest.approx(slope, abs=1e-3)
        assert wall.offset / wall.normal[1] == pytest.approx(level, abs=5e-4)
        assert wall.spread == pytest.approx(0.005, rel=0.15)


@example(loop=[(0.0, 0.0), (0.0, 1.0), (1.0, 2.2250738585e-313)], seed=0)  # an edge that rises by next to nothing
@given(
    st.lists(st.tuples(st.floats(-1, 1), st.floats(-1, 1)), min_size=3, max_size=9, unique=True), st.integers(0, 9999)
)
def test_points_within_a_loop_are_those_that_shapely_finds(loop: list[tuple[float, float]], seed: int) -> None:
    spots = np.random.default_rng(seed).uniform(-1, 1, (20, 2))
    around = np.array(loop)
    turned = around[np.argsort(np.arctan2(*(around - around.mean(axis=0)).T[::-1]))]
    polygon = Polygon(turned)
    clear = np.array([polygon.exterior.distance(Point(spot)) > 1e-6 for spot in spots])
    expected = np.array([polygon.contains(Point(spot)) for spot in spots])
    if polygon.is_valid:
        assert (contained(spots, turned)[clear] == expected[clear]).all()


def test_letters_of_a_starboard_locker_begin_inboard_on_the_sole() -> None:
    port = np.array([[0.5, 0], [0.9, 0], [1.1, 0.7], [0.5, 0.72]])
    starboard = (port * [-1, 1])[::-1]
    for corners, side in ((port, "port"), (starboard, "starboard")):
        given_ = lettered([corners, corners * 0.8])
        assert (given_.side, given_.order) == (side, ("A", "B", "C", "D"))
        for marks in given_.corners:
            assert [abs(corners[marks[mark], 0]) for mark in "ABCD"] == [0.5, 0.9, 1.1, 0.5]
            assert corners[marks["A"], 1] == 0


def test_a_keel_and_a_ridge_are_not_paired() -> None:
    corners = np.array([[0, 0], [0.5, 0.3], [0.6, 0.8], [0.01, 0.9], [-0.6, 0.8], [-0.5, 0.3]])
    assert lettered([corners]).order == ("A", "Bp", "Cp", "D", "Cs", "Bs")


def test_a_corner_too_few_is_left_without_its_letter() -> None:
    five = np.array([[0.5, 0], [0.9, 0], [1.1, 0.3], [1.15, 0.7], [0.5, 0.72]])
    found = lettered([five, five, np.delete(five, 2, axis=0)])
    assert found.order == ("A", "B", "C", "D", "E")
    assert found.corners[2] == {"A": 0, "B": 1, "D": 2, "E": 3}


# Files


def tetrahedron(name: str) -> bytes:
    import trimesh

    made = trimesh.Trimesh([[0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1.0]], [[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]])
    data = made.export(file_type=name)
    return data.encode() if isinstance(data, str) else data


@pytest.mark.parametrize("name", ["ply", "obj", "stl", "glb"])
def test_a_mesh_is_sampled_over_its_surface(tmp_path: Path, name: str) -> None:
    """The points of a tetrahedron: a share of each face by its area, √3 / (3 + √3) on the slanting one."""
    file = tmp_path / f"scan.{name}"
    file.write_bytes(tetrahedron(name))
    cloud = read_cloud(file)
    assert (cloud.meshed, len(cloud.points), cloud.in_metres) == (4, SAMPLES, name == "glb")
    slanting = np.abs(cloud.points.sum(axis=1) - 1) < 1e-6
    assert slanting.mean() == pytest.approx(np.sqrt(3) / (3 + np.sqrt(3)), abs=0.003)
    assert (read_cloud(file).points == cloud.points).all()


def test_a_cloud_is_read_from_ply_and_obj_and_glb(tmp_path: Path) -> None:
    import trimesh

    spots = np.random.default_rng(1).uniform(-1, 1, (50, 3)).astype(np.float32)
    for name in ("ply", "glb", "obj"):
        file = tmp_path / f"cloud.{name}"
        if name == "obj":
            file.write_text("".join(f"v {x:.9g} {y:.9g} {z:.9g}\n" for x, y, z in spots))
        else:
            scene = trimesh.Scene(trimesh.PointCloud(spots)) if name == "glb" else trimesh.PointCloud(spots)
            file.write_bytes(scene.export(file_type=name))
        cloud = read_cloud(file)
        assert cloud.meshed == 0
        assert cloud.points == pytest.approx(spots.astype(float))


PLY = b"ply\nformat ascii 1.0\nelement vertex %d\nproperty float x\nproperty float y\nproperty float z\nend_header\n"


def test_points_without_coordinates_are_left_out_and_counted(tmp_path: Path) -> None:
    file = tmp_path / "cloud.ply"
    file.write_bytes(PLY % 3 + b"0 0 0\nnan 1 1\n1 2 inf\n")
    assert (len(read_cloud(file).points), read_cloud(file).left_out) == (1, 2)


@pytest.mark.parametrize(
    ("name", "data", "said"),
    [
        ("a.ply", b"", "is empty"),
        ("a.ply", PLY % 0, "holds no points"),
        ("a.ply", PLY % 1 + b"nan nan nan\n", "holds no points"),
        ("a.ply", PLY % 5 + b"0 0 0\n", "declares 5"),
        ("a.obj", b"# nothing\n", "holds no points"),
        ("a.obj", b"v 0 0 0\nv 1 0 0\nf 1 2 9\n", "a corner which is not there"),
        ("a.stl", b"solid x", "no size|no triangle|holds no points"),
        ("a.stl", bytes(100), "declares"),
        ("a.glb", b"glTF\x02\0\0\0", "cannot be read as GLB"),
        ("a.glb", b"hello world, this is no scan", "cannot be read as GLB"),
        ("a.xyz", b"0 0 0", "has not the name of"),
        ("a.obj", b"v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2\n", "cannot be used: face 1 has only 2"),
        ("a.obj", b"v 0,5 0,1 0,2\n", "cannot be used: the coordinate"),
        (
            "a.ply",
            PLY.replace(b"end_", b"element tristrips 0\nproperty list int int vertex_indices\nend_") % 1 + b"0 0 0\n",
            "strips",
        ),
        (
            "a.glb",
            b"glTF\2\0\0\0\0\0\0\0\x35\0\0\0JSON" + b'{"extensionsRequired":["KHR_draco_mesh_compression"]}',
            "packed",
        ),
    ],
)
def test_files_that_are_no_scan_are_refused(tmp_path: Path, name: str, data: bytes, said: str) -> None:
    file = tmp_path / name
    file.write_bytes(data)
    with pytest.raises(FileError, match=said) as bad:
        read_cloud(file)
    assert "mend:" in str(bad.value)


EXTRA = {
    "colours": ("uchar red\nproperty uchar green\nproperty uchar blue\nproperty uchar alpha", "u1", 4),
    "numbers of 64 bits": ("int64 id", "i8", 1),
    "doubles": ("double confidence", "f8", 1),
    "short": ("short label\nproperty ushort other", "i2", 2),
}


@pytest.mark.parametrize("order", ["binary_little_endian", "binary_big_endian", "ascii"])
@pytest.mark.parametrize("extra", EXTRA)
def test_what_else_a_ply_says_of_its_points_is_passed_over(tmp_path: Path, order: str, extra: str) -> None:
    names, kind, count = EXTRA[extra]
    spots = np.random.default_rng(1).uniform(-1, 1, (40, 3)).astype(np.float32)
    end = ">" if "big" in order else "<"
    rows = np.zeros(40, [("x", f"{end}f4", 3), ("more", f"{end}{kind}", count)])
    rows["x"], rows["more"] = spots, 7
    head = (PLY % 40).replace(b"ascii", order.encode()).replace(b"end_", f"property {names}\nend_".encode())
    text = "".join(" ".join(f"{x:.9g}" for x in spot) + " 7" * count + "\n" for spot in spots.tolist())
    (tmp_path / "a.ply").write_bytes(head + (text.encode() if order == "ascii" else rows.tobytes()))
    assert read_cloud(tmp_path / "a.ply").points == pytest.approx(spots.astype(float))


def test_an_obj_whose_faces_count_back_gives_what_its_twin_does(tmp_path: Path) -> None:
    """Two triangles, each after its own corners: by numbers from the start, from the end, with textures beside."""
    corners = ["v 0 0 0\nv 1 0 0\nv 0 1 0", "v 5 5 5\nv 6 5 5\nv 5 6 5 0.1 0.2 0.3"]
    faces = {
        "ahead": ("f 1 2 3", "f 4 5 6"),
        "back": ("f -3 -2 -1", "f -3//1 -2//1 -1//1"),
        "both": ("f 1/1/1 2/2 3", "f -3 5 6"),
    }
    read = []
    for name, (first, second) in faces.items():
        (tmp_path / f"{name}.obj").write_text("\n".join([corners[0], first, corners[1], second, "l 1 2", "s off"]))
        read.append(read_cloud(tmp_path / f"{name}.obj"))
    assert all((one.points == read[0].points).all() and one.meshed == 2 for one in read)


def test_corners_of_no_triangle_are_points_too(tmp_path: Path) -> None:
    loose = np.random.default_rng(1).uniform(2, 3, (30, 3)).round(6)
    lines = ["v 0 0 0", "v 1 0 0", "v 0 1 0", "f 1 2 3", *(f"v {x} {y} {z}" for x, y, z in loose)]
    (tmp_path / "a.obj").write_text("\n".join(lines))
    points = read_cloud(tmp_path / "a.obj").points
    assert points[SAMPLES:] == pytest.approx(loose)


def test_a_glb_has_the_parts_of_its_own_scene_where_their_nodes_put_them(tmp_path: Path) -> None:
    """Two scenes of one triangle: the second is the file's; a node in a node, turned, twice as large and moved."""
    import trimesh

    scene = trimesh.Scene()
    scene.add_geometry(trimesh.Trimesh([[0, 0, 0], [1, 0, 0], [0, 1, 0]], [[0, 1, 2]]), node_name="part")
    data = scene.export(file_type="glb")
    size = int.from_bytes(data[12:16], "little")
    told = json.loads(data[20 : 20 + size])
    mesh = next(node["mesh"] for node in told["nodes"] if "mesh" in node)
    told["nodes"] = [
        {"mesh": mesh, "translation": [100, 0, 0]},
        {"children": [2], "scale": [2, 2, 2], "translation": [1, 0, 0]},
        {"mesh": mesh, "rotation": [0, 0, 0.5**0.5, 0.5**0.5], "translation": [0, 0, 3]},
    ]
    told |= {"scene": 1, "scenes": [{"nodes": [0]}, {"nodes": [1]}]}
    head = json.dumps(told).encode()
    head += b" " * (-len(head) % 4)
    body = len(head).to_bytes(4, "little") + b"JSON" + head + data[20 + size :]
    (tmp_path / "a.glb").write_bytes(b"glTF\2\0\0\0" + (12 + len(body)).to_bytes(4, "little") + body)
    points = read_cloud(tmp_path / "a.glb").points
    assert points.min(axis=0) == pytest.approx([-1, 0, 6], abs=0.02)
    assert points.max(axis=0) == pytest.approx([1, 2, 6], abs=0.02)


def test_a_scan_that_is_not_there_is_refused(tmp_path: Path) -> None:
    with pytest.raises(FileError, match="is not there"):
        read_cloud(tmp_path / "none.ply")


def test_two_million_points_take_seconds(tmp_path: Path, heron: dict[str, Compartment]) -> None:
    """Read, placed and cut at two stations; the bound is ten times what it takes alone on two slow cores."""
    truth = heron["gas locker"].gross
    points = ASKEW.of(scan_of(truth, 0.005, 2_000_000))
    file = tmp_path / "large.ply"
    head = (PLY % len(points)).replace(b"ascii", b"binary_little_endian")
    file.write_bytes(head + points.astype("<f4").tobytes())
    targets = read_targets(sheet(tmp_path, corners_of(truth), ASKEW))
    start = time.monotonic()
    found = scanned(read_cloud(file).points, 1.0, targets, [0.2, 0.4])
    assert time.monotonic() - start < 60
    assert not found.refused


# What is asked


def test_stations_are_read_as_a_sheet_says_them(tmp_path: Path) -> None:
    targets = box_of_targets(tmp_path)
    assert stations_of("0, 450.5, 2 ft", targets) == [("0", 0.0), ("450.5", 0.4505), ('"2 ft"', 0.6096)]
    aft = box_of_targets(tmp_path, more='datum = { x_positive = "aft" }')
    assert stations_of("0, 400", aft) == [("0", 0.0), ("400", -0.4)]


@pytest.mark.parametrize("text", ["", "0", "0,0", "5,2", "0, x", "0,,5", ",".join(map(str, range(0, 9000, 100)))])
def test_stations_that_make_no_space_are_refused(tmp_path: Path, text: str) -> None:
    with pytest.raises(TapeloftError, match="--stations"):
        stations_of(text, box_of_targets(tmp_path))


def test_the_unit_is_stated_and_never_guessed() -> None:
    with pytest.raises(TapeloftError, match="nothing says in which unit"):
        metres_of(None, Cloud(np.zeros((1, 3))), Path("a.ply"))
    assert metres_of(None, Cloud(np.zeros((1, 3)), in_metres=True), Path("a.glb")) == 1.0
    assert metres_of("mm", Cloud(np.zeros((1, 3)), in_metres=True), Path("a.glb")) == 0.001
    with pytest.raises(TapeloftError, match="--slab"):
        depth("3 m")


# The command


def program(*words: object) -> subprocess.CompletedProcess[str]:
    code = "from tapeloft.cli.app import main; main()"
    return subprocess.run([sys.executable, "-c", code, *map(str, words)], capture_output=True, text=True, check=False)


def test_the_command_writes_a_survey_that_checks(tmp_path: Path, heron: dict[str, Compartment], draws: None) -> None:
    truth = heron["gas locker"].gross
    file = tmp_path / "scan.ply"
    points = ASKEW.of(scan_of(truth, 0.005, 80_000))
    head = (PLY % len(points)).replace(b"ascii", b"binary_little_endian")
    file.write_bytes(head + points.astype("<f4").tobytes())
    targets = sheet(tmp_path, corners_of(truth), ASKEW)
    out, picture = tmp_path / "locker.toml", tmp_path / "fit.png"
    asked = ["scan", file, "--unit", "m", "--targets", targets, "--stations", "100, 300, 500", "--to", out]
    ran = program(*asked, "--json", "--still", picture)
    assert ran.returncode == 0, ran.stderr
    told = json.loads(ran.stdout)
    assert told["good"]
    assert told["scale"]["checked"]
    assert [len(station["corners"]) for station in told["stations"]] == [4, 4, 4]
    assert {corner["mark"] for corner in told["stations"][0]["corners"]} == set("ABCD")
    assert picture.read_bytes().startswith(b"\x89PNG")
    assert program("check", out).returncode == 0
    again = program(*asked)
    assert again.returncode == 2  # it is there already, and is not written over
    assert "--force" in again.stderr
    short = program(
        "scan", file, "--unit", "m", "--targets", targets, "--stations", "100, 3000", "--to", tmp_path / "n"
    )
    assert short.returncode == 1
    assert not (tmp_path / "n").exists()
    assert "no survey was written" in short.stderr
