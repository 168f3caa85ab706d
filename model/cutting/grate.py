"""A grate of battens one way on bearers, cut to the net space at a height, in sections that go in."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Literal

import shapely
from shapely import MultiPolygon, Polygon

from tapeloft.model.compartment import Compartment
from tapeloft.model.cutting.beams import Bar, Load, overhang, span
from tapeloft.model.cutting.bearing import Section, borne
from tapeloft.model.cutting.board import OUTSIDE, SLIVER, Cut, letters, standing
from tapeloft.model.cutting.inset import inset, without_necks
from tapeloft.model.cutting.outline import clear_outline, polygons
from tapeloft.model.cutting.passing import goes_through, least_width, widest
from tapeloft.model.cutting.plane import Plane, at_height
from tapeloft.model.cutting.splitting import parted, straight_cuts
from tapeloft.model.cutting.timber import TIMBERS, Timber
from tapeloft.model.cutting.walls import walled
from tapeloft.model.errors import GeometryError
from tapeloft.model.openings import ClearOpening, clear_openings
from tapeloft.model.solid import Solid, united

Way = Literal["fore and aft", "athwartships"]
LEAST, MOST = 0.003, 0.5  # m: sizes that battens, bearers and gaps have


@dataclass(frozen=True)
class Lay:
    """How a grate is laid: battens, the gap between them, bearers, m; which way battens run; what they bear."""

    batten: tuple[float, float] = (0.040, 0.018)
    gap: float = 0.020
    bearer: tuple[float, float] = (0.030, 0.030)
    way: Way = "fore and aft"
    timber: Timber = TIMBERS["teak"]
    load: Load = field(default_factory=Load)


@dataclass(frozen=True, eq=False)
class Bars:
    """A section of a grate: battens and bearers as outlines, m, in the plane's axes, and all of it in its place."""

    letter: str
    outline: Polygon
    battens: tuple[Polygon, ...]
    bearers: tuple[Polygon, ...]
    solid: Solid
    through: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class Grate:
    """A grate: its sections, and what its bars may span.

    plane: of the underside of its battens. clear: where they may lie, without any gap. span_m, overhang_m: between
    bearers and beyond the last, at most;
    block_m: between what holds a bearer up, at most. open_share: of the outline, what is not batten. mass_kg: dry.
    """

    plane: Plane
    clear: MultiPolygon
    sections: tuple[Bars, ...]
    span_m: float
    overhang_m: float
    block_m: float
    bearer_spacing_m: float
    outline_m2: float
    open_share: float
    mass_kg: float
    outside_m3: float
    notes: tuple[str, ...]


def grate_at(compartment: Compartment, height: float, lay: Lay, cut: Cut) -> Grate:
    """Return the grate whose upper face lies at a *height*, m, in the net space of a compartment.

    Raises GeometryError where a size is absurd, nothing lies there, a batten is broader than the space, or no batten
    is borne.
    """
    _sound(lay)
    plane = at_height(height - lay.batten[1])
    clear, upper = _room(compartment, plane, lay.batten[1], cut)
    _, lower = _room(compartment, plane.shifted(-lay.bearer[1]), lay.bearer[1], cut)
    bar, pitch = Bar(*lay.batten, lay.timber), lay.batten[0] + lay.gap
    spans = span(bar, lay.load, pitch), overhang(bar, lay.load, pitch)
    if spans[0] < lay.bearer[0]:
        raise GeometryError(
            f"no batten would be borne: under such a load it spans {spans[0] * 1000:.1f} mm, less than a bearer"
            "\n    mend: give a deeper batten, a stiffer timber, or a lighter load"
        )
    openings, across = clear_openings(compartment), int(lay.way == "fore and aft")
    starts = _starts(upper, across, lay)
    parts, notes = _sections(upper, starts, across, lay, cut, openings)
    laid = [borne(part, lower, starts, across, lay.batten[0], lay.bearer[0], spans) for part in parts]
    lacking = sum(one.dropped for one in laid)
    if lacking:
        notes += (f"{lacking} battens are left off: too short, or no bearer under them goes far enough out",)
    held = [(part, one) for part, one in zip(parts, laid, strict=True) if one.battens]
    if not held:
        raise GeometryError(
            "no batten would be borne: under the grate the space is too narrow for bearers\n    mend: set it higher, "
            "give shallower bearers, or let battens run the other way"
        )
    sections = tuple(
        _made(name, part, one, plane, lay, openings) for name, (part, one) in zip(letters(len(held)), held, strict=True)
    )
    outside = (united(one.solid for one in sections) - compartment.inside).volume
    if outside > OUTSIDE:
        raise GeometryError(f"the grate would stand {outside * 1e6:.3f} ml outside the space: it is not given")
    spacing = max(one.spacing for _, one in held)
    whole = sum(part.area for part, _ in held)
    wood = sum(batten.area for one in sections for batten in one.battens)
    mass = lay.timber.density_kg_m3 * sum(one.solid.volume for one in sections)
    block = span(Bar(*lay.bearer, lay.timber), lay.load, max(spacing, pitch))
    return Grate(plane, clear, sections, *spans, block, spacing, whole, 1 - wood / whole, mass, outside, notes)


