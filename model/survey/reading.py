"""From what a file holds to frozen dataclasses, every problem at once, each with its place.

A field's type says all: `Annotated[float, Height()]` is a reading in the survey's notation, a Literal is a
choice, a tuple is a list, a dataclass is a table. The JSON Schema (`model.schema`) walks the same types, so
that the two cannot drift.
"""

import types
from collections.abc import Callable, Collection, Mapping
from dataclasses import MISSING, Field, fields, is_dataclass, replace
from datetime import date
from difflib import get_close_matches
from pathlib import Path
from typing import Annotated, Any, Literal, Union, get_args, get_origin, get_type_hints

from tapeloft.model.errors import nearest
from tapeloft.model.parts.registry import KINDS, Kind
from tapeloft.model.survey.formula import BadFormula
from tapeloft.model.survey.measures import NoSide, scalar, shown
from tapeloft.model.survey.places import Place
from tapeloft.model.survey.reader import AsWritten, Named, Reader
from tapeloft.model.units import Misread, NoUnit, TooLong
from tapeloft.shapes.polyhedron import Polyhedron
from tapeloft.shapes.readings import Choice, FilePath, Length, Mass, Reading
from tapeloft.shapes.registry import SHAPES, Shape

MISSPELT = 0.81  # likeness above which a key of three letters or more is a field's name misspelt, and no mark
NAMED: dict[Any, tuple[str, str, dict[str, type[Any]]]] = {
    Shape: ("shape", "shape", SHAPES),
    Kind: ("kind", "kind of part", KINDS),
}
"""What a table names of what it holds: by which key, what that is, and all there are."""
_HINTS: dict[type[Any], dict[str, Any]] = {}


class _Unread(Exception):
    """A value that could not be read; the problem is already on the list."""


def read(reader: Reader, hint: Any, raw: object, path: Place = ()) -> Any:
    """Return *raw* as the type *hint* says, or None where it cannot be read and the reader's problems say why."""
    try:
        return converted(reader, hint, raw, path)
    except _Unread:
        return None


def type_hints(kind: type[Any]) -> dict[str, Any]:
    """Return the annotated types of a dataclass's fields."""
    if kind not in _HINTS:
        _HINTS[kind] = get_type_hints(kind, include_extras=True)
    return _HINTS[kind]


def _left_out(kind: type[Any], known: Field[Any]) -> Any:
    """Return what a field is where it is not written; MISSING where it must be, the field itself for its default.

    The defaults of a shape are only an example: what is left out of it is None, or refused where its type has no
    None. A choice of words alone falls back on its default.
    """
    if kind in SHAPES.values():
        bare, *about = get_args(type_hints(kind)[known.name])
        if not any(isinstance(marker, Choice) for marker in about):
            return None if types.NoneType in get_args(bare) else MISSING
    return MISSING if known.default is MISSING and known.default_factory is MISSING else known


def _table(reader: Reader, kind: type[Any], raw: object, path: Place, also: Collection[str] = ()) -> Any:
    """Return the table *raw* as a *kind*; *also* are names that would be known in it, for hints."""
    if not isinstance(raw, Mapping):
        reader.refuse(path, f"{shown(raw)} stands where a table should", f"write a table with {_keys(kind)}")
        raise _Unread
    hints, known = type_hints(kind), {f.name: f for f in fields(kind)}
    rest = next((f.name for f in known.values() if f.metadata.get("rest")), None)
    named = {key: value for key, value in raw.items() if key in known and key != rest}
    others = {key: value for key, value in raw.items() if key not in named}
    values: dict[str, Any] = {}
    good = all([_into(values, key, reader, hints[key], value, (*path, key)) for key, value in named.items()])
    names = sorted({*known, *also} - {rest})
    if rest is None:
        good &= all([_unknown(reader, key, path, names) for key in others])
    else:
        good &= _rest(values, rest, reader, hints[rest], others, path, names)
    for name in [name for name in known if name not in named and name != rest]:
        good &= _absent(values, reader, kind, known[name], path)
    if not good:
        raise _Unread
    return kind(**values)


