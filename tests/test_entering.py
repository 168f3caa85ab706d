"""The survey walk: what is asked, what an answer writes, and that no order of answers and stops makes another file."""

import math
import tomllib
from collections.abc import Iterator, Sequence
from contextlib import suppress
from importlib.resources import files
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tapeloft.model.entering.keeping import ChangedMeanwhile, Kept, opened, written
from tapeloft.model.entering.questions import END, questions
from tapeloft.model.entering.splicing import Page, begun, page_of, put
from tapeloft.model.entering.tapes import off
from tapeloft.model.entering.typed import toml_text
from tapeloft.model.entering.walk import Walk, asked, numbered, progress, told
from tapeloft.model.errors import FileError, SurveyError
from tapeloft.model.measuring.filled import form_of, sections_planned
from tapeloft.model.survey.boat import examined, read_survey
from tapeloft.model.survey.copied import Shared, transcribed
from tapeloft.model.survey.sheet import Accuracy, Craft, Datum, Space
from tapeloft.model.survey.station import Corner, Station
from tapeloft.model.survey.survey import Check, Survey
from tapeloft.model.units import Misread

DEMO = files("tapeloft.shapes").joinpath("demo")
BLANK = files("tapeloft.model.entering").joinpath("blank.toml").read_text(encoding="utf-8")
TODAY = "2026-05-31"
HEAD = ["locker", "mm", "general", "", "ashore", "", "", "after bulkhead", "", "string", "sole"]
SMALL = [
    *HEAD, "port", "A B C", "sole", "", "deck", "0", "800", "",
    "500", "0", "900", "0", "1100", "700", "500", "0", "950", "0", "1150", "710",
    "400", "", "no more",
    "post", "post", "400", "700", "", "60", "n", "",
    "lid", "top", "400", "700", "300, 200", "", "50", "", "", "", "",
    "look out for the cable",
]  # fmt: skip
"""A locker of two stations and three letters, every kind of answer in it."""


def begin(text: str = BLANK) -> Walk:
    return Walk(page_of("locker.toml", text), today=TODAY)


def walked(walk: Walk, lines: Sequence[str]) -> Walk:
    for line in lines:
        walk = told(walk, line).walk
    return walk


def text_of(walk: Walk) -> str:
    return walk.page.paper.text


def until(question: str, lines: Sequence[str] = SMALL, text: str = BLANK) -> Walk:
    """Return the walk when first it asks what begins so."""
    walk = begin(text)
    for line in lines:
        if asked(walk).asks.startswith(question):
            return walk
        walk = told(walk, line).walk
    assert asked(walk).asks.startswith(question)
    return walk


# What is asked, in which order


def test_the_order_is_that_of_the_paper() -> None:
    walk, groups = begin(), list[str]()
    for line in SMALL:
        groups += [] if groups[-1:] == [asked(walk).group] else [asked(walk).group]
        walk = told(walk, line).walk
    assert groups[:5] == ["the sheet", "the letters", "the stations", "station 0, at 0", "station 1, at 800"]
    assert groups[5:] == [
        "check tapes", "obstructions", "obstruction post", "obstructions",
        "openings", "opening lid", "openings", "drains", "remarks",
    ]  # fmt: skip
    assert asked(walk).place == END


def test_prompts_are_the_trades_own() -> None:
    lines = [*HEAD, "both", "Ap Bp C Bs As", "", "", "", "0", "800", ""]
    walk, prompts = walked(begin(), lines), list[str]()
    for line in ["402", "0", "655", "318", "0", "948"]:
        prompts.append(asked(walk).asks)
        walk = told(walk, line).walk
    assert prompts == [
        "station 0, A port, half-breadth", "station 0, A port, height",
        "station 0, B port, half-breadth", "station 0, B port, height",
        "station 0, C, half-breadth", "station 0, C, height",
    ]  # fmt: skip
    assert progress(walk) == (6, 20)


