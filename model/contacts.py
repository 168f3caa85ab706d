"""Where a triangle mesh meets itself: the test that needs to know nothing of how the mesh was made.

Two triangles may share a corner or an edge, by number; any other point in common is a contact. Disjoint convex
bodies are parted by a plane square to a face of one or parallel to an edge of each (the separating axis theorem;
Gottschalk, Lin, Manocha, "OBBTree", SIGGRAPH 1996), so each pair is tried against that short list of directions.
"""

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from tapeloft.model.moments import Points, Triangles, triangle_areas

Mask = NDArray[np.bool_]
Numbers = NDArray[np.int64]
APART = 1e-12  # of the mesh's size: triangles closer than this touch
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
    """Yield, in batches, the pairs of triangles whose upright boxes meet."""
    low, high = corners.min(axis=1) - slack, corners.max(axis=1) + slack
    along = min(range(3), key=lambda axis: int(_runs(low[:, axis], high[:, axis])[1].sum()))
    order, ahead = _runs(low[:, along], high[:, along])
    low, high = low[order], high[order]
    done = np.concatenate([[0], np.cumsum(ahead)])
    start = 0
    while start < len(order):
        stop = max(start + 1, int(np.searchsorted(done, done[start] + BATCH, side="right")) - 1)
        first = np.repeat(np.arange(start, stop), ahead[start:stop])
        second = first + 1 + np.arange(len(first)) - (done[first] - done[start])
        meet = (low[first] <= high[second]).all(axis=1) & (low[second] <= high[first]).all(axis=1)
        yield order[np.column_stack([first[meet], second[meet]])]
        start = stop


def _runs(low: Points, high: Points) -> tuple[Numbers, Numbers]:
    """Return the order of rising *low*, and for each in that order how many after it begin before it ends."""
    order = np.argsort(low, kind="stable")
    return order, np.searchsorted(low[order], high[order], side="right") - np.arange(1, len(order) + 1)


def _meeting(pairs: Triangles, numbers: Triangles, corners: Points, least: float) -> Triangles:
    """Return those of *pairs* that have more in common than what they share by number."""
    same = numbers[pairs[:, 0], :, None] == numbers[pairs[:, 1], None, :]
    shared = same.sum(axis=(1, 2))
    first, second = corners[pairs[:, 0]], corners[pairs[:, 1]]
    meets = shared == 3
    for count, test in enumerate((_overlapping, _hinged, _folded)):
        some = np.flatnonzero(shared == count)
        meets[some] = test(first[some], second[some], same[some], least)
    met: Triangles = pairs[meets]
    return met


def _overlapping(first: Points, second: Points, same: Mask, least: float) -> Mask:
    """Return which pairs, with no corner shared, meet."""
    edges, others = _edges(first), _edges(second)
    normal, other = np.cross(edges[:, 0], edges[:, 1]), np.cross(others[:, 0], others[:, 1])
    meets = ~_parted(first, second, np.stack([normal, other], axis=1), least)
    left = np.flatnonzero(meets)
    across = np.cross(edges[left, :, None], others[left, None, :]).reshape(-1, 9, 3)
    beside = [np.cross(n[left, None], e[left]) for n, e in ((normal, edges), (other, others))]
    meets[left] = ~_parted(first[left], second[left], np.concatenate([across, *beside], axis=1), least)
    return meets


def _hinged(first: Points, second: Points, same: Mask, least: float) -> Mask:
    """Return which pairs, with one corner shared, meet elsewhere.

    A ray from the shared corner that runs in both leaves one of them through its far edge, within the other.
    """
    far = _edge_after(first, np.any(same, 2).argmax(axis=1))
    other = _edge_after(second, np.any(same, 1).argmax(axis=1))
    return _pierced(far, second, least) | _pierced(other, first, least)


def _pierced(edge: Points, triangle: Points, least: float) -> Mask:
    """Return which edges, (k, 2, 3), meet their triangle."""
    edges, along = _edges(triangle), (edge[:, 1] - edge[:, 0])[:, None]
    normal = np.cross(edges[:, 0], edges[:, 1])[:, None]
    beside = np.cross(normal, np.concatenate([edges, along], axis=1))
    return ~_parted(edge, triangle, np.concatenate([normal, np.cross(along, edges), beside], axis=1), least)


def _folded(first: Points, second: Points, same: Mask, least: float) -> Mask:
    """Return which pairs, with an edge shared, lie flat on each other."""
    apex, other = np.any(same, 2).argmin(axis=1), np.any(same, 1).argmin(axis=1)
    hinge = _edge_after(first, apex)
    along = hinge[:, 1] - hinge[:, 0]
    along = along / np.linalg.norm(along, axis=1, keepdims=True)
    rows = np.arange(len(first))
    arm, arm2 = (_square_to(along, tip - hinge[:, 0]) for tip in (first[rows, apex], second[rows, other]))
    reach = np.maximum(np.linalg.norm(arm, axis=1), np.linalg.norm(arm2, axis=1))
    flat = np.linalg.norm(np.cross(arm, arm2), axis=1) <= least * reach
    folded: Mask = flat & (np.einsum("ij,ij->i", arm, arm2) > 0)
    return folded


def _square_to(along: Points, span: Points) -> Points:
    square: Points = span - along * np.einsum("ij,ij->i", along, span)[:, None]
    return square


def _edges(triangle: Points) -> Points:
    return np.roll(triangle, -1, axis=1) - triangle


def _edge_after(triangle: Points, corner: Numbers) -> Points:
    """Return the edge opposite a corner, (k, 2, 3)."""
    rows = np.arange(len(triangle))
    return np.stack([triangle[rows, (corner + 1) % 3], triangle[rows, (corner + 2) % 3]], axis=1)


def _parted(first: Points, second: Points, directions: Points, least: float) -> Mask:
    """Return which bodies, by their corners (k, a, 3) and (k, b, 3), are parted along one of (k, c, 3) directions.

    Whatever the direction, a gap seen along it is a proof that the two are apart.
    """
    length = np.linalg.norm(directions, axis=2)
    one, two = (np.einsum("kci,kai->kca", directions, body) for body in (first, second))
    gap = np.maximum(one.min(axis=2) - two.max(axis=2), two.min(axis=2) - one.max(axis=2))
    parted: Mask = (gap > least * length).any(axis=1)
    return parted
