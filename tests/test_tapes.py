"""Tapes held against each other: simulated lockers whose truth is known, with slips made on purpose.

Sizes of slips, how many checks are enough, and sigmas are common practice, no source, unless said otherwise.
"""

import math
from collections.abc import Callable
from dataclasses import fields, replace
from functools import partial
from importlib.resources import files

import numpy as np
import pytest
from scipy.stats import chi2, ncx2

from tapeloft.cli.agreeing import lines
from tapeloft.model import read_survey
from tapeloft.model.compartment import build
from tapeloft.model.survey.sheet import Accuracy, Datum, Space
from tapeloft.model.survey.station import Corner, Station
from tapeloft.model.survey.survey import Check, Survey
from tapeloft.model.tapes.adjusting import Adjustment, adjusted
from tapeloft.model.tapes.checked import checked
from tapeloft.model.tapes.likely import likely
from tapeloft.model.tapes.planning import planned
from tapeloft.model.tapes.readings import TapeNet, moved, net_of
from tapeloft.model.tapes.settling import settled
from tapeloft.model.tapes.sister import BUILDING, held_against
from tapeloft.model.tapes.suspects import RARE_READING, findings, too_far
from tapeloft.model.tapes.tails import two_sided

Rng = np.random.Generator
LETTERS = "ABCDEFGHIJ"


def truth(rng: Rng, corners: int, stations: int) -> np.ndarray:
    """Return where the corners of a locker along a hull are, (stations, corners, 3), m, with a little bend."""
    turn = np.linspace(0, 2 * np.pi, corners, endpoint=False) + rng.uniform(-0.15, 0.15, corners) - 0.75 * np.pi
    along = np.cumsum(np.r_[0, rng.uniform(0.3, 0.6, stations - 1)])
    share = along / along[-1]
    ends, bend = rng.normal(0, 0.06, (2, corners)), rng.normal(0, 0.02, (2, corners))
    size = rng.uniform(0.35, 0.6) * (1 - 0.15 * share)[:, None]
    y = 1.1 + size * np.cos(turn) + share[:, None] * ends[0] + share[:, None] ** 2 * bend[0]
    z = 0.6 + 0.8 * size * np.sin(turn) + share[:, None] * ends[1] + share[:, None] ** 2 * bend[1]
    return np.stack([np.broadcast_to(along[:, None], y.shape), y, z], axis=2)


def taped(rng: Rng, at: np.ndarray, touched: int, long: bool = True) -> Survey:
    """Return a survey of a locker, read to the millimetre with the default accuracies.

    touched: by how many check tapes of its section each letter is; long: with two crossing tapes a bay.
    """
    stations, corners, _ = at.shape
    half, accuracy = corners // 2, Accuracy()
    apart = 2 if corners == 6 else 3
    section = [(k, k + half) for k in range(half)] if touched == 1 else [(k, k + apart) for k in range(corners)]
    ends = [((q, a), (q, b % corners)) for q in range(stations) for a, b in section if touched]
    bays = range(stations - 1 if long else 0)
    ends += [pair for q in bays for pair in (((q, 0), (q + 1, half)), ((q, half), (q + 1, 0)))]
    read = at + rng.normal(0, accuracy.height, at.shape)
    read[..., 0] = (at[:, 0, 0] + np.r_[0, rng.normal(0, accuracy.station, stations - 1)])[:, None]
    read = read.round(3)
    checks = []
    for (q, a), (p, b) in ends:
        sigma = accuracy.check if q == p else accuracy.long_check
        length = round(math.dist(at[q, a], at[p, b]) + rng.normal(0, sigma), 3)
        checks.append(Check(((str(q), LETTERS[a]), (str(p), LETTERS[b])), length))
    sections = [
        Station(str(q), float(read[q, 0, 0]), tuple(Corner(LETTERS[k], tuple(read[q, k])) for k in range(corners)))
        for q in range(stations)
    ]
    return survey_of(sections, checks)


def survey_of(stations: list[Station], checks: list[Check], **more: object) -> Survey:
    return Survey("locker", Space("locker"), Datum(), tuple(stations), checks=tuple(checks), side=1.0, **more)  # type: ignore[arg-type]


def locker(seed: int = 1, corners: int = 6, stations: int = 5, touched: int = 2, long: bool = True) -> Survey:
    rng = np.random.default_rng(seed)
    return taped(rng, truth(rng, corners, stations), touched, long)


def reread(survey: Survey, station: str, marks: str, change: Callable[[float, float], tuple[float, float]]) -> Survey:
    """Return the survey with another half-breadth and height at letters of a station."""

    def corner(one: Corner) -> Corner:
        x, y, z = one.at
        return Corner(one.name, (x, *change(y, z))) if one.name in marks else one

    changed = [replace(s, corners=tuple(map(corner, s.corners))) if s.name == station else s for s in survey.stations]
    return replace(survey, stations=tuple(changed))


