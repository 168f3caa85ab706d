"""The ± of several compartments' volumes together, held against sheets written, read and built anew, and root sums."""

import math
from pathlib import Path

import numpy as np
import pytest

import tapeloft.shapes
from tapeloft.model.compartment import Compartment, build
from tapeloft.model.moments import Points
from tapeloft.model.plusminus.stated import Stated, stated
from tapeloft.model.plusminus.together import TogetherOff, together
from tapeloft.model.survey.boat import read_survey
from tapeloft.model.survey.sheet import Accuracy
from tapeloft.model.volume import measured

DEMO = Path(tapeloft.shapes.__path__[0]) / "demo"
READ = [900.0, 410, 120, 960, 130, 930, 740, 430, 700, 450, 90, 860, 110, 850, 690, 470, 720]
OWN = [880.0, 105, 840, 150, 800, 660, 420, 650]


def sheet(readings: Points) -> str:
    """Return a locker of two stations, and her twin whose forward station has three of its corners read anew."""
    far, *rest = readings.tolist()
    corners = [f"{letter} = [{y}, {z}]" for letter, y, z in zip("ABCDABCD", rest[:16:2], rest[1:16:2], strict=True)]
    own = [f"{letter} = [{y}, {z}]" for letter, y, z in zip("BCD", rest[16::2], rest[17::2], strict=True)]
    return "\n".join(
        ['format = "tapeloft-survey"', "version = 1", 'unit = "mm"', "[survey]", 'compartment = "locker"', "[marks]",
         'side = "port"', 'order = ["A", "B", "C", "D"]', "[station.0]", "at = 0", *corners[:4], "[station.1]",
         f"at = {far}", *corners[4:], "[twin]", 'name = "twin"', "[twin.station.1]", *own]
    )  # fmt: skip


def read_anew(readings: Points, file: Path) -> list[Compartment]:
    file.write_text(sheet(readings))
    return [build(one) for one in read_survey(file).compartments]


def off(built: Compartment) -> Stated:
    return stated(built, measured(built))


def told(every: list[Compartment]) -> tuple[TogetherOff, list[float]]:
    each = [off(one) for one in every]
    found = together(one.felt for one in each)
    assert found is not None
    return found, [one.gross.volume_sd_m3 for one in each if one.gross]


def test_a_twin_that_shares_some_readings_is_that_of_sheets_written_anew(tmp_path: Path) -> None:
    """Seeded Monte Carlo over the sheet, JCGM 101:2008: every reading drawn once, both compartments built from it."""
    rng, accuracy, drawn = np.random.default_rng(7), Accuracy(), 300
    nominal = np.array([*READ, *OWN[:6]])
    sigmas = 1e3 * np.array([accuracy.station, *[accuracy.half_breadth, accuracy.height] * 11])
    found, each = told(read_anew(nominal, tmp_path / "locker.toml"))
    volumes = [
        [one.gross.volume for one in read_anew(nominal + rng.normal(0, sigmas), tmp_path / "locker.toml")]
        for _ in range(drawn)
    ]
    sd = float(np.sum(volumes, axis=1).std(ddof=1))
    assert found.gross_sd_m3 == pytest.approx(sd, rel=4 / math.sqrt(2 * drawn))
    assert math.hypot(*each) * 1.02 < found.gross_sd_m3 < sum(each) * 0.98


def test_what_a_twin_shares_wholly_adds_up_and_other_compartments_add_by_squares() -> None:
    boat = {one.name: build(one) for one in read_survey(DEMO).compartments}
    twins = [boat["cockpit locker, port"], boat["cockpit locker, starboard"]]
    found, each = told(twins)
    assert found.gross_sd_m3 == pytest.approx(sum(each), rel=1e-9)
    found, each = told([boat["sail locker"], boat["lazarette"], boat["gas locker"]])
    assert found.gross_sd_m3 == pytest.approx(math.hypot(*each), rel=1e-9)
    whole, each = told([*boat.values()])
    port = off(twins[0]).gross
    assert port is not None
    assert whole.gross_sd_m3**2 == pytest.approx(sum(x * x for x in each) + 2 * port.volume_sd_m3**2, rel=1e-9)


def test_where_one_states_none_nor_does_the_sum() -> None:
    sail = build(read_survey(DEMO).compartments[0])
    assert together([off(sail).felt, None]) is None
