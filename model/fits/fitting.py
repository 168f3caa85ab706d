"""The search for a place: of a thing in some turns in a space, how much larger it might be, found and at most."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from tapeloft.model.fits.convex import Convex, grown, standing, turned
from tapeloft.model.fits.turns import Turns
from tapeloft.model.moments import Points
from tapeloft.model.proof.search import Best, Frame, Going, prepared, surface
from tapeloft.model.proof.turned.branching import Indices, Space
from tapeloft.model.proof.turned.cells import view_of
from tapeloft.model.proof.turned.cuts import NO_CUTS
from tapeloft.model.proof.turned.form import Form, thing_form
from tapeloft.model.proof.turned.hunt import Climb, hunted
from tapeloft.model.proof.turned.placing import climbed_thing
from tapeloft.model.proof.turned.record import Kept as Recorded
from tapeloft.model.proof.turned.record import Record, Searched
from tapeloft.model.proof.turned.relaxed import Cuts
from tapeloft.model.proof.turned.rows import Planes
from tapeloft.model.proof.walls import Walls
from tapeloft.model.rooms import Room
from tapeloft.model.solid import Solid


def _halton(number: int, base: int) -> float:
    """Return a term of van der Corput's sequence."""
    share, digit = 0.0, 1.0 / base
    while number:
        share, number, digit = share + digit * (number % base), number // base, digit / base
    return share


# Shares of each cell at which a search first looks, by how many of its axes turn: evenly spread (Halton's sequence).
SOWN = {
    0: np.full((1, 3), 0.5),
    1: (np.arange(6)[:, None] + 0.5) / 6 * np.ones(3),
    3: np.array([[(k + 0.5) / 24, _halton(k, 2), _halton(k, 3)] for k in range(24)]),
}
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
    """How far the search for a place has come: the most that the thing was grown, m, and where."""

    growth_m: float
    pose: Pose | None = None
    branches: int = 0


@dataclass(frozen=True, eq=False)
class Kept:
    """A convex body that stands for a thing, own axes, and the clearance, m, by which it is grown where it stands."""

    body: Convex
    clearance: float


@dataclass(frozen=True, eq=False)
class Stand:
    """A room made ready to search, in the unit frame."""

    bodies: tuple[Space, ...]  # that a limit holds for, largest first
    parts: tuple[Solid, ...]  # the same as solids
    walls: Walls  # that a thing must be clear of
    frame: Frame
    floor: float | None  # m


def stand_in(room: Room, frame: Frame) -> Stand:
    """Return a room made ready to search."""
    bodies = tuple(space_of(part, frame) for part in room.bodies)
    return Stand(bodies, room.bodies, surface(room.inside.parts(), frame), frame, room.floor)


def space_of(part: Solid, frame: Frame) -> Space:
    """Return one connected body made ready to search; the planes that hold it begin with those square to the axes."""
    body = prepared(part, frame)
    rows, around = body.hull.rows, np.vstack([-np.eye(3), np.eye(3)])
    limits = body.reach * np.array([-1.0, -1.0, -1.0, 1.0, 1.0, 1.0])
    planes = Planes(np.vstack([around, rows[:, :3] + rows[:, 3:]]), np.concatenate([limits, body.hull.limits]))
    return Space(body.surface, body.pits, planes, np.ascontiguousarray(frame.inward(part.hull().vertices)))


def sought(
    stand: Stand, inner: Kept, outer: Kept, turns: Turns, so_far: Sought, *, tolerance: float, floor: float,
    near: float, going: Going, kept: Recorded | None = None,
) -> float:  # fmt: skip
    """Look for how much a thing can be grown in a room, m; return an upper limit of it, a poor one where cut short.

    outer, inner: convex bodies around the thing and within it; what is found, in *so_far*, holds for the one, the limit
    for the other. Ends when the two are within *tolerance*, m, or the limit is at most *floor*, m; or *going* says so.
    kept: filled with what a certificate needs.
    """
    size = stand.frame.diagonal
    best, limit = Best(so_far.growth_m / size), -math.inf
    forms, around = ([_form(kept, way, turns, stand) for way in turns.ways] for kept in (inner, outer))
    pairs = {
        id(form): (outside, _nearest(form, outside), way)
        for form, outside, way in zip(forms, around, turns.ways, strict=True)
    }  # fmt: skip

    for space, part in zip(stand.bodies, stand.parts, strict=True):

        def climb(form: Form, turn: Points, at: Points, cuts: Cuts, space: Space = space) -> None:
            outside, faces, way = pairs[id(form)]
            past = cuts._replace(faces=faces[cuts.faces])
            found = climbed_thing(space, stand.walls, outside, turn, past, best.value)
            if found is not None:
                best.value = found[0]
                so_far.growth_m, so_far.pose = best.value * size, _pose(outside, found[1], found[2], way, stand)

        _sow(forms, turns, climb, lambda: going(best.value, math.inf))
        best.limit = math.inf
        cells = [(form, cell) for form in forms for cell in turns.cells]
        record = None
        if kept is not None:
            record = Record()
            ways = [way for way in turns.ways for _ in turns.cells]
            kept.bodies.append(Searched(part, stand.floor, space.planes.normals, record, ways))
        hunted(space, cells, turns.ball, best, tolerance / size, going, climb, near / size, floor / size, record)
        limit = max(limit, best.limit)
    so_far.branches += best.nodes
    return limit * size


def _sow(forms: Sequence[Form], turns: Turns, climb: Climb, going: Callable[[], bool]) -> None:
    """Climb from turns spread over the cells."""
    many = SOWN[len(turns.axes)]
    for form in forms:
        for cell in turns.cells:
            for share in many:
                if not going():
                    return
                turn = view_of(cell.base, *[cell.low + share * (cell.high - cell.low)] * 2).frame
                climb(form, turn, np.empty(0), NO_CUTS)


def _form(kept: Kept, way: Points, turns: Turns, stand: Stand) -> Form:
    """Return the form of a thing with one way down, in the unit frame, grown by the clearance that it keeps."""
    size, level = stand.frame.diagonal, math.nan
    body = turned(kept.body, way)
    if stand.floor is not None:
        level = (stand.floor - body.bottom - float(stand.frame.middle[2])) / size
        body = standing(body)
    body = grown(body, kept.clearance)
    least = -LEAST * (kept.body.depth + kept.clearance) / (1.0 if stand.floor is None else 2.0)
    return thing_form(
        body.normals, body.offsets / size, body.corners / size, body.face_gain, body.corner_gain,
        least / size, MOST, level, turns.axes,
    )  # fmt: skip


def _nearest(form: Form, other: Form) -> Indices:
    """Return for each face of a form the face of another one that looks most the same way."""
    nearest: Indices = np.argmax(form.normals @ other.normals.T, axis=1)
    return nearest


def _pose(form: Form, turn: Points, at: Points, way: Points, stand: Stand) -> Pose:
    """Return where the thing is, compartment axes, from where it is in the unit frame's turning axes."""
    place = (form.shift_rows @ at + form.shift_start) * stand.frame.diagonal + stand.frame.middle
    whole = turn @ way
    x, y, z = place.tolist()
    return Pose(tuple((float(r[0]), float(r[1]), float(r[2])) for r in whole), (x, y, z))
