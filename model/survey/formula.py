"""Lengths that are sums of named lengths: `=sole_step * 2 + 12`."""

import ast
import re
from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from graphlib import CycleError, TopologicalSorter
from keyword import iskeyword
from typing import TypeGuard
from unicodedata import normalize

from tapeloft.model.errors import nearest
from tapeloft.model.units import LONGEST, Misread, length

LONGEST_FORMULA = 200
"""Characters; more is no longer simple arithmetic."""
MOST_PARAMETERS = 1000

_TOKEN = re.compile(r"\s*(?:(?P<number>(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?!\w))|(?P<name>[^\W\d]\w*)|[-+*/()])\s*")
_SIGNS = str.maketrans({"×": "*", "·": "*", "÷": "/", "−": "-", "–": "-"})


class BadFormula(ValueError):
    """A formula that gives no length: `what` is wrong, `mend` puts it right, `name` is the parameter it stands for.

    Where several parameters are at fault, `all` holds (name, what, mend) of each and the others tell of the first.
    """

    def __init__(self, what: str, mend: str, name: str = "", others: tuple["BadFormula", ...] = ()) -> None:
        super().__init__(what, mend, name, others)
        self.what, self.mend, self.name = what, mend, name
        self.all: tuple[tuple[str, str, str], ...] = ((name, what, mend), *(other.all[0] for other in others))

    def __str__(self) -> str:
        return "\n".join(f"{name}: {what}; {mend}" if name else f"{what}; {mend}" for name, what, mend in self.all)


@dataclass(frozen=True)
class _Amount:
    """A number of metres to a power. Power None: a bare literal, a length or a plain number as its place demands."""

    value: Fraction
    power: int | None = None


def evaluated(formula: str, parameters: Mapping[str, float], default_unit: str | None) -> float:
    """Return the length, m, that a formula gives with the parameters in metres; a leading = is optional.

    + - * / and brackets. A literal number counts as a length in the default unit where it is added to one, and as
    a plain number where it multiplies or divides. Raises BadFormula, also where the result is no length.

    >>> evaluated("=sole_step * 2 + 12", {"sole_step": 0.16}, "mm")
    0.332
    >>> evaluated("=sole_step * sole_step", {"sole_step": 0.16}, "mm")
    Traceback (most recent call last):
    tapeloft.model.survey.formula.BadFormula: "sole_step * sole_step" makes an area, not a length; divide it by a length
    """
    text = _text(formula)
    names = _names(text)
    _refuse_unknown(names, parameters)
    one = _unit_length(default_unit)
    amount = _worked(text, {name: _Amount(Fraction(str(parameters[name])), 1) for name in names}, one)
    if amount.power is None:
        amount = _as_length(amount, one)
    if amount.power != 1:
        mend = "divide it by a length" if (amount.power or 0) > 1 else "multiply it by a length"
        raise BadFormula(f'"{text}" makes {_kind(amount)}, not a length', mend)
    if abs(amount.value) > LONGEST:
        raise BadFormula(f'"{text}" comes to more than any vessel\'s length', "look at its units and multipliers")
    return float(amount.value)


def resolved(
    parameters: Mapping[str, object],
    default_unit: str | None,
    overrides: Mapping[str, object] | None = None,
    units: Mapping[str, str | None] | None = None,
) -> dict[str, float]:
    """Return every parameter in metres; each is a length as written, or a formula that may name any other.

    overrides replace parameters, written in the same notation. units: the default unit of those that stand on another
    sheet. Raises BadFormula with all that are at fault; one that only leans on a faulty one is not counted.

    >>> resolved({"riser": "=step / 2", "step": 160}, "mm", {"step": "180 mm"})
    {'riser': 0.09, 'step': 0.18}
    """
    written = {**parameters, **(overrides or {})}
    if len(written) > MOST_PARAMETERS:
        raise BadFormula(f"there are {len(written)} parameters", f"keep them to {MOST_PARAMETERS}")
    faults: list[BadFormula] = []
    needs: dict[str, list[str]] = {}
    for name, value in written.items():
        try:
            _check_name(name, parameters)
            needs[name] = _names(_text(value)) if _is_formula(value) else []
        except BadFormula as bad:
            faults.append(BadFormula(bad.what, bad.mend, name))
    values: dict[str, float] = {}
    for name in _order(needs, faults):
        if (written.keys() - values.keys()).intersection(needs[name]):
            continue
        try:
            _refuse_unknown(needs[name], written)
            values[name] = _value(written[name], values, (units or {}).get(name, default_unit))
        except (BadFormula, Misread) as bad:
            faults.append(BadFormula(bad.what, bad.mend, name))
    if faults:
        place = {name: number for number, name in enumerate(written)}
        first, *others = sorted(faults, key=lambda bad: place[bad.name])
        raise BadFormula(first.what, first.mend, first.name, tuple(others))
    return {name: values[name] for name in written}


def _is_formula(value: object) -> TypeGuard[str]:
    return isinstance(value, str) and value.lstrip().startswith("=")


def _value(value: object, parameters: Mapping[str, float], default_unit: str | None) -> float:
    if _is_formula(value):
        return evaluated(value, parameters, default_unit)
    return length(value, default_unit)


def _check_name(name: str, parameters: Mapping[str, object]) -> None:
    if name not in parameters:
        raise BadFormula(
            f'no parameter is called "{name}"{nearest(name, list(parameters))}', "name one of the survey's"
        )
    if not name.isidentifier() or iskeyword(name) or normalize("NFKC", name) != name:
        raise BadFormula(f'no formula can name "{name}"', "call it by letters, digits and underscores, as sole_step")


