"""tapeloft gear."""

from typing import TYPE_CHECKING, Annotated, Any

import typer

from tapeloft.cli.options import AsJson, UnitsOption

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tapeloft.cli.printing import Table
    from tapeloft.model.gear.gear import Gear


def gear(
    kind: Annotated[
        str | None, typer.Argument(metavar="[KIND]", help="a kind, a word of a name, or a file of your own, mine.toml")
    ] = None,
    as_json: AsJson = False,
    units: UnitsOption = "mm",
) -> None:
    """List gear to stow: sizes, masses, turns, and their sources.

    The catalogue that comes with the program, or a file of your own. The figures are typical: measure yours.
    """
    from tapeloft.cli.printing import print_json, print_tables
    from tapeloft.model.gear.catalogue import catalogue, of_kind, read_gear

    if kind is not None and kind.strip().lower().endswith(".toml"):
        found = read_gear(kind.strip())
    else:
        found = catalogue() if kind is None else of_kind(catalogue(), kind)
    if as_json:
        print_json("gear", gear=[_plain(one) for one in found])
        return
    print_tables(_tables(found, units))


def _plain(gear: "Gear") -> dict[str, Any]:
    """Return a piece of gear as JSON tells it: a mesh by its triangles, a soft bag without a size over all."""
    from dataclasses import asdict

    from tapeloft.model.gear.body import Body
    from tapeloft.model.gear.forms import SoftBag

    form = gear.form
    if isinstance(form, Body):
        measures: dict[str, Any] = {"triangles": len(form.triangles)}
    else:
        ends = {"volume": "m3"}
        measures = {f"{name}_{ends.get(name, 'm')}": value for name, value in asdict(form).items()}
    size = None if isinstance(form, SoftBag) else form.sizes
    return {
        "name": gear.name,
        "kind": gear.kind,
        "form": {"is": type(form).__name__.lower(), **measures},
        "size_m": size,
        "volume_m3": form.volume,
        "mass_kg": gear.mass_kg,
        "turn": gear.turn.value,
        "source": gear.source,
        "note": gear.note,
    }


def _tables(found: "Sequence[Gear]", units: str) -> "list[Table]":
    """Return a table of each kind, and one of the sources and notes that their last column numbers."""
    from tapeloft.cli.printing import Table
    from tapeloft.model.gear.told import size_told

    said = list(dict.fromkeys(text for one in found for text in (one.source, one.note) if text))
    number = {text: str(k) for k, text in enumerate(said, 1)}
    rows = {
        kind: [
            (
                one.name,
                size_told(one.form, units),
                "" if one.mass_kg is None else f"{one.mass_kg:.4g}",
                one.turn.value,
                ", ".join(number[text] for text in (one.source, one.note) if text),
            )
            for one in found
            if one.kind == kind
        ]
        for kind in dict.fromkeys(one.kind for one in found)
    }
    head = ("name", f"size, {units}", "mass, kg", "turned", "see")
    return [
        *(Table(kind, head, lines) for kind, lines in rows.items()),
        Table("", ("sources and notes",), [(f"{number[text]}: {text}",) for text in said]),
    ]
