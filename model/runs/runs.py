"""The longest clear straight line fore and aft, athwartships and upright, and where it is.

Along an axis the length of clear line over a point of the plane changes linearly until an edge of the solid is
passed, so the longest is found as a limit at a corner of the pattern that the edges make on the plane: the shadow
of a vertex, or of two edges that cross. The search halves the plane both ways again and again, and drops a pane
when no line through it can beat the best found. What is left when few triangles remain over a pane is settled
corner by corner, from each of the sides a corner can be come to.
"""

from dataclasses import dataclass

import numpy as np

from tapeloft.model.moments import Points
from tapeloft.model.runs.panes import Flags, Indices, Panes, heights, longest_possible, meeting, one_pane
from tapeloft.model.runs.shadow import Numbers, Shadow, shadow
from tapeloft.model.solid import Solid

Point = tuple[float, float, float]

FEW = 24  # triangles over a pane that is settled corner by corner
HALVINGS = 10  # after which a pane is settled however many lie over it
PATIENCE = 500_000  # pairs of pane and triangle looked at before the search stops proving
AT_ONCE = 1000  # triangles over the panes settled together
ASIDE = np.array([0.137, 0.071])  # where in a pane its trial line goes: not on the lines that surveys favour
NARROW = 1e-9  # rad. Two edges closer than this in direction leave no room between them


@dataclass(frozen=True)
class Run:
    """The longest straight line along `axis` (0 x, 1 y, 2 z) that stays inside a solid, m, with its two ends.

    It is the limit of lines in the open inside, so it may itself lie along a face or an edge; a line that only
    slips through where two bodies touch does not count. No clear line is longer than limit_m: the length and a
    billionth of the solid's size, or more where the search was cut short.
    """

    axis: int
    length_m: float
    limit_m: float
    start_m: Point
    end_m: Point


@dataclass(frozen=True, eq=False)
class _Line:
    length: float
    at: Points  # (2,) in the plane
    start: float  # along the axis


@dataclass(frozen=True, eq=False)
class _Edges:
    """Edges that meet panes, e in all, each once a pane, sorted by pane."""

    pane: Indices
    start: Points  # (e, 2)
    way: Points  # (e, 2) of length one
    length: Numbers
    crease: Flags  # whether clear length bends there


NONE = _Line(0.0, np.zeros(2), 0.0)


def clear_runs(solid: Solid) -> tuple[Run, Run, Run]:
    """Return the longest clear lines along x, y and z inside *solid*, exact for the mesh.

    Exact means to a billionth of the solid's size. On a mesh so intricate that the panes would have more than half
    a million triangles over them in all, the search stops, and limit_m says how much longer a line could be. An
    empty solid has lines of no length at the origin.

    >>> from tapeloft.model.facets import body
    >>> from tapeloft.shapes.polyhedron import box
    >>> [round(run.length_m, 9) for run in clear_runs(body(box((0, 0, 0), (2, 1, 0.5))))]
    [2.0, 1.0, 0.5]
    """
    x, y, z = (_run(solid, axis) for axis in range(3))
    return x, y, z


def _run(solid: Solid, axis: int) -> Run:
    if solid.is_empty:
        return Run(axis, 0.0, 0.0, (0.0, 0.0, 0.0), (0.0, 0.0, 0.0))
    seen = shadow(solid, axis)
    panes, best, limit, looked = one_pane(seen), NONE, 0.0, 0
    for halving in range(HALVINGS + 1):
        best = _longer(best, _trial(seen, panes))
        bound = longest_possible(seen, panes)
        looked += len(panes.pane)
        if looked > PATIENCE:
            limit = float(bound.max())
            break
        few = (panes.counts() <= FEW) | (halving == HALVINGS)
        best = _settled(seen, panes, np.where(few, bound, 0.0), best)
        hopeful = ~few & (bound > best.length + seen.near)
        if not hopeful.any():
            break
        panes = panes.chosen(hopeful).halved(seen)
    return _stated(seen, best, max(limit, best.length + seen.near))


def _stated(seen: Shadow, line: _Line, limit: float) -> Run:
    ends = np.empty((2, 3))
    ends[:, seen.axis] = line.start, line.start + line.length
    ends[:, [(seen.axis + 1) % 3, (seen.axis + 2) % 3]] = line.at + seen.middle
    (x0, y0, z0), (x1, y1, z1) = ends.tolist()
    return Run(seen.axis, line.length, limit, (x0, y0, z0), (x1, y1, z1))


