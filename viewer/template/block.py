"""What is written in the middle of a piece, with arrows that say which way it lies on board."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import Polygon

from tapeloft.viewer.template.lettering import PITCH, TURNED, Room, Spot, Stand, Written, broad, standing, turned_by

REACH, RISE = 5.0, 3.8  # of the height of letters: how long the arrows are to the right and up
NAMES = 0.85  # of that height: the letters that arrows have
AWAY = 6.0  # mm from a piece, where there is no room on it
BESIDE = 3.0  # mm, letters there


@dataclass(frozen=True, eq=False)
class Block:
    """Lines of text and two arrows, of the ways to the right and up; room: where they may lie, mm.

    height: of its letters. beside: the ring of its box where it had no room and stands beside the piece.
    """

    lines: tuple[str, ...]
    ways: tuple[str, str]
    room: Room
    height: float
    written: tuple[Written, ...]
    marks: tuple[tuple[Spot, ...], ...]
    beside: tuple[Spot, ...] = ()

    @property
    def read_as(self) -> float:
        """The height of letters that are read as well: turned ones are read like smaller ones."""
        return self.height * (TURNED if self.written[0].turn_deg else 1.0)

    @property
    def outline(self) -> Polygon:
        """The upright box round it."""
        boxes = [shapely.box(*one.box) for one in self.written]
        spots = [shapely.Point(spot) for line in self.marks for spot in line]
        return shapely.box(*shapely.union_all([*boxes, *spots]).bounds)


def block_in(room: Room, lines: Sequence[str], ways: tuple[str, str]) -> Block:
    """Return lines of text and arrows where a room has most room for them, or beside it.

    ways: what right and up are called on board; where right is aft, the arrow is drawn the other way, forward.
    """
    found = block_within(room, lines, ways)
    if found is not None:
        return found
    _, low, right, _ = room.area.bounds if not room.area.is_empty else (0.0, 0.0, 0.0, 0.0)
    stand, (wide, high) = Stand((right + AWAY, low), 0.0, BESIDE), _sizes(lines, ways, 0.0)[0]
    x0, y0, x1, y1 = right + AWAY, low, right + AWAY + wide * BESIDE, low + high * BESIDE
    ring = ((x0, y0), (x1, y0), (x1, y1), (x0, y1))
    return _set(stand, 0, room, tuple(lines), ways, ring)


def block_within(room: Room, lines: Sequence[str], ways: tuple[str, str]) -> Block | None:
    """Return lines of text and arrows where a room has room for them; None where it has none."""
    found = standing(room, lambda turn: _sizes(lines, ways, turn))
    return None if found is None else _set(*found, room, tuple(lines), ways, ())


def _sizes(lines: Sequence[str], ways: tuple[str, str], turn_deg: float) -> tuple[Spot, ...]:
    """Return the sizes for letters 1 mm high: with the arrows before the lines; level ones over them too, and rather.

    However the lines are turned, the arrows lie as the sheet does.
    """
    text, deep = max(map(broad, lines)), len(lines) * PITCH
    wide, high = _arrows_within(ways, turn_deg)
    before = (wide + 1.0 + text, max(deep, high))
    return (before,) if turn_deg else ((max(text, wide), deep + high + 0.2), before)


def _arrows_size(ways: tuple[str, str]) -> Spot:
    foot = REACH if ways[0] == "aft" else 0.0
    return max(REACH + 0.5 + broad(_shown(ways[0])) * NAMES, foot + 0.6 + broad(ways[1]) * NAMES), RISE + 1.0


def _arrows_within(ways: tuple[str, str], turn_deg: float) -> Spot:
    """Return the breadth and height that the arrows take up along lines that are turned."""
    wide, high = _arrows_size(ways)
    c, s = abs(math.cos(math.radians(turn_deg))), abs(math.sin(math.radians(turn_deg)))
    return wide * c + high * s, wide * s + high * c


def _shown(way: str) -> str:
    return "forward" if way == "aft" else way


def _set(
    stand: Stand, form: int, room: Room, lines: tuple[str, ...], ways: tuple[str, str], beside: tuple[Spot, ...]
) -> Block:
    """Return the block in its place; form: as its sizes come."""
    height, deep = stand.height, len(lines) * PITCH
    over = form == 0 and not stand.turn_deg

    def at(x: float, y: float) -> Spot:
        return turned_by(stand.at, stand.turn_deg, (x * height, y * height))

    wide, high = _arrows_within(ways, stand.turn_deg)
    left, top = (0.0, deep) if over else (wide + 1.0, (max(deep, high) + deep) / 2)
    texts = [
        Written(text, at(left, top - (k + 1) * PITCH + 0.3), height, stand.turn_deg) for k, text in enumerate(lines)
    ]
    middle = at(wide / 2, deep + 0.2 + high / 2 if over else max(deep, high) / 2)
    names, marks = _arrows(middle, height, ways)
    return Block(lines, ways, room, height, (*texts, *names), marks, beside)


def _arrows(middle: Spot, height: float, ways: tuple[str, str]) -> tuple[list[Written], tuple[tuple[Spot, ...], ...]]:
    """Return what two arrows are called and their lines, about a middle, as the sheet lies."""
    size = _arrows_size(ways)

    def at(x: float, y: float) -> Spot:
        return middle[0] + (x - size[0] / 2) * height, middle[1] + (y - size[1] / 2) * height

    base = 0.4
    foot, tip = ((REACH, base), (0.0, base)) if ways[0] == "aft" else ((0.0, base), (REACH, base))
    up = (foot[0], base + RISE)
    names = [
        Written(_shown(ways[0]), at(REACH + 0.5, base - 0.3), height * NAMES),
        Written(ways[1], at(foot[0] + 0.6, up[1] - 0.6), height * NAMES),
    ]
    return names, (*_arrow(at(*foot), at(*tip)), *_arrow(at(*foot), at(*up)))


def _arrow(foot: Spot, tip: Spot) -> tuple[tuple[Spot, ...], ...]:
    way = np.subtract(tip, foot)
    back, side = way * 0.25, np.array([-way[1], way[0]]) * 0.12
    barbs = [(float(x), float(y)) for x, y in (tip - back + side, tip - back - side)]
    return ((foot, tip), (barbs[0], tip, barbs[1]))
