"""Check tapes: every letter touched twice from differing ways, none through a side, and every slip seen.

What a slip does to the tapes is computed here from distances alone, not by the rules that the choice goes by.
"""

import time
from importlib.resources import files
from itertools import combinations, pairwise
from pathlib import Path

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from tapeloft.model import read_survey
from tapeloft.model.measuring.across import tapes_across
from tapeloft.model.measuring.along import tapes_along
from tapeloft.model.measuring.filled import sections_of
from tapeloft.model.measuring.hindered import hindrance
from tapeloft.model.measuring.nominal import letters, nominal_sections
from tapeloft.model.measuring.section import Section, Tape, contains, inside, nameable
from tapeloft.model.measuring.tapes import CheckTapes, check_tapes
from tapeloft.model.measuring.wants import DIFFERING
from tapeloft.model.survey.survey import Survey

BOAT = read_survey(Path(str(files("tapeloft.shapes").joinpath("demo"))))
SURVEYS = {one.name: one for one in BOAT.compartments}
"""The demo boat: sections across and on one side, offsets, a raked transom, a stem where letters share a spot."""
SLIP, SEEN = 0.050, 0.006
"""m. A slip of 50 mm must change a tape by three times the 2 mm that a check tape is proposed to be good for."""


def section(corners: list[tuple[float, float]], name: str = "1", x: float = 0.0) -> Section:
    marks = tuple(chr(ord("A") + k) for k in range(len(corners)))
    return Section(name, x, marks, tuple((x, y, z) for y, z in corners))


def places(sections: list[Section]) -> dict[tuple[str, str], np.ndarray]:
    return {
        (one.station, mark): np.array(at) for one in sections for mark, at in zip(one.marks, one.corners, strict=True)
    }


def length(tape: Tape, where: dict[tuple[str, str], np.ndarray]) -> float:
    return float(sum(np.linalg.norm(where[a] - where[b]) for a, b in pairwise(tape.corners)))


def ways(tapes: list[Tape], corner: tuple[str, str], where: dict[tuple[str, str], np.ndarray]) -> list[np.ndarray]:
    """Return the directions of the tapes at a corner."""
    found = []
    for tape in tapes:
        for a, b in pairwise(tape.corners):
            if corner in (a, b):
                way = where[b if corner == a else a] - where[corner]
                found.append(way / np.linalg.norm(way))
    return found


def widest(directions: list[np.ndarray]) -> float:
    """Return the largest angle between two lines of these directions, degrees."""
    return max(
        (float(np.degrees(np.arccos(min(1.0, abs(a @ b))))) for a, b in combinations(directions, 2)), default=0.0
    )


def chosen(survey: Survey) -> tuple[list[Section], CheckTapes]:
    sections = list(sections_of(survey))
    return sections, check_tapes(sections)


# within a section


def of_some_size(one: Section) -> bool:
    return len(one.corners) > 2 and shapely.Polygon([(y, z) for _, y, z in one.corners]).area > 0.01


@pytest.mark.parametrize("name", SURVEYS)
def test_every_letter_is_touched_twice_from_differing_ways(name: str) -> None:
    sections, tapes = chosen(SURVEYS[name])
    where = places(sections)
    for one, across in zip(sections, tapes.across, strict=True):
        if not of_some_size(one):
            continue
        for mark in one.marks:
            met = ways(list(across.tapes), (one.station, mark), where)
            assert len(met) >= 2
            assert widest(met) >= DIFFERING - 1e-6


@pytest.mark.parametrize("across", [False, True])
@pytest.mark.parametrize("count", range(3, 13))
def test_an_empty_sheet_needs_about_one_tape_a_letter(count: int, across: bool) -> None:
    sections = list(nominal_sections(letters(count, across=across), 3))
    where, tapes = places(sections), check_tapes(sections)
    for one, had in zip(sections, tapes.across, strict=True):
        met = {mark: ways(list(had.tapes), (one.station, mark), where) for mark in one.marks}
        assert all(len(each) >= 2 and widest(each) > 10 for each in met.values())
        assert len(one.marks) <= len(had.tapes) <= 1.5 * len(one.marks)  # more only where a flat side allows no angle
        first = {mark for tape in had.tapes[: had.enough] for _, mark in tape.corners}
        assert first == set(one.marks)
        assert had.enough <= 0.5 * len(one.marks) + 2


