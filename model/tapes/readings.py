"""The readings of a survey, and the corners and distances that they tell, as a net of equations.

Unknown are each corner's half-breadth and height and each station's distance; all corners of a station move with it,
so that a raked bulkhead, and a corner with a distance of its own, keep their lean. Three things are held, for no tape
told them:

- the distance of a station at 0: that is where zero was put;
- a half-breadth or a height of exactly 0 that a mark has at every station. Tapes scatter by millimetres: five zeros in
  a row are no readings but what the datum is, the sole that heights are taken from, the string that half-breadths are.
  A 0 at one station alone is a reading like any other;
- a half-breadth of 0 where a section closes to an edge or a point: the stem is on the centreline.

Corners of one section that are read in one place are one corner: a stem stays an edge. A step shares its distance.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import Literal

import numpy as np

from tapeloft.model.survey.places import Place
from tapeloft.model.survey.station import Corner, Station
from tapeloft.model.survey.survey import Check, Survey
from tapeloft.model.tapes.adjusting import Predicted
from tapeloft.model.tapes.levels import Array, Rows, Whole

Kind = Literal["station", "half_breadth", "height", "check", "girth", "long_check"]
KINDS = {1: "half-breadth", 2: "height"}
TAPES = ("check", "girth", "long_check")
HELD = -1


@dataclass(frozen=True)
class Reading:
    """One reading: what it is in words, where it is written, and what was read.

    value, sigma: m, compartment axes. On paper it is turned · (value − base): half-breadths have no sign there, and
    are from the face they were taken from; distances may rise aft. corners: what it goes between, by number.
    """

    kind: Kind
    words: str
    place: Place
    station: str
    value: float
    sigma: float
    corners: tuple[int, ...] = ()
    turned: float = 1.0
    base: float = 0.0

    def on_paper(self, value: float) -> float:
        """Return *value* as it would be written for this reading, m."""
        return self.turned * (value - self.base)

    def off_paper(self, written: float) -> float:
        """Return the value of what is *written* on paper, m."""
        return self.base + self.turned * written


@dataclass(frozen=True, eq=False)
class TapeNet:
    """The readings of a survey as equations.

    corners: (station, mark) of each; columns (c, 3): which unknown each of its coordinates follows, `HELD` if none;
    offsets (c, 3): what is added to that, m. start (n,): the unknowns as read. direct (m,): the unknown that a reading
    reads, `HELD` for a tape. legs (k, 3): of tapes, reading, corner, corner.
    """

    survey: Survey
    readings: tuple[Reading, ...]
    corners: tuple[tuple[str, str], ...]
    columns: Whole
    offsets: Array
    start: Array
    direct: Whole
    legs: Whole

    @cached_property
    def read(self) -> Array:
        """What was read, (m,), m."""
        return np.array([one.value for one in self.readings])

    @cached_property
    def sigmas(self) -> Array:
        """How good each reading is, (m,), m, one standard deviation."""
        return np.array([one.sigma for one in self.readings])

    @cached_property
    def told(self) -> dict[tuple[int, Kind], int]:
        """Which reading tells a corner's half-breadth, or its height: by the corner's number and the kind."""
        return {(one.corners[0], one.kind): k for k, one in enumerate(self.readings) if len(one.corners) == 1}

    @cached_property
    def numbers(self) -> dict[tuple[str, str], int]:
        """The number of each lettered corner, by station and mark."""
        return {label: k for k, label in enumerate(self.corners) if label[1]}

    @property
    def tapes(self) -> tuple[int, ...]:
        """Which of the readings are check tapes."""
        return tuple(k for k, one in enumerate(self.readings) if one.kind in TAPES)

    def spots(self, unknowns: Array) -> Array:
        """Return where the corners are, (c, 3), m."""
        moved = np.append(unknowns, 0.0)[self.columns]
        spots: Array = self.offsets + moved
        return spots

    def ways(self, unknowns: Array) -> Array:
        """Return for each leg of a tape the unit vector along it, (k, 3); none where its ends are in one place."""
        spots = self.spots(unknowns)
        across = spots[self.legs[:, 2]] - spots[self.legs[:, 1]]
        length = np.linalg.norm(across, axis=1, keepdims=True)
        ways: Array = np.divide(across, length, out=np.zeros_like(across), where=length > 0)
        return ways

    def values(self, unknowns: Array) -> Array:
        """Return what the readings would be for *unknowns* (n,), (m,), m."""
        spots = self.spots(unknowns)
        lengths = np.linalg.norm(spots[self.legs[:, 2]] - spots[self.legs[:, 1]], axis=1)
        along = np.bincount(self.legs[:, 0], weights=lengths, minlength=len(self.readings))
        values: Array = np.where(self.direct == HELD, along, np.append(unknowns, 0.0)[self.direct])
        return values

    def predicted(self, unknowns: Array) -> Predicted:
        """Return what the readings would be for *unknowns* (n,), and how they change with them."""
        values, ways = self.values(unknowns), self.ways(unknowns)
        read = np.flatnonzero(self.direct != HELD)
        rows = [read, *(self.legs[:, 0] for _ in range(6))]
        columns = [self.direct[read], *(self.columns[self.legs[:, end], axis] for end in (1, 2) for axis in range(3))]
        slopes = [np.ones(len(read)), *(sign * ways[:, axis] for sign in (-1.0, 1.0) for axis in range(3))]
        every = np.concatenate(rows), np.concatenate(columns), np.concatenate(slopes)
        return Predicted(values, _summed(*every, self._shape))

    @property
    def _shape(self) -> tuple[int, int]:
        return len(self.readings), len(self.start)


def _summed(rows: Whole, columns: Whole, slopes: Array, shape: tuple[int, int]) -> Rows:
    """Return the matrix with what stands twice in one place added up, and what is held left out."""
    free = columns != HELD
    places, number = np.unique(rows[free] * shape[1] + columns[free], return_inverse=True)
    added = np.zeros(len(places))
    np.add.at(added, number, slopes[free])
    return Rows(places // max(shape[1], 1), places % max(shape[1], 1), added, shape)


def net_of(survey: Survey) -> TapeNet:
    """Return the readings of *survey* as equations for its corners and distances."""
    return _Netting(survey).done()


class _Netting:
    """A net as it is put together, station by station."""

    def __init__(self, survey: Survey) -> None:
        self.survey = survey
        self.readings: list[Reading] = []
        self.corners: list[tuple[str, str]] = []
        self.numbers: dict[tuple[str, str], int] = {}
        self.columns: list[tuple[int, int, int]] = []
        self.offsets: list[tuple[float, float, float]] = []
        self.start: list[float] = []
        self.direct: list[int] = []
        self.zeros = _always_zero(survey)

    def done(self) -> TapeNet:
        forward = HELD
        for station in self.survey.stations:
            forward = forward if station.step and self.corners else self._distance(station)
            self._section(station, forward)
        legs = [leg for check in self.survey.checks for leg in self._tape(check)]
        return TapeNet(
            self.survey,
            tuple(self.readings),
            tuple(self.corners),
            np.array(self.columns, dtype=np.int64).reshape(-1, 3),
            np.array(self.offsets, dtype=np.float64).reshape(-1, 3),
            np.array(self.start, dtype=np.float64),
            np.array(self.direct, dtype=np.int64),
            np.array(legs, dtype=np.int64).reshape(-1, 3),
        )

    def _distance(self, station: Station) -> int:
        if station.x == 0.0:
            return HELD
        ahead = -1.0 if self.survey.datum.x_positive == "aft" else 1.0
        place: Place = ("station", station.name, "at")
        words = f"distance of station {station.name}"
        return self._read(
            Reading("station", words, place, station.name, station.x, self.survey.accuracy.station, turned=ahead)
        )

    def _read(self, reading: Reading) -> int:
        """Note a reading of one unknown by itself; return the unknown's number."""
        self.readings.append(reading)
        self.direct.append(len(self.start))
        self.start.append(reading.value)
        return len(self.start) - 1

    def _section(self, station: Station, forward: int) -> None:
        here: dict[tuple[float, float, float], tuple[int, int]] = {}
        edges = _edges(station)
        for number, corner in enumerate(station.corners):
            x, y, z = corner.at
            if corner.at not in here:
                here[corner.at] = (
                    self._coordinate(station, number, corner, 1, held=corner.at in edges),
                    self._coordinate(station, number, corner, 2, held=False),
                )
            athwart, up = here[corner.at]
            self.numbers[station.name, corner.name] = len(self.corners)
            self.corners.append((station.name, corner.name))
            self.columns.append((forward, athwart, up))
            held = (y if athwart == HELD else 0.0, z if up == HELD else 0.0)
            self.offsets.append((x if forward == HELD else x - station.x, *held))

    def _coordinate(self, station: Station, number: int, corner: Corner, axis: int, *, held: bool) -> int:
        value = corner.at[axis]
        base = self.survey.read_from if axis == 1 else 0.0
        if value == base and (held or (corner.name, axis) in self.zeros):
            return HELD
        accuracy = self.survey.accuracy
        turned = -1.0 if axis == 1 and (value < base or (value == base and self.survey.side < 0)) else 1.0
        return self._read(
            Reading(
                "half_breadth" if axis == 1 else "height",
                f"{KINDS[axis]} of {corner.name or f'corner {number + 1}'} at station {station.name}",
                _place(self.survey, station.name, number, corner, axis),
                station.name,
                value,
                accuracy.half_breadth if axis == 1 else accuracy.height,
                (len(self.corners),),
                turned,
                base,
            )
        )

    def _tape(self, check: Check) -> Iterator[tuple[int, int, int]]:
        along = tuple(self.numbers[corner] for corner in check.corners)
        label = "-".join(station + mark for station, mark in check.corners)
        place = self.survey.path_to_check(check)
        accuracy = self.survey.accuracy
        kind: Kind = "check"
        sigma, words = accuracy.check, f"tape {label}"
        if len(along) > 2:
            kind, sigma, words = "girth", accuracy.girth, f"girth {label}"
        elif check.corners[0][0] != check.corners[1][0]:
            kind, sigma, words = "long_check", accuracy.long_check, f"long tape {label}"
        self.readings.append(Reading(kind, words, place, check.corners[0][0], check.length, sigma, along))
        self.direct.append(HELD)
        for one, other in pairwise(along):
            yield len(self.readings) - 1, one, other


