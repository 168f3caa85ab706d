"""What is asked of things that stand in a space or lead into it: obstructions, openings, drains, a table each."""

import types
from dataclasses import dataclass, fields
from typing import Any, Union, get_args, get_origin

from tapeloft.model.entering.question import Question
from tapeloft.model.entering.splicing import Page
from tapeloft.model.survey.places import Place
from tapeloft.model.survey.reading import type_hints
from tapeloft.model.survey.sheet import Drain, Obstruction, Opening
from tapeloft.shapes.readings import Choice
from tapeloft.shapes.registry import SHAPES

CENTRE = {"top": "xy", "bottom": "xy", "port": "xz", "starboard": "xz", "forward": "yz", "aft": "yz"}
"""Which readings of its centre an opening in each wall has; the third is the wall itself."""
AWAY = {"x": "distance from zero", "y": "half-breadth", "z": "height"}
SPAN = {"x": "distance, from and to", "y": "half-breadth, from and to", "z": "height, from and to"}
SPAN_OR_SPOT = {axis: f"{words}, or one" for axis, words in SPAN.items()}
POST = {"x": "distance of its centre", "y": "half-breadth of its centre", "z": SPAN["z"], "diameter": "diameter"}
"""What is asked of a round post that stands upright; others may be put in by hand."""
CLEAR = {"xy": "fore and aft, athwart", "xz": "fore and aft, height", "yz": "athwart, height"}
TO_WALLS = "port, starboard, forward, aft, top, bottom stand for that wall. Enter: from wall to wall"
ANOTHER = {
    "obstruction": "what stands in it",
    "opening": "lid or door",
    "drain": "drain",
}
EXPLAINED = {
    "obstruction": "name each thing that takes space: posts, boxes, panels. Enter: nothing more",
    "opening": "name each lid and door. Enter: no more",
    "drain": "name each drain and limber hole. Enter: no more",
}


@dataclass(frozen=True)
class _Asked:
    """A field of a thing as it is asked for; may_skip: Enter leaves it out; needed: the survey cannot do without."""

    name: str
    words: str
    hint: Any
    needed: bool = False
    may_skip: bool = True
    explains: str = ""


def things(page: Page, kind: str) -> list[Question]:
    """Return the questions about every thing of a *kind* on the page, and whether there is another."""
    listed = page.value((kind,))
    asked = [one for k in range(len(listed) if isinstance(listed, list) else 0) for one in _of_one(page, kind, k)]
    return [*asked, Question((kind,), ANOTHER[kind], str, f"{kind}s", usual="", explains=EXPLAINED[kind])]


def plain_shapes() -> tuple[str, ...]:
    """Return the shapes whose every reading can be asked for in one line, the commonest first.

    >>> plain_shapes()
    ('box', 'post', 'panel', 'cylinder', 'steps', 'wedge')
    """
    plain = sorted(name for name, kind in SHAPES.items() if all(_is_plain(hint) for hint in type_hints(kind).values()))
    return tuple(sorted(plain, key=lambda name: ("box post panel".find(name) % 99, name)))


def follow(page: Page, kind: str, number: int) -> list[Place]:
    """Return where the answers go that are asked for once it is known what a thing is: its shape, wall or bore."""
    return [(kind, number, one.name) for one in _fields(page, kind, number)]


def _of_one(page: Page, kind: str, number: int) -> list[Question]:
    name = str(page.value((kind, number, "name")) or "")
    known = {"obstruction": Obstruction, "opening": Opening, "drain": Drain}[kind]
    hints = type_hints(known)
    head = [_Asked("name", "called", hints["name"], needed=True)]
    head += {
        "obstruction": [_Asked("shape", f"shape ({', '.join(plain_shapes())})", str, needed=True)],
        "opening": [_Asked("wall", f"in which wall ({', '.join(CENTRE)})", hints.get("wall"), needed=True)],
        "drain": [_Asked("diameter", "bore", hints.get("diameter"), needed=True)],
    }[kind]
    return [
        Question(
            (kind, number, one.name),
            one.words,
            one.hint,
            f"{kind} {name}",
            usual="" if one.may_skip and not one.needed else None,
            explains=one.explains,
            needed=one.needed,
        )
        for one in (*head, *_fields(page, kind, number))
    ]


def _fields(page: Page, kind: str, number: int) -> list[_Asked]:
    if kind == "obstruction":
        return _of_shape(page.value((kind, number, "shape")))
    if kind == "drain":
        hints = type_hints(Drain)
        return [_Asked(axis, words, hints[axis]) for axis, words in AWAY.items()]
    wall = page.value((kind, number, "wall"))
    hints = type_hints(Opening)
    if not isinstance(wall, str) or wall not in CENTRE:
        return []
    axes = CENTRE[wall]
    words = {axis: f"its centre, {AWAY[axis]}" for axis in axes}
    words |= {"clear": f"clear size, {CLEAR[axes]}", "corner_radius": "radius of its corners", "depth": "coaming depth"}
    hinges = ", ".join(filter(None, get_args(hints["hinge"])))
    words |= {"hinge": f"hinge ({hinges})", "opens_to": "opens to, degrees"}
    return [_Asked(key, asks, hints[key], may_skip=key != "clear") for key, asks in words.items()]


def _of_shape(shape: object) -> list[_Asked]:
    kind = SHAPES.get(shape) if isinstance(shape, str) else None
    if kind is None:
        return []
    hints = type_hints(kind)
    if shape == "post":
        spanned = type_hints(SHAPES["box"])["z"]
        beside = [_Asked(key, words, hints[key], may_skip=False) for key, words in POST.items() if key != "z"]
        asked = [*beside[:2], _Asked("z", POST["z"], spanned, explains=TO_WALLS), *beside[2:]]
    else:
        asked = [_field(one.name, hints[one.name]) for one in fields(kind) if not _is_choice(hints[one.name])]  # type: ignore[arg-type]
    return [*asked, _Asked("removable", "can it be taken out (y, n)", bool)]


def _field(name: str, hint: Any) -> _Asked:
    bare, *about = get_args(hint)
    words = next((marker.about for marker in about if getattr(marker, "about", "")), name)
    if name in SPAN and "from, to" in words:
        words = SPAN[name] if words.startswith("from, to") else SPAN_OR_SPOT[name]
    skipped = types.NoneType in get_args(bare)
    return _Asked(name, words, hint, needed=not skipped, explains=TO_WALLS if skipped and name in SPAN else "")


def _is_choice(hint: Any) -> bool:
    return any(isinstance(marker, Choice) for marker in get_args(hint)[1:])


def _is_plain(hint: Any) -> bool:
    bare = get_args(hint)[0] if hasattr(hint, "__metadata__") else hint
    if get_origin(bare) in (Union, types.UnionType):
        return all(_is_plain(one) for one in get_args(bare) if one is not types.NoneType)
    if get_origin(bare) is tuple:
        return all(one in (float, Ellipsis) for one in get_args(bare))
    return bare is float or get_origin(bare) is not None
