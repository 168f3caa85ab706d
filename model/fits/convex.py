"""Convex bodies as the search wants them: faces, corners, and how both move when the body grows."""

from dataclasses import dataclass

import numpy as np

from tapeloft.model.moments import Points

ALIKE = 9  # decimals to which two normals are one
FEW = 64  # corners of a body that is refused; more are thinned out
ROUNDS = 16  # corners that each circle keeps


@dataclass(frozen=True, eq=False)
class Convex:
    """The convex body {y: normals · y ≤ offsets} with its corners, own axes, m; and itself grown by m metres.

    Grown, its faces lie at offsets + m · face_gain and its corners at corners + m · corner_gain. parallel: every face
    moves by just m, so that m is a clearance; otherwise the body is scaled, and none moves by less.
    """

    normals: Points  # (F, 3) unit
    offsets: Points  # (F,)
    corners: Points  # (K, 3)
    face_gain: Points  # (F,)
    corner_gain: Points  # (K, 3)
    parallel: bool

    @property
    def depth(self) -> float:
        """How far the body may shrink before nothing is left: the least distance from its middle to a face, m."""
        return float((self.offsets - self.normals @ _middle(self.corners)).min())

    @property
    def bottom(self) -> float:
        """Height of its lowest corner, m."""
        return float(self.corners[:, 2].min())


def convex(points: Points) -> Convex:
    """Return the convex hull of *points*, (n, 3) m, not in one plane.

    >>> cube = convex(np.array([[x, y, z] for x in (0, 1) for y in (0, 1) for z in (0, 1.0)]))
    >>> len(cube.offsets), len(cube.corners), cube.parallel, round(cube.depth, 12)
    (6, 8, True, 0.5)
    """
    normals, corners = _hull(points)
    return _growing(normals, (corners @ normals.T).max(axis=0), corners, np.ones(len(normals)), _middle(corners))


def standing(body: Convex) -> Convex:
    """Return the same body, one that grows upward and sideways while its bottom stays where it is.

    >>> cube = standing(convex(np.array([[x, y, z] for x in (0, 1) for y in (0, 1) for z in (0, 1.0)])))
    >>> grown(cube, 0.1).corners.min(axis=0).round(9).tolist(), grown(cube, 0.1).corners.max(axis=0).round(9).tolist()
    ([-0.1, -0.1, 0.0], [1.1, 1.1, 1.1])
    """
    wanted = np.where(body.normals[:, 2] < -1 + 1e-9, 0.0, 1.0)
    if (wanted == 0).any() and body.parallel:
        some = _growing(body.normals, body.offsets, body.corners, wanted, _middle(body.corners))
        if some.parallel:
            return some
    rise = -float(body.corner_gain[int(body.corners[:, 2].argmin()), 2])
    return Convex(
        body.normals, body.offsets, body.corners, body.face_gain + rise * body.normals[:, 2],
        body.corner_gain + np.array([0.0, 0.0, rise]), body.parallel,
    )  # fmt: skip


def thinned(points: Points) -> Points:
    """Return those of *points*, (n, 3), that reach farthest in some evenly spread directions: their hull is within."""
    if len(points) <= FEW:
        return points
    around = np.arange(ROUNDS) * 2 * np.pi / ROUNDS
    ring = np.column_stack([np.cos(around), np.sin(around)])
    ways = [np.append(c * side, s) for c, s in ((1, 1e-3), (1, -1e-3), (0.7, 0.7), (0.7, -0.7)) for side in ring]
    far = (points @ np.array([*ways, [0, 0, 1], [0, 0, -1]]).T).argmax(axis=0)
    kept: Points = points[np.unique(far)]
    return kept


def turned(body: Convex, turn: Points) -> Convex:
    """Return the body turned by *turn*, (3, 3)."""
    return Convex(
        body.normals @ turn.T, body.offsets, body.corners @ turn.T, body.face_gain, body.corner_gain @ turn.T,
        body.parallel,
    )  # fmt: skip


def grown(body: Convex, by: float) -> Convex:
    """Return the body grown by so many metres, as it grows."""
    offsets, corners = body.offsets + by * body.face_gain, body.corners + by * body.corner_gain
    return Convex(body.normals, offsets, corners, body.face_gain, body.corner_gain, body.parallel)


def _hull(points: Points) -> tuple[Points, Points]:
    """Return the distinct normals, (F, 3), and the corners, (K, 3), of the hull of *points*."""
    from scipy.spatial import ConvexHull

    hull = ConvexHull(points)
    normals = np.unique(np.round(hull.equations[:, :3], ALIKE) + 0.0, axis=0)
    normals /= np.linalg.norm(normals, axis=1)[:, None]
    return normals, np.unique(points[hull.vertices], axis=0)


def _middle(corners: Points) -> Points:
    middle: Points = (corners.min(axis=0) + corners.max(axis=0)) / 2
    return middle


def _growing(normals: Points, offsets: Points, corners: Points, wanted: Points, about: Points) -> Convex:
    """Return the body with each face moving as *wanted*, (F,), where its corners allow it; or else scaled *about*."""
    size = float(np.ptp(corners, axis=0).max())
    met = np.abs(corners @ normals.T - offsets) < 1e-9 * size
    gains = np.zeros_like(corners)
    for k, row in enumerate(met):
        gains[k] = np.linalg.lstsq(normals[row], wanted[row], rcond=None)[0]
    missed = np.where(met, gains @ normals.T - wanted, 0.0)
    parallel = bool(np.abs(missed).max() < 1e-6 and (np.linalg.norm(gains, axis=1) < 10).all())
    if not parallel:
        from_there = offsets - normals @ about
        unit = from_there[wanted > 0].min()
        wanted, gains = from_there / unit, (corners - about) / unit
    return Convex(
        np.ascontiguousarray(normals), offsets, np.ascontiguousarray(corners), np.ascontiguousarray(wanted),
        np.ascontiguousarray(gains), parallel,
    )  # fmt: skip
