"""The named lengths of a sheet: as it states them, as its boat does, as options set them, as they are asked for."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from tapeloft.model.errors import Problem, nearest
from tapeloft.model.formula import BadFormula, resolved
from tapeloft.model.places import Place
from tapeloft.model.reader import Reader

Written = Mapping[str, str | float]
STAND_IN = 0.1  # m, for every parameter where one is at fault: what leans on it is not told of as well


@dataclass(frozen=True)
class Lent:
    """The named lengths that the boat's own sheet states, and the unit of bare numbers there."""

    lengths: Written = field(default_factory=dict)
    unit: str | None = None


def parameters(
    reader: Reader, lent: Lent, own: Written, settings: Sequence[tuple[Place, Written]], given: Written
) -> dict[str, float]:
    """Return every named length in metres; what cannot be read is refused where it stands.

    own: this sheet's, which go before the boat's; settings: those of options, each with the place of its table, ()
    for the boat's, the later going before the earlier; given: what is asked for now, which goes before all.
    """
    every: dict[str, str | float] = {**lent.lengths, **own}
    units: dict[str, str | None] = dict.fromkeys(lent.lengths.keys() - own.keys(), lent.unit)
    places: dict[str, Place] = {name: ("parameter", name) for name in own}
    for path, setting in settings:
        for name, value in setting.items():
            if name not in every:
                hint = nearest(name, list(every))
                reader.refuse((*path, name), f'no parameter is called "{name}"{hint}', "state it under [parameter]")
                continue
            every[name] = value
            if path:
                places[name] = (*path, name)
                units.pop(name, None)
            else:
                units[name] = lent.unit
    asked = {name: value for name, value in given.items() if name in every}
    units |= {name: lent.unit for name in asked if name in lent.lengths and name not in own}
    try:
        return resolved(every, reader.how.unit, asked, units)
    except BadFormula as bad:
        _refuse(reader, bad, places, asked)
        return dict.fromkeys(every, STAND_IN)


def _refuse(reader: Reader, bad: BadFormula, places: Mapping[str, Place], asked: Written) -> None:
    for name, what, mend in bad.all:
        if name in asked:
            reader.problems.append(Problem(f"the length given for {name}: {what}", mend))
        elif name in places:
            reader.refuse(places[name], what, mend)
        reader.faulty.append(("parameter", name))  # also where the boat's own sheet tells of it


def scalars(table: object) -> dict[str, str | float]:
    """Return what could be a length in a table as it was read, and nothing where it is none.

    >>> scalars({"step": 165, "post": "=step / 2", "bad": [1]})
    {'step': 165, 'post': '=step / 2'}
    """
    items = table.items() if isinstance(table, Mapping) else ()
    return {name: value for name, value in items if isinstance(value, str | int | float) and type(value) is not bool}