def _longer(best: _Line, other: _Line) -> _Line:
    return other if other.length > best.length else best


def _trial(seen: Shadow, panes: Panes) -> _Line:
    """The best of one line through each pane."""
    aside = ASIDE * panes.half
    inside = panes.inside + seen.inward[panes.triangle] @ aside
    hit = (inside > -seen.near).all(axis=1)
    grazed = hit & (inside <= seen.near).any(axis=1)
    doubtful = np.bincount(panes.pane[grazed], minlength=len(panes.centre)) > 0
    hit &= ~doubtful[panes.pane]
    return _best(seen, panes.centre + aside, panes.pane[hit], panes.triangle[hit])


def _best(seen: Shadow, at: Points, line: Indices, triangle: Indices) -> _Line:
    """The longest stretch inside on lines through points *at*, (n, 2), each pair (line, triangle) being a hit.

    Lines whose ways in and ways out do not take turns are left out.
    """
    along, leaves = heights(seen, at[line], triangle), seen.leaves[triangle]
    odd = np.bincount(line, leaves, len(at)) != 0
    order = np.lexsort((along, line))
    order = order[~odd[line[order]]]
    line, along, leaves = line[order], along[order], leaves[order]
    depth = -np.cumsum(leaves)[:-1]
    gap = np.where(line[1:] == line[:-1], np.diff(along), 0.0)
    gap[gap <= seen.near] = 0.0
    muddled = np.bincount(line[:-1][(gap > 0) & (depth != 0) & (depth != 1)], minlength=len(at)) > 0
    gap[(depth != 1) | muddled[line[:-1]]] = 0.0
    if not gap.any():
        return NONE
    k = int(gap.argmax())
    return _Line(float(gap[k]), at[line[k]], float(along[k]))


def _settled(seen: Shadow, panes: Panes, bound: Numbers, best: _Line) -> _Line:
    """The best line of all over panes that hold few triangles, those that promise most first."""
    order = np.argsort(-bound, kind="stable")
    ends = np.cumsum(panes.counts()[order])
    for some in np.split(order, np.searchsorted(ends, np.arange(AT_ONCE, ends[-1], AT_ONCE))):
        keep = np.zeros(len(order), bool)
        keep[some] = bound[some] > best.length + seen.near
        if not keep.any():
            continue
        best = _at_corners(seen, panes.chosen(keep), best)
    return best


def _at_corners(seen: Shadow, panes: Panes, best: _Line) -> _Line:
    edges = _edges(seen, panes)
    at, pane = _corners(seen, panes, edges)
    corner, pair = _joined(pane, panes.pane, len(panes.centre))
    triangle = panes.triangle[pair]
    inside = np.einsum("pij,pj->pi", seen.inward[triangle], at[corner]) - seen.offset[triangle]
    over = (inside >= -seen.near).all(axis=1)
    corner, triangle, inside = corner[over], triangle[over], inside[over]
    hopeful = _hope(seen, at, corner, triangle, (inside > seen.near).all(axis=1)) > best.length + seen.near
    if not hopeful.any():
        return best
    number = np.cumsum(hopeful) - 1
    over = hopeful[corner]
    corner, triangle, inside = number[corner[over]], triangle[over], inside[over]
    at, pane = at[hopeful], pane[hopeful]
    origin, toward = _ways(seen, at, pane, edges, len(panes.centre))
    way, pair = _joined(origin, corner, len(at))
    triangle, inside = triangle[pair], inside[pair]
    gain = np.einsum("pij,pj->pi", seen.inward[triangle], toward[way])
    hit = ((inside > seen.near) | (gain > 0)).all(axis=1)
    return _longer(best, _best(seen, at[origin], way[hit], triangle[hit]))


def _edges(seen: Shadow, panes: Panes) -> _Edges:
    met = meeting(seen, panes)
    key = panes.pane * len(seen.leaves) + panes.triangle
    mates = seen.mates[panes.triangle]
    twin = np.isin(panes.pane[:, None] * len(seen.leaves) + mates, key) & (mates >= 0)
    pair, side = np.nonzero(met & ~(twin & (mates < panes.triangle[:, None])))
    triangle = panes.triangle[pair]
    start, end = seen.corners[triangle, side], seen.corners[triangle, (side + 1) % 3]
    length = np.linalg.norm(end - start, axis=1)
    return _Edges(panes.pane[pair], start, (end - start) / length[:, None], length, seen.crease[triangle, side])