def retaped(survey: Survey, change: Callable[[int, float], float]) -> Survey:
    return replace(survey, checks=tuple(replace(c, length=change(k, c.length)) for k, c in enumerate(survey.checks)))


def shifted(survey: Survey, station: str, by: float) -> Survey:
    """Return the survey with a station at another distance."""

    def one(s: Station) -> Station:
        corners = tuple(Corner(c.name, (c.at[0] + by, *c.at[1:])) for c in s.corners)
        return replace(s, x=s.x + by, corners=corners) if s.name == station else s

    return replace(survey, stations=tuple(map(one, survey.stations)))


def solved(survey: Survey) -> tuple[TapeNet, Adjustment]:
    net = net_of(survey)
    return net, adjusted(net.predicted, net.start, net.read, net.sigmas)


def told(survey: Survey) -> list[str]:
    net, found = solved(survey)
    return [one.best.mistake.words for one in findings(net, found)]


# what is read, what is held


def section(name: str, x: float, corners: dict[str, tuple[float, float]], **more: bool) -> Station:
    return Station(name, x, tuple(Corner(mark, (x, y, z)) for mark, (y, z) in corners.items()), **more)


BOTH = {"Ap": (0.4, 0.0), "Bp": (0.6, 0.3), "D": (0.0, 0.9), "Bs": (-0.6, 0.3), "As": (-0.4, 0.0)}


def test_what_a_mark_reads_as_zero_everywhere_is_where_the_datum_is() -> None:
    """Two marks on the sole and one on the centreline: 10 coordinates a station, of which three are held."""
    net = net_of(survey_of([section("0", 0.0, BOTH), section("1", 0.5, BOTH)], []))
    assert (len(net.start), len(net.readings)) == (15, 15)  # seven a station, and the second station's distance
    assert not any(one.value == 0 for one in net.readings)


def test_a_zero_at_one_station_alone_is_a_reading() -> None:
    low = BOTH | {"Bp": (0.6, 0.0)}
    net = net_of(survey_of([section("0", 0.0, BOTH), section("1", 0.5, low)], []))
    assert "height of Bp at station 1" in [one.words for one in net.readings]


def test_a_stem_stays_an_edge_on_the_centreline() -> None:
    """Both sides of a raked stem are read in one place: they stay in one, on the centreline, whatever tapes say."""
    stem = Station("1", 0.5, tuple(Corner(m, (0.5 + z / 4, 0.0, z)) for m, (_, z) in BOTH.items()))
    tapes = [Check((("0", "D"), ("1", "Bp")), 0.84), Check((("0", "D"), ("1", "Bs")), 0.85)]
    survey = survey_of([section("0", 0.0, BOTH), stem], tapes)
    net, found = solved(survey)
    corners = {c.name: c.at for c in moved(survey, net, found.unknowns)[1].corners}
    assert corners["Bp"] == corners["Bs"]
    assert corners["Bp"][1] == 0.0
    assert corners["Bp"][2] != 0.3


def test_a_step_keeps_one_distance() -> None:
    small = {mark: (0.8 * y, 0.8 * z) for mark, (y, z) in BOTH.items()}
    through = [section("0", 0.0, BOTH), section("1", 0.5, BOTH), section("2", 0.5, small, step=True)]
    through.append(section("3", 1.0, small))
    survey = survey_of(through, [Check((("0", "Bp"), ("1", "Bs")), 1.31), Check((("2", "Bp"), ("3", "Bs")), 1.09)])
    net, found = solved(survey)
    after = moved(survey, net, found.unknowns)
    assert after[1].x == after[2].x == after[1].corners[0].at[0] == after[2].corners[0].at[0] != 0.5


def test_a_bulkhead_keeps_its_lean() -> None:
    leaning = Station("1", 0.5, tuple(Corner(m, (0.5 - 0.2 * z, y, z)) for m, (y, z) in BOTH.items()))
    survey = survey_of([section("0", 0.0, BOTH), leaning], [Check((("0", "Ap"), ("1", "As")), 0.95)])
    net, found = solved(survey)
    after = moved(survey, net, found.unknowns)[1]
    assert after.x != 0.5
    assert [c.at[0] - after.x for c in after.corners] == pytest.approx([c.at[0] - 0.5 for c in leaning.corners])


def test_half_breadths_from_a_face_and_distances_aft_are_told_as_on_paper() -> None:
    corners = {"A": (-0.7, 0.1), "B": (-1.2, 0.2), "C": (-1.1, 0.8)}
    survey = survey_of([section("1", -0.9, corners), section("0", 0.0, corners)], [])
    survey = replace(survey, side=-1.0, read_from=-0.6, datum=Datum(x_positive="aft"))
    told_ = {one.words: one.on_paper(one.value) for one in net_of(survey).readings}
    assert told_["distance of station 1"] == pytest.approx(0.9)
    assert told_["half-breadth of B at station 0"] == pytest.approx(0.6)
    back = [one.off_paper(one.on_paper(one.value)) - one.value for one in net_of(survey).readings]
    assert back == pytest.approx([0.0] * len(back), abs=1e-12)


