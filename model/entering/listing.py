"""What there is on the page, told in short lines as it was typed, to read back in the locker."""

from tapeloft.model.entering.questions import mark_order, marks_here, stations
from tapeloft.model.entering.splicing import NONE, Page
from tapeloft.model.entering.things import ANOTHER


def listed(page: Page) -> list[str]:
    """Return what has been read so far, a line a corner, a tape and a thing; what is missing is a "?"."""
    name, unit = page.written(("survey", "compartment")) or "?", page.written(("unit",)) or "?"
    order = mark_order(page)
    lines = [f"{name}, in {unit}", *([f"letters {' '.join(order)}"] if order else [])]
    for station in stations(page):
        corners = [f"  {mark} {_corner(page, station, mark)}" for mark in marks_here(page, station)]
        begun = not all(line.endswith("?, ?") for line in corners)
        at = page.written(("station", station, "at")) or "?"
        lines += [f"station {station}, at {at}{'' if begun else ': not read yet'}", *(corners if begun else ())]
    tapes = page.value(("check",))
    lines += [f"tape {label} {page.written(('check', label))}" for label in (tapes if isinstance(tapes, dict) else ())]
    for kind in ANOTHER:
        things = page.value((kind,))
        count = len(things) if isinstance(things, list) else 0
        lines += [f"{kind} {page.written((kind, k, 'name'))}" for k in range(count)]
    return lines


def _corner(page: Page, station: str, mark: str) -> str:
    if page.state(("station", station, mark)) == NONE:
        return "not there"
    place = ("station", station, mark)
    value = page.value(place)
    parts = [page.written((*place, k)) or "?" for k in range(max(2, len(value) if isinstance(value, list) else 0))]
    return ("; " if any("," in part for part in parts) else ", ").join(parts)
