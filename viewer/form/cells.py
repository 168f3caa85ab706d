"""Boxes to write in: a row of them with a label in each, a strip of tapes, a heading."""

from collections.abc import Sequence
from dataclasses import dataclass

from tapeloft.viewer.form.flow import Block
from tapeloft.viewer.form.ink import (
    POINT,
    RISE,
    STRONG,
    Mark,
    Words,
    bar,
    box,
    centred,
    fitted,
    one_line,
    paragraph,
    width,
    wrapped,
)

WRITING = 10.0  # mm, the height that a cold hand in a glove writes in
LABEL = 8.5  # pt, the smallest that is read at arm's length by a torch (common practice, no source)
FIGURES, NAMES = 12.0, 13.0  # pt, of readings that stand, and of letters and stations
LEAST = 7.0  # pt to which a long text may shrink
PAD = 1.2  # mm between a line and what is written beside it
CAP = 4.6  # mm, the height of a label within a box
FEWEST, LARGEST = 6, 8  # columns across a page


@dataclass(frozen=True)
class Cell:
    """A box with a label at its left top and, where it is known, what stands in it; wide in shares of its row."""

    label: str
    text: str = ""
    share: float = 1.0


def row(cells: Sequence[Cell], wide: float, left: float = 0.0) -> Block:
    """Return a row of labelled boxes over *wide* mm."""
    every = sum(cell.share for cell in cells)
    marks: list[Mark] = []
    x = left
    for cell in cells:
        size = (wide - left) * cell.share / every
        marks += [box(x, 0, size, CAP + WRITING), *_label(cell.label, x, size), *written(cell.text, x, CAP, size)]
        x += size
    return Block(CAP + WRITING, tuple(marks))


def _label(text: str, x: float, wide: float) -> list[Mark]:
    told, size = fitted(text, wide - 2 * PAD, LABEL, LEAST, bold=True)
    return [Words(told, (x + PAD, 3.6), size, bold=True)] if told else []


def written(text: str, x: float, top: float, wide: float, high: float = WRITING) -> list[Mark]:
    """Return a text as it stands in a box: on one line, on two smaller ones where it is long."""
    room = wide - 2 * PAD
    told, size = fitted(text, room, FIGURES, LABEL)
    if told == one_line(text):
        return [Words(told, (x + PAD, top + high / 2 + 0.36 * size * POINT), size)] if told else []
    lines = wrapped(text, room, LABEL)
    if len(lines) > 2:
        lines = [lines[0], fitted(" ".join(lines[1:]), room, LEAST, LEAST)[0]]
    return list(paragraph(lines, (x + PAD, top + 1.0), LABEL, pitch=1.3))


def entry(text: str, x: float, top: float, wide: float, weight: float = 1.0, high: float = WRITING) -> list[Mark]:
    """Return a box for a figure, and the figure in its middle where it is known."""
    told, size = fitted(text, wide - PAD, FIGURES, LEAST)
    return [box(x, top, wide, high, weight), *([centred(told, (x + wide / 2, top + high / 2), size)] if told else [])]


def heading(text: str, wide: float, note: str = "") -> Block:
    """Return a black bar with a title on it, and a note behind that."""
    told, size = fitted(text, wide - 2 * PAD, NAMES, LABEL, bold=True)
    marks: list[Mark] = [bar(0, 0, wide, 7.0), Words(told, (2 * PAD, 5.1), size, bold=True, white=True)]
    if note:
        after = marks[1].extent[2] + 5 if isinstance(marks[1], Words) else 0.0
        said, small = fitted(note, wide - after - PAD, 9.5, LEAST)
        marks.append(Words(said, (after, 4.9), small, white=True))
    return Block(7.0, tuple(marks))


def said(text: str, wide: float, size: float = 9.5, bold: bool = False) -> Block:
    """Return a paragraph over the breadth of the page."""
    lines = wrapped(text, wide, size, bold)
    step = size * POINT * 1.35
    return Block(len(lines) * step + 1.0, tuple(paragraph(lines, (0.0, 0.0), size, bold)))


def framed(text: str, wide: float, size: float = 10.0) -> Block:
    """Return a warning in a strong frame."""
    lines = wrapped(text, wide - 6, size, bold=True)
    high = len(lines) * size * POINT * 1.35 + 4.0
    words = paragraph(lines, (3.0, 2.4), size, bold=True)
    return Block(high, (box(0.4, 0, wide - 0.8, high, 2.2), *words))


@dataclass(frozen=True)
class Slot:
    """A box for one tape: its label, its reading or "", and whether it is one of the first."""

    label: str
    reading: str = ""
    first: bool = False


def strips(name: str, slots: Sequence[Slot], wide: float, left: float) -> list[Block]:
    """Return strips of tapes, each a label over a box, with *name* in words beside the first of them."""
    columns = FEWEST if sum(_needed(one.label, (wide - left) / FEWEST) for one in slots) <= FEWEST else LARGEST
    step = (wide - left) / columns
    lines: list[list[tuple[int, int, Slot]]] = [[]]
    at = 0
    for slot in slots:
        takes = min(columns, _needed(slot.label, step))
        if at + takes > columns and lines[-1]:
            lines.append([])
            at = 0
        lines[-1].append((at, takes, slot))
        at += takes
    return [_strip(name if not number else "", line, left, step) for number, line in enumerate(lines) if line]


def _needed(label: str, step: float) -> int:
    """Return how many columns a label takes that is not to be shrunk out of sight."""
    for columns in range(1, LARGEST):
        if width(label, LABEL, bold=True) <= columns * step - PAD - 0.6:
            return columns
    return LARGEST


def _strip(name: str, line: Sequence[tuple[int, int, Slot]], left: float, step: float) -> Block:
    marks: list[Mark] = list(beside(name, 0.0, CAP + WRITING, left))
    for at, takes, slot in line:
        x, wide = left + at * step, takes * step
        label, size = fitted(slot.label, wide - PAD - 0.6, 9.5, LEAST, bold=True)
        marks += [centred(label, (x + wide / 2, CAP / 2 + 0.4), size, bold=True)]
        marks += entry(slot.reading, x + 0.5, CAP + 0.8, wide - 1.0, STRONG + 0.6 if slot.first else 0.9)
    return Block(CAP + WRITING + 1.6, tuple(marks))


def beside(name: str, top: float, high: float, left: float) -> tuple[Mark, ...]:
    """Return words in the column at the left, about the middle of what they stand beside."""
    lines = wrapped(name, left - PAD, LABEL, bold=True)
    step = LABEL * POINT * 1.25
    start = top + (high - len(lines) * step) / 2
    return paragraph(lines, (0.0, start + (step - RISE * LABEL * POINT) / 4), LABEL, bold=True, pitch=1.25)
