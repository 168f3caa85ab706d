"""Ink on paper: lines, arrows and letters over a picture, drawn large and reduced so that they come out even."""

import math
from collections.abc import Iterable, Sequence
from copy import copy

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw

from tapeloft.model.moments import Points
from tapeloft.viewer.labels import Label, font

FINER = 2  # ink is drawn this many times larger and reduced
INK = "#2b2a27"
FAINT = "#8a8780"
WHITE = "#ffffff"


class Plate:
    """A sheet that a picture is laid on and inked over; every position and width is in px of the finished picture."""

    def __init__(self, width: int, height: int) -> None:
        self._image = Image.new("RGB", (width * FINER, height * FINER), WHITE)
        self._pen = ImageDraw.Draw(self._image)
        self._zero = np.zeros(2)

    def within(self, left: int, top: int) -> "Plate":
        """Return the same plate with positions counted from left, top."""
        part = copy(self)
        part._zero = self._zero + np.array([left, top])
        return part

    def picture(self, pixels: NDArray[np.uint8]) -> None:
        """Lay a picture, (h, w, 3), `FINER` times as fine as the plate, with its corner at zero."""
        left, top = (self._zero * FINER).round().astype(int).tolist()
        self._image.paste(Image.fromarray(pixels), (left, top))

    def line(self, points: Points, width: float = 1.0, ink: str = INK, dash: float = 0.0) -> None:
        """Draw a line through points (n, 2), in dashes of a length if one is given."""
        for piece in dashes(np.asarray(points, np.float64), dash) if dash else [points]:
            self._pen.line(self._fine(piece), fill=ink, width=max(1, round(width * FINER)), joint="curve")

    def shape(self, points: Points, fill: str, edge: str | None = None, width: float = 1.0) -> None:
        """Draw a filled outline (n, 2)."""
        self._pen.polygon(self._fine(points), fill=fill)
        if edge:
            self.line(np.vstack([points, points[:1]]), width, edge)

    def disc(self, at: Sequence[float], radius: float, fill: str, edge: str, width: float = 1.0) -> None:
        """Draw a filled circle."""
        ((x, y),) = self._fine([at])
        r = radius * FINER
        self._pen.ellipse((x - r, y - r, x + r, y + r), fill=fill, outline=edge, width=max(1, round(width * FINER)))

    def arrow(self, tip: Points, back: Points, length: float = 11.0, ink: str = INK) -> None:
        """Draw a slim arrowhead at *tip*, whose shaft comes from *back*."""
        way = (np.asarray(back) - tip) / max(float(np.linalg.norm(np.asarray(back) - tip)), 1e-9)
        side = np.array([-way[1], way[0]]) * length / 6
        self.shape(np.array([tip, tip + way * length + side, tip + way * length - side]), ink)

    def write(self, label: Label, ink: str = INK, halo: float = 0.0) -> None:
        """Write a label, with a white edge of so many px round its letters."""
        face = font(label.face, label.size * FINER)
        edge = round(halo * FINER)
        reach = math.ceil(math.hypot(*label.extent) * FINER / 2 + edge + 4)
        ((x, y),) = self._fine([label.at])
        for shade, stroke in ((WHITE, edge), (ink, 0)) if edge else ((ink, 0),):
            stamp = Image.new("L", (2 * reach, 2 * reach), 0)
            baseline = (reach, reach + label.size * FINER * 0.33)
            ImageDraw.Draw(stamp).text(baseline, label.text, 255, face, "ms", stroke_width=stroke)
            if label.angle:
                stamp = stamp.rotate(math.degrees(label.angle), Image.Resampling.BICUBIC)
            self._image.paste(shade, (round(x) - reach, round(y) - reach), stamp)

    def finished(self) -> Image.Image:
        """Return the finished picture."""
        return self._image.reduce(FINER)

    def _fine(self, points: Iterable[Sequence[float]] | Points) -> list[tuple[float, float]]:
        return [(float(x), float(y)) for x, y in (np.asarray(points, np.float64) + self._zero) * FINER]


def dashes(points: Points, length: float) -> list[Points]:
    """Return dashes along a line through points, (n, d), as long as the gaps between them; they run round its bends."""
    along = np.concatenate([[0.0], np.linalg.norm(np.diff(points, axis=0), axis=1).cumsum()])
    count = max(1, round(float(along[-1]) / (2 * length)))
    pieces = []
    for start, end in np.column_stack([np.arange(count) + 0.25, np.arange(count) + 0.75]) * along[-1] / count:
        inner = along[(along > start) & (along < end)]
        stops = np.concatenate([[start], inner, [end]])
        pieces.append(np.column_stack([np.interp(stops, along, points[:, k]) for k in range(points.shape[1])]))
    return pieces
