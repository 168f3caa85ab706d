"""A place for a thing as it is, hollows and all: tried where its upright box lies at the space's ends, or between."""

import time
from itertools import product

import numpy as np

from tapeloft.model.facets import body
from tapeloft.model.fits.fitting import Pose
from tapeloft.model.fits.turns import Turns
from tapeloft.model.proof.turned.cells import view_of
from tapeloft.model.rooms import Room
from tapeloft.model.solid import Solid
from tapeloft.shapes.polyhedron import Polyhedron

NOTHING = 1e-15  # m³: what the kernel may leave of a thing that is inside, faces back to back
SHARES = (0.5, 0.0, 1.0, *(k / 12 for k in range(1, 12) if k != 6))  # of each cell about the vertical: straight first
STEPS = (0.0, 0.5, 1.0, 0.25, 0.75)  # shares of the play at which it is tried along each axis


def place_as_it_is(room: Room, drawn: Polyhedron, turns: Turns, drawn_in: float, end: float) -> Pose | None:
    """Return a place where the kernel leaves nothing of a thing, shrunk by *drawn_in*, m, outside; None if none is met.

    end: the time, of `time.perf_counter`, at which to stop.
    """
    size = float(np.ptp(drawn.vertices, axis=0).min())
    shrunk = drawn.vertices * (1 - 2 * drawn_in / size)
    low, high = room.inside.bounds
    for way, cell in product(turns.ways, turns.cells):
        for share in SHARES if len(turns.axes) else (0.5,):
            turn = view_of(cell.base, *[cell.low + share * (cell.high - cell.low)] * 2).frame @ way
            corners = shrunk @ turn.T
            play = (high - low) - np.ptp(corners, axis=0)
            if (play < 0).any():
                continue
            for steps in product(STEPS, repeat=3):
                if time.perf_counter() > end:
                    return None
                place = low - corners.min(axis=0) + play * np.array(steps)
                if room.floor is not None:
                    place[2] = room.floor - corners[:, 2].min()
                if _is_in(Polyhedron(corners + place, drawn.faces), room.inside):
                    rows = turn.tolist()
                    return Pose((tuple(rows[0]), tuple(rows[1]), tuple(rows[2])), tuple(place.tolist()))
    return None


def _is_in(thing: Polyhedron, inside: Solid) -> bool:
    return (body(thing) - inside).volume <= NOTHING