def _sound(lay: Lay) -> None:
    sizes = {"batten's breadth": lay.batten[0], "batten's depth": lay.batten[1], "gap between battens": lay.gap}
    sizes |= {"bearer's breadth": lay.bearer[0], "bearer's depth": lay.bearer[1]}
    for name, size in sizes.items():
        if not LEAST <= size <= MOST:
            raise GeometryError(f"a {name} of {size * 1000:g} mm: it has to be 3 to 500 mm")
    load = lay.load
    figures = {"point load": load.point_kg, "even load": load.even_kg_m2}
    for name, figure in figures.items():
        if not 0 <= figure <= 1e4:
            raise GeometryError(f"a {name} of {figure:g}: it has to be 0 to 10000")
    if load.point_kg == load.even_kg_m2 == 0:
        raise GeometryError("a grate that bears nothing: give a point load or an even load")


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


def _starts(area: MultiPolygon, across: int, lay: Lay) -> list[float]:
    """Return where each strip of battens begins, m, across them; what is left over is shared by both sides."""
    low, high = area.bounds[across], area.bounds[across + 2]
    breadth, pitch = lay.batten[0], lay.batten[0] + lay.gap
    count = math.floor((high - low + lay.gap) / pitch + 1e-9)
    if count < 1:
        what = f"a batten {breadth * 1000:g} mm broad is broader than the space, {(high - low) * 1000:.0f} mm"
        raise GeometryError(f"{what}\n    mend: give narrower battens, or let them run the other way")
    first = (low + high - (count * pitch - lay.gap)) / 2
    return [first + k * pitch for k in range(count)]


def _sections(
    area: MultiPolygon, starts: Sequence[float], across: int, lay: Lay, cut: Cut, openings: Sequence[ClearOpening]
) -> tuple[tuple[Polygon, ...], tuple[str, ...]]:
    """Return the outlines of the sections, parted in gaps between battens; and what is to be said of them."""
    stout = without_necks(area, max(cut.web, lay.batten[0]))
    deep = lay.batten[1] + lay.bearer[1]
    most = widest(deep, openings) if openings else math.inf
    gaps = [start - lay.gap / 2 for start in starts[1:]]
    tried = [
        (axis, sorted({min(gaps, key=lambda gap, at=at: abs(gap - at)) for at in places}))  # type: ignore[misc]
        for axis, places in straight_cuts(stout)
        if axis == across and gaps
    ]
    notes = () if openings else ("no opening is in the survey: whether the grate goes in through the lid is not known",)
    found = parted(stout, tried, most, min(cut.joint, lay.gap), max(SLIVER, lay.batten[0]))
    if found is None:
        why = (
            f"no joints between battens make sections that go in, {most * 1000:.0f} mm wide and {deep * 1000:.0f} deep"
        )
        return tuple(stout.geoms), (*notes, f"{why}: it is drawn whole, and will not go in as it is")
    ordered = sorted(found, key=lambda one: (round(one.centroid.coords[0][across], 3), round(one.centroid.x, 3)))
    return tuple(ordered), notes


def _made(letter: str, part: Polygon, laid: Section, plane: Plane, lay: Lay, openings: Sequence[ClearOpening]) -> Bars:
    under = plane.shifted(-lay.bearer[1])
    battens = [standing(one, plane, lay.batten[1]) for one in laid.battens]
    bearers = [standing(one, under, lay.bearer[1]) for one in laid.bearers]
    width = least_width(shapely.union_all(laid.battens))
    deep = lay.batten[1] + lay.bearer[1]
    through = tuple(one.name for one in openings if goes_through(width, deep, one))
    return Bars(letter, part, laid.battens, laid.bearers, united([*battens, *bearers]), through)


def covered(grate: Grate) -> MultiPolygon:
    """Return the outlines of all its sections."""
    return polygons(shapely.union_all([one.outline for one in grate.sections]))