def _refuse_unknown(names: Iterable[str], known: Collection[str]) -> None:
    for name in names:
        if name not in known:
            hint = nearest(name, sorted(known))
            raise BadFormula(f'"{name}" is no parameter{hint}', "correct the name, or state it under [parameter]")


def _order(needs: Mapping[str, list[str]], faults: list[BadFormula]) -> list[str]:
    """Return the names so that each comes after those it needs; those in a circle are left out and told of."""
    graph = {name: [n for n in need if n in needs] for name, need in needs.items()}
    while True:
        try:
            return list(TopologicalSorter(graph).static_order())
        except CycleError as found:
            circle = found.args[1][:0:-1]
        start = circle.index(next(name for name in needs if name in circle))
        circle = circle[start:] + circle[:start]
        way = " → ".join([*circle[:9], *["…"] * (len(circle) > 9), circle[0]])
        faults.append(
            BadFormula(f"it goes round in a circle: {way}", "give one of them as a measured length", circle[0])
        )
        graph = {name: [n for n in need if n not in circle] for name, need in graph.items() if name not in circle}


def _text(formula: str) -> str:
    return " ".join(formula.strip().removeprefix("=").split()).translate(_SIGNS)


def _names(text: str) -> list[str]:
    """Return the names in a formula; raises BadFormula where it is not made of names, numbers, + - * / and brackets."""
    if not text:
        raise BadFormula("there is nothing after the =", "write the sum, as =sole_step + 12")
    if len(text) > LONGEST_FORMULA:
        raise BadFormula("the formula is too long", f"keep it to {LONGEST_FORMULA} characters; name its parts")
    if re.search("[0-9],[0-9]", text):
        raise BadFormula(f'"{text}" has a comma in it', "write decimals with a point inside a formula")
    if re.search(r"(?<![\w.)])[0-9]+-[0-9]+-[0-9]+", text):
        raise BadFormula(
            f'"{text}" may hold feet-inches-eighths or subtractions',
            "put spaces around a minus; name a length in feet and inches under [parameter]",
        )
    return _tokens(text)


def _tokens(text: str) -> list[str]:
    names, at = [], 0
    while at < len(text):
        found = _TOKEN.match(text, at)
        if not found or iskeyword(found["name"] or ""):
            raise BadFormula(
                f'"{text}" cannot be worked out from "{text[at : at + 12]}" on',
                "use names, plain numbers in the survey's unit, + - * / and brackets",
            )
        names += [normalize("NFKC", found["name"])] if found["name"] else []
        at = found.end()
    return names


def _unit_length(default_unit: str | None) -> Fraction | None:
    """Return one default unit in metres, exact; None where a bare number is no length."""
    return None if default_unit in (None, "ft-in-8") else Fraction(str(length(1, default_unit)))


def _worked(text: str, names: Mapping[str, _Amount], one: Fraction | None) -> _Amount:
    # Here, for it costs 10 ms and few surveys have formulas.
    from simpleeval import InvalidExpression, SimpleEval  # type: ignore[import-untyped]

    operators: dict[type[ast.AST], Callable[..., _Amount]] = {
        ast.Add: lambda a, b: _sum(a, b, one),
        ast.Sub: lambda a, b: _sum(a, _Amount(-b.value, b.power), one),
        ast.Mult: lambda a, b: _product(a, b, 1),
        ast.Div: lambda a, b: _product(a, b, -1),
        ast.USub: lambda a: _Amount(-a.value, a.power),
        ast.UAdd: lambda a: a,
    }
    reckoner = SimpleEval(operators=operators, functions={}, names=names)
    plain = (ast.Expr, ast.BinOp, ast.UnaryOp, ast.Name)
    reckoner.nodes = {kind: reckoner.nodes[kind] for kind in plain}
    reckoner.nodes[ast.Constant] = lambda node: _Amount(Fraction(str(node.value)))
    try:
        worked: _Amount = reckoner.eval(text)
    except ZeroDivisionError:
        raise BadFormula(f'"{text}" divides by nothing', "look at what is under the stroke") from None
    except (RecursionError, MemoryError):
        raise BadFormula(f'"{text}" has too many brackets or signs in each other', "name its parts") from None
    except (InvalidExpression, SyntaxError):
        raise BadFormula(f'"{text}" is no sum that can be worked out', "use + - * / and pairs of brackets") from None
    return worked


def _as_length(amount: _Amount, one: Fraction | None) -> _Amount:
    if one is None and amount.value:
        raise BadFormula(
            f"the {float(amount.value):g} in the formula has no unit", "state it as a named length under [parameter]"
        )
    return _Amount(amount.value * (one or 0), 1)


def _sum(a: _Amount, b: _Amount, one: Fraction | None) -> _Amount:
    if a.power is None and b.power == 1:
        a = _as_length(a, one)
    if b.power is None and a.power == 1:
        b = _as_length(b, one)
    known = {power for power in (a.power, b.power) if power is not None}
    if len(known) > 1 or (None in (a.power, b.power) and known - {0}):
        raise BadFormula(f"{_kind(a)} is added to, or taken from, {_kind(b)}", "add lengths to lengths only")
    return _Amount(a.value + b.value, b.power if a.power is None else a.power)


def _product(a: _Amount, b: _Amount, sign: int) -> _Amount:
    value = a.value * b.value if sign > 0 else a.value / b.value
    return _Amount(value, None if a.power is b.power is None else (a.power or 0) + sign * (b.power or 0))


def _kind(amount: _Amount) -> str:
    if amount.power is None:
        return "a number"
    kinds = {0: "a ratio", 1: "a length", 2: "an area", 3: "a volume"}
    return kinds.get(amount.power, f"a length to the power {amount.power}")
