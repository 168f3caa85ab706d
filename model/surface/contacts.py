"""Where a triangle mesh meets itself: the test that needs to know nothing of how the mesh was made.

Two triangles may share a corner or an edge, by number; any other point in common is a contact. Disjoint convex
bodies are parted by a plane square to a face of one or parallel to an edge of each (the separating axis theorem;
Gottschalk, Lin, Manocha, "OBBTree", SIGGRAPH 1996), so each pair is tried against that short list of directions.
"""

from collections.abc import Iterable, Iterator
from functools import reduce

import numpy as np
from numpy.typing import NDArray

from tapeloft.model.moments import Points, Triangles, triangle_areas

Mask = NDArray[np.bool_]
Numbers = NDArray[np.int64]
APART = 1e-12  # of the mesh's size: triangles closer than this touch
FACETS = np.array(
    [[1, 0, 0], [0, 1, 0], [0, 0, 1], [1, 1, 0], [1, -1, 0], [1, 0, 1], [1, 0, -1], [0, 1, 1], [0, 1, -1]]
)
BATCH = 1 << 17  # pairs looked at in one go, so that a large mesh needs no large memory


def self_contacts(vertices: Points, triangles: Triangles) -> Triangles:
    """Return the pairs of triangles, (k, 2), that have more in common than the corners or the edge they share.

    vertices (n, 3) float64, m; triangles (m, 3). Corners are shared by number; the two ends of an edge of no
    length count as one corner, and triangles of no area are passed over. Triangles that only touch are reported,
    and so are two laid flat on each other. Nothing closer than 1e-12 of the mesh's size is told from touching.

    >>> v = np.array([[0, 0, 0], [2, 0, 0], [0, 2, 0], [0.5, 0.5, -1], [0.5, 0.5, 1], [3, 3, 1.0]])
    >>> self_contacts(v, np.array([[0, 1, 2], [3, 4, 5]])).tolist()
    [[0, 1]]
    >>> self_contacts(v * [1, 1, 0] + [0, 0, 1] * (v[:, 2:] != 0), np.array([[0, 1, 2], [3, 4, 5]])).tolist()
    []
    """
    none = np.zeros((0, 2), np.int64)
    if not len(triangles):
        return none
    centred = vertices - vertices.mean(axis=0)
    least = APART * float(np.abs(centred).max())
    numbers = _joined(centred, triangles, least)[triangles]
    solid = np.flatnonzero(triangle_areas(centred, triangles) > least * np.abs(centred).max())
    numbers, corners = numbers[solid], centred[triangles[solid]]
    found = [_meeting(pairs, numbers, corners, least) for pairs in _neighbours(corners, least)]
    contacts: Triangles = np.sort(solid[np.concatenate([*found, none])], axis=1)
    return contacts[np.lexsort(contacts.T[::-1])]


def _joined(vertices: Points, triangles: Triangles, least: float) -> Numbers:
    """Return for each vertex the lowest number among those it is joined to by edges of no length."""
    edges = triangles[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2)
    edges = edges[(np.abs(vertices[edges[:, 0]] - vertices[edges[:, 1]]) <= least).all(axis=1)]
    lowest = np.arange(len(vertices))
    while (lowest[edges[:, 0]] != lowest[edges[:, 1]]).any():
        lower = lowest[edges].min(axis=1)
        np.minimum.at(lowest, edges[:, 0], lower)
        np.minimum.at(lowest, edges[:, 1], lower)
    return lowest


def _neighbours(corners: Points, slack: float) -> Iterator[Triangles]:
    """Yield, in batches, the pairs of triangles whose extents along every one of `FACETS` meet."""
    seen = corners @ FACETS.T
    low, high = seen.min(axis=1) - slack, seen.max(axis=1) + slack
    along = min(range(len(FACETS)), key=lambda axis: int(_runs(low[:, axis], high[:, axis])[1].sum()))
    order, ahead = _runs(low[:, along], high[:, along])
    lows, highs = np.ascontiguousarray(low[order].T), np.ascontiguousarray(high[order].T)
    done = np.concatenate([[0], np.cumsum(ahead)])
    start = 0
    while start < len(order):
        stop = max(start + 1, int(np.searchsorted(done, done[start] + BATCH, side="right")) - 1)
        first = np.repeat(np.arange(start, stop), ahead[start:stop])
        second = first + 1 + np.arange(len(first)) - (done[first] - done[start])
        for low, high in zip(lows, highs, strict=True):
            meet = (low[first] <= high[second]) & (low[second] <= high[first])
            first, second = first[meet], second[meet]
        yield order[np.column_stack([first, second])]
        start = stop


def _runs(low: Points, high: Points) -> tuple[Numbers, Numbers]:
    """Return the order of rising *low*, and for each in that order how many after it begin before it ends."""
    order = np.argsort(low, kind="stable")
    return order, np.searchsorted(low[order], high[order], side="right") - np.arange(1, len(order) + 1)


