"""Words beside what they are about, where they hide least: clearances by their lines, openings by their outlines."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tapeloft.model.moments import Points
from tapeloft.model.openings import ClearOpening
from tapeloft.model.stowed import Span
from tapeloft.model.units import STEPS
from tapeloft.viewer.dimensions import END_ON, figures
from tapeloft.viewer.eye import Eye
from tapeloft.viewer.labels import Label, overlap, upright_angle
from tapeloft.viewer.paint import Painting
from tapeloft.viewer.plate import FINER
from tapeloft.viewer.scene import Part

MOST = 14  # clearances in one drawing, the smallest
SAID = 20.0  # px, height of letters, on a plate 1600 px wide
REACHES = (1.0, 1.8, 2.8, 4.2, 6.0, 8.5)  # of that height: how far from its thing a word may stand
ARROW, SHORT = 10.0, 3.0  # px, on such a plate; a line shorter than so many arrowheads has them outside
BEHIND = 0.004  # m that a point must lie behind what is seen there to be hidden by it
CONTACT = 1e-5  # m: what is no farther apart touches
HALO = 3.0  # px: what of the picture shows this near round a word is in its way
HIDES = 25.0  # what a word costs that would lie on nothing but edges of the picture
CONTRAST = 36  # of 255: two neighbouring pixels that differ by more have an edge between them


@dataclass(frozen=True, eq=False)
class Callout:
    """Words and the line, (2, 2) px, that leads to what they are about, where they stand apart from it."""

    label: Label
    leader: Points | None = None


@dataclass(frozen=True, eq=False)
class Clearance:
    """A clearance on the plate: its ends, (2, 2) px, whether what is seen there hides it, and its figure.

    reach: the ends of its line, (2, 2) px: where it is short the line runs beyond it, with its arrowheads outside.
    """

    ends: Points
    reach: Points
    hidden: bool
    said: Callout


@dataclass(frozen=True, eq=False)
class Hole:
    """An opening on the plate: its outline, (n, 2) px, and its name and clear size, None where there is no room."""

    outline: Points
    said: Callout | None


class Room:
    """What of the plate is taken up: by words, by lines, and, as a thing to be sparing of, by the picture's edges."""

    def __init__(self, painting: Painting) -> None:
        height, width = painting.seen.shape
        self.size = (width, height)
        self.taken: list[Points] = []  # convex outlines, (n, 2) px
        self._ends: list[Points] = []  # of the upright box round each
        self._are_words: list[bool] = []
        grey = painting.pixels[::FINER, ::FINER].astype(np.int64).sum(axis=2) // 3
        edges = np.zeros(grey.shape, np.int64)
        edges[:, 1:] |= np.abs(np.diff(grey, axis=1)) > CONTRAST
        edges[1:] |= np.abs(np.diff(grey, axis=0)) > CONTRAST
        self._edges = np.pad(edges.cumsum(axis=0).cumsum(axis=1), ((1, 0), (1, 0)))

    def write(self, label: Label) -> None:
        """Take up the place of words."""
        self._take(label.corners(), True)

    def draw(self, line: Points, width: float) -> None:
        """Take up the place of a line, (2, 2) px, so wide."""
        self._take(strip(line, width), False)

    def is_free(self, callout: Callout) -> bool:
        """Whether words can stand there, and their line cross no other words."""
        corners, leader = callout.label.corners(), callout.leader
        if corners.min() < 0 or not (corners.max(axis=0) <= self.size).all():
            return False
        if any(overlap(corners, self.taken[k]) for k in self._near(corners)):
            return False
        if leader is None:
            return True
        thin = strip(leader, 2.0)
        return not any(self._are_words[k] and overlap(thin, self.taken[k]) for k in self._near(thin))

    def best(self, choices: Iterator[tuple[float, Callout]]) -> Callout | None:
        """Return the choice, each (its cost, itself), that costs least with what it hides, and take its place up."""
        costs = [(cost + HIDES * self._busy(one.label), k, one) for k, (cost, one) in enumerate(choices)]
        found = next((one for *_, one in sorted(costs) if self.is_free(one)), None)
        if found is not None:
            self.write(found.label)
        if found is not None and found.leader is not None:
            self.draw(found.leader, 2.0)
        return found

    def _take(self, outline: Points, are_words: bool) -> None:
        self.taken.append(outline)
        self._ends.append(np.array([outline.min(axis=0), outline.max(axis=0)]))
        self._are_words.append(are_words)

    def _near(self, outline: Points) -> list[int]:
        """Return the numbers of what is taken up by something whose upright box meets that of an outline."""
        ends = np.array(self._ends).reshape(-1, 2, 2)
        meet = (ends[:, 0] < outline.max(axis=0)) & (ends[:, 1] > outline.min(axis=0))
        near: list[int] = np.flatnonzero(meet.all(axis=1)).tolist()
        return near

    def _busy(self, label: Label) -> float:
        """Return what share of the label's upright box has an edge of the picture in it."""
        corners = label.corners()
        ends = np.array([corners.min(axis=0) - HALO, corners.max(axis=0) + HALO])
        (left, top), (right, bottom) = np.clip(ends, 0, self.size).astype(int)
        sums = self._edges
        met = int(sums[bottom, right] - sums[top, right] - sums[bottom, left] + sums[top, left])
        return float(met / max(1, (right - left) * (bottom - top)))


