"""Letters for the corners of fitted sections, the same corner with the same letter at every station."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from string import ascii_uppercase

import numpy as np

from tapeloft.model.moments import Points

CENTRE = 0.03  # m: a corner no farther from it is on the centreline
LEVEL = 0.1  # of the section's height: corners so near its lowest may be the sole's
ALIKE = 0.2  # of the section's height by which a corner and its fellow on the other side may differ
MOST = 12  # corners that are matched; a section with more is no locker's


@dataclass(frozen=True)
class Letters:
    """The marks in order round the section, and for each section the number of its corner that bears each (None: none).

    side: "port", "starboard" or "both". clockwise: whether the order runs the other way than the corners do.
    """

    side: str
    order: tuple[str, ...]
    corners: tuple[dict[str, int], ...]


def lettered(sections: Sequence[Points]) -> Letters:
    """Return letters for the corners (n, 2) of *sections*, half-breadth and height, m, counter-clockwise from forward.

    The section with the usual number of corners nearest the middle is lettered: from the sole inboard outward and up,
    or in pairs, p and s, where it is across the centreline and has as many to port as to starboard. The others take
    their letters from the one beside them, so that all run the same way round and lie nearest.
    """
    usual = usual_count([len(corners) for corners in sections])
    whole = [k for k, corners in enumerate(sections) if len(corners) == usual]
    first = min(whole, key=lambda k: abs(k - (len(sections) - 1) / 2))
    side, numbered = _from_one(sections[first], _side(sections))
    given: dict[int, dict[str, int]] = {first: numbered}
    for step, end in ((1, len(sections)), (-1, -1)):
        known = {mark: sections[first][k] for mark, k in numbered.items()}
        for k in range(first + step, end, step):
            given[k] = _taken_over(known, sections[k])
            known |= {mark: sections[k][number] for mark, number in given[k].items()}
    return Letters(side, tuple(numbered), tuple(given[k] for k in range(len(sections))))


def usual_count(counts: Sequence[int]) -> int:
    """Return the number of corners that most sections have; of two as common, the greater.

    >>> usual_count([5, 6, 5, 4]), usual_count([4, 5])
    (5, 5)
    """
    return max(set(counts), key=lambda count: (counts.count(count), count))


def _side(sections: Sequence[Points]) -> str:
    spots = np.concatenate(list(sections))
    port, starboard = (spots[:, 0] > CENTRE).any(), (spots[:, 0] < -CENTRE).any()
    return "both" if port and starboard else "starboard" if starboard else "port"


def _from_one(corners: Points, side: str) -> tuple[str, dict[str, int]]:
    """Return the letters of one section, in order."""
    numbers = list(range(len(corners)))
    if side == "both":
        paired = _paired(corners)
        if paired:
            return side, paired
    if side == "starboard":
        numbers = numbers[::-1]
    low, high = corners[:, 1].min(), corners[:, 1].max()
    sole = [k for k in numbers if corners[k, 1] <= low + LEVEL * (high - low)]
    start = numbers.index(min(sole, key=lambda k: abs(corners[k, 0])))
    return side, dict(zip(_alphabet(len(corners)), numbers[start:] + numbers[:start], strict=True))


def _alphabet(count: int) -> list[str]:
    """Return so many marks: A to Z, then A2, B2 …"""
    return [ascii_uppercase[k % 26] + (str(k // 26 + 1) if k >= 26 else "") for k in range(count)]


def _paired(corners: Points) -> dict[str, int]:
    """Return letters in pairs, up the port side and down the starboard one; none where the two are not alike."""
    around = list(range(len(corners)))
    centre = [k for k in around if abs(corners[k, 0]) <= CENTRE]
    start = min(around, key=lambda k: (corners[k, 0] < -CENTRE, corners[k, 1]))
    around = around[start:] + around[:start]
    port, starboard = ([k for k in around if sign * corners[k, 0] > CENTRE] for sign in (1, -1))
    middle = float(corners[:, 1].mean())
    low, high = ([k for k in centre if (corners[k, 1] < middle) == below] for below in (True, False))
    expected = [*low, *port, *high, *starboard]
    height = float(np.ptp(corners[:, 1]))
    alike = len(port) == len(starboard) and all(
        abs(corners[p, 1] - corners[s, 1]) <= ALIKE * height for p, s in zip(port, starboard[::-1], strict=True)
    )
    if not (alike and len(low) <= 1 and len(high) <= 1 and _same_ring(expected, around)):
        return {}
    marks = iter(_alphabet(len(low) + len(port) + len(high)))
    lows, ports, highs = ([next(marks) for _ in part] for part in (low, port, high))
    names = [*lows, *(f"{m}p" for m in ports), *highs, *(f"{m}s" for m in ports[::-1])]
    return dict(zip(names, expected, strict=True))


def _same_ring(a: Sequence[int], b: Sequence[int]) -> bool:
    k = b.index(a[0])
    return list(b[k:]) + list(b[:k]) == list(a)


def _taken_over(known: dict[str, Points], corners: Points) -> dict[str, int]:
    """Return which of the *known* marks each corner is: in the order they run, and as near as they can lie.

    Both are brought to one size first, so that a space that narrows keeps its letters. A section with fewer corners
    goes without the marks that are farthest; one with more has corners without a mark.
    """
    marks = list(known)
    there, here = _to_size(np.array([known[mark] for mark in marks])), _to_size(corners)
    if _area(there) * _area(here) < 0:
        here, numbers = here[::-1], list(range(len(corners)))[::-1]
    else:
        numbers = list(range(len(corners)))
    few = min(len(there), len(here), MOST)
    best: tuple[float, dict[str, int]] = (np.inf, {})
    apart = ((there[:, None] - here[None]) ** 2).sum(axis=2)
    for of_marks in combinations(range(len(there)), few):
        for of_corners in combinations(range(len(here)), few):
            for k in range(few):
                turned = of_corners[k:] + of_corners[:k]
                cost = float(apart[list(of_marks), list(turned)].sum())
                if cost < best[0]:
                    best = cost, {marks[m]: numbers[c] for m, c in zip(of_marks, turned, strict=True)}
    return best[1]


def _to_size(spots: Points) -> Points:
    low, high = spots.min(axis=0), spots.max(axis=0)
    sized: Points = (spots - low) / np.maximum(high - low, 1e-9)
    return sized


def _area(spots: Points) -> float:
    after = np.roll(spots, -1, axis=0)
    return float((spots[:, 0] * after[:, 1] - after[:, 0] * spots[:, 1]).sum())
