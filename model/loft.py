"""From sections to a closed surface: corners of one letter joined by straight ribs.

Between two sections each pair of corresponding edges spans a ruled (bilinear) cell. A cell gets a vertex in
its middle and a fan of triangles: the volume of that is exactly the bilinear patch's, whatever the twist. The
surface itself leaves the ruled one by at most |a−b+c−d|/16, as much of it as is square to the cell; where that
passes `FLATNESS`, the band is cut along its ribs until it does not.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from tapeloft.model.errors import GeometryError
from tapeloft.model.moments import Points, Triangles
from tapeloft.model.sections import Section
from tapeloft.model.solid import triangulated

FLATNESS = 0.0005  # m that the meshed surface may leave the ruled one
NEAR = 1e-9  # share of an edge within which two points on it are one
AFT_END, FORWARD_END, FIRST_STRIP = 0, 1, 2  # face numbers; strips follow in the order of `Surface.strips`


@dataclass(frozen=True, eq=False)
class Band:
    """How two neighbouring loops are joined: N ribs.

    aft, forward (N,): where each rib meets its loop, as corner number plus share of the edge that follows.
    ends (2, N, 3): the ends of the ribs, m. strips: the part of the surface after each rib, "A-B" by its marks.
    """

    aft: NDArray[np.float64]
    forward: NDArray[np.float64]
    ends: Points
    strips: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class Surface:
    """A closed, outward-facing mesh; faces (m,) tell the end or, less `FIRST_STRIP`, the strip of each triangle."""

    vertices: Points
    triangles: Triangles
    faces: NDArray[np.int64]
    strips: tuple[str, ...]


def joined(aft: Section, forward: Section) -> Band:
    """Return how two sections are joined: marks they share meet; between those, points at equal shares of the girth.

    Raises GeometryError where the shared marks do not run the same way round.
    """
    if aft.pointed or forward.pointed:
        return _to_a_point(aft, forward)
    shared = [m for m in aft.names if m and m in forward.names]
    first, second = (_girths(s, shared) for s in (aft, forward))
    if shared and not _same_order(aft, forward, shared):
        raise GeometryError(f"the marks {', '.join(shared)} do not run the same way round")
    along = np.unique(np.concatenate([first.shares, second.shares]))
    along = along[np.concatenate([[True], np.diff(along) > NEAR])]
    a, b = first.at(along), second.at(along)
    ends = np.stack([point_at(aft.points, a), point_at(forward.points, b)])
    fuller = first if len(aft.names) >= len(forward.names) else second
    return Band(a, b, ends, tuple(fuller.strip_after(t) for t in along))


@dataclass(frozen=True, eq=False)
class _Girth:
    """A loop's corners by their share of the girth between shared marks: n corners, shares in [0, K)."""

    names: tuple[str, ...]
    shares: NDArray[np.float64]
    corners: NDArray[np.float64]

    def at(self, shares: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return corner number plus share of the edge, for each share of the girth."""
        n, period = len(self.corners), math.floor(self.shares[-1]) + 1.0
        k = np.searchsorted(self.shares, shares + NEAR, side="right") - 1
        ahead = np.append(self.shares, period)
        gap = ahead[k + 1] - ahead[k]
        part = np.where(gap > NEAR, (shares - ahead[k]) / np.where(gap > NEAR, gap, 1.0), 0.0)
        part = np.where(np.abs(part) < NEAR, 0.0, part)
        where: NDArray[np.float64] = (self.corners[k] + np.clip(part, 0.0, 1.0)) % n
        return where

    def strip_after(self, share: float) -> str:
        """Name the part of the surface that follows a share of the girth by the marks on either hand of it."""
        k = int(np.searchsorted(self.shares, share + NEAR, side="right")) - 1
        here, following = self.names[k], self.names[(k + 1) % len(self.names)]
        return f"{here}-{following}" if here and following else "side"


def _girths(section: Section, shared: Sequence[str]) -> _Girth:
    n = len(section.points)
    start = section.names.index(shared[0]) if shared else _lowest_inboard(section.points)
    order = [(start + k) % n for k in range(n)]
    lengths = np.linalg.norm(section.points[np.roll(order, -1)] - section.points[order], axis=1)
    knots = [k for k, i in enumerate(order) if section.names[i] in shared] if shared else [0]
    shares = np.zeros(n)
    for number, (k, end) in enumerate(zip(knots, [*knots[1:], n], strict=True)):
        run = lengths[k:end]
        total = run.sum()
        before = np.concatenate([[0.0], np.cumsum(run)[:-1]])
        shares[k:end] = number + (before / total if total > 0 else np.arange(end - k) / (end - k))
    return _Girth(tuple(section.names[i] for i in order), shares, np.array(order, np.float64))


def _lowest_inboard(points: Points) -> int:
    return int(np.lexsort((np.abs(points[:, 1]), points[:, 2]))[0])


def _same_order(aft: Section, forward: Section, shared: Sequence[str]) -> bool:
    there = [m for m in forward.names if m in shared]
    k = there.index(shared[0])
    return there[k:] + there[:k] == list(shared)


def _to_a_point(aft: Section, forward: Section) -> Band:
    full = forward if aft.pointed else aft
    n = len(full.points)
    ring, tip = np.arange(n, dtype=np.float64), np.zeros(n)
    strips = _Girth(full.names, ring, ring)
    labels = tuple(strips.strip_after(t) for t in ring)
    ends = [np.repeat(s.points[:1], n, axis=0) if s.pointed else s.points for s in (aft, forward)]
    return Band(tip if aft.pointed else ring, tip if forward.pointed else ring, np.stack(ends), labels)


def point_at(points: Points, where: NDArray[np.float64]) -> Points:
    """Return the points at corner numbers plus shares of the following edge, on a loop (n, 3)."""
    k = np.floor(where).astype(int) % len(points)
    part = (where - np.floor(where))[:, None]
    here: Points = points[k] * (1 - part) + points[(k + 1) % len(points)] * part
    return np.where(part == 0.0, points[k], here)


def lofted(sections: Sequence[Section], bands: Sequence[Band]) -> Surface:
    """Return the closed surface through *sections*, joined by *bands* (one fewer).

    sections aft to forward, each counter-clockwise seen from forward. Vertices are built by index, never by
    merging places, so that pointed and edged ends just work. The caller has checked that nothing crosses.
    """
    loops, joints = _cut_flat(sections, bands)
    strips = tuple(dict.fromkeys(name for band in joints for name in band.strips))
    mesh = _Mesh([], [], [])
    rows = [_row(mesh, loop, joints, k) for k, loop in enumerate(loops)]
    for k, band in enumerate(joints):
        for rib, name in enumerate(band.strips):
            _fan(mesh, _cell(rows[k], rows[k + 1], band, rib), FIRST_STRIP + strips.index(name))
    _cap(mesh, rows[0], AFT_END)
    _cap(mesh, rows[-1], FORWARD_END)
    vertices = np.array(mesh.vertices)
    return Surface(vertices, np.array(mesh.triangles, np.int64), np.array(mesh.faces, np.int64), strips)


def _cut_flat(sections: Sequence[Section], bands: Sequence[Band]) -> tuple[list[Points], list[Band]]:
    """Cut each band by loops between its ribs' ends until its cells are flat enough."""
    loops, joints = [sections[0].points], []
    for section, band in zip(sections[1:], bands, strict=True):
        count = max(1, math.ceil(twist(band) / FLATNESS - 1e-9))
        number = np.arange(len(band.strips), dtype=np.float64)
        steps = [band.ends[0] + (band.ends[1] - band.ends[0]) * k / count for k in range(1, count)]
        marks = [band.aft, *[number] * (count - 1), band.forward]
        rows = [band.ends[0], *steps, band.ends[1]]
        joints += [
            Band(a, b, np.stack(ends), band.strips)
            for (a, b), ends in zip(pairwise(marks), pairwise(rows), strict=True)
        ]
        loops += [*steps, section.points]
    return loops, joints


def twist(band: Band) -> float:
    """Return the farthest that the meshed surface of a band, uncut, may leave the ruled one, m.

    Over a cell the two differ by at most |a−b+c−d|/16, and what of that lies along the surface does not leave it:
    the part square to the cell counts, and a second-order share of the rest.
    """
    a, d = band.ends
    b, c = np.roll(a, -1, axis=0), np.roll(d, -1, axis=0)
    off = a - b + c - d
    across, along = c - a, d - b
    normal = np.cross(across, along)
    area = np.linalg.norm(normal, axis=1)
    size = np.minimum(np.linalg.norm(across, axis=1), np.linalg.norm(along, axis=1))
    whole = np.linalg.norm(off, axis=1)
    square = np.where(area > 0, np.abs(np.einsum("ij,ij->i", off, normal)) / np.where(area > 0, area, 1), whole)
    leaves = np.minimum(square * (1 + whole / np.where(size > 0, size, 1.0)), whole)
    return float(leaves.max()) / 16


@dataclass(frozen=True, eq=False)
class _Mesh:
    vertices: list[Points]
    triangles: list[tuple[int, int, int]]
    faces: list[int]


@dataclass(frozen=True, eq=False)
class _Row:
    """The vertices of one loop in order round it: where each lies on the loop, and its number."""

    where: NDArray[np.float64]
    number: NDArray[np.int64]
    points: Points

    def run(self, start: float, end: float) -> list[int]:
        """Return the vertices from *start* to *end* round the loop, both included."""
        n = len(self.where)
        first, last = (int(np.abs(self.where - w).argmin()) for w in (start, end))
        steps = (last - first) % n
        if steps == 0 and n > 1 and end != start:
            steps = n
        return [int(self.number[(first + k) % n]) for k in range(steps + 1)]


def _row(mesh: _Mesh, loop: Points, joints: Sequence[Band], k: int) -> _Row:
    """Lay down the vertices of loop *k*: its corners and wherever a rib from either side meets it."""
    met = [joints[k - 1].forward] if k else []
    met += [joints[k].aft] if k < len(joints) else []
    where = np.unique(np.concatenate([np.arange(len(loop), dtype=np.float64), *met]))
    where = where[np.concatenate([[True], np.diff(where) > NEAR])]
    points = point_at(loop, where)
    number = np.arange(len(where)) + len(mesh.vertices)
    mesh.vertices.extend(points)
    return _Row(where, number, points)


def _cell(aft: _Row, forward: _Row, band: Band, rib: int) -> tuple[list[int], list[int]]:
    following = (rib + 1) % len(band.aft)
    return aft.run(band.aft[rib], band.aft[following]), forward.run(band.forward[rib], band.forward[following])


def _fan(mesh: _Mesh, cell: tuple[list[int], list[int]], face: int) -> None:
    aft, forward = cell
    loop = [*aft, *forward[::-1]]
    loop = [v for k, v in enumerate(loop) if v != loop[k - 1]]
    if len(loop) < 3:
        return
    if len(loop) == 3:
        fan = [(loop[0], loop[1], loop[2])]
    elif len(loop) == 4 and _is_plane([mesh.vertices[v] for v in loop]):
        fan = [(loop[0], loop[1], loop[2]), (loop[0], loop[2], loop[3])]
    else:
        corners = [mesh.vertices[v] for v in (aft[0], aft[-1], forward[-1], forward[0])]
        middle = len(mesh.vertices)
        mesh.vertices.append(np.mean(corners, axis=0))
        fan = [(a, b, middle) for a, b in zip(loop, [*loop[1:], loop[0]], strict=True)]
    mesh.triangles.extend(fan)
    mesh.faces.extend([face] * len(fan))


def _is_plane(corners: Sequence[Points]) -> bool:
    """Whether four corners lie in one plane, to a picometre, and make a convex cell there: either diagonal will do."""
    loop = np.array(corners)
    turns = np.cross(loop - np.roll(loop, 1, axis=0), np.roll(loop, -1, axis=0) - loop)
    normal = turns.sum(axis=0)
    size = float(np.linalg.norm(normal))
    off = (loop - loop[0]) @ normal
    return size > 0 and bool((np.abs(off) <= 1e-12 * size).all() and (turns @ normal > 0).all())


def _cap(mesh: _Mesh, row: _Row, face: int) -> None:
    if len(row.where) < 3:
        return
    fill = triangulated([row.points[:, 1:]])
    for triangle in fill:
        a, b, c = (int(row.number[v]) for v in triangle)
        mesh.triangles.append((a, b, c) if face == FORWARD_END else (a, c, b))
        mesh.faces.append(face)