def test_slopes_of_readings_are_those_of_their_values() -> None:
    """Every derivative, girths and long tapes too, held to central differences."""
    survey = locker()
    girth = Check((("1", "B"), ("1", "C"), ("1", "D"), ("1", "B")), 1.9)
    net = net_of(replace(survey, checks=(*survey.checks, girth)))
    slopes = net.predicted(net.start).slopes
    for k in range(len(net.start)):
        step = np.zeros(len(net.start))
        step[k] = 1e-6
        change = (net.values(net.start + step) - net.values(net.start - step)) / 2e-6
        unit = np.zeros(len(net.start))
        unit[k] = 1.0
        assert slopes.times(unit) == pytest.approx(change, abs=1e-7)


# adjusting


def test_adjusted_corners_lie_nearer_the_truth() -> None:
    """Over forty lockers: the middling corner's error is less adjusted than as read, and as the covariance says."""
    before, after, sigmas = [], [], []
    for seed in range(40):
        rng = np.random.default_rng(seed)
        at = truth(rng, 8, 5)
        survey = taped(rng, at, 2)
        net, found = solved(survey)
        spots = net.spots(found.unknowns).reshape(at.shape)
        before.append(((net.spots(net.start).reshape(at.shape) - at) ** 2).sum())
        after.append(((spots - at) ** 2).sum())
        weights = np.zeros((len(net.start), net.columns.size))
        for k, column in enumerate(net.columns.ravel().tolist()):
            weights[column, k] = 1.0 if column >= 0 else 0.0
        sigmas.append(np.trace(found.covariance(weights)))
    assert np.sum(after) < 0.7 * np.sum(before)
    assert np.sum(after) == pytest.approx(np.sum(sigmas), rel=0.15)


def test_chi_square_is_what_it_should_be_where_nothing_is_wrong() -> None:
    """Its mean is the freedom: 60 lockers, so within three parts in a hundred (closed form, 2√(2/Σf))."""
    found = [solved(locker(seed))[1] for seed in range(60)]
    freedom = sum(one.freedom for one in found)
    assert sum(one.chi2 for one in found) == pytest.approx(freedom, rel=3 * math.sqrt(2 / freedom))


# what is built from


def test_without_checks_the_readings_stand() -> None:
    survey = replace(locker(), checks=())
    one = settled(survey)
    assert (one.survey, one.basis) == (survey, "unchecked")
    assert one.words == "built from the readings as taped: no check tapes"


def test_checks_that_agree_move_corners_by_little() -> None:
    survey = locker()
    one = settled(survey)
    assert one.words == f"built from adjusted corners ({len(survey.checks)} check tapes agree)"
    assert one.own is survey
    off = [
        math.dist(a.at, b.at)
        for s, t in zip(survey.stations, one.survey.stations, strict=True)
        for a, b in zip(s.corners, t.corners, strict=True)
    ]
    assert 0 < max(off) < 0.015


def test_checks_that_do_not_agree_move_nothing() -> None:
    survey = reread(locker(), "2", "C", lambda y, z: (y + 0.05, z))
    one = settled(survey)
    assert (one.survey, one.basis) == (survey, "disagreeing")
    assert "the check tapes do not agree, see tapeloft check" in one.words


# what is wrong


def digit(y: float, z: float) -> tuple[float, float]:
    return y, round(z / 10, 3)


SLIPS: list[tuple[str, Callable[[Survey], Survey], str]] = [
    ("50 mm", lambda s: reread(s, "2", "C", lambda y, z: (y + 0.05, z)), "half-breadth of C at station 2 is off"),
    ("centimetres", lambda s: reread(s, "1", "D", digit), "height of D at station 1 is off"),
    ("a tape", lambda s: retaped(s, lambda k, tape: tape - 0.1 if k == 14 else tape), "tape 2C-2E is off"),
    ("a distance", lambda s: shifted(s, "2", -0.05), "distance of station 2 is off"),
    (
        "a datum",
        lambda s: reread(s, "3", LETTERS, lambda y, z: (y, z + 0.04)),
        "the heights at station 3 were taken from a wrong datum",
    ),
    (
        "a string",
        lambda s: reread(s, "3", LETTERS, lambda y, z: (y + 0.04, z)),
        "the string stood off its place at station 3",
    ),
    (
        "a hook",
        lambda s: retaped(s, lambda _, tape: tape - 0.006),
        "every check tape is off by one amount (hook, case, cut end?)",
    ),
    (
        "two readings of a corner",
        lambda s: reread(s, "2", "C", lambda y, z: (z, y)),
        "half-breadth and height of C at station 2 stand in each other's place",
    ),
]


@pytest.mark.parametrize(("spoil", "words"), [slip[1:] for slip in SLIPS], ids=[slip[0] for slip in SLIPS])
@pytest.mark.parametrize("seed", [3, 4])
def test_one_mistake_is_named(seed: int, spoil: Callable[[Survey], Survey], words: str) -> None:
    assert settled(locker(seed)).basis == "adjusted"
    assert told(spoil(locker(seed))) == [words]