@pytest.mark.parametrize("name", SURVEYS)
def test_any_slip_at_a_letter_changes_some_tape(name: str) -> None:
    """A slip that moves a corner along or up by 50 mm lengthens or shortens a tape by more than tapes are good for."""
    sections, tapes = chosen(SURVEYS[name])
    where = places(sections)
    for one, across in zip(sections, tapes.across, strict=True):
        if not of_some_size(one):
            continue
        for mark, (dy, dz) in ((m, d) for m in one.marks for d in ((SLIP, 0), (-SLIP, 0), (0, SLIP), (0, -SLIP))):
            slipped = dict(where)
            slipped[one.station, mark] = where[one.station, mark] + (0, dy, dz)
            assert max(abs(length(t, slipped) - length(t, where)) for t in across.tapes) > SEEN


@pytest.mark.parametrize("name", SURVEYS)
def test_two_slipped_letters_are_told_apart(name: str) -> None:
    """No two letters are touched by the same tapes, so that those which are off name the letter (n = 4 and more)."""
    sections, tapes = chosen(SURVEYS[name])
    for one, across in zip(sections, tapes.across, strict=True):
        if of_some_size(one):
            touched = [frozenset(t.label for t in across.tapes if (one.station, m) in t.corners) for m in one.marks]
            assert len(set(touched)) == len(one.marks)


@given(
    st.lists(st.floats(0.4, 1.4), min_size=4, max_size=9),
    st.lists(st.floats(0.2, 1.0), min_size=4, max_size=9),
)
def test_no_tape_runs_through_a_side(radii: list[float], gaps: list[float]) -> None:
    """Starry sections, most of them hollow; shapely says what lies within."""
    count = min(len(radii), len(gaps))
    turns = np.cumsum(gaps[:count]) / sum(gaps[:count]) * 2 * np.pi
    corners = [(r * float(np.cos(t)), r * float(np.sin(t))) for r, t in zip(radii, turns, strict=False)]
    one, room = section(corners), shapely.Polygon(corners)
    where = places([one])
    if not room.is_valid:
        return
    for tape in tapes_across(one, nameable([one])).tapes:
        line = shapely.LineString([where[corner][1:] for corner in tape.corners])
        assert room.buffer(2e-3).covers(line)


def test_a_hollow_section_is_taped_round_its_corner() -> None:
    """An L: the tape from one arm's end to the other's would run through the structure in the notch."""
    corners = [(0, 0), (2, 0), (2, 0.5), (0.6, 0.5), (0.6, 1.5), (0, 1.5)]
    one = section([(float(y), float(z)) for y, z in corners])
    labels = {tape.label for tape in tapes_across(one, nameable([one])).tapes}
    assert not labels & {"1C-1E", "1B-1E", "1C-1F", "1B-1F"}
    assert all(any(mark in label for label in labels) for mark in "ABCDEF")


@given(st.lists(st.tuples(st.floats(-1, 1), st.floats(-1, 1)), min_size=3, max_size=8), st.floats(-1, 1))
def test_what_is_inside_agrees_with_shapely(corners: list[tuple[float, float]], y: float) -> None:
    room = shapely.Polygon(corners)
    point = shapely.Point(y, 0.1)
    if room.is_valid and room.area > 1e-3 and room.boundary.distance(point) > 2e-3:
        assert contains(np.array(corners), np.array([[y, 0.1]]))[0] == room.contains(point)


def test_lines_along_a_side_are_inside_and_lines_out_of_the_room_are_not() -> None:
    outline = np.array([(0, 0), (1, 0), (1, 1), (0, 1.0)])
    assert inside(outline, outline[0], outline[1])
    assert not inside(outline, np.array([-1.0, 0.5]), np.array([2.0, 0.5]))


def test_letters_on_one_spot_are_one() -> None:
    """The stem of the sail locker: Cp, D and Cs meet; a tape between them says nothing."""
    sections, tapes = chosen(SURVEYS["sail locker"])
    assert sections[-1].corners[2] == sections[-1].corners[3]
    labels = [tape.label for tape in tapes.across[-1].tapes]
    assert len(labels) == 3
    assert len(set("".join(labels)) - set("4p-")) == 3  # A, B, C


