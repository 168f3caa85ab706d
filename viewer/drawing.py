"""A drawing composed: what is shown, from where it is seen, how it is painted, and where everything is written."""

from dataclasses import dataclass

import numpy as np

from tapeloft.viewer.dimensions import overall
from tapeloft.viewer.eye import Eye, eye_for
from tapeloft.viewer.lettering import ROOM, Lettering, Measure, lettered, measure
from tapeloft.viewer.listing import numbered
from tapeloft.viewer.paint import Painting, painted
from tapeloft.viewer.scene import Part, Scene
from tapeloft.viewer.titling import lines_in_key

SIZE = (1600, 1100)
BORDER, STRIP = 22.0, 178.0  # px: the plate's border, and the strip at its foot that key and title stand in


@dataclass(frozen=True, eq=False)
class Drawing:
    """A composed drawing, ready to be inked: what is shown, for which eye, how painted and lettered.

    numbered: the things that bear a number. lines: that its key holds.
    """

    scene: Scene
    view: str
    eye: Eye
    painting: Painting
    lettering: Lettering
    unit: str
    scale: float
    size: tuple[int, int]
    numbered: tuple[tuple[int, Part], ...]
    lines: int


def composed(
    scene: Scene, *, view: str = "three-quarter", orthographic: bool = True, size: tuple[int, int] = SIZE,
    unit: str = "mm",
) -> Drawing:  # fmt: skip
    """Return a drawing of a scene with everything in its place; see `still.draw_still` for what is asked and raised."""
    scale = min(size[0] / SIZE[0], size[1] / SIZE[1])
    field = (round(size[0] - 2 * BORDER * scale), round(size[1] - (2 * BORDER + STRIP) * scale))
    eye, measures = _framed(scene, view, orthographic, field, unit, scale)
    painting = painted(scene, eye, scale)
    lines = lines_in_key(STRIP * scale, scale)
    things = numbered(scene, lines)
    parts = {number: scene.parts.index(part) for number, part in things}
    lettering = lettered(scene, measures, parts, painting, eye, unit, scale)
    return Drawing(scene, view, eye, painting, lettering, unit, scale, size, tuple(things), lines)


def _framed(
    scene: Scene, view: str, orthographic: bool, field: tuple[int, int], unit: str, scale: float
) -> tuple[Eye, list[Measure]]:
    """Return the eye that sees the whole scene and its dimension lines, and those lines."""
    apart = [part.solid.vertices for part in scene.parts if part.leader is not None]
    vertices, bounds = np.vstack([scene.gross.vertices, *apart]), scene.gross.bounds
    margins = (ROOM * scale,) * 4
    eye = eye_for(vertices, view, field, margins=margins, orthographic=orthographic)
    lines = overall(bounds, eye, unit)
    ends = [end for line in lines for end in (line.start, line.end)]
    eye = eye_for(np.vstack([vertices, *ends]), view, field, margins=margins, orthographic=orthographic)
    return eye, [measure(line, eye, vertices, scale) for line in lines]
