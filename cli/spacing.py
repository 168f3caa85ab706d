"""The options that say which part of a compartment is asked about, and the space that they leave."""

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Annotated, Any

import typer

if TYPE_CHECKING:
    from tapeloft.model.compartment import Compartment
    from tapeloft.model.gear.gear import Gear
    from tapeloft.model.solid import Solid
    from tapeloft.model.spaces import Asked
    from tapeloft.model.survey.survey import Survey

Bay = Annotated[str | None, typer.Option("--bay", metavar="NAME", help="in this bay alone, or how its name begins")]
Without = Annotated[
    list[str] | None, typer.Option("--without", metavar="NAME", help="with this obstruction or panel taken out")
]
KeepClear = Annotated[
    list[str] | None,
    typer.Option("--keep-clear", metavar="X..X,Y..Y,Z..Z", help="keep this box clear; a range left empty is all of it"),
]
Swing = Annotated[
    list[str] | None, typer.Option("--swing", metavar="NAME", help="keep clear of this lid or door swinging inward")
]
On = Annotated[
    str | None,
    typer.Option(
        metavar="WHAT", help='standing on the "sole", the "grate", or a shelf at a height; left out: anywhere'
    ),
]


def space_in(
    one: "Compartment", bay: str | None, without: Sequence[str] | None, keep: Sequence[str] | None,
    swings: Sequence[str] | None,
) -> "Asked":  # fmt: skip
    """Return the space of a compartment that the options leave."""
    from tapeloft.model.errors import TapeloftError
    from tapeloft.model.spaces import asked_space, swing

    try:
        clear_of = [_zone(one, text) for text in keep or ()] + [swing(one, name) for name in swings or ()]
    except ValueError as bad:
        raise TapeloftError(str(bad)) from None
    return asked_space(one, bay=bay, without=tuple(without or ()), clear_of=clear_of)


def _zone(one: "Compartment", text: str) -> "Solid":
    """Return the box that a `--keep-clear` names."""
    from tapeloft.model.facets import body
    from tapeloft.model.units import Misread, length
    from tapeloft.shapes.polyhedron import box

    low, high = one.gross.bounds - [[0.01], [-0.01]]
    spans = text.split(",")
    if len(spans) != 3:
        raise ValueError(f'--keep-clear takes three ranges, X..X,Y..Y,Z..Z, not "{text}"')
    for axis, span in enumerate(spans):
        if not span.strip():
            continue
        ends = span.split("..")
        try:
            one_end, other = (length(end.strip(), one.survey.unit) for end in ends)
        except (Misread, ValueError) as bad:
            raise ValueError(f'--keep-clear: "{span.strip()}" is no range of {"xyz"[axis]}: {bad}') from None
        low[axis], high[axis] = min(one_end, other), max(one_end, other)
    return body(box((low[0], low[1], low[2]), (high[0], high[1], high[2])))


def stand_rules(one: "Compartment", space: "Asked", on: str | None) -> dict[str, Any]:
    """Return what `--on` asks for, as the questions take it."""
    from tapeloft.model.errors import TapeloftError
    from tapeloft.model.flats import flats
    from tapeloft.model.parts.grate import Grating
    from tapeloft.model.units import Misread, length

    if on is None:
        return {}
    if on == "sole":
        return {"stands_on": flats(space.inside)}
    if on == "grate":
        heights = [part.kind.height for part in one.survey.parts if isinstance(part.kind, Grating)]
        heights = [one.survey.grate.height] if one.survey.grate else heights
        if len(heights) != 1:
            why = "several grates" if heights else "no grate"
            raise TapeloftError(f"{one.name} has {why}: give its height under [grate], or name a height with --on")
        return {"on_grate": heights[0]}
    try:
        return {"on_grate": length(on, one.survey.unit)}
    except Misread as bad:
        raise TapeloftError(f"--on: {bad}") from None


def stood_words(gear: "Gear", surveys: "Iterable[Survey]", turn: str | None) -> tuple[str, ...]:
    """Return in words that gear is stood upright where it might lie, because of what the space is for."""
    from tapeloft.model.gear.gear import stands

    if turn is not None or not any(stands(gear, one.space.use) for one in surveys):
        return ()
    return ('In a gas locker a cylinder stands, as gas cylinders are kept; --turn "on any face" would let it lie.',)


def length_of(name: str, text: str | None, unit: str) -> float | None:
    """Return the length, m, that an option gives."""
    from tapeloft.model.errors import TapeloftError
    from tapeloft.model.units import Misread, length

    try:
        return None if text is None else length(text, unit)
    except Misread as bad:
        raise TapeloftError(f"--{name}: {bad}") from None
