"""A picture of a scan's points against the sections that were fitted to them: one frame a station, all to one scale."""

import io
import math
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from tapeloft.model.errors import FileError, Problem
from tapeloft.model.files.writing import write_whole
from tapeloft.model.scan.scan import Scanned
from tapeloft.model.units import figure, format_length

if TYPE_CHECKING:
    from matplotlib.axes import Axes

INK, WALL, POINT, HOLE = "#1c1c1c", "#b3261e", "#7a7a7a", "#e0a100"
SHOWN = 4000  # points drawn of a station
WIDE = 3  # frames side by side
FRAME = 4.8  # inches: the breadth of one
LETTERED = (0.5, 0.14)  # of a section's breadth: the room beside it, and over and under it, for its letters
UPRIGHT = 0.35  # a letter stands over its corner where that lies no more aside from the middle
DPI = 130


def draw_fitted(
    scan: Scanned, unit: str, path: str | Path, *, title: str = "", ahead: float = 1.0, force: bool = False
) -> None:
    """Draw the points near each station and the walls fitted to them into a PNG, whole or not at all.

    unit that heights and half-breadths are written in; title: what the space is called; ahead: -1 where distances
    rise aft. Seen from forward, so that port is to the right. Raises FileError where the name does not end in .png,
    where the file is there and *force* is not given, or where no section was found.
    """
    file = Path(path)
    if file.suffix.lower() != ".png":
        raise FileError(str(Problem("a still is a PNG picture", "give it a name that ends in .png", file=str(file))))
    if not scan.sections:
        raise FileError(
            str(Problem("there is no section to draw", "choose stations that were scanned", file=str(file)))
        )
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    across = min(WIDE, len(scan.sections))
    down = math.ceil(len(scan.sections) / across)
    corners = np.vstack([section.corners for section in scan.sections])
    room = np.ptp(corners[:, 0]) * np.array(LETTERED)
    low, high = corners.min(axis=0) - room, corners.max(axis=0) + room
    tall = FRAME * (high[1] - low[1]) / (high[0] - low[0]) + 0.6
    drawing = Figure(figsize=(FRAME * across, tall * down + 0.4), dpi=DPI, layout="constrained")
    drawing.suptitle(f"{title}: points of the scan and fitted walls, seen from forward", color=INK, fontsize=11)
    for k in range(len(scan.sections)):
        axes = drawing.add_subplot(down, across, k + 1)
        _section(axes, scan, k, unit, ahead)
        axes.set_xlim(low[0], high[0])
        axes.set_ylim(low[1], high[1])
    png = io.BytesIO()
    FigureCanvasAgg(drawing)
    drawing.savefig(png, format="png")
    write_whole(file, png.getvalue(), force=force)


def _section(axes: "Axes", scan: Scanned, k: int, unit: str, ahead: float) -> None:
    section, slab = scan.sections[k], scan.slabs[k]
    marks = {number: mark for mark, number in scan.letters.corners[k].items()} if scan.letters else {}
    spots = slab.across[:: max(1, len(slab.across) // SHOWN)]
    axes.plot(spots[:, 0], spots[:, 1], ".", color=POINT, markersize=1, alpha=0.5)
    ring = np.vstack([section.corners, section.corners[:1]])
    axes.plot(ring[:, 0], ring[:, 1], color=WALL, linewidth=1.2)
    for hole in (hole for seen in section.seen for hole in seen.holes):
        axes.plot(*zip(hole.start, hole.end, strict=True), color=HOLE, linewidth=4, alpha=0.7)
    middle = section.corners.mean(axis=0)
    for number, (y, z) in enumerate(section.corners.tolist()):
        out = np.array([y, z]) - middle
        out = out / max(float(np.hypot(*out)), 1e-9)
        told = f"{marks.get(number, '?')} {figure(abs(y), unit)}, {figure(z, unit)}"
        side = "center" if abs(out[0]) < UPRIGHT else "left" if out[0] > 0 else "right"
        axes.annotate(
            told, (y, z), xytext=tuple(out * 9), textcoords="offset points", fontsize=7, color=INK, ha=side, va="center"
        )
    axes.set_title(
        f"{'end wall about' if section.end else 'station at'} {format_length(section.x * ahead, unit)}",
        fontsize=9,
        color=INK,
    )
    axes.set_aspect("equal")
    axes.tick_params(labelsize=6, colors=POINT)
    axes.set_xlabel("m to port" if section.corners[:, 0].max() > 0 else "m, starboard below nought", fontsize=6)
