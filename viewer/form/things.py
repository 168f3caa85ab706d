"""What stands in the space, its openings and drains, the tapes over all and for a twin, and the last look round."""

from collections.abc import Mapping, Sequence
from itertools import pairwise

from tapeloft.model.measuring.form import Form, Thing, Told
from tapeloft.viewer.form.cells import (
    LABEL,
    LEAST,
    PAD,
    WRITING,
    Cell,
    Slot,
    entry,
    heading,
    row,
    said,
    strips,
    written,
)
from tapeloft.viewer.form.flow import Block, Group
from tapeloft.viewer.form.ink import STRONG, Mark, box, centred, fitted, paragraph, width, wrapped

LEFT = 24.0
SPARE, BLANK = 2, 5  # rows of obstructions left empty behind those that are known, and on an empty sheet
COLUMNS = (
    ("name", 3.0),
    ("box, post, panel …", 1.9),
    ("from", 1.2),
    ("to", 1.2),
    ("from", 1.2),
    ("to", 1.2),
    ("from", 1.2),
    ("to", 1.2),
    ("dia.", 1.0),
    ("comes out", 0.95),
    ("photo", 0.95),
)
OVER = (("along, from x zero", 2, 4), ("half-breadth, P / S", 4, 6), ("height", 6, 8))
BOXES = {"x": 2, "y": 4, "z": 6, "diameter": 8}
"""The first of the boxes for each reading of a thing."""
LEAVING = (
    "every letter touched by two tapes",
    "every figure read back by the other person",
    "a photo of each station, tape in view",
    "two long tapes in every bay",
    "all that stands in it: size, place, does it come out",
    "openings: both diagonals, coaming, swing of the lid",
    "drains and limber holes",
    "measured to structure or to lining: ring one",
    "tape held against the rule once more",
    "boards back, chalk left for the next one",
)
INTO = "Into the file as it is lettered here: A = [half-breadth, height] under [station.1], 1A-1D = 1221 under [check]."
QUOTED = ' Labels with a blank, or a letter beyond a to z, stand in quotes there: "0p top-0s top" = 902.'


def over_all(form: Form, wide: float) -> list[Group]:
    """Return the tapes over the whole length, and those that a twin is held against."""
    blocks = [heading("OVER ALL", wide, "one tape at the sole, one under the deck, end to end")]
    blocks += strips("end to end", _slots(form.over_all), wide, LEFT) if form.over_all else []
    other = form.space.compartment
    note = (
        f"a twin: readings are written in the sides of {other}"
        if form.twin_of
        else "these three at the least, taken on her"
    )
    title = "AGAINST HER SISTER" if form.twin_of else "TWIN, OR THE NEXT HULL"
    twin = [heading(title, wide, note), *strips("the twin", _slots(form.twin), wide, LEFT)]
    return [*([Group(tuple(blocks))] if form.over_all else []), *([Group(tuple(twin))] if form.twin else [])]


def _slots(tapes: Sequence[Told]) -> list[Slot]:
    return [Slot(label, reading) for label, reading in tapes]


def obstructions(form: Form, wide: float) -> Group:
    """Return a row for each thing that stands in the space, and some for what else is found."""
    rows = [_columns(wide)]
    for one in form.obstructions:
        rows.append(_thing(one, wide))
    rows += [_thing(Thing(""), wide)] * (SPARE if form.obstructions else BLANK)
    return Group(
        (heading("STANDING IN IT", wide, "posts, boxes, tanks, pipes, panels, steps"), *rows), "STANDING IN IT"
    )


def _edges(wide: float) -> list[float]:
    every = sum(share for _, share in COLUMNS)
    edges = [0.0]
    for _, share in COLUMNS:
        edges.append(edges[-1] + wide * share / every)
    return edges


def _columns(wide: float) -> Block:
    edges, marks = _edges(wide), list[Mark]()
    for name, first, last in OVER:
        told, size = fitted(name, edges[last] - edges[first] - 1, LABEL, LEAST, bold=True)
        marks.append(centred(told, ((edges[first] + edges[last]) / 2, 2.8), size, bold=True))
    for k, (name, _) in enumerate(COLUMNS):
        lines = wrapped(name, edges[k + 1] - edges[k] - 0.6, 8.0, bold=True)
        if len(lines) > 1 or not any(first <= k < last for _, first, last in OVER):
            marks += paragraph(lines[:2], (edges[k] + PAD / 2, 8.6 - 3.6 * len(lines[:2])), 8.0, bold=True, pitch=1.2)
        else:
            marks.append(centred(name, ((edges[k] + edges[k + 1]) / 2, 6.6), 8.0, bold=True))
    return Block(9.2, tuple(marks))


