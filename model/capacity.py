"""What a space holds up to a height: volume, its centre, and the free surface there.

Exact for the mesh, without cutting it. By the divergence theorem the volume below z = h is the flux of
(0, 0, z − h) through the part of the surface below h; the field is nought on the cut itself, so the cut need
not be made. Fields with divergence x, y and z give the first moments the same way, and the flux of the plain
upright field and of its moments gives the plan area of the cut.

A triangle wholly below h adds its whole integral: running sums over triangles sorted by height. One that the
level crosses has a small similar triangle on one side of the level, with its tip at the triangle's lowest or
highest corner: its area goes with τ², τ the level's distance from that tip, so nothing cancels.

Heights are plain geometry: air caught under an overhang counts as filled, though water rising from below would
leave a bubble there, and a hollow that has no way in fills like the rest.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from tapeloft.model.errors import GeometryError
from tapeloft.model.moments import Points, Triangles
from tapeloft.model.solid import Solid

Numbers = NDArray[np.float64]
BATCH = 1 << 15  # crossings of triangle and level taken at once: what the processor's cache holds
NOISE = 1e-13  # share of the area passed through below which a cut is nothing but rounding
ENOUGH = 1e-14  # share of the whole volume at which the search for a height ends


@dataclass(frozen=True, eq=False)
class Capacity:
    """What lies below each of k heights; all arrays are read-only.

    A surface exactly at a height is met from below: at the top it is the plan area under the deck, on a step it
    is what the step leaves free, at the lowest point it is nought. Where there is no volume, or no surface, its
    centre is not a number.
    """

    heights_m: Numbers
    """(k,) in the axes of the solid, as they were asked for."""
    volume_m3: Numbers
    """(k,) volume below."""
    centroid_m: Points
    """(k, 3) centre of the volume below."""
    plan_area_m2: Numbers
    """(k,) area of the surface at the height, level."""
    plan_centroid_m: Points
    """(k, 2) x and y of the centre of that surface."""
    transverse_m4: Numbers
    """(k,) second moment of the surface about the fore-and-aft line through its centre: the one for heel."""
    longitudinal_m4: Numbers
    """(k,) second moment of the surface about the line across through its centre: the one for trim."""

    def flooded_kg(self, density: float) -> Numbers:
        """Return the mass, (k,) kg, of a liquid of *density* kg/m³ filling it to each height (see `units`)."""
        return self.volume_m3 * density


@dataclass(frozen=True, eq=False)
class _Tips:
    """Similar triangles under or over a level, one for each tip: (n,) each, x and y from the middle of the solid."""

    above: Numbers  # levels taken lie above this …
    upto: Numbers  # … and not above this
    z: Numbers  # of the tip
    plan: Numbers  # signed plan area at τ = 1
    x: Numbers
    y: Numbers
    run_x: Numbers  # sum over the two edges of how far they run in x for 1 m of rise
    run_y: Numbers
    spread_x: Numbers  # the τ² term of the mean of x²
    spread_y: Numbers


@dataclass(frozen=True, eq=False)
class _Surface:
    """The surface, ready to be asked: z from its lowest point, x and y from its middle."""

    origin: Points
    middles: Numbers  # (m,) height of each triangle's middle corner, rising
    seen: Numbers  # (m + 1,) running plan area whatever its sign: the scale of rounding
    sums: Numbers  # (9, m + 1) running integrals over the plan area of 1, x, y, x², y², z, xz, yz, z²
    tips: _Tips


def filled_to(solid: Solid, heights: ArrayLike) -> Capacity:
    """Return what lies in *solid* below each of *heights*.

    heights (k,) m, any order, in the axes of the solid; below it there is nothing, above it all of it. Raises
    ValueError for heights that are no finite numbers. Method: divergence theorem, derived in this module.

    >>> from tapeloft.model.facets import body
    >>> from tapeloft.shapes.polyhedron import box
    >>> held = filled_to(body(box((0, 0, 0), (2, 1, 0.5))), [0.25, 0.5])
    >>> held.volume_m3.round(9).tolist(), held.plan_area_m2.round(9).tolist()
    ([0.5, 1.0], [2.0, 2.0])
    >>> held.flooded_kg(1025.0).round(6).tolist()
    [512.5, 1025.0]
    """
    levels = np.array(heights, np.float64).reshape(-1)
    if not np.isfinite(levels).all():
        raise ValueError("a height is not a finite number")
    if solid.is_empty:
        return _answer(levels, np.zeros((9, len(levels))), np.zeros(3))
    surface = _surface(solid.vertices, solid.triangles)
    order = np.argsort(levels, kind="stable")
    sums = np.empty((9, len(levels)))
    sums[:, order] = _below(surface, levels[order] - surface.origin[2])
    return _answer(levels, sums, surface.origin)


def height_of(solid: Solid, fraction: float = 0.5) -> float:
    """Return the height, m, below which *fraction* of the volume of *solid* lies; half unless told otherwise.

    Newton's method on the exact curve, whose slope is the plan area, kept between bounds. Where a gap between two
    bodies leaves several such heights it is one of them. Raises ValueError for a fraction outside 0 to 1 and
    GeometryError for an empty solid.

    >>> from tapeloft.model.facets import body
    >>> from tapeloft.shapes.polyhedron import Polyhedron
    >>> corners = np.array([[0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1.0]])
    >>> pyramid = Polyhedron(corners, ((0, 2, 1), (0, 1, 3), (0, 3, 2), (1, 2, 3)))
    >>> round(height_of(body(pyramid), 7 / 8), 12)
    0.5
    """
    if not 0.0 <= fraction <= 1.0:
        raise ValueError(f"a share of the volume lies between 0 and 1, not at {fraction}")
    if solid.is_empty:
        raise GeometryError("the space is empty: no height divides it")
    bottom, top = solid.bounds[:, 2].tolist()
    if fraction in (0.0, 1.0):
        return float(top if fraction else bottom)
    surface = _surface(solid.vertices, solid.triangles)
    low, high = 0.0, top - bottom
    whole = float(_below(surface, np.array([high]))[5, 0])
    level = high * fraction
    while low < level < high:
        area, volume = _below(surface, np.array([level]))[[0, 5], 0].tolist()
        over = volume - fraction * whole
        if abs(over) <= ENOUGH * whole:
            break
        low, high = (low, level) if over > 0 else (level, high)
        level = level - over / area if area > 0 else high
        if not low < level < high:
            level = (low + high) / 2
    return float(min(bottom + level, top))


def _answer(levels: Numbers, sums: Numbers, origin: Points) -> Capacity:
    area, first_x, first_y, second_x, second_y, volume, *moments = sums
    with np.errstate(divide="ignore", invalid="ignore"):
        x, y = first_x / area, first_y / area
        centroid = np.column_stack(moments) / volume[:, None]
    arrays = (
        levels,
        volume,
        np.where(volume[:, None] > 0, centroid + origin, np.nan),
        area,
        np.column_stack([x, y]) + origin[:2],
        np.where(area > 0, second_y - y * first_y, 0.0),
        np.where(area > 0, second_x - x * first_x, 0.0),
    )
    for array in arrays:
        array.setflags(write=False)
    return Capacity(*arrays)


def _surface(vertices: Points, triangles: Triangles) -> _Surface:
    low, high = vertices.min(axis=0), vertices.max(axis=0)
    origin = np.append((low + high)[:2] / 2, low[2])
    x, y, z = (vertices - origin).T.copy()
    order = np.argsort(z[triangles], axis=1)
    corners = np.take_along_axis(triangles, order, axis=1)
    turned = np.where((order[:, 1] - order[:, 0]) % 3 == 1, 0.5, -0.5)
    rising = np.argsort(z[corners[:, 1]])
    corners, turned = corners[rising].T.copy(), turned[rising]
    x, y, z = x[corners], y[corners], z[corners]
    plan = turned * ((x[1] - x[0]) * (y[2] - y[0]) - (x[2] - x[0]) * (y[1] - y[0]))
    sums = np.zeros((10, len(plan) + 1))
    for total, mean in zip(sums, (np.sign(plan), *_means(x, y, z)), strict=True):
        np.cumsum(plan * mean, out=total[1:])
    return _Surface(origin, z[1], sums[0], sums[1:], _tips(x, y, z, plan))


def _means(x: Numbers, y: Numbers, z: Numbers) -> tuple[Numbers, ...]:
    """Means over each triangle, (m,) each, of 1, x, y, x², y², z, xz, yz, z²; x, y, z are (3 corners, m)."""
    mean_x, mean_y, mean_z = x.sum(axis=0) / 3, y.sum(axis=0) / 3, z.sum(axis=0) / 3

    def product(u: Numbers, v: Numbers, mean_u: Numbers, mean_v: Numbers) -> Numbers:
        mean: Numbers = (u[0] * v[0] + u[1] * v[1] + u[2] * v[2]) / 12 + mean_u * mean_v * 0.75
        return mean

    return (
        np.ones_like(mean_x),
        mean_x,
        mean_y,
        product(x, x, mean_x, mean_x),
        product(y, y, mean_y, mean_y),
        mean_z,
        product(x, z, mean_x, mean_z),
        product(y, z, mean_y, mean_z),
        product(z, z, mean_z, mean_z),
    )


def _tips(x: Numbers, y: Numbers, z: Numbers, plan: Numbers) -> _Tips:
    """The tips at the lowest corners, then those at the highest; x, y, z are (3 corners, m), rising."""
    ends, others = [0, 2], [2, 0]
    rise, reach = z[1] - z[ends], z[others] - z[ends]
    with np.errstate(divide="ignore", invalid="ignore"):  # by a level edge no level passes: never asked for
        near_x, far_x = (x[1] - x[ends]) / rise, (x[others] - x[ends]) / reach
        near_y, far_y = (y[1] - y[ends]) / rise, (y[others] - y[ends]) / reach
        unit = np.stack([plan, -plan]) / (rise * reach)
        run_x, run_y = near_x + far_x, near_y + far_y
        spread_x = (near_x**2 + far_x**2 + run_x**2) / 12
        spread_y = (near_y**2 + far_y**2 + run_y**2) / 12
    columns = (z[:2], z[1:], z[ends], unit, x[ends], y[ends], run_x, run_y, spread_x, spread_y)
    return _Tips(*(column.ravel() for column in columns))


def _below(surface: _Surface, levels: Numbers) -> Numbers:
    """Integrals over the cut, of 1, x, y, x², y², and over the volume below, of 1, x, y, z: (9, k).

    levels (k,), rising, from the lowest point.
    """
    passed = np.searchsorted(surface.middles, levels, "left")
    sums = surface.sums[:, passed]
    sums[5:8] -= levels * sums[:3]
    sums[8] = (sums[8] - levels**2 * sums[0]) / 2
    for level, added in _crossings(surface.tips, levels):
        for row, values in zip(sums, added, strict=True):
            row += np.bincount(level, values.ravel(), len(levels))
    sums[:5] *= -1
    sums[:5, sums[0] <= NOISE * surface.seen[passed]] = 0.0
    return sums


def _crossings(tips: _Tips, levels: Numbers) -> Iterator[tuple[NDArray[np.int64], Iterator[Numbers]]]:
    """Yield, batch by batch, pairs of a tip and a level that cuts its triangle: the level, and what they add.

    The levels that cut one triangle follow each other; their number in binary splits them into runs of equal
    length, (length, n) pairs at a time, so that nothing about a tip need be repeated for each of its levels.
    """
    first = np.searchsorted(levels, tips.above, "right")
    count = np.searchsorted(levels, tips.upto, "right") - first
    for bit in range(int(count.max(initial=0)).bit_length()):
        having = np.flatnonzero(count >> bit & 1)
        start = first[having] + (count[having] >> bit + 1 << bit + 1)
        for at in range(0, len(having), max(BATCH >> bit, 1)):
            batch = slice(at, at + max(BATCH >> bit, 1))
            level = start[batch] + np.arange(1 << bit)[:, None]
            yield level.ravel(), _similar(tips, having[batch], levels[level])


def _similar(tips: _Tips, some: NDArray[np.int64], levels: Numbers) -> Iterator[Numbers]:
    """Yield the nine integrals of `_below` over each similar triangle, signs as in `_Surface.sums`."""
    x, y, run_x, run_y = tips.x[some], tips.y[some], tips.run_x[some], tips.run_y[some]
    tau = levels - tips.z[some]
    square = tau * tau
    area = tips.plan[some] * square
    slab = area * tau
    slab /= -3
    yield area
    yield area * (x + tau * (run_x / 3))
    yield area * (y + tau * (run_y / 3))
    yield area * (x * x + tau * (x * run_x * (2 / 3)) + square * tips.spread_x[some])
    yield area * (y * y + tau * (y * run_y * (2 / 3)) + square * tips.spread_y[some])
    yield slab
    yield slab * (x + tau * (run_x / 4))
    yield slab * (y + tau * (run_y / 4))
    yield slab * (levels - tau / 4)
