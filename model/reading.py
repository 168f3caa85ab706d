"""From what a file holds to frozen dataclasses, every problem at once, each with its place.

A field's type says all: `Annotated[float, Height()]` is a reading in the survey's notation, a Literal is a
choice, a tuple is a list, a dataclass is a table. The JSON Schema (`model.schema`) walks the same types, so
that the two cannot drift.
"""

import math
import re
import types
from collections.abc import Callable, Mapping
from dataclasses import MISSING, Field, dataclass, field, fields, is_dataclass
from datetime import date
from pathlib import Path
from typing import Annotated, Any, Literal, Union, get_args, get_origin, get_type_hints

from tapeloft.model.errors import Problem, nearest
from tapeloft.model.formula import BadFormula, evaluated
from tapeloft.model.source import Source
from tapeloft.model.units import Misread, length, mass
from tapeloft.shapes.polyhedron import Polyhedron
from tapeloft.shapes.readings import Angle, Breadth, Choice, FilePath, Height, Length, Mass, Reading, Station
from tapeloft.shapes.registry import SHAPES, Shape

Path_ = tuple[str | int, ...]
REST = {"rest": True}  # field metadata: takes every key of the table that no other field names
FAR: dict[type[Reading], dict[str, float]] = {
    Station: {"aft": -math.inf, "forward": math.inf},
    Breadth: {"port": math.inf, "starboard": -math.inf},
    Height: {"bottom": -math.inf, "top": math.inf},
}
SIDES = {"p": 1.0, "port": 1.0, "s": -1.0, "starboard": -1.0}
_SIDED = re.compile(r"^(?:(p|s|port|starboard)\s+(.+)|(.+?)\s*(p|s|port|starboard))$")


@dataclass(frozen=True)
class AsWritten(Reading):
    """A reading kept as it was written, for it cannot be measured before its side, or another reading, is known."""


class _Unread(Exception):
    """A value that could not be read; the problem is already on the list."""


@dataclass
class Reader:
    """What reading needs to know, and the problems it has met.

    side is +1 where bare half-breadths are to port, -1 to starboard, 0 where they must say; ahead is +1 where
    station distances rise forward, -1 where they rise aft.
    """

    source: Source
    unit: str | None = None
    parameters: Mapping[str, float] = field(default_factory=dict)
    compartment: str = ""
    side: float = 0.0
    ahead: float = 1.0
    problems: list[Problem] = field(default_factory=list)

    def refuse(self, path: Path_, what: str, mend: str) -> None:
        """Note a problem with the value at *path*."""
        station, measure = spot(path, self.source.data)
        file, line = self.source.place(path)
        self.problems.append(Problem(what, mend, file, line, self.compartment, station, measure))

    def read(self, hint: Any, raw: object, path: Path_ = ()) -> Any:
        """Return *raw* as the type *hint* says, or None where it cannot be read and the problems say why."""
        try:
            return converted(self, hint, raw, path)
        except _Unread:
            return None


def spot(path: Path_, data: object) -> tuple[str, str]:
    """Return the station and the measure that *path* points at, as a person would call them.

    >>> spot(("station", "2", "C", 0), {})
    ('2', 'C')
    >>> spot(("obstruction", 0, "x", 1), {"obstruction": [{"name": "post"}]})
    ('', 'obstruction "post", x')
    """
    station = str(path[1]) if len(path) > 1 and path[0] == "station" else ""
    rest = list(path[2:] if station else path)
    words: list[str] = []
    here: object = data
    for step in path[: len(path) - len(rest)]:
        here = _inside(here, step)
    for step in rest:
        here = _inside(here, step)
        if isinstance(step, str):
            words.append(step)
        elif isinstance(here, Mapping) and words:
            words[-1] += f' "{here["name"]}"' if "name" in here else f" number {step + 1}"
    return station, ", ".join(words)


def _inside(here: object, step: str | int) -> object:
    if isinstance(here, Mapping):
        return here.get(step)
    return here[step] if isinstance(here, list) and isinstance(step, int) and step < len(here) else None


