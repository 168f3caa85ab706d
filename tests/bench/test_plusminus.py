"""What ± costs: of what a person waits for who asks how big the demo boat's lockers are."""

import time
from pathlib import Path

import pytest

import tapeloft.shapes
from tapeloft.model.areas import areas_to_coat
from tapeloft.model.compartment import build
from tapeloft.model.plusminus.stated import stated
from tapeloft.model.survey.boat import read_survey
from tapeloft.model.volume import measured

pytestmark = pytest.mark.bench
DEMO = Path(tapeloft.shapes.__path__[0]) / "demo"


def test_plus_and_minus_cost_less_than_half_of_what_volume_does_without() -> None:
    without, more = [], []
    for _ in range(5):
        build.cache_clear()
        start = time.perf_counter()
        spaces = [build(survey) for survey in read_survey(DEMO).compartments]
        sizes = [measured(one) for one in spaces]
        for one in spaces:
            areas_to_coat(one)
        then = time.perf_counter()
        for one, size in zip(spaces, sizes, strict=True):
            stated(one, size)
        without.append(then - start)
        more.append(time.perf_counter() - then)
    ratio = min(more) / min(without)
    print(f"± adds {min(more):.3f} s to {min(without):.3f} s: {ratio:.0%}")
    assert ratio < 0.5
