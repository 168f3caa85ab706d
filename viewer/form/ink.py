"""What a sheet of paper is drawn with: words that know their size, lines, filled patches, rings. All lengths mm.

x runs to the right and y down, from the top left corner of whatever a drawing is part of. Everything is black or, on
black, white: grey is not seen by the light of a torch.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cache
from importlib.util import find_spec
from pathlib import Path

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

POINT = 25.4 / 72  # mm
FACES = {False: "DejaVuSans", True: "DejaVuSans-Bold"}  # these come with matplotlib
RISE, DROP = 0.76, 0.24  # of its size: how far the letters reach above the line they stand on, and below it
STRONG, PLAIN, FINE = 1.6, 1.0, 0.7  # pt, the weights of lines; none is finer

Spot = tuple[float, float]
Extent = tuple[float, float, float, float]
"""Left, top, right, bottom."""


@cache
def face(bold: bool) -> str:
    """Return the name of a face that is registered for measuring and drawing."""
    found = find_spec("matplotlib")
    assert found is not None
    assert found.origin is not None
    file = Path(found.origin).parent / "mpl-data" / "fonts" / "ttf" / f"{FACES[bold]}.ttf"
    pdfmetrics.registerFont(TTFont(FACES[bold], str(file)))
    return FACES[bold]


def unknown_letters(text: str) -> str:
    """Return the letters of *text* that the faces do not have, each once.

    >>> unknown_letters("Ærøskøbing 船 船")
    '船'
    """
    known = pdfmetrics.getFont(face(True)).face.charToGlyph
    return "".join(dict.fromkeys(letter for letter in text if ord(letter) not in known))


@dataclass(frozen=True)
class Words:
    """A line of text from *at*, the left end of the line it stands on; size pt; turned to the left about that end."""

    text: str
    at: Spot
    size: float
    bold: bool = False
    white: bool = False
    turn_deg: float = 0.0

    @property
    def extent(self) -> Extent:
        """The upright box round the letters."""
        x, y = self.at
        right, rise, drop = width(self.text, self.size, self.bold), RISE * self.size * POINT, DROP * self.size * POINT
        c, s = math.cos(math.radians(self.turn_deg)), math.sin(math.radians(self.turn_deg))
        corners = [(x + a * c + b * s, y - a * s + b * c) for a in (0.0, right) for b in (-rise, drop)]
        across, down = zip(*corners, strict=True)
        return min(across), min(down), max(across), max(down)


@dataclass(frozen=True)
class Line:
    """A line through points, weight pt; closed, dashed where it is so."""

    points: tuple[Spot, ...]
    weight: float = PLAIN
    closed: bool = False
    dashed: bool = False


@dataclass(frozen=True)
class Patch:
    """A polygon filled with black, or white."""

    points: tuple[Spot, ...]
    white: bool = False


@dataclass(frozen=True)
class Ring:
    """A circle about a point, filled with white."""

    at: Spot
    radius: float
    weight: float = PLAIN


@dataclass(frozen=True)
class Rings:
    """Circles by their middles and radii, (x, y, r), weight pt, not filled."""

    circles: tuple[tuple[float, float, float], ...]
    weight: float = PLAIN


Mark = Words | Line | Patch | Ring | Rings


def width(text: str, size: float, bold: bool = False) -> float:
    """Return how long a line of text is."""
    return float(pdfmetrics.stringWidth(text, face(bold), size)) * POINT


def box(x: float, y: float, wide: float, high: float, weight: float = PLAIN) -> Line:
    """Return the outline of a box by its left and top."""
    return Line(((x, y), (x + wide, y), (x + wide, y + high), (x, y + high)), weight, closed=True)


def bar(x: float, y: float, wide: float, high: float) -> Patch:
    """Return a black box."""
    return Patch(((x, y), (x + wide, y), (x + wide, y + high), (x, y + high)))


def arrow(start: Spot, end: Spot, weight: float = STRONG, head: float = 2.6) -> tuple[Mark, ...]:
    """Return an arrow from *start* to *end*."""
    way = (end[0] - start[0], end[1] - start[1])
    reach = (way[0] ** 2 + way[1] ** 2) ** 0.5 or 1.0
    u = (way[0] / reach, way[1] / reach)
    foot = (end[0] - u[0] * head, end[1] - u[1] * head)
    barbs = [(foot[0] - u[1] * s, foot[1] + u[0] * s) for s in (head * 0.45, -head * 0.45)]
    return (Line((start, foot), weight), Patch((end, *barbs)))


def moved(marks: Iterable[Mark], x: float, y: float) -> tuple[Mark, ...]:
    """Return marks shifted by so much."""
    return tuple(_moved(mark, x, y) for mark in marks)


def _moved(mark: Mark, x: float, y: float) -> Mark:
    if isinstance(mark, Rings):
        return replace(mark, circles=tuple((cx + x, cy + y, r) for cx, cy, r in mark.circles))
    if isinstance(mark, Words | Ring):
        return replace(mark, at=(mark.at[0] + x, mark.at[1] + y))
    return replace(mark, points=tuple((a + x, b + y) for a, b in mark.points))


def one_line(text: str) -> str:
    """Return a text on one line, single-spaced, without what cannot be printed."""
    return " ".join("".join(letter if letter.isprintable() else " " for letter in text).split())


def fitted(text: str, room: float, size: float, least: float, bold: bool = False) -> tuple[str, float]:
    """Return a text and the size at which it fits into *room* mm: smaller, then shortened with an ellipsis."""
    text = one_line(text)
    while size > least and width(text, size, bold) > room:
        size = max(least, size - 0.25)
    if width(text, size, bold) <= room:
        return text, size
    while text and width(text + "…", size, bold) > room:
        text = text[:-1]
    return text.rstrip() + "…", size


def wrapped(text: str, room: float, size: float, bold: bool = False) -> list[str]:
    """Return a text in lines no longer than *room* mm; a word that is longer is broken.

    >>> wrapped("hold nothing else", 20.0, 9.0)
    ['hold nothing', 'else']
    """
    lines: list[str] = []
    for word in one_line(text).split():
        for piece in _pieces(word, room, size, bold):
            longer = f"{lines[-1]} {piece}" if lines else piece
            if lines and width(longer, size, bold) <= room:
                lines[-1] = longer
            else:
                lines.append(piece)
    return lines


def _pieces(word: str, room: float, size: float, bold: bool) -> list[str]:
    pieces = [""]
    for letter in word:
        if pieces[-1] and width(pieces[-1] + letter, size, bold) > room:
            pieces.append("")
        pieces[-1] += letter
    return pieces


def centred(text: str, middle: Spot, size: float, bold: bool = False, white: bool = False) -> Words:
    """Return a line of text about a point."""
    x, y = middle
    return Words(text, (x - width(text, size, bold) / 2, y + 0.36 * size * POINT), size, bold, white)


def paragraph(
    lines: Sequence[str], at: Spot, size: float, bold: bool = False, pitch: float = 1.35
) -> tuple[Words, ...]:
    """Return lines of text one below the other; *at* is the left top."""
    step = size * POINT * pitch
    return tuple(
        Words(line, (at[0], at[1] + RISE * size * POINT + number * step), size, bold)
        for number, line in enumerate(lines)
    )


def depth(lines: int, size: float, pitch: float = 1.35) -> float:
    """Return how high a paragraph of so many lines is."""
    return ((lines - 1) * pitch + RISE + DROP) * size * POINT if lines else 0.0
