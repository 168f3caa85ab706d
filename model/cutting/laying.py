"""What grates of every kind have in common: the room for them, their sections, and what is told of the whole."""

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from typing import Literal

import numpy as np
import shapely
from shapely import MultiPolygon, Polygon

from tapeloft.model.compartment import Compartment
from tapeloft.model.cutting.beams import Load, sound_load
from tapeloft.model.cutting.board import NO_JOINTS, OUTSIDE, SLIVER, WHOLE, Cut, kept_to, sound_limit
from tapeloft.model.cutting.inset import inset, without_necks
from tapeloft.model.cutting.outline import clear_outline, polygons
from tapeloft.model.cutting.passing import Passage, widest
from tapeloft.model.cutting.plane import Plane, at_height
from tapeloft.model.cutting.splitting import Cuts, Lacking, Parted, parted, straight_cuts
from tapeloft.model.cutting.timber import TIMBERS, Timber
from tapeloft.model.cutting.walls import walled
from tapeloft.model.errors import GeometryError
from tapeloft.model.openings import ClearOpening, clear_openings
from tapeloft.model.solid import Solid, united

LEAST, MOST = 0.003, 0.5  # m: sizes that battens, bearers and gaps have
NEARLY = 1.3  # times what a section may weigh, by its area: not laid to be weighed
Way = Literal["fore and aft", "athwartships"]


@dataclass(frozen=True)
class OnBearers:
    """How a grate of any kind lies: its bearers, breadth and depth, m, and which way it spans, square to them.

    timber: of what of it is sawn. load: that it bears.
    """

    bearer: tuple[float, float] = (0.030, 0.030)
    way: Way = "fore and aft"
    timber: Timber = TIMBERS["teak"]
    load: Load = field(default_factory=Load)


@dataclass(frozen=True, eq=False)
class Section:
    """A section of a grate, lifted as one: outline and bearers, m, in the plane's axes, all of it in its place.

    passages: how it goes straight in, by opening. mass_kg: dry.
    """

    letter: str
    outline: Polygon
    bearers: tuple[Polygon, ...]
    solid: Solid
    passages: tuple[Passage, ...]
    mass_kg: float


@dataclass(frozen=True, eq=False)
class Laid:
    """A grate of any kind: its sections, and what it may span.

    plane: of the underside of what is stood on, which is *deep*, m. clear: where that may lie, without any gap. span_m,
    overhang_m: of that between bearers and beyond the last, at most; block_m: between what holds a bearer up, at most.
    open_share: of the outline, what water falls through. mass_kg: dry.
    """

    plane: Plane
    deep: float
    clear: MultiPolygon
    sections: tuple[Section, ...]
    span_m: float
    overhang_m: float
    block_m: float
    bearer_spacing_m: float
    outline_m2: float
    open_share: float
    mass_kg: float
    outside_m3: float
    notes: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class Ground:
    """Where a grate may lie: the plane of its underside, the outlines that it and its bearers stay in, m; openings.

    clear: the first of them without any gap.

    deep: m, from its upper face to the underside of its bearers.
    """

    plane: Plane
    clear: MultiPolygon
    upper: MultiPolygon
    lower: MultiPolygon
    deep: float
    openings: tuple[ClearOpening, ...]


def ground(compartment: Compartment, height: float, depth: float, bearer: float, cut: Cut) -> Ground:
    """Return where a grate *depth* deep on bearers *bearer* deep, m, may lie with its upper face at a *height*, m."""
    sound_limit(cut.heaviest)
    plane = at_height(height - depth)
    clear, upper = _room(compartment, plane, depth, cut)
    _, lower = _room(compartment, plane.shifted(-bearer), bearer, cut)
    return Ground(plane, clear, upper, lower, depth + bearer, clear_openings(compartment))


def sound_sizes(sizes: dict[str, float], load: Load) -> None:
    """Raise GeometryError where a size, m, by its name, or a load is absurd."""
    for name, size in sizes.items():
        if not LEAST <= size <= MOST:
            raise GeometryError(f"a {name} of {size * 1000:g} mm: it has to be 3 to 500 mm")
    sound_load(load, "grate")


def strips(area: MultiPolygon, across: int, breadth: float, gap: float) -> list[float]:
    """Return where each strip of battens begins, m, across them; what is left over is shared by both sides."""
    low, high = area.bounds[across], area.bounds[across + 2]
    count = math.floor((high - low + gap) / (breadth + gap) + 1e-9)
    if count < 1:
        what = f"a batten {breadth * 1000:g} mm broad is broader than the space, {(high - low) * 1000:.0f} mm"
        raise GeometryError(f"{what}\n    mend: give narrower battens, or let them run the other way")
    first = (low + high - (count * (breadth + gap) - gap)) / 2
    return [first + k * (breadth + gap) for k in range(count)]


