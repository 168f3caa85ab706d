"""Three sketches: the plan with its stations, one section with its letters and tapes, an opening with its measures."""

from collections.abc import Sequence

import numpy as np

from tapeloft.model.measuring.form import Form
from tapeloft.model.measuring.section import Section, area
from tapeloft.model.moments import Points
from tapeloft.viewer.form.flow import Block
from tapeloft.viewer.form.ink import (
    FINE,
    PLAIN,
    STRONG,
    Extent,
    Line,
    Mark,
    Ring,
    Spot,
    Words,
    arrow,
    box,
    centred,
    moved,
    width,
)
from tapeloft.viewer.form.placing import beside_corner, clear

TITLE, FOOT, AROUND = 7.0, 14.0, 9.5  # mm kept within a frame: for its title, for its arrows, and for the letters
NAME = 10.0  # pt, of the letters in the sketches
RING = 3.3  # mm, radius of the ring around a chalked letter


def sketches(form: Form, wide: float, high: float) -> Block:
    """Return plan, section and opening side by side."""
    sizes = [wide * 0.37, wide * 0.39, wide * 0.24]
    drawn = [_plan(form, sizes[0] - 1.5, high), _section(form, sizes[1] - 1.5, high), _opening(sizes[2], high)]
    marks: list[Mark] = []
    x = 0.0
    for part, size in zip(drawn, sizes, strict=True):
        marks += moved(part, x, 0.0)
        x += size
    return Block(high, tuple(marks))


def largest(sections: Sequence[Section]) -> Section:
    """Return the section that shows most: that with the most letters, and of those the largest."""
    return max(sections, key=lambda one: (len(one.marks), abs(area(one.outline)) if len(one.corners) > 2 else 0.0))


def _frame(title: str, wide: float, high: float) -> list[Mark]:
    return [box(0, 0, wide, high, PLAIN), centred(title, (wide / 2, 4.2), 8.5, bold=True)]


def _fit(points: Points, wide: float, high: float) -> Points:
    """Return points, (n, 2) with y up, brought into the middle of a frame, mm with y down."""
    low, high_ = points.min(axis=0), points.max(axis=0)
    room = np.array([wide - 2 * AROUND, high - TITLE - FOOT - 2 * AROUND])
    scale = float((room / np.maximum(high_ - low, 1e-6)).min())
    middle = np.array([wide / 2, TITLE + AROUND + room[1] / 2])
    placed: Points = middle + (points - (low + high_) / 2) * scale * np.array([1.0, -1.0])
    return placed


def _spots(points: Points) -> tuple[Spot, ...]:
    return tuple((float(x), float(y)) for x, y in points)


def _section(form: Form, wide: float, high: float) -> tuple[Mark, ...]:
    shown = largest(form.sections)
    way = 1.0 if not form.side and not form.across else -1.0  # looking forward, port is to the left
    corners = _fit(shown.outline * np.array([way, 1.0]), wide, high)
    marks = _frame(f"section at station {shown.station}, looking forward", wide, high)
    marks += _tapes(form, shown, corners)
    marks.append(Line(_spots(corners), STRONG, closed=True))
    side = _sides(form, wide, high)
    marks += side
    taken = [mark.extent for mark in marks if isinstance(mark, Words)]
    marks += _lettered(shown.marks, corners, taken, (1.0, TITLE, wide - 1.0, high - 1.0))
    return tuple(marks)


def _tapes(form: Form, shown: Section, corners: Points) -> list[Mark]:
    """Return the tapes across the section as they run."""
    lines = next(one for one in form.stations if one.name == shown.station)
    called = {shown.station + mark: corner for mark, corner in zip(shown.marks, corners, strict=True)}
    ends = [[called[name] for name in label.split("-")] for label, _ in lines.across]
    return [Line(_spots(np.array(pair)), FINE, dashed=True) for pair in ends]


def _sides(form: Form, wide: float, high: float) -> list[Mark]:
    """Return the arrows up and outboard, and which side is which."""
    y, middle = high - 5.5, wide / 2
    up = centred("up", (middle, high - 13.0), 9, bold=True)
    marks: list[Mark] = [*arrow((middle, high - 2.0), (middle, high - 10.5)), up]
    if form.across or form.side > 0:
        marks += [*arrow((middle - 5, y), (middle - 21, y)), centred("outboard", (middle - 13, y - 3.2), 8, bold=True)]
        marks.append(Words("P", (3.0, y + 1.7), 13, bold=True))
    if form.across or form.side <= 0:
        name = "S" if form.across or form.side else "P / S"
        start = wide - 2.0 - width(name, 13, bold=True)
        marks += [*arrow((middle + 4, y), (min(middle + 21, start - 1.5), y))]
        marks += [centred("outboard", (middle + 13, y - 3.2), 8, bold=True)]
        marks.append(Words(name, (start, y + 1.7), 13, bold=True))
    return marks


