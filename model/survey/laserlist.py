"""The list of a laser distance meter: a reading a row, in the order they were taken, from the edge that was held."""

import re
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import Literal

from tapeloft.model.errors import Problem, SurveyError
from tapeloft.model.survey.table import known_rows
from tapeloft.model.units import Misread, length

Edge = Literal["front", "rear"]

NAMES = {
    "value": (
        "value", "reading", "distance", "measurement", "result", "length", "messwert", "wert", "ergebnis",
        "lange", "laenge", "distanz", "entfernung", "abstand", "mesure", "valeur", "resultat", "longueur",
        "medida", "valor", "resultado", "longitud", "distancia", "comprimento", "medicao", "misura", "valore",
        "risultato", "lunghezza", "distanza", "meting", "waarde", "resultaat", "lengte", "afstand", "matvarde",
        "varde", "langd", "avstand", "maling", "værdi", "verdi", "længde", "lengde", "mittaus", "arvo",
        "pituus", "etaisyys", "pomiar", "wartosc", "długosc", "odległosc",
    ),
    "number": (
        "number", "no", "no.", "nr", "nr.", "#", "id", "index", "n°", "nº", "№", "nummer", "numero", "num",
        "num.", "lp.",
    ),
    "unit": (
        "unit", "units", "einheit", "unite", "unidad", "unita", "eenheid", "unidade", "enhet", "enhed",
        "yksikko", "jednostka",
    ),
}  # fmt: skip
"""What the columns that are read may be called, in a dozen of Europe's languages, as `_plain` spells it."""
BESIDE = (
    "date", "time", "remark", "remarks", "note", "comment", "name", "type", "mode", "datum", "zeit", "uhrzeit",
    "bemerkung", "heure", "remarque", "fecha", "hora", "nota", "data", "ora", "tijd", "opmerking", "dato",
    "tid", "kommentar", "typ", "aika",
)  # fmt: skip
"""Columns that a meter may write and that say nothing of a length."""
NONE = re.compile(r"[-–—_ .*]*|e(rr(or)?)?[\s.:#-]*[0-9]*|n/?a|nan|inf(inity)?|fail(ed)?|low|over|ol", re.IGNORECASE)
UNIT_BEHIND = re.compile(r"[\s_,/]*[\[(]\s*([^\s\[\]()]+)\s*[\])]\s*$|[\s_,/]+([^\s_,/\[\]()]+)\s*$")
THOUSANDS = re.compile(r"([1-9][0-9]{0,2}),([0-9]{3})")
LONGEST = 300.0  # m; no meter of the kind reaches farther (common practice, no source)


@dataclass(frozen=True)
class Held:
    """Which edge the meter counts from, which edge was held at the mark, and how long the meter is, m.

    >>> Held("rear", "front", 0.12).added, Held("front", "rear", 0.12).added, Held("rear", "rear").added
    (-0.12, 0.12, 0.0)
    """

    counts_from: Edge
    held_at: Edge
    meter: float = 0.0

    @property
    def added(self) -> float:
        """What is added to each reading, m: the meter's own length, or less it, where the two edges differ."""
        if self.counts_from == self.held_at:
            return 0.0
        return self.meter if self.counts_from == "front" else -self.meter


@dataclass(frozen=True)
class Shot:
    """One reading of the list: the line it stands on, its number as the meter wrote it, and its length, m.

    length: from the edge that was held; raw: as the meter shows it; said: as the list has it.
    """

    line: int
    number: str
    raw: float
    length: float
    said: str


@dataclass(frozen=True)
class LaserList:
    """The readings of a list, in order, and what is worth a second look in it."""

    file: str
    shots: tuple[Shot, ...]
    notes: tuple[Problem, ...]


