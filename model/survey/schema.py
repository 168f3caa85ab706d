"""The JSON Schema of survey files, made from the very definitions that read them."""

import datetime
import json
import types
from dataclasses import MISSING, dataclass, fields, is_dataclass
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from tapeloft.model.survey.reader import AsWritten, Named
from tapeloft.model.survey.reading import NAMED, type_hints
from tapeloft.model.survey.sheet import BoatSheet, Sheet
from tapeloft.shapes.polyhedron import Polyhedron
from tapeloft.shapes.readings import Angle, Choice, Figure, FilePath, Mass, Reading, Word
from tapeloft.shapes.registry import Shape

Schema = dict[str, Any]
DIALECT = "https://json-schema.org/draft/2020-12/schema"
PLAIN: dict[Any, Schema] = {
    str: {"type": "string"},
    bool: {"type": "boolean"},
    int: {"type": "integer"},
    float: {"type": "number"},
    datetime.date: {"type": "string", "format": "date"},
}


@dataclass(frozen=True)
class Told:
    """A reading of a shape, as `tapeloft shapes` lists it."""

    name: str
    about: str
    needed: str


def schema_text() -> str:
    """Return the JSON Schema (draft 2020-12) of a boat's and a compartment's file, as text."""
    return json.dumps(survey_schema(), indent=2, ensure_ascii=False) + "\n"


def survey_schema() -> Schema:
    """Return the JSON Schema of a survey: a boat.toml or a compartment's file.

    >>> sorted(survey_schema()["$defs"]["Opening"]["required"])
    ['name', 'wall']
    """
    defs: dict[str, Schema] = {}
    sheet, boat = (_described(kind, defs) for kind in (Sheet, BoatSheet))
    is_boat = {"properties": {"format": {"const": "tapeloft-boat"}}, "required": ["format"]}
    return {"$schema": DIALECT, "title": "tapeloft survey", "if": is_boat, "then": boat, "else": sheet, "$defs": defs}


def shape_fields(kind: type[Any]) -> tuple[Told, ...]:
    """Return what a shape reads: each name, what it is, and whether it can be left out."""
    hints = type_hints(kind)
    return tuple(Told(f.name, _about(hints[f.name]), _need(hints[f.name])) for f in fields(kind))


def _marker(hint: Any) -> Reading | None:
    return next((a for a in get_args(hint)[1:] if isinstance(a, Reading)), None) if _is_marked(hint) else None


def _is_marked(hint: Any) -> bool:
    return get_origin(hint) is Annotated


def _bare(hint: Any) -> Any:
    return get_args(hint)[0] if _is_marked(hint) else hint


def _about(hint: Any) -> str:
    marker = _marker(hint)
    bare = _bare(hint)
    words = " | ".join(f'"{w}"' for w in get_args(bare)) if get_origin(bare) is Literal else ""
    return ": ".join(filter(None, [marker.about if marker else "", words]))


def _need(hint: Any) -> str:
    if isinstance(_marker(hint), Choice) or types.NoneType in get_args(_bare(hint)):
        return ""
    return "needed"


def _described(hint: Any, defs: dict[str, Schema], marker: Reading | None = None) -> Schema:
    """Return the schema of a type; tables go to *defs* by name and are referred to."""
    if _is_marked(hint):
        inner = _marker(hint) or marker
        found = _described(_bare(hint), defs, inner)
        return {**found, "description": inner.about} if inner and inner.about and "$ref" not in found else found
    origin, args = get_origin(hint), get_args(hint)
    if origin in (Union, types.UnionType):
        real = [_described(a, defs, marker) for a in args if a is not types.NoneType]
        return real[0] if len(real) == 1 else {"anyOf": real}
    if origin is Literal:
        return {"enum": list(args)}
    if origin is tuple:
        return _list(args, defs, marker)
    if origin is dict:
        return {"type": "object", "additionalProperties": _described(args[1], defs, marker)}
    if hint is Polyhedron:
        return {"type": "string", "minLength": 1}
    if is_dataclass(hint) and isinstance(hint, type):
        return _table(hint, defs)
    return _scalar(hint, marker)


def _list(args: tuple[Any, ...], defs: dict[str, Schema], marker: Reading | None) -> Schema:
    if args[-1] is Ellipsis:
        several: Schema = {"type": "array", "items": _described(args[0], defs, marker)}
        return several | ({"minItems": marker.least, "maxItems": marker.most} if isinstance(marker, AsWritten) else {})
    each = [_described(a, defs, marker) for a in args]
    return {"type": "array", "prefixItems": each, "items": False, "minItems": len(each)}


def _scalar(hint: Any, marker: Reading | None) -> Schema:
    if isinstance(marker, AsWritten):
        return {"type": ["number", "string"]}
    if hint is float and marker is not None and not isinstance(marker, Word | FilePath):
        return {"type": {Mass: "string", Angle: "number", Figure: "number"}.get(type(marker), ["number", "string"])}
    if isinstance(marker, Named):
        return {"type": "string", "pattern": r"\S"}
    return dict(PLAIN[hint])


def _table(kind: type[Any], defs: dict[str, Schema]) -> Schema:
    if kind.__name__ not in defs:
        defs[kind.__name__] = {}
        defs[kind.__name__] = _object(kind, defs)
    return {"$ref": f"#/$defs/{kind.__name__}"}


def _object(kind: type[Any], defs: dict[str, Schema], *, shape: bool = False) -> Schema:
    hints = type_hints(kind)
    named = [f for f in fields(kind) if not f.metadata.get("rest")]
    rest = next((f for f in fields(kind) if f.metadata.get("rest")), None)
    properties = {f.name: _described(hints[f.name], defs) for f in named}
    if shape:
        required = [f.name for f in named if _need(hints[f.name])]
    else:
        required = [f.name for f in named if f.default is MISSING and f.default_factory is MISSING]
    made: Schema = {"type": "object", "description": (kind.__doc__ or "").splitlines()[0], "properties": properties}
    if required:
        made["required"] = required
    if rest is None:
        made["additionalProperties"] = False
    elif hints[rest.name] in NAMED:
        return _of_each_kind(made, hints[rest.name], defs)
    else:
        made["additionalProperties"] = _described(hints[rest.name], defs)["additionalProperties"]
    return made


def _of_each_kind(made: Schema, hint: Any, defs: dict[str, Schema]) -> Schema:
    """Return the table of an obstruction or a part: its own keys, and those of the shape or kind that it names."""
    either = []
    key, _, known = NAMED[hint]
    for name, kind in sorted(known.items()):
        one = _object(kind, defs, shape=hint is Shape)
        properties = {**made["properties"], key: {"const": name}, **one["properties"]}
        required = [*made.get("required", []), key, *one.get("required", [])]
        either.append({**one, "properties": properties, "required": required})
    return {"description": made["description"], "oneOf": either}