def clearances(
    parts: Sequence[Part], painting: Painting, eye: Eye, unit: str, scale: float, room: Room
) -> tuple[list[Clearance], int]:
    """Return the clearances of things stowed, the smallest first, and how many are left out.

    Left out are those beyond the smallest few, and those whose figures find no place; one seen end on does not count.
    """
    seen = [(span, eye.seen(np.array([span.start, span.end])), part) for part in parts for span in part.spans]
    seen = [(span, ends, part) for span, ends, part in seen if not _end_on(span, ends, eye)]
    seen.sort(key=lambda one: one[0].length_m)
    shown = [(*one, _reach(one[1], scale)) for one in seen[:MOST]]
    for *_, reach in shown:
        room.draw(reach, 7.0 * scale)
    drawn = []
    for span, ends, part, reach in shown:
        outward = ends.mean(axis=0) - eye.seen(part.solid.bounds.mean(axis=0))
        said = room.best(_by_line(told(span, unit), ends, outward, SAID * scale))
        if said is not None:
            drawn.append(Clearance(ends, reach, _hidden(span, painting.near, eye), said))
    return drawn, len(seen) - len(drawn)


def holes(openings: Sequence[ClearOpening], eye: Eye, unit: str, scale: float, room: Room) -> list[Hole]:
    """Return the openings as they are drawn, and take up room for what is said of them."""
    drawn = []
    for opening in openings:
        outline = eye.seen(opening.outline)
        drawn.append(Hole(outline, room.best(_by_outline(named(opening, unit), outline, SAID * scale))))
    return drawn


def named(opening: ClearOpening, unit: str) -> str:
    """Return an opening's name and its clear size, rounded down."""
    sizes = [figures(size, unit, down=True) for size in opening.clear]
    return f"{opening.name} Ø {sizes[0]}" if opening.is_round else f"{opening.name} {' × '.join(sizes)}"


def told(span: Span, unit: str) -> str:
    """Return a clearance in words.

    >>> told(Span((0, 0, 0), (0, 0, 0.0129), 0.0129, "the deck"), "mm")
    '12 to the deck'
    """
    return f"{_stated(span.length_m, unit)} to {span.to}"


def beside(text: str, at: Points, toward: Points, size: float) -> Iterator[tuple[float, Callout]]:
    """Yield words all round a point (2,) px, near ones and those *toward* (2,) px costing less, with their lines."""
    width, height = Label(text, (0.0, 0.0), size).extent
    half = np.array([width, height]) / 2 + 1
    ahead = math.atan2(toward[1], toward[0]) if float(np.hypot(*toward)) > 1e-6 else -math.pi / 4
    for number, reach in enumerate(REACHES):
        for turn in np.arange(24) * math.pi / 12:
            way = np.array([math.cos(ahead + turn), math.sin(ahead + turn)])
            middle = at + way * (reach * size + half * np.array([1.0, 0.4]))
            near = np.clip(at, middle - half, middle + half)
            label = Label(text, (float(middle[0]), float(middle[1])), size)
            leader = np.array([at, near]) if float(np.hypot(*(near - at))) > 0.5 * size else None
            yield 0.16 * number + 0.1 * (1 - math.cos(turn)), Callout(label, leader)


