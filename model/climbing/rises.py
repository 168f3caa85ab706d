"""Equal rises from a sole to the lip of a lid, over what stands there at the right height."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise, product

SLACK = 1e-9  # m
ALIKE = 0.03  # m: rises that are off the middle of what is comfortable by so much more are less liked


@dataclass(frozen=True)
class Comfort:
    """What a rise may be, m: least, most; uneven: by how much two rises of one flight may differ.

    The defaults are those of ship stairs in 29 CFR 1910.25(e)(2), 6.5 to 12 in, and, for uneven, the ⅜ in between the
    largest and the smallest rise of any flight in section 1009.3.1 of the International Building Code, as a consultant
    for stairs quotes it. ISO 14122-3 has 600 mm ≤ g + 2h ≤ 660 mm for stairs on machinery.
    """

    least: float = 0.165
    most: float = 0.305
    uneven: float = 0.0095

    @property
    def middle(self) -> float:
        """The rise that is looked for first, m."""
        return (self.least + self.most) / 2


@dataclass(frozen=True)
class Rises:
    """A flight: the heights of its steps between sole and lip, m, and which of them something standing there is.

    served: (height, what stands there), by rising height. least, most: its rises, m. preferred: 0 for the flight
    that is liked best, 1 for the next, and so on.
    """

    levels: tuple[float, ...]
    served: tuple[tuple[float, str], ...]
    least: float
    most: float
    preferred: int = 0


def flights(sole: float, lip: float, tops: Sequence[tuple[float, str]], comfort: Comfort) -> list[Rises]:
    """Return the flights of equal rises from *sole* to *lip*, m, that are comfortable; the best liked first.

    tops: (height m, name) of what one may step on, none, one or two of which a flight goes over; between them it rises
    evenly. Flights that go over more of them come first, then those nearest to the middle of what is comfortable, with
    fewer steps.

    >>> [len(one.levels) for one in flights(0.0, 0.9, [], Comfort())]
    [3, 2, 4]
    >>> flights(0.0, 0.9, [(0.36, "box")], Comfort())[0].levels
    (0.18, 0.36, 0.54, 0.72)
    """
    found: list[Rises] = []
    between = sorted({top for top in tops if sole < top[0] < lip})
    for stops in _ways(between):
        ends = [sole, *(height for height, _ in stops), lip]
        counts = [list(_counts(b - a, comfort)) for a, b in pairwise(ends)]
        for steps in product(*counts):
            found += _flight(ends, steps, stops, comfort)
    ordered = sorted(found, key=lambda one: _rank(one, comfort))
    return [replace(one, preferred=number) for number, one in enumerate(ordered)]


def off_by(sole: float, lip: float, comfort: Comfort) -> float:
    """Return by how much, m, equal rises miss what is comfortable, at best.

    >>> round(off_by(0.0, 0.32, Comfort()), 3), round(off_by(0.0, 0.1, Comfort()), 3)
    (0.005, 0.065)
    """
    height = lip - sole
    near = {max(1, math.floor(height / comfort.most)), max(1, math.ceil(height / comfort.most))}
    return min(max(comfort.least - height / n, height / n - comfort.most, 0.0) for n in near)


def _ways(tops: Sequence[tuple[float, str]]) -> Iterator[tuple[tuple[float, str], ...]]:
    yield ()
    for top in tops:
        yield (top,)
    for one in tops:
        yield from ((one, other) for other in tops if other[0] > one[0])


def _counts(height: float, comfort: Comfort) -> range:
    fewest = max(1, math.ceil(height / comfort.most - SLACK))
    return range(fewest, math.floor(height / comfort.least + SLACK) + 1)


def _flight(
    ends: Sequence[float], steps: Sequence[int], stops: tuple[tuple[float, str], ...], comfort: Comfort
) -> Iterator[Rises]:
    rises = [(b - a) / n for (a, b), n in zip(pairwise(ends), steps, strict=True)]
    if max(rises) - min(rises) <= comfort.uneven + SLACK:
        levels = [a + k * rise for a, n, rise in zip(ends, steps, rises, strict=False) for k in range(1, n + 1)]
        heights = dict(stops)
        exact = [min(heights, key=lambda top, z=z: abs(top - z), default=z) for z in levels[:-1]]  # type: ignore[misc]
        told = tuple(round(top if abs(top - z) < SLACK else z, 9) for top, z in zip(exact, levels[:-1], strict=True))
        yield Rises(told, stops, min(rises), max(rises))


def _rank(one: Rises, comfort: Comfort) -> tuple[float, ...]:
    off = abs((one.least + one.most) / 2 - comfort.middle)
    return -len(one.served), round(off / ALIKE), len(one.levels), off, one.most - one.least
