"""The head of every page, and the first page: what is measured, by whom, with what, from where, and its letters."""

from tapeloft.model.cautions import CLOSED, GAS, GOING_IN
from tapeloft.model.measuring.form import Form, Told
from tapeloft.model.survey.told import on_paper
from tapeloft.viewer.form.cells import LEAST, WRITING, Cell, framed, heading, row, said, written
from tapeloft.viewer.form.flow import GAP, Block, Group, Size, breadth, room
from tapeloft.viewer.form.ink import Line, Mark, Ring, Words, bar, box, centred, fitted, width
from tapeloft.viewer.form.sketches import sketches

RULES = {
    "mm": "all in millimetres: whole numbers, no signs, no point",
    "cm": "all in centimetres, as 71.5: no signs",
    "m": "all in metres to the millimetre, as 1.234: no signs",
    "in": "all in inches and sixteenths, as 18 3/8: no signs",
    "ft": "all in feet, inches and sixteenths, as 4' 11 3/8\": no signs",
    "ft-in-8": "all in feet-inches-eighths, as 4-11-3: no signs",
}
TWIN = "A twin of {sister}: every side and letter is written as hers, {side}. Her check tapes go under [twin.check]."
SPARE = 0.5  # mm that is left free at the foot of the first page
LEAST_SKETCH, SKETCH, MOST_SKETCH = 52.0, 72.0, 105.0  # mm high: where they fill a page's rest, or begin the next
HOW = (
    "Chalk every letter first; the same corner has the same letter at every station. Call half-breadth, then height.",
    "Tapes in strong boxes come first: they touch every letter and show a slip. The others show at which letter.",
    "A figure is never rubbed out: strike it through once, write the right one beside it. Where a tape cannot run "
    "straight, strike out its label and take one between two other letters.",
)


def head(form: Form, paper: Size, number: int, pages: int) -> Block:
    """Return the head of a page: what the sheet is for, how readings are written, which page of how many."""
    wide = breadth(paper)
    count = f"sheet {number} of {pages}"
    marks: list[Mark] = [bar(0, 0, wide, 8.4), Words("MEASURING SHEET", (2.4, 6.1), 13, bold=True, white=True)]
    marks.append(Words(count, (wide - 2.4 - width(count, 11, bold=True), 6.0), 11, bold=True, white=True))
    left = 2.4 + width("MEASURING SHEET", 13, bold=True) + 5
    rule, size = fitted(RULES[form.unit], wide - left - width(count, 11, bold=True) - 7, 9.5, LEAST, bold=True)
    marks.append(Words(rule, (left, 5.9), size, bold=True, white=True))
    return Block(18.0, (*marks, *(_whose(form, wide) if form.filled else _whose_blank(wide))))


def _whose(form: Form, wide: float) -> list[Mark]:
    boat = form.craft.name + (f", hull {form.craft.hull_number}" if form.craft.hull_number is not None else "")
    whole = ": ".join(filter(None, (boat, form.name)))
    told, size = fitted(whole, wide, 14, 8.0, bold=True)
    return [Words(told, (0, 15.4), size, bold=True)]


def _whose_blank(wide: float) -> list[Mark]:
    marks: list[Mark] = []
    for label, x, end in (("boat", 0.0, wide * 0.42), ("compartment", wide * 0.44, wide)):
        marks.append(Words(label, (x, 16.4), 9.5, bold=True))
        marks.append(Line(((x + width(label, 9.5, bold=True) + 1.5, 17.4), (end, 17.4))))
    return marks


def front(form: Form, paper: Size) -> list[Group]:
    """Return the groups of the first page; the sketches fill it."""
    wide = breadth(paper)
    warnings = [framed(text, wide) for text in _cautions(form)]
    before = [
        *([Group(tuple(warnings), gap=2.0)] if warnings else []),
        Group((_who(form, wide), _tape(form, wide), _measured_to(form, wide))),
        Group(tuple(_datum(form, wide))),
        Group((heading("LETTERS", wide, _way_round(form)), *_letters(form.letters, wide))),
    ]
    after = Group(tuple(said(text, wide) for text in HOW))
    left = room(paper, head(form, paper, 1, 1)) - sum(group.height + GAP for group in [*before, after]) - SPARE
    return [*before, Group((sketches(form, wide, min(left, MOST_SKETCH) if left >= LEAST_SKETCH else SKETCH),)), after]


