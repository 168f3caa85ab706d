"""What each edge of an outline stands against, and the angle of that wall to the board."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

import numpy as np
from shapely import MultiPolygon

from tapeloft.model.areas import named_triangles
from tapeloft.model.compartment import Compartment
from tapeloft.model.cutting.plane import Plane
from tapeloft.model.moments import Points
from tapeloft.model.solid import Solid

Kind = Literal["side", "end", "obstruction"]
Spot = tuple[float, float]
DEPTHS = 5  # at which the wall is looked for, from face to face
ALONG = 0.9998  # a face within a degree of the board's own plane is no wall to its edge


@dataclass(frozen=True)
class Walled:
    """An edge of an outline, and its wall.

    start, end: m, in the plane's axes. wall: the part of the surface or the obstruction; kind: the same, as gaps have
    it. bevel: degrees that the wall is off square to the board, positive where the space widens toward the face that
    the plane looks to.
    """

    start: Spot
    end: Spot
    wall: str
    kind: Kind
    bevel: float


def walled(
    compartment: Compartment,
    plane: Plane,
    thickness: float,
    area: MultiPolygon,
    clear_of: Sequence[tuple[str, Solid]] = (),
) -> tuple[Walled, ...]:
    """Return every edge of *area*, a board's clear outline, with the wall nearest to it through the thickness.

    clear_of: what is kept clear besides what stands in the space, by its name.
    """
    edges = [(a, b) for ring in rings(area) for a, b in pairwise(ring)]
    if not edges:
        return ()
    solids = [compartment.net, *(solid for _, solid in clear_of)]
    corners = np.concatenate([plane.spots(solid.vertices)[solid.triangles] for solid in solids])
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    size = np.linalg.norm(normals, axis=1)
    slope = normals[:, 2] / np.maximum(size, 1e-300)
    slope[len(compartment.net.triangles) :] *= -1  # of what is kept clear, faces look the other way
    reach = corners[..., 2].min(axis=1) <= thickness + 1e-6, corners[..., 2].max(axis=1) >= -1e-6
    met = np.flatnonzero((size > 1e-12) & (np.abs(slope) < ALONG) & reach[0] & reach[1])
    names, own = named_triangles(compartment), set(compartment.parts.values())
    names += [name for name, solid in clear_of for _ in solid.triangles]
    middles = np.array([(np.array(a) + b) / 2 for a, b in edges])
    nearest = met[_nearest(corners[met], middles, thickness)]
    return tuple(
        Walled(a, b, names[k], _kind(names[k], own), -math.degrees(math.asin(float(slope[k]))))
        for (a, b), k in zip(edges, nearest.tolist(), strict=True)
    )


def rings(area: MultiPolygon) -> list[list[Spot]]:
    """Return the rings of an area, each closed, material to the left."""
    return [
        [(float(x), float(y)) for x, y in ring.coords]
        for polygon in area.geoms
        for ring in (polygon.exterior, *polygon.interiors)
    ]


def _nearest(corners: Points, middles: Points, thickness: float) -> np.ndarray[tuple[int], np.dtype[np.int64]]:
    """Return for each point of the plane, (n, 2), the nearest of triangles, (m, 3, 3), at any depth of the board.

    Only those are looked at whose box is no farther aside than the nearest corner of all.
    """
    from trimesh.triangles import closest_point

    inner = (np.arange(DEPTHS) + 0.5) / DEPTHS * thickness
    depths = np.concatenate([[0.0], inner, [thickness]])
    low, high = corners[..., :2].min(axis=1), corners[..., :2].max(axis=1)
    found = []
    for x, y in middles:
        spot = np.array([x, y])
        aside = np.linalg.norm(np.maximum(np.maximum(low - spot, spot - high), 0.0), axis=1)
        near = np.flatnonzero(aside <= np.linalg.norm(corners - [x, y, 0.0], axis=2).min() + 1e-9)
        points = np.array([(x, y, z) for z in depths])
        pairs = np.repeat(points, len(near), axis=0)
        spots = closest_point(np.tile(corners[near], (len(points), 1, 1)), pairs)  # type: ignore[no-untyped-call]
        off = np.linalg.norm(spots - pairs, axis=1).reshape(len(depths), len(near))
        found.append(near[off.min(axis=0).argmin()])
    return np.array(found)


def _kind(name: str, own: set[str]) -> Kind:
    if name not in own:
        return "obstruction"
    return "end" if name in ("aft end", "forward end") else "side"