def test_a_point_without_letters_has_no_tapes() -> None:
    one = section([(0.5, 0.0), (0.9, 0.0), (0.9, 0.7)], "0")
    point = Section("1", 0.8, ("",), ((0.8, 0.5, 0.3),))
    tapes = check_tapes([one, point])
    assert tapes.across[1].tapes == ()
    assert tapes.along == ((),)
    assert len(tapes.twin) == 3


def test_what_the_survey_has_counts_and_is_kept() -> None:
    survey = SURVEYS["sail locker"]
    had = [Tape(check.corners) for check in survey.checks]
    tapes = check_tapes(sections_of(survey), had)
    every = [t for one in tapes.across for t in (*one.tapes, *one.girths)] + [t for bay in tapes.along for t in bay]
    assert set(had) <= set(every)
    assert len({frozenset(t.corners) for t in every}) == len(every)
    bare = check_tapes(sections_of(survey))
    assert len(tapes.across[0].tapes) <= len(bare.across[0].tapes) + len([t for t in had if t.corners[0][0] == "0"])


def test_the_same_letters_are_taped_at_each_station_where_that_does() -> None:
    tapes = check_tapes(nominal_sections(letters(6, across=False), 4))
    pairs = [{frozenset(mark for _, mark in t.corners) for t in one.tapes} for one in tapes.across]
    assert all(one == pairs[0] for one in pairs)


def test_a_girth_runs_up_the_hull() -> None:
    tapes = chosen(SURVEYS["cockpit locker, port"])[1]
    assert [t.label for t in tapes.across[1].girths] == ["1B-1C-1D"]
    assert [t.label for t in chosen(SURVEYS["sail locker"])[1].across[0].girths] == ["0Ap-0Bp-0Cp", "0As-0Bs-0Cs"]


# along the compartment


def bays(survey: Survey) -> list[tuple[Section, Section, tuple[Tape, ...]]]:
    sections, tapes = chosen(survey)
    return [(a, b, bay) for (a, b), bay in zip(pairwise(sections), tapes.along, strict=True)]


@pytest.mark.parametrize("name", SURVEYS)
def test_two_long_tapes_cross_in_each_bay_one_rising_one_falling(name: str) -> None:
    for one, other, bay in bays(SURVEYS[name]):
        where = places([one, other])
        assert len(bay) == 2
        rises = []
        for tape in bay:
            (start, end) = tape.corners
            assert (start[0], end[0]) == (one.station, other.station)
            rises.append(where[end][2] - where[start][2])
        assert min(rises) < 0 < max(rises)
        # seen from the side they cross: the one that starts lower ends higher
        low, high = sorted(bay, key=lambda tape: where[tape.corners[0]][2])
        assert where[low.corners[0]][2] <= where[high.corners[0]][2]
        assert where[low.corners[1]][2] >= where[high.corners[1]][2]


@pytest.mark.parametrize("name", SURVEYS)
@pytest.mark.parametrize("moved", [(SLIP, 0, 0), (0, SLIP, 0), (0, 0, SLIP)], ids=["distance", "string", "datum"])
def test_a_station_out_of_place_as_a_whole_changes_a_long_tape(name: str, moved: tuple[float, float, float]) -> None:
    """Tapes within the section cannot see it: all its letters move together."""
    sections, tapes = chosen(SURVEYS[name])
    where = places(sections)
    for number, one in enumerate(sections):
        shifted = {k: at + np.array(moved) if k[0] == one.station else at for k, at in where.items()}
        within = [abs(length(t, shifted) - length(t, where)) for t in tapes.across[number].tapes]
        assert max(within) < 1e-9
        near = [t for bay in tapes.along[max(0, number - 1) : number + 1] for t in bay]
        assert max(abs(length(t, shifted) - length(t, where)) for t in near) > SEEN


def test_bays_change_letters() -> None:
    tapes = check_tapes(nominal_sections(letters(6, across=False), 5))
    marks = [{mark for t in bay for _, mark in t.corners} for bay in tapes.along]
    assert all(a != b for a, b in pairwise(marks))


