"""What is drawn of a compartment: its bays, what stands or is stowed in them, water and boxes, each in its tone."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal, Protocol

import numpy as np
from numpy.typing import NDArray

from tapeloft.model.compartment import Compartment, Piece
from tapeloft.model.moments import Points
from tapeloft.model.openings import ClearOpening, clear_openings
from tapeloft.model.solid import Solid, closed
from tapeloft.model.stowed import Point, Span, Stowed
from tapeloft.model.units import LITRE
from tapeloft.viewer.tones import BOX, BUILT_IN, QUIET, THINGS, WALLS, WATER, apart

Kind = Literal["bay", "obstruction", "divider", "part", "stowed", "water", "box"]


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

    left_off: the origins of triangles whose faces are not drawn, though their edges are. mark: what a thing stowed is
    told from others by; spans: its clearances; leader: from where it belongs, if it is drawn elsewhere. corners: of a
    box, as `box_corners` has them.
    """

    kind: Kind
    name: str
    solid: Solid
    tone: str
    left_off: frozenset[int] = frozenset()
    mark: str = ""
    spans: tuple[Span, ...] = ()
    leader: tuple[Point, Point] | None = None
    corners: Points | None = None

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

    surface: by (origin, face) of a triangle, the name of the part of the gross surface it is of. basis: what it was
    built from, in words.
    """

    name: str
    gross: Solid
    net: Solid
    parts: tuple[Part, ...]
    surface: Mapping[tuple[int, int], str]
    openings: tuple[ClearOpening, ...] = ()
    basis: str = ""

    @property
    def boxes(self) -> tuple[Points, ...]:
        """The corners of each box in it, (8, 3) m, as `box_corners` has them."""
        return tuple(part.corners for part in self.parts if part.corners is not None)

    def of(self, *kinds: Kind) -> tuple[Part, ...]:
        """Return its parts of these kinds, in order."""
        return tuple(part for part in self.parts if part.kind in kinds)

    @property
    def litres(self) -> float:
        """The net volume, litres."""
        return self.net.volume / LITRE

    def skin_of(self, part: Part) -> NDArray[np.int64]:
        """Return for each triangle of a part the number of the even surface it is of, 0 if it is flat, (m,).

        What is stowed is one surface all round: where it does not turn sharply it is round.
        """
        solid = part.solid
        return np.ones(len(solid.triangles), np.int64) if part.kind == "stowed" else self.surface_of(solid)

    def surface_of(self, solid: Solid) -> NDArray[np.int64]:
        """Return for each triangle of *solid* a number for the part of the gross surface it is of, 0 if none, (m,)."""
        numbers = {name: 1 + i for i, name in enumerate(sorted(set(self.surface.values())))}
        pairs, where = np.unique(np.column_stack([solid.origins, solid.faces]), axis=0, return_inverse=True)
        known = [numbers.get(self.surface.get((origin, face), ""), 0) for origin, face in pairs.tolist()]
        return np.array(known, np.int64)[where.ravel()] if known else np.zeros(0, np.int64)


def scene_of(
    compartment: Compartment, box: Found | Points | None = None, level: float | None = None,
    stowed: Sequence[Stowed] = (),
) -> Scene:  # fmt: skip
    """Return what is drawn of a compartment.

    box: the largest box, to stand in it; or the corners of boxes that stand in any turn, (8, 3) or (k, 8, 3) m, as
    `box_corners` has them. level: height in m, compartment axes, to which it is filled. stowed: what is stowed in it.
    A piece that keeps two bays apart is a divider, drawn as glass so that one sees into both.
    """
    glass = _dividers(compartment)
    seen_through = frozenset(int(origin) for piece in glass for origin in np.unique(piece.body.origins))
    bays = [
        Part("bay", bay.name, bay.solid, WALLS[i % len(WALLS)], seen_through) for i, bay in enumerate(compartment.bays)
    ]
    tones = QUIET if stowed else THINGS
    things = [
        Part("divider" if piece in glass else "obstruction", piece.name, piece.solid, tones[i % len(tones)])
        for i, piece in enumerate(compartment.pieces)
        if not piece.solid.is_empty
    ]
    built_in = [
        Part("part", part.name, part.solid, BUILT_IN[i % len(BUILT_IN)]) for i, part in enumerate(compartment.fitted)
    ]
    parts = (*bays, *things, *built_in, *_stowed(stowed), *_boxes(box))
    openings = clear_openings(compartment)
    scene = Scene(
        compartment.name, compartment.gross, compartment.net, parts, compartment.parts, openings, compartment.basis
    )
    return scene if level is None else filled(scene, level)


def _stowed(stowed: Sequence[Stowed]) -> list[Part]:
    """Return things stowed as parts, each with a tone and a mark.

    Those of each name bear a letter, where there are several names; those alike are numbered, as they come.
    """
    names = list(dict.fromkeys(one.name for one in stowed))
    tones = apart([one.body.bounds for one in stowed], [names.index(one.name) for one in stowed])
    parts, met = [], dict.fromkeys(names, 0)
    for one, tone in zip(stowed, tones, strict=True):
        met[one.name] += 1
        alike = sum(other.name == one.name for other in stowed) > 1
        letter = lettered(names.index(one.name)) if len(names) > 1 or not alike else ""
        mark = letter + (str(met[one.name]) if alike else "")
        parts.append(Part("stowed", one.name, one.body, tone, mark=mark, spans=one.spans, leader=one.leader))
    return parts


def lettered(number: int) -> str:
    """Return the letter of a number, counted from 0.

    >>> lettered(0), lettered(25), lettered(26), lettered(701)
    ('A', 'Z', 'AA', 'ZZ')
    """
    return (lettered(number // 26 - 1) if number >= 26 else "") + chr(ord("A") + number % 26)


def _boxes(box: Found | Points | None) -> list[Part]:
    if box is None:
        return []
    each = box.reshape(-1, 8, 3) if isinstance(box, np.ndarray) else [box_corners(box.low, box.high)]
    names = ["largest box"] if len(each) == 1 else [f"box {number}" for number in range(1, len(each) + 1)]
    return [
        Part("box", name, boxed(corners), BOX, corners=corners) for name, corners in zip(names, each, strict=True)
    ]  # fmt: skip


def filled(scene: Scene, level: float) -> Scene:
    """Return the scene filled to a height, m, compartment axes; its water part has the exact volume below it."""
    dry = tuple(part for part in scene.parts if part.kind != "water")
    under = scene.net.split((0.0, 0.0, 1.0), level)[1]
    return replace(scene, parts=dry if under.is_empty else (*dry, Part("water", "filled", under, WATER)))


def cut(scene: Scene, station: float) -> Scene:
    """Return the scene with everything forward of a station, m along x, taken away.

    Bays are left open at the cut; all else is closed there. An opening that the cut runs through is taken away.
    """
    openings = tuple(opening for opening in scene.openings if opening.outline[:, 0].max() <= station)
    parts = []
    for part in scene.parts:
        left = part.solid.split((1.0, 0.0, 0.0), station)[1]
        if not left.is_empty:
            ends = set(left.origins.tolist()) - set(part.solid.origins.tolist()) if part.kind == "bay" else set()
            parts.append(replace(part, solid=left, left_off=part.left_off | ends))
    return replace(scene, parts=tuple(parts), openings=openings)


def box_corners(low: Sequence[float], high: Sequence[float]) -> Points:
    """Return the corners of an upright box between two of them, (8, 3) m: number 4i + 2j + k.

    i, j, k are 0 at its low end and 1 at its high end, along its first, second and third side. Turned and moved, they
    are the corners of a box in any turn: `box_corners(low, high) @ rotation.T + position`.

    >>> box_corners((0, 0, 0), (1, 2, 3))[[0, 1, 2, 4]].tolist()
    [[0.0, 0.0, 0.0], [0.0, 0.0, 3.0], [0.0, 2.0, 0.0], [1.0, 0.0, 0.0]]
    """
    ends = np.array([low, high], np.float64)
    corners: Points = np.array([[ends[i, 0], ends[j, 1], ends[k, 2]] for i in (0, 1) for j in (0, 1) for k in (0, 1)])
    return corners


def boxed(corners: Points) -> Solid:
    """Return the box of these corners, (8, 3) m, as `box_corners` has them.

    >>> turn = np.array([[0, -1, 0], [0, 0, -1], [1, 0, 0]])
    >>> round(boxed(box_corners((0, 0, 0), (1, 2, 3)) @ turn.T).volume, 12)
    6.0
    """
    sides = ((0, 1, 3, 2), (4, 6, 7, 5), (0, 4, 5, 1), (2, 3, 7, 6), (0, 2, 6, 4), (1, 5, 7, 3))
    return closed(corners, np.array([t for a, b, c, d in sides for t in ((a, b, c), (a, c, d))]))


def upright(low: Sequence[float], high: Sequence[float]) -> Solid:
    """Return the upright box between two corners, m.

    >>> round(upright((0, 0, 0), (1, 2, 3)).volume, 12)
    6.0
    """
    return boxed(box_corners(low, high))


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
