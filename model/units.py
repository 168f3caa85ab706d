"""Lengths and masses as the trade writes them, read exactly into metres and kilograms, and written back."""

import math
import re
import unicodedata
from decimal import Decimal
from fractions import Fraction

# Exact by the international yard and pound agreement of 1959 (from memory): yard 0.9144 m, pound 0.45359237 kg.
INCH = Fraction(254, 10_000)
FOOT = 12 * INCH
POUND = Fraction(45_359_237, 100_000_000)

LITRE = 1e-3
"""m³."""
CUBIC_FOOT = float(FOOT**3)
"""m³, 0.028316846592 (NIST Handbook 44, from memory)."""
US_GALLON = float(231 * INCH**3)
"""m³, 0.003785411784: 231 cubic inches (NIST Handbook 44, from memory)."""
FRESH_WATER = 1000.0
"""kg/m³, the handbook figure; pure water at 4 °C is 999.975 (IAPWS-IF97)."""
SEA_WATER = 1025.0
"""kg/m³, the handbook figure; salinity 35 at 15 °C is 1025.98 (TEOS-10)."""

UNITS = ("mm", "cm", "m", "in", "ft", "ft-in-8")
"""The units a file can state as its own; ft-in-8 is the feet-inches-eighths of a table of offsets."""

LONGEST = 1000
"""m. No vessel is longer, so a reading that is has lost its decimal point or its unit."""

SIXTEENTH = {"+": Fraction(1, 16), "-": Fraction(-1, 16), "": Fraction(0)}
"""inches. What a sign after the eighths adds. Some yards put it the other way about; this program never does."""

HEAVIEST = 10**9
"""kg. No vessel weighs as much."""

_METRES = {"mm": Fraction(1, 1000), "cm": Fraction(1, 100), "m": Fraction(1), "in": INCH, "ft": FOOT, "yd": 3 * FOOT}
_KILOGRAMS = {"kg": Fraction(1), "g": Fraction(1, 1000), "t": Fraction(1000), "lb": POUND}
_SPELLINGS = {
    "millimetre": "mm", "millimeter": "mm", "centimetre": "cm", "centimeter": "cm", "metre": "m", "meter": "m",
    "inch": "in", "inches": "in", '"': "in", "foot": "ft", "feet": "ft", "'": "ft", "yard": "yd",
    "kilogram": "kg", "kilo": "kg", "gram": "g", "tonne": "t", "pound": "lb",
}  # fmt: skip
_SPELLINGS |= {f"{word}s": unit for word, unit in _SPELLINGS.items() if word.isalpha() and not word.endswith("s")}
_SPELLINGS |= {"lbs": "lb", "kgs": "kg"}

_ALIKE = str.maketrans(
    dict.fromkeys("″”“„ʺ˝", '"') | dict.fromkeys("′’‘ʹ´`", "'") | dict.fromkeys("−–—‐‑", "-") | {"⁄": "/"}
    | dict.fromkeys("\ufeff\u200b", "")
)  # fmt: skip
_FIXED_SPACE = "\u00a0\u2007\u2009\u200a\u202f"
_GROUPED = re.compile(rf"(?<![0-9.,/])[0-9]{{1,3}}(?:[{_FIXED_SPACE}][0-9]{{3}})+(?![0-9/])")
_NUMBER = r"[0-9]+(?:[.,][0-9]+)?|[.,][0-9]+"
_PART = re.compile(
    rf"(?:(?P<top>[0-9]+) ?/ ?(?P<bottom>[0-9]+)"
    rf"|(?P<number>{_NUMBER})(?:[ -](?P<over>[0-9]+) ?/ ?(?P<under>[0-9]+))?)"
    r" ?(?P<unit>[a-z]+\.?|''|\"|')?(?: ?[,-]? ?)"
)
_OFFSETS = re.compile(r"([0-9]+)-([0-9]+)-([0-9]+) ?([+-]?)")
_FIGURES = re.compile(r"-?[0-9]+(?:\.[0-9]+)?")
_POWERS = {"mm": "e-3", "cm": "e-2", "m": ""}  # of ten, to metres


class Misread(ValueError):
    """What was written is no reading; `what` says what is wrong with it and `mend` what would put it right."""

    def __init__(self, what: str, mend: str) -> None:
        super().__init__(what, mend)
        self.what, self.mend = what, mend

    def __str__(self) -> str:
        return f"{self.what}; {self.mend}"


class TooLong(Misread):
    """A length that no vessel has: its unit, or that of the whole sheet, is another."""


class NoUnit(Misread):
    """A bare number where no unit is stated, neither behind it nor for the whole sheet."""


