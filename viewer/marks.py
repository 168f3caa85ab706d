"""The marks on things stowed: each written on its own thing, on one face of it, as large as there is room for."""

from collections import Counter

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw
from scipy.ndimage import distance_transform_edt

from tapeloft.viewer.callouts import Callout, Room, beside
from tapeloft.viewer.edges import edges_seen
from tapeloft.viewer.eye import Eye
from tapeloft.viewer.labels import Label
from tapeloft.viewer.paint import Painting
from tapeloft.viewer.scene import Part, Scene

SIZES = (24.0, 20.0, 17.0, 14.0)  # px, height of letters, on a plate 1600 px wide
CAPITAL = 0.72  # of the height of letters: how high a capital or a figure is


def marked(scene: Scene, painting: Painting, eye: Eye, scale: float, room: Room) -> tuple[Callout, ...]:
    """Return the marks of things stowed that can be seen, and take their places up.

    A thing of which there is one only is marked beside itself where there is no room on it; one of many is not.
    """
    alike = Counter(part.name for part in scene.of("stowed"))
    found = []
    for number, part in enumerate(scene.parts):
        mask = painting.seen == number
        if part.kind != "stowed" or not mask.any():
            continue
        mark = _on_it(part, scene, mask, eye, scale, room)
        if mark is None and alike[part.name] == 1:
            mark = _by_it(part, mask, scale, room)
        if mark is not None:
            found.append(mark)
    return tuple(found)


def _on_it(
    part: Part, scene: Scene, mask: NDArray[np.bool_], eye: Eye, scale: float, room: Room
) -> Callout | None:  # fmt: skip
    """Return the mark of a part seen where *mask*, clear of its edges and of all that is written; None without room."""
    rows, columns = np.flatnonzero(mask.any(axis=1)), np.flatnonzero(mask.any(axis=0))
    top, left = int(rows[0]), int(columns[0])
    cropped = mask[top : rows[-1] + 1, left : columns[-1] + 1]
    within = cropped & ~_taken(part, scene, eye, room, (left, top), cropped.shape)
    depth = distance_transform_edt(np.pad(within, 1))[1:-1, 1:-1]
    row, column = np.unravel_index(int(depth.argmax()), depth.shape)
    at = (float(column + left), float(row + top))
    for label in (Label(part.mark, at, size * scale, air=1.0) for size in SIZES):
        width, height = label.extent
        if np.hypot(width, CAPITAL * height) / 2 + 1 <= depth[row, column]:
            room.write(label)
            return Callout(label)
    return None


def _by_it(part: Part, mask: NDArray[np.bool_], scale: float, room: Room) -> Callout | None:
    """Return the mark of a part seen where *mask*, beside it, led to the middle of its thickest place."""
    depth = distance_transform_edt(np.pad(mask, 1))[1:-1, 1:-1]
    row, column = np.unravel_index(int(depth.argmax()), depth.shape)
    return room.best(beside(part.mark, np.array([column, row], float), np.array([0.0, -1.0]), SIZES[1] * scale))


def _taken(
    part: Part, scene: Scene, eye: Eye, room: Room, zero: tuple[int, int], shape: tuple[int, ...]
) -> NDArray[np.bool_]:  # fmt: skip
    """Return where in a picture, (h, w), whose corner is at *zero*, a part's near edges run, or anything is written."""
    solid = part.solid
    pairs = edges_seen(solid.vertices, solid.triangles, scene.skin_of(part), eye).near
    picture = Image.new("1", (shape[1], shape[0]))
    pen = ImageDraw.Draw(picture)
    for line in eye.seen(solid.vertices[pairs]) - zero:
        pen.line([tuple(end) for end in line.tolist()], fill=1, width=1)
    for outline in room.taken:
        pen.polygon([tuple(corner) for corner in (outline - zero).tolist()], fill=1)
    return np.array(picture)
