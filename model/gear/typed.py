"""From how a person writes a size to a form: `box 850x650x350`, `cylinder 12 in x 2 ft`, `thing.stl mm`."""

import re
from collections.abc import Callable
from pathlib import Path

from tapeloft.model.files.meshes import BadMesh
from tapeloft.model.files.meshfile import READERS, read_mesh
from tapeloft.model.gear.body import Body
from tapeloft.model.gear.forms import Block, Board, Capsule, Cylinder, SoftBag
from tapeloft.model.gear.gear import Form
from tapeloft.model.units import CUBIC_FOOT, LITRE, Misread, NoUnit, length
from tapeloft.shapes.mesh import METRES
from tapeloft.shapes.polyhedron import Polyhedron

FORMS = {
    "box": "length x breadth x height, as box 850x650x350",
    "cylinder": "diameter x length, as cylinder 320x600",
    "capsule": "diameter x length over all, as capsule 200x700",
    "board": "length x breadth x thickness, as board 1900x500x80 rocker 60 outline 0x250, 900x500, 1900x0",
    "bag": "its least volume and its least thickness, as bag 60l 150",
}
"""What each word that begins a form takes after it."""

LITRES = {"l": 1.0, "m3": 1 / LITRE, "ft3": CUBIC_FOOT / LITRE}
_SPELLINGS = {"dm3": "l", "ltr": "l", "cuft": "ft3", "cubicfeet": "ft3", "cubicfoot": "ft3", "cubicmetres": "m3"}
_SPELLINGS |= dict.fromkeys(("litre", "litres", "liter", "liters"), "l")

_BETWEEN = re.compile(r"\s*(?:[x×*]|\bby\b)\s*", re.IGNORECASE)
_UNIT = re.compile(r"[a-z]+|''|[\"'″”“′’‘]", re.IGNORECASE)
_FORM = re.compile(rf"({'|'.join(FORMS)})(?![a-z])[\s:]*(.*)", re.IGNORECASE | re.DOTALL)
_MESH = re.compile(r"(?P<file>.*\.[a-z][a-z0-9]{1,5})(?:\s+(?P<unit>\S+))?", re.IGNORECASE | re.DOTALL)
_BAG = re.compile(
    r"(?P<number>[0-9]+(?:[.,][0-9]+)?)\s*(?P<unit>cu(?:bic)?\.?\s*[a-z]+\.?|[a-z]+[3³]?)\s*[x×,;]?\s*(?P<thickness>.+)",
    re.IGNORECASE,
)


def form_typed(text: str, folder: Path | None = None) -> Form | None:
    """Return the form that *text* writes out, or None where it begins as none does, nor names a mesh file.

    A mesh file is looked for from *folder*, or from where the program was started. Bare numbers are millimetres, or
    in the unit that stands after the last. Raises Misread.

    >>> form_typed("box 18in x 12in x 9in") == form_typed("box 18x12x9 in") == form_typed("box 457.2x304.8x228.6")
    True
    >>> form_typed("bag 60 l x 150 mm"), form_typed("folded bike 20")
    (SoftBag(volume=0.06, thickness=0.15), None)
    >>> form_typed("cylinder 320x600x200")
    Traceback (most recent call last):
    tapeloft.model.units.Misread: "320x600x200" has 3 sizes, not 2; write diameter x length, as cylinder 320x600
    """
    text = text.strip()
    if found := _FORM.fullmatch(text):
        word, rest = found[1].casefold(), found[2].strip()
        if not rest:
            raise Misread(f"a {word} needs its sizes", f"write {FORMS[word]}")
        return _sound(lambda: _TYPED[word](rest))
    if found := _MESH.fullmatch(text):
        return _mesh(found["file"], found["unit"], folder)
    return None


def _sound(made: Callable[[], Form]) -> Form:
    """Return what is *made*; raises Misread where it is refused in other words."""
    try:
        return made()
    except Misread:
        raise
    except ValueError as bad:
        raise Misread(str(bad), "look at its sizes and their units") from None


def _sizes(text: str, count: int, takes: str) -> tuple[float, ...]:
    """Return *count* lengths, m, written with an x between; raises Misread.

    >>> _sizes("1' 6\\" x 12\\" x 9 3/8\\"", 3, "")
    (0.4572, 0.3048, 0.238125)
    >>> _sizes("18in x 12", 2, "")
    Traceback (most recent call last):
    tapeloft.model.units.Misread: "18in x 12" has a unit after some of its sizes; write it after each, or after the last
    """
    parts = _BETWEEN.split(text.strip())
    if len(parts) != count:
        many = f"has {len(parts)} sizes, not {count}" if len(parts) > 1 else f"is one size, not {count}"
        raise Misread(f"{_quoted(text)} {many}", f"write {takes}")
    read = [_size(part) for part in parts]
    if None not in read:
        return tuple(size for size in read if size is not None)
    shared = _shared(parts, read)
    if shared is None:
        mend = "write it after each, or after the last"
        raise Misread(f"{_quoted(text)} has a unit after some of its sizes", mend)
    return tuple(length(part + shared, None) if size is None else size for part, size in zip(parts, read, strict=True))


