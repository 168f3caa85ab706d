"""From joined sections to a closed mesh.

Between two sections each pair of corresponding edges spans a ruled (bilinear) cell. A cell gets a vertex in
its middle and a fan of triangles: the volume of that is exactly the bilinear patch's, whatever the twist. The
surface itself leaves the ruled one by at most |a−b+c−d|/16, or as much of that as is square to the triangles;
where it passes `FLATNESS`, the band is cut along its ribs until it does not. The centroid is the ruled surface's
within a few microns for that: exact where the cells are flat.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from tapeloft.model.moments import Points, Triangles, cross
from tapeloft.model.solid import triangulated
from tapeloft.model.surface.loft import NEAR, Band, point_at
from tapeloft.model.surface.sections import Section

FLATNESS = 0.0005  # m that the meshed surface may leave the ruled one
AFT_END, FORWARD_END, FIRST_STRIP = 0, 1, 2  # face numbers; strips follow in the order of `Surface.strips`
EDGES = ((0, 1), (1, 2), (2, 3), (3, 0))  # of a cell, by its corners

Numbers = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Surface:
    """A closed, outward-facing mesh; faces (m,) tell the end or, less `FIRST_STRIP`, the strip of each triangle.

    What its vertices are made of, in their order: rows, for each loop where on it they lie, as corner numbers plus
    shares of the edge that follows; then the middles of cells, each the mean of four vertices, (k, 4). cuts: into how
    many pieces each band is cut. flats (k, 4): the corners of plane cells, which are two triangles with no middle.
    """

    vertices: Points
    triangles: Triangles
    faces: Numbers
    strips: tuple[str, ...]
    rows: tuple[NDArray[np.float64], ...]
    middles: Numbers
    cuts: tuple[int, ...]
    flats: Numbers


def lofted(sections: Sequence[Section], bands: Sequence[Band]) -> Surface:
    """Return the closed surface through *sections*, joined by *bands* (one fewer).

    sections aft to forward, each counter-clockwise seen from forward. Vertices are built by index, never by
    merging places, so that pointed and edged ends just work. The caller has checked that nothing crosses.
    """
    loops, joints, cuts = _cut_flat(sections, bands)
    strips = tuple(dict.fromkeys(name for band in joints for name in band.strips))
    rows = _rows(loops, joints)
    points = np.concatenate([row.points for row in rows])
    sides = _sides(rows, joints, points)
    numbered = np.concatenate([[FIRST_STRIP + strips.index(name) for name in band.strips] for band in joints])
    triangles, faces = [sides.triangles], [numbered[sides.cells]]
    for row, face in ((rows[0], AFT_END), (rows[-1], FORWARD_END)):
        cap = _cap(row)
        triangles.append(cap if face == FORWARD_END else cap[:, ::-1])
        faces.append(np.full(len(cap), face))
    return Surface(
        np.concatenate([points, sides.middles]),
        np.concatenate(triangles),
        np.concatenate(faces),
        strips,
        tuple(row.where for row in rows),
        sides.means,
        cuts,
        sides.flats,
    )


def _cut_flat(sections: Sequence[Section], bands: Sequence[Band]) -> tuple[list[Points], list[Band], tuple[int, ...]]:
    """Cut each band by loops between its ribs' ends until its cells are flat enough; tell into how many pieces."""
    loops, joints, cuts = [sections[0].points], [], []
    for section, band in zip(sections[1:], bands, strict=True):
        rows = cut(band.ends, pieces(band.ends))
        number = np.arange(len(band.strips), dtype=np.float64)
        marks = [band.aft, *[number] * (len(rows) - 2), band.forward]
        joints += [
            Band(a, b, np.stack(ends), band.strips)
            for (a, b), ends in zip(pairwise(marks), pairwise(rows), strict=True)
        ]
        loops += [*rows[1:-1], section.points]
        cuts.append(len(rows) - 1)
    return loops, joints, tuple(cuts)