def test_walking_the_demo_locker_gives_the_demo_locker(tmp_path: Path) -> None:
    """The survey as typed by hand is the reference: the same sections, tapes and things come of the same readings."""
    typed = tomllib.loads(DEMO.joinpath("sail-locker.toml").read_text(encoding="utf-8"))
    lines = ["sail locker", "mm", "wet", "2026-04-18", "", "", "", "", "", "", "", "both", "Ap Bp Cp D Cs Bs As"]
    lines += ["sole", "chine", "deck edge", "middle", *(str(one["at"]) for one in typed["station"].values()), ""]
    for one in typed["station"].values():
        for mark in typed["marks"]["order"]:
            lines += [", ".join(map(str, one[mark]))] if len(one[mark]) == 3 else [str(part) for part in one[mark]]
    for label, length in typed["check"].items():
        lines += [f"{label} {length}", *([""] if label == "0Cs-1Ap" else [])]  # 20 mm off its corners: told, and kept
    lines += ["no more", "chain pipe", "post", "1120", "0", "bottom, top", "114", "n"]
    lines += ["sail bin board", "panel", "700 712", "", "bottom to 400", "y", ""]
    lines += ["foredeck hatch", "top", "500", "0", "500, 500", "70", "90", "forward", "175", "", "", ""]
    walk = walked(begin(), lines)
    assert asked(walk).place == END
    file = tmp_path / "sail-locker.toml"
    file.write_text(text_of(walk), encoding="utf-8")
    (mine,) = read_survey(file).compartments
    (theirs,) = read_survey(str(DEMO.joinpath("sail-locker.toml"))).compartments
    assert mine.stations == theirs.stations
    assert mine.checks == theirs.checks
    assert mine.obstructions == theirs.obstructions
    assert mine.openings == theirs.openings


def test_the_file_of_a_whole_walk_is_read_without_a_problem(tmp_path: Path) -> None:
    file = tmp_path / "locker.toml"
    file.write_text(text_of(walked(begin(), SMALL)), encoding="utf-8")
    found = examined(file)
    assert not found.problems
    assert found.boat.compartments[0].space.notes == "look out for the cable"
    assert "= ?" not in text_of(walked(begin(), SMALL)).split("version = 1")[1]


# Readings stay as they were typed


@pytest.mark.parametrize(
    ("typed", "there"),
    [
        ("18 3/8 in", '"18 3/8 in"'), ("1234.50", "1234.50"), ("46.5 cm", '"46.5 cm"'), ("4-11-3+", '"4-11-3+"'),
        ("4' 11 3/8\"", '"4\' 11 3/8\\""'), ("0640", '"0640"'), ("=step", '"=step"'), ("p 402", '"p 402"'),
    ],
)  # fmt: skip
def test_a_reading_is_written_letter_for_letter(typed: str, there: str) -> None:
    walk = until("station 0, A, half-breadth", text=BLANK + "\n[parameter]\nstep = 500\n")
    after = told(walk, typed).walk
    assert f"\nA = [{there}]\n" in text_of(after)


def test_feet_and_inches() -> None:
    lines = [*HEAD, "port", "A B C", "", "", "", "0-0-0", "2-7-4", ""]
    lines[1] = "ft-in-8"
    lines += ["1-7-5+, 0", "2-11-0", "0", "3-7-2 2-3-4", "1-7-5", "0-0-0", "3-1-3", "0", "3-9-2", "2-4-0"]
    walk = walked(begin(), lines)
    assert 'A = ["1-7-5+", 0]\nB = ["2-11-0", 0]\nC = ["3-7-2", "2-3-4"]\n' in text_of(walk)
    assert progress(walk) == (12, 12)


@pytest.mark.parametrize(
    "line",
    ["12x", "402..5", "1 200", "402,318", "0,50", "nan", "1e3", "-402", "402, 0, 1, 2", "20 km", "\x00\x07", "�"],
)
def test_what_is_no_reading_is_said_in_one_line_and_asked_again(line: str) -> None:
    walk = until("station 0, A, half-breadth")
    got = told(walk, line)
    assert got.walk == walk
    assert len(got.says) == 1
    assert "\n" not in got.says[0]


def test_two_readings_in_a_line_are_the_same_as_one_after_the_other() -> None:
    both = walked(until("station 0, A, half-breadth"), ["500 0"])
    assert both.page.paper.text == text_of(walked(until("station 0, A, half-breadth"), ["500", "0"]))


