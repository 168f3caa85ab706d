"""The largest box in a closed solid: one that is proved inside, and a limit proved for all.

What is proved, and on what it rests:

- Inside: the box given out is drawn in from what was found by a millionth of the solid's diagonal on each side, and
  two unlike methods must agree that it is clear: no triangle goes into it (clipping), and the boolean kernel leaves
  nothing of it outside. A face that stands where it was asked for is checked drawn in by as much.
- Limit: every box in the solid lies in some branch of the search, and each branch is closed by a Lagrange dual value
  (`proof.program.dual_bound`, `proof.turned.optimum.dual`). Assumed are float64 arithmetic, with margins outward of
  1e-12 of the diagonal on every witness point and half-space, and that the mesh as given is the space: its triangles
  are walls.

A clearance is kept by growing the box by that much on all sides and asking that the grown box be inside. A ball of
that radius rolled round the box would cut the corners; the grown box is the slightly stricter and simpler choice.
"""

import math
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np

from tapeloft.model.boxsearch import Found, searched
from tapeloft.model.errors import GeometryError
from tapeloft.model.facets import body
from tapeloft.model.fits.turns import turns_of_box
from tapeloft.model.gear.turn import Turn
from tapeloft.model.moments import Points
from tapeloft.model.proof.asked import Asked
from tapeloft.model.proof.search import Frame, Going, surface
from tapeloft.model.proof.turned.form import FACES
from tapeloft.model.proof.turned.record import Kept
from tapeloft.model.proof.turned.swallowed import goes_in
from tapeloft.model.rooms import rooms
from tapeloft.model.solid import Solid
from tapeloft.shapes.polyhedron import Polyhedron
from tapeloft.shapes.polyhedron import box as polyhedron

NOTHING = 1e-15  # m³: what the kernel may leave of a box that is inside, faces back to back
OUTWARD = 1 + 1e-9  # on a limit when it leaves logarithms

Progress = Callable[[float, float], None]  # told the largest volume so far and the limit so far, m³
Corner = tuple[float, float, float]
UPRIGHT = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))