def _meeting(pairs: Triangles, numbers: Triangles, corners: Points, least: float) -> Triangles:
    """Return those of *pairs* that have more in common than what they share by number."""
    same = numbers[pairs[:, 0], :, None] == numbers[pairs[:, 1], None, :]
    shared = same.sum(axis=(1, 2))
    meets = shared == 3
    for count, test in enumerate((_overlapping, _hinged, _folded)):
        some = np.flatnonzero(shared == count)
        # components first, (3 corners, 3, k), so that every sum below runs along the pairs
        first, second = (np.ascontiguousarray(np.moveaxis(corners[pairs[some, i]], 0, 2)) for i in (0, 1))
        meets[some] = test(first, second, same[some], least)
    met: Triangles = pairs[meets]
    return met


def _overlapping(first: Points, second: Points, same: Mask, least: float) -> Mask:
    """Return which pairs, with no corner shared, meet."""
    meets = np.ones(first.shape[2], bool)
    for directions in (_upright, _across, _beside):
        left = np.flatnonzero(meets)
        one, two = first[:, :, left], second[:, :, left]
        meets[left] = ~_parted(one, two, directions(one, two), least)
    return meets


def _upright(first: Points, second: Points) -> Iterator[Points]:
    return (_cross(*_edges(body)[:2]) for body in (first, second))


def _across(first: Points, second: Points) -> Iterator[Points]:
    return (_cross(edge, other) for edge in _edges(first) for other in _edges(second))


def _beside(first: Points, second: Points) -> Iterator[Points]:
    """Yield the directions that part triangles lying in one plane."""
    for body in (first, second):
        edges = _edges(body)
        normal = _cross(*edges[:2])
        yield from (_cross(normal, edge) for edge in edges)


def _hinged(first: Points, second: Points, same: Mask, least: float) -> Mask:
    """Return which pairs, with one corner shared, meet elsewhere.

    A ray from the shared corner that runs in both leaves one of them through its far edge, within the other.
    """
    far = _edge_after(first, np.any(same, 2).argmax(axis=1))
    other = _edge_after(second, np.any(same, 1).argmax(axis=1))
    return _pierced(far, second, least) | _pierced(other, first, least)


def _pierced(edge: Points, triangle: Points, least: float) -> Mask:
    """Return which edges, (2, 3, k), meet their triangle."""
    edges, along = _edges(triangle), edge[1] - edge[0]
    normal = _cross(*edges[:2])
    square = [normal, *(_cross(along, side) for side in edges), *(_cross(normal, side) for side in (*edges, along))]
    return ~_parted(edge, triangle, square, least)


def _folded(first: Points, second: Points, same: Mask, least: float) -> Mask:
    """Return which pairs, with an edge shared, lie flat on each other."""
    apex, other = np.any(same, 2).argmin(axis=1), np.any(same, 1).argmin(axis=1)
    start, end = _edge_after(first, apex)
    along = (end - start) / _length(end - start)
    pairs = np.arange(first.shape[2])
    spans = [body[corner, :, pairs].T - start for body, corner in ((first, apex), (second, other))]
    arm, arm2 = (span - along * _dot(along, span) for span in spans)
    flat = _length(_cross(arm, arm2)) <= least * np.maximum(_length(arm), _length(arm2))
    folded: Mask = flat & (_dot(arm, arm2) > 0)
    return folded


def _parted(first: Points, second: Points, directions: Iterable[Points], least: float) -> Mask:
    """Return which bodies, by their corners (a, 3, k) and (b, 3, k), are parted along one of *directions* (3, k).

    Whatever the direction, a gap seen along it is a proof that the two are apart.
    """
    parted = np.zeros(first.shape[2], bool)
    for direction in directions:
        (low, high), (low2, high2) = (_extent(body, direction) for body in (first, second))
        parted |= np.maximum(low - high2, low2 - high) > least * _length(direction)
    return parted


def _extent(body: Points, direction: Points) -> tuple[Points, Points]:
    seen = [_dot(direction, corner) for corner in body]
    return reduce(np.minimum, seen), reduce(np.maximum, seen)


def _edges(triangle: Points) -> Points:
    a, b, c = triangle
    return np.stack([b - a, c - b, a - c])


def _edge_after(triangle: Points, corner: Numbers) -> Points:
    """Return the edge opposite a corner, (2, 3, k)."""
    pairs = np.arange(triangle.shape[2])
    return np.stack([triangle[(corner + step) % 3, :, pairs].T for step in (1, 2)])


def _cross(u: Points, v: Points) -> Points:
    return np.stack([u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]])


def _dot(u: Points, v: Points) -> Points:
    product: Points = u[0] * v[0] + u[1] * v[1] + u[2] * v[2]
    return product


def _length(vectors: Points) -> Points:
    return np.sqrt(_dot(vectors, vectors))