def type_hints(kind: type[Any]) -> dict[str, Any]:
    """Return the annotated types of a dataclass's fields."""
    return get_type_hints(kind, include_extras=True)


def _needed(known: Field[Any], hint: Any) -> bool:
    return known.default is MISSING and known.default_factory is MISSING


def _table(
    reader: Reader, kind: type[Any], raw: object, path: Path_, must: Callable[[Field[Any], Any], bool] = _needed
) -> Any:
    """Return the table *raw* as a *kind*; *must* tells which fields have no default that can stand in."""
    if not isinstance(raw, Mapping):
        reader.refuse(path, f"{_shown(raw)} stands where a table should", f"write a table with {_keys(kind)}")
        raise _Unread
    hints, known = type_hints(kind), {f.name: f for f in fields(kind)}
    rest = next((f.name for f in known.values() if f.metadata.get("rest")), None)
    named = {key: value for key, value in raw.items() if key in known and key != rest}
    others = {key: value for key, value in raw.items() if key not in named}
    values: dict[str, Any] = {}
    good = all([_into(values, key, reader, hints[key], value, (*path, key)) for key, value in named.items()])
    if rest is not None:
        good &= _rest(values, rest, reader, hints[rest], others, path)
    else:
        good &= not others
        for key in others:
            reader.refuse(
                (*path, key), f"unknown key {key!r}{nearest(key, sorted(known))}", "correct it or take it out"
            )
    for name in known.keys() - named.keys() - {rest}:
        good &= _absent(values, reader, known[name], hints[name], path, must)
    if not good:
        raise _Unread
    return kind(**values)


def _absent(
    values: dict[str, Any],
    reader: Reader,
    known: Field[Any],
    hint: Any,
    path: Path_,
    must: Callable[[Field[Any], Any], bool],
) -> bool:
    """Settle a field that is not written: its default, None where that has a meaning, or a refusal."""
    if not must(known, hint):
        return True
    if must is _must_be_read and _admits_none(hint):
        values[known.name] = None
        return True
    reader.refuse(path, f"{known.name} is missing", f"add {known.name} = …")
    return False


def _into(values: dict[str, Any], key: str, reader: Reader, hint: Any, raw: object, path: Path_) -> bool:
    try:
        values[key] = converted(reader, hint, raw, path)
    except _Unread:
        return False
    return True


def _rest(
    values: dict[str, Any], name: str, reader: Reader, hint: Any, others: Mapping[str, object], path: Path_
) -> bool:
    """Read the keys that no field names: into the shape they belong to, or into a dictionary."""
    if hint is Shape:
        return _into(values, name, reader, hint, others, path)
    of = get_args(hint)[1]
    got: dict[str, Any] = {}
    good = all([_into(got, key, reader, of, value, (*path, key)) for key, value in others.items()])
    values[name] = got
    return good


def converted(reader: Reader, hint: Any, raw: object, path: Path_, marker: Reading | None = None) -> Any:
    """Return *raw* as the type *hint* says; *marker* is the kind of reading the numbers in it are."""
    origin, args = get_origin(hint), get_args(hint)
    if origin is Annotated:
        return converted(reader, args[0], raw, path, next((a for a in args[1:] if isinstance(a, Reading)), marker))
    if origin in (Union, types.UnionType):
        return converted(reader, _branch(args, raw), raw, path, marker)
    if origin is Literal:
        return _choice(reader, args, raw, path)
    if origin is tuple:
        return _listed(reader, args, raw, path, marker)
    if origin is dict:
        return _mapped(reader, args[1], raw, path, marker)
    return _whole(reader, hint, raw, path, marker)


def _whole(reader: Reader, hint: Any, raw: object, path: Path_, marker: Reading | None) -> Any:
    """Return *raw* as a type that is not built of others: a shape, a surface, a table, a word, a number."""
    if hint is Shape:
        return _shape(reader, raw, path)
    if hint is Polyhedron:
        return _surface(reader, raw, path)
    if is_dataclass(hint) and isinstance(hint, type):
        return _table(reader, hint, raw, path)
    return _plain(reader, hint, raw, path, marker)


