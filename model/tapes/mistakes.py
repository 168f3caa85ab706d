"""Mistakes that have a name: one cause that puts many readings off together.

Each is a direction: by how much every reading changes where the mistake is one metre, or, for readings that stand in
each other's place, where it is made at all. How well a direction explains what the tapes show is the adjustment's to
say (`Adjustment.shown`).
"""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np

from tapeloft.model.tapes.levels import Array
from tapeloft.model.tapes.readings import HELD, TAPES, Kind, Reading, TapeNet

KINDS: dict[Kind, int] = {"half_breadth": 1, "height": 2}
END = 0.11  # m: a case, or the 100 mm that a tape is cut back to, is no longer; a hook or a slack tape much less
ZERO = 0.3  # m: nobody's string or datum stands farther off its place at one station (common practice, no source)


@dataclass(frozen=True, eq=False)
class Mistake:
    """A mistake: what happened, how to say its size, and what to do about it.

    along (m,): how the readings change, m a metre of it; size_words holds {size} and {much}, or "" where the mistake
    has no size: then *along* is the whole of it. again: what to measure again. most: m, the largest that its
    cause makes it.
    """

    kind: str
    words: str
    size_words: str
    again: str
    station: str
    along: Array = field(repr=False)
    most: float = math.inf

    @property
    def whole(self) -> bool:
        """Whether the mistake is made or not made, and has no size."""
        return not self.size_words

    @property
    def readings(self) -> tuple[int, ...]:
        """Which readings it puts off."""
        return tuple(np.flatnonzero(self.along).tolist())


def off_in_words(reading: Reading) -> str:
    """Return in words that one reading is off."""
    return f"{reading.words} is off"


def slipped(net: TapeNet, reading: int) -> Mistake:
    """Return the mistake that one reading alone is off."""
    one = net.readings[reading]
    along = np.zeros(len(net.readings))
    along[reading] = one.turned
    kind = "distance" if one.kind == "station" else "reading"
    return Mistake(kind, off_in_words(one), "{size} too {much}", one.words, one.station, along)


def mistakes(net: TapeNet, unknowns: Array, stations: Iterable[str]) -> Iterator[Mistake]:
    """Yield every named mistake that could be made throughout *net*, or at one of *stations*.

    As it would show near *unknowns*.
    """
    yield from _throughout(net)
    sections: dict[str, list[int]] = {}
    for k, (station, _) in enumerate(net.corners):
        sections.setdefault(station, []).append(k)
    for station in stations:
        corners = sections.get(station, [])
        yield from _at_a_station(net, unknowns, station, corners)
        yield from _sides(net, station, corners)
        yield from _exchanged(net, station, corners)


def _throughout(net: TapeNet) -> Iterator[Mistake]:
    """Yield what puts every reading of a kind off by one amount: a hook, a case, a cut end, a zero elsewhere."""
    every = (
        (TAPES, "every check tape is off by one amount (hook, case, cut end?)", "the end of the tape, on a rule", END),
        (
            ("half_breadth",),
            "every half-breadth is off by one amount (hook, case, cut end?)",
            "the half-breadths",
            END,
        ),
        (
            ("height",),
            "every height is off by one amount (is the datum where it is said to be?)",
            "the heights",
            math.inf,
        ),
        (
            ("station",),
            "every distance is off by one amount (is zero where it is said to be?)",
            "the distances",
            math.inf,
        ),
    )
    for kinds, words, again, most in every:
        along = np.array([one.turned if one.kind in kinds else 0.0 for one in net.readings])
        if np.count_nonzero(along) > 1:
            yield Mistake("all off by one amount", words, "{size} too {much}", again, "", along, most)


def _at_a_station(net: TapeNet, unknowns: Array, station: str, corners: Sequence[int]) -> Iterator[Mistake]:
    """Yield what puts all heights, or all half-breadths, of one station off together."""
    for kind, axis in KINDS.items():
        mine = [net.told[k, kind] for k in corners if (k, kind) in net.told]
        if len(mine) < 2:
            continue
        along = np.zeros(len(net.readings))
        along[mine] = 1.0
        sides = {net.readings[k].turned for k in mine}
        held = _held(net, unknowns, [k for k in corners if net.columns[k, axis] == HELD], axis)
        yield from _from_another_zero(kind, station, along, held, min(sides) if len(sides) == 1 else 0.0)
        if len(sides) > 1:
            along[mine] = [net.readings[k].turned for k in mine]
            words = f"every half-breadth at station {station} is off, on both sides alike (a slack tape, or a hook?)"
            yield Mistake(
                "slack", words, "{size} too {much}", f"the half-breadths at station {station}", station, along, END
            )