def length(written: object, default_unit: str | None) -> float:
    """Return a length in metres, the float nearest to exactly what was written.

    `written` is a number or a text: `1500`, `1.5 m`, `1,5 m`, `150 cm`, `4 ft 11 3/8 in`, `4' 11⅜"`, `59 3/8 in`,
    or feet-inches-eighths `4-11-3`, where a + or - at the end is a sixteenth of an inch more or less. A number
    without a unit is in `default_unit`, one of `UNITS`; under ft-in-8 nothing but 0 goes without. A minus in front
    makes the whole length negative. A comma followed by exactly three digits might divide thousands: refused.
    Raises Misread.

    >>> length("4 ft 11 3/8 in", None), length("4-11-3", "mm"), length("1,5 m", None), length(1234.56, "mm")
    (1.508125, 1.508125, 1.5, 1.23456)
    >>> length("2-13-1", None)
    Traceback (most recent call last):
    tapeloft.model.units.Misread: "2-13-1" has 13 inches; 12 inches are a foot: the middle number goes to 11
    """
    if default_unit is not None and default_unit not in UNITS:
        raise Misread(f'"{default_unit}" is no unit to measure in', f"take one of {', '.join(UNITS)}")
    if (metres := _bare_decimal(written, default_unit)) is not None:
        return metres
    said, text = _said(written), _plain(written, "a length")
    sign, text = (-1, text[1:].lstrip()) if text.startswith("-") else (1, text.removeprefix("+").lstrip())
    offsets = _OFFSETS.match(text)
    exact = _offsets(said, offsets) if offsets else _length(said, text, default_unit)
    if exact > LONGEST:
        raise TooLong(f"{said} is longer than any vessel", "look at the unit and the decimal point")
    return float(sign * exact)


def _bare_decimal(written: object, unit: str | None) -> float | None:
    """Return what most readings are, a bare decimal in a metric unit, in metres; None of anything else."""
    power = _POWERS.get(unit or "")
    if power is None or not isinstance(written, int | float) or not abs(written) < 1e6:
        return None
    figures = repr(written)
    metres = float(figures + power) if _FIGURES.fullmatch(figures) else math.inf
    return metres + 0.0 if abs(metres) <= LONGEST else None  # no nought below nought


def mass(written: object, default_unit: str | None = None) -> float:
    """Return a mass in kilograms from a text, `12 kg`, `26 lb`, `850 g`, `1,2 t`, or a number in `default_unit`.

    Raises Misread, also for a mass below nothing and for the ton, which is three different masses.

    >>> mass("26 lb"), mass(12, "kg")
    (11.79340162, 12.0)
    """
    said, text = _said(written), _plain(written, "a mass")
    if text.startswith("-"):
        raise Misread(f"{said} is less than nothing", "leave the minus out")
    amount, unit = _one(said, _parts(said, text.removeprefix("+").lstrip(), "a mass"))
    if unit.rstrip("s") == "ton":
        raise Misread(f"{said} could be a short, a long or a metric ton", "write t for 1000 kg, or give it in kg or lb")
    kilograms = amount * _scale(said, unit or default_unit or "", _KILOGRAMS, "12 kg")
    if kilograms > HEAVIEST:
        raise Misread(f"{said} is more than any vessel weighs", "look at the unit and the decimal point")
    return float(kilograms)


def format_length(metres: float, unit: str) -> str:
    """Return a length as it is written in one of `UNITS`, read back by `length` to the last figure shown.

    Metric to 0.01 mm, inches to the nearest sixteenth, feet-inches-eighths likewise: an odd sixteenth is written
    as a + on the eighth below, never as a - on the one above.

    >>> [format_length(1.0849, unit) for unit in UNITS]
    ['1084.9 mm', '108.49 cm', '1.0849 m', '42 11/16 in', '3 ft 6 11/16 in', '3-6-5+']
    """
    if unit in ("mm", "cm", "m"):
        figures = f"{metres / float(_METRES[unit]):.{ {'mm': 2, 'cm': 3, 'm': 5}[unit] }f}".rstrip("0").rstrip(".")
        return f"{'0' if figures == '-0' else figures} {unit}"
    if unit == "in":
        return f"{inches(metres)} in"
    if unit not in UNITS:
        raise Misread(f'"{unit}" is no unit to write in', f"take one of {', '.join(UNITS)}")
    sixteenths = _nearest_parts(abs(metres), 16)
    sign = "-" if metres < 0 and sixteenths else ""
    feet, rest = divmod(sixteenths, 12 * 16)
    if unit == "ft":
        return f"{sign}{feet} ft {_mixed(Fraction(rest, 16))} in"
    return f"{sign}{feet}-{rest // 16}-{rest % 16 // 2}{'+' if rest % 2 else ''}"