def _branch(args: tuple[Any, ...], raw: object) -> Any:
    """Choose the member of a union that *raw* is meant as: a list for a list, a table for a table, else the first."""
    real = [a for a in args if a is not types.NoneType]
    for arg in real:
        bare = get_args(arg)[0] if get_origin(arg) is Annotated else arg
        if isinstance(raw, list) == (get_origin(bare) is tuple) and isinstance(raw, Mapping) == (
            is_dataclass(bare) or get_origin(bare) is dict
        ):
            return arg
    return real[0]


def _choice(reader: Reader, known: tuple[Any, ...], raw: object, path: Path_) -> Any:
    if raw in known:
        return raw
    choices = ", ".join(f'"{k}"' for k in known)
    reader.refuse(path, f"{_shown(raw)} is none of {choices}{nearest(str(raw), [str(k) for k in known])}", "choose one")
    raise _Unread


def _listed(reader: Reader, args: tuple[Any, ...], raw: object, path: Path_, marker: Reading | None) -> tuple[Any, ...]:
    if not isinstance(raw, list):
        reader.refuse(path, f"{_shown(raw)} stands where a list should", "write it as [ …, … ]")
        raise _Unread
    each = [args[0]] * len(raw) if args[-1] is Ellipsis else list(args)
    if len(each) != len(raw):
        reader.refuse(path, f"{len(raw)} values where {len(each)} are needed", f"write {len(each)} values in brackets")
        raise _Unread
    values: dict[str, Any] = {}
    for number, (kind, value) in enumerate(zip(each, raw, strict=True)):
        try:
            values[str(number)] = converted(reader, kind, value, (*path, number), marker)
        except _Unread:
            continue
    if len(values) != len(raw):
        raise _Unread
    return tuple(values.values())


def _mapped(reader: Reader, of: Any, raw: object, path: Path_, marker: Reading | None) -> dict[str, Any]:
    if not isinstance(raw, Mapping):
        reader.refuse(path, f"{_shown(raw)} stands where a table should", "write a table: name = value")
        raise _Unread
    got: dict[str, Any] = {}
    hint = Annotated[of, marker] if marker else of
    if not all([_into(got, key, reader, hint, value, (*path, key)) for key, value in raw.items()]):
        raise _Unread
    return got


def _shape(reader: Reader, raw: object, path: Path_) -> Shape:
    if not isinstance(raw, Mapping) or "shape" not in raw:
        reader.refuse(path, "shape is missing", f"add shape = one of {', '.join(sorted(SHAPES))}")
        raise _Unread
    kind = SHAPES.get(raw["shape"]) if isinstance(raw["shape"], str) else None
    if kind is None:
        hint = nearest(str(raw["shape"]), sorted(SHAPES))
        reader.refuse((*path, "shape"), f"there is no shape {_shown(raw['shape'])}{hint}", "name a known shape")
        raise _Unread
    made: Shape = _table(reader, kind, {k: v for k, v in raw.items() if k != "shape"}, path, _must_be_read)
    return made


def _must_be_read(known: Field[Any], hint: Any) -> bool:
    """Whether a shape's field must stand in the survey: its default is only an example, unless it is a choice."""
    return not any(isinstance(marker, Choice) for marker in get_args(hint)[1:])


def _admits_none(hint: Any) -> bool:
    bare = get_args(hint)[0] if get_origin(hint) is Annotated else hint
    return types.NoneType in get_args(bare)


def _surface(reader: Reader, raw: object, path: Path_) -> Polyhedron:
    if not isinstance(raw, str) or not raw:
        reader.refuse(path, f"{_shown(raw)} is no file name", "name an STL, OBJ or PLY file beside the survey")
        raise _Unread
    from tapeloft.model.meshfile import BadMesh, read_mesh

    try:
        return read_mesh(Path(reader.source.file).parent / raw)
    except BadMesh as bad:
        reader.refuse(path, bad.what, bad.mend)
        raise _Unread from None