def _lettered(names: Sequence[str], corners: Points, taken: Sequence[Extent], frame: Extent) -> list[Mark]:
    """Return the letters, each ringed beside its corner, where no other word and no side of the section is."""
    middle = corners.mean(axis=0)
    every, marks = list(taken), list[Mark]()
    sides = [(_spots(corners)[k - 1], spot) for k, spot in enumerate(_spots(corners))]
    for name, corner in zip(names, corners, strict=True):
        ringed = len(name) <= 2
        size = NAME if ringed else 8.0
        label = beside_corner(name, corner, corner - middle, size, RING if ringed else 0.0, every, sides, frame)
        if label is None or not name:
            continue
        words, extent = label
        every.append(extent)
        centre = ((extent[0] + extent[2]) / 2, (extent[1] + extent[3]) / 2)
        marks += [Ring(centre, RING, PLAIN), words] if ringed else [words]
    return marks


def _plan(form: Form, wide: float, high: float) -> tuple[Mark, ...]:
    port = np.array([max(one.corners, key=lambda c: c[1])[:2] for one in form.sections])
    starboard = np.array([min(one.corners, key=lambda c: c[1])[:2] for one in form.sections])
    lids = [np.array([(a, b), (c, b), (c, d), (a, d)]) for a, b, c, d in form.plan]
    placed = _fit(np.vstack([port, starboard, *lids]), wide, high)
    count = len(form.sections)
    above, below = placed[:count], placed[count : 2 * count]
    marks = _frame("plan, bow to the right", wide, high)
    marks.append(Line(_spots(np.vstack([above, below[::-1]])), STRONG, closed=True))
    for k in range(len(lids)):
        marks.append(Line(_spots(placed[2 * count + 4 * k :][:4]), PLAIN, closed=True, dashed=True))
    taken = [mark.extent for mark in marks if isinstance(mark, Words)]
    for one, top, bottom in zip(form.sections, above, below, strict=True):
        over, under = (float(top[0]), float(top[1]) - 2.5), (float(bottom[0]), float(bottom[1]) + 2.5)
        marks.append(Line((over, under), FINE))
        label = centred(one.station, (over[0], over[1] - 2.6), NAME, bold=True)
        if clear(label.extent, taken, 0.6):
            taken.append(label.extent)
            marks.append(label)
    y = high - 6.0
    marks += [*arrow((wide - 24, y), (wide - 5, y)), Words("forward", (wide - 24, y - 2.2), 8, bold=True)]
    marks.append(Words(_which_side(form), (3.0, y + 1.2), 9, bold=True))
    return tuple(marks)


def _which_side(form: Form) -> str:
    if form.across:
        return "P above, S below"
    return {1.0: "outboard above", -1.0: "outboard below"}.get(form.side, "outboard: P / S")


def _opening(wide: float, high: float) -> tuple[Mark, ...]:
    """Return an opening with the letters that its boxes are called by."""
    left, right, top, r = 10.0, wide - 7.0, TITLE + 7.0, 5.0
    bottom = min(high - FOOT - 10.0, top + 1.3 * (right - left))
    turn = np.linspace(0, np.pi / 2, 7)
    centres = [
        (right - r, top + r, -np.pi / 2),
        (right - r, bottom - r, 0.0),
        (left + r, bottom - r, np.pi / 2),
        (left + r, top + r, np.pi),
    ]
    rim = [(cx + r * np.cos(start + t), cy + r * np.sin(start + t)) for cx, cy, start in centres for t in turn]
    marks = _frame("an opening", wide, high)
    marks.append(Line(_spots(np.array(rim)), STRONG, closed=True))
    marks += [Line(((left + 1.4, top + 1.4), (right - 1.4, bottom - 1.4)), PLAIN, dashed=True)]
    marks += [Line(((left + 1.4, bottom - 1.4), (right - 1.4, top + 1.4)), PLAIN, dashed=True)]
    middle = ((left + right) / 2, (top + bottom) / 2)
    marks += _both_ways((left, bottom + 3.5), (right, bottom + 3.5))
    marks += _both_ways((left - 3.5, top), (left - 3.5, bottom))
    third = (bottom - top) / 4
    for name, spot in (
        ("a", (middle[0], bottom + 6.6)),
        ("b", (left - 6.2, middle[1])),
        ("c", (left + (right - left) * 0.25 + 3.4, top + third - 1.5)),
        ("d", (left + (right - left) * 0.25 + 3.4, bottom - third + 1.5)),
        ("r", (right + 1.8, top - 1.8)),
    ):
        marks.append(centred(name, spot, 12, bold=True))
    y = high - 6.0
    marks += [*arrow((wide - 21, y), (wide - 3, y)), Words("forward", (wide - 21, y - 2.2), 8, bold=True)]
    return tuple(marks)


def _both_ways(a: Spot, b: Spot) -> list[Mark]:
    return [*arrow(a, b, PLAIN, 2.0), *arrow(b, a, PLAIN, 2.0)]
