"""One immutable closed solid, and the booleans on it.

The only module that knows the boolean kernel. Outside it lengths are metres; inside the kernel they are
counted in hundredths of a millimetre, so that faces rounded to that grid are whole numbers and faces meant
to touch do touch.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from manifold3d import CrossSection, Error, Manifold, Mesh64, OpType, triangulate
from numpy.typing import NDArray

from tapeloft.model.errors import GeometryError
from tapeloft.model.moments import Points, Triangles, volume_and_centroid

PER_METRE = 1e5  # corners are rounded to whole hundredths of a millimetre
FLAKE = 1e-12  # m³: a shell that encloses less is two faces back to back, left by the kernel
SLIVER = 1e-6  # m³: a part of a solid smaller than this millilitre is no bay


def on_grid(points: Points) -> Points:
    """Return *points* (…, 3), m, rounded to the hundredth of a millimetre."""
    rounded: Points = np.round(np.asarray(points, np.float64) * PER_METRE) / PER_METRE
    return rounded


def _frozen(array: NDArray[Any]) -> NDArray[Any]:
    array.setflags(write=False)
    return array


@dataclass(frozen=True, eq=False)
class Solid:
    """A closed solid, possibly empty. Make one with `closed`; combine with `-`, `+` (union) and `^` (common part)."""

    _kernel: Manifold

    # the mesh
    @cached_property
    def _mesh(self) -> Mesh64:
        return self._kernel.to_mesh64()

    @cached_property
    def vertices(self) -> Points:
        """Vertices, (n, 3) float64, m, read-only."""
        return _frozen(np.array(self._mesh.vert_properties, np.float64)[:, :3] / PER_METRE)

    @cached_property
    def triangles(self) -> Triangles:
        """Outward-facing triangles, (m, 3) int64 into `vertices`, read-only."""
        return _frozen(np.array(self._mesh.tri_verts, np.int64).reshape(-1, 3))

    @cached_property
    def origins(self) -> NDArray[np.int64]:
        """For each triangle a number that names the `closed` solid it was cut from, kept through booleans, (m,)."""
        bounds = np.asarray(self._mesh.run_index, np.int64) // 3
        ids = np.asarray(self._mesh.run_original_id, np.int64)
        return _frozen(np.repeat(ids, np.diff(bounds)[: len(ids)]))

    @cached_property
    def faces(self) -> NDArray[np.int64]:
        """For each triangle the face number it was given in the solid it was cut from, (m,)."""
        return _frozen(np.array(self._mesh.face_id, np.int64))

    # measures
    @cached_property
    def _moments(self) -> tuple[float, Points]:
        return volume_and_centroid(self.vertices, self.triangles)

    @property
    def volume(self) -> float:
        """Enclosed volume, m³."""
        return self._moments[0]

    @property
    def centroid(self) -> Points:
        """Centre of volume, (3,) m."""
        return self._moments[1]

    @cached_property
    def area(self) -> float:
        """Area of the whole surface, m²."""
        return float(self._kernel.surface_area()) / PER_METRE**2

    @cached_property
    def bounds(self) -> Points:
        """Lowest and highest corner of the upright box around it, (2, 3) m; zeros if empty."""
        if self.is_empty:
            return np.zeros((2, 3))
        return _frozen(np.stack([self.vertices.min(axis=0), self.vertices.max(axis=0)]))

    @property
    def is_empty(self) -> bool:
        """Whether it encloses nothing."""
        return bool(self._kernel.is_empty())

    # booleans
    def __sub__(self, other: "Solid") -> "Solid":
        return _checked(self._kernel - other._kernel)

    def __add__(self, other: "Solid") -> "Solid":
        return _checked(self._kernel + other._kernel)

    def __xor__(self, other: "Solid") -> "Solid":
        return _checked(self._kernel ^ other._kernel)

    def cleared_of(self, others: Sequence["Solid"]) -> "Solid":
        """Return what is left when all *others* are cut away, in one batch."""
        if not others:
            return self
        return _checked(Manifold.batch_boolean([self._kernel, *(o._kernel for o in others)], OpType.Subtract))

    def split(self, normal: Sequence[float], offset: float) -> tuple["Solid", "Solid"]:
        """Return the parts where normal·p ≥ offset (m) and where it is less; their volumes sum exactly."""
        size = float(np.linalg.norm(normal))  # the kernel takes the offset along a unit normal
        over, under = self._kernel.split_by_plane(tuple(float(n) for n in normal), offset / size * PER_METRE)
        return _checked(over), _checked(under)

    def hull(self) -> "Solid":
        """Return the least convex solid around it."""
        return _checked(self._kernel.hull())

    def over_drops(self, level: float, drop: float) -> "Solid":
        """Return the upright prisms, as high as it is, over each point under which it goes on unbroken.

        Unbroken from the height *level* to more than *drop* below it, m.
        """
        x0, y0, z0, x1, y1, z1 = self._kernel.bounding_box()
        sides, depth = (x1 - x0, y1 - y0), drop * PER_METRE
        slab = Manifold.cube((*sides, depth)).translate((x0, y0, level * PER_METRE - depth))
        borne = (slab - self._kernel).project()
        open_below = CrossSection.square(sides).translate((x0, y0)) - borne
        if open_below.is_empty():
            return Solid(Manifold())
        return _checked(open_below.extrude(z1 - z0 + depth).translate((0.0, 0.0, z0 - depth)))

    def section(self, level: float) -> list[Points]:
        """Return the loops, [(n, 2), …] m, in which the plane z = *level* cuts it, holes wound clockwise.

        At its very bottom they are its bottom faces, at its very top there are none.
        """
        return _loops(self._kernel.slice(level * PER_METRE))

    def clear_between(self, low: float, high: float) -> list[Points]:
        """Return the loops, [(n, 2), …] m, round all points over which it goes on unbroken from *low* to *high*.

        The upright prisms over them between the two heights lie in it, and no other point is in one that does.
        """
        if self.is_empty:
            return []
        x0, y0, _, x1, y1, _ = self._kernel.bounding_box()
        sides, depth = (x1 - x0 + 2, y1 - y0 + 2), (high - low) * PER_METRE
        slab = Manifold.cube((*sides, depth)).translate((x0 - 1, y0 - 1, low * PER_METRE))
        return _loops(CrossSection.square(sides).translate((x0 - 1, y0 - 1)) - (slab - self._kernel).project())

    def parts(self) -> tuple["Solid", ...]:
        """Return its separate bodies, each with its own cavities, largest first."""
        return self._parts

    @cached_property
    def _parts(self) -> tuple["Solid", ...]:
        shells = [shell for shell in map(_checked, self._kernel.decompose()) if abs(shell.volume) > FLAKE]
        outer = sorted((s for s in shells if s.volume > 0), key=lambda s: -s.volume)
        held = [(hole, _holder(hole, outer)) for hole in shells if hole.volume <= 0]
        return tuple(_with_cavities(body, [hole for hole, holder in held if holder is body]) for body in outer)

    def gap_to_outside(self, around: "Solid", within: float) -> float:
        """Return the least distance, m, from it to what lies outside *around*; *within* where it is farther."""
        if self.is_empty:
            return within
        low, high = around.bounds[0] - 2 * within, around.bounds[1] + 2 * within
        block = Manifold.cube(tuple((high - low) * PER_METRE)).translate(tuple(low * PER_METRE))
        return float(self._kernel.min_gap(block - around._kernel, within * PER_METRE)) / PER_METRE

    # transforms
    def mirrored(self) -> "Solid":
        """Return it mirrored on the plane y = 0."""
        return _checked(self._kernel.mirror((0.0, 1.0, 0.0)))

    def moved(self, by: Sequence[float]) -> "Solid":
        """Return it moved by (x, y, z), m."""
        return _checked(self._kernel.translate(tuple(float(b) * PER_METRE for b in by)))

    def turned(self, rows: Points) -> "Solid":
        """Return it turned: *rows*, (3, 3), are the new axes, orthonormal and right-handed, in the old ones."""
        return _checked(self._kernel.transform(np.column_stack([rows, np.zeros(3)])))


def closed(vertices: Points, triangles: Triangles, faces: NDArray[np.int64] | None = None) -> Solid:
    """Return the solid bounded by a closed, outward-facing mesh.

    vertices (n, 3) m; triangles (m, 3); faces (m,) numbers that later tell which face a cut triangle came
    from. Raises GeometryError where an edge does not have exactly two triangles, or it encloses nothing.

    >>> v = np.array([[0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1.0]])
    >>> t = np.array([[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]])
    >>> round(closed(v, t).volume * 6, 9)
    1.0
    >>> closed(v, t[:3])
    Traceback (most recent call last):
    tapeloft.model.errors.GeometryError: the surface is not closed: 3 edges have no second side
    """
    loose = open_edges(triangles)
    if len(loose):
        raise GeometryError(f"the surface is not closed: {len(loose)} edges have no second side")
    mesh = Mesh64(
        np.array(vertices, np.float64, order="C") * PER_METRE,
        np.array(triangles, np.uint64, order="C"),
        run_index=np.array([0, 3 * len(triangles)], np.uint64),
        run_original_id=np.array([Manifold.reserve_ids(1)], np.uint32),
        face_id=None if faces is None else np.array(faces, np.uint64),
    )
    return _checked(Manifold(mesh))


def prism(loops: Sequence[Points], low: float, high: float) -> Solid:
    """Return what stands upright between two heights, m, over plane *loops* [(n, 2), …] m, holes wound clockwise."""
    outline = CrossSection([np.asarray(loop, np.float64) * PER_METRE for loop in loops])
    return _checked(outline.extrude((high - low) * PER_METRE).translate((0.0, 0.0, low * PER_METRE)))


def hulled(points: Points) -> Solid:
    """Return the least convex solid around *points*, (n, 3) m."""
    return _checked(Manifold.hull_points(np.array(points, np.float64, order="C") * PER_METRE))


def united(solids: Iterable[Solid]) -> Solid:
    """Return the union of *solids*, in one batch; empty if there are none."""
    return _checked(Manifold.batch_boolean([s._kernel for s in solids], OpType.Add))


def hulls(clouds: Iterable[Points]) -> Solid:
    """Return the union of the least convex solids round each of some clouds of points, (n, 3) m."""
    each = (Manifold.hull_points(np.asarray(cloud, np.float64) * PER_METRE) for cloud in clouds)
    return _checked(Manifold.batch_boolean([one for one in each if not one.is_empty()], OpType.Add))


def open_edges(triangles: Triangles) -> Triangles:
    """Return the directed edges, (k, 2), that no neighbouring triangle runs back along."""
    edges = np.asarray(triangles, np.int64)[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2)
    if not len(edges):
        return edges
    many = int(edges.max()) + 1
    forth, back_again = edges[:, 0] * many + edges[:, 1], edges[:, 1] * many + edges[:, 0]
    if np.array_equal(np.sort(forth), np.sort(back_again)):
        return np.empty((0, 2), np.int64)
    ahead, counts = np.unique(forth, return_counts=True)
    start, end = ahead // many, ahead % many
    back = np.minimum(np.searchsorted(ahead, end * many + start), len(ahead) - 1)
    met = np.where(ahead[back] == end * many + start, counts[back], 0)
    loose: Triangles = np.column_stack([start, end])[counts != met]
    return loose


def triangulated(loops: Sequence[Points]) -> Triangles:
    """Return triangles, (k, 3), that fill plane *loops* [(n, 2), …], counter-clockwise, every edge kept."""
    wound = [np.array(loop, np.float64, order="C") for loop in loops]
    return np.asarray(triangulate(wound, -1.0, False), np.int64).reshape(-1, 3)


def _checked(kernel: Manifold) -> Solid:
    status = kernel.status()
    if status != Error.NoError:
        raise GeometryError(f"the boolean kernel refuses the solid: {status.name}")
    return Solid(kernel)


def _loops(outline: CrossSection) -> list[Points]:
    return [np.array(loop, np.float64) / PER_METRE for loop in outline.to_polygons()]


def _with_cavities(body: Solid, holes: Sequence[Solid]) -> Solid:
    if not holes:
        return body
    return body.cleared_of([_turned_out(hole) for hole in holes])


def _turned_out(hole: Solid) -> Solid:
    return closed(hole.vertices, hole.triangles[:, ::-1], hole.faces)


def _holder(hole: Solid, bodies: Sequence[Solid]) -> Solid | None:
    """Return the smallest body around the hole; *bodies* are sorted largest first."""
    around = [b for b in bodies if b.volume > -hole.volume and _is_around(b.bounds, hole.bounds)]
    if len(around) > 1:
        around = [b for b in around if not (_turned_out(hole) ^ b).is_empty]
    return around[-1] if around else None


def _is_around(outer: Points, inner: Points) -> bool:
    return bool((outer[0] <= inner[0]).all() and (inner[1] <= outer[1]).all())
