"""The search for a place: of a thing in some turns in a space, how much larger it might be, found and at most."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tapeloft.model.fits.convex import Convex, turned
from tapeloft.model.fits.turns import Turns
from tapeloft.model.moments import Points
from tapeloft.model.proof.search import Best, Body, Frame, Going
from tapeloft.model.proof.turned.branching import Space
from tapeloft.model.proof.turned.cells import Cell
from tapeloft.model.proof.turned.form import Form, thing_form
from tapeloft.model.proof.turned.hunt import hunted
from tapeloft.model.proof.turned.placing import climbed_thing
from tapeloft.model.proof.turned.relaxed import Cuts
from tapeloft.model.proof.turned.rows import Planes
from tapeloft.model.proof.walls import Walls

LEAST = 0.97  # of its depth: how far a thing is shrunk at most
MOST = 0.5  # of the diagonal of the space: how far it is grown at most


@dataclass(frozen=True)
class Pose:
    """Where a thing is: p = turn @ y + place, y in its own axes, p in the compartment's, m."""

    turn: tuple[tuple[float, float, float], ...]
    place: tuple[float, float, float]

    def of(self, points: Points) -> Points:
        """Return points, (n, 3) m, of the thing's own axes in the compartment's."""
        moved: Points = points @ np.array(self.turn).T + np.array(self.place)
        return moved


@dataclass
class Sought:
    """How far the search for a place has come: the most that the thing was grown, m, where, and the most it could be."""

    growth_m: float
    limit_m: float = math.inf
    pose: Pose | None = None
    branches: int = 0
    stopped: bool = False


@dataclass(frozen=True, eq=False)
class Stand:
    """A space to look in: bodies that a limit holds for, the walls that a thing must be clear of, a floor or none."""

    bodies: Sequence[tuple[Body, Points]]  # with the corners of the hull of each, unit frame
    walls: Walls
    frame: Frame
    floor: float | None


def sought(
    stand: Stand, inner: Convex, outer: Convex, turns: Sequence[Turns], so_far: Sought, *, tolerance: float,
    floor: float, going: Going,
) -> None:  # fmt: skip
    """Raise what is found and lower the limit of how much a thing might be grown in a space, m.

    outer, inner: convex bodies around the thing and within it; found holds for the one, the limit for the other.
    Ends when the two are within *tolerance*, m, or the limit is at most *floor*, m; or when *going* says so.
    """
    size = stand.frame.diagonal
    best = Best(so_far.growth_m / size, limit=-math.inf)
    limits = [-math.inf]
    for body, corners in stand.bodies:
        space = Space(body.surface, body.pits, _planes(body), corners)
        for some in turns:
            forms = _forms(inner, some, stand)
            around = dict(zip(map(id, forms), _forms(outer, some, stand), strict=True))
            ways = dict(zip(map(id, forms), some.ways, strict=True))

            def climb(form: Form, turn: Points, at: Points, cuts: Cuts, space: Space = space, around: dict[int, Form]
                      = around, ways: dict[int, Points] = ways) -> None:  # fmt: skip
                found = climbed_thing(space, stand.walls, around[id(form)], turn, cuts, best.value)
                if found is not None:
                    best.value = found[0]
                    so_far.pose = _pose(form, found[1], found[2], ways[id(form)], stand)

            best.limit = math.inf
            all_of_them: list[tuple[Form, Cell]] = [(form, cell) for form in forms for cell in some.cells]
            hunted(space, all_of_them, some.ball, best, tolerance / size, going, climb, floor / size)
            limits.append(best.limit)
            if best.stopped:
                break
        if best.stopped:
            limits.append(math.inf)
            break
    so_far.growth_m = max(so_far.growth_m, best.value * size)
    so_far.limit_m = min(so_far.limit_m, max(limits) * size if not best.stopped else math.inf)
    so_far.branches += best.nodes
    so_far.stopped = best.stopped


def _planes(body: Body) -> Planes:
    """Return the planes that hold a body, those square to the axes first."""
    rows, around = body.hull.rows, np.vstack([-np.eye(3), np.eye(3)])
    limits = body.reach * np.array([-1.0, -1.0, -1.0, 1.0, 1.0, 1.0])
    return Planes(np.vstack([around, rows[:, :3] + rows[:, 3:]]), np.concatenate([limits, body.hull.limits]))


def _forms(body: Convex, turns: Turns, stand: Stand) -> list[Form]:
    """Return the forms of a thing in the unit frame, one for each way down."""
    return [_form(turned(body, way), turns, stand) for way in turns.ways]


def _form(body: Convex, turns: Turns, stand: Stand) -> Form:
    size = stand.frame.diagonal
    level = math.nan
    if stand.floor is not None:
        level = (stand.floor - body.bottom - float(stand.frame.middle[2])) / size
    return thing_form(
        body.normals, body.offsets / size, body.corners / size, body.face_gain, body.corner_gain,
        -LEAST * body.depth / size, MOST, level, turns.axes,
    )  # fmt: skip


def _pose(form: Form, turn: Points, at: Points, way: Points, stand: Stand) -> Pose:
    """Return where the thing is, compartment axes, from where it is in the unit frame's turning axes."""
    place = (form.shift_rows @ at + form.shift_start) * stand.frame.diagonal + stand.frame.middle
    whole = turn @ way
    x, y, z = place.tolist()
    return Pose(tuple((float(r[0]), float(r[1]), float(r[2])) for r in whole), (x, y, z))
