"""A fitted scan as a survey that a person can read, hold against the space, and correct."""

import json
import math
from collections.abc import Iterator, Mapping, Sequence
from datetime import date

from tapeloft.model.errors import TapeloftError
from tapeloft.model.scan.lettered import Letters
from tapeloft.model.scan.scan import Scanned
from tapeloft.model.scan.section import Section
from tapeloft.model.scan.targets import Targets
from tapeloft.model.scan.told import said_of
from tapeloft.model.units import figure, format_length

PAIRED = ("p", "s")
NOTHING = 0.0005  # m: written as 0, which has no side


def written(scan: Scanned, targets: Targets, file: str, stations: Sequence[str]) -> str:
    """Return the TOML of the survey that *scan* gives. file: the scan's name; stations: as a person typed them.

    Half-breadths and heights to the millimetre or the sixteenth, in the unit of the targets. Raises TapeloftError where
    no station could be told.
    """
    if scan.letters is None:
        raise TapeloftError("no station of the scan can be told, so there is no survey to write")
    lines = [
        f"# From the scan {_plain(file)}: walls fitted as lines, corners where they meet.",
        "# Read it against the space, and correct with the tape what is off; nothing rewrites it.",
        *_placed(scan, targets),
        'format = "tapeloft-survey"',
        "version = 1",
        f"unit = {_text(targets.unit)}",
        "",
        "[survey]",
        f"compartment = {_text(targets.sheet.compartment)}",
        f"notes = {_text('corners from a scan, not from the tape')}",
        "",
        *_datum(targets),
        "[accuracy]                        # one standard deviation: what the scan is taken to be good to, or worse",
        *(f'{name} = "{math.ceil(scan.accuracy * 1000 - 1e-6)} mm"' for name in _scanned_only(scan)),
        "",
        "[marks]",
        f"side = {_text(scan.letters.side)}",
        f"order = [{', '.join(map(_text, scan.letters.order))}]",
    ]
    for number, (section, given, at) in enumerate(zip(scan.sections, scan.letters.corners, stations, strict=True)):
        lines += [
            "",
            f"[station.{number}]",
            *_at(section, at, targets),
            *_station(section, given, scan.letters, targets),
        ]
    return "\n".join(lines) + "\n"


def _scanned_only(scan: Scanned) -> tuple[str, ...]:
    """Return the kinds of reading that are the scan's: distances too, where it tells where a wall stands."""
    return (*(["station"] if any(one.end for one in scan.sections) else []), "half_breadth", "height")


def _at(section: Section, at: str, targets: Targets) -> Iterator[str]:
    """Yield where a station is: as it was asked for, or the middle of the wall that closes the space."""
    if section.end:
        yield "# The wall that closes the space, fitted as a plane: each corner with its own distance, third."
        at = _length(section.x * targets.ahead, targets.unit)
    yield f"at = {at}"


def _plain(text: str) -> str:
    return "".join(letter if letter.isprintable() else " " for letter in text)


def _placed(scan: Scanned, targets: Targets) -> Iterator[str]:
    off = ", ".join(f"{name} {_away(m)}" for name, m in zip(scan.placing.names, scan.placing.off, strict=True))
    yield f"# Targets lie off their taped places by: {_plain(off)}."
    for one in scan.scale.held:
        told = [format_length(round(m, 4), targets.unit) for m in (one.taped, one.scanned)]
        yield f"# {_plain(one.name)}: {told[0]} by the tape, {told[1]} in the scan as it came."
    if not scan.scale.checked:
        yield "# The scan's scale is NOT CHECKED against a taped length."
    elif scan.scale.applied != 1.0:
        yield f"# The scan was multiplied by {scan.scale.applied:.5f} to have the lengths that were taped."


def _away(metres: float) -> str:
    return f"{metres * 1000:.1f} mm"


def _datum(targets: Targets) -> Iterator[str]:
    """Yield the datum as it stands with the targets."""
    raw = targets.reader.source.data.get("datum")
    if isinstance(raw, Mapping) and raw:
        yield "[datum]"
        yield from (f"{key} = {_value(value)}" for key, value in raw.items())
        yield ""


def _value(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return _text(value)
    return value.isoformat() if isinstance(value, date) else str(value)


def _station(section: Section, given: Mapping[str, int], letters: Letters, targets: Targets) -> Iterator[str]:
    for mark in letters.order:
        if mark in given:
            y, z = section.corners[given[mark]]
            own = [_breadth(float(y), mark, letters, targets.unit), _length(float(z), targets.unit)]
            if section.end:
                own.append(_length(float(section.end.ahead[given[mark]]) * targets.ahead, targets.unit))
            yield f"{mark} = [{', '.join(own)}]"
    said = [what for what, _ in said_of(targets, section, letters.order, dict(given))]
    if said:
        yield f"remark = {_text('; '.join(said))}"


def _breadth(y: float, mark: str, letters: Letters, unit: str) -> str:
    """Return a half-breadth; with its side where neither the mark nor the sheet says it, or says the other."""
    sides = {"port": "p", "starboard": "s"}
    meant = mark[-1] if mark[-1] in PAIRED and len(mark) > 1 else sides.get(letters.side, "")
    side = "p" if y > 0 else "s"
    return _length(abs(y), unit) if side == meant or abs(y) < NOTHING else _text(f"{side} {figure(abs(y), unit)}")


def _length(metres: float, unit: str) -> str:
    """Return a length as a sheet in *unit* has it: bare where it can be."""
    told = figure(metres, unit)
    return told if unit in ("mm", "cm", "m") else _text(told)


def _text(text: str) -> str:
    """Return a basic string of TOML."""
    return json.dumps(_plain(text), ensure_ascii=False)
