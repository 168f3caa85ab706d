"""What the commands that cut parts have in common: sizes asked for, cut lists, and the files that leave."""

import csv
import io
import math
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

import typer

if TYPE_CHECKING:
    from tapeloft.cli.printing import Table
    from tapeloft.model.compartment import Compartment
    from tapeloft.model.cutting.cleats import Cleat
    from tapeloft.model.cutting.inset import Gaps
    from tapeloft.model.cutting.laying import Section
    from tapeloft.model.cutting.plane import Plane
    from tapeloft.model.cutting.told import Line
    from tapeloft.model.files.formats.registry import NamedSolid
    from tapeloft.model.solid import Solid
    from tapeloft.viewer.template.plan import Plan
    from tapeloft.viewer.template.template import Template
    from tapeloft.viewer.template.tiling import Paper

EACH = (".svg", ".dxf")
ENDINGS = ".pdf .svg .dxf .csv .stl .obj .ply .glb .3mf"
To = Annotated[
    list[Path] | None, typer.Option("--to", metavar="FILE", help=f"a file to write, again for more: {ENDINGS}")
]
PaperOption = Annotated[Literal["a4", "a3", "letter"], typer.Option("--paper", help="the paper templates are tiled on")]
Gap = Annotated[str, typer.Option("--gap", metavar="LENGTH", help="gap all round; mm unless a unit stands behind")]
GapEnd = Annotated[
    str | None, typer.Option("--gap-end", metavar="LENGTH", help="gap to the ends; left out: as all round")
]
GapObstruction = Annotated[
    str | None, typer.Option("--gap-obstruction", metavar="LENGTH", help="gap to what stands in the space; likewise")
]
Mass = Annotated[
    str | None, typer.Option("--mass", metavar="MASS", help='a piece weighs no more, "12 kg": parted until it does not')
]
Exploded = Annotated[
    bool, typer.Option("--exploded", help="draw its pieces moved apart, each with a line to where it belongs")
]
Still = Annotated[Path | None, typer.Option("--still", metavar="FILE.png", help="draw the part in its place")]


def size(name: str, text: str) -> float:
    """Return a size of a part, m: millimetres unless a unit stands behind it."""
    from tapeloft.cli.spacing import length_of

    return length_of(name, text, "mm") or 0.0


def pair(name: str, text: str, what: str, example: str) -> tuple[float, float]:
    """Return two sizes, "40x18", m; mm unless a unit stands behind."""
    from tapeloft.model.errors import TapeloftError

    parts = text.lower().replace("×", "x").split("x")
    if len(parts) != 2:
        raise TapeloftError(f'--{name} {text}: write two sizes, {what}, for example "{example}"')
    return size(name, parts[0].strip()), size(name, parts[1].strip())


def span_of(name: str, text: str) -> tuple[float, float]:
    """Return the least and the most, "165..305", m; mm unless a unit stands behind."""
    from tapeloft.model.errors import TapeloftError

    parts = text.split("..")
    if len(parts) != 2:
        raise TapeloftError(f'--{name} {text}: write the least and the most, for example "165..305"')
    return size(name, parts[0].strip()), size(name, parts[1].strip())


def weight(name: str, text: str) -> float:
    """Return a mass that was asked for, kg unless a unit stands behind it."""
    from tapeloft.model.errors import TapeloftError
    from tapeloft.model.units import Misread, mass

    try:
        return mass(text, "kg")
    except Misread as bad:
        raise TapeloftError(f"--{name}: {bad}") from None


def heaviest(text: str | None) -> float:
    """Return what a piece may weigh, kg."""
    return math.inf if text is None else weight("mass", text)


def gaps_of(gap: str, end: str | None, obstruction: str | None) -> "Gaps":
    """Return the gaps that were asked for."""
    from tapeloft.model.cutting.inset import Gaps

    around = size("gap", gap)
    other = (("gap-end", end), ("gap-obstruction", obstruction))
    return Gaps(around, *(around if text is None else size(name, text) for name, text in other))


