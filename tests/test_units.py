"""Lengths as the trade writes them. The international yard and pound agreement is of 1959 (from memory)."""

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tapeloft.model import units
from tapeloft.model.units import Misread, format_length, inches, length, mass


@pytest.mark.parametrize(
    ("written", "millimetres"),
    [
        ("1 in", 25.4),  # 1959 agreement: exact
        ("1 ft", 304.8),
        ("1 yd", 914.4),
        ("1.5 m", 1500),
        ("150 cm", 1500),
        ("1500 mm", 1500),
        ("1500mm", 1500),
        ("1500,5 mm", 1500.5),
        ("1,5 m", 1500),
        ("0,500 m", 500),  # a leading nought divides no thousands
        ("1234,567 mm", 1234.567),  # nor do four figures
        ("1500.25 MM", 1500.25),
        ("-110 mm", -110),
        ("−110 mm", -110),
        (".5 m", 500),
        ("59.375 in", 1508.125),
        ('59.375"', 1508.125),
        ("59 3/8 in", 1508.125),
        ('59-3/8"', 1508.125),
        ("59⅜ in", 1508.125),
        ("59 ⅜ in", 1508.125),
        ("½ in", 12.7),
        ("3/8 in", 9.525),
        ("4 ft 11 3/8 in", 1508.125),
        ("4ft11 3/8in", 1508.125),
        ("4 feet, 11 3/8 inches", 1508.125),
        ("4 ft. 11 3/8 in.", 1508.125),
        ("4' 11 3/8\"", 1508.125),
        ("4'-11 3/8\"", 1508.125),
        ("4' 11 3/8''", 1508.125),
        ("4′ 11⅜″", 1508.125),
        ("4’ 11⅜”", 1508.125),
        ("4\u00a0ft\u00a011\u00a03/8\u00a0in", 1508.125),
        ("1\u202f500 mm", 1500),
        ("1\u2009500 mm", 1500),
        ("1\u00a0500,5 mm", 1500.5),
        ("\ufeff1500 mm\r\n", 1500),
        ("2-3-4", 27.5 * 25.4),  # amateurboatbuilding.com p=6897: 2-3-4 is 2 ft 3 1/2 in
        ("2-3-5", 701.675),
        ("1-07-4", 495.3),
        ("10-11-7", 3349.625),
        ("0-0-1", 3.175),
        ("2-3-5+", 703.2625),  # + taken as plus 1/16: the explicit choice of this program
        ("2-3-5-", 700.0875),
        ("2-3-5 −", 700.0875),
        ("2–3–5", 701.675),
        ("-2-3-5", -701.675),
        # blog.mykos.org prints 19 7/16 in as 1-07-4+; under plus 1/16 it is 19 9/16, and that is what is read
        ("1-07-4+", float(Fraction(313, 16)) * 25.4),
    ],
)
def test_notation(written: str, millimetres: float) -> None:
    assert length(written, None) == pytest.approx(millimetres / 1000, rel=1e-15)
    assert length(written, "ft-in-8") == length(written, "m") == length(written, None)


@pytest.mark.parametrize(
    ("unit", "metres"), [("mm", 0.0015), ("cm", 0.015), ("m", 1.5), ("in", 0.0381), ("ft", 0.4572)]
)
def test_bare_number_is_in_the_default_unit(unit: str, metres: float) -> None:
    assert length(1.5, unit) == length("1.5", unit) == length("1,5", unit) == length("1 1/2", unit) == metres


def test_nought_needs_no_unit_in_a_feet_inches_eighths_survey() -> None:
    assert length(0, "ft-in-8") == length("0", "ft-in-8") == 0.0


