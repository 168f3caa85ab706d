"""The search for the largest box in some rooms: upright ones face by face, turned ones by turns and witness points."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from tapeloft.model.fits.fitting import space_of
from tapeloft.model.fits.turns import Turns
from tapeloft.model.moments import Points
from tapeloft.model.proof.asked import Asked
from tapeloft.model.proof.program import NEVER, Wish
from tapeloft.model.proof.search import Best, Frame, Going, prepared, search, surface
from tapeloft.model.proof.turned.branching import Space
from tapeloft.model.proof.turned.cuts import NO_CUTS
from tapeloft.model.proof.turned.form import CORNERS, FACES, Form, box_form, thing_form
from tapeloft.model.proof.turned.growing import grown
from tapeloft.model.proof.turned.hunt import hunted
from tapeloft.model.proof.turned.placing import climbed_thing
from tapeloft.model.proof.turned.record import Kept, Record, Searched
from tapeloft.model.proof.turned.relaxed import Cuts
from tapeloft.model.proof.walls import Walls
from tapeloft.model.rooms import Room
from tapeloft.model.solid import Solid

LEAST = 5e-3  # of the diagonal: boxes whose free sides are smaller than this in the geometric mean are not looked for
NEARLY = 0.05  # of the log volume: how near the best a box must come, at first, to be turned for more
FIRST = 10  # branches
NEAR = 0.03  # share of the tolerance to which a branch is solved

Box = tuple[Points, Points, Points]  # its turn (3, 3), and its lowest and highest corner in its own axes, m


@dataclass(eq=False)
class Found:
    """The best box so far: how it stands, the room it is in, and how the search for it goes.

    clear: faces of the clear space, own axes, unit frame, (6,).
    """

    best: Best
    room: Room
    turn: Points
    clear: Points | None = None
    kept: Kept | None = None  # for a certificate


def searched(
    rooms: Sequence[Room], frame: Frame, asked: Asked, turns: Turns, going: Going, kept: Kept | None = None
) -> tuple[Found, float]:  # fmt: skip
    """Return the best box in all rooms, and an upper limit of the log volume, unit frame, of any in them.

    kept: filled with what a certificate needs.
    """
    found = Found(Best(asked.free_sides * math.log(LEAST)), rooms[0], np.eye(3), kept=kept)
    by_turns = len(turns.axes) or any(asked.least) or asked.proportion or kept is not None
    limit = (_look_turned if by_turns else _look_upright)(rooms, frame, asked, turns, found, going)
    if kept is not None:
        kept.inside, kept.floor, kept.limit = found.room.inside, found.room.floor, limit
        looked_in = {id(one.solid) for one in kept.bodies}
        left = [(part, room.floor) for room in rooms for part in room.bodies if id(part) not in looked_in]
        kept.bodies += [Searched(part, floor, np.empty((0, 3)), Record()) for part, floor in left]
    return found, limit


def _look_upright(rooms: Sequence[Room], frame: Frame, asked: Asked, turns: Turns, found: Found, going: Going) -> float:
    """Search every room for upright boxes; where one only fits `outside`, look in `inside` by itself."""

    def look(part: Solid, room: Room) -> None:
        walls = surface(room.inside.parts(), frame)
        search(prepared(part, frame), walls, asked.wish(room.floor, frame), found.best, asked.log_gap, going)

    limit = _each_body([(part, room) for room in rooms for part in room.bodies], frame, asked, found, look)
    if limit > found.best.value + asked.log_gap and not found.best.stopped:
        narrow = [(part, room) for room in rooms if room.inside is not room.outside for part in room.inside.parts()]
        _each_body(narrow, frame, asked, found, look)
    return limit


def _look_turned(rooms: Sequence[Room], frame: Frame, asked: Asked, turns: Turns, found: Found, going: Going) -> float:
    """Search every room for turned boxes, from the best upright one on."""
    if asked.proportion is None and not any(asked.least):
        upright = Asked(asked.sizes, asked.clearance, max(asked.tolerance, NEARLY))
        _look_upright(rooms, frame, upright, turns, found, going)

    def look(part: Solid, room: Room) -> None:
        space, walls = space_of(part, frame), surface(room.inside.parts(), frame)
        wish = asked.wish(room.floor, frame)
        form, climb = _form(asked, wish, turns, room, frame), _climb(asked, wish, space, walls, found)
        if found.clear is not None:
            at: Points = np.linalg.lstsq(wish.turn, found.clear - wish.start, rcond=None)[0].astype(np.float64)
            climb(form, found.turn, at, NO_CUTS)
        cells = [(form, cell) for cell in turns.cells]
        record = None
        if found.kept is not None:
            record = Record()
            ways = [np.eye(3) for _ in cells]
            found.kept.bodies.append(Searched(part, room.floor, space.planes.normals, record, ways))
        hunted(
            space, cells, turns.ball, found.best, asked.log_gap, going, climb, NEAR * asked.log_gap, record=record
        )  # fmt: skip

    return _each_body([(part, room) for room in rooms for part in room.bodies], frame, asked, found, look)


def _each_body(
    bodies: Sequence[tuple[Solid, Room]], frame: Frame, asked: Asked, found: Found,
    look: Callable[[Solid, Room], None],
) -> float:  # fmt: skip
    """Look in bodies, largest first; return a limit on the log volume in all of them."""
    best = found.best
    bodies = sorted(bodies, key=lambda pair: -pair[0].volume)
    limits = [math.log(part.volume / asked.cubic_metres(0.0, frame)) for part, _ in bodies]
    for number, (part, room) in enumerate(bodies):
        if limits[number] <= best.value + asked.log_gap or best.stopped:
            continue
        before, best.limit = best.value, limits[number]
        try:
            look(part, room)
        except KeyboardInterrupt:
            best.stopped = True
        limits[number] = min(limits[number], best.limit)
        if best.value > before:
            found.room = room
            if best.box is not None:
                found.turn, found.clear, best.box = np.eye(3), best.box, None
    return max(limits, default=-math.inf)


def _form(asked: Asked, wish: Wish, turns: Turns, room: Room, frame: Frame) -> Form:
    """Return what is sought: a box of free sides, or one of a proportion, that is scaled."""
    if asked.proportion is None:
        form = box_form(wish, turns.axes)
        return form._replace(low=asked.least_free(wish, frame))
    shares = np.array(asked.proportion) / math.prod(asked.proportion) ** (1 / 3)
    half, kept = shares / 2, asked.clearance / frame.diagonal
    offsets, gain = np.full(6, kept), np.concatenate([half, half])
    corners = np.where(CORNERS // 3 > 0, 1.0, -1.0)
    corner_gain, level = corners * half, math.nan
    if room.floor is not None:
        level = (room.floor - float(frame.middle[2])) / frame.diagonal
        offsets[2], gain[2], gain[5] = 0.0, 0.0, shares[2]
        corner_gain[:, 2] += half[2]
        corners[:, 2] = np.maximum(corners[:, 2], 0.0)
    form = thing_form(FACES, offsets, corners * kept, gain, corner_gain, 0.0, 1.0, level, turns.axes)
    scale = form.gain[None]
    return form._replace(log_rows=np.vstack([scale] * 3), log_start=np.zeros(3), gain=np.zeros(len(scale.T)))


def _climb(
    asked: Asked, wish: Wish, space: Space, walls: Walls, found: Found
) -> Callable[[Form, Points, Points, Cuts], None]:
    """Return what keeps the best of the boxes found near where the search tells it to look."""
    best = found.best

    def kept(value: float, turn: Points, clear: Points) -> None:
        if value > best.value:
            best.value, found.turn, found.clear = value, turn, clear

    def grow(form: Form, turn: Points, at: Points, cuts: Cuts) -> None:
        own, box = turn.copy(), wish.turn @ at[: len(form.low)] + wish.start
        near = NEARLY if best.nodes < FIRST else 0.0
        value = grown(walls, space.planes, space.corners, wish, form.axes, best.value - near, own, box)
        if value != NEVER and not any(asked.least):
            kept(value, own, box)

    def place(form: Form, turn: Points, at: Points, cuts: Cuts) -> None:
        placed = climbed_thing(space, walls, form, turn, cuts, best.value)
        if placed is not None:
            _, own, at = placed
            clear = _faces(form, own, at)
            kept(log_volume(clear, asked, wish), own, clear)

    return place if asked.proportion is not None or any(asked.least) else grow


def log_volume(clear: Points, asked: Asked, wish: Wish) -> float:
    """Return the log volume of the box to give out for a clear space, unit frame, but for its sides that are given."""
    sides = clear[3:] - clear[:3] - wish.grown - wish.drawn
    free = np.array([size is None for size in asked.sizes])
    return float(np.log(sides[free]).sum())


def _faces(form: Form, turn: Points, at: Points) -> Points:
    """Return the faces, (6,), along its own axes, of a box that a form has at *at*."""
    shift = turn.T @ (form.shift_rows @ at + form.shift_start)
    corners = form.corner_rows @ at + form.corner_start + shift
    faces: Points = np.concatenate([corners[0], corners[7]])
    return faces
