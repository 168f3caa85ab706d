"""Where a picture is seen from, and where on the paper each point of the compartment then falls."""

import math
from dataclasses import dataclass, replace

import numpy as np

from tapeloft.model.errors import UnknownName
from tapeloft.model.moments import Points

VIEWS = ("three-quarter", "plan", "profile", "section")
FARTHER = 3.2  # a perspective eye stands this many diagonals away, so that parallel edges still look it
FORWARD, PORT, UP = np.eye(3)


@dataclass(frozen=True, eq=False)
class Eye:
    """An eye and the paper before it, compartment axes.

    right, up, toward (3,) unit vectors: to the right and up on the paper, and from the paper to the eye;
    focal (3,) m, the point seen in the middle of the paper; scale in px a metre there; distance m from it to the
    eye, infinite for an orthographic picture; size the paper's width and height, px.
    """

    right: Points
    up: Points
    toward: Points
    focal: Points
    scale: float
    distance: float
    size: tuple[int, int]

    def seen(self, points: Points) -> Points:
        """Return where *points* (…, 3), m, fall on the paper: (…, 2) px, from its upper left corner, y down."""
        from_focal = np.asarray(points, np.float64) - self.focal
        nearer = 1 / (1 - from_focal @ self.toward / self.distance)
        across, upward = from_focal @ self.right, from_focal @ self.up
        width, height = self.size
        return np.stack([width / 2 + across * nearer * self.scale, height / 2 - upward * nearer * self.scale], axis=-1)

    def faces(self, points: Points, normals: Points) -> Points:
        """Return for each plane through *points* (n, 3) the cosine, positive where its *normals* (n, 3) look this way.

        Plane on to an orthographic eye: 1; edge on: 0.
        """
        if math.isinf(self.distance):
            return np.asarray(normals @ self.toward, np.float64)
        sight = self.focal + self.toward * self.distance - points
        return np.asarray(np.einsum("ij,ij->i", normals, sight) / np.linalg.norm(sight, axis=1), np.float64)

    def enlarged(self, times: int) -> "Eye":
        """Return the same picture on paper so many *times* as large."""
        width, height = self.size
        return replace(self, scale=self.scale * times, size=(width * times, height * times))


def eye_for(
    points: Points, view: str, size: tuple[int, int], *, margins: tuple[float, float, float, float],
    orthographic: bool = True,
) -> Eye:  # fmt: skip
    """Return the eye of a named *view* that sees all *points* (n, 3), m, as large as the paper allows.

    size in px; margins left, top, right, bottom in px stay clear. The three-quarter eye stands aft and above, on
    the side of the centreline that the points are not, so that it looks outboard, and squarer to the longer side;
    `plan` looks down with forward to the right, `profile` to port, `section` forward. Raises UnknownName.

    >>> eye = eye_for(np.array([[0, 0, 0], [2, 1, 1.0]]), "plan", (500, 300), margins=(50, 50, 50, 50))
    >>> eye.scale, eye.seen(np.array([0, 0, 7.0])).tolist()
    (200.0, [50.0, 250.0])
    """
    middle = (points.min(axis=0) + points.max(axis=0)) / 2
    length, breadth, _ = np.ptp(points, axis=0)
    right, up, toward = _axes(view, middle[1] > -breadth / 10, breadth > length)
    diagonal = float(np.linalg.norm(np.ptp(points, axis=0)))
    distance = math.inf if orthographic else FARTHER * diagonal
    eye = Eye(right, up, toward, middle, 1.0, distance, size)
    left, top, end, bottom = margins
    room = np.array([size[0] - left - end, size[1] - top - bottom])
    wanted = np.array([left, top]) + room / 2
    for _ in range(1 if orthographic else 12):  # a shifted perspective is a slightly different one: close in on it
        seen = eye.seen(points)
        extent = np.maximum(np.ptp(seen, axis=0), 1e-9)
        eye = replace(eye, scale=eye.scale * float((room / extent).min()))
        seen = eye.seen(points)
        off = ((seen.min(axis=0) + seen.max(axis=0)) / 2 - wanted) / eye.scale
        eye = replace(eye, focal=eye.focal + right * off[0] - up * off[1])
    return eye


def _axes(view: str, to_port: bool, broad: bool) -> tuple[Points, Points, Points]:
    """Return right, up and toward of a named view of a compartment that lies to port, or is broader than long."""
    if view not in VIEWS:
        raise UnknownName("view", view, VIEWS)
    if view == "plan":
        return FORWARD, PORT, UP
    if view == "profile":
        return FORWARD, UP, -PORT
    if view == "section":
        return -PORT, UP, -FORWARD
    back, aside = (1.0, 0.52) if broad else (0.52, 1.0)
    toward = np.array([-back, -aside if to_port else aside, 0.62])
    toward /= np.linalg.norm(toward)
    right = np.cross(UP, toward)
    right /= np.linalg.norm(right)
    return right, np.cross(toward, right), toward