def _always_zero(survey: Survey) -> set[tuple[str, int]]:
    """Return which marks read exactly 0 wherever they are read: (mark, 1) for half-breadths, (mark, 2) for heights."""
    read: dict[tuple[str, int], list[float]] = {}
    for station in survey.stations:
        for corner in station.corners:
            read.setdefault((corner.name, 1), []).append(corner.at[1] - survey.read_from)
            read.setdefault((corner.name, 2), []).append(corner.at[2])
    return {mark for mark, values in read.items() if mark[0] and not any(values)}


def _edges(station: Station) -> set[tuple[float, float, float]]:
    """Return where several corners of a section are one, or all of them."""
    spots = [corner.at for corner in station.corners]
    return {spot for spot in spots if station.pointed or spots.count(spot) > 1}


def _place(survey: Survey, station: str, number: int, corner: Corner, axis: int) -> Place:
    """Return where a half-breadth (axis 1) or a height (axis 2) of a corner is written."""
    path = survey.path_to_corner(station, corner.name, number)
    return path if path[-1] == "half_breadths" else (*path, axis - 1)


def moved(survey: Survey, net: TapeNet, unknowns: Array) -> tuple[Station, ...]:
    """Return the stations of *survey* with their corners where *unknowns* put them."""
    spots = iter(net.spots(unknowns).tolist())
    found, x = [], math.nan
    for station in survey.stations:
        corners = [Corner(corner.name, _point(next(spots))) for corner in station.corners]
        if not station.step and corners:
            x = corners[0].at[0] - (station.corners[0].at[0] - station.x)
        found.append(Station(station.name, x if corners else station.x, tuple(corners), station.pointed, station.step))
    return tuple(found)


def _point(spot: Sequence[float]) -> tuple[float, float, float]:
    x, y, z = spot
    return (x, y, z)
