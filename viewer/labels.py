"""Words and figures on a drawing: how large each is, and where it goes so that none lies on another."""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from importlib.util import find_spec
from pathlib import Path
from typing import Literal

import numpy as np
from PIL import ImageFont

from tapeloft.model.moments import Points

Face = Literal["roman", "italic", "bold"]
# The faces are files that come with matplotlib, which pyvista brings along: the same letters on every machine.
FILES: dict[Face, str] = {"roman": "STIXGeneral.ttf", "italic": "STIXGeneralItalic.ttf", "bold": "STIXGeneralBol.ttf"}
AIR = 3.0
LEAN = math.radians(10)  # text that leans less from the vertical than this reads from the right


def font_file(face: Face) -> Path:
    """Return the file that the letters are taken from."""
    found = find_spec("matplotlib")
    if found is None or found.origin is None:
        raise ModuleNotFoundError("matplotlib, whose fonts are drawn with, is not installed")
    return Path(found.origin).parent / "mpl-data" / "fonts" / "ttf" / FILES[face]


@cache
def font(face: Face, size: float) -> ImageFont.FreeTypeFont:
    """Return a face at a size in px."""
    return ImageFont.truetype(font_file(face), size)


@dataclass(frozen=True)
class Label:
    """A line of text centred on *at*, px on the plate, turned anticlockwise by *angle*, radians.

    size: of its letters, px; air: px kept clear round it.
    """

    text: str
    at: tuple[float, float]
    size: float
    angle: float = 0.0
    face: Face = "roman"
    air: float = AIR

    @property
    def extent(self) -> tuple[float, float]:
        """Width and height of the line as if it were level, px."""
        return font(self.face, self.size).getlength(self.text), self.size

    def corners(self) -> Points:
        """Return the corners, (4, 2) px, of the rectangle it takes up, air included."""
        width, height = self.extent
        half = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * (np.array([width, height]) / 2 + self.air)
        along = np.array([math.cos(self.angle), -math.sin(self.angle)])
        down = np.array([math.sin(self.angle), math.cos(self.angle)])
        corners: Points = np.array(self.at) + half[:, :1] * along + half[:, 1:] * down
        return corners


def overlap(one: Points, other: Points) -> bool:
    """Whether two convex outlines, (n, 2) and (k, 2), have points in common (separating axes).

    >>> square = np.array([[0, 0], [1, 0], [1, 1], [0, 1.0]])
    >>> overlap(square, square + 0.5), overlap(square, square + 1.5)
    (True, False)
    """
    for outline in (one, other):
        sides = np.roll(outline, -1, axis=0) - outline
        for across in np.column_stack([-sides[:, 1], sides[:, 0]]):
            a, b = one @ across, other @ across
            if a.max() <= b.min() or b.max() <= a.min():
                return False
    return True


def first_free(candidates: Iterable[Label], taken: Iterable[Points], size: tuple[float, float]) -> Label | None:
    """Return the first label on the plate, *size* px, that lies on none of the outlines *taken*; None if all do."""
    outlines = list(taken)
    for label in candidates:
        corners = label.corners()
        on_plate = corners.min() >= 0 and bool((corners.max(axis=0) <= size).all())
        if on_plate and not any(overlap(corners, outline) for outline in outlines):
            return label
    return None


def upright_angle(line: Points) -> float:
    """Return the angle, radians, of text along *line* (2,) px, y down, so that it reads from below or from the right.

    >>> [round(math.degrees(upright_angle(np.array(d)))) for d in ((1, 0), (-1, 0), (0, -1), (0, 1), (1, 1))]
    [0, 0, 90, 90, -45]
    """
    angle = math.atan2(-line[1], line[0])
    if angle > math.pi / 2 + LEAN:
        return angle - math.pi
    return angle + math.pi if angle <= -math.pi / 2 + LEAN else angle
