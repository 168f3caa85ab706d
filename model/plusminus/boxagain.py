"""The largest box, as large as it would be had the corners been read as they might: ± on its sides."""

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from tapeloft.model.boxes import BoxFound
from tapeloft.model.moments import Points
from tapeloft.model.plusminus.redrawn import Redrawing
from tapeloft.model.proof.asked import Asked
from tapeloft.model.proof.program import NEVER, Numbers
from tapeloft.model.proof.search import Frame, halfspaces, surface
from tapeloft.model.proof.turned.growing import grown
from tapeloft.model.proof.turned.rows import Planes
from tapeloft.model.solid import Solid

DRAWN = 60  # times: a standard deviation is known to a tenth by then
FEWEST = 20  # boxes, of those drawn, from which a ± is told


@dataclass(frozen=True)
class BoxOff:
    """How far the sides, m, and the volume, m³, of a box may be off, one standard deviation each.

    drawn: how many spaces were drawn; lost: in how many of them nothing of the box was left where it stood.
    """

    sides_sd_m: tuple[float, float, float]
    volume_sd_m3: float
    drawn: int
    lost: int


def box_off(
    redrawing: Redrawing, found: BoxFound, footprint: tuple[float, float] | None, spaces: Iterable[Solid]
) -> BoxOff | None:
    """Return the ± of a box of free sides, or of given height or footprint: in each of *spaces* it grows anew.

    It starts where it was found, at the heading it has there. A box that stands is let down to the sole as it then is.
    None where too few are met.
    """
    length, breadth = footprint or (None, None)
    asked = Asked((length, breadth, found.height_m), found.clearance_m, 0.005, (0.0, 0.0, 0.0), None)
    turn = np.array(found.turn)
    sides: list[Points] = []
    drawn = 0
    for space in spaces:
        drawn += 1
        one = _grown(space, found, asked, turn)
        if one is not None:
            sides.append(one)
    if len(sides) < FEWEST:
        return None
    every = np.array(sides)
    x, y, z = every.std(axis=0, ddof=1).tolist()
    return BoxOff((x, y, z), float(every.prod(axis=1).std(ddof=1)), drawn, drawn - len(sides))


def _grown(space: Solid, found: BoxFound, asked: Asked, turn: Points) -> Points | None:
    """Return the sides, (3,) m, that a box grows to from where it was found; None where nothing is left of it."""
    low, high = space.bounds
    frame = Frame((low + high) / 2, float(np.linalg.norm(high - low)))
    wish = asked.wish(None, frame)
    middle = np.tile(frame.middle @ turn, 2)
    clear = np.concatenate([np.array(found.low) - found.clearance_m, np.array(found.high) + found.clearance_m])
    box: Numbers = (clear - middle) / frame.diagonal
    rows = halfspaces(space, frame)
    planes = Planes(np.ascontiguousarray(rows.rows[:, :3] + rows.rows[:, 3:]), rows.limits)
    corners = np.ascontiguousarray(frame.inward(space.hull().vertices))
    own = np.ascontiguousarray(turn)
    value = grown(surface(space.parts(), frame), planes, corners, wish, np.empty(0, np.int64), -math.inf, own, box)
    if value == NEVER:
        return None
    sides: Points = (box[3:] - box[:3]) * frame.diagonal - 2 * found.clearance_m
    return sides