def test_a_corner_that_is_not_there_is_remarked() -> None:
    walk = walked(until("station 1, B, half-breadth"), ["none"])
    assert "\n# B = none\n" in text_of(walk)
    assert asked(walk).place == ("station", "1", "C", 0)
    assert progress(walk) == (8, 10)


def test_stations_that_lean_step_or_close_to_a_point() -> None:
    lines = [*HEAD, "port", "A B C", "", "", "", "0 leans", "800", "800 step", "1600 point", ""]
    walk = walked(begin(), [*lines, "60, 700"])
    assert "at = 0\nrake = [60, 700]\n" in text_of(walk)
    assert "at = 800\nstep = true\n" in text_of(walk)
    assert [one.place for one in questions(walk.page, Shared()) if one.place[:2] == ("station", "3")][1:] == [
        ("station", "3", "point", 0), ("station", "3", "point", 1)
    ]  # fmt: skip


@pytest.mark.parametrize("line", ["700", "800", "900 step", "-1", "x"])
def test_a_station_out_of_order_is_refused(line: str) -> None:
    walk = until("station 2, distance")
    assert told(walk, line).walk == walk


@pytest.mark.parametrize("line", ["A B", "A B A", "A B 3", "A B at", "A-1 B C", "A B " + "C" * 10_000])
def test_letters_that_cannot_be_called_out_are_refused(line: str) -> None:
    walk = until("letters")
    assert told(walk, line).walk == walk


def test_letters_already_read_cannot_be_dropped() -> None:
    walk = walked(until("station 0, B"), ["again order"])
    assert told(walk, "B C D").walk == walk
    more = walked(walk, ["A B C D"])
    assert ("station", "0", "D", 0) in [one.place for one in questions(more.page, Shared())]


# What looks wrong is pointed at at once


def test_a_reading_ten_times_too_small_is_pointed_at_and_kept_on_enter() -> None:
    walk = until("station 1, B, half-breadth")
    got = told(walk, "95")
    assert "950 mm: a figure too few" in got.says[0]
    assert asked(got.walk).place == ("station", "1", "B", 0)
    assert "B = [95]" in text_of(got.walk)  # it is written all the same
    assert asked(told(got.walk, "").walk).place == ("station", "1", "B", 1)
    assert text_of(told(got.walk, "950").walk) == text_of(told(walk, "950").walk)


@pytest.mark.parametrize("name", ["sail-locker.toml", "cockpit-locker.toml", "lazarette.toml"])
def test_readings_of_the_demo_boat_raise_no_doubts(name: str) -> None:
    """Her readings are good by what `check` says of them, so none may be pointed at while they are given."""
    text = DEMO.joinpath(name).read_text(encoding="utf-8")
    marks = tomllib.loads(text)["marks"]["order"]
    lines = [line for line in text.splitlines() if line.partition(" = [")[0].strip() not in marks]
    typed = [one[mark] for one in tomllib.loads(text)["station"].values() for mark in marks]
    walk = begin("\n".join(lines) + "\n")
    for corner in typed:
        for line in [", ".join(map(str, corner))] if len(corner) == 3 else map(str, corner):
            got = told(walk, line)
            assert not [said for said in got.says if "look" in said or "lies" in said]
            walk = got.walk
    assert asked(walk).place == END


def test_a_tape_off_its_corners_is_told_with_the_difference() -> None:
    """A to C at station 0 is √(600² + 700²) = 921.95 mm; 950 is 28 mm more."""
    walk = walked(until("tape"), ["no more", "b"])
    got = told(walk, "0A-0C 950")
    assert got.says[0].startswith("taped 950, but its corners are 922 apart: 28 more, where ")
    walk = walked(got.walk, ["925"])
    assert asked(walk).place != ("check", "0A-0C")
    assert "0A-0C = 925\n" in text_of(walk)


def test_a_tape_left_wrong_is_pointed_at_when_its_corner_is_read_again() -> None:
    """A to C at station 0 is 922 mm: a tape of 950 that was kept is wrong still where C is read as before."""
    walk = walked(until("tape"), ["no more", "b", "0A-0C 950", "again 0C"])
    assert told(walk, "1100").says == ()  # its height is still to come
    for rest in (["1100", "700"], ["", ""], ["1100, 700"], ["1100", "703"]):
        before, last = walked(walk, rest[:-1]), rest[-1]
        [said] = told(before, last).says[-1:]
        assert said.startswith("tape 0A-0C: taped 950, but its corners are 92")
        assert said.endswith("read it again with `again 0A-0C`")
    assert not any("tape" in said for said in told(walked(walk, ["1120"]), "723").says)  # √(620² + 723²) = 952