def read_list(
    path: str | Path, held: Held, unit: str | None = None, *, column: str = "", newest_first: bool = False
) -> LaserList:
    """Return the readings of a meter's CSV list, each in its row's unit, its heading's ("Distance [m]"), or in *unit*.

    column: the heading of the readings; "": known by its name. newest_first: the last reading stands on top. Raises
    FileError, and SurveyError with every row that is no reading: errors, blanks, negative or too long, an unknown unit,
    a number that comes twice or runs back.
    """
    file = str(path)
    known = [name for names in NAMES.values() for name in names]
    rows = known_rows(path, [*known, *BESIDE, *filter(None, [column])])
    if not rows:
        raise SurveyError([Problem("the list is empty", "save it again from the meter", file, 1)])
    (line, heading), *body = rows
    columns = _columns(file, line, heading, column)
    named = _unit_in(heading[columns["value"]])
    if not body:
        raise SurveyError([Problem("there is nothing under the headings", "save it again from the meter", file, line)])
    body = body[::-1] if newest_first else body
    shots: list[Shot] = []
    problems: list[Problem] = []
    for line, row in body:
        cells = {name: row[k] if k < len(row) else "" for name, k in columns.items()}
        try:
            if named and not cells.get("unit") and not re.search("[a-zA-Z\"']", cells["value"]):
                cells["unit"] = named
            shots.append(_shot(line, cells, len(row), len(heading), held, unit))
        except Misread as bad:
            problems.append(Problem(bad.what, bad.mend, file, line, measure=_row(cells)))
    problems += _numbering(file, [(line, row[columns["number"]]) for line, row in body if _has(row, columns, "number")])
    if problems:
        raise SurveyError(problems)
    return LaserList(file, tuple(shots), tuple(_notes(file, shots, heading, columns)))


def _has(row: Sequence[str], columns: Mapping[str, int], name: str) -> bool:
    return name in columns and columns[name] < len(row)


def _plain(heading: str) -> str:
    """Return a heading without its unit, accents, capitals and underscores.

    >>> _plain("Mesure (mm)"), _plain("Länge, m"), _plain("Distance_[ft]"), _plain("Numéro")
    ('mesure', 'lange', 'distance', 'numero')
    """
    bare = UNIT_BEHIND.sub("", heading) if _unit_in(heading) else heading
    parted = unicodedata.normalize("NFD", bare.replace("_", " ").casefold())
    return " ".join("".join(letter for letter in parted if not unicodedata.combining(letter)).split())


def _unit_in(heading: str) -> str | None:
    """Return the unit behind a heading, "Distance [m]"; None where there is none."""
    found = UNIT_BEHIND.search(heading)
    if found is None:
        return None
    said = found[1] or found[2]
    try:
        length(f"1 {said}", None)
    except Misread:
        return None
    return said


def _columns(file: str, line: int, heading: Sequence[str], column: str) -> dict[str, int]:
    """Return where the columns that are read stand; refuse a list that does not name its values, or does twice."""
    plain = [_plain(cell) for cell in heading]
    where = {name: [k for k, cell in enumerate(plain) if cell in names] for name, names in NAMES.items()}
    if column:
        where["value"] = [k for k, cell in enumerate(heading) if cell == column or plain[k] == _plain(column)]
    twice = [name for name, found in where.items() if len(found) > 1]
    if twice:
        told = " and ".join(f'"{heading[k]}"' for k in where[twice[0]])
        what = f"{told} could both be the {twice[0]} of a reading"
        raise SurveyError([Problem(what, "take one column out, or give it another heading", file, line)])
    if not where["value"]:
        told = ", ".join(f'"{cell}"' for cell in heading if cell)
        what = f"no column is called {column or 'value, reading or distance'}, for the first row has {told}"
        mend = "say which holds the readings, --column HEADING; or put a row of headings on top: number;value;unit"
        raise SurveyError([Problem(what, mend, file, line)])
    return {name: found[0] for name, found in where.items() if found}


def _row(cells: Mapping[str, str]) -> str:
    return f"reading {cells['number']}" if cells.get("number") else ""


