"""The cut list as tables and as a file, the edges, the cleats, and in words how pieces go in."""

import csv
import io
from collections.abc import Sequence
from itertools import groupby, pairwise
from math import dist
from typing import TYPE_CHECKING

from tapeloft.cli.plusminus import square_beside
from tapeloft.cli.printing import Table

if TYPE_CHECKING:
    from tapeloft.model.cutting.blocks import Block, Blocked
    from tapeloft.model.cutting.cleats import Cleat
    from tapeloft.model.cutting.laying import Section
    from tapeloft.model.cutting.plane import Plane
    from tapeloft.model.cutting.told import Line


def cut_list(title: str, lines: "Sequence[Line]", units: str) -> Table:
    """Return the cut list as a table; what is alike and stands together is one row."""
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
            square_beside(one.area_m2, one.area_sd_m2),
            f"{one.mass_kg:.2f}",
            figure(one.perimeter_m, units),
            ", ".join(one.through) or "none",
        )
        for some in grouped
        for one in some[:1]
    ]
    head = ("piece", "number", f"over all, {units}", "thick", "m² each", "kg each", "round it", "goes in through")
    return Table(title, head, rows, words=(7,))


def edge_list(lines: "Sequence[Line]", units: str) -> Table:
    """Return the edges with their walls and bevels as a table; in millimetres to a tenth, as bevels want it."""
    from tapeloft.model.units import figure

    rows = [
        (one.piece, f"{long:.1f}" if units == "mm" else figure(long / 1000, units), edge.wall, _bevel(edge.bevel))
        for one in lines
        for edge in one.edges
        for long in [_run(edge.line)]
        if edge.wall and long >= 1.0
    ]
    return Table("edges", ("piece", f"long, {units}", "along", "wall off square"), rows, words=(2,))


def cleat_list(fixed: "Sequence[Cleat]", units: str) -> Table:
    """Return the cleats that a board is fastened by as a table."""
    from tapeloft.model.units import figure

    rows = [(one.piece, one.wall, figure(one.length_m, units), str(one.screws) if one.screws else "") for one in fixed]
    screwed = any(one.screws for one in fixed)
    head = ("piece", "on", f"long, {units}", "screws, 150 mm apart at most" if screwed else "bonded, no screws")
    return Table("cleats", head, rows, words=(1,))


def block_list(blocked: "Sequence[Blocked]", units: str) -> Table:
    """Return the blocks under a grate's bearers as a table, those of a bearer from its after or starboard end on."""
    from tapeloft.model.units import figure

    def high(block: "Block") -> str:
        least, most = figure(block.least_m, units), figure(block.most_m, units)
        return most if least == most else f"{least} to {most}"

    rows = [
        (one.bearer, str(len(one.blocks)), "; ".join(map(high, one.blocks)), ", ".join(dict.fromkeys(on)))
        for one in blocked
        for on in [[block.on for block in one.blocks]]
    ]
    return Table("blocks under bearers", ("bearer", "number", f"high, {units}", "stand on"), rows, words=(2, 3))


def ways_in(parts: "Sequence[Line | Section]", names: Sequence[str], plane: "Plane") -> list[str]:
    """Return in words how each piece goes in; what is alike is told once."""
    from tapeloft.model.cutting.told import way_in

    told = [(name, [way_in(one, plane) for one in part.passages]) for name, part in zip(names, parts, strict=True)]
    return [
        f"{', '.join(name for name, _ in some)}: in {'; or '.join(ways)}"
        for ways, group in groupby(told, key=lambda one: one[1])
        if ways
        for some in [list(group)]
    ]


def as_csv(lines: "Sequence[Line]") -> bytes:
    """Return the cut list as a CSV file, mm, m² and kg."""
    text = io.StringIO()
    rows = csv.writer(text, lineterminator="\n")
    sides = ("length_mm", "breadth_mm", "thickness_mm", "least_width_mm")
    rows.writerow(("piece", *sides, "area_m2", "mass_kg", "perimeter_mm", "through"))
    for one in lines:
        sizes = (one.length_m, one.breadth_m, one.thickness_m, one.least_width_m)
        figures = [f"{side * 1000:.1f}" for side in sizes]
        figures += [f"{one.area_m2:.4f}", f"{one.mass_kg:.3f}", f"{one.perimeter_m * 1000:.1f}"]
        rows.writerow((one.piece, *figures, "; ".join(one.through)))
    return text.getvalue().encode()


def _run(line: Sequence[tuple[float, float]]) -> float:
    return 1000 * sum(dist(a, b) for a, b in pairwise(line))


def _bevel(bevel: tuple[float, float]) -> str:
    least, most = bevel
    return f"{least:+.1f}°" if most - least < 0.1 else f"{least:+.1f}° to {most:+.1f}°"