BOTH_SIDES = [*HEAD, "both", "Ap Bp C Bs As", "", "", "", "0", "800", "",
              "402", "0", "655", "730", "0", "948", "650"]  # fmt: skip
"""As far as the height of B to starboard at the first station."""


def test_a_height_far_from_that_on_the_other_side_is_asked_about_at_once() -> None:
    walk = walked(begin(), BOTH_SIDES)
    assert asked(walk).asks == "station 0, B starboard, height"
    got = told(walk, "1730")
    assert got.says[0] == "Bs is 1730 mm high, and B port at this station 730 mm: is it so?"
    assert asked(got.walk).place == ("station", "0", "Bs", 1)
    assert asked(told(got.walk, "").walk).place == ("station", "0", "As", 0)
    assert told(walk, "825").says == told(walk, "635").says == ()


def test_sides_that_differ_alike_at_every_station_are_asked_about_once() -> None:
    walk = walked(begin(), [*BOTH_SIDES, "1130", "", "400", "0", "402", "0", "655", "730", "0", "948", "650"])
    assert asked(walk).asks == "station 1, B starboard, height"
    assert not any("is it so" in said for said in told(walk, "1140").says)
    assert any("is it so" in said for said in told(walk, "1730").says)


def test_what_the_accuracies_allow_is_the_law_of_propagation() -> None:
    """Legs of 3 and 4 m, σ of 3 and 4 mm: var = 2·(0.6·3)² + 2·(0.8·4)² + 5² = 51.96 mm², thrice its root 21.6 mm."""
    accuracy = Accuracy(half_breadth=0.003, height=0.004, check=0.005)
    corners = (Corner("A", (0, 0, 0)), Corner("B", (0, 3, 0)), Corner("C", (0, 3, 4)))
    survey = Survey("x", Space("x"), Datum(), (Station("0", 0.0, corners),), accuracy=accuracy)
    allowed = 3 * math.sqrt(2 * 1.8**2 + 2 * 3.2**2 + 25) / 1000
    ends = (("0", "A"), ("0", "C"))
    assert not off(survey, Check(ends, 5 + allowed - 1e-6))
    assert not off(survey, Check(ends, 5 - allowed + 1e-6))
    assert off(survey, Check(ends, 5 + allowed + 1e-6)) == (
        "taped 5022, but its corners are 5000 apart: 22 more, where 22 may be"
    )


@pytest.mark.parametrize(
    ("letters", "stations"), [("A B C D", 3), ("A B C D E", 2), ("Ap Bp C Bs As", 2), ("A B C", 4)]
)
def test_the_walk_asks_for_the_tapes_of_the_sheet_on_paper(letters: str, stations: int) -> None:
    """The paper sheet of the same letters and stations, made before anything is read, is the reference."""
    side = "both" if "p" in letters else "port"
    places = [str(600 * k) for k in range(stations)]
    walk = walked(begin(), [*HEAD, side, letters, *[""] * len({one[0] for one in letters.split()}), *places, ""])
    plan = transcribed(walk.page.paper, Shared()).plan
    assert plan is not None
    sheet = form_of(plan.survey, sections_planned(plan), Craft())
    labels = [
        one.place[1] for one in walk.questions if one.place[0] == "check" and one.asks.startswith(("tape ", "girth "))
    ]
    assert labels == [label for label, _ in sheet.tapes]


# Backing up, reading again, stopping and going on


ACTIONS = ["answer"] * 6 + ["back", "list", "help", "junk", "resume", "again", "enter"]


def plain_answers() -> dict[tuple[object, ...], str]:
    """Return the small locker's answers by what is asked."""
    walk, answers = begin(), {}
    for line in SMALL:
        answers[_key(walk)] = line
        walk = told(walk, line).walk
    return answers