def _rest(
    values: dict[str, Any],
    rest: str,
    reader: Reader,
    hint: Any,
    others: Mapping[str, object],
    path: Place,
    names: Collection[str],
) -> bool:
    """Read the keys that no field names: into the shape they belong to, or into a dictionary."""
    if hint not in NAMED:
        values[rest] = {}
        of = get_args(hint)[1]
        return all([_marked(values[rest], key, reader, of, value, path, names) for key, value in others.items()])
    try:
        values[rest] = _of_its_kind(reader, hint, others, path, names)
    except _Unread:
        return False
    return True


def _absent(values: dict[str, Any], reader: Reader, kind: type[Any], known: Field[Any], path: Place) -> bool:
    """Settle a field that is not written: what it is then, or a refusal."""
    default = _left_out(kind, known)
    if default is MISSING:
        about = next((a.about for a in get_args(type_hints(kind)[known.name])[1:] if isinstance(a, Reading)), "")
        reader.refuse(path, f"{known.name} is missing", f"add {known.name} = …" + (f" ({about})" if about else ""))
        return False
    if default is not known:
        values[known.name] = default
    return True


def _into(values: dict[str, Any], key: str, reader: Reader, hint: Any, raw: object, path: Place) -> bool:
    try:
        values[key] = converted(reader, hint, raw, path)
    except _Unread:
        return False
    return True


def _marked(
    values: dict[str, Any], key: str, reader: Reader, of: Any, raw: object, path: Place, names: Collection[str]
) -> bool:
    """Read a key that no field names, which should be a mark, unless it is a field's name misspelt."""
    stray = (get_origin(_bare(of)) is tuple) != isinstance(raw, list)
    if len(key) > 2 and (stray or get_close_matches(key, names, n=1, cutoff=MISSPELT)):
        return _unknown(reader, key, path, names)
    return _into(values, key, reader, of, raw, (*path, key))


def _bare(hint: Any) -> Any:
    return get_args(hint)[0] if get_origin(hint) is Annotated else hint


def _unknown(reader: Reader, key: str, path: Place, names: Collection[str]) -> bool:
    reader.refuse((*path, key), f"unknown key {shown(key)}{nearest(key, list(names))}", "correct it or take it out")
    return False


def converted(reader: Reader, hint: Any, raw: object, path: Place, marker: Reading | None = None) -> Any:
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
    if hint is Polyhedron:
        return _surface(reader, raw, path)
    if is_dataclass(hint) and isinstance(hint, type):
        return _table(reader, hint, raw, path)
    return _plain(reader, hint, raw, path, marker)


def _branch(args: tuple[Any, ...], raw: object) -> Any:
    """Choose the member of a union that *raw* is meant as: a list for a list, a table for a table, else the first."""
    real = [a for a in args if a is not types.NoneType]
    for arg in real:
        bare = _bare(arg)
        if isinstance(raw, list) == (get_origin(bare) is tuple) and isinstance(raw, Mapping) == (
            is_dataclass(bare) or get_origin(bare) is dict
        ):
            return arg
    return real[0]


def _choice(reader: Reader, known: tuple[Any, ...], raw: object, path: Place) -> Any:
    if any(raw == k and type(raw) is type(k) for k in known):
        return raw
    choices = ", ".join(f'"{k}"' for k in known)
    hint = nearest(raw, [str(k) for k in known]) if isinstance(raw, str) else ""
    hint = hint if "did you mean" in hint else ""
    reader.refuse(path, f"{shown(raw)} is none of {choices}{hint}", "choose one of them")
    raise _Unread


def _listed(reader: Reader, args: tuple[Any, ...], raw: object, path: Place, marker: Reading | None) -> tuple[Any, ...]:
    if not isinstance(raw, list):
        reader.refuse(path, f"{shown(raw)} stands where a list should", "write it as [ …, … ]")
        raise _Unread
    each = [args[0]] * len(raw) if args[-1] is Ellipsis else list(args)
    least, most = (marker.least, marker.most) if isinstance(marker, AsWritten) else (len(each), len(each))
    if not least <= len(raw) <= most:
        told = f"{len(raw)} value{'' if len(raw) == 1 else 's'}"
        need = str(least) if least == most else f"{least} or {most}"
        about = marker.about if isinstance(marker, AsWritten) else ", ".join(["…"] * least)
        reader.refuse(path, f"{told} where {need} are needed", f"write [{about}]")
        raise _Unread
    values: dict[str, Any] = {}
    pairs = enumerate(zip(each, raw, strict=True))
    if not all([_each(values, str(k), reader, kind, value, (*path, k), marker) for k, (kind, value) in pairs]):
        raise _Unread
    return tuple(values.values())