def _thing(one: Thing, wide: float) -> Block:
    edges, marks = _edges(wide), list[Mark]()
    high = WRITING
    in_boxes = _in_boxes(one, edges)
    for k, (left, right) in enumerate(pairwise(edges)):
        marks += entry(in_boxes.get(k, ""), left, 0, right - left)
    marks += written(one.name, edges[0], 0, edges[1])
    marks += written(one.what, edges[1], 0, edges[2] - edges[1])
    if one.words and not in_boxes:
        lines = wrapped(one.words, wide - 2 * PAD - 4, 9.5)
        marks += paragraph(lines, (4.0, high + 1.5), 9.5)
        high += len(lines) * 4.6 + 2.4
        marks.append(box(0, WRITING, wide, high - WRITING))
    return Block(high, tuple(marks))


def _in_boxes(one: Thing, edges: Sequence[float]) -> dict[int, str]:
    """Return a thing's readings by the number of the box that each belongs in; none where not all have room in one."""
    found: dict[int, str] = {}
    for name, reading in one.readings.items():
        for k, part in enumerate(reading.split(" to ")):
            found[BOXES.get(name, -1) + k] = part
    room = all(k > 1 and width(part, LABEL) <= edges[k + 1] - edges[k] - PAD for k, part in found.items())
    return found if room else {}


def openings(form: Form, wide: float) -> list[Group]:
    """Return the boxes of each opening, lettered as the sketch has it."""
    listed = form.openings or (Thing(""),)
    blocks = [
        Group(
            ((heading("OPENINGS", wide, "the least clear size, between coamings"),) if not k else ())
            + _opening(one, wide),
            "OPENINGS",
        )
        for k, one in enumerate(listed)
    ]
    return blocks


def _opening(one: Thing, wide: float) -> tuple[Block, ...]:
    told = one.readings
    along, athwart = _pair(told.get("clear", ""))
    return (
        row(
            [
                Cell("lid or door", one.name, 2.4),
                Cell("in the top / a side", one.what, 1.5),
                Cell("hinged at", told.get("hinge", ""), 1.3),
                Cell("opens to °", told.get("opens_to", "").removesuffix("°"), 1.1),
                Cell("stays; what it strikes or stands over", "", 3.5),
            ],
            wide,
        ),
        row(
            [
                Cell("a  fore-and-aft", along),
                Cell("b  athwart", athwart),
                Cell("c  diagonal"),
                Cell("d  diagonal"),
                Cell("r  corner", told.get("corner_radius", "")),
                Cell("coaming, deep", told.get("depth", "")),
            ],
            wide,
        ),
        row(_centre(told), wide),
    )


def _pair(text: str) -> tuple[str, str]:
    first, _, second = text.partition(" × ")
    return first, second


def _centre(told: Mapping[str, str]) -> list[Cell]:
    return [
        Cell("its middle: from x zero", told.get("x", ""), 1.2),
        Cell("half-breadth, P / S", told.get("y", ""), 1.2),
        Cell("height, of a door", told.get("z", ""), 1.2),
        Cell("photo no.", "", 0.8),
        Cell("remark", "", 1.6),
    ]


def drains(form: Form, wide: float) -> Group:
    """Return a row for each drain and one more, and the grate."""
    listed = [*form.drains, *([] if form.drains else [Thing("")])]
    rows = [
        row(
            [
                Cell("drain or limber hole", one.name, 2.6),
                Cell("bore", one.readings.get("diameter", "")),
                Cell("from x zero", one.readings.get("x", ""), 1.1),
                Cell("half-breadth, P / S", one.readings.get("y", ""), 1.5),
                Cell("height", one.readings.get("z", "")),
                Cell("leads to", "", 1.6),
            ],
            wide,
        )
        for one in listed
    ]
    if form.grate is not None or not form.filled:
        rows.append(row([Cell("grate: height of its upper face", form.grate or "", 1), Cell("remarks", "", 3)], wide))
    return Group((heading("DRAINS", wide, "the lowest point, and where it goes"), *rows), "DRAINS")


def leaving(form: Form, wide: float) -> Group:
    """Return what is looked over before the locker is left, and how the sheet goes into the file."""
    labels = [label for one in form.stations for label, _ in (*one.across, *one.girths, *one.onward)]
    plain = all(letter.isascii() and (letter.isalnum() or letter in "-_") for label in labels for letter in label)
    rows = []
    for k in range(0, len(LEAVING), 2):
        marks: list[Mark] = []
        for number, text in enumerate(LEAVING[k : k + 2]):
            x = number * wide / 2
            told, size = fitted(text, wide / 2 - 10, 10, LEAST)
            marks += [box(x + 0.5, 0.8, 5.6, 5.6, STRONG), *paragraph([told], (x + 8, 1.7), size)]
        rows.append(Block(8.0, tuple(marks)))
    into = INTO.replace("[check]", "[twin.check]") if form.twin_of else INTO
    told_ = said(into + ("" if plain else QUOTED), wide, 9.5, bold=True)
    signed = row([Cell("read back, caller"), Cell("read back, writer"), Cell("typed in by"), Cell("checked by")], wide)
    return Group(
        (heading("BEFORE LEAVING THE LOCKER", wide, "tick each"), Block(1.5, ()), *rows, signed, Block(2.0, ()), told_)
    )
