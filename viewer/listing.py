"""What the key of a drawing lists: bays, what is stowed, water and boxes, and by their numbers what stands there."""

from collections.abc import Sequence

import numpy as np

from tapeloft.viewer.dimensions import figures, side_lengths
from tapeloft.viewer.lettering import Lettering
from tapeloft.viewer.plate import WHITE
from tapeloft.viewer.scene import Part, Scene
from tapeloft.viewer.titling import Entry

STRIPES = 4  # tones that stand in the key for a thing of which there are many


def numbered(scene: Scene, lines: int) -> list[tuple[int, Part]]:
    """Return the obstructions that get a number, as they come in the survey; the largest where *lines* cannot hold all.

    lines: of the whole key.
    """
    things = scene.of("obstruction", "divider", "part")
    left = max(1, lines - len(_bodies(scene, "mm", lines, frozenset())))
    if len(things) > left:
        largest = sorted(things, key=lambda part: -part.solid.volume)[: left - 1]
        things = tuple(part for part in things if part in largest)
    return list(enumerate(things, start=1))


def listed(scene: Scene, lettering: Lettering, unit: str, lines: int) -> list[Entry]:
    """Return the lines of the key, at most so many."""
    shown, things = numbered(scene, lines), scene.of("obstruction", "divider", "part")
    entries = [
        Entry(part.name + " (out of sight)" * (number in lettering.out_of_sight), part.tone, str(number))
        for number, part in shown
    ]
    if len(things) > len(shown):
        entries.append(Entry(f"and {len(things) - len(shown)} smaller things", WHITE))
    if lettering.unsaid:
        entries.append(Entry(f"and {lettering.unsaid} more clearances, not drawn", WHITE))
    return _bodies(scene, unit, lines, lettering.unseen) + entries


def litres(amount: float) -> str:
    """Return a volume in litres as a drawing states it, to four figures or so.

    >>> litres(1115.34), litres(214.26), litres(3.4567), litres(0.04)
    ('1115 L', '214.3 L', '3.46 L', '0.04 L')
    """
    return f"{amount:.{0 if amount >= 1000 else 1 if amount >= 10 else 2}f} L"


def _bodies(scene: Scene, unit: str, lines: int, unseen: frozenset[Part]) -> list[Entry]:
    """Return what the key says of bays, of what is stowed, of water and boxes."""
    bays = scene.of("bay")
    entries = [Entry(f"{bay.name}, {litres(bay.litres)}", bay.tone) for bay in bays if len(bays) > 1]
    for part in scene.of("water"):
        entries.append(Entry(f"filled to {figures(part.solid.bounds[1, 2], unit)}: {litres(part.litres)}", part.tone))
    for part in scene.of("box"):
        lengths = np.zeros(0) if part.corners is None else side_lengths(part.corners)
        sizes = " × ".join(figures(size, unit, down=True) for size in lengths)
        entries.append(Entry(f"{part.name} {sizes}, {litres(part.litres)}", part.tone, outlined=True))
    return _goods(scene.of("stowed"), max(2, lines - len(entries) - 1), unseen) + entries


def _goods(stowed: Sequence[Part], lines: int, unseen: frozenset[Part]) -> list[Entry]:
    """Return a line for each kind of thing stowed, at most so many."""
    kinds: dict[str, list[Part]] = {}
    for part in stowed:
        kinds.setdefault(part.name, []).append(part)
    entries = []
    for name, alike in list(kinds.items())[: lines if len(kinds) <= lines else lines - 1]:
        hidden = sum(part in unseen for part in alike)
        count = f"{len(alike)} × " if len(alike) > 1 else ""
        told = f" ({hidden} out of sight)" if hidden and count else " (out of sight)" * bool(hidden)
        tones = tuple(dict.fromkeys(part.tone for part in alike))[:STRIPES]
        entries.append(Entry(count + name + told, tones[0], alike[0].mark.rstrip("0123456789"), stripes=tones))
    if len(kinds) > len(entries):
        entries.append(Entry(f"and {len(kinds) - len(entries)} more kinds of things", WHITE))
    return entries
