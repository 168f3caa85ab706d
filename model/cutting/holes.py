"""Holes in a sheet: where they lie, how much of it they open, and the sheet with them as a closed mesh."""

import math
from typing import Literal

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon, Polygon

from tapeloft.model.errors import GeometryError
from tapeloft.model.moments import Points
from tapeloft.model.solid import Solid, closed

Pattern = Literal["square", "hex"]
MOST_HOLES = 200_000  # more than a sheet in a boat has, and than a reader opens
SIDES, FEW_SIDES, MANY = 16, 6, 4000  # of what stands for a hole in a mesh; of fewer where there are many
JITTER = 1e-7  # m: what an exact lattice is shaken by before it is triangulated, for that takes long where many tie
PER_METRE = 1e5
TOUCH = 1e-6  # m: a micron, for rounding


def holes(
    area: Polygon, room: Polygon | MultiPolygon, bore: float, pitch: float, pattern: Pattern, web: float
) -> Points:
    """Return the middles of holes, (n, 2) m, of a pattern over an area that lie in *room*, no nearer to its edge than
    *web*, m.

    bore: across a hole, m. In a square pattern a hole has its neighbours *pitch* away both ways, in a hex pattern all
    six of them. The pattern lies about the middle of what encloses the area, so that a mirrored one is mirrored.

    >>> sheet = shapely.box(0, 0, 0.1, 0.06)
    >>> len(holes(sheet, sheet, 0.01, 0.02, "square", 0.005))
    15
    """
    inner = shapely.buffer(room, -(bore / 2 + web) + TOUCH, join_style="mitre")
    x0, y0, x1, y1 = (np.array(area.bounds) + (bore / 2 + web) * np.array([1, 1, -1, -1])).tolist()
    if inner.is_empty or min(x1 - x0, y1 - y0) < -TOUCH:
        return np.empty((0, 2))
    rise = pitch * (math.sqrt(0.75) if pattern == "hex" else 1.0)
    if (x1 - x0 + pitch) * (y1 - y0 + rise) / (pitch * rise) > MOST_HOLES:
        raise GeometryError(f"more than {MOST_HOLES} holes\n    mend: give a wider pitch")
    rows = _middles(y0, y1, rise)
    points = [
        np.column_stack([line, np.full(len(line), y)])
        for k, y in enumerate(rows)
        for line in [_middles(x0, x1, pitch, pattern == "hex" and k % 2 == 1)]
    ]
    every = np.concatenate(points)
    shapely.prepare(inner)
    within: Points = every[shapely.intersects_xy(inner, every)]
    return within


def _middles(low: float, high: float, step: float, shifted: bool = False) -> Points:
    """Return evenly spaced places about the middle of a stretch; shifted: half a step off the others'."""
    count = math.floor((high - low) / step + 1e-6) + 1
    middle, half = (low + high) / 2, (count - 1) / 2
    if shifted:
        count, half = (count - 1, half - 0.5) if (count - 1 + 0.5) * step > high - low else (count, half - 0.5)
    places: Points = np.asarray(middle + (np.arange(count) - half) * step, np.float64)
    return places


def ideal_open_share(bore: float, pitch: float, pattern: Pattern) -> float:
    """Return the share that holes take of a sheet without end: π·d²/4 over p², or over p²·√3/2 in a hex pattern.

    >>> round(ideal_open_share(0.010, 0.020, "square"), 5), round(ideal_open_share(0.010, 0.020, "hex"), 5)
    (0.19635, 0.22672)
    """
    return math.pi * bore**2 / 4 / (pitch**2 * (math.sqrt(0.75) if pattern == "hex" else 1.0))


def bored(area: Polygon, middles: Points, bore: float, low: float, high: float) -> Solid:
    """Return a sheet between two heights, m, of an outline, with holes of a *bore*, m; each is a prism of its own area.

    Delaunay's triangles keep every edge whose circle nothing lies in: that of a hole's polygon is one, and so is a
    piece of the outline that is no longer than twice as far as the nearest hole. Raises GeometryError where holes
    touch each other or the edge.
    """
    from scipy.spatial import Delaunay

    sides = SIDES if len(middles) <= MANY else FEW_SIDES
    turns = -2 * np.pi * (np.arange(sides) + 0.5) / sides
    radius = bore / 2 * math.sqrt(2 * np.pi / sides / math.sin(2 * np.pi / sides))
    circle = radius * np.column_stack([np.cos(turns), np.sin(turns)])
    edges = shapely.distance(area.boundary, shapely.points(middles)) - radius if len(middles) else np.array([bore])
    fine = shapely.segmentize(area, max(float(edges.min()), 1e-5))
    rings = [np.array(ring.coords)[:-1] for ring in (fine.exterior, *fine.interiors)]
    flat = np.concatenate([*rings, (middles[:, None] + circle).reshape(-1, 2)])
    flat = np.round(flat * PER_METRE) / PER_METRE
    own = np.repeat(np.arange(len(middles)), sides) + 1
    own = np.concatenate([np.zeros(len(flat) - len(own), np.int64), own])
    shaken = flat + np.random.default_rng(0).normal(scale=JITTER, size=flat.shape)
    triangles = Delaunay(shaken * PER_METRE).simplices.astype(np.int64)
    in_hole = (own[triangles] == own[triangles[:, :1]]).all(axis=1) & (own[triangles[:, 0]] > 0)
    triangles = triangles[~in_hole]
    shapely.prepare(area)
    triangles = triangles[shapely.intersects_xy(area, shaken[triangles].mean(axis=1))]
    a, b, c = (flat[triangles[:, k]] for k in range(3))
    twice = (b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0]
    triangles = np.where((twice < 0)[:, None], triangles[:, ::-1], triangles)[twice != 0]
    return _thick(flat, triangles, _rim(triangles, own), low, high)


def _rim(triangles: NDArray[np.int64], own: NDArray[np.int64]) -> NDArray[np.int64]:
    """Return the edges, (n, 2), that have one triangle alone; each lies within one ring, *own* tells which."""
    edges = triangles[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2)
    edges = edges[own[edges[:, 0]] == own[edges[:, 1]]]
    many = len(own)
    rim: NDArray[np.int64] = edges[~np.isin(edges @ [many, 1], edges @ [1, many])]
    return rim


def _thick(flat: Points, triangles: NDArray[np.int64], rim: NDArray[np.int64], low: float, high: float) -> Solid:
    count = len(flat)
    walls = np.concatenate([
        np.column_stack([rim[:, 0], rim[:, 1], rim[:, 1] + count]),
        np.column_stack([rim[:, 0], rim[:, 1] + count, rim[:, 0] + count]),
    ])  # fmt: skip
    vertices = np.concatenate([np.column_stack([flat, np.full(count, z)]) for z in (low, high)])
    return closed(vertices, np.concatenate([triangles[:, ::-1], triangles + count, walls]))
