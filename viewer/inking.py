"""What is inked over the painting: dimension lines, clearances, openings, boxes, and all that is written there."""

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from tapeloft.model.moments import Points
from tapeloft.viewer.callouts import ARROW, Callout, Clearance, Hole
from tapeloft.viewer.dimensions import sides_along
from tapeloft.viewer.drawing import Drawing
from tapeloft.viewer.edges import edges_seen
from tapeloft.viewer.lettering import Balloon, Measure
from tapeloft.viewer.plate import FAINT, INK, WHITE, Plate
from tapeloft.viewer.scene import Part
from tapeloft.viewer.tones import BOX, CLEARANCE, OPENING

BOX_INK = "#7a2a0f"
MARK_INK = "#000000"  # on tones, in shade too
GHOSTS = 2  # things out of sight whose outlines are drawn all the same; those of more would be a tangle


def ink_field(plate: Plate, drawing: Drawing) -> None:
    """Ink what stands within the drawing itself, over the painting."""
    scale, lettering, eye = drawing.scale, drawing.lettering, drawing.eye
    plate.picture(drawing.painting.pixels)
    for part in lettering.unseen if len(lettering.unseen) <= GHOSTS else ():
        _ink_unseen(plate, drawing, part)
    for side in (side for corners in drawing.scene.boxes for axis in range(3) for side in sides_along(corners, axis)):
        plate.line(eye.seen(np.array(side)), 0.8 * scale, BOX, dash=7 * scale)
    for hole in lettering.holes:
        _ink_hole(plate, hole, scale)
    for part in drawing.scene.parts:
        if part.leader is not None:
            plate.line(eye.seen(np.array(part.leader)), 1.0 * scale, INK, dash=7 * scale)
    things = [k for k, part in enumerate(drawing.scene.parts) if part.kind in ("obstruction", "part", "stowed")]
    before = np.isin(drawing.painting.seen, things)
    for line in lettering.measures:
        _ink_measure(plate, line, before, scale)
    _ink_words(plate, drawing)


def _ink_words(plate: Plate, drawing: Drawing) -> None:
    scale, lettering = drawing.scale, drawing.lettering
    for clearance in lettering.clearances:
        _ink_clearance(plate, clearance, scale)
    for label in lettering.box:
        plate.write(label, BOX_INK, halo=3 * scale)
    tones = {number: part.tone for number, part in drawing.numbered}
    for balloon in lettering.balloons:
        _ink_balloon(plate, balloon, tones[int(balloon.label.text)], scale)
    for mark in lettering.marks:
        _ink_callout(plate, mark, MARK_INK, scale, halo=1.5)


def _ink_measure(plate: Plate, line: Measure, before: NDArray[np.bool_], scale: float) -> None:
    """Ink a dimension; the faint lines that lead to it are left out *before* things, (h, w)."""
    for reach in line.to_thing:
        for piece in _clear_of(before, reach):
            plate.line(piece, 0.8 * scale, FAINT, dash=4 * scale)
    for extension in line.extensions:
        plate.line(extension, 0.9 * scale)
    plate.line(line.ends, 0.9 * scale)
    plate.arrow(line.ends[0], line.ends[1], 14 * scale)
    plate.arrow(line.ends[1], line.ends[0], 14 * scale)
    plate.write(line.label, halo=3 * scale)


def _clear_of(before: NDArray[np.bool_], path: Points) -> list[Points]:
    """Return the pieces of a path, (n, 2) px, that are not where *before* is."""
    pieces = []
    for a, b in pairwise(path):
        points = np.linspace(a, b, 2 + int(np.hypot(*(b - a)) / 2))
        columns, rows = points.round().astype(int).T
        inside = (rows >= 0) & (rows < before.shape[0]) & (columns >= 0) & (columns < before.shape[1])
        clear = ~inside
        clear[inside] = ~before[rows[inside], columns[inside]]
        turns = np.flatnonzero(np.diff(np.concatenate([[False], clear, [False]])))
        pieces += [points[[start, end - 1]] for start, end in turns.reshape(-1, 2).tolist()]
    return pieces


def _ink_clearance(plate: Plate, clearance: Clearance, scale: float) -> None:
    """Ink a clearance: between arrowheads, or where it is short between two that point at it; a touch is a dot."""
    (a, b), dash = clearance.ends, 4 * scale if clearance.hidden else 0.0
    length = float(np.hypot(*(b - a)))
    _ink_callout(plate, clearance.said, CLEARANCE, scale)
    if length < 1:
        plate.disc((float(a[0]), float(a[1])), 3.4 * scale, CLEARANCE, WHITE, 1.0 * scale)
        return
    way = (b - a) / length * ARROW * scale
    outside = clearance.reach is not clearance.ends
    plate.line(clearance.reach, 4.4 * scale, WHITE)
    plate.line(clearance.reach, 1.6 * scale, CLEARANCE, dash=dash)
    for tip, back in ((a, a - way), (b, b + way)) if outside else ((a, b), (b, a)):
        plate.arrow(tip, back, ARROW * scale, CLEARANCE)


def _ink_hole(plate: Plate, hole: Hole, scale: float) -> None:
    outline = np.vstack([hole.outline, hole.outline[:1]])
    plate.line(outline, 1.8 * scale, OPENING, dash=6 * scale)
    if hole.said is not None:
        _ink_callout(plate, hole.said, OPENING, scale)


def _ink_callout(plate: Plate, callout: Callout, ink: str, scale: float, halo: float = 3.0) -> None:
    if callout.leader is not None:
        plate.line(callout.leader, 3.0 * scale, WHITE)
        plate.line(callout.leader, 0.9 * scale, ink)
    plate.write(callout.label, ink, halo=halo * scale)


def _ink_balloon(plate: Plate, balloon: Balloon, tone: str, scale: float) -> None:
    if balloon.label.at != balloon.thing:
        plate.line(np.array([balloon.label.at, balloon.thing]), 1.1 * scale)
        plate.disc(balloon.thing, 2.4 * scale, INK, INK)
    plate.disc(balloon.label.at, balloon.radius, tone, INK, 1.0 * scale)
    plate.write(balloon.label)


def _ink_unseen(plate: Plate, drawing: Drawing, part: Part) -> None:
    """Ink the outline of a thing that something hides, in dashes."""
    solid = part.solid
    pairs = edges_seen(solid.vertices, solid.triangles, drawing.scene.skin_of(part), drawing.eye).outline
    lines: Points = drawing.eye.seen(solid.vertices[pairs])
    for line in lines:
        plate.line(line, 1.0 * drawing.scale, INK, dash=6 * drawing.scale)
