"""Grates: beams against handbook formulas, drains against Torricelli, layouts against the net space."""

import math
from collections.abc import Callable
from importlib.resources import files
from itertools import pairwise

import numpy as np
import pytest
import shapely
from scipy.integrate import quad, solve_bvp

from tapeloft.model.compartment import Compartment, build
from tapeloft.model.cutting.beams import GRAVITY, Bar, Load, blocks_apart, dip, overhang, sag, span
from tapeloft.model.cutting.board import Cut
from tapeloft.model.cutting.draining import bore_for, drained
from tapeloft.model.cutting.flooded import flooded
from tapeloft.model.cutting.grate import Grate, Lay, grate_at
from tapeloft.model.cutting.inset import Gaps
from tapeloft.model.cutting.laying import covered
from tapeloft.model.cutting.sheetstock import sheet_called
from tapeloft.model.cutting.timber import PSI, TIMBERS, Timber, timber_called
from tapeloft.model.errors import GeometryError, UnknownName
from tapeloft.model.facets import body
from tapeloft.model.survey.boat import read_survey
from tapeloft.shapes.polyhedron import Round, box, circle, prism

BOAT = read_survey(str(files("tapeloft.shapes").joinpath("demo")))
STRONG = Timber("unbreakable", 1e10, 1e15, 0.5)


def compartment(name: str) -> Compartment:
    return build(BOAT.compartment(name))


# beams


def test_a_point_load_in_the_middle() -> None:
    """Record, The Mechanical Properties of Wood: E = P·l³ / (4·D·b·h³), and D is l/200: l² = 4·E·b·h³ / (200·P)."""
    bar, load = Bar(0.04, 0.02, STRONG), Load(point_kg=50, even_kg_m2=0)
    expected = math.sqrt(4 * 1e10 * 0.04 * 0.02**3 / (200 * 50 * GRAVITY))
    assert span(bar, load, 0.06) == pytest.approx(expected, rel=1e-9)


def test_an_even_load() -> None:
    """5·w·L⁴/384EI = L/200 (Wood Handbook, FPL-GTR-190, page 9-2, table 9-1): L³ = 384·E·I / (5·200·w)."""
    bar, load = Bar(0.04, 0.02, STRONG), Load(point_kg=0, even_kg_m2=300)
    w = 300 * GRAVITY * 0.06
    assert span(bar, load, 0.06) == pytest.approx((384 * 1e10 * 0.04 * 0.02**3 / 12 / (1000 * w)) ** (1 / 3), rel=1e-9)


def test_strength_may_rule() -> None:
    """P·L/4 = σ·b·h²/6 (closed form)."""
    weak = Timber("weak", 1e15, 50e6, 0.5)
    bar, load = Bar(0.04, 0.02, weak), Load(point_kg=50, even_kg_m2=0, safety=5)
    assert span(bar, load, 0.06) == pytest.approx(4 * 10e6 * 0.04 * 0.02**2 / 6 / (50 * GRAVITY), rel=1e-9)


def bent(length: float, points: list[tuple[float, float]], even: list[tuple[float, float, float]], stiff: float,
         supports: tuple[float, float], at: float) -> float:  # fmt: skip
    """How far a bar over two supports goes down *at* a place: EI·v'' = M, by quadrature of Macaulay's terms.

    points: (place, N); even: (from, to, N/m).
    """
    one, other = supports
    turning = sum(p * (x - one) for x, p in points) + sum(w * (b - a) * ((a + b) / 2 - one) for a, b, w in even)
    second = turning / (other - one)
    first = sum(p for _, p in points) + sum(w * (b - a) for a, b, w in even) - second

    def moment(x: float) -> float:
        up = first * max(x - one, 0.0) + second * max(x - other, 0.0)
        down = sum(p * max(x - place, 0.0) for place, p in points)
        down += sum(w * (max(x - a, 0.0) ** 2 - max(x - b, 0.0) ** 2) / 2 for a, b, w in even)
        return up - down

    def twice(x: float) -> float:
        edges = sorted({place for place, _ in points} | {one, other} | {e for a, b, _ in even for e in (a, b)})
        return float(quad(lambda t: (x - t) * moment(t) / stiff, 0.0, x, points=[e for e in edges if 0 < e < x])[0])

    low, high = twice(one), twice(other)
    return -(twice(at) - low - (high - low) * (at - one) / (other - one))