def _key(walk: Walk) -> tuple[object, ...]:
    listed = walk.page.value(asked(walk).place[:1])
    return (asked(walk).place, len(listed) if isinstance(listed, list | dict) and len(asked(walk).place) == 1 else 0)


ANSWERS, PLAIN = plain_answers(), text_of(walked(begin(), SMALL))


@settings(max_examples=settings().max_examples // 4)
@given(st.lists(st.sampled_from(ACTIONS), max_size=80), st.randoms(use_true_random=False))
def test_no_order_of_answers_backs_stops_and_resumes_makes_another_file(actions: list[str], chance) -> None:  # type: ignore[no-untyped-def]
    walk = begin()
    for action in actions:
        walk = _done(walk, action, chance)
    walk = begin(text_of(walk))
    for _ in range(len(SMALL) + 1):
        walk = told(walk, ANSWERS.get(_key(walk), "")).walk
    assert text_of(walk) == PLAIN


def _done(walk: Walk, action: str, chance) -> Walk:  # type: ignore[no-untyped-def]
    if action == "resume":
        return begin(text_of(walk))
    if action == "again":
        return told(walk, chance.choice(["again 1B", "again 0", "again side", "again post", "again nothing"])).walk
    if action == "enter" and (walk.at is None or asked(walk).place == END):
        return walk
    answer = ANSWERS.get(_key(walk), "")
    lines = {"answer": answer, "enter": "", "back": "b", "list": "l", "help": "?", "junk": "\x07 � ="}
    return told(walk, lines[action]).walk


def test_back_goes_one_question_at_a_time_to_the_first() -> None:
    walk = until("station 0, B, half-breadth")
    seen = []
    while told(walk, "b").walk != walk:
        walk = told(walk, "b").walk
        seen.append(asked(walk).asks)
    assert seen[:2] == ["station 0, A, height", "station 0, A, half-breadth"]
    assert seen[-1] == "compartment"
    assert told(walk, "b").says == ("this is the first question",)


def test_a_corner_read_again_by_its_name_goes_back_to_where_it_was() -> None:
    walk = walked(until("station 1, B, half-breadth"), ["0B"])
    assert asked(walk).place == ("station", "0", "B", 0)
    walk = walked(walk, ["901", ""])
    assert asked(walk).place == ("station", "1", "B", 0)
    assert "B = [901, 0]" in text_of(walk)


# A file that a person wrote


HAND = """\
# My own remarks.   Odd   spacing, kept.
format = "tapeloft-survey"
version = 1
unit = "in"   # feet would do too

[survey]
compartment = "locker"

[marks]
side   = "starboard"
order = [ "A",
          "B",   # at the hull
          "C" ]

[station.0]
at = 0
A = ["18 3/8", 0]     # read twice
C = [ 40,  24 ]

# half way
[station."1a"]
at = 30
A = [18]   # height to come
"""


def test_a_hand_written_file_is_asked_only_for_what_is_missing_and_keeps_all() -> None:
    walk, asks = begin(HAND), list[str]()
    for line in ["30", "0", "0", "32", "0", "42", "25"]:
        asks.append(asked(walk).asks)
        walk = told(walk, line).walk
    assert asks == [
        "station 0, B, half-breadth", "station 0, B, height", "station 1a, A, height",
        "station 1a, B, half-breadth", "station 1a, B, height",
        "station 1a, C, half-breadth", "station 1a, C, height",
    ]  # fmt: skip
    assert asked(walk).place == END
    kept = HAND.replace("A = [18] ", "A = [18, 0] ").splitlines()
    lines = iter(text_of(walk).splitlines())
    assert all(line in lines for line in kept)  # each in its turn
    assert sorted(text_of(walk).splitlines()) == sorted([*kept, "B = [30, 0]", "B = [32, 0]", "C = [42, 25]"])


def test_lines_end_as_they_did_and_the_mark_of_utf8_stays(tmp_path: Path) -> None:
    file = tmp_path / "locker.toml"
    file.write_bytes(b"\xef\xbb\xbf" + HAND.replace("\n", "\r\n").encode())
    kept, page = opened(file)
    walk = walked(Walk(page), ["30", "0", "0"])
    written(kept, walk.page)
    data = file.read_bytes()
    assert data.startswith(b"\xef\xbb\xbf# My own")
    assert data.count(b"\n") == data.count(b"\r\n") == HAND.count("\n") + 1
    assert b"B = [30, 0]\r\n" in data


@pytest.mark.parametrize(
    "text",
    [
        'survey = { compartment = "x" }\nstation = { 0 = { at = 0, A = [1, 2] } }\nmarks = { order = ["A", "B", "C"] }',
        'survey.compartment = "x"\nmarks.order = ["A", "B", "C"]\nstation.0.at = 0\nstation.0.A = [1, 2]',
    ],
)
def test_what_cannot_be_added_to_without_rewriting_is_refused(text: str) -> None:
    walk = begin('format = "tapeloft-survey"\nversion = 1\nunit = "mm"\n' + text)
    with pytest.raises(SurveyError, match="by hand"):
        walked(walk, ["800", "", "500", "0"])


@given(
    st.sampled_from([name.name for name in DEMO.iterdir() if name.name.endswith(".toml")]),
    st.sampled_from([("survey", "notes"), ("datum", "levelled"), ("new", "key"), ("check", "0A-0B")]),
)
def test_what_is_put_in_alters_nothing_else(name: str, place: tuple[str, str]) -> None:
    page = page_of(name, DEMO.joinpath(name).read_text(encoding="utf-8"))
    new = put(page, place, '"said"')
    there, here = page.paper.text.splitlines(), new.paper.text.splitlines()
    gone = [line for line in there if line not in here]
    assert len(gone) <= 1
    assert tomllib.loads(new.paper.text)[place[0]][place[1]] == "said"


def test_a_new_table_goes_behind_those_of_its_kind() -> None:
    page = begun(page_of("x", HAND), "station", ["[station.2]", "at = 60"], ("station", "0"))
    assert list(page.paper.data["station"]) == ["0", "2", "1a"]


# Hostile answers and files


SPOILED = ["5", '"x"', "[]", "[1]", "{}", "true", "[[1]]", "1e9", "nan", "{ a = 1 }"]
LINES = ["402", "402, 0", "b", "", "none", "again 0", "again 1B", "drop 1Bp", "drop chain pipe", "obstruction", "x",
         "post", "top", "A B C D", "0A-0C 500", "no more", "station", "1200 point", "l"]  # fmt: skip


@settings(max_examples=settings().max_examples * 2)
@given(st.data())
def test_a_spoiled_file_is_gone_on_with_or_refused_in_words(data: st.DataObject) -> None:
    names = ["sail-locker.toml", "cockpit-locker.toml", "lazarette.toml", "gas-locker.toml", "berth-locker.toml"]
    lines = DEMO.joinpath(data.draw(st.sampled_from(names))).read_text(encoding="utf-8").splitlines()
    for _ in range(data.draw(st.integers(1, 4))):
        number = data.draw(st.integers(0, len(lines) - 1))
        key, equals, _ = lines[number].partition("=")
        lines[number] = f"{key}= {data.draw(st.sampled_from(SPOILED))}" if equals else ""
    try:
        walk = begin("\n".join(lines))
    except tomllib.TOMLDecodeError:
        return
    for line in data.draw(st.lists(st.sampled_from(LINES), max_size=6)):
        with suppress(SurveyError):
            walk = told(walk, line).walk
        tomllib.loads(text_of(walk))


@given(st.text(max_size=300))
def test_any_text_at_any_question_is_taken_or_refused_in_words(text: str) -> None:
    for question in STOPS:
        got = told(question, text)
        tomllib.loads(text_of(got.walk))
        assert all(isinstance(one, str) and len(one) < 1000 for one in got.says)


STOPS = [begin()] + [
    until(asks) for asks in ("date", "letters", "station 0, distance", "station 0, A, half-breadth", "tape", "what st",
                             "shape", "distance of its", "clear", "drain", "remarks", "anything")
]  # fmt: skip


@pytest.mark.parametrize("walk", STOPS, ids=lambda walk: asked(walk).asks)
def test_ten_thousand_letters_are_too_many(walk: Walk) -> None:
    for line in ("x" * 10_000, "9" * 10_000, "1 " * 5_000, "\x1b[2J" * 2_500):
        got = told(walk, line)
        assert got.walk == walk
        assert got.says
        assert all(len(one) < 500 for one in got.says)


def test_a_file_that_another_hand_changed_is_not_written_over(tmp_path: Path) -> None:
    file = tmp_path / "locker.toml"
    kept, page = opened(file)
    walk = walked(Walk(page), ["locker"])
    kept = written(kept, walk.page)
    file.write_text("# mine\n" + file.read_text())
    with pytest.raises(ChangedMeanwhile, match="another hand"):
        written(kept, walked(walk, ["mm"]).page)
    assert file.read_text().startswith("# mine\n")
    file.unlink()
    with pytest.raises(ChangedMeanwhile, match="taken away"):
        written(kept, walked(walk, ["mm"]).page)
    assert not file.exists()


def test_a_file_that_appears_meanwhile_is_not_written_over(tmp_path: Path) -> None:
    file = tmp_path / "locker.toml"
    kept, page = opened(file)
    file.write_text("theirs")
    with pytest.raises(FileError):
        written(kept, page)
    assert file.read_text() == "theirs"


@pytest.mark.parametrize(
    "data", [b"", b"\xff\xfe\x00", b"hello", b'format = "other"\n', b"[station.0\n", bytes(range(256))]
)
def test_a_file_that_is_no_survey_is_refused(tmp_path: Path, data: bytes) -> None:
    file = tmp_path / "locker.toml"
    file.write_bytes(data)
    with pytest.raises((SurveyError, FileError)):
        opened(file)
    assert file.read_bytes() == data


def test_every_answer_is_on_the_disk_before_the_next_question(tmp_path: Path) -> None:
    """As if the machine died after each answer: all that goes on is what lies in the file."""
    file = tmp_path / "locker.toml"
    for line in SMALL:
        kept, page = opened(file)
        got = told(Walk(page, today=TODAY), line)
        assert isinstance(written(kept, got.walk.page), Kept)
    assert file.read_text(encoding="utf-8") == PLAIN
    assert [one.name for one in tmp_path.iterdir()] == ["locker.toml"]


@pytest.mark.parametrize(
    ("hint", "line"), [(bool, "perhaps"), (tuple[float, float], "12 450"), (tuple[float, float], "1, 2, 3"), (str, "�")]
)
def test_what_cannot_be_meant_is_misread(hint: object, line: str) -> None:
    with pytest.raises(Misread):
        toml_text(hint, line, "mm")


def _pages() -> Iterator[Page]:
    yield from (page_of(one.name, one.read_text(encoding="utf-8")) for one in DEMO.iterdir() if ".toml" in one.name)


def test_the_demo_boats_lockers_want_nothing() -> None:
    for page in _pages():
        if page.value(("format",)) == "tapeloft-survey":
            assert asked(Walk(page)).place == END


# Names: what is read again, and what is dropped


@pytest.mark.parametrize(
    ("name", "asks"),
    [
        ("1b", "station 1, B, half-breadth"), ("1", "station 1, distance"), ("0A-0B", "tape 0A-0B"),
        ("unit", "unit (mm"), ("A", "A is"), ("POST", "called"), ("lid", "called"), ("use", "use"),
    ],
)  # fmt: skip
def test_again_asks_for_what_is_called_so(name: str, asks: str) -> None:
    walk = walked(begin(), SMALL)
    assert asked(told(walk, f"again {name}").walk).asks.startswith(asks)
    assert asked(told(walk, "again 9Z").walk).place == END


def test_a_corner_left_out_by_mistake_is_asked_again_by_its_name() -> None:
    walk = walked(until("station 1, B, half-breadth"), ["none", "again 1B", "950", "0"])
    assert text_of(walk) == text_of(walked(until("station 1, B, half-breadth"), ["950", "0"]))


@pytest.mark.parametrize(
    ("name", "gone"),
    [("0A-0B", ("check", "0A-0B")), ("1B", ("station", "1", "B")), ("1", ("station", "1")),
     ("post", ("obstruction", 0)), ("lid", ("opening", 0))],
)  # fmt: skip
def test_what_is_dropped_stands_behind_a_hash_and_says_nothing(name: str, gone: tuple[str | int, ...]) -> None:
    whole = walked(begin(), SMALL)
    assert whole.page.value(gone) is not None
    walk = told(whole, f"drop {name}").walk
    assert walk.page.value(gone) is None
    assert [line.removeprefix("# ") for line in text_of(walk).splitlines()] == [
        line.removeprefix("# ") for line in text_of(whole).splitlines()
    ] or "# # " in text_of(walk)
    others = {key: value for key, value in whole.page.paper.data.items() if key != gone[0]}
    assert {key: value for key, value in walk.page.paper.data.items() if key != gone[0]} == others
    assert told(walk, "drop nothing").walk == walk


def test_a_word_that_was_almost_right_is_asked_back_in_one_sentence() -> None:
    [said] = told(until("sides between"), "strait").says
    assert said == '"strait" is none of straight, fair; did you mean "straight"? write one of them'


def test_two_readings_where_the_height_is_asked_are_refused() -> None:
    walk = until("station 0, A, height")
    assert told(walk, "402 318").walk == walk
    assert told(walk, "402, 318").walk == walk


def test_a_folder_that_nobody_may_write_in_is_told_of_before_anything_is_asked(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("os.access", lambda *_: False)
    with pytest.raises(FileError, match="no permission to write here"):
        opened(tmp_path / "locker.toml")


# What a person stumbled over, in a locker


def test_a_reading_has_the_same_number_whenever_it_is_asked_for() -> None:
    walk = until("station 1, B, half-breadth")
    number, of = numbered(walk, asked(walk))
    assert (number, of) == (9, 12)
    back = told(told(walk, "b").walk, "b").walk
    assert asked(back).asks == "station 1, A, half-breadth"
    assert numbered(back, asked(back)) == (7, 12)
    distance = told(walk, "again 1").walk
    assert asked(distance).asks == "station 1, distance"
    assert numbered(distance, asked(distance)) == (0, 12)


def test_a_number_that_cannot_be_is_no_name_of_a_station() -> None:
    walk = until("tape ")
    for line in ("0", "1"):
        assert asked(told(walk, line).walk).place == asked(walk).place
    assert "not more than nothing" in " ".join(told(walk, "0").says) or told(walk, "0").walk == walk


def test_a_station_is_read_again_whole_and_left_by_a_word() -> None:
    walk = walked(begin(), SMALL)
    heard = []
    while asked(walk).place != END or not heard:
        walk = told(walk, "" if heard else "again 1").walk
        heard.append(asked(walk).asks)
    assert heard[0] == "station 1, distance"
    assert [one for one in heard if "half-breadth" in one or "height" in one] == [
        f"station 1, {mark}, {part}" for mark in "ABC" for part in ("half-breadth", "height")
    ]
    again = walked(walk, ["again 1", ""])
    assert asked(again).asks == "station 1, A, half-breadth"
    assert asked(told(again, "on").walk).place == END
    assert told(until("A is"), "on").walk == until("A is")


@pytest.mark.parametrize("line", ["500 x 400", "500x400", "50 cm × 400", "500, 400", "500 400"])
def test_a_size_is_written_as_it_is_said(line: str) -> None:
    walk = walked(begin(), [*SMALL, "opening", "hatch", "top", "300", "p 600"])
    assert asked(walk).asks.startswith("clear size")
    assert told(walk, line).walk.page.value(("opening", 1, "clear")) in ([500, 400], ["50 cm", 400])


def test_what_makes_no_body_is_told_of_when_enter_ends_it() -> None:
    walk = walked(begin(), [*SMALL, "obstruction", "pipe", "post", "300", "p 600"])
    assert asked(walk).asks == "height, from and to"
    assert told(walk, "5 cm").walk == walk
    assert "2 are needed" in told(walk, "5 cm").says[0]
    walk = walked(walk, ["", "0"])
    assert asked(walk).asks.startswith("can it be taken out")
    assert told(walk, "").says


def test_what_is_needed_says_how_to_be_without_it() -> None:
    walk = walked(begin(), [*SMALL, "opening", "mast step"])
    assert asked(walk).asks == "in which wall (top, bottom, port, starboard, forward, aft)"
    assert "`drop mast step` takes it out" in told(walk, "").says[0]
    assert told(walk, "drop mast step").walk.page.value(("opening", 1)) is None
