"""A picture of a compartment, as an engraver would draw it: near sides taken off, dimensioned, titled, on white."""

import io
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from PIL import Image
from PIL.PngImagePlugin import PngInfo

from tapeloft.model.compartment import Compartment
from tapeloft.model.errors import FileError, Problem
from tapeloft.model.files.writing import write_whole
from tapeloft.model.units import CUBIC_FOOT, LITRE, format_length
from tapeloft.viewer.dimensions import edges_along, figures, overall
from tapeloft.viewer.eye import Eye, eye_for
from tapeloft.viewer.labels import Label
from tapeloft.viewer.lettering import ROOM, Lettering, Measure, lettered, measure
from tapeloft.viewer.paint import Painting, painted
from tapeloft.viewer.plate import FAINT, INK, Plate
from tapeloft.viewer.scene import BOX, Found, Part, Scene, scene_of
from tapeloft.viewer.titling import (
    Entry,
    Title,
    arms,
    draw_axes,
    draw_key,
    draw_title,
    lines_in_key,
    scale_length,
)

SIZE = (1600, 1100)
BORDER, STRIP = 22.0, 178.0  # px: the plate's border, and the strip at its foot that key and title stand in
AXES, TITLE = 300.0, 480.0  # px: the width of the axes and of the title block in that strip
BOX_INK = "#7a2a0f"
IMPERIAL = ("in", "ft", "ft-in-8")
SEEN_FROM = {
    "three-quarter": "seen from aft, above and {side}", "plan": "seen from above", "profile": "seen from starboard",
    "section": "seen from aft",
}  # fmt: skip


@dataclass(frozen=True, eq=False)
class Drawing:
    """A composed drawing, ready to be inked: what is shown, for which eye, how painted and lettered."""

    scene: Scene
    view: str
    eye: Eye
    painting: Painting
    lettering: Lettering
    unit: str
    scale: float
    size: tuple[int, int]


def draw_still(
    compartment: Compartment, path: str | Path, *, box: Found | None = None, level: float | None = None,
    view: str = "three-quarter", orthographic: bool = True, size: tuple[int, int] = SIZE, unit: str = "mm",
    boat: str = "", force: bool = False,
) -> None:  # fmt: skip
    """Draw a compartment into a PNG file, written whole or not at all; no display is needed.

    box: the largest box, to stand in it; level: height it is filled to, m, compartment axes; view: one of
    `eye.VIEWS`; size px; unit that lengths are written in; boat: her name for the title block. Raises FileError
    where the file's name does not end so, where it is there already and *force* is not given, or where it cannot be
    written; TapeloftError where nothing can draw; UnknownName for a view that there is not.
    """
    file = Path(path)
    if file.suffix.lower() != ".png":
        raise FileError(str(Problem("a still is a PNG picture", "give it a name that ends in .png", file=str(file))))
    drawing = composed(
        scene_of(compartment, box, level), view=view, orthographic=orthographic, size=size, unit=unit
    )  # fmt: skip
    about = PngInfo()
    about.add_text("Title", compartment.name)
    png = io.BytesIO()
    inked(drawing, boat).save(png, "PNG", optimize=True, pnginfo=about)
    write_whole(file, png.getvalue(), force=force)


def composed(
    scene: Scene, *, view: str = "three-quarter", orthographic: bool = True, size: tuple[int, int] = SIZE,
    unit: str = "mm",
) -> Drawing:  # fmt: skip
    """Return a drawing of a scene with everything in its place; see `draw_still` for what is asked and raised."""
    scale = min(size[0] / SIZE[0], size[1] / SIZE[1])
    field = (round(size[0] - 2 * BORDER * scale), round(size[1] - (2 * BORDER + STRIP) * scale))
    eye, measures = _framed(scene, view, orthographic, field, unit, scale)
    painting = painted(scene, eye, scale)
    parts = {number: scene.parts.index(part) for number, part in _numbered(scene, scale)}
    box = next((part.solid.bounds for part in scene.of("box")), None)
    lettering = lettered(measures, box, parts, painting.seen, eye, unit, scale)
    return Drawing(scene, view, eye, painting, lettering, unit, scale, size)


def _framed(
    scene: Scene, view: str, orthographic: bool, field: tuple[int, int], unit: str, scale: float
) -> tuple[Eye, list[Measure]]:
    """Return the eye that sees the whole scene and its dimension lines, and those lines."""
    vertices, bounds = scene.gross.vertices, scene.gross.bounds
    margins = (ROOM * scale,) * 4
    eye = eye_for(vertices, view, field, margins=margins, orthographic=orthographic)
    lines = overall(bounds, eye, unit)
    ends = [end for line in lines for end in (line.start, line.end)]
    eye = eye_for(np.vstack([vertices, *ends]), view, field, margins=margins, orthographic=orthographic)
    return eye, [measure(line, eye, vertices, scale) for line in lines]


