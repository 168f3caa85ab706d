"""What is asked of a scan in words: at which stations it is cut, how deep a slice is taken, in which unit it is."""

import math
from itertools import pairwise
from pathlib import Path

from tapeloft.model.errors import TapeloftError
from tapeloft.model.scan.cloud import Cloud
from tapeloft.model.scan.targets import Targets
from tapeloft.model.units import Misread, length

METRES = {"mm": 1e-3, "cm": 1e-2, "m": 1.0, "in": 0.0254, "ft": 0.3048}
THINNEST, DEEPEST = 0.005, 0.5  # m
MOST = 60  # stations
END = "end"  # for a distance: the wall there, wherever it stands and however it leans


def stations_of(text: str, targets: Targets) -> list[tuple[str, float]]:
    """Return the stations in a list "0, 450, 18 in, end": each as a sheet says it, and its x, m, in compartment axes.

    Bare numbers are in the unit of the targets, and rise the way that their datum says. The first and the last may be
    `END`, whose x is infinite. Raises TapeloftError.
    """
    parts = [part.strip() for part in text.replace(";", ",").split(",")]
    found = [_station(part, number, len(parts), targets) for number, part in enumerate(parts)]
    along = [x * targets.ahead for _, x in found]
    if len(found) < 2:
        raise TapeloftError("--stations: one station makes no space\n    mend: name two or more, --stations 0,450")
    if len(found) > MOST:
        raise TapeloftError(f"--stations: {len(found)} stations are more than a person reads\n    mend: name fewer")
    if any(b - a < THINNEST for a, b in pairwise(along)):
        raise TapeloftError("--stations: they do not rise\n    mend: write them in order along the space, each once")
    return found


def _station(part: str, number: int, count: int, targets: Targets) -> tuple[str, float]:
    if part == END and number in (0, count - 1):
        return END, (math.inf if number else -math.inf) * targets.ahead
    try:
        return _said(part), length(part, targets.unit) * targets.ahead
    except Misread as bad:
        mend = f'{bad.mend}; part stations by commas; the first and the last may be "{END}", the wall there'
        raise TapeloftError(f"--stations: {bad.what}\n    mend: {mend}") from None


def _said(part: str) -> str:
    plain = part.replace(".", "", 1).removeprefix("-")
    return part if plain.isdigit() and part == str(_number(part)) else f'"{part}"'.replace('""', '\\""')


def _number(part: str) -> float | int:
    return float(part) if "." in part else int(part)


def depth(text: str) -> float:
    """Return the depth of a slice, m; raises TapeloftError where it is none, or too thin or deep to be of use."""
    try:
        deep = length(text, None)
    except Misread as bad:
        raise TapeloftError(f"--slab: {bad.what}\n    mend: {bad.mend}") from None
    if not THINNEST <= deep <= DEEPEST:
        raise TapeloftError(f'--slab: a slice of {text} is of no use\n    mend: take 20 to 100 mm, --slab "60 mm"')
    return deep


def metres_of(unit: str | None, cloud: Cloud, file: Path) -> float:
    """Return what one unit of a scan is, m. Raises TapeloftError where nobody says; a GLB's own unit is the metre."""
    if unit is not None:
        return METRES[unit]
    if cloud.in_metres:
        return 1.0
    raise TapeloftError(
        f"{file}: nothing says in which unit the scan is\n    mend: state it, --unit m (phones mostly write metres)"
    )
