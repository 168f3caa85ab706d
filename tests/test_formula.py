"""Named lengths and the sums made of them; expected figures are worked by hand or by Python's own arithmetic."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tapeloft.model.survey.formula import BadFormula, evaluated, resolved
from tapeloft.model.units import LONGEST

LENGTHS = {"sole_step": 0.16, "coaming": 0.5, "nothing": 0.0, "höhe": 1.0}


@pytest.mark.parametrize(
    ("formula", "metres"),
    [
        ("=sole_step", 0.16),
        ("sole_step", 0.16),
        ("= sole_step*2 + 12", 0.332),  # 2 multiplies, so it is a number; 12 is added, so it is 12 mm
        ("=12 + sole_step", 0.172),
        ("=(12 + 3) * sole_step", 2.4),  # 15 multiplies
        ("=3 * 4", 0.012),  # nothing but numbers: 12 mm
        ("=1200/7*7", 1.2),  # exact within
        ("=-sole_step - -coaming", 0.34),
        ("=coaming/4 - 0.5", 0.1245),
        ("=coaming * sole_step / coaming", 0.16),  # by way of an area
        ("=sole_step / coaming * 2 * coaming", 0.32),  # by way of a ratio
        ("=(coaming / sole_step + 1) * sole_step", 0.66),
        ("=sole_step × 2 − 3", 0.317),
        ("=höhe ÷ 4", 0.25),
        ("=sole_step + .5", 0.1605),
        ("=nothing", 0.0),
        ("=" + "(" * 90 + "coaming" + ")" * 90, 0.5),
    ],
)
def test_sum(formula: str, metres: float) -> None:
    assert evaluated(formula, LENGTHS, "mm") == metres


def test_a_bare_number_is_in_the_default_unit() -> None:
    assert evaluated("=sole_step + 3/8", LENGTHS, "in") == 0.169525  # 160 + 9.525 mm
    assert evaluated("=sole_step * 2", LENGTHS, None) == 0.32
    assert evaluated("=sole_step + 0", LENGTHS, "ft-in-8") == 0.16
    for unit in (None, "ft-in-8"):
        for formula in ("=sole_step + 12", "=12 - sole_step", "=12"):
            with pytest.raises(BadFormula, match="has no unit"):
                evaluated(formula, LENGTHS, unit)


@pytest.mark.parametrize(
    ("formula", "complaint"),
    [
        ("=sole_step * coaming", "makes an area, not a length"),
        ("=sole_step * sole_step * sole_step", "makes a volume"),
        ("=sole_step / coaming", "makes a ratio"),
        ("=100 / coaming", "makes a length to the power -1"),
        ("=sole_step / coaming + coaming", "a ratio is added to, or taken from, a length"),
        ("=coaming - sole_step * coaming", "a length is added to, or taken from, an area"),
        ("=3 + sole_step * coaming", "a number is added to, or taken from, an area"),
        ("=coaming / 0", "divides by nothing"),
        ("=coaming / nothing", "divides by nothing"),
        ("=coaming / (sole_step - sole_step)", "divides by nothing"),
        ("=solestep + 1", '"solestep" is no parameter; did you mean "sole_step"'),
        ("=bulwark", "is no parameter; known: coaming"),
        ("=coaming ** 2", "is no sum that can be worked out"),
        ("=coaming // 2", "is no sum that can be worked out"),
        ("=coaming % 2", 'from "% 2" on'),
        ("=coaming ^ 2", 'from "^ 2" on'),
        ("=coaming.real", 'from ".real" on'),
        ("=coaming[0]", 'from "[0]" on'),
        ("=coaming(2)", "is no sum that can be worked out"),
        ("=max(coaming)", '"max" is no parameter'),
        ("=__import__('os')", "from \"'os')\" on"),
        ("='coaming'", "from \"'coaming'\" on"),
        ("=[coaming for coaming in coaming]", 'from "[coaming for" on'),
        ("=coaming if coaming else 1", 'from "if coaming e" on'),
        ("=lambda: coaming", 'from "lambda: coam" on'),
        ("=True", 'from "True" on'),
        ("=coaming; sole_step", 'from "; sole_step" on'),
        ("=coaming = 3", 'from "= 3" on'),
        ("=2 in", 'from "in" on'),
        ("=2coaming", 'from "2coaming" on'),
        ("=0x10", 'from "0x10" on'),
        ("=1e3", 'from "1e3" on'),
        ("=coaming sole_step", "is no sum that can be worked out"),
        ("=coaming\nsole_step", "is no sum that can be worked out"),
        ("=012", "is no sum that can be worked out"),
        ("=1..2", "is no sum that can be worked out"),
        ("=(coaming", "is no sum that can be worked out"),
        ("=coaming +", "is no sum that can be worked out"),
        ("=1,5 * coaming", "has a comma in it"),
        ("=coaming + 4-11-3", "may hold feet-inches-eighths or subtractions"),
        ("=9*9*9*9*9*9*9*9", "more than any vessel's length"),
        ("=", "nothing after the ="),
        ("=" + "coaming+" * 1000 + "1", "too long"),
        ("=" + "(" * 150, "is no sum that can be worked out"),
    ],
)
def test_refused(formula: str, complaint: str) -> None:
    with pytest.raises(BadFormula) as refusal:
        evaluated(formula, LENGTHS, "mm")
    assert complaint in refusal.value.what
    assert refusal.value.mend
    assert len(refusal.value.all) == 1


def test_a_hundred_signs_in_a_row_are_worked_or_refused_but_never_overflow() -> None:
    assert evaluated("=" + "-" * 100 + "coaming", LENGTHS, "mm") == 0.5


def test_subtractions_with_spaces_are_subtractions() -> None:
    assert evaluated("=900 - 11 - 3", LENGTHS, "mm") == 0.886
    assert evaluated("=coaming-11-3", LENGTHS, "mm") == 0.486


numbers = st.decimals("0.1", "50", places=2)


@given(numbers, numbers, numbers)
def test_agrees_with_decimal_arithmetic(a: object, b: object, c: object) -> None:
    expected = (Fraction(str(a)) - Fraction(str(b))) / 4 + Fraction(str(c)) * 3
    assert evaluated(f"=({a} - {b}) / 4 + {c} * 3", {}, "m") == float(expected)


@given(st.text(alphabet="ab01.,+-*/()= _\n'[]^%", max_size=30))
def test_any_text_is_worked_or_refused(text: str) -> None:
    try:
        metres = evaluated("=" + text, {"a": 0.1, "b": 0.02}, "mm")
    except BadFormula:
        return
    assert abs(metres) <= LONGEST


def test_parameters_refer_to_each_other_in_any_order() -> None:
    found = resolved({"c": "=b + 1", "b": "=a*2", "a": 160, "d": "6 3/8 in", "e": "2-3-4"}, "mm")
    assert found == {"c": 0.321, "b": 0.32, "a": 0.16, "d": 0.161925, "e": 0.6985}
    assert list(found) == ["c", "b", "a", "d", "e"]


def test_overrides_are_written_in_the_same_notation() -> None:
    written = {"step": 160, "riser": "=step / 2", "tread": "1 m"}
    assert resolved(written, "mm", {"step": "7 in"}) == {"step": 0.1778, "riser": 0.0889, "tread": 1.0}
    assert resolved(written, "mm", {"step": 180})["riser"] == 0.09
    assert resolved(written, "mm", {"step": "=tread / 8"})["riser"] == 0.0625
    assert written["step"] == 160


def test_a_circle_is_named_the_way_it_runs() -> None:
    with pytest.raises(BadFormula) as refusal:
        resolved({"sole_step": "=step + 1", "step": "=riser * 2", "riser": "=sole_step / 2", "beam": 900}, "mm")
    assert refusal.value.what == "it goes round in a circle: sole_step → step → riser → sole_step"
    assert refusal.value.name == "sole_step"
    with pytest.raises(BadFormula, match="circle: a → a"):
        resolved({"a": "=a + 1"}, "mm")


def test_every_fault_is_told_at_once_in_the_order_written() -> None:
    with pytest.raises(BadFormula) as refusal:
        resolved(
            {
                "lean": "=round_1 + 1",  # leans on a circle: not told
                "round_1": "=round_2",
                "round_2": "=round_1",
                "itself": "=itself",
                "comma": "1,500",
                "sole-step": 3,
                "in": 2,
                "slip": "=fai",  # close to one that is faulty too
                "fair": "=wood + 2",
                "nought": "=1/0",
                "blank": "",
                "flag": True,
                "wood": float("nan"),
            },
            "mm",
            {"typo": "3"},
        )
    told = {name: what for name, what, _ in refusal.value.all}
    assert list(told) == [
        "round_1", "itself", "comma", "sole-step", "in", "slip", "nought", "blank", "flag", "wood", "typo"
    ]  # fmt: skip
    assert told["slip"] == '"fai" is no parameter; did you mean "fair"?'
    assert "no formula can name" in told["sole-step"]
    assert "no parameter is called" in told["typo"]
    assert all(mend for _, _, mend in refusal.value.all)
    assert str(refusal.value).count("\n") == len(told) - 1


def test_a_long_chain_and_a_thousand_circles() -> None:
    chain = {f"p{n}": f"=p{n + 1} + 1" for n in range(999)} | {"p999": 0}
    assert resolved(chain, "mm")["p0"] == 0.999
    with pytest.raises(BadFormula) as refusal:
        resolved({f"p{n}": f"=p{n ^ 1}" for n in range(1000)}, "mm")
    assert len(refusal.value.all) == 500
    with pytest.raises(BadFormula) as refusal:
        resolved({f"p{n}": f"=p{(n + 1) % 1000}" for n in range(1000)}, "mm")
    assert len(str(refusal.value)) < 200
    with pytest.raises(BadFormula, match="there are 1001 parameters"):
        resolved(chain | {"one_more": 1}, "mm")
