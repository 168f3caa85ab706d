"""Weights that close the ends of a search as the second check sees them: those of the search, or found anew."""

from typing import Any

import numpy as np

from tapeloft.model.errors import TapeloftError
from tapeloft.model.proof.turned.record import Node
from tapeloft.model.recheck.rows import Cuts, Indices, Numbers, Sought, ball_rows, cut_rows, rotation, wall_rows
from tapeloft.model.recheck.tree import Part, Place, worth

ROUNDS = 12
ELASTIC = 1e3  # what it costs to break a row by one: so that a program with nothing in it has weights too
LIGHT = 1e-11  # a weight under this is none
BROKEN = 1e-9


def closing(part: Part, sought: Sought, place: Place, node: Node, axes: Indices, limit: float) -> dict[str, Any] | None:
    """Return an end of a certificate that proves no more than *limit*; None where no weights are found that do."""
    at = np.zeros(len(sought.low) + 3)
    if node.at is not None:
        at[: len(sought.low)] = node.at[: len(sought.low)]
        at[len(sought.low) + axes] = node.at[len(sought.low) :]
    known = _recorded(sought, place, node, at)
    if known is not None and worth(part, sought, place, known) <= limit:
        return known
    sides = np.full(len(sought.log_start), 0.1) if node.sides is None else node.sides
    return _weighed(part, sought, place, at, sides, limit)


def _recorded(sought: Sought, place: Place, node: Node, at: Numbers) -> dict[str, Any] | None:
    """Return the end with the weights of the search; None where a cut of it is not on the way."""
    if node.cuts is None or node.walls is None or node.pushes is None or node.weights is None or node.sides is None:
        return None
    known = {_key(place.cuts, j): j for j in range(len(place.cuts.faces))}
    own = Cuts(node.cuts.points, node.cuts.faces, node.cuts.senses)
    which = [known.get(_key(own, j), -1) for j in range(len(own.faces))]
    if min(which, default=0) < 0:
        return None
    pieces = best_cuts(sought, place, np.array(which, np.int64), at)[0]
    walls = np.column_stack([node.walls, node.pushes]).reshape(-1, 4)
    cuts = np.column_stack([which, pieces, node.weights]).reshape(-1, 3)
    return _told(walls, cuts, node.sides)


def _key(cuts: Cuts, j: int) -> tuple[bytes, int, float]:
    return cuts.points[j].tobytes(), int(cuts.faces[j]), float(cuts.senses[j])


def _told(walls: Numbers, cuts: Numbers, sides: Numbers) -> dict[str, Any]:
    """Return an end as a certificate has it."""
    told = {
        "walls": [[int(a), int(b), int(c), _short(w)] for a, b, c, w in walls.tolist() if w > LIGHT],
        "cuts": [[int(a), int(b), _short(w)] for a, b, w in cuts.tolist() if w > LIGHT],
        "sides": [_short(s) for s in sides.tolist()],
    }
    return {key: value for key, value in told.items() if value}


def _short(weight: float) -> float:
    return float(f"{weight:.9g}")


def best_cuts(sought: Sought, place: Place, which: Indices, at: Numbers) -> tuple[Indices, Numbers, Numbers]:
    """Return for some cuts which of McCormick's planes hold best at a place, (n + 3,), their rows and limits."""
    some = Cuts(place.cuts.points[which], place.cuts.faces[which], place.cuts.senses[which])
    tried = [cut_rows(sought, place.view, some, np.full(len(which), k), *place.bounds) for k in range(8)]
    return _best(tried, at)


def best_walls(
    part: Part, sought: Sought, place: Place, planes: Indices, corners: Indices, at: Numbers
) -> tuple[Indices, Numbers, Numbers]:
    """Return for some walls the same."""
    tried = [
        wall_rows(
            sought, place.view, part.normals[planes], part.limits[planes], corners, np.full(len(planes), k),
            *place.bounds,
        )
        for k in range(8)
    ]  # fmt: skip
    return _best(tried, at)


def _best(tried: list[tuple[Numbers, Numbers]], at: Numbers) -> tuple[Indices, Numbers, Numbers]:
    rows, limits = np.stack([r for r, _ in tried]), np.stack([b for _, b in tried])
    pieces = (rows @ at - limits).argmax(axis=0)
    each = np.arange(len(pieces))
    return pieces, rows[pieces, each], limits[pieces, each]


