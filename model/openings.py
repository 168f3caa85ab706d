"""Where the clear opening of a lid or a door lies: its outline on the wall it is cut in."""

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from tapeloft.model.compartment import Compartment
from tapeloft.model.moments import Points
from tapeloft.model.solid import Solid
from tapeloft.model.survey.sheet import Opening

WAYS = {"top": (2, 1), "bottom": (2, -1), "port": (1, 1), "starboard": (1, -1), "forward": (0, 1), "aft": (0, -1)}
"""By wall: the axis that it is looked for along, and whether outward is up that axis or down it."""
ARC = 8  # sides that a rounded corner is drawn with
ACROSS = np.linspace(-0.45, 0.45, 5)  # shares of the clear size, at which the wall is felt for
FLAT = 1e-12  # m²: a triangle that shows less than this to the axis is edge on to it


@dataclass(frozen=True, eq=False)
class ClearOpening:
    """A clear opening in its place, compartment axes.

    wall: which side of the space it is in, a twin's already her own; outline (n, 3) m, plane, in order round it;
    clear: its two sizes, m, in the order fore and aft, athwartships, height; corner_radius: m.
    """

    name: str
    wall: str
    outline: Points
    clear: tuple[float, float]
    corner_radius: float

    @property
    def is_round(self) -> bool:
        """Whether it is a circle."""
        return self.clear[0] == self.clear[1] <= 2 * self.corner_radius


def clear_openings(compartment: Compartment) -> tuple[ClearOpening, ...]:
    """Return the openings of a compartment as they lie in its walls.

    A lid's frame is flat, so each is plane: the plane that lies nearest to the wall where the opening is. A reading
    that the survey leaves out is the wall's own position along the axis that the wall faces, and the middle of the
    space along the others.
    """
    mirrored = compartment.survey.mirrored
    space = compartment.gross.mirrored() if mirrored else compartment.gross
    found = (_opening(opening, space) for opening in compartment.survey.openings)
    return tuple(_mirrored(opening) for opening in found) if mirrored else tuple(found)


def _opening(opening: Opening, space: Solid) -> ClearOpening:
    axis, outward = WAYS[opening.wall]
    along = [a for a in range(3) if a != axis]
    read = np.array([np.nan if at is None else at for at in (opening.x, opening.y, opening.z)])
    centre = np.where(np.isnan(read), space.bounds.mean(axis=0), read)
    flat = rounded(opening.clear, opening.corner_radius)
    feelers = np.array([(u, v) for u in ACROSS for v in ACROSS]) * opening.clear
    slope = _plane(feelers, _reached(space, feelers + centre[along], axis, outward))
    if slope is None:  # no wall there: the misreading is told elsewhere; it is drawn at the end of the space
        slope = np.array([0.0, 0.0, space.bounds[int(outward > 0), axis]])
    if not np.isnan(read[axis]):
        slope[2] = read[axis]
    outline = np.empty((len(flat), 3))
    outline[:, along] = flat + centre[along]
    outline[:, axis] = flat @ slope[:2] + slope[2]
    outline.setflags(write=False)
    return ClearOpening(opening.name, opening.wall, outline, opening.clear, opening.corner_radius)


def _mirrored(opening: ClearOpening) -> ClearOpening:
    other = {"port": "starboard", "starboard": "port"}.get(opening.wall, opening.wall)
    return replace(opening, wall=other, outline=opening.outline * [1.0, -1.0, 1.0])


def rounded(size: tuple[float, float], radius: float) -> Points:
    """Return a rectangle with rounded corners about zero, (n, 2) m, counter-clockwise.

    >>> rounded((0.4, 0.2), 0.0).tolist()
    [[0.2, 0.1], [-0.2, 0.1], [-0.2, -0.1], [0.2, -0.1]]
    """
    half = np.array(size) / 2
    corner = min(radius, float(half.min()))
    middles: Points = (half - corner) * np.array([[1, 1], [-1, 1], [-1, -1], [1, -1]])
    if corner < 1e-9:
        return middles
    turns = [np.linspace(start, end, ARC + 1) for start, end in pairwise(np.arange(5) * np.pi / 2)]
    arcs = [
        middle + corner * np.column_stack([np.cos(turn), np.sin(turn)])
        for middle, turn in zip(middles, turns, strict=True)
    ]
    outline: Points = np.concatenate(arcs)
    return outline


def _reached(space: Solid, points: Points, axis: int, outward: int) -> Points:
    """Return how far out along *axis* the wall is over *points* (k, 2), m in the other two axes; NaN where none is."""
    along = [a for a in range(3) if a != axis]
    corners = space.vertices[space.triangles]
    a, u, v = corners[:, 0], corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    twice = u[:, along[0]] * v[:, along[1]] - u[:, along[1]] * v[:, along[0]]
    seen = np.abs(twice) > FLAT
    a, u, v, twice = a[seen], u[seen], v[seen], twice[seen]
    w = points[:, None] - a[None][..., along]
    s = (w[..., 0] * v[:, along[1]] - w[..., 1] * v[:, along[0]]) / twice
    t = (u[:, along[0]] * w[..., 1] - u[:, along[1]] * w[..., 0]) / twice
    over = (s >= -1e-9) & (t >= -1e-9) & (s + t <= 1 + 1e-9)
    out = outward * (a[:, axis] + s * u[:, axis] + t * v[:, axis])
    farthest = np.where(over, out, -np.inf).max(axis=1, initial=-np.inf)
    reached: Points = np.where(np.isfinite(farthest), outward * farthest, np.nan)
    return reached


def _plane(points: Points, heights: Points) -> Points | None:
    """Return the plane nearest to *heights* (k,) over *points* (k, 2), as two slopes and its height at zero.

    None where too few are known.
    """
    known = ~np.isnan(heights)
    rows = np.column_stack([points, np.ones(len(points))])[known]
    if np.linalg.matrix_rank(rows) < 3:
        return None
    plane: Points = np.asarray(np.linalg.lstsq(rows, heights[known], rcond=None)[0], np.float64)
    return plane