def _shot(line: int, cells: Mapping[str, str], count: int, width: int, held: Held, unit: str | None) -> Shot:
    """Return the reading of a row; raises Misread where it is none."""
    said, stated = cells["value"], cells.get("unit", "")
    if count > width:
        mend = "a decimal comma wants semicolons or tabs between the cells: save the list again with them"
        raise Misread(f"{count} cells under {width} headings", mend)
    if NONE.fullmatch(said):
        told = f'"{said}"' if said else "a blank"
        raise Misread(
            f"{told} is no reading: the meter had none", "take the reading again, or take the row out if it was"
        )
    raw = length(_with_unit(said, stated), unit)
    if raw <= 0:
        raise Misread(f'"{said}" is not more than nothing', "a meter reads no such length: take the reading again")
    if raw > LONGEST:
        raise Misread(f'"{said}" {stated} is farther than a meter reaches', "look at the unit and the decimal point")
    if raw + held.added <= 0:
        mend = "look at which edge the meter counts from, and which was held at the mark"
        raise Misread(f'"{said}" is no longer than the meter itself', mend)
    return Shot(line, cells.get("number", ""), raw, round(raw + held.added, 9), " ".join(filter(None, (said, stated))))


def _with_unit(said: str, stated: str) -> str:
    """Return a value with its row's unit behind it; a comma in metres is a decimal one, for a thousand is too far."""
    if re.search("[a-zA-Z\"']", said) and stated:
        own = re.sub(r"^[0-9.,/\s+-]*", "", said).strip()
        if own.casefold() != stated.casefold():
            raise Misread(f'"{said}" has a unit of its own, and its row states {stated}', "take one of them out")
        stated = ""
    found = THOUSANDS.fullmatch(said.removesuffix("m").strip())
    if found and (stated or said[-1:]).casefold() in ("m", "metre", "metres", "meter", "meters"):
        said = said.replace(",", ".")
    return f"{said} {stated}".strip()


def _numbering(file: str, numbers: Sequence[tuple[int, str]]) -> list[Problem]:
    """Refuse a number that comes twice, and a list whose numbers run back."""
    first: dict[str, int] = {}
    problems = []
    for line, number in numbers:
        if number in first:
            what = f"the number stands on line {first[number]} too"
            mend = "take the row out that was not meant, or give it its own number"
            problems.append(Problem(what, mend, file, line, measure=f"reading {number}"))
        elif number:
            first[number] = line
    counted = [int(number) for _, number in numbers if number.isdigit()]
    lines = [line for line, number in numbers if number.isdigit()]
    falls = [line for line, (a, b) in zip(lines[1:], pairwise(counted), strict=True) if b < a]
    if falls and not problems:
        line, back = falls[0], len(falls) == len(counted) - 1
        what = "the numbers run back from here" if not back else "the numbers run back: the newest reading stands first"
        mend = "say so with --newest-first" if back else "put the rows in the order in which they were taken"
        problems.append(Problem(what, mend, file, line))
    return problems


def _notes(file: str, shots: Sequence[Shot], heading: Sequence[str], columns: Mapping[str, int]) -> list[Problem]:
    """Return what is worth a second look: a reading that comes again, numbers left out, columns not read."""
    notes = []
    for before, here in pairwise(shots):
        if here.raw == before.raw:
            what = f"{here.said} is what the row before reads too"
            notes.append(
                Problem(what, "nothing if both were taken; else take one out", file, here.line, measure=_number(here))
            )
        if before.number.isdigit() and here.number.isdigit() and int(here.number) > int(before.number) + 1:
            what = f"the number before is {before.number}: readings between were taken out, or lost"
            notes.append(Problem(what, "nothing if they were taken out", file, here.line, measure=_number(here)))
    read = set(columns.values())
    plain = [(_plain(cell), cell) for k, cell in enumerate(heading) if k not in read]
    for cell in [cell for bare, cell in plain if bare and bare not in BESIDE]:
        notes.append(Problem(f'the column "{cell}" is not read', "nothing, if the value stands in its own", file, 1))
    return notes


def _number(shot: Shot) -> str:
    return f"reading {shot.number}" if shot.number else ""
