"""The largest upright box in a closed solid: one that is proved inside, and a limit proved for all.

What is proved, and on what it rests:

- Inside: the box given out is drawn in from what was found by a millionth of the solid's diagonal on each side, and
  two unlike methods must agree that it is clear: no triangle goes into it (clipping), and the boolean kernel leaves
  nothing of it outside. A face that stands where it was asked for is checked drawn in by as much.
- Limit: every box in the solid lies in some branch of the search, and each branch is closed by a Lagrange dual value
  (`proof.program.dual_bound`). Assumed are float64 arithmetic, with margins outward of 1e-12 of the diagonal on
  every witness point and half-space, and that the mesh as given is the space: its triangles are walls.

A clearance is kept by growing the box by that much on all sides and asking that the grown box be inside. A ball of
that radius rolled round the box would cut the corners; the grown box is the slightly stricter and simpler choice.
"""

import math
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from tapeloft.model.errors import GeometryError
from tapeloft.model.facets import body
from tapeloft.model.flats import room_over
from tapeloft.model.proof.asked import Asked
from tapeloft.model.proof.branches import branched
from tapeloft.model.proof.climb import climbed
from tapeloft.model.proof.compiled import is_kept
from tapeloft.model.proof.interior import relaxed
from tapeloft.model.proof.program import Numbers
from tapeloft.model.proof.search import Best, Frame, Going, prepared, search, surface
from tapeloft.model.proof.walls import Walls, deepest
from tapeloft.model.proof.winding import told_apart
from tapeloft.model.solid import Solid
from tapeloft.shapes.polyhedron import box as polyhedron

LEAST = 5e-3  # of the diagonal: boxes whose free sides are smaller than this in the geometric mean are not looked for
NOTHING = 1e-15  # m³: what the kernel may leave of a box that is inside, faces back to back
OUTWARD = 1 + 1e-9  # on a limit when it leaves logarithms

Progress = Callable[[float, float], None]  # told the largest volume so far and the limit so far, m³
Corner = tuple[float, float, float]


@dataclass(frozen=True)
class BoxFound:
    """The largest upright box found, compartment axes, and what is proved of all others.

    low, high: its corners, m. limit_m3: no box of the kind asked for is larger. gap: limit / volume − 1. proved:
    whether the gap came within the tolerance. branches: how many were looked at. clearance_m: kept on all sides,
    but not below a box that stands. standing: whether it does, on a flat or a grate. height_m: where one was asked for.
    """

    low: Corner
    high: Corner
    volume_m3: float
    limit_m3: float
    gap: float
    proved: bool
    branches: int
    clearance_m: float
    standing: bool
    height_m: float | None


@dataclass(frozen=True, eq=False)
class _Room:
    """A space to look in: what the box must be inside of, what the limit holds for, and where it stands, z in m."""

    inside: Solid
    walls: Walls  # of `inside`
    bodies: tuple[Solid, ...]  # of the solid that the limit holds for
    narrow: tuple[Solid, ...]  # of `inside`, where that is another
    floor: float | None


def largest_box(
    inside: Solid,
    outside: Solid,
    *,
    tolerance: float = 0.005,
    height: float | None = None,
    stands_on: float | Sequence[float] | None = None,
    on_grate: float | None = None,
    clearance: float = 0.0,
    within_s: float | None = None,
    progress: Progress | None = None,
) -> BoxFound | None:
    """Return the largest box in a solid with its sides along x, y and z; None where there is none to speak of (LEAST).

    inside: the solid that the box must be in, round obstructions drawn around their circles. outside: the solid that
    the limit holds for, drawn within them; the same object where nothing is round. tolerance: the relative gap at
    which the search ends. height, clearance: m.

    stands_on: the box's bottom is at that height, or at one of those, z in m, and is borne: the sole lies nowhere
    farther below it than `flats.RESTS`, so that no corner hangs over a step's edge or a well. `flats.flats` names
    the heights to try. on_grate: the bottom is at that height and borne everywhere, by a grate or shelf laid there.
    The clearance is then kept at the sides, from the edge of a flat too, and above.

    The search goes the same way each time. within_s ends it after so many seconds, Ctrl-C at once; the box is then
    the best so far, its limit holds, and `proved` is false (a volume of 0 where none was met yet). A tolerance below
    1e-4 may be out of reach: the box given out is drawn in. Raises ValueError for an argument out of its range, and
    GeometryError should the box fail its second check.

    >>> from tapeloft.shapes.polyhedron import prism
    >>> attic = body(prism(np.array([[0, 0], [2, 0], [1, 1.0]]), 0, 3, axis=0))
    >>> found = largest_box(attic, attic)
    >>> round(found.volume_m3, 3), round(found.limit_m3, 3), found.proved
    (1.5, 1.5, True)
    """
    asked = Asked(height, clearance, tolerance)
    if within_s is not None and not within_s >= 0:
        raise ValueError(f"the time must be zero or more, not {within_s}")
    if stands_on is not None and on_grate is not None:
        raise ValueError("a box stands on the sole or on a grate, not on both")
    if outside.is_empty:
        return None
    low, high = outside.bounds
    frame = Frame((low + high) / 2, float(np.linalg.norm(high - low)))
    rooms = [room for room in _rooms(inside, outside, stands_on, on_grate, frame) if room.bodies]
    if not rooms:
        return None
    best, room, limit = _searched(rooms, frame, asked, _watch(frame, asked, within_s, progress))
    if best.box is None and not best.stopped:
        return None
    return _told(best, room, limit, frame, asked)


