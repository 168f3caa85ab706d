"""A picture of a compartment, as an engraver would draw it: near sides taken off, dimensioned, titled, on white."""

import io
from collections.abc import Sequence
from pathlib import Path
from textwrap import wrap

import numpy as np
from PIL import Image
from PIL.PngImagePlugin import PngInfo

from tapeloft.model.compartment import Compartment
from tapeloft.model.errors import FileError, Problem
from tapeloft.model.files.writing import write_whole
from tapeloft.model.moments import Points
from tapeloft.model.stowed import Stowed
from tapeloft.model.units import CUBIC_FOOT, LITRE, format_length
from tapeloft.viewer.drawing import BORDER, SIZE, STRIP, Drawing, composed
from tapeloft.viewer.inking import ink_field
from tapeloft.viewer.labels import Label
from tapeloft.viewer.listing import listed, litres
from tapeloft.viewer.plate import Plate
from tapeloft.viewer.scene import Found, scene_of
from tapeloft.viewer.titling import Title, arms, draw_axes, draw_key, draw_title, scale_length

AXES, TITLE = 300.0, 480.0  # px: the width of the axes and of the title block in the strip at the foot
LINE = 54  # letters of the title block that are never shortened
IMPERIAL = ("in", "ft", "ft-in-8")
SEEN_FROM = {
    "three-quarter": "seen from aft, above and {side}", "plan": "seen from above", "profile": "seen from starboard",
    "section": "seen from aft",
}  # fmt: skip


def draw_still(
    compartment: Compartment, path: str | Path, *, box: Found | Points | None = None, level: float | None = None,
    stowed: Sequence[Stowed] = (), view: str = "three-quarter", orthographic: bool = True, size: tuple[int, int] = SIZE,
    unit: str = "mm", boat: str = "", force: bool = False,
) -> None:  # fmt: skip
    """Draw a compartment into a PNG file, written whole or not at all; no display is needed.

    box: the largest box, to stand in it, or the corners of boxes in any turn; stowed: what is stowed in it, with its
    clearances; level: height it is filled to, m, compartment axes (see `scene.scene_of` for all three). view: one of
    `eye.VIEWS`; size px; unit that lengths are written in; boat: her name for the title block. Raises FileError
    where the file's name does not end so, where it is there already and *force* is not given, or where it cannot be
    written; TapeloftError where nothing can draw; UnknownName for a view that there is not.
    """
    file = Path(path)
    if file.suffix.lower() != ".png":
        raise FileError(str(Problem("a still is a PNG picture", "give it a name that ends in .png", file=str(file))))
    scene = scene_of(compartment, box, level, stowed)
    drawing = composed(scene, view=view, orthographic=orthographic, size=size, unit=unit)
    about = PngInfo()
    about.add_text("Title", compartment.name)
    png = io.BytesIO()
    inked(drawing, boat).save(png, "PNG", optimize=True, pnginfo=about)
    write_whole(file, png.getvalue(), force=force)


def inked(drawing: Drawing, boat: str = "") -> Image.Image:
    """Return the finished picture of a drawing; *boat* is her name for the title block."""
    scale, (width, height) = drawing.scale, drawing.size
    plate = Plate(width, height)
    border = round(BORDER * scale)
    ink_field(plate.within(border, border), drawing)
    foot = height - (BORDER + STRIP) * scale
    right = width - BORDER * scale
    inner = {"left": BORDER * scale, "key": (BORDER + AXES) * scale, "title": right - TITLE * scale}
    frame = np.array([[border, border], [right, border], [right, height - border], [border, height - border]])
    plate.line(np.vstack([frame, frame[:1]]), 1.2 * scale)
    plate.line(np.array([[border, foot], [right, foot]]), 1.2 * scale)
    for x in (inner["key"], inner["title"]):
        plate.line(np.array([[x, foot], [x, height - border]]), 0.8 * scale)
    _ink_axes(plate, drawing, (inner["left"], foot, inner["key"], height - border))
    pad = 18 * scale
    key = (inner["key"] + pad, foot + pad / 2, inner["title"], height - border - pad / 2)
    draw_key(plate, listed(drawing.scene, drawing.lettering, drawing.unit, drawing.lines), key, scale)
    block = (inner["title"] + pad, foot + pad / 2, right - pad, height - border)
    draw_title(plate, _title(drawing, boat), block, scale)
    return plate.finished()


def _ink_axes(plate: Plate, drawing: Drawing, box: tuple[float, float, float, float]) -> None:
    """Ink the axes into *box*; in an orthographic drawing their arms are its scale."""
    eye, scale = drawing.eye, drawing.scale
    left, top, right, bottom = box
    room = (right - left - 110 * scale, bottom - top - 90 * scale)
    length = 0.0 if np.isfinite(eye.distance) else scale_length(eye, drawing.unit in IMPERIAL, room)
    ways = arms(eye, length or room[1] / eye.scale * 0.8)
    reach = np.vstack([ways, np.zeros(2)])
    middle = np.array([(left + right) / 2, (top + bottom) / 2 - 10 * scale])
    start = middle - (reach.min(axis=0) + reach.max(axis=0)) / 2
    draw_axes(plate, (float(start[0]), float(start[1])), ways, bool(length), scale)
    if length:
        text = f"each arm {format_length(length, drawing.unit)} long"
        plate.write(Label(text, ((left + right) / 2, bottom - 17 * scale), 17 * scale))


def _title(drawing: Drawing, boat: str) -> Title:
    scene, unit = drawing.scene, drawing.unit
    side = "starboard" if drawing.eye.toward[1] < 0 else "port"
    net, gross = (litres(solid.volume / LITRE) for solid in (scene.net, scene.gross))
    if unit in IMPERIAL:
        net += f" ({scene.net.volume / CUBIC_FOOT:.2f} ft³)"
    volumes = f"net {net}" + (f", gross {gross}" if scene.of("obstruction", "divider", "part") else "")
    sizes = {"in": "inches", "ft": "feet and inches", "ft-in-8": "feet-inches-eighths"}.get(unit, unit)
    return Title(
        scene.name, boat, (volumes, f"inside sizes in {sizes}", *wrap(scene.basis, LINE)),
        f"{SEEN_FROM[drawing.view].format(side=side)}, near sides taken off",
    )  # fmt: skip
