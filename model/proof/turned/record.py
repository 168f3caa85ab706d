"""What a search keeps for a certificate: how turns and ways were split, and the weights that closed each end."""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from tapeloft.model.proof.program import Numbers
from tapeloft.model.proof.turned.cells import Cell
from tapeloft.model.proof.turned.children import Indices
from tapeloft.model.proof.turned.cuts import chosen
from tapeloft.model.proof.turned.form import Form
from tapeloft.model.proof.turned.relaxed import KEPT, Cuts, Solution
from tapeloft.model.solid import Solid


@dataclass(eq=False)
class Node:
    """One branch: a cell halved along an axis, a point gone past beyond each face in an order, or an end.

    children: of a halved cell two, None for one that is not needed; of a point as many as faces.
    """

    axis: int | None = None
    point: Numbers | None = None
    order: Indices | None = None
    children: "list[Node | None]" = field(default_factory=list)
    walls: Indices | None = None  # (k, 3) plane, corner, pieces
    pushes: Numbers | None = None  # (k,) weights of the walls
    cuts: Cuts | None = None
    weights: Numbers | None = None  # of the cuts
    sides: Numbers | None = None
    at: Numbers | None = None

    def ended(self, cuts: Cuts, solution: Solution) -> "Node":
        """Keep what weighs in a solution."""
        walls = np.flatnonzero((solution.walls[:, 0] >= 0) & (solution.weights[:KEPT] > 0))
        own = solution.weights[KEPT : KEPT + len(cuts.faces)]
        weigh = np.flatnonzero(own > 0)
        self.walls, self.pushes = solution.walls[walls].copy(), solution.weights[walls].copy()
        self.cuts, self.weights = chosen(cuts, weigh), own[weigh].copy()
        self.sides, self.at = solution.sides.copy(), solution.at.copy()
        return self

    def passed(self, point: Numbers, order: Indices, children: "Sequence[Node]") -> None:
        """Keep the point that was gone past, beyond its faces in this order."""
        self.point, self.order, self.children = point.copy(), order.copy(), list(children)


@dataclass(eq=False)
class Record:
    """The trees of one search."""

    roots: list[tuple[Form, Cell, Node]] = field(default_factory=list)


@dataclass(frozen=True, eq=False)
class Searched:
    """One connected body that was searched, the floor that a thing stands on, m, and planes, (h, 3), that hold it.

    ways: for each root of the record how the thing was first turned. Without roots it was too small to be searched.
    """

    solid: Solid
    floor: float | None
    planes: Numbers
    record: Record
    ways: list[Numbers] = field(default_factory=list)


@dataclass(eq=False)
class Kept:
    """What a certificate needs of a search; limit: in the unit frame, as the search has it."""

    bodies: list[Searched] = field(default_factory=list)
    inside: Solid | None = None  # what the place found is in
    floor: float | None = None
    limit: float = np.inf
