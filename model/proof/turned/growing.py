"""Turned boxes that are clear: grown at one turn by the climb for upright ones, then turned a little for more."""

import numpy as np
from numpy.typing import NDArray

from tapeloft.model.proof.climb import climbed
from tapeloft.model.proof.compiled import compiled, part
from tapeloft.model.proof.program import NEVER, Halfspaces, Numbers, Wish
from tapeloft.model.proof.turned.cells import set_back, set_product, set_rodrigues
from tapeloft.model.proof.turned.rows import Planes
from tapeloft.model.proof.walls import BLOCK, Walls

Indices = NDArray[np.int64]
FIRST = 0.04  # half the angle, in radians, by which a box is first turned for more
LAST = 1e-4
TRIES = 30  # rounds of turns, each both ways about each axis
GAIN = 1e-5  # of the log volume: less is not worth another round


@part
def turned_walls(surface: Walls, turn: Numbers) -> Walls:
    """Return the surface in the axes of *turn*, (3, 3)."""
    many = surface.spans.shape[0]
    corners, spans, blocks = np.empty((many, 3, 3)), np.empty((many, 6)), np.empty((surface.blocks.shape[0], 6))
    for b in range(blocks.shape[0]):
        blocks[b, :3], blocks[b, 3:] = 1e300, -1e300
        for t in range(b * BLOCK, min(spans.shape[0], (b + 1) * BLOCK)):
            for k in range(3):
                set_back(turn, surface.corners[t, k], corners[t, k])
            for i in range(3):
                spans[t, i] = min(corners[t, 0, i], corners[t, 1, i], corners[t, 2, i])
                spans[t, 3 + i] = max(corners[t, 0, i], corners[t, 1, i], corners[t, 2, i])
                blocks[b, i], blocks[b, 3 + i] = min(blocks[b, i], spans[t, i]), max(blocks[b, 3 + i], spans[t, 3 + i])
    return Walls(corners, spans, blocks)


@part
def _at_turn(
    surface: Walls, planes: Planes, corners: Numbers, wish: Wish, turn: Numbers, least: float, box: Numbers
) -> float:
    """Make *box*, in the axes of *turn*, clear and as large as can be near by; return its log volume or NEVER."""
    walls = turned_walls(surface, turn)
    rows, reach, q = np.empty((planes.limits.shape[0], 6)), np.empty(6), np.empty(3)
    for p in range(rows.shape[0]):
        set_back(turn, planes.normals[p], q)
        for i in range(3):
            rows[p, i], rows[p, 3 + i] = min(q[i], 0.0), max(q[i], 0.0)
    reach[:3], reach[3:] = 1e300, -1e300
    for c in range(corners.shape[0]):
        set_back(turn, corners[c], q)
        for i in range(3):
            reach[i], reach[3 + i] = min(reach[i], q[i] - 1e-12), max(reach[3 + i], q[i] + 1e-12)
    return climbed(walls, Halfspaces(rows, planes.limits), wish, reach, least, box)


@compiled
def grown(
    surface: Walls, planes: Planes, corners: Numbers, wish: Wish, axes: Indices, least: float,
    turn: Numbers, box: Numbers,
) -> float:  # fmt: skip
    """Make *box*, (6,), in the axes of *turn*, (3, 3), clear and large; turn both a little while that gives more.

    axes: about which of its own axes it may be turned, once it comes to more than *least*. Returns its log volume, or
    NEVER.
    """
    best = _at_turn(surface, planes, corners, wish, turn, least, box)
    if best == NEVER or best < least:
        return NEVER
    step = FIRST if axes.shape[0] else 0.0
    for _ in range(TRIES):
        gained = False
        for number in range(2 * axes.shape[0]):
            trial, other = np.empty((3, 3)), np.empty(6)
            _leaned(turn, box, axes[number // 2], step if number % 2 else -step, trial, other)
            value = _at_turn(surface, planes, corners, wish, trial, best, other)
            if value > best + GAIN:
                best, gained = value, True
                turn[:, :], box[:] = trial, other
        step = step if gained else step / 3.0
        if step <= LAST:
            break
    return best


@part
def _leaned(turn: Numbers, box: Numbers, axis: int, step: float, trial: Numbers, other: Numbers) -> None:
    """Set *trial* and *other* to the turn leaned by 2·atan(step) about its own axis, and the box about its middle."""
    vector, small, world, middle = np.zeros(3), np.empty((3, 3)), np.empty(3), np.empty(3)
    vector[axis] = step
    set_rodrigues(vector, small)
    set_product(turn, small, trial)
    for i in range(3):
        world[i] = 0.0
        for k in range(3):
            world[i] += turn[i, k] * 0.5 * (box[k] + box[3 + k])
    set_back(trial, world, middle)
    for i in range(3):
        half = 0.5 * (box[3 + i] - box[i])
        other[i], other[3 + i] = middle[i] - half, middle[i] + half
