"""What stands below a drawing: the axes with their scale, the key, and the title block."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tapeloft.model.moments import Points
from tapeloft.viewer.eye import Eye
from tapeloft.viewer.labels import Face, Label, font
from tapeloft.viewer.plate import FAINT, INK, WHITE, Plate

PITCH = 31.0  # px between lines of the key, on a plate 1600 px wide
WAYS = ("fwd", "port", "up")
ROUND = {
    "mm": [n * 10.0**k for k in range(-3, 2) for n in (1, 2, 5)],
    "in": [0.0254 * n for n in (1, 2, 3, 6, 12, 24, 36, 60, 120, 240)],
}
"""m. Lengths that a scale is drawn to: round in metric units, and in inches and feet."""


@dataclass(frozen=True)
class Entry:
    """A line of the key: what it says; its tone; a number in a balloon, or none; whether it is only outlined.

    stripes: tones that things alike are told apart by; the number is then a letter, written on them.
    """

    text: str
    tone: str
    number: str = ""
    outlined: bool = False
    stripes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Title:
    """What the title block says: name, what boat, lines of smaller text, and how it is seen, in italics."""

    name: str
    boat: str
    lines: tuple[str, ...]
    seen: str


def arms(eye: Eye, length: float) -> Points:
    """Return the directions on the plate, (3, 2) px, of so many metres forward, to port and up at the focal point."""
    ways: Points = length * eye.scale * np.column_stack([np.stack([eye.right]).T, -np.stack([eye.up]).T])
    return ways


def scale_length(eye: Eye, imperial: bool, room: tuple[float, float]) -> float:
    """Return the longest round length, m, that arms fit *room*, (width, height) px, with; 0 where none is."""
    extent = np.ptp(np.vstack([arms(eye, 1.0), np.zeros(2)]), axis=0)
    longest = float((np.array(room) / np.maximum(extent, 1e-9)).min())
    return max((length for length in ROUND["in" if imperial else "mm"] if length <= longest), default=0.0)


def draw_axes(plate: Plate, at: tuple[float, float], ways: Points, divided: bool, scale: float) -> None:
    """Draw the axes from *at*, px, along *ways* (3, 2) px; *divided* in black and white where they are a scale."""
    for name, way in sorted(zip(WAYS, ways, strict=True), key=lambda pair: float(np.hypot(*pair[1]))):
        reach = float(np.hypot(*way))
        if reach < 3 * scale:
            plate.disc(at, 4 * scale, WHITE, INK, 1.2 * scale)
            plate.disc(at, 1 * scale, INK, INK)
            continue
        tip = np.array(at) + way
        if divided:
            _divided(plate, np.array(at), way, scale)
        else:
            plate.line(np.array([at, tip]), 1.4 * scale)
            plate.arrow(tip, np.array(at), 10 * scale)
        out = tip + way / reach * 19 * scale
        plate.write(Label(name, (float(out[0]), float(out[1])), 18 * scale, face="italic"))


def _divided(plate: Plate, start: Points, way: Points, scale: float) -> None:
    side = np.array([-way[1], way[0]]) / float(np.hypot(*way)) * 2.6 * scale
    for quarter in range(4):
        a, b = start + way * quarter / 4, start + way * (quarter + 1) / 4
        fill = WHITE if quarter % 2 else INK
        plate.shape(np.array([a - side, b - side, b + side, a + side]), fill, INK, 0.9 * scale)


def draw_key(plate: Plate, entries: Sequence[Entry], box: tuple[float, float, float, float], scale: float) -> None:
    """Draw the key into *box*, left, top, right, bottom px, in as many columns as it needs."""
    left, top, right, bottom = box
    pitch = PITCH * scale
    rows = max(1, int((bottom - top) / pitch))
    columns = max(1, math.ceil(len(entries) / rows))
    width = (right - left) / columns
    for i, entry in enumerate(entries):
        x, y = left + (i // rows) * width, top + (i % rows + 0.5) * pitch
        mark = x + 14 * scale
        if entry.stripes:
            _striped(plate, entry, np.array([mark, y]), scale)
        elif entry.number:
            plate.disc((mark, y), 13 * scale, entry.tone, INK, 1.0 * scale)
            plate.write(Label(entry.number, (mark, y), 17 * scale))
        else:
            half = np.array([13 * scale, 9 * scale])
            corners = np.array([mark, y]) + np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * half
            plate.shape(corners, *((WHITE, entry.tone, 2.2 * scale) if entry.outlined else (entry.tone, FAINT, 1.0)))
        _from_left(plate, entry.text, (x + 36 * scale, y), 19 * scale, width - 50 * scale)


def _striped(plate: Plate, entry: Entry, at: Points, scale: float) -> None:
    """Draw the mark of a kind of thing about a point: its tones side by side, its letter over them."""
    half = np.array([13, 12]) * scale
    corners = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * half
    wide = 2 * half[0] / len(entry.stripes)
    for number, tone in enumerate(entry.stripes):
        left = at + np.array([number * wide - half[0], -half[1]])
        plate.shape(left + np.array([[0, 0], [wide, 0], [wide, 2 * half[1]], [0, 2 * half[1]]]), tone)
    plate.line(at + np.vstack([corners, corners[:1]]), 1.0 * scale)
    if entry.number:
        plate.write(Label(entry.number, (float(at[0]), float(at[1])), 17 * scale, face="bold"))


def lines_in_key(height: float, scale: float) -> int:
    """Return how many lines a key so many px high holds in two columns."""
    return 2 * max(1, int((height - 18 * scale) / (PITCH * scale)))


def draw_title(plate: Plate, title: Title, box: tuple[float, float, float, float], scale: float) -> None:
    """Draw the title block into *box*, left, top, right, bottom px."""
    left, top, right, bottom = box
    faces: list[tuple[str, float, Face]] = [(title.name, 34, "bold")]
    faces += [(title.boat, 20, "italic")] if title.boat else []
    faces += [(line, 21, "roman") for line in title.lines] + [(title.seen, 18, "italic")]
    pitch = (bottom - top) / (len(faces) + 0.5)
    for number, (text, size, face) in enumerate(faces):
        y = top + pitch * (number + 0.75 if number else 0.6)
        _from_left(plate, text, (left, y), size * scale, right - left, face)


def _from_left(
    plate: Plate, text: str, at: tuple[float, float], size: float, room: float, face: Face = "roman"
) -> None:
    """Write text from its left end, smaller or shortened where it is longer than its room."""
    smallest = size * 0.72
    while font(face, size).getlength(text) > room and size > smallest:
        size *= 0.96
    if font(face, size).getlength(text) > room:
        while text and font(face, size).getlength(text + "…") > room:
            text = text[:-1]
        text = text.rstrip() + "…"
    width = font(face, size).getlength(text)
    plate.write(Label(text, (at[0] + width / 2, at[1]), size, face=face))