def _size(part: str) -> float | None:
    """Return one length, m, or None where it is a bare number."""
    try:
        return length(part, None)
    except NoUnit:
        return None


def _shared(parts: list[str], read: list[float | None]) -> str | None:
    """Return the unit of the bare numbers: that after the last size, mm where there is none at all; None if unclear."""
    if read[-1] is None:
        return " mm" if not any(read) else None
    units = _UNIT.findall(parts[-1])
    return f" {units[0]}" if len(units) == 1 else None


def _box(text: str) -> Form:
    return Block(*_sizes(text, 3, FORMS["box"]))


def _cylinder(text: str) -> Form:
    return Cylinder(*_sizes(text, 2, FORMS["cylinder"]))


def _capsule(text: str) -> Form:
    return Capsule(*_sizes(text, 2, FORMS["capsule"]))


def _board(text: str) -> Form:
    sizes, *more = (part.strip() for part in re.split(r"\b(rocker|outline)\b", text, flags=re.IGNORECASE))
    said = dict(zip(map(str.casefold, more[::2]), more[1::2], strict=True))
    if len(said) * 2 != len(more):
        raise Misread(f"{_quoted(text)} gives its rocker or its outline twice", f"write {FORMS['board']}")
    rocker = _sizes(said["rocker"], 1, "how far its ends rise, as rocker 60")[0] if "rocker" in said else 0.0
    takes = "the distance from the tail and the breadth there, as outline 0x250, 900x500, 1900x0"
    pairs = (_sizes(pair, 2, takes) for pair in re.split(r"\s*;\s*|,\s+", said.get("outline", "")) if pair)
    over_all, breadth, thickness = _sizes(sizes, 3, FORMS["board"])
    return Board(over_all, breadth, thickness, rocker, tuple((at, there) for at, there in pairs))


def _bag(text: str) -> Form:
    found = _BAG.fullmatch(" ".join(text.split()))
    if not found:
        raise Misread(f"{_quoted(text)} cannot be read as a soft bag", f"write {FORMS['bag']}")
    number, unit = found["number"], re.sub(r"[\s.]", "", found["unit"].casefold()).replace("³", "3")
    unit = _SPELLINGS.get(unit, unit)
    if re.fullmatch("[1-9][0-9]{0,2},[0-9]{3}", number):
        mend = f"write {number.replace(',', '')} or {number.replace(',', '.')}"
        raise Misread(f"the comma in {_quoted(number)} may divide thousands or be a decimal comma", mend)
    if unit not in LITRES:
        raise Misread(f"{_quoted(found['unit'])} is no unit of volume known here", f"the units are {', '.join(LITRES)}")
    volume = float(number.replace(",", ".")) * LITRES[unit] * LITRE
    return SoftBag(volume, *_sizes(found["thickness"], 1, FORMS["bag"]))


_TYPED = {"box": _box, "cylinder": _cylinder, "capsule": _capsule, "board": _board, "bag": _bag}


def _mesh(file: str, unit: str | None, folder: Path | None) -> Form:
    place = (folder or Path()) / file
    if place.suffix.lower() in READERS:
        if unit is None:
            mend = f"write it after the name, as {place.name} mm"
            raise Misread("no mesh file says what unit it is in", mend)
        if unit.casefold() not in METRES:
            raise Misread(f"{_quoted(unit)} is no unit of a mesh file", f"the units are {', '.join(METRES)}")
    if not place.exists():
        raise Misread(f"there is no file {_quoted(str(place))}", "look at its name and its folder")
    try:
        read = read_mesh(place)
    except BadMesh as bad:
        raise Misread(bad.what, bad.mend) from None
    scale = METRES[(unit or "m").casefold()]
    return _sound(lambda: Body(Polyhedron(read.vertices * scale, read.faces, read.remarks)))


def _quoted(text: str) -> str:
    plain = "".join(letter if letter.isprintable() else "·" for letter in text[:41])
    return f'"{plain}"' if len(plain) <= 40 else f'"{plain[:37]}…"'