HOSTILE = [
    ("1,500 mm", "may divide thousands"),
    ("12,500", "may divide thousands"),
    ("1,500.5 mm", "more than one point or comma"),
    ("1.500.000", "more than one point or comma"),
    ("2-13-1", "has 13 inches"),
    ("2-12-0", "has 12 inches"),
    ("2-3-8", "has 8 eighths"),
    ("2-3", "two numbers where feet-inches-eighths has three"),
    ("4-11-3 ft", "goes on after its eighths"),
    ("4-11-3/8 in", "goes on after its eighths"),
    ("4-11-3++", "goes on after its eighths"),
    ("4 in 2 ft", "inches before its feet"),
    ("4 ft 12 in", "12 inches or more"),
    ("4.5 ft 3 in", "part of a foot"),
    ("4' 11", "does not say what its second number is"),
    ("1'500", "does not say what its second number is"),  # Swiss thousands
    ("1 m 50 cm", "more than one unit"),
    ("1 500 mm", "more than one number"),
    ("1500, 1510", "more than one number"),
    ("", "only a blank"),
    (" \t", "only a blank"),
    ("\u00a0", "only a blank"),
    ("nan", "not a figure that can be read off a tape"),
    ("-Infinity", "not a figure that can be read off a tape"),
    (math.nan, "not a figure that can be read off a tape"),
    (-math.inf, "not a figure that can be read off a tape"),
    (1e300, "not a figure that can be read off a tape"),
    (10**50, "not a figure that can be read off a tape"),
    (10**9, "longer than any vessel"),
    ("1500 m", "longer than any vessel"),
    ("-1500 m", "longer than any vessel"),
    ("1e3 mm", "power of ten"),
    ("1E+03", "power of ten"),
    ("3/0 in", "fraction of nothing"),
    ("59 9/8 in", "does not belong to its number"),
    ("1.5 3/8 in", "does not belong to its number"),
    ("about a yard", "cannot be read as a length"),
    ("mm", "cannot be read as a length"),
    ("--5 mm", "cannot be read as a length"),
    ("5 mm!", "cannot be read as a length"),
    ("1_500", "cannot be read as a length"),
    ("=1500", "cannot be read as a length"),
    ("٣ mm", "cannot be read as a length"),
    ("5 furlongs", "no unit known here"),
    ("9" * 5000, "too long to be one reading"),
    (True, "is not a length"),
    (None, "is not a length"),
    ([1500], "is not a length"),
]


@pytest.mark.parametrize(("written", "complaint"), HOSTILE)
def test_refused_with_its_own_sentence(written: object, complaint: str) -> None:
    with pytest.raises(Misread) as refusal:
        length(written, "mm")
    assert complaint in refusal.value.what
    assert refusal.value.mend
    assert len(str(refusal.value)) < 200


def test_a_bare_number_needs_a_unit() -> None:
    for written in (1500, "1500", 0):
        with pytest.raises(Misread, match="no unit, and none is stated"):
            length(written, None)
    with pytest.raises(Misread, match="feet-inches-eighths survey"):
        length(1500, "ft-in-8")
    with pytest.raises(Misread, match='"yards" is no unit to measure in'):
        length(1500, "yards")


def test_a_number_too_long_for_python_to_print_is_refused_too() -> None:
    with pytest.raises(Misread, match="more than 40 digits"):
        length(10**5000, "mm")


def test_the_comma_mend_offers_both_readings() -> None:
    with pytest.raises(Misread) as refusal:
        length("1,500 mm", None)
    assert refusal.value.mend == "write 1500 or 1.500"


@pytest.mark.parametrize(  # arithmetic on 25.4 mm
    ("millimetres", "parts", "expected"),
    [
        (1085, 8, "42 3/4"),
        (1085, 16, "42 11/16"),
        (1085, 1, "43"),
        (600, 16, "23 5/8"),
        (1000, 16, "39 3/8"),
        (1219.2, 16, "48"),
        (0, 16, "0"),
        (9.525, 8, "3/8"),
        (-9.525, 8, "-3/8"),
        (0.7, 16, "0"),
        (-0.7, 16, "0"),
    ],
)
def test_nearest_fraction_of_an_inch(millimetres: float, parts: int, expected: str) -> None:
    assert inches(millimetres / 1000, parts) == expected


@pytest.mark.parametrize(
    ("millimetres", "unit", "expected"),
    [
        (1234.56, "mm", "1234.56 mm"),
        (1500, "mm", "1500 mm"),
        (-0.001, "mm", "0 mm"),
        (1234.56, "cm", "123.456 cm"),
        (1234.56, "m", "1.23456 m"),
        (2000, "m", "2 m"),
        (701.675, "ft-in-8", "2-3-5"),
        (703.2625, "ft-in-8", "2-3-5+"),
        (495.3, "ft-in-8", "1-7-4"),
        (304.7, "ft-in-8", "1-0-0"),
        (-701.675, "ft-in-8", "-2-3-5"),
        (1508.125, "ft", "4 ft 11 3/8 in"),
        (1219.2, "ft", "4 ft 0 in"),
        (1508.125, "in", "59 3/8 in"),
    ],
)
def test_written_back(millimetres: float, unit: str, expected: str) -> None:
    assert format_length(millimetres / 1000, unit) == expected