def test_the_size_of_a_mistake_is_told_within_its_sigma() -> None:
    net, found = solved(shifted(locker(5), "2", -0.05))
    best = findings(net, found)[0].best
    assert best.size == pytest.approx(-0.05, abs=4 * best.sigma)
    assert best.sigma < 0.006


def test_letters_called_in_each_others_place() -> None:
    survey = locker(6)
    at = {c.name: c.at for c in survey.stations[2].corners}
    swapped = reread(reread(survey, "2", "C", lambda *_: at["D"][1:]), "2", "D", lambda *_: at["C"][1:])
    assert told(swapped) == ["the readings of C and D stand in each other's place at station 2"]


def both_sides(rng: Rng) -> Survey:
    """Return a locker across the centreline, less to port than to starboard, with crossing checks."""
    port = [(0.40, 0.10), (0.62, 0.33), (0.90, 0.90)]
    starboard = [(-0.46, 0.14), (-0.71, 0.38), (-0.97, 0.86)]
    marks = {f"{m}p": p for m, p in zip("ABC", port, strict=True)} | {
        f"{m}s": p for m, p in zip("CBA", starboard[::-1], strict=True)
    }
    spots = {(str(q), m): (0.5 * q, (1 - 0.1 * q) * y, z) for q in range(4) for m, (y, z) in marks.items()}
    pairs = [("Ap", "Cs"), ("As", "Cp"), ("Bp", "Bs"), ("Ap", "Bs"), ("Bp", "Cs"), ("Cp", "Bs")]
    ends = [((str(q), a), (str(q), b)) for q in range(4) for a, b in pairs]
    ends += [((str(q), a), (str(q + 1), b)) for q in range(3) for a, b in (("Ap", "Cs"), ("Cs", "Ap"))]
    checks = [Check(pair, round(math.dist(*(spots[p] for p in pair)) + rng.normal(0, 0.002), 3)) for pair in ends]

    def read(value: float) -> float:
        return round(value + rng.normal(0, 0.003), 3)

    stations = [
        section(str(q), 0.5 * q, {m: (read(spots[str(q), m][1]), read(spots[str(q), m][2])) for m in marks})
        for q in range(4)
    ]
    return replace(survey_of(stations, checks), side=0.0)


def other_side(survey: Survey, station: str, letters: str) -> Survey:
    at = {c.name: c.at for s in survey.stations if s.name == station for c in s.corners}
    for letter in letters:
        for mark, other in ((f"{letter}p", f"{letter}s"), (f"{letter}s", f"{letter}p")):
            _, y, z = at[other]
            survey = replace(
                survey,
                stations=tuple(
                    replace(
                        s, corners=tuple(Corner(c.name, (c.at[0], -y, z)) if c.name == mark else c for c in s.corners)
                    )
                    if s.name == station
                    else s
                    for s in survey.stations
                ),
            )
    return survey


@pytest.mark.parametrize(
    ("letters", "words"),
    [("B", "at letter B of station 2"), ("ABC", "place at station 2")],
    ids=["a letter", "a station"],
)
def test_port_and_starboard_swapped(letters: str, words: str) -> None:
    survey = both_sides(np.random.default_rng(2))
    assert settled(survey).basis == "adjusted"
    [found] = told(other_side(survey, "2", letters))
    assert found.startswith("port and starboard stand in each other's place")
    assert found.endswith(words)


def test_two_mistakes_are_both_named() -> None:
    survey = reread(locker(7), "1", "D", lambda y, z: (y + 0.05, z))
    assert set(told(reread(survey, "3", "E", lambda y, z: (y, z - 0.1)))) == {
        "half-breadth of D at station 1 is off",
        "height of E at station 3 is off",
    }


def test_what_the_tapes_cannot_tell_apart_is_said() -> None:
    """Each letter touched once, no stations beside: a corner's slip and its tape's show as one and the same."""
    survey = locker(8, stations=2, touched=1, long=False)
    net, found = solved(reread(survey, "1", "C", lambda y, z: (y + 0.1, z)))
    [finding] = findings(net, found)
    assert len({one.mistake.words for one in (finding.best, *finding.others)}) > 2
    assert any("1C" in one.mistake.words for one in (finding.best, *finding.others))