def _each(
    values: dict[str, Any], key: str, reader: Reader, of: Any, raw: object, path: Place, marker: Reading | None
) -> bool:
    return _into(values, key, reader, Annotated[of, marker] if marker else of, raw, path)


def _mapped(reader: Reader, of: Any, raw: object, path: Place, marker: Reading | None) -> dict[str, Any]:
    if not isinstance(raw, Mapping):
        reader.refuse(path, f"{shown(raw)} stands where a table should", "write a table: name = value")
        raise _Unread
    got: dict[str, Any] = {}
    if not all([_each(got, key, reader, of, value, (*path, key), marker) for key, value in raw.items()]):
        raise _Unread
    return got


def _of_its_kind(
    reader: Reader, hint: Any, raw: Mapping[str, object], path: Place, names: Collection[str]
) -> Shape | Kind:
    """Read a table whose other keys are those of the shape, or the kind of part, that it names."""
    key, what, known = NAMED[hint]
    if key not in raw:
        reader.refuse(path, f"{key} is missing", f"add {key} = one of {', '.join(sorted(known))}")
        raise _Unread
    said = raw[key]
    found = known.get(said) if isinstance(said, str) else None
    if found is None:
        told = nearest(str(said), sorted(known))
        reader.refuse((*path, key), f"there is no {what} {shown(said)}{told}", f"name a known {what}")
        raise _Unread
    walled = replace(reader, how=replace(reader.how, walls=True))
    made: Shape | Kind = _table(walled, found, {k: v for k, v in raw.items() if k != key}, path, names)
    return made


def _surface(reader: Reader, raw: object, path: Place) -> Polyhedron:
    if not isinstance(raw, str) or not raw.strip():
        reader.refuse(path, f"{shown(raw)} is no file name", "name an STL, OBJ or PLY file beside the survey")
        raise _Unread
    from tapeloft.model.files.meshfile import BadMesh, read_mesh

    try:
        return read_mesh(Path(reader.source.file).parent / raw)
    except BadMesh as bad:
        reader.refuse(path, bad.what, bad.mend)
        raise _Unread from None


def _plain(reader: Reader, hint: Any, raw: object, path: Place, marker: Reading | None) -> Any:
    if isinstance(marker, AsWritten):
        return _tried(reader, lambda: scalar(raw), path, marker)
    if hint is float:
        return _number(reader, raw, path, marker)
    if isinstance(marker, Named) and isinstance(raw, str) and not (raw.strip() and raw.isprintable()):
        reader.refuse(path, f"{shown(raw)} is no name", "give it a name, on one line")
        raise _Unread
    if type(raw) is hint:
        return raw
    wanted = {bool: "true or false", int: "a whole number", str: 'text in quotes, "…"', date: "a date, 2026-05-31"}
    needed = 'a file name in quotes, "table.csv"' if isinstance(marker, FilePath) else wanted[hint]
    reader.refuse(path, f"{shown(raw)} stands where {needed} should", f"write {needed}")
    raise _Unread


def _number(reader: Reader, raw: object, path: Place, marker: Reading | None) -> float:
    value: float = _tried(reader, lambda: reader.how.measured(raw, marker), path, marker)
    if isinstance(marker, Length) and value < marker.least:
        what = f"{shown(raw)} is too small for {marker.about or 'a size'}"
        reader.refuse(path, what, "measure it again; sizes have no sign")
        raise _Unread
    return value


def _tried(reader: Reader, measuring: Callable[[], Any], path: Place, marker: Reading | None) -> Any:
    try:
        return measuring()
    except (Misread, BadFormula) as bad:
        reader.refuse(path, bad.what, bad.mend)
        if isinstance(bad, TooLong | NoUnit | NoSide) and not isinstance(marker, Mass):
            reader.of_all.setdefault(type(bad), []).append(reader.problem(path, bad.what, bad.mend))
        raise _Unread from None


def _keys(kind: type[Any]) -> str:
    return ", ".join(f.name for f in fields(kind) if not f.metadata.get("rest"))