def pieces(ends: Points) -> int:
    """Return into how many pieces a band, by the ends of its ribs (2, N, 3) m, is cut along them to be flat enough.

    >>> square = np.array([[0, 0, 0], [0, 1, 0], [0, 1, 1], [0, 0, 1.0]])
    >>> smaller, twisted = square * 0.5 + [1, 0, 0], square + [[1, 0, 0], [1, 0, 0.1], [1, 0, 0], [1, 0, 0]]
    >>> pieces(np.stack([square, smaller])), pieces(np.stack([square, twisted]))
    (1, 13)
    """
    return _pieces(ends.tobytes(), ends.shape[1])


@lru_cache(maxsize=4096)  # a band is asked when it is judged, when its mesh is, and when that is made
def _pieces(of: bytes, ribs: int) -> int:
    ends, count = np.frombuffer(of).reshape(2, ribs, 3), 1
    while (worst := leaves(cut(ends, count)) / FLATNESS) > 1 + NEAR:
        count = max(count + 1, math.ceil(count * worst - NEAR))
    return count


def cut(ends: Points, count: int) -> Points:
    """Return *count* + 1 rows, (·, N, 3) m, along ribs whose ends are (2, N, 3); the first and the last are those."""
    share = (np.arange(count + 1) / count)[:, None, None]
    rows: Points = ends[0] + (ends[1] - ends[0]) * share
    rows[-1] = ends[1]
    return rows


def leaves(rows: Points) -> float:
    """Return a bound, m, on how far the meshed surface between *rows* of ribs, (R, N, 3), leaves the ruled one.

    At one place on a cell the two lie at most |a−b+c−d|/16 apart. They may lie so along the surface, and then do not
    leave each other: what counts is the part square to one of the four triangles, measured along the cell's normal.
    """
    a, d = rows[:-1], rows[1:]
    b, c = (np.concatenate([loop[:, 1:], loop[:, :1]], axis=1) for loop in (a, d))
    apart = a - b + c - d
    whole = np.linalg.norm(apart, axis=2)
    normal = cross(c - a, d - b)
    size = np.linalg.norm(normal, axis=2, keepdims=True)
    normal = np.divide(normal, size, out=np.zeros_like(normal), where=size > 0)
    corners = np.stack([a, b, c, d]) - (a + b + c + d) / 4
    areas = cross(corners, corners[[1, 2, 3, 0]])
    facing = np.einsum("tijk,ijk->tij", areas, normal)
    square = np.abs(np.einsum("tijk,ijk->tij", areas, apart))
    along = np.divide(square, facing, out=np.broadcast_to(whole, square.shape).copy(), where=facing > 0)
    along[np.linalg.norm(areas, axis=3) <= NEAR * size[..., 0]] = 0.0  # no triangle there
    return float(np.minimum(along.max(axis=0), whole).max()) / 16


@dataclass(frozen=True, eq=False)
class _Row:
    """The vertices of one loop in order round it: where each lies on the loop, its number, and its place."""

    where: NDArray[np.float64]
    first: int
    points: Points

    def steps(self, ribs: NDArray[np.float64]) -> tuple[Numbers, Numbers, Numbers]:
        """Return for each rib the vertex that it meets and that of the next one, and how many edges lie between."""
        n = len(self.where)
        met = np.abs(self.where - ribs[:, None]).argmin(axis=1)
        following = np.arange(1, len(ribs) + 1) % len(ribs)
        on = (met[following] - met) % n
        all_round = (on == 0) & (ribs[following] != ribs) & (n > 1)
        return self.first + met, self.first + met[following], np.where(all_round, n, on)

    def run(self, start: np.int64, edges: np.int64) -> Numbers:
        """Return the numbers of the vertices along so many *edges* from the vertex *start*, both ends included."""
        numbers: Numbers = self.first + (start - self.first + np.arange(edges + 1)) % len(self.where)
        return numbers


def _rows(loops: Sequence[Points], joints: Sequence[Band]) -> list[_Row]:
    """Lay down the vertices of every loop: its corners, and wherever a rib from either side meets it."""
    rows: list[_Row] = []
    for k, loop in enumerate(loops):
        met = [joints[k - 1].forward] if k else []
        met += [joints[k].aft] if k < len(joints) else []
        where = np.unique(np.concatenate([np.arange(len(loop), dtype=np.float64), *met]))
        where = where[np.concatenate([[True], np.diff(where) > NEAR])]
        rows.append(_Row(where, rows[-1].first + len(rows[-1].where) if rows else 0, point_at(loop, where)))
    return rows


