"""Of which points of its sections each vertex of a surface is made, so that it is known how it moves with them.

Between sections the surface is ruled: its vertices are shares of the points of the two sections they lie between. What
shares (where a rib meets a section between two letters) is held as it was read: the rib slides along a straight edge.

A plane cell is meshed as two triangles, for any diagonal will do there; once a corner leaves the plane it will not.
Here every cell has a middle, as the ruled surface wants it.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tapeloft.model.moments import Points, Triangles
from tapeloft.model.surface.gross import Loft
from tapeloft.model.surface.skin import Surface

Numbers = NDArray[np.int64]
Shares = NDArray[np.float64]
SIDES = ([0, 1], [1, 2], [2, 3], [3, 0])  # of a cell, by its corners


@dataclass(frozen=True, eq=False)
class Woven:
    """A closed surface, every cell with a middle, and its vertices as shares of the points of its sections.

    vertices (v, 3), knots (n, 3), m: the points of all sections the surface is straight between, in order. Entry k of
    the shares: vertex of[k] is made of knot knot[k] by share[k]. faces (m,): by triangle, as `Surface` has them.
    """

    vertices: Points
    triangles: Triangles
    faces: Numbers
    knots: Points
    of: Numbers
    knot: Numbers
    share: Shares

    def spread(self, knots: Points) -> Points:
        """Return where the vertices are, (v, 3), when the knots are at *knots* (n, 3)."""
        return _summed(self.of, self.share[:, None] * knots[self.knot], len(self.vertices))

    def gathered(self, slopes: Points) -> Points:
        """Return by knot, (n, 3), what *slopes* (v, 3) say by vertex: how a figure changes as each one moves."""
        return _summed(self.knot, self.share[:, None] * slopes[self.of], len(self.knots))


def woven(loft: Loft) -> Woven:
    """Return the surface of *loft* with its vertices as shares of the points that it is straight between."""
    surface = loft.surface
    parts = [*_rows(loft)]
    knots, shares = (np.concatenate(one) for one in zip(*parts, strict=True))
    means = np.concatenate([surface.middles, surface.flats])
    every = np.arange(len(knots) + len(means))
    of = [np.repeat(every[: len(knots)], knots.shape[1]), np.repeat(every[len(knots) :], 4 * knots.shape[1])]
    fan = len(surface.vertices) + np.arange(len(surface.flats))
    return Woven(
        np.concatenate([surface.vertices, surface.vertices[surface.flats].mean(axis=1)]),
        *_fanned(surface, fan),
        np.concatenate([section.points for section in loft.through]),
        np.concatenate(of),
        np.concatenate([knots.ravel(), knots[means].ravel()]),
        np.concatenate([shares.ravel(), shares[means].ravel() / 4]),
    )


def _rows(loft: Loft) -> Iterator[tuple[Numbers, Shares]]:
    """Yield for each row of vertices the four knots and shares, (·, 4), that each is made of."""
    sizes = [len(section.points) for section in loft.through]
    first = np.cumsum([0, *sizes])
    rows = iter(loft.surface.rows)
    for k, size in enumerate(sizes):
        here = _on(next(rows), size, int(first[k]))
        yield np.repeat(here[0], 2, axis=1), np.repeat(here[1] / 2, 2, axis=1)
        if k == len(loft.fair):
            return
        band, pieces = loft.fair[k], loft.surface.cuts[k]
        aft, ahead = _on(band.aft, size, int(first[k])), _on(band.forward, sizes[k + 1], int(first[k + 1]))
        for number in range(1, pieces):
            ribs, part = next(rows).astype(np.int64), number / pieces
            yield (
                np.hstack([aft[0], ahead[0]])[ribs],
                np.hstack([aft[1] * (1 - part), ahead[1] * part])[ribs],
            )


def _on(where: Shares, size: int, first: int) -> tuple[Numbers, Shares]:
    """Return the two knots, and their shares, (·, 2), of places on a loop of so many whose first is *first*."""
    edge = np.floor(where).astype(np.int64) % size
    part = where - np.floor(where)
    return first + np.column_stack([edge, (edge + 1) % size]), np.column_stack([1 - part, part])


def _fanned(surface: Surface, middles: Numbers) -> tuple[Triangles, Numbers]:
    """Return the triangles with those of plane cells put in by fans round *middles* (k,), and their faces."""
    many, flats = int(surface.triangles.max()) + 1, surface.flats
    first, second = (_key(flats[:, corners], many) for corners in ([0, 1, 2], [0, 2, 3]))
    every = _key(surface.triangles, many)
    kept = ~np.isin(every, np.concatenate([first, second]))
    order = np.argsort(every)
    own = surface.faces[order[np.searchsorted(every, first, sorter=order)]]
    fans = [np.column_stack([flats[:, side], middles]) for side in SIDES]
    return (
        np.concatenate([surface.triangles[kept], *fans]),
        np.concatenate([surface.faces[kept], *(own for _ in SIDES)]),
    )


def _key(triangles: Triangles, many: int) -> Numbers:
    key: Numbers = (triangles[:, 0] * many + triangles[:, 1]) * many + triangles[:, 2]
    return key


def _summed(places: Numbers, terms: Points, size: int) -> Points:
    sums = [np.bincount(places, weights=terms[:, axis], minlength=size) for axis in range(3)]
    summed: Points = np.column_stack(sums)
    return summed