@pytest.mark.parametrize(("point", "even"), [(50, 0), (0, 400), (40, 200)])
def test_an_end_that_stands_out_goes_down_as_the_middle_of_a_span_may(point: float, even: float) -> None:
    """The bar beside its last bearer gives way too: twice integrated, and P·a²·(L + a)/3EI (American Wood Council,
    Design Aid 6, a beam overhanging one support, from memory)."""
    bar, load = Bar(0.04, 0.02, STRONG), Load(point_kg=point, even_kg_m2=even)
    beside, out, w = span(bar, load, 0.06), overhang(bar, load, 0.06), even * GRAVITY * 0.06
    stiff = 1e10 * 0.04 * 0.02**3 / 12
    tip = [(beside + out, point * GRAVITY)], [(beside, beside + out, w)]
    assert bent(beside, *tip, stiff, (0.0, beside), beside + out) == pytest.approx(beside / 200, rel=1e-6)
    if not even:
        handbook = point * GRAVITY * out**2 * (beside + out) / (3 * stiff)
        assert handbook == pytest.approx(beside / 200, rel=1e-9)


def test_both_ends_standing_out_by_a_handbook() -> None:
    """T. G. Hicks, Civil Engineering Formulas (2002), p. 31, case 12: two loads W/2 at both ends, W·a²·(3L + 2a)/12EI,
    W·a·L²/16EI upward in the middle. By symmetry the one load that may stand there bends its end less."""
    bar, load = Bar(0.04, 0.02, STRONG), Load(point_kg=50, even_kg_m2=0)
    stiff, beside, out = 1e10 * 0.04 * 0.02**3 / 12, 0.3, 0.1
    half, ends = 50 * GRAVITY, (0.0, 2 * out + beside)
    both = bent(beside, [(end, half) for end in ends], [], stiff, (out, out + beside), ends[1])
    assert both == pytest.approx(2 * half * out**2 * (3 * beside + 2 * out) / (12 * stiff), rel=1e-6)
    assert dip(bar, load, 0.06, out, beside) < both


