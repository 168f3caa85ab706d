"""From a row of a table of offsets to a section: half-breadths at heights, from the centreline or from a face."""

from itertools import pairwise

from tapeloft.model.survey.places import Place
from tapeloft.model.survey.reader import Reader
from tapeloft.model.survey.sheet import Offsets, StationSheet
from tapeloft.model.survey.station import Corner, leaning
from tapeloft.model.units import format_length


def section(reader: Reader, one: StationSheet, path: Place, offsets: Offsets) -> tuple[Corner, ...]:
    """Return the corners of a row of offsets, up the outer side and down the inner face or the other side.

    They are named by their side and height, and the lowest and the highest by that, so that rows at other heights
    are joined lowest to lowest and highest to highest. Empty where the row cannot be used.
    """
    heights = one.heights or offsets.heights
    if not _sound(reader, one, path, offsets, heights):
        return ()
    side = reader.how.side
    face = offsets.inner_face or 0.0
    base = face if offsets.readings == "from_face" else 0.0
    outer = [base + (side or 1.0) * b for b in one.half_breadths]
    if not side:
        inner = [-y for y in outer]
    elif one.inner:
        inner = [base + side * b for b in one.inner]
    else:
        inner = [face] * len(heights)
    up, down = (list(zip(breadths, heights, strict=True)) for breadths in (outer, inner))
    if side and not one.inner:
        down = [down[0], down[-1]]
    marks = marks_of_a_row(heights, side, reader.how.unit or "mm", inner=bool(one.inner))
    return tuple(_corner(one, mark, y, z) for mark, (y, z) in zip(marks, (*up, *down[::-1]), strict=True))


def marks_of_a_row(heights: tuple[float, ...], side: float, unit: str, *, inner: bool) -> tuple[str, ...]:
    """Return the marks of a row of offsets at *heights* m, in order round it; inner: its inner face is taped too.

    >>> marks_of_a_row((0.0, 0.12, 0.3), 1.0, "mm", inner=False), marks_of_a_row((0.0, 0.3), 0.0, "mm", inner=False)
    (('o bottom', 'o 120', 'o top', 'i top', 'i bottom'), ('p bottom', 'p top', 's top', 's bottom'))
    """
    levels = _levels(heights, unit)
    within = levels if inner or not side else [levels[0], levels[-1]]
    out, back = ("o", "i") if side else ("p", "s")
    return (*(f"{out} {at}" for at in levels), *(f"{back} {at}" for at in within[::-1]))


def _levels(heights: tuple[float, ...], unit: str) -> list[str]:
    between = [format_length(z, unit).removesuffix(f" {unit}") for z in heights[1:-1]]
    return ["bottom", *between, "top"]


def _corner(one: StationSheet, name: str, y: float, z: float) -> Corner:
    return Corner(name, (one.at + leaning(one, y, z), y, z))


def _sound(reader: Reader, one: StationSheet, path: Place, offsets: Offsets, heights: tuple[float, ...]) -> bool:
    """Whether a row can be used; what forbids it is refused."""
    if any(path[:1] == ("offsets",) for path in reader.faulty):
        return False
    before = len(reader.faulty)
    table: Place = (*path, "heights") if one.heights else ("offsets", "heights")
    if len(heights) < 2:
        reader.refuse(table, f"offsets need two heights or more, and there are {len(heights)}", "add [offsets] heights")
        return False
    if any(b <= a for a, b in pairwise(heights)):
        reader.refuse(table, "the heights do not rise", "give them from the lowest up, each once")
    for key, row in (("half_breadths", one.half_breadths), ("inner", one.inner)):
        if row and len(row) != len(heights):
            reader.refuse((*path, key), f"{len(row)} offsets for {len(heights)} heights", "one offset a height")
    _check_face(reader, one, path, offsets)
    return len(reader.faulty) == before


def _check_face(reader: Reader, one: StationSheet, path: Place, offsets: Offsets) -> None:
    mend = 'say side = "port" or "starboard" under [marks], or leave it out'
    if not reader.how.side and offsets.inner_face:
        reader.refuse(("offsets", "inner_face"), "there is no inner face where both sides are measured", mend)
    if not reader.how.side and one.inner:
        reader.refuse((*path, "inner"), "there is no inner face where both sides are measured", mend)
    if offsets.readings == "from_face" and offsets.inner_face is None:
        what = "the offsets were read from a face, and where that lies is not said"
        reader.refuse(("offsets", "readings"), what, "add inner_face = its half-breadth under [offsets]")