def _plain(reader: Reader, hint: Any, raw: object, path: Path_, marker: Reading | None) -> Any:
    if isinstance(marker, AsWritten) and type(raw) in (str, int, float):
        return raw
    if hint is float:
        return _number(reader, raw, path, marker)
    if hint is date and isinstance(raw, date):
        return raw
    if hint in (bool, int, str) and type(raw) is hint:
        return raw
    if hint is str and isinstance(marker, FilePath):
        reader.refuse(path, f"{_shown(raw)} is no file name", 'write it in quotes: "table.csv"')
        raise _Unread
    wanted = {bool: "true or false", int: "a whole number", str: 'text in quotes, "…"', date: "a date, 2026-05-31"}
    reader.refuse(path, f"{_shown(raw)} stands where {wanted[hint]} should", f"write {wanted[hint]}")
    raise _Unread


def _number(reader: Reader, raw: object, path: Path_, marker: Reading | None) -> float:
    try:
        value = _measured(reader, raw, marker)
    except (Misread, BadFormula) as bad:
        reader.refuse(path, bad.what, bad.mend)
        raise _Unread from None
    if isinstance(marker, Length) and value < marker.least:
        reader.refuse(
            path, f"{_shown(raw)} is too small for {marker.about or 'a size'}", "measure it again; sizes have no sign"
        )
        raise _Unread
    return value


def _measured(reader: Reader, raw: object, marker: Reading | None) -> float:
    far = FAR.get(type(marker)) if marker else None
    if far and isinstance(raw, str) and raw.strip().lower() in far:
        return far[raw.strip().lower()]
    if isinstance(marker, Breadth):
        return _half_breadth(reader, raw)
    if isinstance(marker, Station):
        return reader.ahead * _length(reader, raw)
    if isinstance(marker, Mass):
        return mass(_scalar(raw))
    if isinstance(marker, Height | Length):
        return _length(reader, raw)
    if isinstance(raw, bool) or not isinstance(raw, int | float) or not math.isfinite(raw):
        raise Misread(f"{_shown(raw)} is no number", "write a plain number")
    return math.radians(raw) if isinstance(marker, Angle) else float(raw)


def _half_breadth(reader: Reader, raw: object) -> float:
    sided = _SIDED.match(raw.strip().lower()) if isinstance(raw, str) and not raw.startswith("=") else None
    if sided:
        return SIDES[sided[1] or sided[4]] * _length(reader, (sided[2] or sided[3]).strip())
    value = _length(reader, raw)
    if value < 0:
        raise Misread(f"{_shown(raw)} has a sign", 'half-breadths have none on paper: name the side, "p 40" or "s 40"')
    if value and not reader.side:
        raise Misread(f"{_shown(raw)} does not say which side it is on", f'write "p {raw}" or "s {raw}"')
    return value * (reader.side or 1.0)


def _length(reader: Reader, raw: object) -> float:
    if isinstance(raw, str) and raw.lstrip().startswith("="):
        return evaluated(raw, reader.parameters, reader.unit)
    return length(_scalar(raw), reader.unit)


def _scalar(raw: object) -> str | float:
    if isinstance(raw, bool) or not isinstance(raw, str | int | float):
        raise Misread(f"{_shown(raw)} is no measure", 'write a number, or text such as "18 3/8 in"')
    return raw


def _shown(raw: object) -> str:
    if isinstance(raw, bool):
        return "true" if raw else "false"
    text = f'"{raw}"' if isinstance(raw, str) else "a table" if isinstance(raw, Mapping) else str(raw)
    return text if len(text) <= 40 else text[:37] + "…"


def _keys(kind: type[Any]) -> str:
    return ", ".join(f.name for f in fields(kind) if not f.metadata.get("rest"))
