"""The named lengths of a sheet: as it states them, as its boat does, as options set them, as they are asked for."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from tapeloft.model.errors import Problem, nearest
from tapeloft.model.survey.formula import BadFormula, resolved
from tapeloft.model.survey.places import Place
from tapeloft.model.survey.reader import Reader
from tapeloft.model.units import NoUnit

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
    places: dict[str, Place] = {name: ("parameter", name) for name in own}
    for path, setting in settings:
        for name in [name for name in setting if name not in every]:
            hint = nearest(name, list(every))
            reader.refuse((*path, name), f'no parameter is called "{name}"{hint}', "state it under [parameter]")
        known = setting.keys() & every.keys()
        every |= {name: setting[name] for name in known}
        places |= {name: (*path, name) if path else () for name in known}
    units = {name: lent.unit for name in every if not places.get(name)}
    asked = {name: value for name, value in given.items() if name in every}
    units = {name: unit for name, unit in units.items() if name not in asked}
    units |= {name: lent.unit for name in asked if name in lent.lengths and name not in own}
    try:
        return resolved(every, reader.how.unit, asked, units)
    except BadFormula as bad:
        for name, what, mend in bad.all:
            if name in asked:
                reader.problems.append(Problem(f"the length given for {name}: {what}", mend))
            elif places.get(name):
                _refuse(reader, places[name], what, mend, every[name])
            reader.faulty.append(("parameter", name))  # also where the boat's own sheet tells of it
        return dict.fromkeys(every, STAND_IN)


def _refuse(reader: Reader, place: Place, what: str, mend: str, value: object) -> None:
    reader.refuse(place, what, mend)
    if reader.how.unit is None and not isinstance(value, str):
        reader.of_all.setdefault(NoUnit, []).append(reader.problem(place, what, mend))


def scalars(table: object) -> dict[str, str | float]:
    """Return what could be a length in a table as it was read, and nothing where it is none.

    >>> scalars({"step": 165, "post": "=step / 2", "bad": [1]})
    {'step': 165, 'post': '=step / 2'}
    """
    items = table.items() if isinstance(table, Mapping) else ()
    return {name: value for name, value in items if isinstance(value, str | int | float) and type(value) is not bool}