def cut_list(title: str, lines: "Sequence[Line]", units: str) -> "Table":
    """Return the cut list as a table; what is alike and stands together is one row."""
    from itertools import groupby

    from tapeloft.cli.printing import Table
    from tapeloft.model.units import figure

    def alike(one: "Line") -> tuple[float, ...]:
        sizes = (one.length_m, one.breadth_m, one.thickness_m, one.perimeter_m)
        return tuple(round(side, 4) for side in sizes)

    grouped = [list(some) for _, some in groupby(lines, key=alike)]
    rows = [
        (
            one.piece if len(some) == 1 else f"{one.piece} to {some[-1].piece}",
            str(len(some)),
            f"{figure(one.length_m, units)} × {figure(one.breadth_m, units)}",
            figure(one.thickness_m, units),
            f"{one.area_m2:.4f}" + ("" if one.area_sd_m2 is None else f" ± {one.area_sd_m2:.4f}"),
            f"{one.mass_kg:.2f}",
            figure(one.perimeter_m, units),
            ", ".join(one.through) or "none",
        )
        for some in grouped
        for one in some[:1]
    ]
    head = ("piece", "number", f"over all, {units}", "thick", "m² each", "kg each", "round it", "goes in through")
    return Table(title, head, rows, words=(7,))


def edge_list(lines: "Sequence[Line]") -> "Table":
    """Return the edges with their walls and bevels as a table."""
    from tapeloft.cli.printing import Table

    rows = [
        (one.piece, f"{_run(edge.line):.1f}", edge.wall, _bevel(edge.bevel))
        for one in lines
        for edge in one.edges
        if edge.wall and _run(edge.line) >= 1.0
    ]
    return Table("edges", ("piece", "long, mm", "along", "wall off square"), rows, words=(2,))


def cleat_list(fixed: "Sequence[Cleat]", units: str) -> "Table":
    """Return the cleats that a board is fastened by as a table."""
    from tapeloft.cli.printing import Table
    from tapeloft.model.units import figure

    rows = [(one.piece, one.wall, figure(one.length_m, units), str(one.screws)) for one in fixed]
    return Table("cleats", ("piece", "on", f"long, {units}", "screws, 150 mm apart at most"), rows, words=(1,))


def files_of(
    to: Sequence[Path],
    templates: "Sequence[Template]",
    lines: "Sequence[Line]",
    solids: "Sequence[tuple[str, Solid]]",
    paper: "Paper",
    title: str,
    remarks: Sequence[str],
    sheets: "Sequence[Template]" = (),
    plan: "Plan | None" = None,
) -> dict[Path, bytes]:
    """Return what is to be written, by file: templates, the cut list, the part's mesh in its place."""
    from tapeloft.model.errors import FileError
    from tapeloft.model.files.formats.registry import FORMATS

    data: dict[Path, bytes] = {}
    for path in to:
        ending = path.suffix.lower()
        if ending == ".pdf":
            from tapeloft.viewer.template.paper import as_pdf

            data[path] = as_pdf(templates, paper, title, remarks, plan, sheets)
        elif ending in EACH:
            data |= dict(_outlines(path, (*templates, *sheets)))
        elif ending == ".csv":
            data[path] = _as_csv(lines)
        elif ending.removeprefix(".") in FORMATS:
            data |= meshes_of([path], solids)
        else:
            raise FileError(f"{path}: not a file that a part is written to\n    mend: let its name end in {ENDINGS}")
    return data


def wants_mesh(to: Sequence[Path]) -> bool:
    """Whether a mesh is among the files that were asked for."""
    from tapeloft.model.files.formats.registry import FORMATS

    return any(path.suffix.lower().removeprefix(".") in FORMATS for path in to)


def meshes_of(to: Sequence[Path], solids: "Sequence[tuple[str, Solid]]") -> dict[Path, bytes]:
    """Return mesh files of a part in its place, by file; a format that holds one body has all its pieces in it."""
    from tapeloft.model.export import encoded, format_of
    from tapeloft.model.files.formats.registry import NamedSolid

    data: dict[Path, bytes] = {}
    for path in to:
        kind = format_of(path)
        parts = [NamedSolid(name, solid) for name, solid in solids]
        data[path] = encoded(parts if kind.named else [_together(parts)], kind.ending)
    return data