def _cautions(form: Form) -> list[str]:
    """Return what a person must know before going in; common practice, no source."""
    texts = [TWIN.format(sister=form.twin_of, side=_side(form))] if form.twin_of else []
    texts += [GAS] if form.space.use == "gas" else []
    return [*texts, CLOSED if form.space.use in ("gas", "chain") else GOING_IN]


def _who(form: Form, wide: float) -> Block:
    space = form.space
    return row(
        [
            Cell("side: P / S / across", _side(form), 1.35),
            Cell("used for", form.use, 1.1),
            Cell("date", space.date.isoformat() if space.date else "", 1.2),
            Cell("caller", "", 1.2),
            Cell("writer", "", 1.2),
            Cell("boat: ashore / afloat; what was out", space.state, 2.6),
        ],
        wide,
    )


def _side(form: Form) -> str:
    if not form.filled or form.across:
        return "across" if form.across else ""
    return {1.0: "port", -1.0: "starboard"}.get(form.side, "")


def _tape(form: Form, wide: float) -> Block:
    tape = form.space.tape
    return row(
        [
            Cell("tape no.", tape.id, 0.9),
            Cell("class", tape.accuracy_class, 0.7),
            Cell("end: hook / cut back to / case added", tape.end, 2.6),
            Cell("against a rule: 1000 reads", tape.checked_against, 2.2),
            Cell("and after", "", 1.0),
        ],
        wide,
    )


def _measured_to(form: Form, wide: float) -> Block:
    """Return the row that asks what was measured to: the dearest thing to forget; what is known is underlined."""
    marks: list[Mark] = [box(0, 0, wide, WRITING + 1.0)]
    x = 2.0
    for word in ("measured to", "STRUCTURE", "/", "LINING"):
        long = width(word, 11, bold=True)
        marks.append(Words(word, (x, 7.2), 11, bold=True))
        marks += [Line(((x, 9.2), (x + long, 9.2)), 2.2)] if word.lower() == form.measured_to else []
        x += long + 4
    asked = (("how thick", _thick(form)), ("lining boards out?", ""))
    room = (wide - x - 4 - sum(width(label, 9.5, bold=True) + 7 for label, _ in asked)) / len(asked)
    for label, text in asked:
        marks.append(Words(label, (x + 3, 7.0), 9.5, bold=True))
        start = x + 4.5 + width(label, 9.5, bold=True)
        end = start + room
        marks.append(Line(((start, 9.2), (end, 9.2))))
        told, size = fitted(text, room - 1, 11, LEAST)
        marks += [Words(told, (start + 0.5, 7.2), size)] if told else []
        x = end
    return Block(WRITING + 1.0, tuple(marks))


def _thick(form: Form) -> str:
    return on_paper(form.space.lining, form.unit) if form.space.lining else ""


def _datum(form: Form, wide: float) -> list[Block]:
    datum = form.datum
    rising = f" ({datum.x_positive} +)" if form.filled and datum.x_zero else ""
    return [
        row(
            [
                Cell("x zero: taped from what face; rising fwd / aft", datum.x_zero + rising),
                Cell("y zero: string, from where to where", datum.y_zero),
            ],
            wide,
        ),
        row(
            [
                Cell("z zero: what heights rise from", datum.z_zero),
                Cell("level at x zero: fore-and-aft, athwart", datum.levelled),
            ],
            wide,
        ),
    ]


def _way_round(form: Form) -> str:
    if not form.letters:
        sides = "p port, s starboard" if form.across else "o at the hull, i at the inner face"
        return f"a table of offsets at heights; {sides}"
    order = max((one.marks for one in form.sections), key=len)
    told = " ".join(order)
    return f"in order round the section: {told}"


def _letters(letters: tuple[Told, ...], wide: float) -> list[Block]:
    """Return a line for each letter, two to a row: what the corner is that bears it."""
    half = wide / 2
    rows = []
    for k in range(0, len(letters), 2):
        marks: list[Mark] = []
        for number, (letter, about) in enumerate(letters[k : k + 2]):
            x = number * half
            marks += [box(x, 0, half, WRITING - 0.5), *_ringed(letter, x), *written(about, x + 10, 0, half - 10, 9.5)]
        rows.append(Block(WRITING - 0.5, tuple(marks)))
    return rows


def _ringed(letter: str, x: float) -> list[Mark]:
    told, size = fitted(letter, 9.0, 11, 6.0, bold=True)
    ring: list[Mark] = [Ring((x + 5, 4.75), 3.6)] if len(letter) <= 2 else []
    return [*ring, centred(told, (x + 5, 4.75), size, bold=True)]
