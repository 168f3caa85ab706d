"""tapeloft scan."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Literal

import typer

from tapeloft.cli.options import AsJson, Force

if TYPE_CHECKING:
    from tapeloft.cli.printing import Table
    from tapeloft.model.scan.scan import Scanned
    from tapeloft.model.scan.targets import Targets

ScanUnit = Literal["mm", "cm", "m", "in", "ft"]


def scan(
    scan: Annotated[Path, typer.Argument(metavar="SCAN", help="points or a mesh: .ply .obj .glb or .stl")],
    targets: Annotated[Path, typer.Option("--targets", metavar="FILE", help="targets: in the scan, and as taped")],
    stations: Annotated[
        str, typer.Option("--stations", metavar="LIST", help='distances to cut at: "0, 450, end"; end: the wall there')
    ],
    to: Annotated[Path | None, typer.Option("--to", metavar="FILE", help="the survey to write; left out: none")] = None,
    unit: Annotated[
        ScanUnit | None, typer.Option("--unit", help="what the scan's numbers are; GLB alone says it itself: m")
    ] = None,
    scale: Annotated[
        Literal["taped", "scanned"] | None, typer.Option("--scale", help="go by the taped lengths, or by the scan")
    ] = None,
    corners: Annotated[int | None, typer.Option("--corners", min=3, max=12, help="corners of a section")] = None,
    slab: Annotated[str, typer.Option("--slab", metavar="LENGTH", help="how deep a slice of points to take")] = "60 mm",
    still: Annotated[
        Path | None, typer.Option("--still", metavar="FILE", help="draw points and sections into a PNG")
    ] = None,
    as_json: AsJson = False,
    force: Force = False,
) -> None:
    """Turn a phone's scan into a survey to read and correct.

    Placed by three taped targets, cut at stations, walls fitted as lines. Status 1 where a station cannot be told.
    """
    from tapeloft.cli.printing import print_json, print_tables, say
    from tapeloft.cli.progress import each
    from tapeloft.model.files.writing import write_whole
    from tapeloft.model.reread import reread
    from tapeloft.model.scan.cloud import read_cloud
    from tapeloft.model.scan.scan import scanned
    from tapeloft.model.scan.stations import depth, metres_of, stations_of
    from tapeloft.model.scan.targets import read_targets
    from tapeloft.model.scan.written import written

    known = read_targets(targets)
    cuts = stations_of(stations, known)
    cloud = read_cloud(scan)
    found = scanned(
        cloud.points,
        metres_of(unit, cloud, scan),
        known,
        [x for _, x in cuts],
        half=depth(slab) / 2,
        corners=corners,
        wanted=scale or "",
        each=each,
    )
    problems = [*found.refused]
    if not problems:
        text = written(found, known, scan.name, [at for at, _ in cuts])
        problems += reread(text, str(to or "the survey"))
        if to is not None:
            write_whole(to, text.encode(), force=force)
    if still is not None:
        _draw(found, known, still, force)
    if as_json:
        told = _as_json(found, known)
        print_json(
            "scan", good=not problems, file=str(to) if to and not found.refused else None, points=len(cloud.points),
            triangles=cloud.meshed, left_out=cloud.left_out, **told, problems=problems, notes=found.notes,
        )  # fmt: skip
    else:
        print_tables(_tables(found, known))
        if cloud.left_out:
            say(f"look again: {scan}: {cloud.left_out} points or triangles have no coordinates, and were left out")
        for problem in problems:
            say(f"wrong: {problem}")
        for note in found.notes:
            say(f"look again: {note}")
        say(_verdict(to, bool(found.refused), bool(problems)))
    raise typer.Exit(1 if problems else 0)


def _draw(found: "Scanned", targets: "Targets", still: Path, force: bool) -> None:
    from tapeloft.viewer.fitted import draw_fitted

    draw_fitted(found, targets.unit, still, title=targets.sheet.compartment, ahead=targets.ahead, force=force)


def _verdict(to: Path | None, refused: bool, wrong: bool) -> str:
    if refused:
        return "no survey was written: a station that cannot be told would be made up"
    if to is None:
        return "nothing was written: name the survey with --to"
    then = "cannot be used yet: " if wrong else "read it, then "
    return f"wrote {to}: {then}`tapeloft check {to}`"


def _tables(found: "Scanned", targets: "Targets") -> "list[Table]":
    from tapeloft.cli.printing import Table
    from tapeloft.model.units import format_length

    placed = [(name, f"{off * 1000:.1f}") for name, off in zip(found.placing.names, found.placing.off, strict=True)]
    held = [
        (one.name, f"{one.taped * 1000:.0f}", f"{one.scanned * 1000:.0f}", f"{(1 / one.times - 1) * 100:+.2f}")
        for one in found.scale.held
    ]
    rows = [
        (
            format_length(section.x * targets.ahead, targets.unit),
            str(len(section.corners)),
            str(section.points),
            f"{min(seen.share for seen in section.seen):.0%}",
            f"{section.noise * 1000:.1f}",
            f"{section.stray.max() * 1000:.0f}",
        )
        for section in found.sections
    ]
    tables = [Table("targets", ("target", "off, mm"), placed)]
    tables += [Table("lengths", ("between", "taped, mm", "in the scan, mm", "scan, %"), held)] if held else []
    head = ("station", "corners", "points", "least seen of a wall", "points stray, mm", "least sure corner, mm")
    return [*tables, Table("sections", head, rows)]


def _as_json(found: "Scanned", targets: "Targets") -> dict[str, Any]:
    marks = [
        {number: mark for mark, number in given.items()} for given in (found.letters.corners if found.letters else ())
    ]
    return {
        "compartment": targets.sheet.compartment,
        "placing": {
            "turn": found.placing.turn,
            "shift_m": found.placing.shift,
            "targets": [
                {"name": name, "off_m": off}
                for name, off in zip(found.placing.names, found.placing.off.tolist(), strict=True)
            ],
        },
        "scale": {
            "checked": found.scale.checked,
            "applied": found.scale.applied,
            "lengths": [{"name": h.name, "taped_m": h.taped, "scanned_m": h.scanned} for h in found.scale.held],
        },
        "reach_m": found.reach,
        "accuracy_m": found.accuracy,
        "marks": found.letters.order if found.letters else (),
        "stations": [
            {
                "x_m": section.x,
                "points": section.points,
                "noise_m": section.noise,
                "open": section.open,
                "end": {"x_m": section.end.ahead, "seen": section.end.share, "noise_m": section.end.wall.spread}
                if section.end
                else None,
                "corners": [
                    {"mark": named.get(k), "at_m": section.corners[k], "stray_m": float(section.stray[k])}
                    for k in range(len(section.corners))
                ],
                "walls": [
                    {
                        "from": named.get(k),
                        "to": named.get((k + 1) % len(section.corners)),
                        "seen": seen.share,
                        "reaches": seen.span,
                        "holes": [{"start_m": hole.start, "end_m": hole.end} for hole in seen.holes],
                    }
                    for k, seen in enumerate(section.seen)
                ],
                "within": {
                    "points": section.crowd.points, "low_m": section.crowd.low, "high_m": section.crowd.high
                }
                if section.crowd
                else None,
            }
            for section, named in zip(found.sections, marks, strict=True)
        ],
    }  # fmt: skip
