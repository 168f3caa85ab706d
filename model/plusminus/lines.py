"""How the longest clear lines change as the surface round a space moves.

The longest line along an axis is the answer of a small linear program: its ends stay between two faces, and it stays on
this side of the edges that it was pushed against. By how much its length changes is what the ends move along it, and
what each edge moves out of the way, as often as the line is longer for a metre of that (the program's duals). Where
several edges would stop it at once, it is as long as the one that gives least leaves it: each has a slope of its own.

This is of the line that is told, where it lies; another may be longer by then.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from tapeloft.model.moments import Points, cross
from tapeloft.model.plusminus.moving import Moving
from tapeloft.model.runs.runs import Run
from tapeloft.model.solid import Solid

NEAR = 2e-6  # m: what is no farther apart, seen along a line, is in one place
BENT = 1e-7  # difference of unit normals that makes an edge a crease
LEVEL = 1e-9  # slope of a line's length below which nothing is gained by pushing it
MOST = 24  # slopes of one line that are told apart

Numbers = NDArray[np.int64]
Term = tuple[int, Points, Points]
"""A triangle, a point on it (3,), and the vector (3,) along which its move makes the line longer, m a metre."""


@dataclass(frozen=True, eq=False)
class _Edge:
    """An edge that lies over the place of a line: the way it goes from there, its height there, its triangles."""

    way: Points
    height: float
    triangles: tuple[int, int]


def lines(space: Moving, runs: Sequence[Run]) -> tuple[Points, ...]:
    """Return for each of *runs* how its length may change with each unknown, (n, k): the least of k counts.

    k is 0 where it is not known what holds the line.
    """
    every = [list(_held(space.net, run, space.side)) for run in runs]
    if not every:
        return ()
    flat = [terms for one in every for terms in one]
    told = space.gathered([_poured(space, k, flat) for k in range(len(space.skins))])
    return tuple(np.split(told, np.cumsum([len(one) for one in every])[:-1], axis=1))


def _poured(space: Moving, number: int, every: Sequence[Sequence[Term]]) -> list[Points]:
    """Return how lengths, each of some terms, change with the vertices of one of the skins, (v, 3) each."""
    skin, net = space.skins[number], space.net
    mine = [(k, *one) for k, terms in enumerate(every) for one in terms if net.origins[one[0]] == skin.origin]
    of = np.array([k for k, *_ in mine], np.int64)
    faces = net.faces[np.array([triangle for _, triangle, *_ in mine], np.int64)]
    shares = skin.shared(faces, np.array([point for *_, point, _ in mine]).reshape(-1, 1, 3))[:, 0]
    along = np.array([vector for *_, vector in mine]).reshape(-1, 3)
    return [skin.poured(faces[of == k], shares[of == k], along[of == k]) for k in range(len(every))]


def _held(net: Solid, run: Run, side: Points) -> Iterator[list[Term]]:
    """Yield what a line along an axis is held by, each way that it is, as the terms of its length."""
    seen = _Seen(net, run.axis, (np.array(run.start_m) * side, np.array(run.end_m) * side))
    found: list[list[Term]] = []
    for first, second in seen.sectors():
        middle = first + second
        ends = seen.ends(middle if np.abs(middle).max() > 1e-4 else np.array([-first[1], first[0]]))
        if ends is not None and len(found) < MOST:
            found += seen.terms(*ends, first, second)
    yield from found


class _Seen:
    """A solid seen along a line in it: what is over and under the place where the line is."""

    def __init__(self, net: Solid, axis: int, ends: tuple[Points, Points]) -> None:
        self.axis, self.plane = axis, [(axis + 1) % 3, (axis + 2) % 3]
        self.start, self.end = sorted(float(one[axis]) for one in ends)
        self.at = ends[0][self.plane]
        flat = net.vertices[:, self.plane][net.triangles] - self.at
        low, high = flat.min(axis=1), flat.max(axis=1)
        self.numbers = np.flatnonzero(((low <= NEAR) & (high >= -NEAR)).all(axis=1))
        self.net, self.flat = net, flat[self.numbers]
        corners = net.vertices[net.triangles[self.numbers]]
        normal = cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
        size = np.linalg.norm(normal, axis=1, keepdims=True)
        self.normal = np.divide(normal, size, out=np.zeros_like(normal), where=size > 0)
        self.corners = corners
        self.edges = list(self._edges())

    def _edges(self) -> Iterator[_Edge]:
        """Yield the creases that go out from the place of the line, at heights between its ends."""
        beside: dict[tuple[int, int], int] = {}
        for k, triangle in enumerate(self.net.triangles[self.numbers].tolist()):
            for i in range(3):
                beside[triangle[i], triangle[i - 2]] = k
        for (a, b), k in beside.items():
            other = beside.get((b, a))
            if other is None or a > b or np.abs(self.normal[k] - self.normal[other]).max() <= BENT:
                continue
            yield from self._out(a, b, (k, other))

    def _out(self, a: int, b: int, triangles: tuple[int, int]) -> Iterator[_Edge]:
        p, q = (self.net.vertices[k] for k in (a, b))
        way = (q - p)[self.plane]
        long = float(np.linalg.norm(way))
        if long <= NEAR:
            return
        off, way = p[self.plane] - self.at, way / long
        along = -float(off @ way)
        if abs(off[0] * way[1] - off[1] * way[0]) > NEAR or not -NEAR <= along <= long + NEAR:
            return
        height = float(p[self.axis] + (q - p)[self.axis] * along / long)
        if self.start - NEAR <= height <= self.end + NEAR:
            yield from (_Edge(sign * way, height, triangles) for sign, room in ((1, long - along), (-1, along))
                        if room > NEAR)  # fmt: skip

    def sectors(self) -> Iterator[tuple[Points, Points]]:
        """Yield the sides from which the place can be come to, each by the ways of the edges that bound it."""
        ways = [one.way for one in self.edges]
        if not ways:
            yield np.array([1.0, 0.0]), np.array([-1.0, 0.0])
            yield np.array([-1.0, 0.0]), np.array([1.0, 0.0])
            return
        angles = np.sort(np.round(np.arctan2(*np.array(ways).T[::-1]) % (2 * np.pi), 6) % round(2 * np.pi, 6))
        angles = angles[np.append(True, np.diff(angles) > 2e-6)]
        for one, other in zip(angles, np.roll(angles, -1), strict=True):
            wide = (other - one) % (2 * np.pi) or 2 * np.pi
            if wide <= np.pi + 1e-5:
                yield np.array([np.cos(one), np.sin(one)]), np.array([np.cos(other), np.sin(other)])

    def ends(self, toward: Points) -> tuple[int, int] | None:
        """Return the triangles that the line starts and ends at as it is come to from a side; None if it is not one."""
        edge = np.roll(self.flat, -1, axis=1) - self.flat
        turn = edge[:, 0, 0] * edge[:, 1, 1] - edge[:, 0, 1] * edge[:, 1, 0]
        sign = np.sign(turn)[:, None]
        length = np.maximum(np.linalg.norm(edge, axis=2), 1e-300)
        inside = sign * (edge[:, :, 1] * self.flat[:, :, 0] - edge[:, :, 0] * self.flat[:, :, 1]) / length
        gain = sign * (edge[:, :, 0] * toward[1] - edge[:, :, 1] * toward[0]) / length
        flat = np.abs(turn) > 2 * NEAR * length.max(axis=1)
        hit = np.flatnonzero(flat & ((inside > NEAR) | ((inside >= -NEAR) & (gain > 0))).all(axis=1))
        heights = {int(k): self._height(int(k)) for k in hit}
        under = [k for k in heights if abs(heights[k] - self.start) <= 5 * NEAR and self.normal[k, self.axis] < 0]
        over = [k for k in heights if abs(heights[k] - self.end) <= 5 * NEAR and self.normal[k, self.axis] > 0]
        between = any(self.start + 5 * NEAR < h < self.end - 5 * NEAR for h in heights.values())
        return None if between or not under or not over else (under[0], over[0])

    def _height(self, k: int) -> float:
        """Return where the plane of a triangle stands over the place of the line."""
        normal, corner = self.normal[k], self.corners[k, 0]
        off = float(normal[self.plane] @ (self.at - corner[self.plane]))
        return float(corner[self.axis] - off / normal[self.axis])

    def terms(self, under: int, over: int, first: Points, second: Points) -> Iterator[list[Term]]:
        """Yield what a line between two faces is held by, once for each edge that would stop it by itself."""
        slopes = [-self.normal[k][self.plane] / self.normal[k, self.axis] for k in (under, over)]
        gain = slopes[1] - slopes[0]
        ends = [self._end(under, self.start, -1.0), self._end(over, self.end, 1.0)]
        if float(np.linalg.norm(gain)) <= LEVEL:
            yield ends
            return
        outward = np.column_stack([[first[1], -first[0]], [-second[1], second[0]]])
        duals = np.linalg.lstsq(outward, gain, rcond=1e-9)[0]
        if float(duals.min()) < -1e-6:  # longer lines lie that way: it is of another side that this is the longest
            return
        holding = [
            [[*self._pushed(edge, dual, out)] for edge in self.edges if float(np.abs(edge.way - way).max()) < 1e-5]
            for way, dual, out in zip((first, second), duals.tolist(), outward.T, strict=True)
            if dual > LEVEL
        ]
        for some in product(*holding):
            yield ends + [term for pushed in some for term in pushed]

    def _end(self, k: int, height: float, sign: float) -> Term:
        return int(self.numbers[k]), self._point(height), sign * self.normal[k] / self.normal[k, self.axis]

    def _point(self, height: float) -> Points:
        point = np.empty(3)
        point[self.plane], point[self.axis] = self.at, height
        return point

    def _pushed(self, edge: _Edge, dual: float, out: Points) -> Iterator[Term]:
        """Yield how an edge moves out of the way: it is where its two faces meet."""
        normals = self.normal[list(edge.triangles)]
        wanted = np.zeros(3)
        wanted[self.plane] = out
        parts = np.linalg.lstsq(normals.T, wanted, rcond=1e-9)[0]
        for k, part in zip(edge.triangles, parts.tolist(), strict=True):
            yield int(self.numbers[k]), self._point(edge.height), dual * part * self.normal[k]
