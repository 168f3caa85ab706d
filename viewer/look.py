"""What a person has chosen to see in the window: toggled by keys and sliders, without a window in sight."""

from dataclasses import dataclass, replace

from tapeloft.model.capacity import filled_to
from tapeloft.model.units import LITRE
from tapeloft.viewer.dimensions import figures
from tapeloft.viewer.scene import Kind, Scene, cut, filled

VIEW_KEYS = {"1": "three-quarter", "2": "plan", "3": "profile", "4": "section"}
KEYS = (
    {
        "b": "bays: all, each alone, none",
        "o": "obstructions",
        "p": "parts built in",
        "s": "what is stowed",
        "x": "largest box",
        "l": "lids and doors",
        "d": "dimensions",
        "c": "cut across",
    }
    | VIEW_KEYS
    | {"q": "quit"}
)
TOGGLED: dict[str, tuple[Kind, ...]] = {
    "o": ("obstruction", "divider"),
    "p": ("part",),
    "s": ("stowed",),
    "x": ("box",),
}


@dataclass(frozen=True)
class Look:
    """What is chosen.

    bays: 0 for all, k for the kth alone, one more than there are for none; hidden: kinds not shown; openings,
    dimensions: whether they are; level: height filled to, m, compartment axes, None for empty; station: where it is cut
    across, m along x; cutting: whether it is.
    """

    bays: int = 0
    hidden: frozenset[Kind] = frozenset()
    openings: bool = True
    dimensions: bool = True
    level: float | None = None
    station: float = 0.0
    cutting: bool = False
    view: str = "three-quarter"


def keyed(look: Look, key: str, scene: Scene) -> Look:
    """Return what is chosen after a key; the same where the key means nothing.

    >>> from tapeloft.viewer.scene import upright
    >>> box = upright((0, 0, 0), (1, 1, 1))
    >>> keyed(Look(), "d", Scene("locker", box, box, (), {})).dimensions
    False
    """
    if key == "b":
        count = len(scene.of("bay"))
        steps = [0, *range(1, count + 1 if count > 1 else 1), count + 1]
        return replace(look, bays=steps[(steps.index(look.bays) + 1) % len(steps)])
    if key in TOGGLED:
        return replace(look, hidden=look.hidden ^ frozenset(TOGGLED[key]))
    if key == "l":
        return replace(look, openings=not look.openings)
    if key == "d":
        return replace(look, dimensions=not look.dimensions)
    if key == "c":
        return replace(look, cutting=not look.cutting)
    if key in VIEW_KEYS:
        return replace(look, view=VIEW_KEYS[key])
    return look


def chosen(scene: Scene, look: Look) -> Scene:
    """Return the scene with only what is chosen: filled, cut, and with parts left out.

    A part that is unchanged stays the same object.
    """
    if look.level is not None:
        scene = filled(scene, look.level)
    bays = scene.of("bay")
    shown = bays if look.bays == 0 else bays[look.bays - 1 : look.bays]
    parts = tuple(
        part for part in scene.parts if (part in shown if part.kind == "bay" else part.kind not in look.hidden)
    )
    scene = replace(scene, parts=parts, openings=scene.openings if look.openings else ())
    return cut(scene, look.station) if look.cutting else scene


def said(scene: Scene, look: Look, unit: str) -> str:
    """Return what the window says of the volume: the net space, and how much of it is filled."""
    lines = [scene.name, f"net {scene.net.volume / LITRE:.1f} L"]
    if look.level is not None:
        below = float(filled_to(scene.net, [look.level]).volume_m3[0])
        lines.append(f"filled to {figures(look.level, unit)}: {below / LITRE:.1f} L, {below / scene.net.volume:.0%}")
    if look.cutting:
        lines.append(f"cut at {figures(look.station, unit)}")
    return "\n".join(lines)