def _corners(seen: Shadow, panes: Panes, edges: _Edges) -> tuple[Points, Indices]:
    """Where creases end and where two cross, within the panes: (n, 2) points and their panes, each once."""
    bend = np.flatnonzero(edges.crease)
    pane, start, way, length = edges.pane[bend], edges.start[bend], edges.way[bend], edges.length[bend]
    a, b = _joined(pane, pane, len(panes.centre))
    a, b = a[a < b], b[a < b]
    turn = way[a, 0] * way[b, 1] - way[a, 1] * way[b, 0]
    slant = np.abs(turn) > NARROW
    a, b, turn = a[slant], b[slant], turn[slant]
    across = start[b] - start[a]
    on_a = (across[:, 0] * way[b, 1] - across[:, 1] * way[b, 0]) / turn
    on_b = (across[:, 0] * way[a, 1] - across[:, 1] * way[a, 0]) / turn
    near = seen.near
    cross = (on_a >= -near) & (on_a <= length[a] + near) & (on_b >= -near) & (on_b <= length[b] + near)
    crossing = start[a[cross]] + on_a[cross, None] * way[a[cross]]
    at = np.concatenate([crossing, start, start + length[:, None] * way])
    pane = np.concatenate([pane[a[cross]], pane, pane])
    within = (np.abs(at - panes.centre[pane]) <= panes.half + near).all(axis=1)
    at, pane = at[within], pane[within]
    cell = np.round(at / near)
    order = np.lexsort((cell[:, 1], cell[:, 0], pane))
    at, pane, cell = at[order], pane[order], cell[order]
    new = np.ones(len(at), bool)
    new[1:] = (np.diff(pane) != 0) | (np.diff(cell, axis=0) != 0).any(axis=1)
    return at[new], pane[new]


def _hope(seen: Shadow, at: Points, corner: Indices, triangle: Indices, firm: Flags) -> Numbers:
    """A length, (n,), that no limit at each corner passes: only triangles right around it, *firm*, stop a line."""
    along = heights(seen, at[corner], triangle)
    low, high = np.full(len(at), np.inf), np.full(len(at), -np.inf)
    np.minimum.at(low, corner, along)
    np.maximum.at(high, corner, along)
    every = np.arange(len(at))
    line, stop = np.concatenate([corner[firm], every, every]), np.concatenate([along[firm], low, high])
    order = np.lexsort((stop, line))
    line, stop = line[order], stop[order]
    hope = np.zeros(len(at))
    np.maximum.at(hope, line[1:], np.where(line[1:] == line[:-1], np.diff(stop), 0.0))
    return hope


def _ways(seen: Shadow, at: Points, pane: Indices, edges: _Edges, panes: int) -> tuple[Indices, Points]:
    """Each side from which a corner can be come to: the corner, (w,), and the way out of it, (w, 2).

    One for each gap between the directions of the edges that pass through the corner, carried on both ways.
    """
    corner, edge = _joined(pane, edges.pane, panes)
    off, way = at[corner] - edges.start[edge], edges.way[edge]
    beyond = np.einsum("pj,pj->p", off, way)
    aside = np.abs(off[:, 0] * way[:, 1] - off[:, 1] * way[:, 0])
    through = (aside <= seen.near) & (beyond >= -seen.near) & (beyond <= edges.length[edge] + seen.near)
    corner, way = corner[through], way[through]
    angle = np.arctan2(way[:, 1], way[:, 0]) % np.pi
    corner, angle = np.concatenate([corner, corner]), np.concatenate([angle, angle + np.pi])
    order = np.lexsort((angle, corner))
    corner, angle = corner[order], angle[order]
    last = np.append(np.diff(corner) != 0, True)
    first = np.append(True, last[:-1])
    after = np.roll(angle, -1)
    after[last] = angle[first] + 2 * np.pi
    wide = after - angle > NARROW
    middle = (angle + after)[wide] / 2
    return corner[wide], np.column_stack([np.cos(middle), np.sin(middle)])


def _joined(groups: Indices, others: Indices, count: int) -> tuple[Indices, Indices]:
    """Every pair of an item of *groups* and one of *others* (sorted) in the same group of *count*: two (n,)."""
    size = np.bincount(others, minlength=count)
    start = np.cumsum(size) - size
    each = size[groups]
    item = np.repeat(np.arange(len(groups)), each)
    return item, np.arange(len(item)) - np.repeat(np.cumsum(each) - each, each) + start[groups][item]