NEARLY = 0.01
"""Of a step: what falls short of a figure by no more is told as the figure, a hundredth of a millimetre."""
STEPS = {"mm": 1e-3, "cm": 1e-3, "m": 1e-3, "in": float(INCH) / 16, "ft": float(INCH) / 16, "ft-in-8": float(INCH) / 16}
"""What lengths are told to: the millimetre or the sixteenth."""


def figure(metres: float, unit: str) -> str:
    """Return a length to the nearest millimetre or sixteenth, without its unit, as drawings and tables tell it.

    >>> [figure(1.2346, unit) for unit in ("mm", "m", "in", "ft-in-8")]
    ['1235', '1.235', '48 5/8', '4-0-5']
    """
    step = STEPS[unit]
    return format_length(round(metres / step) * step, unit).removesuffix(f" {unit}" if unit != "ft" else "")


def figure_down(metres: float, unit: str) -> str:
    """Return a length as `figure` does, rounded down: a thing made to the figure must still fit.

    >>> figure_down(1.2349, "mm"), figure_down(1.2340000000001, "mm"), figure_down(0.9, "in")
    ('1234', '1234', '35 3/8')
    """
    step = STEPS[unit]
    return figure(math.floor(metres / step + NEARLY) * step, unit)


def figure_up(metres: float, unit: str) -> str:
    """Return a length as `figure` does, rounded up: what is no smaller does.

    >>> figure_up(1.2341, "mm"), figure_up(1.2339999999999, "mm"), figure_up(0.9, "in")
    ('1235', '1234', '35 7/16')
    """
    step = STEPS[unit]
    return figure(math.ceil(metres / step - NEARLY) * step, unit)


def inches(metres: float, parts: int = 16) -> str:
    """Return a length in inches to the nearest of so many *parts* of one, halfway going up, the fraction reduced.

    >>> inches(1.085, 8), inches(1.085), inches(1.085, 1)
    ('42 3/4', '42 11/16', '43')
    """
    count = _nearest_parts(abs(metres), parts)
    return ("-" if metres < 0 and count else "") + _mixed(Fraction(count, parts))


def _nearest_parts(metres: float, parts: int) -> int:
    return math.floor(Fraction(metres) / INCH * parts + Fraction(1, 2))


def _mixed(amount: Fraction) -> str:
    whole, rest = divmod(amount, 1)
    return " ".join([str(whole)] * bool(whole or not rest) + [f"{rest.numerator}/{rest.denominator}"] * bool(rest))


def _said(written: object) -> str:
    if isinstance(written, str):
        return f'"{written}"' if len(written) <= 48 else f'"{written[:40]}…"'
    if isinstance(written, int) and abs(written) > 10**40:
        return "a number of more than 40 digits"
    return repr(written)[:50]


def _plain(written: object, kind: str) -> str:
    """Return what was written with one spelling for each sign, quote, space and fraction."""
    said = _said(written)
    if isinstance(written, bool) or not isinstance(written, str | int | float):
        raise Misread(f"{said} is not {kind}", "write a number, or a number and its unit")
    if isinstance(written, int | float):
        if not abs(written) < 1e30:  # also when it is not a number at all
            raise Misread(f"{said} is not a figure that can be read off a tape", "write the reading itself")
        return format(Decimal(str(written)), "f")
    text = _GROUPED.sub(lambda found: re.sub(f"[{_FIXED_SPACE}]", "", found[0]), written[:200].translate(_ALIKE))
    text = "".join(map(_unstacked, text)).translate(_ALIKE)
    text = " ".join(text.replace("''", '"').casefold().split())
    if not text:
        raise Misread(f"there is no {kind.split()[-1]} here, only a blank", "write the reading, or leave the line out")
    if len(text) > 60:
        raise Misread(f"{said} is too long to be one reading", "write one number and its unit")
    if re.search("[0-9]e[+-]?[0-9]", text):
        raise Misread(f"{said} is written with a power of ten", "write the number out")
    if text.lstrip("+-") in ("nan", "inf", "infinity"):
        raise Misread(f"{said} is not a figure that can be read off a tape", "write the reading itself")
    return text


def _unstacked(character: str) -> str:
    """Return ⅜ as 3/8 with a space before it, anything else as it is."""
    apart = unicodedata.normalize("NFKC", character)
    return f" {apart}" if "\u2044" in apart else character


