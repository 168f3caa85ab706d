"""Clear runs: what a person waits for, from a plain locker to a surface of twenty thousand triangles."""

import math
import time

import numpy as np
import pytest
from scipy.spatial import ConvexHull

from tapeloft.model.facets import body
from tapeloft.model.runs.runs import clear_runs
from tapeloft.model.solid import Solid
from tapeloft.shapes.polyhedron import Polyhedron, Round, box, circle, prism

pytestmark = pytest.mark.bench


def against_the_hull(stations: int, sides: int, turned: float) -> Solid:
    """A quarter round that narrows and rises forward, turned by an angle about each axis so that nothing is square."""
    x, turn = np.linspace(0, 2, stations), np.linspace(0, np.pi / 2, sides)
    skin = [
        (a, (0.8 - 0.1 * a * a) * math.cos(t), -(0.7 - 0.03 * a - 0.02 * a * a) * math.sin(t)) for a in x for t in turn
    ]
    c, s = math.cos(turned), math.sin(turned)
    axes = np.array([[c, s, 0], [-s, c, 0], [0, 0, 1]]) @ np.array([[1, 0, 0], [0, c, s], [0, -s, c]])
    points = np.array([*skin, *((a, 0.0, 0.0) for a in x)]) @ axes
    found = ConvexHull(points)
    a, b, d = np.moveaxis(points[found.simplices], 1, 0)
    outward = np.einsum("ij,ij->i", np.cross(b - a, d - a), found.equations[:, :3]) > 0
    sides_ = np.where(outward[:, None], found.simplices, found.simplices[:, ::-1])
    used, numbers = np.unique(sides_, return_inverse=True)
    return body(Polyhedron(points[used], tuple(map(tuple, numbers.reshape(-1, 3).tolist()))))


def fitted(solid: Solid, sides: int) -> Solid:
    """The locker with a post, a battery box and, where more sides are asked for, a second post and a pipe."""
    posts = [prism(circle(at, 0.04, Round.EQUAL_AREA, sides), -9, 9, 2) for at in ((0.5, 0.3), (1.4, 0.35))]
    pipe = prism(circle((0.25, -0.2), 0.03, Round.EQUAL_AREA, sides), -9, 9, 0)
    parts = [posts[0], box((0.7, -1, -2), (1.1, 0.5, -0.35)), posts[1], pipe]
    return solid.cleared_of([body(part) for part in (parts if sides > 12 else parts[:2])])


@pytest.mark.parametrize(
    ("stations", "around", "sides", "allowed"),
    [(5, 4, 12, 0.03), (8, 7, 16, 0.3), (80, 130, 32, 3.0)],
    ids=["150 triangles", "500 triangles", "20,000 triangles"],
)
@pytest.mark.parametrize("turned", [0.0, 0.05])
def test_clear_runs(stations: int, around: int, sides: int, allowed: float, turned: float) -> None:
    solid = fitted(against_the_hull(stations, around, turned), sides)
    taken = []
    for _ in range(5):
        start = time.perf_counter()
        found = clear_runs(solid)
        taken.append(time.perf_counter() - start)
    print(f"\n{len(solid.triangles)} triangles, turned by {turned} rad: {min(taken) * 1e3:.0f} ms")
    assert all(run.limit_m <= run.length_m + 1e-8 for run in found)
    assert min(taken) < allowed