def hold_still(still: Path | None, *, force: bool) -> None:
    """Refuse a picture that could not be written, before anything else is."""
    from tapeloft.model.errors import FileError

    if still is not None and still.suffix.lower() != ".png":
        raise FileError(f"{still}: a still is a PNG picture\n    mend: give it a name that ends in .png")
    if still is not None and still.exists() and not force:
        raise FileError(
            f"{still}: the file is there already\n    mend: choose another name, or write over it with --force"
        )


def leave(parts: "Sequence[Line | Section]", openings: int, most: float) -> None:
    """End with status 1 where some piece goes in through none of the openings there are, or weighs more than *most*."""
    if (openings and not all(one.passages for one in parts)) or any(one.mass_kg > most for one in parts):
        raise typer.Exit(1)


def ways_in(parts: "Sequence[Line | Section]", names: Sequence[str], plane: "Plane") -> list[str]:
    """Return in words how each piece goes in; what is alike is told once."""
    from itertools import groupby

    from tapeloft.model.cutting.told import way_in

    told = [(name, [way_in(one, plane) for one in part.passages]) for name, part in zip(names, parts, strict=True)]
    return [
        f"{', '.join(name for name, _ in some)}: in {'; or '.join(ways)}"
        for ways, group in groupby(told, key=lambda one: one[1])
        if ways
        for some in [list(group)]
    ]


def drawn(
    one: "Compartment",
    solids: "Sequence[tuple[str, Solid]]",
    still: Path,
    units: str,
    *,
    exploded: bool,
    force: bool,
) -> None:
    """Draw a part in its place in the compartment, or its pieces moved apart."""
    from tapeloft.model.stowed import Stowed
    from tapeloft.viewer.exploding import moved_apart
    from tapeloft.viewer.still import draw_still

    stowed = [Stowed(name, solid) for name, solid in solids]
    stowed = moved_apart(stowed) if exploded else stowed
    draw_still(one, still, stowed=stowed, unit=units, boat=one.survey.boat, force=force)


def _together(parts: "Sequence[NamedSolid]") -> "NamedSolid":
    from tapeloft.model.files.formats.registry import NamedSolid
    from tapeloft.model.solid import united

    return NamedSolid("part", united(part.solid for part in parts))


def _outlines(path: Path, templates: "Sequence[Template]") -> Iterator[tuple[Path, bytes]]:
    from tapeloft.viewer.template.dxf import as_dxf
    from tapeloft.viewer.template.svg import as_svg

    for one in templates:
        name = path if len(templates) == 1 else path.with_name(f"{path.stem}-{one.name}{path.suffix}")
        yield name, as_svg(one) if path.suffix.lower() == ".svg" else as_dxf(one)


def _as_csv(lines: "Sequence[Line]") -> bytes:
    text = io.StringIO()
    rows = csv.writer(text, lineterminator="\n")
    rows.writerow(
        (
            "piece",
            "length_mm",
            "breadth_mm",
            "thickness_mm",
            "least_width_mm",
            "area_m2",
            "mass_kg",
            "perimeter_mm",
            "through",
        )
    )
    for one in lines:
        sizes = (one.length_m, one.breadth_m, one.thickness_m, one.least_width_m)
        figures = [f"{side * 1000:.1f}" for side in sizes]
        rows.writerow(
            (
                one.piece,
                *figures,
                f"{one.area_m2:.4f}",
                f"{one.mass_kg:.3f}",
                f"{one.perimeter_m * 1000:.1f}",
                "; ".join(one.through),
            )
        )
    return text.getvalue().encode()


def _run(line: Sequence[tuple[float, float]]) -> float:
    from itertools import pairwise
    from math import dist

    return 1000 * sum(dist(a, b) for a, b in pairwise(line))


def _bevel(bevel: tuple[float, float]) -> str:
    least, most = bevel
    return f"{least:+.1f}°" if most - least < 0.1 else f"{least:+.1f}° to {most:+.1f}°"
