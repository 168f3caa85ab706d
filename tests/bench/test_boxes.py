"""The largest box: what a person waits for, on the demo boat and on twenty thousand triangles."""

import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest

import tapeloft.shapes
from tapeloft.model.boxes import largest_box
from tapeloft.model.compartment import build
from tapeloft.model.facets import body
from tapeloft.model.gear.turn import Turn
from tapeloft.model.solid import Solid, closed
from tapeloft.model.survey.boat import read_survey
from tapeloft.model.warm import is_warm, warm
from tapeloft.shapes.polyhedron import Round, box, circle, prism

pytestmark = pytest.mark.bench
DEMO = Path(tapeloft.shapes.__path__[0]) / "demo"
COLD = """
import time
from tapeloft.model.boxes import largest_box
from tapeloft.model.facets import body
from tapeloft.shapes.polyhedron import box
solid = body(box((0, 0, 0), (1.2, 0.6, 0.5))) - body(box((0.5, 0.2, -1), (0.58, 0.28, 1)))
assert largest_box(solid, solid).proved
print(time.process_time())
"""


def seconds(inside: Solid, outside: Solid, tolerance: float, times: int = 3) -> tuple[float, float, int]:
    """The least time of a few goes, s, with the gap reached and the branches looked at."""
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        found = largest_box(inside, outside, tolerance=tolerance)
        taken.append(time.perf_counter() - start)
        assert found is not None
        assert found.proved
    return min(taken), found.gap, found.branches


def hollow_sided(stations: int, rows: int) -> Solid:
    """A locker against a flared side that bends inward, with a round post through it and a step aft."""
    x, z = np.meshgrid(np.linspace(0, 1.8, stations), np.linspace(0, 0.7, rows), indexing="ij")
    up = z / 0.7
    flare = 0.45 + 0.3 * up - 0.32 * up * (1 - up) * (0.5 + x / 3.6)
    skin = np.stack([x, (1 - 0.35 * (x / 1.8) ** 2) * flare, z], axis=-1).reshape(-1, 3)
    flat = skin * [1, 0, 1]
    k = np.arange(stations * rows).reshape(stations, rows)
    quads = (k[:-1, :-1], k[:-1, 1:], k[1:, 1:], k[1:, :-1])
    out = [np.stack([quads[i] for i in three], axis=-1).reshape(-1, 3) for three in ((0, 1, 2), (0, 2, 3))]
    rim = np.concatenate([k[:, 0], k[-1, 1:], k[-2::-1, -1], k[0, -2:0:-1]])
    after, n = np.roll(rim, -1), k.size
    edge = [np.stack([rim, after, after + n], axis=-1), np.stack([rim, after + n, rim + n], axis=-1)]
    back = [three[:, ::-1] + n for three in out]
    solid = closed(np.vstack([skin, flat]), np.vstack([*out, *back, *edge]))
    post = body(prism(circle((1.05, 0.2), 0.04, Round.OUTSIDE, 64), -1, 2, axis=2))
    return solid.cleared_of([post, body(box((-0.1, -0.1, -0.1), (0.4, 2, 0.24)))])


def test_demo_boat() -> None:
    """Within 0.5 % under 1 s, warm, for every compartment; to 0.1 % under 0.3 s is where this should stay."""
    for survey in read_survey(DEMO).compartments:
        space = build(survey)
        largest_box(space.inside, space.outside)
        for tolerance, most in ((0.005, 1.0), (0.001, 1.0)):
            taken, gap, branches = seconds(space.inside, space.outside, tolerance)
            size = f"{len(space.inside.triangles):5} triangles"
            print(f"\n{space.name:26} {size}: gap {gap:.3%} in {taken:.3f} s, {branches} branches", end="")
            assert taken < most


@pytest.mark.parametrize(("stations", "rows"), [(4, 3), (12, 8), (70, 70)])
def test_hollow_side(stations: int, rows: int) -> None:
    """Within 0.5 % under 1 s up to some hundred triangles and under 5 s at twenty thousand."""
    solid = hollow_sided(stations, rows)
    largest_box(solid, solid)
    taken, gap, branches = seconds(solid, solid, 0.005)
    print(f"\n{len(solid.triangles)} triangles: gap {gap:.3%} in {taken:.3f} s, {branches} branches")
    assert taken < (1.0 if len(solid.triangles) < 5000 else 5.0)


TURNED = (
    (Turn.UPRIGHT, 0.01, 1.0),
    (Turn.UPRIGHT, 0.002, 10.0),
    (Turn.ANY_TILT, 0.1, 15.0),
    (Turn.ANY_TILT, 0.05, 60.0),
)
SLOWER = {("chain locker", Turn.UPRIGHT, 0.01): 4.0}  # its hollow flare leaves some 4,000 branches


@pytest.mark.parametrize(("turn", "tolerance", "most"), TURNED)
def test_turned_boxes_of_the_demo_boat(turn: Turn, tolerance: float, most: float) -> None:
    """At any heading within 1 % under 1 s and 0.2 % under 10 s; at any tilt 10 % under 15 s and 5 % under 60 s."""
    warm()
    for survey in read_survey(DEMO).compartments:
        space = build(survey)
        start = time.perf_counter()
        found = largest_box(space.inside, space.outside, turn=turn, tolerance=tolerance, within_s=most + 60)
        taken = time.perf_counter() - start
        assert found is not None
        print(
            f"\n{space.name:26} {turn.value}: gap {found.gap:.2%} in {taken:.2f} s, {found.branches} branches", end=""
        )
        assert taken < SLOWER.get((space.name, turn, tolerance), most)


@pytest.mark.parametrize(("turn", "tolerance", "most"), [(Turn.AS_GIVEN, 0.002, 1.0), (Turn.UPRIGHT, 0.01, 5.0)])
def test_turned_boxes_in_twenty_two_thousand_triangles(turn: Turn, tolerance: float, most: float) -> None:
    """As given within 0.2 % under 1 s, at any heading within 1 % under 5 s."""
    warm()
    solid = hollow_sided(77, 77)
    start = time.perf_counter()
    found = largest_box(solid, solid, turn=turn, tolerance=tolerance, within_s=60)
    taken = time.perf_counter() - start
    assert found is not None
    print(f"\n{len(solid.triangles)} triangles, {turn.value}: gap {found.gap:.2%} in {taken:.2f} s", end="")
    assert taken < most


def test_first_box_of_a_process() -> None:
    """What a whole process takes of the processor up to its first answer, compiled loops kept from before."""
    solid = hollow_sided(4, 3)
    largest_box(solid, solid)
    assert is_warm(turned=False)
    runs = [subprocess.run([sys.executable, "-c", COLD], check=True, capture_output=True, text=True) for _ in range(5)]
    taken = min(float(run.stdout) for run in runs)
    print(f"\nfirst box of a process: {taken:.2f} s of the processor")
    assert taken < 1.2