@dataclass(frozen=True)
class BoxFound:
    """The largest box found, and what is proved of all others.

    low, high: its corners in its own axes, m, which are the compartment's turned by `turn`: p = turn @ y. limit_m3: no
    box of the kind asked for is larger. gap: limit / volume − 1. proved: whether the gap came within the tolerance.
    branches: how many were looked at. clearance_m: kept on all sides, but not below a box that stands. standing:
    whether it does, on a flat or a grate. height_m: where one was asked for.
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
    turn: tuple[Corner, Corner, Corner] = UPRIGHT

    @property
    def corners(self) -> Points:
        """Its corners, (8, 3) m, compartment axes: number 4i + 2j + k, i, j, k 0 or 1 along its first to third side."""
        ends = zip(self.low, self.high, strict=True)
        corners: Points = np.array(list(product(*ends))) @ np.array(self.turn).T
        return corners

    def grown(self, by: float) -> Solid:
        """Return the box as a solid, compartment axes, its faces moved out by so many metres."""
        low, high = np.array(self.low) - by, np.array(self.high) + by
        upright = polyhedron(_corner(low), _corner(high))
        return body(Polyhedron(upright.vertices @ np.array(self.turn).T, upright.faces))


def largest_box(
    inside: Solid,
    outside: Solid,
    *,
    turn: Turn = Turn.AS_GIVEN,
    tolerance: float = 0.005,
    height: float | None = None,
    footprint: tuple[float, float] | None = None,
    least: Corner = (0.0, 0.0, 0.0),
    proportion: Corner | None = None,
    stands_on: float | Sequence[float] | None = None,
    on_grate: float | None = None,
    clearance: float = 0.0,
    within_s: float | None = None,
    progress: Progress | None = None,
    kept: Kept | None = None,
) -> BoxFound | None:
    """Return the largest box in a solid; None where there is none to speak of (under `boxsearch.LEAST`).

    inside: the solid that the box must be in, round obstructions drawn around their circles. outside: the solid that
    the limit holds for, drawn within them; the same object where nothing is round. turn: as given, its sides along x,
    y and z; upright, turned about the vertical; or any tilt. tolerance: the relative gap at which the search ends.
    clearance: m.

    height; footprint, its length and breadth; least, length, breadth and height that it must have at least; proportion,
    of its three sides to each other: along its own x, y and z.

    stands_on: the box's bottom is at that height, or at one of those, z in m, and is borne: the sole lies nowhere
    farther below it than `flats.RESTS`, so that no corner hangs over a step's edge or a well. `flats.flats` names
    the heights to try. on_grate: the bottom is at that height and borne everywhere, by a grate or shelf laid there.
    The clearance is then kept at the sides, from the edge of a flat too, and above.

    kept: filled with what a certificate needs; the search then goes by turns, also where there are none.

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
    length, breadth = footprint or (None, None)
    asked = Asked((length, breadth, height), clearance, tolerance, least, proportion)
    stands = stands_on is not None or on_grate is not None
    if within_s is not None and not within_s >= 0:
        raise ValueError(f"the time must be zero or more, not {within_s}")
    if turn is Turn.ANY_FACE:
        raise ValueError("the largest box is sought as given, upright, or at any tilt")
    if stands and turn is Turn.ANY_TILT:
        raise ValueError("a box that stands is not tilted: let it be upright")
    spaces = () if outside.is_empty else rooms(inside, outside, stands_on, on_grate)
    if not spaces:
        return None
    low, high = outside.bounds
    frame = Frame((low + high) / 2, float(np.linalg.norm(high - low)))
    turns = turns_of_box(turn, asked.alike)
    found, limit = searched(spaces, frame, asked, turns, _watch(frame, asked, within_s, progress), kept)
    if found.clear is None and not found.best.stopped:
        return None
    return _told(found, limit, frame, asked)


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


def _told(found: Found, limit: float, frame: Frame, asked: Asked) -> BoxFound:
    """Return the best as it is given out, drawn in and checked."""
    low, high = np.zeros(3), np.zeros(3)
    if found.clear is not None:
        middle = np.tile(frame.middle @ found.turn, 2)
        low, high = asked.given_out(found.clear * frame.diagonal + middle, found.room.floor, frame)
        _check_clear(low, high, found, frame, asked)
    sides = (high - low).tolist()
    volume = math.prod(sides)
    bound = max(asked.cubic_metres(limit, frame) * OUTWARD, volume)
    gap = bound / volume - 1 if volume else math.inf
    return BoxFound(
        low=_corner(low),
        high=_corner(high),
        volume_m3=volume,
        limit_m3=bound,
        gap=gap,
        proved=gap <= asked.tolerance,
        branches=found.best.nodes,
        clearance_m=asked.clearance,
        standing=found.room.floor is not None,
        height_m=asked.sizes[2],
        turn=(_corner(found.turn[0]), _corner(found.turn[1]), _corner(found.turn[2])),
    )


def _corner(point: Points) -> Corner:
    return float(point[0]), float(point[1]), float(point[2])


def _check_clear(low: Points, high: Points, found: Found, frame: Frame, asked: Asked) -> None:
    """Raise GeometryError unless the box, with its clearance, is inside by both methods."""
    below, above = asked.clear_space(low, high, found.room.floor, frame)
    upright = polyhedron(_corner(below), _corner(above))
    corners, normals = upright.vertices @ found.turn.T, FACES @ found.turn.T
    walls = surface(found.room.inside.parts(), Frame(np.zeros(3), 1.0))
    touched = goes_in(walls, normals, np.concatenate([-below, above]), corners)
    if touched or (body(Polyhedron(corners, upright.faces)) - found.room.inside).volume > NOTHING:
        raise GeometryError("the largest box found is not clear of the walls by a second check; is the space sound?")