def in_gaps(cuts: Iterable[Cuts], across: int, starts: Sequence[float], gap: float) -> list[Cuts]:
    """Return those of the *cuts* that run along strips, each moved into the gap between two that is nearest."""
    middles = [start - gap / 2 for start in starts[1:]]
    return [
        (axis, sorted({min(middles, key=lambda one, at=at: abs(one - at)) for at in places}))  # type: ignore[misc]
        for axis, places in cuts
        if axis == across and middles
    ]


def in_sections(
    on: Ground, widths: tuple[float, float, float], cut: Cut, joint: float, mass: Callable[[Polygon], float],
    moved: Callable[[Iterable[Cuts]], Iterable[Cuts]],
) -> tuple[tuple[Polygon, ...], tuple[str, ...]]:  # fmt: skip
    """Return the outlines of a grate's sections, the fewest that go in and are light enough; what is to be said.

    widths: m, of tongues of the whole, of sections, and of necks that joints leave: nothing is narrower; mass:
    what a section of an outline weighs, kg; moved: where joints may run.
    """
    area = without_necks(on.upper, widths[0])
    most = widest(on.deep, on.openings) if on.openings else math.inf
    known = () if on.openings else ("no opening is in the survey: whether it goes in through the lid is not known",)

    def tried(coarse: Lacking, lacks: Lacking) -> Parted:
        return parted(area, moved(straight_cuts(area, coarse)), lacks, joint, max(SLIVER, *widths), widths[2])

    by_width = kept_to(most, math.inf, mass)
    found = tried(by_width, by_width)
    if found.pieces and math.isfinite(cut.heaviest):
        found = _lightened(found.pieces, cut.heaviest, most, mass, tried)
    if not found.pieces:
        return _in_order(area.geoms), (*known, f"{NO_JOINTS}: {found.why}; {WHOLE}")
    return _in_order(found.pieces), known


def _lightened(
    pieces: Sequence[Polygon], heaviest: float, most: float, mass: Callable[[Polygon], float],
    tried: Callable[[Lacking, Lacking], Parted],
) -> Parted:  # fmt: skip
    """Return sections parted further until each is light enough.

    To lay a section and weigh it takes long: where it could not nearly do by what a square metre weighs, it is not.
    """
    masses = [mass(one) for one in pieces]
    if max(masses) <= heaviest:
        return Parted(tuple(pieces), "")
    weighs = sum(masses) / sum(one.area for one in pieces)

    def about(piece: Polygon) -> float:
        return float(piece.area * weighs)

    def weighed(piece: Polygon) -> float:
        rough = about(piece)
        return rough if rough > NEARLY * heaviest else mass(piece)

    return tried(kept_to(most, heaviest, about), kept_to(most, heaviest, weighed))


def _in_order(pieces: Sequence[Polygon]) -> tuple[Polygon, ...]:
    """Return pieces from one end to the other, along the axis that they lie along."""
    middles = np.array([one.centroid.coords[0] for one in pieces])
    first = int(np.ptp(middles[:, 1]) > np.ptp(middles[:, 0]))
    order = np.lexsort((middles[:, 1 - first].round(3), middles[:, first].round(3)))
    return tuple(pieces[k] for k in order.tolist())


def outside(compartment: Compartment, sections: Sequence[Section]) -> float:
    """Return how much of some sections lies outside the net space, m³; raises GeometryError where it shows."""
    left_over = (united(one.solid for one in sections) - compartment.inside).volume
    if left_over > OUTSIDE:
        raise GeometryError(f"the grate would stand {left_over * 1e6:.3f} ml outside the space: it is not given")
    return left_over


def covered(grate: Laid) -> MultiPolygon:
    """Return the outlines of all its sections."""
    return polygons(shapely.union_all([one.outline for one in grate.sections]))


def _room(compartment: Compartment, plane: Plane, depth: float, cut: Cut) -> tuple[MultiPolygon, MultiPolygon]:
    """Return the outline that is clear for bars of a depth on a plane, and that which they stay in."""
    clear = clear_outline(compartment.inside, plane, depth)
    drawn_in = inset(clear, walled(compartment, plane, depth, clear), cut.gaps)
    if drawn_in.is_empty:
        low, high = (compartment.net.bounds[:, 2] * 1000).tolist()
        base = plane.start[2] * 1000
        what = f"there is no room between the heights {base:.0f} and {base + depth * 1000:.0f} mm, gaps taken off"
        raise GeometryError(
            f"{what}\n    mend: the space goes from {low:.0f} to {high:.0f}; a grate has bearers under it"
        )
    return clear, drawn_in