def test_both_loads_against_the_differential_equation() -> None:
    """EI·y'' = M(x), solved by collocation (scipy), for the span that is allowed: it bends just L/200 in the middle."""
    bar, load = Bar(0.04, 0.02, STRONG), Load(point_kg=40, even_kg_m2=250)
    length = span(bar, load, 0.06)
    point, even = 40 * GRAVITY, 250 * GRAVITY * 0.06

    def bent(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        moment = point / 2 * x + even * length / 2 * x - even * x**2 / 2  # to the middle
        return np.vstack([y[1], -moment / bar.stiffness])

    half = np.linspace(0, length / 2, 40)
    solved = solve_bvp(bent, lambda a, b: np.array([a[0], b[1]]), half, np.zeros((2, 40)), tol=1e-9)
    assert solved.sol(length / 2)[0] == pytest.approx(length / 200, rel=1e-5)


def two_spans(load_at: Callable[[float], float], force_at: int | None = None) -> tuple[float, float]:
    """Return how far a beam over two spans of 1 m bends, EI 1, and its greatest moment: Hermite elements, by hand."""
    count = 400
    long = 2 / count
    stiff = np.zeros((2 * count + 2, 2 * count + 2))
    pushed = np.zeros(2 * count + 2)
    one = np.array([[12, 6 * long, -12, 6 * long], [0, 4 * long**2, -6 * long, 2 * long**2], [0, 0, 12, -6 * long],
                    [0, 0, 0, 4 * long**2]]) / long**3  # fmt: skip
    one = np.triu(one) + np.triu(one, 1).T
    for k in range(count):
        w = load_at((k + 0.5) * long)
        stiff[2 * k : 2 * k + 4, 2 * k : 2 * k + 4] += one
        pushed[2 * k : 2 * k + 4] += w * long * np.array([1 / 2, long / 12, 1 / 2, -long / 12])
    if force_at is not None:
        pushed[2 * force_at] += 1.0
    free = np.setdiff1d(np.arange(len(pushed)), [0, count, 2 * count])
    moved = np.zeros(len(pushed))
    moved[free] = np.linalg.solve(stiff[np.ix_(free, free)], pushed[free])
    moments = [(one @ moved[2 * k : 2 * k + 4])[1] + load_at((k + 0.5) * long) * -(long**2) / 12 for k in range(count)]
    return float(moved[::2].max()), float(np.abs(moments).max())


def test_two_spans_bend_less_and_are_stressed_no_more() -> None:
    """Two equal spans: w·L⁴/185EI, w·L²/8; P in the middle of one 0.015·P·L³/EI, 13·P·L/64; what is taken, one span.

    American Wood Council, Design Aid No. 6 (2007), p. 17 and 18; T. G. Hicks, Civil Engineering Formulas (2002), p. 50;
    figured here by elements too.
    """
    bends, moment = two_spans(lambda _: 1.0)
    assert bends == pytest.approx(1 / 185, rel=3e-3)
    assert moment == pytest.approx(1 / 8, rel=1e-3)
    assert bends < 5 / 384
    assert moment < 1 / 8 + 1e-9
    bends, moment = two_spans(lambda _: 0.0, force_at=100)
    assert bends == pytest.approx(0.015, rel=3e-3)
    assert moment == pytest.approx(13 / 64, rel=1e-3)
    assert bends < 1 / 48
    assert moment < 1 / 4
    bar = Bar(12.0, 1e-3, Timber("stiff", 1e9, 1e9, 0.5))
    assert bar.stiffness == pytest.approx(1.0)
    alone = sag(bar, Load(1 / GRAVITY, 0), 1.0, 1.0), sag(bar, Load(0, 1 / GRAVITY), 1.0, 1.0)
    assert alone == pytest.approx((1 / 48, 5 / 384), rel=1e-9)


def test_what_a_bearer_under_the_middle_of_two_spans_carries() -> None:
    """5/4 of a span's even load (Design Aid 6, p. 18); the beam's formulas solved for its length."""
    wood = timber_called("teak")
    for load, least in ((Load(0.0, 200.0), 0.06), (Load(40.0, 200.0), 0.06), (Load(0.0, 200.0), 0.9)):
        bar, share = Bar(0.03, 0.03, wood), max(1.25 * 0.25, least)
        length = blocks_apart(bar, load, 0.25, least)
        assert length == pytest.approx(span(bar, load, share), rel=1e-12)
        point, even = load.point_kg * GRAVITY, load.even_kg_m2 * GRAVITY * share
        bends = point * length**3 / 48 / bar.stiffness + 5 * even * length**4 / 384 / bar.stiffness
        stress = (point * length / 4 + even * length**2 / 8) / (0.03**3 / 6)
        assert max(bends / (length / 200), stress / (wood.rupture_pa / 5)) == pytest.approx(1.0, rel=1e-6)


def test_wood_weighs_what_the_handbook_says() -> None:
    """Wood Handbook, chapter 4, method 3: white ash of basic specific gravity 0.55 is 678 kg/m³ at 12 % moisture."""
    assert Timber("white ash", 1e10, 1e8, 0.55).density_kg_m3 == pytest.approx(678, rel=5e-3)


def test_plywood_is_the_handbooks() -> None:
    """Wood Handbook, FPL-GTR-190, page 12-2, table 12-1: plywood 1.01 to 1.24·10⁶ and 4890 to 6180 lb/in²."""
    assert sheet_called("plywood").modulus_pa == pytest.approx(1.01e6 * PSI, rel=1e-3)
    assert sheet_called("plywood").rupture_pa == pytest.approx(4890 * PSI, rel=1e-3)


def test_frp_is_the_least_of_what_is_published() -> None:
    """Polyester with chopped glass, 10⁶ and 10³ lb/in² in bending, specific gravity.

    Property Comparisons of Fiberglass/Composites and Alternatives Materials (a published table; ASTM D790, D792),
    spray-up and lay-up of 30 % glass: 0.75, 28.0, 1.37, its columns read from a text without lines. AZoM data sheet
    716 (Plascams): 7 GPa, 1.4. A moulder's data sheet, 25 to 30 % of glass: 20. A moulder's design guide: 1.2, 30. By
    mass 0.3 of glass, 2560 kg/m³, and 0.7 of resin, 1200.
    """
    frp = sheet_called("FRP")
    assert frp.modulus_pa == pytest.approx(min(0.75e6 * PSI, 7e9, 1.2e6 * PSI), rel=1e-9)
    assert frp.rupture_pa == pytest.approx(min(28_000, 20_000, 30_000) * PSI, rel=1e-9)
    assert frp.density_kg_m3 == pytest.approx(1 / (0.3 / 2560 + 0.7 / 1200), rel=1e-3)
    assert 1370 <= frp.density_kg_m3 <= 1.03 * 1400


def test_teak_is_the_handbooks() -> None:
    """Wood Handbook, FPL-GTR-190, table 5-5b: green, 1.37·10⁶ and 11 600 lbf/in²; 640 to 680 kg/m³ (same book)."""
    teak = timber_called("tea")
    assert teak.modulus_pa == pytest.approx(9.446e9, rel=1e-3)
    assert teak.rupture_pa == pytest.approx(79.98e6, rel=1e-3)
    assert 640 <= teak.density_kg_m3 <= 680
    with pytest.raises(UnknownName):
        timber_called("unobtainium")


# drains


@pytest.mark.parametrize(("bore", "seconds"), [(0.012, 3388.0), (0.025, 780.6), (0.038, 337.9)])
def test_a_box_drains_as_torricelli_says(bore: float, seconds: float) -> None:
    """A/(C·a)·√(2H/g) of 1.2 × 0.6 × 0.5 m, C 0.6: closed form."""
    found = drained(body(box((0, 0, 0), (1.2, 0.6, 0.5))), 0.5, 0.0, bore)
    assert found.seconds == pytest.approx(seconds, rel=1e-3)
    assert found.seconds == pytest.approx(1.2 * 0.6 / (0.6 * math.pi * bore**2 / 4) * math.sqrt(1 / GRAVITY), rel=1e-9)
    assert found.held_m3 == pytest.approx(0.36)
    assert found.below_m3 == 0.0


def test_a_lying_cylinder_drains_as_torricelli_says() -> None:
    """4L((2R)^1.5 − (2R − H)^1.5) / (3Ca√2g) with R 1, L 5, full, a bore of 50 mm: 3614.08 s at g 9.80665."""
    lying = body(prism(circle((0, 1.0), 1.0, Round.EQUAL_AREA, 1024), 0, 5, 0))
    expected = 4 * 5 * 2**1.5 / (3 * 0.6 * math.pi * 0.05**2 / 4 * math.sqrt(2 * GRAVITY))
    assert drained(lying, 2.0, 0.0, 0.05).seconds == pytest.approx(expected, rel=1e-3)


def test_a_cone_against_quadrature() -> None:
    """A wedge whose surface grows with height: t = ∫ A(z) dz / (C·a·√2gz), by scipy."""
    wedge = body(prism(np.array([[0.0, 0.0], [1.0, 1.0], [-1.0, 1.0]]), 0, 2, 0))
    flow = 0.6 * math.pi * 0.02**2 / 4 * math.sqrt(2 * GRAVITY)
    expected = quad(lambda z: 2 * z * 2 / (flow * math.sqrt(z)), 0, 0.8)[0]
    assert drained(wedge, 0.8, 0.0, 0.02).seconds == pytest.approx(expected, rel=1e-6)


def test_a_drain_over_the_water_empties_nothing_and_one_half_way_half() -> None:
    tank = body(box((0, 0, 0), (1, 1, 1)))
    assert drained(tank, 0.4, 0.6, 0.02) == drained(tank, 0.4, 0.4, 0.02)
    assert drained(tank, 0.4, 0.6, 0.02).seconds == 0.0
    half = drained(tank, 1.0, 0.5, 0.02)
    assert half.below_m3 == pytest.approx(0.5)
    assert half.seconds == pytest.approx(drained(body(box((0, 0, 0), (1, 1, 0.5))), 0.5, 0.0, 0.02).seconds, rel=1e-9)


@pytest.mark.parametrize(("seconds", "bore"), [(3388, 0.012), (780.6, 0.025), (337.9, 0.038)])
def test_the_bore_that_drains_a_box_in_a_time(seconds: float, bore: float) -> None:
    """The same times, turned round: √(A·√(2H/g)·4/(π·C·t)), 1.2 by 0.6, 0.5 deep, C 0.6."""
    tank = body(box((0, 0, 0), (1.2, 0.6, 0.5)))
    assert bore_for(tank, 0.5, 0.0, seconds) == pytest.approx(bore, rel=2e-4)
    held = 1.2 * 0.6 * math.sqrt(2 * 0.5 / GRAVITY) / 0.6
    assert bore_for(tank, 0.5, 0.0, seconds) == pytest.approx(math.sqrt(4 * held / math.pi / seconds), rel=1e-6)
    assert drained(tank, 0.5, 0.0, bore_for(tank, 0.5, 0.0, seconds)).seconds == pytest.approx(seconds, rel=1e-9)
    assert bore_for(tank, 0.5, 0.6, seconds) == 0.0


@pytest.mark.parametrize("seconds", [0.0, -3.0, math.nan, math.inf])
def test_no_bore_drains_anything_in_no_time(seconds: float) -> None:
    with pytest.raises(GeometryError, match="over 0"):
        bore_for(body(box((0, 0, 0), (1, 1, 1))), 1.0, 0.0, seconds)


# grates

CASES = [
    ("gas locker", 0.09, "fore and aft"),
    ("lazarette", 0.09, "athwartships"),
    ("lazarette", 0.3, "fore and aft"),
    ("cockpit locker, port", 0.3, "athwartships"),
    ("sail locker", 0.3, "athwartships"),
]


@pytest.fixture(scope="module", params=CASES, ids=str)
def laid(request: pytest.FixtureRequest) -> tuple[Compartment, Grate, Lay]:
    name, height, way = request.param
    whole, lay = compartment(name), Lay(way=way)
    return whole, grate_at(whole, height, lay, Cut(Gaps(0.005, 0.005, 0.005))), lay


def test_every_bar_lies_in_the_net_space(laid: tuple[Compartment, Grate, Lay]) -> None:
    whole, grate, _ = laid
    assert grate.outside_m3 < 1e-9
    for bars in grate.sections:
        assert (bars.solid - whole.net).volume < 1e-9


def test_battens_keep_their_gaps_and_sections_do_not_meet(laid: tuple[Compartment, Grate, Lay]) -> None:
    _, grate, lay = laid
    for bars in grate.sections:
        for one, other in pairwise(bars.battens):
            assert one.intersection(other).area == 0.0
        breadths = [min(one.bounds[2] - one.bounds[0], one.bounds[3] - one.bounds[1]) for one in bars.battens]
        assert max(breadths) <= lay.batten[0] + 1e-9
    for one, other in pairwise(grate.sections):
        assert (one.solid ^ other.solid).volume < 1e-12


def test_every_batten_is_borne_within_its_span(laid: tuple[Compartment, Grate, Lay]) -> None:
    """Read off the outlines again: along each batten the bearers that it lies on, by their middles."""
    _, grate, lay = laid
    axis = 0 if lay.way == "fore and aft" else 1
    for bars in grate.sections:
        for batten in bars.battens:
            under = [one.intersection(batten) for one in bars.bearers]
            seats = sorted(
                (one.bounds[axis] + one.bounds[axis + 2]) / 2
                for one in under
                if one.area > 0.4 * lay.batten[0] * lay.bearer[0]
            )
            assert len(seats) >= 2
            assert max(b - a for a, b in pairwise(seats)) <= grate.span_m + 0.01
            assert seats[0] - batten.bounds[axis] <= grate.overhang_m + 0.01
            assert batten.bounds[axis + 2] - seats[-1] <= grate.overhang_m + 0.01


def test_every_batten_bends_and_is_stressed_no_more_as_broad_as_it_is(laid: tuple[Compartment, Grate, Lay]) -> None:
    """Along a side a batten is planed narrower, and bends the more: its breadth b is read off the outline every
    millimetre, and it goes down by ∫ M·m/EI, m of a load of 1 in the middle; the load may stand anywhere, so that it
    bends by P·x·(L − x)/L + w·x·(L − x)/2 at x (closed forms)."""
    _, grate, lay = laid
    axis, load = (0 if lay.way == "fore and aft" else 1), lay.load
    p, w = load.point_kg * GRAVITY, load.even_kg_m2 * GRAVITY * (lay.batten[0] + lay.gap)
    for bars in grate.sections:
        for batten in bars.battens:
            x0, y0, x1, y1 = batten.bounds
            seats = sorted(
                (one.bounds[axis] + one.bounds[axis + 2]) / 2
                for one in bars.bearers
                if one.intersection(batten).area > 0.499 * lay.batten[0] * lay.bearer[0]
            )
            for a, b in pairwise(seats):
                count = round((b - a) / 0.001)
                x = (np.arange(count) + 0.5) / count * (b - a)
                slices = [
                    shapely.LineString([(at, y0), (at, y1)] if axis == 0 else [(x0, at), (x1, at)])
                    for at in (a + x).tolist()
                ]
                inertia = shapely.length(shapely.intersection(batten, slices)) * lay.batten[1] ** 3 / 12
                length, unit = b - a, np.minimum(x, b - a - x) / 2
                moment = p * unit + w * x * (length - x) / 2
                bends = float((moment * unit / inertia).sum()) * length / count / lay.timber.modulus_pa
                most = p * x * (length - x) / length + w * x * (length - x) / 2
                assert bends <= length / load.least_part * 1.001
                assert float((most / inertia).max()) * lay.batten[1] / 2 <= lay.timber.rupture_pa / load.safety * 1.001


def test_no_batten_hangs_together_by_a_thread(laid: tuple[Compartment, Grate, Lay]) -> None:
    """Where a pipe cuts into one it is two: 4 mm planed off all round, each is still one piece."""
    _, grate, _ = laid
    for batten in (one for bars in grate.sections for one in bars.battens):
        assert len(shapely.get_parts(shapely.buffer(batten, -0.004))) == 1


def test_sections_go_in_and_are_not_round_a_post(laid: tuple[Compartment, Grate, Lay]) -> None:
    _, grate, _ = laid
    for bars in grate.sections:
        assert bars.passages
        assert not bars.outline.interiors


def test_the_open_share_and_the_mass_are_of_what_is_drawn(laid: tuple[Compartment, Grate, Lay]) -> None:
    _, grate, lay = laid
    wood = sum(one.area for bars in grate.sections for one in bars.battens)
    assert grate.open_share == pytest.approx(1 - wood / covered(grate).area, abs=1e-9)
    volume = wood * lay.batten[1] + sum(one.area for bars in grate.sections for one in bars.bearers) * lay.bearer[1]
    assert grate.mass_kg == pytest.approx(volume * lay.timber.density_kg_m3, rel=1e-6)


def test_open_area_of_battens_as_broad_as_their_gaps_tends_to_a_half() -> None:
    """Definition: 20 mm battens 20 mm apart are half open; at the edges there is a little more."""
    lay = Lay(batten=(0.02, 0.02), gap=0.02, load=Load(point_kg=1))
    grate = grate_at(compartment("gas locker"), 0.2, lay, Cut(Gaps(0.0, 0.0, 0.0)))
    assert grate.open_share == pytest.approx(0.5, abs=0.05)


def test_water_under_the_battens_is_the_spaces_less_the_bearers() -> None:
    whole = compartment("gas locker")
    grate = grate_at(whole, 0.09, Lay(), Cut())
    water = flooded(whole, grate, 0.09)
    low, _ = whole.net.split((0, 0, -1.0), -grate.plane.start[2])
    bearers = sum(one.area for bars in grate.sections for one in bars.bearers) * 0.03
    assert water.held_m3 == pytest.approx(low.volume - bearers, abs=1e-8)
    assert water.drain == "drain overboard"
    assert 0 < water.seconds < 600
    assert water.clear_m == pytest.approx(whole.net.bounds[1, 2] - 0.09, abs=0.02)


def test_twins_have_mirrored_grates() -> None:
    port, starboard = (
        grate_at(compartment(f"cockpit locker, {side}"), 0.5, Lay(way="athwartships"), Cut())
        for side in ("port", "starboard")
    )
    one, other = (
        shapely.union_all([batten for bars in grate.sections for batten in bars.battens]) for grate in (port, starboard)
    )
    flipped = shapely.transform(other, lambda points: points * [1.0, -1.0])
    assert flipped.symmetric_difference(one).area < 1e-6


# what cannot be


@pytest.mark.parametrize(
    ("lay", "said"),
    [
        (Lay(batten=(0.0, 0.018)), "batten's breadth"),
        (Lay(batten=(0.04, -0.018)), "batten's depth"),
        (Lay(gap=math.nan), "gap between battens"),
        (Lay(bearer=(0.03, 9.0)), "bearer's depth"),
        (Lay(load=Load(-1.0, 200.0)), "point load"),
        (Lay(load=Load(0.0, 0.0)), "bears nothing"),
        (Lay(load=Load(least_part=0.0)), "a bend of 1/0"),
        (Lay(load=Load(least_part=math.nan)), "a bend of 1/nan"),
        (Lay(load=Load(least_part=math.inf)), "a bend of 1/inf"),
    ],
)
def test_absurd_sizes(lay: Lay, said: str) -> None:
    with pytest.raises(GeometryError, match=said):
        grate_at(compartment("gas locker"), 0.09, lay, Cut())


def test_a_batten_broader_than_the_space() -> None:
    with pytest.raises(GeometryError, match="broader than the space"):
        grate_at(compartment("gas locker"), 0.09, Lay(batten=(0.45, 0.018)), Cut())


@pytest.mark.parametrize("height", [-0.2, 0.02, 5.0])
def test_a_height_where_there_is_no_room(height: float) -> None:
    with pytest.raises(GeometryError, match="no room between"):
        grate_at(compartment("gas locker"), height, Lay(), Cut())


def test_gaps_that_leave_nothing() -> None:
    with pytest.raises(GeometryError, match="no room"):
        grate_at(compartment("gas locker"), 0.09, Lay(), Cut(Gaps(0.3, 0.3, 0.3)))


def test_a_load_that_no_batten_bears() -> None:
    with pytest.raises(GeometryError, match="would be borne: under such a load it spans"):
        grate_at(compartment("gas locker"), 0.09, Lay(load=Load(point_kg=10_000), batten=(0.01, 0.004)), Cut())


def test_every_timber_spans_more_when_deeper() -> None:
    for timber in TIMBERS.values():
        spans = [span(Bar(0.04, depth, timber), Load(), 0.06) for depth in (0.012, 0.018, 0.025)]
        assert spans == sorted(spans)
        assert spans[0] > 0
