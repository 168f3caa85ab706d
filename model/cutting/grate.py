"""A grate of battens one way on bearers, cut to the net space at a height, in sections that go in."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import shapely
from shapely import Polygon

from tapeloft.model.compartment import Compartment
from tapeloft.model.cutting.beams import Bar, blocks_apart, spans_of
from tapeloft.model.cutting.bearing import Borne, borne
from tapeloft.model.cutting.board import Cut, letters, standing
from tapeloft.model.cutting.inset import without_necks
from tapeloft.model.cutting.laying import (
    Ground,
    Laid,
    OnBearers,
    Section,
    ground,
    in_gaps,
    in_sections,
    outside,
    sound_sizes,
    strips,
)
from tapeloft.model.cutting.outline import polygons
from tapeloft.model.cutting.passing import passages
from tapeloft.model.errors import GeometryError
from tapeloft.model.solid import united

AHEAD = 1e-6  # m: so that battens a gap apart do join


@dataclass(frozen=True)
class Lay(OnBearers):
    """How a grate is laid: battens, breadth and depth, m, and the gap between them; they run the way it spans."""

    batten: tuple[float, float] = (0.040, 0.018)
    gap: float = 0.020


@dataclass(frozen=True, eq=False)
class Bars(Section):
    """A section of battens: their outlines, m, in the plane's axes."""

    battens: tuple[Polygon, ...]


@dataclass(frozen=True, eq=False)
class Grate(Laid):
    """A grate of battens one way."""

    sections: tuple[Bars, ...]


def grate_at(compartment: Compartment, height: float, lay: Lay, cut: Cut) -> Grate:
    """Return the grate whose upper face lies at a *height*, m, in the net space of a compartment.

    Raises GeometryError where a size is absurd, nothing lies there, a batten is broader than the space, or no batten
    is borne.
    """
    sizes = {"batten's breadth": lay.batten[0], "batten's depth": lay.batten[1], "gap between battens": lay.gap}
    sound_sizes(sizes | {"bearer's breadth": lay.bearer[0], "bearer's depth": lay.bearer[1]}, lay.load)
    on = ground(compartment, height, lay.batten[1], lay.bearer[1], cut)
    pitch = lay.batten[0] + lay.gap
    spans = spans_of(lay.batten[1], lay.timber, lay.load, pitch)
    most = spans(lay.batten[0])
    if most[0] < lay.bearer[0]:
        raise GeometryError(
            f"no batten would be borne: under such a load it spans {most[0] * 1000:.1f} mm, less than a bearer"
            "\n    mend: give a deeper batten, a stiffer timber, or a lighter load"
        )
    across = int(lay.way == "fore and aft")
    starts = strips(on.upper, across, lay.batten[0], lay.gap)

    @cache
    def laid(part: Polygon) -> Borne:
        return borne(part, on.lower, starts, across, lay.batten[0], lay.bearer[0], spans)

    parts, notes = in_sections(
        on, (max(cut.web, lay.batten[0]), lay.batten[0], 0.0), cut, min(cut.joint, lay.gap),
        lambda part: _mass(laid(part), lay),
        lambda cuts: in_gaps(cuts, across, starts, lay.gap),
    )  # fmt: skip
    each = [laid(part) for part in parts]
    cover = [covered(part, one.battens, lay.gap, pitch) for part, one in zip(parts, each, strict=True)]
    bare = [one for _, some in cover for one in some]
    notes += left_off(sum(one.dropped for one in each), bare, sum(part.area for part in parts))
    held = [(part, one) for (part, _), one in zip(cover, each, strict=True) if one.battens]
    if not held:
        raise GeometryError(
            "no batten would be borne: under the grate the space is too narrow for bearers\n    mend: set it higher, "
            "give shallower bearers, or let battens run the other way"
        )
    sections = tuple(
        _made(name, part, one, on, lay) for name, (part, one) in zip(letters(len(held)), held, strict=True)
    )
    spacing = max(one.spacing for _, one in held)
    whole = sum(one.outline.area for one in sections)
    wood = sum(batten.area for one in sections for batten in one.battens)
    block = blocks_apart(Bar(*lay.bearer, lay.timber), lay.load, spacing, pitch)
    mass = sum(one.mass_kg for one in sections)
    return Grate(
        on.plane,
        lay.batten[1],
        on.clear,
        sections,
        *most,
        block,
        spacing,
        whole,
        1 - wood / whole,
        mass,
        outside(compartment, sections),
        notes,
    )


def covered(part: Polygon, battens: Sequence[Polygon], gap: float, pitch: float) -> tuple[Polygon, tuple[Polygon, ...]]:
    """Return the outline of a section as far as battens cover it, m, and what of it is bare and over two pitches broad.

    gap: between battens, m. A section that would fall apart keeps its outline.
    """
    closing = gap / 2 + AHEAD
    joined = shapely.buffer(shapely.union_all(battens), closing, join_style="mitre")
    joined = shapely.buffer(joined, -closing, join_style="mitre")
    bare = without_necks(polygons(shapely.difference(part, joined)), 2 * pitch)
    if bare.is_empty:
        return part, ()
    left = [one for one in without_necks(polygons(shapely.difference(part, bare)), pitch).geoms if one.area > pitch**2]
    return left[0] if len(left) == 1 else part, tuple(bare.geoms)


def left_off(battens: int, parts: Sequence[Polygon], whole: float) -> tuple[str, ...]:
    """Return what is said of battens, and of what is bare of sections, by outline, m.

    whole: m² of all sections. Raises GeometryError where the less of it would have a grate.
    """
    said: tuple[str, ...] = ()
    if battens:
        many = "1 batten is" if battens == 1 else f"{battens} battens are"
        said = (f"{many} left off: too short, or no bearer under them goes far enough out; deeper ones need less",)
    if parts:
        bare = sum(one.area for one in parts)
        if whole / 2 < bare < whole * (1 - 1e-9):
            raise GeometryError(
                f"{bare * 1e4:.0f} of {whole * 1e4:.0f} cm² would be left without a grate: no batten would be borne "
                "there\n    mend: let battens run the other way, give deeper ones, shallower bearers, or set it higher"
            )
        said += (f"{bare * 1e4:.0f} cm² are left without a grate: no batten would be borne there",)
    return said


def _mass(laid: Borne, lay: Lay) -> float:
    battens, bearers = (sum(one.area for one in some) for some in (laid.battens, laid.bearers))
    return lay.timber.density_kg_m3 * float(battens * lay.batten[1] + bearers * lay.bearer[1])


def _made(letter: str, part: Polygon, laid: Borne, on: Ground, lay: Lay) -> Bars:
    under = on.plane.shifted(-lay.bearer[1])
    battens = [standing(one, on.plane, lay.batten[1]) for one in laid.battens]
    bearers = [standing(one, under, lay.bearer[1]) for one in laid.bearers]
    ways = passages(shapely.union_all([*laid.battens, *laid.bearers]), on.deep, on.openings)
    solid = united([*battens, *bearers])
    return Bars(letter, part, laid.bearers, solid, ways, _mass(laid, lay), laid.battens)
