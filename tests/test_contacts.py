"""Does a mesh meet itself? Held against exact arithmetic (libigl over CGAL)."""

import igl.copyleft.cgal as cgal
import numpy as np
import pytest
from numpy.typing import NDArray

from tapeloft.model.surface.contacts import self_contacts

Points = NDArray[np.float64]
Pairs = set[tuple[int, int]]


def exact(vertices: Points, triangles: NDArray[np.int64]) -> Pairs:
    pairs = cgal.remesh_self_intersections(vertices, np.ascontiguousarray(triangles, np.int64), True)[2]
    return {(min(pair), max(pair)) for pair in pairs.tolist()}


def contacts(vertices: Points, triangles: NDArray[np.int64]) -> Pairs:
    return {(a, b) for a, b in self_contacts(vertices, triangles).tolist()}


def tube(rows: int, n: int) -> tuple[Points, NDArray[np.int64]]:
    turn = 2 * np.pi * np.arange(n) / n
    vertices = [np.column_stack([np.full(n, 0.1 * k), np.cos(turn + k), np.sin(turn + k)]) for k in range(rows)]
    a = np.arange((rows - 1) * n)
    b = a - a % n + (a + 1) % n
    return np.concatenate(vertices), np.concatenate(
        [np.column_stack([a, b, b + n]), np.column_stack([a, b + n, a + n])]
    )


@pytest.mark.parametrize("seed", range(20))
def test_random_triangles(seed: int):
    """In general place, and on a coarse grid where they touch, lie flat on each other or share corners."""
    rng = np.random.default_rng(seed)
    vertices = (
        rng.uniform(-1, 1, (40, 3)) if seed % 2 else np.unique(rng.integers(-2, 3, (60, 3)), axis=0).astype(float)
    )
    triangles = np.array([rng.choice(len(vertices), 3, replace=False) for _ in range(50)])
    a, b, c = np.moveaxis(vertices[triangles], 1, 0)
    alike = np.unique(np.sort(triangles, axis=1), axis=0, return_index=True)[1]  # libigl lets twins be
    triangles = triangles[np.intersect1d(alike, np.flatnonzero(np.linalg.norm(np.cross(b - a, c - a), axis=1) > 1e-9))]
    assert contacts(vertices, triangles) == exact(vertices, triangles)


def test_a_tube_of_many_triangles_and_one_corner_of_it_carried_through_the_wall():
    vertices, triangles = tube(40, 60)
    assert not contacts(vertices, triangles)
    vertices[1230] = 2.03, 1.43, 0.31
    assert contacts(vertices, triangles) == exact(vertices, triangles)
    assert len(contacts(vertices, triangles)) > 5


TOUCHING = {
    "corner on face": ([(0, 0, 0), (4, 0, 0), (0, 4, 0), (1, 1, 0), (1, 1, 2), (2, 1, 2)], [(0, 1, 2), (3, 4, 5)]),
    "corner on corner, by place alone": (
        [(0, 0, 0), (4, 0, 0), (0, 4, 0), (0, 0, 0), (-1, 0, 2), (0, -1, 2)],
        [(0, 1, 2), (3, 4, 5)],
    ),
    "edge along edge": ([(0, 0, 0), (4, 0, 0), (0, 4, 0), (1, 0, 0), (3, 0, 0), (2, -2, 1)], [(0, 1, 2), (3, 4, 5)]),
    "flat, one in the other": (
        [(0, 0, 0), (9, 0, 0), (0, 9, 0), (1, 1, 0), (2, 1, 0), (1, 2, 0)],
        [(0, 1, 2), (3, 4, 5)],
    ),
    "flat, folded on a shared edge": ([(0, 0, 0), (4, 0, 0), (0, 4, 0), (1, 5, 0)], [(0, 1, 2), (1, 0, 3)]),
    "flat, about a shared corner": ([(0, 0, 0), (4, 0, 0), (0, 4, 0), (1, 2, 0), (2, 1, 0)], [(0, 1, 2), (0, 3, 4)]),
    "along a ray from a shared corner": (
        [(0, 0, 0), (4, 0, 0), (0, 4, 0), (1, 1, -1), (1, 1, 1)],
        [(0, 1, 2), (0, 3, 4)],
    ),
    "twins": ([(0, 0, 0), (4, 0, 0), (0, 4, 0)], [(0, 1, 2), (2, 1, 0)]),
}


@pytest.mark.parametrize(("vertices", "triangles"), TOUCHING.values(), ids=TOUCHING.keys())
@pytest.mark.parametrize("turned", [False, True])
def test_touching_is_contact(vertices: list[tuple[float, ...]], triangles: list[tuple[int, ...]], turned: bool):
    """Also when turned by the angles of a 3-4-5 and a 5-12-13 triangle, where rounding hides that they touch."""
    turn = np.array([[0.8, -0.6, 0], [0.6, 0.8, 0], [0, 0, 1]]) @ np.array([[13, 0, 0], [0, 5, -12], [0, 12, 5]]) / 13
    at = np.array(vertices, float) @ (turn if turned else np.eye(3))
    assert contacts(at, np.array(triangles)) == {(0, 1)}


APART = {
    "flat, across a shared edge": ([(0, 0, 0), (4, 0, 0), (0, 4, 0), (4, 4, 0)], [(0, 1, 2), (1, 3, 2)]),
    "flat, about a shared corner": ([(0, 0, 0), (4, 0, 0), (0, 4, 0), (-1, 2, 0), (-1, -1, 0)], [(0, 1, 2), (0, 3, 4)]),
    "nearly folded": ([(0, 0, 0), (4, 0, 0), (0, 4, 0), (0, 4, 1e-9)], [(0, 1, 2), (1, 0, 3)]),
    "a picometre and more between": (
        [(0, 0, 0), (4, 0, 0), (0, 4, 0), (1, 1, 1e-10), (1, 1, 2), (2, 1, 2)],
        [(0, 1, 2), (3, 4, 5)],
    ),
    "joined by an edge of no length": (
        [(0, 0, 0), (4, 0, 0), (0, 4, 0), (0, 0, 0), (-4, 0, 1), (0, -4, 1)],
        [(0, 1, 2), (3, 4, 5), (0, 3, 1)],
    ),
}


@pytest.mark.parametrize(("vertices", "triangles"), APART.values(), ids=APART.keys())
def test_what_is_no_contact(vertices: list[tuple[float, ...]], triangles: list[tuple[int, ...]]):
    assert not contacts(np.array(vertices, float), np.array(triangles))


def test_a_mesh_of_nothing():
    assert not contacts(np.zeros((0, 3)), np.zeros((0, 3), np.int64))
