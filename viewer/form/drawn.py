"""Marks put on a page of PDF."""

import math

import numpy as np
from reportlab.pdfgen.canvas import Canvas

from tapeloft.viewer.form.ink import POINT, Line, Mark, Patch, Ring, Rings, Spot, Words, face

DASHES = (2.2, 1.6)  # mm
BOW = 4 / 3 * (math.sqrt(2) - 1)  # of the radius: how far the handles of a quarter circle reach
QUARTER = np.array([[1.0, BOW], [BOW, 1.0], [0.0, 1.0]])
ARC = np.concatenate([[[1.0, 0.0]], *(QUARTER @ np.linalg.matrix_power([[0, 1], [-1, 0]], k) for k in range(4))])


def draw(canvas: Canvas, mark: Mark, high: float) -> None:
    """Draw a mark on a page *high* mm high."""
    if isinstance(mark, Words):
        canvas.setFillGray(1.0 if mark.white else 0.0)
        canvas.setFont(face(mark.bold), mark.size)
        if mark.turn_deg:
            canvas.saveState()
            canvas.translate(*_turned(mark.at, high))
            canvas.rotate(mark.turn_deg)
            canvas.drawString(0, 0, mark.text)
            canvas.restoreState()
        else:
            canvas.drawString(*_turned(mark.at, high), mark.text)
    elif isinstance(mark, Ring):
        canvas.setFillGray(1.0)
        canvas.setLineWidth(mark.weight)
        canvas.circle(*_turned(mark.at, high), mark.radius / POINT, stroke=1, fill=1)
    elif isinstance(mark, Rings):
        canvas.setLineWidth(mark.weight)
        canvas.setDash()
        canvas.addLiteral(_circles(mark, high))
    else:
        _draw_path(canvas, mark, high)


def _circles(mark: Rings, high: float) -> str:
    """Return circles in the words of PDF, four curves each: thousands of them, one by one, would take seconds."""
    spots = np.array(mark.circles).reshape(-1, 1, 3)
    middles = np.stack([spots[..., 0], high - spots[..., 1]], axis=-1)
    corners = ((middles + spots[..., 2:] * ARC) / POINT).reshape(len(spots), -1)
    one = "%.3f %.3f m" + 4 * " %.3f %.3f %.3f %.3f %.3f %.3f c" + " h\n"
    return one * len(corners) % tuple(corners.ravel().tolist()) + "S"


def _draw_path(canvas: Canvas, mark: Line | Patch, high: float) -> None:
    path = canvas.beginPath()
    first, *rest = (_turned(spot, high) for spot in mark.points)
    path.moveTo(*first)
    for spot in rest:
        path.lineTo(*spot)
    if isinstance(mark, Patch):
        path.close()
        canvas.setFillGray(1.0 if mark.white else 0.0)
        canvas.drawPath(path, stroke=0, fill=1)
        return
    if mark.closed:
        path.close()
    canvas.setLineWidth(mark.weight)
    canvas.setDash(*([[dash / POINT for dash in DASHES]] if mark.dashed else []))
    canvas.drawPath(path, stroke=1, fill=0)


def _turned(spot: Spot, high: float) -> Spot:
    """Return a spot in the axes of PDF: points, y up from the foot of the page."""
    return (spot[0] / POINT, (high - spot[1]) / POINT)
