"""Things drawn moved apart, each with a line from where it belongs."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from tapeloft.model.moments import Points
from tapeloft.model.stowed import Stowed

SPREAD = 0.35  # of how far a piece lies from the middle of all: how much farther out it is drawn
LIFT = 0.08  # of the diagonal: how far what lies on or under another is drawn off it
THICK = 0.08  # m: things none of which is thicker, along some axis, lie in layers there
LEVEL = 0.002  # m: a layer


def moved_apart(things: Sequence[Stowed]) -> list[Stowed]:
    """Return things drawn apart along the axes: pieces of a layer from their middle, layers from the largest piece.

    >>> from tapeloft.model.facets import body
    >>> from tapeloft.shapes.polyhedron import box
    >>> board = Stowed("board", body(box((0, 0, 0), (1, 1, 0.02))))
    >>> bearer = Stowed("bearer", body(box((0.4, 0, -0.04), (0.6, 1, 0))))
    >>> low = [round(float(one.body.bounds[0, 2]), 3) for one in moved_apart([board, bearer])]
    >>> low[0], low[1] < -0.1
    (0.0, True)
    """
    if not things:
        return []
    bounds = np.array([one.body.bounds for one in things])
    middles = bounds.mean(axis=1)
    whole = np.array([bounds[:, 0].min(axis=0), bounds[:, 1].max(axis=0)])
    largest = int(np.argmax([one.body.volume for one in things]))
    off = middles - whole.mean(axis=0)
    layered = (bounds[:, 1] - bounds[:, 0]).max(axis=0) < THICK
    over = middles - middles[largest]
    lifts = np.where(layered & (np.abs(over) > LEVEL), np.sign(over), 0.0)
    lifted = lifts.any(axis=1, keepdims=True)
    away = LIFT * float(np.linalg.norm(np.ptp(whole, axis=0))) * lifts
    moves = np.where(lifted, away, np.where(layered, 0.0, SPREAD * off))
    return [_moved(one, middle, by) for one, middle, by in zip(things, middles, moves, strict=True)]


def _moved(one: Stowed, middle: Points, by: Points) -> Stowed:
    if not by.any():
        return one
    a, b = middle.tolist(), (middle + by).tolist()
    return replace(one, body=one.body.moved(by.tolist()), leader=((a[0], a[1], a[2]), (b[0], b[1], b[2])))