def _offsets(said: str, found: re.Match[str]) -> Fraction:
    feet, inch, eighth, sign = found.groups()
    if found.end() < len(found.string):
        raise Misread(f"{said} goes on after its eighths", "write feet-inches-eighths alone, as 4-11-3")
    if int(inch) > 11:
        raise Misread(f"{said} has {int(inch)} inches", "12 inches are a foot: the middle number goes to 11")
    if int(eighth) > 7:
        raise Misread(f"{said} has {int(eighth)} eighths", "8 eighths are an inch: the last number goes to 7")
    return int(feet) * FOOT + (int(inch) + Fraction(int(eighth), 8) + SIXTEENTH[sign]) * INCH


def _length(said: str, text: str, default_unit: str | None) -> Fraction:
    if re.fullmatch(r"[0-9]+-[0-9]+ ?[+-]?", text):
        raise Misread(f"{said} has two numbers where feet-inches-eighths has three", "write the eighths too, as 4-11-0")
    parts = [(amount, _SPELLINGS.get(unit, unit)) for amount, unit in _parts(said, text, "a length")]
    if [unit for _, unit in parts] == ["ft", "in"]:
        return _feet_and_inches(said, parts[0][0], parts[1][0])
    amount, unit = _one(said, parts)
    if not unit and default_unit == "ft-in-8":
        if amount:
            raise Misread(f"{said} has no unit, and this is a feet-inches-eighths survey", "write 4-11-3, or the unit")
        return amount
    return amount * _scale(said, unit or default_unit or "", _METRES, "1500 mm")


def _feet_and_inches(said: str, feet: Fraction, inch: Fraction) -> Fraction:
    if feet.denominator != 1:
        raise Misread(f"{said} has a part of a foot and inches as well", "write whole feet before the inches")
    if inch >= 12:
        raise Misread(f"{said} has 12 inches or more beside its feet", "12 inches are a foot: carry them over")
    return feet * FOOT + inch * INCH


def _one(said: str, parts: list[tuple[Fraction, str]]) -> tuple[Fraction, str]:
    units = [unit for _, unit in parts]
    if len(parts) == 1:
        return parts[0]
    if units == ["in", "ft"]:
        raise Misread(f"{said} has its inches before its feet", "write the feet first")
    if units == ["ft", ""]:
        raise Misread(f"{said} does not say what its second number is", "write the inch mark after it")
    if not any(units[:-1]):
        raise Misread(f"{said} is more than one number", "write one number, with no space inside it")
    raise Misread(f"{said} is in more than one unit", "only feet and inches go together: write it in one unit")


def _scale(said: str, unit: str, scales: dict[str, Fraction], example: str) -> Fraction:
    if not unit:
        raise NoUnit(f"{said} has no unit, and none is stated for it", f"write the unit after it, as {example}")
    unit = _SPELLINGS.get(unit, unit)
    if unit not in scales:
        raise Misread(f'"{unit}" in {said} is no unit known here', f"the units are {', '.join(scales)}")
    return scales[unit]


def _parts(said: str, text: str, kind: str) -> list[tuple[Fraction, str]]:
    """Return each amount in the text with the unit behind it, in order."""
    if re.search(r"[0-9][.,][0-9]+[.,][0-9]", text):
        raise Misread(f"{said} has more than one point or comma in a number", "leave out those between thousands")
    parts, at = [], 0
    while at < len(text):
        found = _PART.match(text, at)
        if not found:
            break
        parts.append((_amount(said, found), (found["unit"] or "").rstrip(".")))
        at = found.end()
    if at < len(text) or not parts:
        raise Misread(f"{said} cannot be read as {kind}", "write a number and its unit, as 1500 mm or 4 ft 11 3/8 in")
    return parts


def _amount(said: str, found: re.Match[str]) -> Fraction:
    """Return the number of one part: whole, decimal, a fraction, or whole and fraction."""
    number, top, bottom = found["number"] or "0", found["top"] or found["over"], found["bottom"] or found["under"]
    if re.fullmatch(r"[1-9][0-9]{0,2},[0-9]{3}", number):
        raise Misread(
            f"the comma in {said} may divide thousands or be a decimal comma",
            f"write {number.replace(',', '')} or {number.replace(',', '.')}",
        )
    if top is None:
        return Fraction(number.replace(",", "."))
    if int(bottom) == 0:
        raise Misread(f"{said} has a fraction of nothing", "write what it is a part of, as 3/8")
    if found["number"] and (not number.isdigit() or int(top) >= int(bottom)):
        raise Misread(f"{said} has a fraction that does not belong to its number", "write it as 59 3/8")
    return int(number) + Fraction(int(top), int(bottom))