@dataclass(frozen=True, eq=False)
class _Sides:
    """The mesh of all bands: the vertices in the middle of cells, the triangles, and the cell of each, band by band.

    means (k, 4): the vertices that each middle is the mean of. flats (k, 4): the corners of cells in a plane.
    """

    middles: Points
    triangles: Triangles
    cells: Numbers
    means: Numbers
    flats: Numbers


def _sides(rows: Sequence[_Row], joints: Sequence[Band], points: Points) -> _Sides:
    """Mesh all bands at once; the vertices in the middle of their cells are numbered after *points*, those of *rows*.

    A cell has corners a and b on the aft loop, c and d on the forward one, and more where ribs of the band beyond
    meet its edges. Three corners, or four in a plane, need no middle.
    """
    a, b, on_a = _steps(rows[:-1], [band.aft for band in joints])
    d, c, on_d = _steps(rows[1:], [band.forward for band in joints])
    of = np.repeat(np.arange(len(joints)), [len(band.strips) for band in joints])
    numbers = np.stack([a, b, c, d], axis=1)
    four = (on_a == 1) & (on_d == 1)
    plane = four & _are_plane(points[numbers])
    bent, more = np.flatnonzero(four & ~plane), np.flatnonzero((on_a > 1) | (on_d > 1))
    middled = np.concatenate([bent, more])
    middled = middled[np.argsort(of[middled], kind="stable")]
    middle = np.zeros(len(a), np.int64)
    middle[middled] = len(points) + np.arange(len(middled))
    cells = [np.flatnonzero(plane | (on_a == 1) & (on_d == 0)), np.flatnonzero(plane | (on_a == 0) & (on_d == 1))]
    triangles = [numbers[cells[0]][:, [0, 1, 2]], numbers[cells[1]][:, [0, 2, 3]]]
    for edge in EDGES:
        triangles.append(np.column_stack([numbers[bent][:, edge], middle[bent]]))
        cells.append(bent)
    for rib in more:
        aft, forward = rows[of[rib]], rows[of[rib] + 1]
        loop = [*aft.run(a[rib], on_a[rib]), *forward.run(d[rib], on_d[rib])[::-1]]
        triangles.append(np.column_stack([loop, np.roll(loop, -1), np.full(len(loop), middle[rib])]))
        cells.append(np.full(len(loop), rib))
    cell = np.concatenate(cells)
    order = np.argsort(of[cell], kind="stable")
    means = numbers[middled]
    return _Sides(points[means].mean(axis=1), np.concatenate(triangles)[order], cell[order], means, numbers[plane])


def _steps(rows: Sequence[_Row], ribs: Sequence[NDArray[np.float64]]) -> tuple[Numbers, ...]:
    """Return the steps along each row from rib to rib, row by row."""
    each = [row.steps(met) for row, met in zip(rows, ribs, strict=True)]
    return tuple(np.concatenate(part) for part in zip(*each, strict=True))


def _are_plane(cells: Points) -> NDArray[np.bool_]:
    """Whether the corners of each cell, (k, 4, 3), lie in a plane, to a picometre, and convex: any diagonal will do."""
    edges = cells[:, [1, 2, 3, 0]] - cells
    turns = cross(edges[:, [3, 0, 1, 2]], edges)
    normal = turns.sum(axis=1)
    size = np.linalg.norm(normal, axis=1, keepdims=True)
    off = np.abs(np.einsum("kij,kj->ki", cells - cells[:, :1], normal))
    facing = np.einsum("kij,kj->ki", turns, normal)
    plane: NDArray[np.bool_] = (size[:, 0] > 0) & (off <= 1e-12 * size).all(axis=1) & (facing > 0).all(axis=1)
    return plane


def _cap(row: _Row) -> Triangles:
    """Return the triangles that fill a loop, seen from forward."""
    if len(row.where) < 3:
        return np.zeros((0, 3), np.int64)
    return triangulated([row.points[:, 1:]]) + row.first