@pytest.mark.parametrize(
    ("corners", "touched", "lockers"),
    [
        (6, 1, 12),
        (8, 2, 12),
        *(pytest.param(c, t, 150, marks=pytest.mark.bench) for c in (6, 8, 10) for t in (1, 2)),
    ],
)
def test_a_slip_of_50_mm_is_found_and_named(corners: int, touched: int, lockers: int) -> None:
    """Letters touched twice: every slip is found, and 94 in 100 or more are named first; touched once, what can be.

    What can be found at all in each locker, by tests that raise five false alarms in a hundred, is derived from its
    net (`attainable`): no test finds more than the one that knows which reading slipped, and ours, which knows nothing,
    stays within `BEHIND` of the best of those that know only what slips are like. Few lockers may do worse by chance,
    by twice the binomial's sigma.
    """
    found = right = alarms = 0
    best: list[tuple[float, float]] = []
    for seed in range(lockers):
        rng = np.random.default_rng(1000 * corners + seed)
        survey = locker(1000 * corners + seed, corners, int(rng.integers(5, 8)), touched)
        alarms += settled(survey).basis == "disagreeing"
        station, mark = str(rng.integers(1, 5)), LETTERS[rng.integers(corners)]
        off = np.zeros(2)
        axis = int(rng.integers(2))
        off[axis] = rng.choice([-0.05, 0.05])
        slip = f"{('half-breadth', 'height')[axis]} of {mark} at station {station}"
        best.append(attainable(*solved(survey), slip, rng))
        spoilt = reread(survey, station, mark, partial(off_by, off))
        if settled(spoilt).basis == "disagreeing":
            found += 1
            right += told(spoilt)[:1] == [f"{slip} is off"]
    told_of, untold = np.mean(best, axis=0).tolist()
    print(
        f"\n{corners} corners touched {touched}: found {found} of {lockers}, first {right}, false alarms {alarms}; "
        f"best attainable {told_of:.3f} told which reading, {untold:.3f} not told"
    )
    assert found >= at_least(1.0 if touched == 2 else untold - BEHIND, lockers)
    assert lockers - found >= at_least(1 - told_of, lockers)
    assert right >= at_least(0.94, found)
    assert lockers - alarms >= at_least(0.95, lockers)


DRAWN = 2000  # readings of a net, to see what a test makes of them
BEHIND = 0.06  # a slip of any size, of any reading, and every mistake that has a name, are looked for at once


def attainable(net: TapeNet, found: Adjustment, slip: str, rng: Rng) -> tuple[float, float]:
    """Return the power of the two best tests for a slip of 50 mm at five false alarms in a hundred.

    Of the one that knows which reading slips: noncentral chi-square of one degree of freedom, λ = r (50 mm/σ)² (Baarda
    1968, from memory), by scipy. Of the one that knows that some half-breadth or height of stations 1 to 4 slips by 50
    mm: the mean of the likelihood ratios over all of them and both ways is most powerful (Neyman and Pearson 1933, from
    memory); drawn from the dense net.
    """
    matrix = np.zeros(found.slopes.shape)
    matrix[found.slopes.rows, found.slopes.columns] = found.slopes.slopes
    across = np.linalg.qr(matrix)[0]
    seen = 1.0 - (across**2).sum(axis=1)
    assert found.redundancies == pytest.approx(np.where(seen < 1e-6, 0.0, seen), abs=1e-9)
    sizes = np.sqrt(np.maximum(seen, 1e-12)) * 0.05 / net.sigmas
    among = [
        k for k, one in enumerate(net.readings) if one.kind in ("half_breadth", "height") and one.station in "1234"
    ]
    this = next(k for k, one in enumerate(net.readings) if one.words == slip)

    def ratios(drawn: np.ndarray) -> np.ndarray:
        left = drawn - (drawn @ across) @ across.T
        moved = left[:, among] / np.sqrt(np.maximum(seen[among], 1e-12)) * sizes[among]
        return np.logaddexp.reduce(np.logaddexp(moved, -moved) - sizes[among] ** 2 / 2, axis=1)

    sound = rng.normal(size=(DRAWN, len(seen)))
    slipped = rng.normal(size=(DRAWN, len(seen)))
    slipped[:, this] += 0.05 / net.sigmas[this]
    untold = float(np.mean(ratios(slipped) > np.quantile(ratios(sound), 0.95)))
    return float(ncx2.sf(chi2.isf(0.05, 1), 1, sizes[this] ** 2)), untold


def test_readings_that_one_tape_alone_checks_are_one_test() -> None:
    """How many differ: by the correlations of the dense net's residuals, two by two."""
    for corners, touched in ((6, 1), (8, 1), (6, 2)):
        _, found = solved(locker(2, corners, 6, touched))
        matrix = np.zeros(found.slopes.shape)
        matrix[found.slopes.rows, found.slopes.columns] = found.slopes.slopes
        across = np.linalg.qr(matrix)[0]
        cofactor = np.eye(len(matrix)) - across @ across.T
        root = np.sqrt(np.diagonal(cofactor))
        alike = np.abs(cofactor / np.outer(root, root)) > 1 - 1e-8
        kinds = len(np.unique(alike, axis=0))
        assert (kinds < 0.6 * len(matrix)) is (touched == 1)
        assert too_far(found) == pytest.approx(two_sided(RARE_READING / kinds))


def off_by(off: np.ndarray, y: float, z: float) -> tuple[float, float]:
    return y + float(off[0]), z + float(off[1])


def at_least(share: float, of: int) -> float:
    return share * of - 2 * math.sqrt(share * (1 - share) * of)


# what no few slips explain