def compiled_before() -> bool:
    """Whether the inner loops are already compiled for this machine; if not, the first search does so."""
    return all(is_kept(loop) for loop in (told_apart, relaxed, climbed, branched, deepest))


def _rooms(
    inside: Solid, outside: Solid, stands_on: float | Sequence[float] | None, on_grate: float | None, frame: Frame
) -> Iterator[_Room]:
    """Yield the spaces to look in: the solid, or what is over each height that the box may stand at."""
    if on_grate is not None:
        over = inside.split((0, 0, 1), on_grate)[0]
        yield _room(over, over if outside is inside else outside.split((0, 0, 1), on_grate)[0], on_grate, frame)
    elif stands_on is None:
        yield _room(inside, outside, None, frame)
    else:
        for level in np.atleast_1d(np.asarray(stands_on, np.float64)).tolist():
            over = room_over(level, inside, outside)
            yield _room(over, over if outside is inside else room_over(level, outside, inside), level, frame)


def _room(inside: Solid, outside: Solid, floor: float | None, frame: Frame) -> _Room:
    bodies = outside.parts()
    within = bodies if inside is outside else inside.parts()
    return _Room(inside, surface(within, frame), bodies, () if inside is outside else within, floor)


def _watch(frame: Frame, asked: Asked, within_s: float | None, progress: Progress | None) -> Going:
    """Return what the search asks before each branch: whether to go on. It tells *progress* ten times a second."""
    end = math.inf if within_s is None else time.perf_counter() + within_s
    told = time.perf_counter()

    def going(log_volume: float, limit: float) -> bool:
        nonlocal told
        now = time.perf_counter()
        if progress is not None and now - told > 0.1:
            told = now
            progress(asked.cubic_metres(log_volume, frame), asked.cubic_metres(limit, frame))
        return now < end

    return going


def _searched(rooms: Sequence[_Room], frame: Frame, asked: Asked, going: Going) -> tuple[Best, _Room, float]:
    """Search every room; return the best, the room it is in, and a limit on the log volume in all of them.

    Where the limit is that of a box which only `outside` can hold, `inside` is searched by itself for the best in it.
    """
    best = Best(asked.free_sides * math.log(LEAST))
    whole = [(part, room) for room in rooms for part in room.bodies]
    limit, held = _searched_bodies(whole, rooms[0], frame, asked, best, going)
    if limit > best.value + asked.log_gap and not best.stopped:
        narrow = [(part, room) for room in rooms for part in room.narrow]
        _, held = _searched_bodies(narrow, held, frame, asked, best, going)
    return best, held, limit


def _searched_bodies(
    bodies: Sequence[tuple[Solid, _Room]], held: _Room, frame: Frame, asked: Asked, best: Best, going: Going
) -> tuple[float, _Room]:
    """Search bodies, largest first; return a limit on the log volume in all, and the room the best is in by now."""
    bodies = sorted(bodies, key=lambda pair: -pair[0].volume)
    limits = [math.log(part.volume / asked.cubic_metres(0.0, frame)) for part, _ in bodies]
    for number, (part, room) in enumerate(bodies):
        if limits[number] <= best.value + asked.log_gap or best.stopped:
            continue
        before, best.limit = best.box, limits[number]
        try:
            search(prepared(part, frame), room.walls, asked.wish(room.floor, frame), best, asked.log_gap, going)
        except KeyboardInterrupt:
            best.stopped = True
        limits[number] = min(limits[number], best.limit)
        held = held if best.box is before else room
    return max(limits, default=-math.inf), held


def _told(best: Best, room: _Room, limit: float, frame: Frame, asked: Asked) -> BoxFound:
    """Return the best as it is given out, drawn in and checked."""
    low, high = np.zeros(3), np.zeros(3)
    if best.box is not None:
        low, high = asked.given_out(frame.outward(best.box), room.floor, frame)
        _check_clear(low, high, room, frame, asked)
    sides = (high - low).tolist()
    volume = math.prod(sides)
    bound = max(asked.cubic_metres(limit, frame) * OUTWARD, volume)
    gap = bound / volume - 1 if volume else math.inf
    return BoxFound(
        low=(float(low[0]), float(low[1]), float(low[2])),
        high=(float(high[0]), float(high[1]), float(high[2])),
        volume_m3=volume,
        limit_m3=bound,
        gap=gap,
        proved=gap <= asked.tolerance,
        branches=best.nodes,
        clearance_m=asked.clearance,
        standing=room.floor is not None,
        height_m=asked.height,
    )


def _check_clear(low: Numbers, high: Numbers, room: _Room, frame: Frame, asked: Asked) -> None:
    """Raise GeometryError unless the box, with its clearance, is inside by both methods."""
    below, above = asked.clear_space(low, high, room.floor, frame)
    unit = np.concatenate([frame.inward(below), frame.inward(above)])
    touched = deepest(room.walls, unit, 0.0, np.empty(3))[1] >= 0
    clear = body(polyhedron((below[0], below[1], below[2]), (above[0], above[1], above[2])))
    if touched or (clear - room.inside).volume > NOTHING:
        raise GeometryError("the largest box found is not clear of the walls by a second check; is the space sound?")
