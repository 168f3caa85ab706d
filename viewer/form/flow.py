"""Blocks of a sheet, and how they come to stand on pages."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal

from tapeloft.viewer.form.ink import Mark, Words, moved

Size = Literal["a4", "letter"]
PAPERS: dict[Size, tuple[float, float]] = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}  # ISO 216; ANSI Y14.1 size A
MARGIN = 12.0  # mm; no printer needs more
GAP = 5.0  # mm between blocks


@dataclass(frozen=True)
class Block:
    """Something drawn across the page that is not parted: mm from its own left top."""

    height: float
    marks: tuple[Mark, ...]


@dataclass(frozen=True)
class Group:
    """Blocks that belong together: on one page where they fit on one, else under their heading again.

    title: for "… continued" at the head of the next page.
    """

    blocks: tuple[Block, ...]
    title: str = ""
    gap: float = 0.0

    @property
    def height(self) -> float:
        """How high it is where it is not parted."""
        return sum(block.height + self.gap for block in self.blocks) - self.gap


@dataclass(frozen=True)
class Page:
    """A page of a size, mm from its left top corner."""

    size: tuple[float, float]
    marks: tuple[Mark, ...]


Head = Callable[[int, int], Block]
"""Draws the head of a page from its number and how many there are."""


def breadth(paper: Size) -> float:
    """Return how wide a block may be."""
    return PAPERS[paper][0] - 2 * MARGIN


def room(paper: Size, head: Block) -> float:
    """Return how much height a page has under its head."""
    return PAPERS[paper][1] - 2 * MARGIN - head.height - GAP


def paged(groups: Sequence[Group], paper: Size, head: Head) -> tuple[Page, ...]:
    """Return the pages that *groups* fill from the first to the last, each under its head."""
    high = room(paper, head(1, 1))
    pages: list[list[tuple[float, Block]]] = [[]]
    top = 0.0
    for group in groups:
        if top and top + group.height > high and (group.height <= high or top > high / 2):
            pages.append([])
            top = 0.0
        for number, block in enumerate(group.blocks):
            if top and top + block.height > high:
                again = [_continued(group.title)] if number and group.title else []
                pages.append([(0.0, one) for one in again])
                top = sum(one.height for one in again)
            pages[-1].append((top, block))
            top += block.height + group.gap
        top += GAP - group.gap
    drawn = [_drawn(page, head(number, len(pages))) for number, page in enumerate(pages, start=1)]
    return tuple(Page(PAPERS[paper], marks) for marks in drawn)


def _continued(title: str) -> Block:
    return Block(8.0, (Words(f"{title}, continued", (0.0, 5.0), 11, bold=True),))


def _drawn(page: Sequence[tuple[float, Block]], head: Block) -> tuple[Mark, ...]:
    marks = [*moved(head.marks, MARGIN, MARGIN)]
    for top, block in page:
        marks += moved(block.marks, MARGIN, MARGIN + head.height + GAP + top)
    return tuple(marks)