def _from_another_zero(kind: Kind, station: str, along: Array, held: Array, side: float) -> Iterator[Mistake]:
    """Yield that the readings of a kind at a station were taken from another zero: without what is held, and with."""
    again = f"the {'heights' if kind == 'height' else 'half-breadths'} at station {station}"
    if kind == "height":
        name, words = "datum", f"the heights at station {station} were taken from a wrong datum"
        size = "{size} too {much}"
    else:
        name, words = "string", f"the string stood off its place at station {station}"
        size = "half-breadths {size} too {much}" if side else "{size} too {much} to port, too {little} to starboard"
        along, held = (along * (side or 1.0), held * (side or 1.0))
    yield Mistake(name, words, size, again, station, along, ZERO)
    if held.any():
        yield Mistake(name, words, size, again, station, along + held, ZERO)


def _held(net: TapeNet, unknowns: Array, held: Sequence[int], axis: int) -> Array:
    """Return how tapes change where corners that are *held* really lie a metre less far out than they are held to."""
    ways, change = net.ways(unknowns)[:, axis], np.zeros(len(net.readings))
    for end, sign in ((1, 1.0), (2, -1.0)):
        there = np.isin(net.legs[:, end], held)
        np.add.at(change, net.legs[there, 0], sign * ways[there])
    return change


def _sides(net: TapeNet, station: str, corners: Sequence[int]) -> Iterator[Mistake]:
    """Yield that port and starboard stand in each other's place at a station, or at one of its letters."""
    whole, several = np.zeros(len(net.readings)), 0
    for port in corners:
        mark = net.corners[port][1]
        starboard = net.numbers.get((station, f"{mark[:-1]}s")) if mark[-1:] == "p" else None
        along = _swapped(net, port, starboard) if starboard is not None else whole
        if starboard is None or not along.any():
            continue
        whole, several = whole + along, several + 1
        letter = mark[:-1]
        words = f"port and starboard stand in each other's place at letter {letter} of station {station}"
        yield Mistake("sides", words, "", f"{letter}p and {letter}s at station {station}", station, along)
    if several > 1:
        words = f"port and starboard stand in each other's place at station {station}"
        yield Mistake("sides", words, "", f"both sides of station {station}", station, whole)


def _exchanged(net: TapeNet, station: str, corners: Sequence[int]) -> Iterator[Mistake]:
    """Yield that two letters called one after the other, or a corner's two readings, stand in each other's place."""
    for one, other in pairwise(corners):
        mark, beside = net.corners[one][1], net.corners[other][1]
        along = _swapped(net, one, other)
        sides = mark[-1:] in ("p", "s") and mark[:-1] == beside[:-1]
        if mark and beside and not sides and along.any():
            words = f"the readings of {mark} and {beside} stand in each other's place at station {station}"
            yield Mistake("letters", words, "", f"{mark} and {beside} at station {station}", station, along)
    for k in corners:
        both = [net.told[k, kind] for kind in KINDS if (k, kind) in net.told]
        mark = net.corners[k][1]
        along = _traded(net, [both]) if len(both) == 2 else np.zeros(0)
        if mark and along.any():
            words = f"half-breadth and height of {mark} at station {station} stand in each other's place"
            yield Mistake("corner", words, "", f"{mark} at station {station}", station, along)


def _swapped(net: TapeNet, one: int, other: int) -> Array:
    """Return how readings change where those of two corners stand in each other's place."""
    return _traded(net, [[net.told[k, kind] for k in (one, other) if (k, kind) in net.told] for kind in KINDS])


def _traded(net: TapeNet, pairs: Sequence[Sequence[int]]) -> Array:
    """Return how readings change where the two of each pair stand in each other's place, on paper."""
    along = np.zeros(len(net.readings))
    for pair in pairs:
        for mine, theirs in (pair, pair[::-1]) if len(pair) == 2 else ():
            one, other = net.readings[mine], net.readings[theirs]
            along[mine] = one.value - one.off_paper(other.on_paper(other.value))
    return along
