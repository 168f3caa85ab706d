"""The boxes of one station: its distance, two readings a letter, the tapes within it and on to the next."""

from collections.abc import Sequence

from tapeloft.model.measuring.form import Reading, StationLines, Told
from tapeloft.viewer.form.cells import CAP, LARGEST, NAMES, WRITING, Cell, Slot, beside, entry, row, strips
from tapeloft.viewer.form.flow import Block, Group
from tapeloft.viewer.form.ink import Mark, bar, centred, fitted

LEFT = 24.0  # mm, the column that says what a row is
WIDEST = 30.0  # mm; boxes wider than this only move the figures apart
HEAD = 7.0  # mm, the strip that the letters stand in
TAG = 42.0  # mm, the black tag with the station's name


def station_group(one: StationLines, wide: float, breadths: str, *, at_an_end: bool) -> Group:
    """Return the boxes of a station over *wide* mm; breadths: what the readings athwart are; at an end it may lean."""
    blocks = [_named(one, wide, at_an_end)]
    folded = _folded(one.readings)
    step = min(WIDEST, (wide - LEFT) / max(map(len, folded), default=1))
    blocks += [_readings(part, one, step, breadths) for part in folded]
    first = [Slot(label, reading, first=k < one.enough) for k, (label, reading) in enumerate(one.across)]
    blocks += strips("tapes, letter to letter", first, wide, LEFT)
    further = [*_slots(one.girths, "girth "), *_slots(one.onward)]
    named = [*(["girth"] if one.girths else []), *([f"on to station {one.onto}"] if one.onward else [])]
    blocks += strips(" and ".join(named), further, wide, LEFT)
    return Group(tuple(blocks), title=f"STATION {one.name}")


def _slots(tapes: Sequence[Told], what: str = "") -> list[Slot]:
    return [Slot(what + label, reading) for label, reading in tapes]


def _named(one: StationLines, wide: float, at_an_end: bool) -> Block:
    title, size = fitted(f"STATION {one.name}", TAG - 4, NAMES + 1, 8, bold=True)
    marks: list[Mark] = [bar(0, 0, TAG, CAP + WRITING)]
    marks += [centred(title, (TAG / 2, (CAP + WRITING) / 2), size, bold=True, white=True)]
    leans = "leans: how far fwd / aft, over what height" if at_an_end else "remark"
    known = one.leans or one.remark or ("steps here: same distance as before" if one.step else "")
    cells = [
        Cell("at, from x zero", one.at, 1.25),
        Cell("photo no.", one.photo, 0.9),
        Cell("read back by", "", 1.0),
        Cell("leans" if one.leans else "remark" if known else leans, known, 2.6),
    ]
    return Block(CAP + WRITING, (*marks, *row(cells, wide, TAG).marks))


def _folded(readings: Sequence[Reading]) -> list[Sequence[Reading]]:
    """Return the letters in as few even rows as the page is wide enough for."""
    rows = -(-len(readings) // LARGEST)
    each = -(-len(readings) // rows) if rows else 0
    return [readings[k : k + each] for k in range(0, len(readings), each or 1)]


def _readings(part: Sequence[Reading], one: StationLines, step: float, breadths: str) -> Block:
    lines = [(breadths, [r.half_breadth for r in part]), ("height", [r.height for r in part])]
    lines += [("its own distance", [r.own_at for r in part])] if one.own else []
    marks: list[Mark] = []
    for k, reading in enumerate(part):
        x = LEFT + k * step
        name, size = fitted("point" if one.pointed else reading.mark, step - 1, NAMES, 7, bold=True)
        marks.append(centred(name, (x + step / 2, HEAD / 2 + 0.2), size, bold=True))
        for number, (_, figures) in enumerate(lines):
            marks += entry(figures[k], x, HEAD + number * WRITING, step)
    for number, (name, _) in enumerate(lines):
        marks += beside(name, HEAD + number * WRITING, WRITING, LEFT)
    return Block(HEAD + len(lines) * WRITING, tuple(marks))
