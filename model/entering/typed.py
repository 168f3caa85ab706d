"""From a line as a person typed it to the text that a survey has for it, letter for letter where it is a reading."""

import datetime
import re
import types
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from tapeloft.model.entering.splicing import quoted
from tapeloft.model.errors import nearest
from tapeloft.model.survey.measures import WALLS, shown
from tapeloft.model.survey.oddities import VAST
from tapeloft.model.survey.reader import AsWritten
from tapeloft.model.units import Misread, length
from tapeloft.shapes.readings import Reading

LONGEST_TEXT = 400
_NUMBER = re.compile(r"-?(0|[1-9][0-9]*)(\.[0-9]+)?")
_APART = re.compile(r"\s*;\s*|,\s+|\s+to\s+")
_BY = re.compile(r"""(?<=[0-9a-z"'])\s*[x×]\s*(?=[0-9])""", re.IGNORECASE)
_PLAIN = re.compile(r"[0-9]+([.,][0-9]+)?(mm|cm|m|in)?|[0-9]+-[0-9]+-[0-9]+[+-]?")
_COMMA = re.compile(r"[0-9],[0-9]{3}")
_FINE_COMMA = re.compile(r"[0-9],[0-9]{2}")
YES, NO = ("y", "yes", "true"), ("n", "no", "false")


def toml_text(hint: Any, line: str, unit: str | None) -> str:
    """Return *line* as TOML, of the type that *hint* says; unit: of bare numbers. Raises Misread.

    A reading stays as it was typed: a number where it is one to TOML too, else in quotes.

    >>> toml_text(float, "18 3/8 in", "mm"), toml_text(float, "1234.50", "mm"), toml_text(bool, "y", None)
    ('"18 3/8 in"', '1234.50', 'true')
    >>> toml_text(tuple[float, float], "402 318", "mm"), toml_text(Literal["dry", "wet"], "w", None)
    ('[402, 318]', '"wet"')
    """
    bare, least, most = _bare(hint)
    if get_origin(bare) is Literal:
        return quoted(_word(get_args(bare), line))
    if bare is bool:
        return _yes_or_no(line)
    if bare is datetime.date:
        return _date(line)
    if bare is str:
        return quoted(_text(line))
    readings = several(line, unit) if most > 1 else [line]
    if not least <= len(readings) <= most:
        told = f"{len(readings)} reading{'' if len(readings) == 1 else 's'} where {least} are needed"
        raise Misread(told, "part them by a comma and a blank: 402, 318")
    parts = [reading_text(one) for one in readings]
    return parts[0] if len(parts) == 1 and least == 1 else f"[{', '.join(parts)}]"


def reading_text(typed: str) -> str:
    """Return one reading as TOML: a bare number, or text in quotes.

    >>> reading_text("0.5"), reading_text("007"), reading_text("=step * 2")
    ('0.5', '"007"', '"=step * 2"')
    """
    text = _text(typed)
    return text if _NUMBER.fullmatch(text) else quoted(text)


def several(line: str, unit: str | None) -> list[str]:
    """Return the readings in a line: parted by a comma and a blank, ";", "to", "x", or blanks between plain numbers.

    Raises Misread where a line may be one reading or two.

    >>> several("402, 318", "mm"), several("18 3/8, 6 1/2 in", "in"), several("4-11-3 2-0-0", "ft-in-8")
    (['402', '318'], ['18 3/8', '6 1/2 in'], ['4-11-3', '2-0-0'])
    >>> several("18 3/8 in", "mm"), several("bottom to 350", "mm"), several("20 in x 16 in", "mm")
    (['18 3/8 in'], ['bottom', '350'], ['20 in', '16 in'])
    >>> several("1 200", "mm")
    Traceback (most recent call last):
    tapeloft.model.units.Misread: "1 200" may be one reading or two; write 1200, or 1, 200
    """
    line = line if "=" in line else _BY.sub("; ", line)  # the names in a formula may have an x
    parts = [part for part in _APART.split(line.strip().rstrip(",;")) if part]
    if len(parts) == 1:
        parts = _by_blanks(line.strip(), unit)
    for part in parts:
        if _COMMA.search(part) or (unit == "mm" and _FINE_COMMA.search(part)):
            what = f'the comma in "{part}" may part two readings or be a decimal comma'
            raise Misread(what, f"write {part.replace(',', ', ')} for two, or {part.replace(',', '.')} for one")
    return parts


def _by_blanks(line: str, unit: str | None) -> list[str]:
    parts = line.split()
    if len(parts) < 2 or not all(_PLAIN.fullmatch(part) or part.lower() in WALLS for part in parts):
        return [line]
    if re.fullmatch(r"[0-9]{1,3}( [0-9]{3})+", line) and _likely(line.replace(" ", ""), unit):
        raise Misread(f'"{line}" may be one reading or two', f"write {line.replace(' ', '')}, or {', '.join(parts)}")
    return parts


def _likely(number: str, unit: str | None) -> bool:
    try:
        return length(number, unit) <= VAST
    except Misread:
        return False


def _bare(hint: Any) -> tuple[Any, int, int]:
    """Return the type under a hint, and how many readings it takes at least and at most."""
    least, most, marker = 1, 1, None
    while get_origin(hint) is Annotated:
        hint, *about = get_args(hint)
        marker = next((one for one in about if isinstance(one, Reading)), marker)
    if get_origin(hint) in (Union, types.UnionType):
        kinds = [_bare(one) for one in get_args(hint) if one is not types.NoneType]
        return kinds[0][0], min(kind[1] for kind in kinds), max(kind[2] for kind in kinds)
    if get_origin(hint) is tuple:
        if isinstance(marker, AsWritten):
            return float, marker.least, marker.most
        args = get_args(hint)
        return (float, 1, 99) if args[-1] is Ellipsis else (float, len(args), len(args))
    return hint, least, most


def _text(line: str) -> str:
    text = " ".join(line.split())
    if len(text) > LONGEST_TEXT:
        raise Misread(f"{len(text)} letters are too many for one answer", "write it shorter")
    if not text.isprintable() or "\ufffd" in text:
        raise Misread("there are signs in this that no keyboard types", "type it again")
    return text[1:-1] if len(text) > 2 and text[0] == text[-1] == '"' else text


def _word(known: tuple[str, ...], line: str) -> str:
    said = _text(line).lower()
    words = [word for word in known if word]
    begun = [word for word in words if word == said] or [word for word in words if said and word.startswith(said)]
    if len(begun) != 1:
        hint = nearest(said, words) if not begun else ""
        what = f"{shown(line)} is none of {', '.join(words)}" if not begun else f"{shown(line)} could be several"
        raise Misread(what + (hint if "mean" in hint else ""), "write one of them" if not begun else ", ".join(begun))
    return begun[0]


def _yes_or_no(line: str) -> str:
    said = _text(line).lower()
    if said not in YES + NO:
        raise Misread(f"{shown(line)} is neither yes nor no", "write y or n")
    return "true" if said in YES else "false"


def _date(line: str) -> str:
    try:
        return datetime.date.fromisoformat(_text(line)).isoformat()
    except ValueError:
        raise Misread(f"{shown(line)} is no date", "write it as 2026-05-31") from None
