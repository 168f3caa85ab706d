"""Whether the sections of a survey can be joined without running through each other, said in the trade's words."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tapeloft.model.errors import Problem
from tapeloft.model.surface.embedding import (
    CrossedSection,
    FallingRibs,
    Fault,
    Meeting,
    NoArea,
    Overlap,
    TouchedSection,
    faults,
)
from tapeloft.model.surface.loft import Band
from tapeloft.model.surface.planes import flatness
from tapeloft.model.surface.sections import Section
from tapeloft.model.surface.skin import pieces
from tapeloft.model.survey.survey import Survey

MOST_PIECES = 300  # that a bay may be cut into to be flat enough: a side of 2.4 m turned right over needs as many
NOT_FLAT = 0.003  # m: a corner of a bulkhead this far off its plane is a slip, or another shape


@dataclass(frozen=True, eq=False)
class _Joint:
    """The survey, its sections and how they are joined: what a fault's numbers refer to."""

    survey: Survey
    run: Sequence[Section]
    bands: Sequence[Band]

    def corner(self, station: int, point: int) -> str:
        """Return what a corner is called: its mark, or the two marks it lies between."""
        band = self.bands[min(station, len(self.bands) - 1)]
        return self._named(station, float((band.aft if station < len(self.bands) else band.forward)[point]))

    def edge(self, station: int, point: int) -> str:
        """Return what an edge of a section is called, "A-B"."""
        band = self.bands[min(station, len(self.bands) - 1)]
        return f"{self.corner(station, point)}-{self.corner(station, (point + 1) % len(band.aft))}"

    def rib(self, bay: int, point: int) -> str:
        """Return what a rib is called, by its forward end."""
        return self._named(bay + 1, float(self.bands[bay].forward[point]))

    def strip(self, bay: int, edge: int) -> str:
        """Return what a cell is called: its strip, or the bulkhead."""
        return "the bulkhead" if edge < 0 else f"the side {self.bands[bay].strips[edge]}"

    def _named(self, station: int, where: float) -> str:
        names = self.run[station].names
        here, following = names[int(where) % len(names)], names[(int(where) + 1) % len(names)]
        if not here or not following:
            return f"corner {int(where) + 1}"
        return here if where == int(where) else f"a point between {here} and {following}"

    def problem(self, station: int, what: str, mend: str) -> Problem:
        """Return a problem with a station."""
        return self.survey.problem(("station", self.run[station].station), what, mend)


def unsound(survey: Survey, run: Sequence[Section], bands: Sequence[Band]) -> list[Problem]:
    """Return what forbids joining the sections of *run* by *bands*; nothing where the surface is sound."""
    joint = _Joint(survey, run, bands)
    bent = [p for k, section in ((0, run[0]), (len(run) - 1, run[-1])) for p in _bent(joint, k, section)]
    bent += [p for bay in range(len(bands)) for p in _twisted(joint, bay)]
    return bent or list(dict.fromkeys(_said(joint, fault) for fault in faults([band.ends for band in bands])))


def _twisted(joint: _Joint, bay: int) -> list[Problem]:
    """Refuse a bay that twists more than any boat does: to mesh it finely would take minutes."""
    if pieces(joint.bands[bay].ends) <= MOST_PIECES:
        return []
    what = f"between station {joint.run[bay].station} and here the sides twist more than those of any boat"
    return [joint.problem(bay + 1, what, "measure the corners of both again: is one reading in another unit?")]


def _bent(joint: _Joint, number: int, section: Section) -> list[Problem]:
    if section.pointed or len(section.points) < 4:
        return []
    if abs(flatness(section.points).deviations).max() <= NOT_FLAT:
        return []
    off, left = zip(*(_without(section, k) for k in range(len(section.points))), strict=True)
    worst = left.index(min(left))
    alone = sum(rest <= NOT_FLAT for rest in left) == 1
    name = (section.names[worst] or f"corner {worst + 1}") if alone else "one corner"
    far = off[worst] if alone else max(off)
    what = f"the bulkhead is not flat: {name} stands {far * 1000:.0f} mm off the plane of the others"
    return [joint.problem(number, what, "measure its distance again, or add a station where the bulkhead bends")]


def _without(section: Section, corner: int) -> tuple[float, float]:
    """Return how far a corner lies off the plane of the others, m, and how far they leave that plane themselves."""
    others = flatness(np.delete(section.points, corner, axis=0))
    off = abs(float(others.normal @ section.points[corner] - others.offset))
    return off, float(abs(others.deviations).max())


def _said(joint: _Joint, fault: Fault) -> Problem:
    match fault:
        case CrossedSection():
            one, other = (joint.edge(fault.station, e) for e in fault.edges)
            mend = "measure these corners again; are two letters exchanged?"
            return joint.problem(fault.station, f"the line {one} crosses the line {other}", mend)
        case TouchedSection():
            what = (
                f"{joint.corner(fault.station, fault.point)} lies on the line {joint.edge(fault.station, fault.edge)}"
            )
            return joint.problem(fault.station, what, "measure these corners again")
        case NoArea():
            mend = "only the first and the last station may close to a point or an edge; measure it again"
            return joint.problem(fault.station, "the section encloses nothing", mend)
        case FallingRibs():
            names = ", ".join(joint.rib(fault.bay, p) for p in fault.points)
            aft = joint.run[fault.bay].station
            what = f"at {names} this station lies {-fault.least * 1000:.0f} mm aft of station {aft}: the two cross"
            return joint.problem(fault.bay + 1, what, "measure the distance and the rake of both again")
        case Meeting():
            return _met(joint, fault)
        case Overlap():
            one, other = sorted(joint.strip(*cell) for cell in fault.cells)
            station = min(max(bay for bay, _ in fault.cells) + 1, len(joint.run) - 1)
            return joint.problem(station, f"{one} runs through {other}", "measure the corners of both again")


def _met(joint: _Joint, fault: Meeting) -> Problem:
    aft, forward = (joint.run[fault.bay + k] for k in (0, 1))
    point = joint.rib(fault.bay, fault.point)
    strip = joint.strip(fault.bay, fault.edge)
    far = fault.share * float(forward.points[:, 0].mean() - aft.points[:, 0].mean())
    what = (
        f"between station {aft.station} and here the line of {point} runs into {strip}, "
        f"{far * 1000:.0f} mm forward of station {aft.station}"
    )
    mend = "are letters exchanged, or is a station between them missing?"
    return joint.problem(fault.bay + 1, what, mend)