def test_written_in_no_known_unit() -> None:
    with pytest.raises(Misread, match="no unit to write in"):
        format_length(1.0, "cubit")


hundredths = st.integers(-(10**7), 10**7)  # of a millimetre
sixteenths = st.integers(-30_000, 30_000)  # of an inch


@given(hundredths, st.sampled_from(["mm", "cm", "m"]))
def test_metric_round_trip_keeps_two_decimals_of_a_millimetre(count: int, unit: str) -> None:
    metres = count / 100_000
    assert length(format_length(metres, unit), None) == metres


@given(sixteenths, st.sampled_from(["in", "ft", "ft-in-8"]))
def test_imperial_round_trip_keeps_sixteenths(count: int, unit: str) -> None:
    metres = float(count * Fraction(254, 160_000))
    assert length(format_length(metres, unit), None) == metres


@given(st.floats(-900, 900), st.sampled_from(units.UNITS))
def test_what_is_shown_is_within_half_its_last_figure(metres: float, unit: str) -> None:
    half = 0.5e-5 if unit in ("mm", "cm", "m") else 0.0254 / 32
    assert length(format_length(metres, unit), None) == pytest.approx(metres, abs=half * (1 + 1e-9))


@given(st.decimals(-900, 900, places=6).map(float), st.sampled_from([("mm", 1000), ("cm", 100), ("m", 1)]))
def test_a_bare_decimal_is_the_float_nearest_to_it(figure: float, unit: tuple[str, int]) -> None:
    assert length(figure, unit[0]) == float(Fraction(repr(figure)) / unit[1])


@given(st.floats(-900, 900))
def test_a_number_in_metres_is_itself(metres: float) -> None:
    assert length(metres, "m") == metres


@given(st.text(alphabet="0123456789 -+/.,'\"⅜½ftinmcm\u00a0e", max_size=20), st.sampled_from([None, *units.UNITS]))
def test_any_text_is_read_or_refused(text: str, unit: str | None) -> None:
    try:
        metres = length(text, unit)
    except Misread:
        return
    assert abs(metres) <= units.LONGEST


def test_exact_constants() -> None:  # NIST SP 811 and Handbook 44, from memory
    assert units.CUBIC_FOOT == 0.028316846592
    assert units.US_GALLON == 0.003785411784
    long_ton = mass("2240 lb")
    assert long_ton / (35 * units.CUBIC_FOOT) == pytest.approx(1025.18, abs=0.005)  # "35 cubic feet per ton", Nicholls


@pytest.mark.parametrize(
    ("written", "kilograms"),
    [
        ("12 kg", 12.0),
        ("1 lb", 0.45359237),  # 1959 agreement: exact
        ("26 lbs", 26 * 0.45359237),
        ("2240 lb", 1016.0469088),  # the long ton, NIST SP 811 (from memory)
        ("850 g", 0.85),
        ("1,2 t", 1200.0),
        ("1/2 lb", 0.226796185),
    ],
)
def test_mass(written: str, kilograms: float) -> None:
    assert mass(written) == pytest.approx(kilograms, rel=1e-15)


@pytest.mark.parametrize(
    ("written", "complaint"),
    [
        (12, "no unit, and none is stated"),
        ("2 tons", "short, a long or a metric ton"),
        ("-1 kg", "less than nothing"),
        ("26 lb 4 g", "more than one unit"),
        ("12 m", "no unit known here"),
        ("1,500 kg", "may divide thousands"),
        ("99999999 t", "more than any vessel weighs"),
        ("", "only a blank"),
        ("heavy", "cannot be read as a mass"),
        (math.nan, "not a figure"),
        (None, "is not a mass"),
    ],
)
def test_mass_refused(written: object, complaint: str) -> None:
    with pytest.raises(Misread, match=complaint):
        mass(written)
    assert mass(12, "kg") == 12.0
