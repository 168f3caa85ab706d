"""What the demo boat costs: against the boolean kernel by itself, and with a crowd of obstructions in one locker."""

import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from manifold3d import Manifold, Mesh64, OpType

import tapeloft.shapes
from tapeloft.model.areas import areas_to_coat
from tapeloft.model.compartment import build
from tapeloft.model.solid import PER_METRE, closed
from tapeloft.model.survey.boat import read_survey
from tapeloft.model.survey.sheet import Obstruction
from tapeloft.model.survey.survey import Survey
from tapeloft.model.volume import measured
from tapeloft.shapes.block import Box
from tapeloft.shapes.post import Post

pytestmark = pytest.mark.bench
DEMO = Path(tapeloft.shapes.__path__[0]) / "demo"


def best(*ways: Callable[[], Any], times: int = 15) -> list[float]:
    """The least time, s, that each way took, taken in turns: what a quiet machine takes."""
    taken: list[list[float]] = [[] for _ in ways]
    for _ in range(times):
        for way, times_ in zip(ways, taken, strict=True):
            start = time.perf_counter()
            way()
            times_.append(time.perf_counter() - start)
    return [min(times_) for times_ in taken]


def test_the_whole_boat_against_the_kernel_by_itself() -> None:
    """From the same meshes to bodies with their volume, area and bounds: at most twice the kernel's own calls.

    Ours looks for open edges first, asks the kernel for its status, and adds the centroid, which it has not. What
    comes before the meshes, from the readings to a surface proved sound, is told beside it.
    """
    surveys = read_survey(DEMO).compartments
    boat = [build(survey) for survey in surveys]
    meshes = [[(s.vertices, s.triangles) for s in (c.gross, *(p.body for p in c.pieces))] for c in boat]

    def kernel() -> list[Any]:
        found = []
        for every in meshes:
            bodies = [Manifold(Mesh64(v * PER_METRE, np.array(t, np.uint64))) for v, t in every]
            net = Manifold.batch_boolean(bodies, OpType.Subtract)
            found.append([(p.volume(), p.surface_area(), p.bounding_box()) for p in (net, *net.decompose())])
        return found

    def ours() -> list[Any]:
        found = []
        for every in meshes:
            whole, *rest = (closed(v, t) for v, t in every)
            net = whole.cleared_of(rest)
            found.append([(p.volume, p.area, p.bounds, p.centroid) for p in (net, *net.parts())])
        return found

    def from_readings() -> list[float]:
        build.cache_clear()
        return [build(survey).net.volume for survey in surveys]

    for theirs, mine in zip(kernel(), ours(), strict=True):
        assert mine[0][0] == pytest.approx(theirs[0][0] / PER_METRE**3, rel=1e-12)
    raw, same, whole = best(kernel, ours, from_readings, times=25)
    print(f"\nwhole boat, kernel by itself {raw * 1e3:.1f} ms")
    print(f"whole boat, from the same meshes {same / raw:.2f} × that (at most 2.0)")
    print(f"whole boat, from the readings, lofted and proved sound {whole / raw:.1f} × that")
    assert same <= 2.0 * raw


def crowded(count: int) -> Survey:
    """The port cockpit locker with so many things in it, half of them round, in rows that stand close."""
    rng = np.random.default_rng(1)
    rows = 10
    things: list[Obstruction] = []
    for number in range(count):
        along, across = divmod(number, rows)
        x = 0.06 + 2.0 * along * rows / count + rng.uniform(0, 0.02)
        y, width, high = 0.62 + 0.04 * across, *rng.uniform((0.02, 0.2), (0.045, 0.7))
        shape: Box | Post
        if number % 2:
            shape = Post(x, y, (-np.inf, high), diameter=width)
        else:
            shape = Box((x, x + 0.05), (y, y + width), (-np.inf, high))
        things.append(Obstruction(f"thing {number}", shape=shape))
    (port,) = (s for s in read_survey(DEMO).compartments if s.name == "cockpit locker, port")
    return replace(port, obstructions=tuple(things))


def test_two_hundred_obstructions_in_one_compartment_take_less_than_a_second() -> None:
    survey = crowded(200)

    def built_and_measured() -> None:
        build.cache_clear()
        compartment = build(survey)
        measured(compartment)
        areas_to_coat(compartment)

    taken = best(built_and_measured, times=5)[0]
    net = build(survey).net
    print(f"\n200 obstructions, net of {len(net.triangles)} triangles: {taken:.2f} s, built and measured")
    assert taken < 1.0