def senseless(seed: int, count: int) -> Survey:
    """Return a locker of two stations whose few tapes are any lengths at all."""
    rng = np.random.default_rng(seed)
    survey = locker(seed, corners=4, stations=2, touched=1)
    taped_ = rng.uniform(0.1, 2.0, len(survey.checks)).round(3).tolist()
    return retaped(replace(survey, checks=survey.checks[:count]), lambda k, _: taped_[k])


def test_a_mistake_is_no_larger_than_its_cause_can_make_it() -> None:
    """Hooks and cut ends: at most the 100 mm a tape is cut back to; no half-breadth is less than nothing."""
    for seed in range(25):
        survey = senseless(seed, 4 + seed % 3)
        one = checked(survey)
        assert not one.agrees
        for told_ in (each for wrong in one.again for each in (wrong.best, *wrong.or_else)):
            if told_.kind in ("all off by one amount", "slack") and "distance" not in told_.words:
                assert "height" in told_.words or abs(told_.size_m or 0.0) <= 0.11
            if told_.words.startswith("half-breadth"):
                assert told_.should_m is not None
                assert told_.should_m >= -0.009


def test_of_senseless_tapes_the_farthest_off_are_told_and_no_slip_is_made_up() -> None:
    """As many slips as tapes explain anything: at most half as many are named, else that several are wrong."""
    said = [checked(senseless(seed, 4)) for seed in range(25)]
    assert all(len(one.again) <= 2 for one in said)
    nothing = [one for one in said if not one.again]
    assert len(nothing) > 15
    for one in nothing:
        text = "\n".join(lines(one, "mm"))
        worst = max(one.tapes, key=lambda t: abs(t.written_m - t.read_m) / t.sigma_m)
        assert "several tapes, or several corners, are likely wrong" in text
        assert f"farthest from the corners as read: {worst.label} by" in text
        assert "measure again:" not in text


def test_four_senseless_tapes_of_one_station_put_no_corner_out_of_the_boat() -> None:
    """The demo's sail locker: letters exchanged and a corner 1.4 m under the sole explained them best, in part."""
    folder = str(files("tapeloft.shapes").joinpath("demo"))
    survey = read_survey(folder).compartment("sail locker")
    one = checked(retaped(survey, lambda k, length: (0.317, 2.811, 1.5, 0.09)[k] if k < 4 else length))
    assert one.again == ()
    text = "\n".join(lines(one, "mm"))
    assert "0Cp-0Cs by 1617 mm, 0As-0Cp by 1548 mm, 0Bp-0Bs by 1503 mm" in text
    assert "more roughly" not in text


@pytest.mark.parametrize(("one", "other"), [("C", "A"), ("D", "F"), ("A", "E")])
def test_the_sizes_of_several_slips_are_those_with_all_of_them_undone(one: str, other: str) -> None:
    """Tapes join the two corners: each slip sized by itself is off by what the other does to it, by 20 mm and more."""
    survey = reread(locker(7), "2", one, lambda y, z: (y + 0.2, z))
    net, found = solved(reread(survey, "2", other, lambda y, z: (y, z + 0.15)))
    first, second = (told_.best for told_ in findings(net, found))
    assert first.mistake.words == f"half-breadth of {one} at station 2 is off"
    assert first.size == pytest.approx(0.2, abs=3 * first.sigma)
    assert second.size == pytest.approx(0.15, abs=3 * second.sigma)


def test_gross_slips_are_named_as_before_in_small_lockers() -> None:
    """A bound on what can be must not keep the true slip out: 30 cm and a metre, where no neighbour tells of it."""
    right = 0
    for seed in range(20):
        off = np.array([(0.3, -0.3, 0.6, -0.6)[seed % 4], 0.0])
        one = checked(reread(locker(500 + seed, stations=2), "1", "C", partial(off_by, off)))
        right += [wrong.best.words for wrong in one.again[:1]] == ["half-breadth of C at station 1"]
    assert right >= 17


# what a reading probably was


@pytest.mark.parametrize(
    ("written", "best", "unit", "slip", "meant"),
    [
        (1093, 1041, "mm", "two figures swapped", 1039),
        (81, 807, "mm", "a figure too few, or centimetres among millimetres", 810),
        (1226, 1324, "mm", "100 mm out", 1326),
        (3177, 3776, "mm", "a 7 taken for a 1", 3777),
        (52.2, 1325.4, "mm", "inches among millimetres", 1325.88),
        (18 * 25.4, 17 * 25.4, "in", "an inch out", 17 * 25.4),
        (21.625 * 25.4, 12.625 * 25.4, "in", "two figures swapped", 12.625 * 25.4),
        (30 * 25.4, 42 * 25.4, "ft-in-8", "a foot out", 42 * 25.4),
    ],
)
def test_what_it_probably_was(written: float, best: float, unit: str, slip: str, meant: float) -> None:
    first = likely(written / 1000, best / 1000, 0.004, unit)[0]
    assert first.slip == slip
    assert first.meant == pytest.approx(meant / 1000, abs=1e-5)
    assert 0 < first.probability <= 1


