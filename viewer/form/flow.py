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


def stacked(blocks: Sequence[Block], gap: float = 0.0) -> Block:
    """Return blocks one below the other as one."""
    top, marks = 0.0, list[Mark]()
    for block in blocks:
        marks += moved(block.marks, 0, top)
        top += block.height + gap
    return Block(max(0.0, top - gap), tuple(marks))


def paged(groups: Sequence[Group], paper: Size, head: Head) -> tuple[Page, ...]:
    """Return the pages that *groups* fill from the first to the last, each under its head."""
    wide, high = PAPERS[paper]
    room = high - 2 * MARGIN - head(1, 1).height - GAP
    pages: list[list[tuple[float, Block]]] = [[]]
    top = 0.0
    for group in groups:
        whole = sum(block.height + group.gap for block in group.blocks) - group.gap
        if top and top + whole > room and (whole <= room or top > room / 2):
            pages.append([])
            top = 0.0
        for number, block in enumerate(group.blocks):
            if top and top + block.height > room:
                pages.append([])
                top = 0.0
                if number and group.title:
                    again = _continued(group.title)
                    pages[-1].append((0.0, again))
                    top = again.height
            pages[-1].append((top, block))
            top += block.height + group.gap
        top += GAP - group.gap
    return tuple(
        Page((wide, high), _drawn(page, head(number, len(pages)))) for number, page in enumerate(pages, start=1)
    )


def _continued(title: str) -> Block:
    return Block(8.0, (Words(f"{title}, continued", (0.0, 5.0), 11, bold=True),))


def _drawn(page: Sequence[tuple[float, Block]], head: Block) -> tuple[Mark, ...]:
    marks = [*moved(head.marks, MARGIN, MARGIN)]
    for top, block in page:
        marks += moved(block.marks, MARGIN, MARGIN + head.height + GAP + top)
    return tuple(marks)
