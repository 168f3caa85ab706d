"""What the parts of the demo boat cost: made for their spaces and written as meshes."""

import time
from importlib.resources import files
from pathlib import Path

import pytest

from tapeloft.model.compartment import build
from tapeloft.model.export import exported
from tapeloft.model.survey.boat import read_survey

pytestmark = pytest.mark.bench
DEMO = str(files("tapeloft.shapes").joinpath("demo"))
MOST = 5.0  # s


def test_every_part_of_the_demo_boat_is_made_and_exported(tmp_path: Path) -> None:
    build(read_survey(DEMO, options=("bin board out",)).compartment("sail locker"))  # imports are not what is measured
    start = time.perf_counter()
    boat = read_survey(DEMO, options=("fitted out",))
    made = [one for one in map(build, boat.compartments) if one.fitted]
    for k, one in enumerate(made):
        exported(one, tmp_path / f"{k}.obj", "parts")
    taken = time.perf_counter() - start
    print(f"{sum(len(one.fitted) for one in made)} parts in {taken:.2f} s")
    assert len(made) >= 3
    assert taken < MOST