def test_a_cut_end_is_remembered() -> None:
    assert "cut end" in likely(1.226, 1.324, 0.004, "mm", "cut back to 100")[0].slip


def test_what_no_slip_explains_is_some_other_amount() -> None:
    first = likely(1.000, 1.0455, 0.0005, "mm")[0]
    assert (first.meant, first.slip) == (None, "some other amount")


# what could not be noticed


def test_sections_alone_do_not_see_what_long_tapes_see() -> None:
    """A wrong distance, datum or string shows in no section; two crossing tapes a bay bring it to centimetres."""
    alone, joined = (planned(*solved(locker(2, long=long))) for long in (False, True))
    for plan, seen in ((alone, False), (joined, True)):
        worst = {one.words: one.up_to for one in plan.unnoticed}
        for words in ("distance of station 2 is off", "the heights at station 2 were taken from a wrong datum"):
            assert (worst[words] < 0.04) is seen
    assert alone.blind > 0 == joined.blind


def test_the_next_tape_is_the_best_of_all_and_does_what_it_says() -> None:
    """Every tape that could be taken, added in earnest and adjusted again, in place of the update."""
    survey = locker(9, corners=4, stations=3, touched=1)
    plan = planned(*solved(survey))
    marks = [(s.name, c.name) for s in survey.stations for c in s.corners]
    spots = {(s.name, c.name): c.at for s in settled(survey).survey.stations for c in s.corners}
    pairs = [(a, b) for k, a in enumerate(marks) for b in marks[k + 1 :] if int(b[0]) - int(a[0]) < 2]
    taken = {frozenset(check.corners) for check in survey.checks}

    def with_tape(pair: tuple[tuple[str, str], tuple[str, str]]) -> tuple[int, float]:
        check = Check(pair, math.dist(*(spots[p] for p in pair)))
        after = planned(*solved(replace(survey, checks=(*survey.checks, check))))
        return after.blind, max((one.up_to for one in after.unnoticed if math.isfinite(one.up_to)), default=0.0)

    first = plan.tapes[0]
    every = {f"{a[0]}{a[1]}-{b[0]}{b[1]}": with_tape((a, b)) for a, b in pairs if frozenset((a, b)) not in taken}
    assert first.blind == every[first.label][0]
    assert first.worst == pytest.approx(every[first.label][1], rel=1e-3)
    assert every[first.label][0] == min(blind for blind, _ in every.values())


# the next hull


def sisters(seed: int, off: float = 0.0) -> tuple[Survey, list[Check]]:
    """Return a first one and five tapes of her sister, each built another by the building's own scatter."""
    rng = np.random.default_rng(seed)
    at = truth(rng, 6, 5)
    first = taped(rng, at, 2)
    ends = [((q, k), (q, k + 3)) for q, k in ((0, 0), (1, 1), (2, 2), (3, 0))] + [((1, 0), (2, 3))]
    tapes = []
    for (q, a), (p, b) in ends:
        sigma = first.accuracy.check if q == p else first.accuracy.long_check
        length = math.dist(at[q, a], at[p, b]) + rng.normal(0, math.hypot(sigma, BUILDING))
        tapes.append(Check(((str(q), LETTERS[a]), (str(p), LETTERS[b])), length))
    return first, [replace(one, length=one.length + off) if k == 2 else one for k, one in enumerate(tapes)]


def test_sisters_built_alike_are_told_so_and_one_that_is_not_is_told_where() -> None:
    """False alarms one in twenty at the most, over 200; 40 mm at one tape is always found, and at that tape."""
    alarms = sum(not held_against(*sisters(seed)).alike for seed in range(200))
    assert alarms <= 10 + 2 * math.sqrt(200 * 0.05 * 0.95)
    for seed in range(20):
        held = held_against(*sisters(seed, 0.04))
        worst = max(held.tapes, key=lambda one: abs(one.in_sigmas))
        assert (held.alike, worst.label) == (False, "2C-2F")


def test_a_sisters_chi_square_is_that_of_the_whole_covariance() -> None:
    """Variances added and correlations kept: by the dense matrices of the first one's net, numerical derivatives."""
    first, tapes = sisters(3)
    net, found = solved(first)
    more = net_of(replace(first, checks=(*first.checks, *tapes)))
    count, size = len(net.readings), len(net.start)
    steps = np.eye(size) * 1e-6
    slopes = np.array([(more.values(found.unknowns + s) - more.values(found.unknowns - s)) / 2e-6 for s in steps]).T
    inverse = np.linalg.inv(slopes[:count].T @ (slopes[:count] / net.sigmas[:, None] ** 2))
    variance = slopes[count:] @ inverse @ slopes[count:].T + np.diag(more.sigmas[count:] ** 2 + BUILDING**2)
    off = more.read[count:] - more.values(found.unknowns)[count:]
    held = held_against(first, tapes, found)
    assert held.chi2 == pytest.approx(float(off @ np.linalg.solve(variance, off)), rel=1e-6)
    assert [one.sigma_m for one in held.tapes] == pytest.approx(np.sqrt(np.diag(variance)).tolist(), rel=1e-6)


