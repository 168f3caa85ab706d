"""What the commands that cut parts have in common: sizes asked for, cut lists, and the files that leave."""

import csv
import io
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

import typer

if TYPE_CHECKING:
    from tapeloft.cli.printing import Table
    from tapeloft.model.compartment import Compartment
    from tapeloft.model.cutting.inset import Gaps
    from tapeloft.model.cutting.told import Line
    from tapeloft.model.files.formats.registry import NamedSolid
    from tapeloft.model.solid import Solid
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
Still = Annotated[Path | None, typer.Option("--still", metavar="FILE.png", help="draw the part in its place")]


def size(name: str, text: str) -> float:
    """Return a size of a part, m: millimetres unless a unit stands behind it."""
    from tapeloft.cli.spacing import length_of

    return length_of(name, text, "mm") or 0.0


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
            figure(one.perimeter_m, units),
            ", ".join(one.through) or "none",
        )
        for some in grouped
        for one in some[:1]
    ]
    head = ("piece", "number", f"over all, {units}", "thick", "m² each", "round it", "goes in through")
    return Table(title, head, rows, words=(6,))


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


def files_of(
    to: Sequence[Path],
    templates: "Sequence[Template]",
    lines: "Sequence[Line]",
    solids: "Sequence[tuple[str, Solid]]",
    paper: "Paper",
    title: str,
    remarks: Sequence[str],
) -> dict[Path, bytes]:
    """Return what is to be written, by file: templates, the cut list, the part's mesh in its place."""
    from tapeloft.model.errors import FileError
    from tapeloft.model.export import encoded
    from tapeloft.model.files.formats.registry import FORMATS, NamedSolid

    data: dict[Path, bytes] = {}
    for path in to:
        ending = path.suffix.lower()
        if ending == ".pdf":
            from tapeloft.viewer.template.paper import as_pdf

            data[path] = as_pdf(templates, paper, title, remarks)
        elif ending in EACH:
            data |= dict(_outlines(path, templates))
        elif ending == ".csv":
            data[path] = _as_csv(lines)
        elif ending.removeprefix(".") in FORMATS:
            kind = FORMATS[ending.removeprefix(".")]
            parts = [NamedSolid(name, solid) for name, solid in solids]
            each = parts if kind.named else [_together(parts)]
            data[path] = encoded(each, kind.ending)
        else:
            raise FileError(f"{path}: not a file that a part is written to\n    mend: let its name end in {ENDINGS}")
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


def leave(lines: "Sequence[Line]", openings: int) -> None:
    """End with status 1 where the space has openings and some piece goes in through none."""
    if openings and not all(one.through for one in lines):
        raise typer.Exit(1)


def drawn(one: "Compartment", solids: "Sequence[tuple[str, Solid]]", still: Path, units: str, *, force: bool) -> None:
    """Draw a part in its place in the compartment."""
    from tapeloft.model.stowed import Stowed
    from tapeloft.viewer.still import draw_still

    stowed = [Stowed(name, solid) for name, solid in solids]
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
        ("piece", "length_mm", "breadth_mm", "thickness_mm", "least_width_mm", "area_m2", "perimeter_mm", "through")
    )
    for one in lines:
        sizes = (one.length_m, one.breadth_m, one.thickness_m, one.least_width_m)
        figures = [f"{side * 1000:.1f}" for side in sizes]
        rows.writerow(
            (one.piece, *figures, f"{one.area_m2:.4f}", f"{one.perimeter_m * 1000:.1f}", "; ".join(one.through))
        )
    return text.getvalue().encode()


def _run(line: Sequence[tuple[float, float]]) -> float:
    from itertools import pairwise
    from math import dist

    return 1000 * sum(dist(a, b) for a, b in pairwise(line))


def _bevel(bevel: tuple[float, float]) -> str:
    least, most = bevel
    return f"{least:+.1f}°" if most - least < 0.1 else f"{least:+.1f}° to {most:+.1f}°"