def along(text: str, line: Points, size: float) -> Iterator[tuple[float, Callout]]:
    """Yield words along a line, (2, 2) px, on either side, where they are no longer than it."""
    length = float(np.hypot(*(line[1] - line[0])))
    if Label(text, (0.0, 0.0), size).extent[0] > 0.95 * length:
        return
    way = (line[1] - line[0]) / length
    square = np.array([-way[1], way[0]])
    for share in (0.5, 0.35, 0.65):
        for side in (0.85, -0.85):
            at = line[0] + (line[1] - line[0]) * share + square * size * side
            cost = 0.3 * abs(share - 0.5)
            yield cost, Callout(Label(text, (float(at[0]), float(at[1])), size, upright_angle(way)))


def strip(line: Points, width: float) -> Points:
    """Return the outline, (4, 2), of a line of two points drawn so wide."""
    way = (line[1] - line[0]) / max(float(np.linalg.norm(line[1] - line[0])), 1e-9)
    aside = np.array([-way[1], way[0]]) * width / 2
    outline: Points = np.array([line[0] - aside, line[1] - aside, line[1] + aside, line[0] + aside])
    return outline


def sides_of(outline: Points) -> list[Points]:
    """Return the four longest sides of an outline: the straight ones of a rectangle, however its corners are."""
    sides = np.stack([outline, np.roll(outline, -1, axis=0)], axis=1)
    lengths = np.linalg.norm(sides[:, 1] - sides[:, 0], axis=1)
    return list(sides[np.sort(np.argsort(-lengths, kind="stable")[:4])])


def _by_line(text: str, ends: Points, outward: Points, size: float) -> Iterator[tuple[float, Callout]]:
    yield from along(text, ends, size)
    for cost, callout in beside(text, ends.mean(axis=0), outward, size):
        yield 0.1 + cost, callout


def _by_outline(text: str, outline: Points, size: float) -> Iterator[tuple[float, Callout]]:
    sides = sides_of(outline)
    for side in sides:
        yield from along(text, side, size)
    for side in sides:
        middle = side.mean(axis=0)
        for cost, callout in beside(text, middle, middle - outline.mean(axis=0), size):
            yield 0.3 + cost, callout


def _stated(length: float, unit: str) -> str:
    """Return a clearance as it is written: rounded down, what is finer than the drawing shows as less than its step.

    >>> _stated(0.0123, "mm"), _stated(0.0004, "mm"), _stated(0.0, "mm"), _stated(0.001, "in")
    ('12', '< 1', '0', '< 1/16')
    """
    step = STEPS[unit]
    return f"< {figures(step, unit)}" if CONTACT < length < step else figures(max(length, 0.0), unit, down=True)


def _reach(ends: Points, scale: float) -> Points:
    length = float(np.hypot(*(ends[1] - ends[0])))
    if length < 1 or length > SHORT * ARROW * scale:
        return ends
    beyond = (ends[1] - ends[0]) / length * 2 * ARROW * scale
    return np.array([ends[0] - beyond, ends[1] + beyond])


def _end_on(span: Span, ends: Points, eye: Eye) -> bool:
    apart = math.dist(span.start, span.end)
    return apart > CONTACT and float(np.hypot(*(ends[1] - ends[0]))) < END_ON * apart * eye.scale


def _hidden(span: Span, near: NDArray[np.float64], eye: Eye) -> bool:
    """Whether most of a clearance lies behind what is seen there."""
    points = np.linspace(span.start, span.end, 9)[1:-1]
    columns, rows = eye.seen(points).round().astype(int).T
    inside = (rows >= 0) & (rows < near.shape[0]) & (columns >= 0) & (columns < near.shape[1])
    before = near[rows[inside], columns[inside]] - (points[inside] - eye.focal) @ eye.toward
    return bool((before > BEHIND).sum() * 2 > len(points))