def _numbered(scene: Scene, scale: float) -> list[tuple[int, Part]]:
    """Return the things that get a number, as they come in the survey; the largest where the key cannot hold all."""
    things = scene.of("obstruction", "divider")
    lines = lines_in_key(STRIP * scale, scale) - len(_bodies(scene, "mm"))
    if len(things) > lines:
        largest = sorted(things, key=lambda part: -part.solid.volume)[: lines - 1]
        things = tuple(part for part in things if part in largest)
    return list(enumerate(things, start=1))


def inked(drawing: Drawing, boat: str = "") -> Image.Image:
    """Return the finished picture of a drawing; *boat* is her name for the title block."""
    scale, (width, height) = drawing.scale, drawing.size
    plate = Plate(width, height)
    border = round(BORDER * scale)
    _ink_field(plate.within(border, border), drawing)
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
    draw_key(plate, _entries(drawing), key, scale)
    block = (inner["title"] + pad, foot + pad / 2, right - pad, height - border)
    draw_title(plate, _title(drawing, boat), block, scale)
    return plate.finished()


def _ink_field(plate: Plate, drawing: Drawing) -> None:
    """Ink what stands within the drawing itself, over the painting."""
    scale, lettering = drawing.scale, drawing.lettering
    plate.picture(drawing.painting.pixels)
    for part in drawing.scene.of("box"):
        for axis in range(3):
            for start, end, *_ in edges_along(part.solid.bounds, axis):
                plate.line(drawing.eye.seen(np.array([start, end])), 0.8 * scale, BOX, dash=7 * scale)
    for line in lettering.measures:
        _ink_measure(plate, line, scale)
    for label in lettering.box:
        plate.write(label, BOX_INK, halo=3 * scale)
    tones = {number: part.tone for number, part in _numbered(drawing.scene, scale)}
    for balloon in lettering.balloons:
        if balloon.label.at != balloon.thing:
            plate.line(np.array([balloon.label.at, balloon.thing]), 1.1 * scale)
            plate.disc(balloon.thing, 2.4 * scale, INK, INK)
        plate.disc(balloon.label.at, balloon.radius, tones[int(balloon.label.text)], INK, 1.0 * scale)
        plate.write(balloon.label)


def _ink_measure(plate: Plate, line: Measure, scale: float) -> None:
    for reach in line.to_thing:
        plate.line(reach, 0.8 * scale, FAINT, dash=4 * scale)
    for extension in line.extensions:
        plate.line(extension, 0.9 * scale)
    plate.line(line.ends, 0.9 * scale)
    plate.arrow(line.ends[0], line.ends[1], 14 * scale)
    plate.arrow(line.ends[1], line.ends[0], 14 * scale)
    plate.write(line.label, halo=3 * scale)


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


def _bodies(scene: Scene, unit: str) -> list[Entry]:
    """Return what the key says of bays, box and water."""
    bays = scene.of("bay")
    entries = [Entry(f"{bay.name}, {litres(bay.litres)}", bay.tone) for bay in bays if len(bays) > 1]
    for part in scene.of("water"):
        entries.append(Entry(f"filled to {figures(part.solid.bounds[1, 2], unit)}: {litres(part.litres)}", part.tone))
    for part in scene.of("box"):
        sizes = " × ".join(figures(size, unit, down=True) for size in np.ptp(part.solid.bounds, axis=0))
        entries.append(Entry(f"{part.name} {sizes}, {litres(part.litres)}", part.tone, outlined=True))
    return entries


def _entries(drawing: Drawing) -> list[Entry]:
    numbered = _numbered(drawing.scene, drawing.scale)
    things = drawing.scene.of("obstruction", "divider")
    hidden = drawing.lettering.out_of_sight
    entries = [
        Entry(part.name + " (out of sight)" * (number in hidden), part.tone, str(number)) for number, part in numbered
    ]
    if len(things) > len(numbered):
        entries.append(Entry(f"and {len(things) - len(numbered)} smaller things", "#ffffff"))
    return _bodies(drawing.scene, drawing.unit) + entries


def _title(drawing: Drawing, boat: str) -> Title:
    scene, unit = drawing.scene, drawing.unit
    side = "starboard" if drawing.eye.toward[1] < 0 else "port"
    net, gross = (litres(solid.volume / LITRE) for solid in (scene.net, scene.gross))
    if unit in IMPERIAL:
        net += f" ({scene.net.volume / CUBIC_FOOT:.2f} ft³)"
    volumes = f"net {net}" + (f", gross {gross}" if scene.of("obstruction", "divider") else "")
    sizes = {"in": "inches", "ft": "feet and inches", "ft-in-8": "feet-inches-eighths"}.get(unit, unit)
    return Title(
        scene.name, boat, (volumes, f"inside sizes in {sizes}, as taped"),
        f"{SEEN_FROM[drawing.view].format(side=side)}, near sides taken off",
    )  # fmt: skip


def litres(amount: float) -> str:
    """Return a volume in litres as a drawing states it, to four figures or so.

    >>> litres(1115.34), litres(214.26), litres(3.4567), litres(0.04)
    ('1115 L', '214.3 L', '3.46 L', '0.04 L')
    """
    return f"{amount:.{0 if amount >= 1000 else 1 if amount >= 10 else 2}f} L"