def _weighed(
    part: Part, sought: Sought, place: Place, at: Numbers, sides: Numbers, limit: float
) -> dict[str, Any] | None:
    """Return an end with weights from linear programs, in which what is broken is brought in.

    What weighs on several tangents of a logarithm weighs no less on the one whose slope is their mean.
    """
    n = len(sought.low)
    low = np.concatenate([place.bounds[0], place.view.low])
    high = np.concatenate([place.bounds[1], place.view.high])
    every, touched = np.arange(len(place.cuts.faces)), sides[None]
    names, rows, limits = np.empty((0, 4)), np.empty((0, n + 3)), np.empty(0)
    for _ in range(ROUNDS):
        at = np.clip(at, low, high)
        more = _broken(part, sought, place, every, at)
        names, rows, limits = np.vstack([names, more[0]]), np.vstack([rows, more[1]]), np.append(limits, more[2])
        at, weights, slopes = _solved(sought, touched, rows, limits, low, high)
        walls, cuts = names[:, 0] >= 0, names[:, 0] < 0
        found = _told(
            np.column_stack([names[walls, :3], weights[walls]]), np.column_stack([names[cuts, 1:3], weights[cuts]]),
            1 / slopes,
        )  # fmt: skip
        if worth(part, sought, place, found) <= limit:
            return found
        touched = np.vstack([touched, np.maximum(sought.log_rows @ at[:n] + sought.log_start, 1e-4)])
    return None


def _broken(part: Part, sought: Sought, place: Place, every: Indices, at: Numbers) -> tuple[Numbers, Numbers, Numbers]:
    """Return the walls and cuts that are broken at a place: plane, corner, pieces; −1, cut, pieces."""
    n = len(sought.low)
    turn = place.view.frame @ rotation(at[n:] / 2)
    corners = (sought.corner_rows @ at[:n] + sought.corner_start) @ turn.T
    planes = np.arange(len(part.normals))
    worst = (corners @ part.normals.T).argmax(axis=0)
    pieces, rows, limits = best_walls(part, sought, place, planes, worst, at)
    own, cut, most = best_cuts(sought, place, every, at)
    balls, radii = ball_rows(sought, part.normals, part.limits)
    held = planes[: len(radii)]
    names = np.vstack([
        np.column_stack([planes, worst, pieces, planes * 0]),
        np.column_stack([held, held * 0 + len(sought.corner_start), held * 0, held * 0]),
        np.column_stack([every * 0 - 1, every, own, every * 0]),
    ])  # fmt: skip
    rows = np.vstack([rows, np.pad(balls, ((0, 0), (0, 3))), cut])
    limits = np.concatenate([limits, radii, most])
    over = rows @ at - limits > BROKEN
    return names[over].astype(np.float64), rows[over], limits[over]


def _solved(
    sought: Sought, touched: Numbers, rows: Numbers, limits: Numbers, low: Numbers, high: Numbers
) -> tuple[Numbers, Numbers, Numbers]:
    """Return where a thing is worth most, the weights of the rows, and the mean slopes, (L,), of the tangents there.

    touched: sides, (k, L), at which the logarithms are put under their tangents.
    """
    from scipy.optimize import linprog

    size, logs, many = len(low), len(sought.log_start), len(touched)
    cost = np.concatenate([-sought.gain, np.zeros(3), [ELASTIC], -np.ones(logs)])
    above = np.zeros((many * logs, len(cost)))
    for k, sides in enumerate(touched):
        for s in range(logs):
            above[k * logs + s, : len(sought.gain)] = -sought.log_rows[s] / sides[s]
            above[k * logs + s, size + 1 + s] = 1.0
    tops = (np.log(touched) - 1 + sought.log_start / touched).ravel()
    elastic = np.column_stack([rows, -np.ones(len(rows)), np.zeros((len(rows), logs))])
    bounds = [*zip(low, high, strict=True), (0.0, None), *[(-50.0, 50.0)] * logs]
    answer = linprog(cost, A_ub=np.vstack([elastic, above]), b_ub=np.append(limits, tops), bounds=bounds)
    if answer.x is None:
        raise TapeloftError("no certificate can be made: a linear program of its ends has no answer")
    weights = np.maximum(-answer.ineqlin.marginals, 0.0)
    shares = weights[len(rows) :].reshape(many, logs) + 1e-12
    slopes = (shares / touched).sum(axis=0) / shares.sum(axis=0)
    return answer.x[:size], weights[: len(rows)], slopes