def test_a_step_has_no_bay() -> None:
    before = section([(0.5, 0.0), (0.9, 0.0), (0.9, 0.7), (0.5, 0.7)], "1", 0.8)
    after = section([(0.5, 0.1), (0.9, 0.1), (0.9, 0.7), (0.5, 0.7)], "2", 0.8)
    assert tapes_along([before, after], nameable([before, after])) == ((),)


def test_one_tape_over_all_low_and_one_high() -> None:
    sections, tapes = chosen(SURVEYS["cockpit locker, port"])
    assert [t.label for t in tapes.over_all] == ["0A-4A", "0E-4E"]  # inboard, where the cockpit side is straight
    where = places(sections)
    low, high = (where[t.corners[0]][2] for t in tapes.over_all)
    assert low < high


def test_a_tape_goes_round_what_stands_there() -> None:
    survey = SURVEYS["sail locker"]  # the chain pipe stands on the centreline
    sections = sections_of(survey)
    blocked = hindrance(survey, np.vstack([one.spots for one in sections]))
    pipe = np.array([[0.6, 0, 0.5], [1.7, 0, 0.5]]), np.array([[0.6, 0.2, 0.5], [1.7, 0.2, 0.5]])
    assert blocked(*pipe[0])
    assert not blocked(*pipe[1])
    assert not blocked(np.array([0.706, 0.0, 0.1]), np.array([0.706, 0.1, 0.1]))  # the bin board comes out
    assert "0D-4D" not in [t.label for t in check_tapes(sections, (), blocked).over_all]


# labels


@pytest.mark.parametrize("name", [name for name in SURVEYS if not SURVEYS[name].mirrored])
def test_a_survey_takes_every_label(name: str, tmp_path: Path) -> None:
    """The sheet copies straight into the file: each label stands under [check], and reads back as the same corners."""
    survey = SURVEYS[name]
    _, tapes = chosen(survey)
    each = [t for one in tapes.across for t in (*one.tapes, *one.girths)]
    each += [t for bay in tapes.along for t in bay] + list(tapes.over_all) + list(tapes.twin)
    each = list(dict.fromkeys(each))
    assert survey.source is not None
    folder = Path(survey.source.file).parent
    for one in folder.iterdir():
        (tmp_path / one.name).write_bytes(one.read_bytes())
    file = tmp_path / Path(survey.source.file).name
    text = file.read_text(encoding="utf-8")
    head, _, rest = text.partition("\n[check]")
    after = rest.partition("\n[")[2]
    text = head + ("\n[" + after if after else "")
    lines = "".join(f'"{tape.label}" = "500 mm"\n' for tape in each)
    file.write_text(text + "\n[check]\n" + lines, encoding="utf-8")
    (tmp_path / "boat.toml").unlink()
    if name == "cockpit locker, port":  # a length that the boat lends
        file.write_text(file.read_text(encoding="utf-8").replace('"=post"', "70"), encoding="utf-8")
    read = read_survey(file).compartments[0]
    assert [Tape(check.corners) for check in read.checks] == each


def test_names_that_no_label_can_tell_are_left_out() -> None:
    one = Section("1", 0.0, ("A", "B-C", "1D", "E"), ((0, 0, 0), (0, 1, 0), (0, 1, 1), (0, 0, 1)))
    other = Section("11", 1.0, ("D", "A", "E", "F"), ((1, 0, 0), (1, 1, 0), (1, 1, 1), (1, 0, 1)))
    named = nameable([one, other])
    assert ("1", "B-C") not in named
    assert ("1", "1D") not in named  # "11D" is station 11's D too
    assert ("11", "D") not in named
    assert ("1", "A") in named


def test_twenty_offsets_at_twelve_stations_take_seconds() -> None:
    turns = np.linspace(0, 2 * np.pi, 20, endpoint=False)
    marks = tuple(f"p {k}" for k in range(20))
    sections = [
        Section(str(k), k * 0.2, marks, tuple((k * 0.2, float(np.cos(t)), float(np.sin(t))) for t in turns))
        for k in range(12)
    ]
    start = time.perf_counter()
    tapes = check_tapes(sections)
    assert time.perf_counter() - start < 20
    assert all(20 <= len(one.tapes) <= 24 for one in tapes.across)
