"""What is drawn of a compartment: its bays, what stands in them, the water and the largest box, each in its tone."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal, Protocol

import numpy as np
from numpy.typing import NDArray

from tapeloft.model.compartment import Compartment, Piece
from tapeloft.model.moments import Points
from tapeloft.model.solid import Solid, closed
from tapeloft.model.units import LITRE

Kind = Literal["bay", "obstruction", "divider", "water", "box"]

# Pale for walls, middling for what stands before them, so that grey paper keeps them apart; hues that stay apart for
# the colour-blind too, warm and cold in turn, dark and light in turn.
WALLS = ("#f6f1e6", "#e3ecf1", "#efe6ec", "#e9efdf")
THINGS = ("#8fabc3", "#e0c489", "#c78c74", "#aec2a4", "#9c89a8", "#d5d8be", "#7fa09c", "#dcb5a9")
WATER = "#5d9cc0"
BOX = "#b8451f"


class Found(Protocol):
    """A largest box as it was found: two opposite corners, m, compartment axes."""

    @property
    def low(self) -> Sequence[float]:
        """The lowest corner (x, y, z)."""

    @property
    def high(self) -> Sequence[float]:
        """The highest corner (x, y, z)."""


@dataclass(frozen=True, eq=False)
class Part:
    """One closed body of a drawing: what it is, what it is called, its shape, and its tone as #rrggbb.

    left_off: the origins of triangles whose faces are not drawn, though their edges are.
    """

    kind: Kind
    name: str
    solid: Solid
    tone: str
    left_off: frozenset[int] = frozenset()

    @property
    def litres(self) -> float:
        """Its volume, litres."""
        return self.solid.volume / LITRE

    @property
    def drawn(self) -> NDArray[np.bool_]:
        """Whether each triangle of the solid is drawn, (m,)."""
        return ~np.isin(self.solid.origins, list(self.left_off))


@dataclass(frozen=True, eq=False)
class Scene:
    """All that one drawing shows, in compartment axes.

    surface: by (origin, face) of a triangle, the name of the part of the gross surface it is of.
    """

    name: str
    gross: Solid
    net: Solid
    parts: tuple[Part, ...]
    surface: Mapping[tuple[int, int], str]

    def of(self, *kinds: Kind) -> tuple[Part, ...]:
        """Return its parts of these kinds, in order."""
        return tuple(part for part in self.parts if part.kind in kinds)

    @property
    def litres(self) -> float:
        """The net volume, litres."""
        return self.net.volume / LITRE

    def surface_of(self, solid: Solid) -> NDArray[np.int64]:
        """Return for each triangle of *solid* a number for the part of the gross surface it is of, 0 if none, (m,)."""
        numbers = {name: 1 + i for i, name in enumerate(sorted(set(self.surface.values())))}
        pairs, where = np.unique(np.column_stack([solid.origins, solid.faces]), axis=0, return_inverse=True)
        known = [numbers.get(self.surface.get((origin, face), ""), 0) for origin, face in pairs.tolist()]
        return np.array(known, np.int64)[where.ravel()] if known else np.zeros(0, np.int64)


def scene_of(compartment: Compartment, box: Found | None = None, level: float | None = None) -> Scene:
    """Return what is drawn of a compartment.

    box: the largest box, to stand in it; level: height in m, compartment axes, to which it is filled.
    A piece that keeps two bays apart is a divider, drawn as glass so that one sees into both.
    """
    glass = _dividers(compartment)
    seen_through = frozenset(int(origin) for piece in glass for origin in np.unique(piece.body.origins))
    bays = [
        Part("bay", bay.name, bay.solid, WALLS[i % len(WALLS)], seen_through) for i, bay in enumerate(compartment.bays)
    ]
    things = [
        Part("divider" if piece in glass else "obstruction", piece.name, piece.solid, THINGS[i % len(THINGS)])
        for i, piece in enumerate(compartment.pieces)
        if not piece.solid.is_empty
    ]
    boxes = [] if box is None else [Part("box", "largest box", upright(box.low, box.high), BOX)]
    parts = (*bays, *things, *boxes)
    scene = Scene(compartment.name, compartment.gross, compartment.net, parts, compartment.parts)
    return scene if level is None else filled(scene, level)


def filled(scene: Scene, level: float) -> Scene:
    """Return the scene filled to a height, m, compartment axes; its water part has the exact volume below it."""
    dry = tuple(part for part in scene.parts if part.kind != "water")
    under = scene.net.split((0.0, 0.0, 1.0), level)[1]
    return replace(scene, parts=dry if under.is_empty else (*dry, Part("water", "filled", under, WATER)))


def cut(scene: Scene, station: float) -> Scene:
    """Return the scene with everything forward of a station, m along x, taken away.

    Bays are left open at the cut; all else is closed there.
    """
    parts = []
    for part in scene.parts:
        left = part.solid.split((1.0, 0.0, 0.0), station)[1]
        if not left.is_empty:
            ends = set(left.origins.tolist()) - set(part.solid.origins.tolist()) if part.kind == "bay" else set()
            parts.append(replace(part, solid=left, left_off=part.left_off | ends))
    return replace(scene, parts=tuple(parts))


def upright(low: Sequence[float], high: Sequence[float]) -> Solid:
    """Return the upright box between two corners, m.

    >>> round(upright((0, 0, 0), (1, 2, 3)).volume, 12)
    6.0
    """
    ends = np.array([low, high], np.float64)
    corners: Points = np.array([[ends[i, 0], ends[j, 1], ends[k, 2]] for i in (0, 1) for j in (0, 1) for k in (0, 1)])
    sides = ((0, 1, 3, 2), (4, 6, 7, 5), (0, 4, 5, 1), (2, 3, 7, 6), (0, 2, 6, 4), (1, 5, 7, 3))
    return closed(corners, np.array([t for a, b, c, d in sides for t in ((a, b, c), (a, c, d))]))


def _dividers(compartment: Compartment) -> list[Piece]:
    """Return the pieces without which two bays would be one."""
    walls = [
        piece
        for piece in compartment.pieces
        if sum(bool(np.isin(piece.body.origins, bay.solid.origins).any()) for bay in compartment.bays) > 1
    ]
    if not walls:
        return []
    bodies = len(compartment.net.parts())
    return [piece for piece in walls if len((compartment.net + piece.solid).parts()) < bodies]
