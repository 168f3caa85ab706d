"""The tree of a certificate walked: cells and ways must cover what they came from; bounds are drawn in on the way."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np

from tapeloft.model.recheck.rows import (
    ROUND,
    Cuts,
    Numbers,
    Sought,
    View,
    ball_rows,
    cut_rows,
    drawn_in,
    reach_rows,
    seen,
    value,
    wall_rows,
)
from tapeloft.model.recheck.turns import is_needed

APART = 12  # of the faces before its own that a way is covered by
ON_THE_WAY, AT_THE_END = 3, 24  # times that bounds are drawn in
FAR = 4  # corners that each of them is looked at for
AROUND = 6  # planes of which those that come first are always looked at


class Unsound(Exception):
    """What is wrong with a certificate, in words."""


@dataclass(frozen=True, eq=False)
class Part:
    """One body: its corners, planes that hold it, witness points, and the nodes of its trees; unit of the diagonal."""

    vertices: Numbers
    normals: Numbers
    limits: Numbers
    points: Numbers
    nodes: list[dict[str, Any]]


class Place(NamedTuple):
    """Where in a tree one is: the cell, what holds in it, the bounds of u, and the cuts on the way."""

    low: Numbers
    high: Numbers
    view: View
    fixed: tuple[Numbers, Numbers]
    bounds: tuple[Numbers, Numbers]
    cuts: Cuts


def part_of(vertices: Numbers, planes: Any, points: Any, nodes: list[dict[str, Any]]) -> Part:
    """Return a part; its planes lie where they hold all of it."""
    normals = np.array(planes, np.float64).reshape(-1, 3)
    limits = (vertices @ normals.T).max(axis=0) + ROUND
    return Part(vertices, normals, limits, np.array(points, np.float64).reshape(-1, 3), nodes)


def ends(
    part: Part, sought: Sought, base: Numbers, low: Numbers, high: Numbers, first: int, norm: float, limit: float
) -> Iterator[tuple[int, Place]]:  # fmt: skip
    """Yield every end of a tree that bounds alone do not close: what in it is worth more than *limit* is yet open.

    Raises Unsound where a split does not cover what was split.
    """
    none = Cuts(np.empty((0, 3)), np.empty(0, np.int64), np.empty(0))
    todo = [(first, _in_cell(part, sought, base, low, high, (sought.low, sought.high), none))]
    visited = 0
    while todo:
        number, place = todo.pop()
        visited += 1
        if number not in range(len(part.nodes)) or visited > len(part.nodes):
            raise Unsound("a branch of the tree is missing")
        is_end = "to" not in part.nodes[number]
        narrowed = _narrowed(part, sought, place, limit, AT_THE_END if is_end else ON_THE_WAY)
        if narrowed is None:
            continue
        if is_end:
            yield number, narrowed
        if "to" in part.nodes[number]:  # an end may be split by whoever asked
            todo += _below(part, sought, base, narrowed, part.nodes[number], norm)


def _in_cell(
    part: Part, sought: Sought, base: Numbers, low: Numbers, high: Numbers, bounds: tuple[Numbers, Numbers], cuts: Cuts
) -> Place:  # fmt: skip
    view = seen(base, low, high)
    reach, ball = reach_rows(sought, view, part.vertices), ball_rows(sought, part.normals, part.limits)
    fixed = np.vstack([reach[0], ball[0]]), np.concatenate([reach[1], ball[1]])
    return Place(low, high, view, fixed, bounds, cuts)


def _narrowed(part: Part, sought: Sought, place: Place, limit: float, sweeps: int) -> Place | None:
    """Return the place with its bounds drawn in; None where nothing is left."""
    (low, high), view = place.bounds, place.view
    middle = np.append((low + high) / 2, np.zeros(3))
    corners = (sought.corner_rows @ middle[:-3] + sought.corner_start) @ view.frame.T
    worst = np.argsort(-(corners @ part.normals[:AROUND].T), axis=0)[:FAR].T.ravel()
    planes = np.repeat(np.arange(len(part.normals[:AROUND])), min(FAR, len(corners)))
    walls = wall_rows(sought, view, part.normals[planes], part.limits[planes], worst, middle, low, high)
    cuts = cut_rows(sought, view, place.cuts, middle, low, high)
    rows = np.vstack([walls[0], cuts[0]]), np.concatenate([walls[1], cuts[1]])
    bounds = drawn_in(sought, place.fixed, rows, view, limit, low, high, sweeps)
    return None if bounds is None else place._replace(bounds=bounds)


def _below(
    part: Part, sought: Sought, base: Numbers, place: Place, node: dict[str, Any], norm: float
) -> list[tuple[int, Place]]:  # fmt: skip
    if "halve" in node:
        return _halves(part, sought, base, place, node, norm)
    order, to = [int(j) for j in node["order"]], node["to"]
    point = int(node["past"])
    if sorted(order) != list(range(len(sought.normals))) or len(to) != len(order):
        raise Unsound("the ways past a point leave one out")
    if not 0 <= point < len(part.points):
        raise Unsound("a witness point is missing")
    return [(child, place._replace(cuts=_with_way(place.cuts, part.points[point], order, k)))
            for k, child in enumerate(to)]  # fmt: skip


def _with_way(cuts: Cuts, point: Numbers, order: list[int], k: int) -> Cuts:
    """Return the cuts of the way beyond the k-th face, covered by some before it."""
    faces = [order[k], *order[: min(k, APART)]]
    senses = np.append(1.0, -np.ones(len(faces) - 1))
    return Cuts(
        np.vstack([cuts.points, np.repeat(point[None], len(faces), axis=0)]), np.append(cuts.faces, faces),
        np.append(cuts.senses, senses),
    )  # fmt: skip


def _halves(
    part: Part, sought: Sought, base: Numbers, place: Place, node: dict[str, Any], norm: float
) -> list[tuple[int, Place]]:  # fmt: skip
    axis, found = int(node["halve"]), []
    if axis not in range(3) or len(node["to"]) != 2:
        raise Unsound("a cell of turns is not halved")
    middle = (place.low[axis] + place.high[axis]) / 2
    for child, ends_at in zip(node["to"], (place.high, place.low), strict=True):
        low, high = place.low.copy(), place.high.copy()
        (high if ends_at is place.high else low)[axis] = middle
        if child is None and is_needed(low, high, norm):
            raise Unsound("a cell of turns is left out")
        if child is not None:
            found.append((child, _in_cell(part, sought, base, low, high, place.bounds, place.cuts)))
    return found


def worth(part: Part, sought: Sought, place: Place, node: dict[str, Any]) -> float:
    """Return what the weights of an end prove: nothing in it is worth more. Raises Unsound where they are none."""
    walls = np.array(node.get("walls", []), np.float64).reshape(-1, 4)
    cuts = np.array(node.get("cuts", []), np.float64).reshape(-1, 3)
    sides = np.array(node.get("sides", []), np.float64)
    weights = np.concatenate([walls[:, 3], cuts[:, 2]])
    numbers = np.concatenate([walls[:, :2].ravel(), cuts[:, 0]])
    if not np.isfinite(weights).all() or (weights < 0).any() or (numbers < 0).any():
        raise Unsound("an end has weights that prove nothing")
    if len(sides) != len(sought.log_start) or not (np.isfinite(sides) & (sides > 0)).all():
        raise Unsound("an end has no sides to weigh")
    rows, limits = _rows(part, sought, place, walls, cuts)
    low = np.concatenate([place.bounds[0], place.view.low])
    high = np.concatenate([place.bounds[1], place.view.high])
    return value(sought, rows, limits, weights, sides, low, high)


def _rows(part: Part, sought: Sought, place: Place, walls: Numbers, cuts: Numbers) -> tuple[Numbers, Numbers]:
    (low, high), view = place.bounds, place.view
    planes, corners, pieces = walls[:, :3].astype(np.int64).T
    if (corners == len(sought.corner_start)).any() and sought.ball is None:
        raise Unsound("an end weighs a ball that the thing does not hold")
    which, own = cuts[:, :2].astype(np.int64).T
    first = wall_rows(sought, view, part.normals[planes], part.limits[planes], corners, pieces, low, high)
    some: Cuts = Cuts(place.cuts.points[which], place.cuts.faces[which], place.cuts.senses[which])
    second = cut_rows(sought, view, some, own, low, high)
    return np.vstack([first[0], second[0]]), np.concatenate([first[1], second[1]])
