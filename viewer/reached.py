"""A picture of what an arm reaches: three sections of a compartment, reached and not, with its rail."""

import io
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import shapely

from tapeloft.model.compartment import Compartment
from tapeloft.model.cutting.outline import outline, polygons
from tapeloft.model.cutting.plane import Plane, at_half_breadth, at_height, at_station
from tapeloft.model.fall import Fall
from tapeloft.model.files.writing import write_whole
from tapeloft.model.moments import Points
from tapeloft.model.solid import Solid
from tapeloft.model.survey.told import way_of_tape
from tapeloft.model.units import format_length

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from shapely import MultiPolygon

INK, WITHIN, BEYOND, LID, RAIL = "#2b2a27", "#cfe3d2", "#e3b7ac", "#5b3a9b", "#b8451f"
BROAD = 5.2  # inches: a frame
DPI = 130
LEVEL = 0.2  # of its size: a frame that rises no more toward the eye is seen flat


def draw_reached(
    compartment: Compartment, reached: Solid, falls: Sequence[Fall], rail: Solid, height: float, path: Path, *,
    title: str, unit: str, force: bool = False,
) -> None:  # fmt: skip
    """Draw what an arm reaches into a PNG file, whole or not at all: at the rail's height, and through each lid.

    Through the middle of the first lid it is cut across and fore and aft. Raises FileError where the file is there and
    *force* is not given, or cannot be written.
    """
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure
    from matplotlib.patches import Patch

    x, y = falls[0].plan.centroid.coords[0]
    station = format_length(way_of_tape(compartment.survey) * x, unit)
    aside = f"{format_length(abs(y), unit)} to {'port' if y >= 0 else 'starboard'}"
    planes = (
        (at_height(height), f"level, {format_length(height, unit)} up: forward to the right"),
        (at_station(x), f"across, at station {station}: port to the right"),
        (at_half_breadth(y), f"fore and aft, {aside}: forward to the right"),
    )
    drawing = Figure(figsize=(2 * BROAD, 2 * BROAD * 0.72), dpi=DPI, layout="constrained")
    drawing.suptitle(title, color=INK, fontsize=12)
    frames = drawing.subplots(2, 2)
    for axes, (plane, told) in zip(frames.ravel(), planes, strict=False):
        _section(axes, compartment, reached, rail, falls, plane)
        axes.set_title(told, fontsize=9, color=INK)
    key = [
        Patch(color=WITHIN, label="within reach"), Patch(color=BEYOND, label="out of reach"),
        Patch(color=RAIL, label="rail"), Patch(color=LID, label="open lid"),
    ]  # fmt: skip
    frames[1, 1].axis("off")
    frames[1, 1].legend(handles=key, loc="center", frameon=False, fontsize=11)
    png = io.BytesIO()
    FigureCanvasAgg(drawing)
    drawing.savefig(png, format="png")
    write_whole(path, png.getvalue(), force=force)


def _section(
    axes: "Axes", compartment: Compartment, reached: Solid, rail: Solid, falls: Sequence[Fall], plane: Plane
) -> None:
    net = outline(compartment.net, plane)
    within = outline(reached, plane)
    _filled(axes, net, BEYOND)
    _filled(axes, shapely.intersection(within, net), WITHIN)
    for polygon in net.geoms:
        for ring in (polygon.exterior, *polygon.interiors):
            axes.plot(*np.array(ring.coords).T * 1000, color=INK, linewidth=1.0)
    for fall in falls:
        _lid(axes, plane.spots(fall.frame))
    _filled(axes, outline(rail, plane), RAIL, edge=RAIL)
    axes.set_aspect("equal")
    axes.tick_params(labelsize=7, colors="#8a8780")
    for axis in (axes.xaxis, axes.yaxis):  # as they are called on board: without signs
        axis.set_major_formatter(lambda at, _: f"{abs(at):g}")
    axes.set_xlabel("mm", fontsize=7, color="#8a8780")
    if plane.ways[0] == "aft":
        axes.invert_xaxis()


def _lid(axes: "Axes", frame: Points) -> None:
    """Draw a lid's frame, (n, 3) m in the plane's axes: dashed from above, else as a line, where it is cut."""
    ring = np.vstack([frame, frame[:1]])[:, :2] * 1000
    if np.ptp(frame[:, 2]) < LEVEL * np.ptp(frame[:, :2], axis=0).min():
        axes.plot(*ring.T, color=LID, linewidth=1.2, linestyle="--")
    elif frame[:, 2].min() < 0 < frame[:, 2].max():
        axes.plot(*where_cut(frame).T * 1000, color=LID, linewidth=3.0)


def where_cut(frame: Points) -> Points:
    """Return the two ends, (2, 2), of the line that a frame, (n, 3) m in a plane's axes, is cut in by that plane.

    >>> where_cut(np.array([[0, 5, -1], [2, 5, -1], [2, 6, 3], [0, 6, 3.0]])).tolist()  # a deck that rises by 1 over 4
    [[0.0, 5.25], [2.0, 5.25]]
    """
    after = np.roll(frame, -1, axis=0)
    over = (frame[:, 2] > 0) != (after[:, 2] > 0)
    start, end = frame[over], after[over]
    met = start + (end - start) * (start[:, 2] / (start[:, 2] - end[:, 2]))[:, None]
    ends: Points = met[np.argsort(met[:, 0])[[0, -1]], :2]
    return ends


def _filled(axes: "Axes", area: "MultiPolygon", tone: str, edge: str = "none") -> None:
    from matplotlib.patches import PathPatch
    from matplotlib.path import Path as Outline

    for polygon in polygons(area).geoms:
        rings = [np.array(ring.coords) * 1000 for ring in (polygon.exterior, *polygon.interiors)]
        path = Outline.make_compound_path(*(Outline(ring, closed=True) for ring in rings))
        axes.add_patch(PathPatch(path, facecolor=tone, edgecolor=edge, linewidth=1.0))
    axes.autoscale_view()