def test_a_twin_is_built_from_her_sisters_corners() -> None:
    first, tapes = sisters(4)
    own = replace(first, checks=tuple(tapes), sister=first.checks, mirrored=True)
    assert settled(own).survey.stations == settled(first).survey.stations
    assert settled(own).words == "built from her sister's corners (5 check tapes of her own agree)"
    odd = replace(own, checks=tuple(sisters(4, 0.1)[1]))
    assert (settled(odd).survey, settled(odd).basis) == (odd, "unlike")
    [wrong] = checked(odd).again
    assert wrong.best.words == "tape 2C-2F"


# hostile


def test_checks_that_contradict_each_other_are_answered() -> None:
    survey = locker(10)
    rng = np.random.default_rng(0)
    one = checked(retaped(survey, lambda *_: float(rng.uniform(0.01, 90))))
    assert not one.agrees
    assert not one.explained


def test_every_reading_the_same() -> None:
    same = {mark: (0.5, 0.5) for mark in "ABCD"}
    tapes = [Check((("0", "A"), ("0", "B")), 0.5), Check((("0", "A"), ("1", "C"), ("1", "D")), 0.5)]
    one = checked(survey_of([section(str(q), 0.5 * q, same) for q in range(3)], tapes))
    assert not one.agrees


def test_one_tape_alone_and_a_girth_that_comes_back() -> None:
    survey = replace(locker(11), checks=(Check((("0", "A"), ("0", "B"), ("0", "A")), 0.2),))
    assert checked(survey).freedom == 1


def test_nothing_is_left_to_say_of_a_survey_without_letters() -> None:
    bare = [
        Station(str(q), 0.5 * q, tuple(Corner("", (0.5 * q, y, z)) for y, z in ((0, 0), (1, 0), (1, 1))))
        for q in (0, 1)
    ]
    one = checked(survey_of(bare, []))
    assert (one.tapes, one.next, one.agrees) == ((), (), True)


def test_corners_that_adjusting_would_cross_are_built_as_read() -> None:
    """A notch a millimetre from the sole, and tapes that agree and put it through the sole: the readings stand."""
    notched = {"A": (0.5, 0.1), "B": (1.0, 0.1), "C": (1.0, 0.7), "D": (0.75, 0.101), "E": (0.5, 0.7)}
    ends = [(str(q), a) for q in range(2) for a in "CE"]
    tapes = [Check(((q, a), (q, "D")), math.dist(notched[a], notched["D"]) + 0.005) for q, a in ends]
    survey = survey_of([section(str(q), 0.5 * q, notched) for q in range(2)], tapes)
    found = build(survey)
    assert settled(survey).basis == "adjusted"
    assert found.basis == "built from the readings as taped: the corners as adjusted make no closed space"
    assert found.gross.volume == pytest.approx(build(replace(survey, checks=())).gross.volume)


# what the readings say of the accuracies stated


def test_readings_that_scatter_as_stated_give_no_doubt_and_others_do() -> None:
    """Closed form: χ² of one is (σ/σ stated)² times one of its freedom; stated four times too coarse it is 1/16."""
    survey = locker(4)
    for times, words in (
        (1.0, ()),
        (4.0, ("as if half-breadths were good to about 3", "where [accuracy] says 12 mm", "the safe side")),
    ):
        own = survey.accuracy
        stated = {one.name: times * getattr(own, one.name) for one in fields(own)}
        said = checked(replace(survey, accuracy=replace(own, **stated)))
        assert all(word in "".join(said.doubted) for word in words)
        assert bool(said.doubted) == bool(words)
        assert said.scatter * times == pytest.approx(checked(survey).scatter, rel=0.02)


def test_readings_that_agree_to_a_hair_put_no_hair_in_the_accuracies() -> None:
    """Tapes reckoned from the corners, and not read, are off by their rounding alone: no such figure is told."""
    survey = locker(4)
    spots = {(s.name, c.name): c.at for s in survey.stations for c in s.corners}
    exact = retaped(survey, lambda k, _: math.dist(*(spots[end] for end in survey.checks[k].corners)))
    assert "half-breadths were good to less than 1 mm, where [accuracy] says 3 mm" in checked(exact).doubted[0]


def test_an_accuracy_finer_than_the_tape_is_told() -> None:
    """Directive 2014/32/EU, MI-008 and JCGM 100:2008 4.3.7: class III over 1 to 2 m, 1.4 mm / √3 = 0.81 mm."""
    survey = locker(4)
    fine = replace(survey, accuracy=replace(survey.accuracy, long_check=0.0004))
    space = replace(survey.space, tape=replace(survey.space.tape, accuracy_class="III"))
    said = "; ".join(checked(replace(fine, space=space)).doubted)
    assert "[accuracy] long_check = 0.4 mm is finer than the tape: a tape of class III" in said
    assert "half_breadth" not in said
