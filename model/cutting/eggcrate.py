"""An egg-crate: bars both ways, halved into one another, on bearers, cut to the net space at a height.

The bars of one way lie on bearers, as battens do. Those of the other way are let into them, half the depth of each, and
so hang on them at every crossing: what stands on a bar of either way is borne. A bar is counted half as deep all along,
as it is where it is halved, and no load is shared with the bars across it: the joints are neither tight nor glued.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import shapely
from shapely import MultiPolygon, Polygon

from tapeloft.model.compartment import Compartment
from tapeloft.model.cutting.beams import Bar, blocks_apart, spans_of
from tapeloft.model.cutting.bearing import Borne, borne, crossing
from tapeloft.model.cutting.board import Cut, letters, standing
from tapeloft.model.cutting.grate import covered, left_off
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
from tapeloft.model.cutting.passing import passages
from tapeloft.model.errors import GeometryError
from tapeloft.model.solid import united

HALVED = "every bar is halved where it crosses another: bars on the bearers from above, those across from below"


@dataclass(frozen=True)
class Cells(OnBearers):
    """How an egg-crate is laid: its bars, m, those on the bearers the way it spans; the clear size of a cell, m.

    cell: across the bars on the bearers, and along them.
    """

    bar: tuple[float, float] = (0.020, 0.030)
    cell: tuple[float, float] = (0.040, 0.040)


@dataclass(frozen=True, eq=False)
class Crossed(Section):
    """A section of an egg-crate, outlines m, in the plane's axes: bars on the bearers, and bars across them."""

    bars: tuple[Polygon, ...]
    across: tuple[Polygon, ...]


@dataclass(frozen=True, eq=False)
class EggCrate(Laid):
    """A grate of bars both ways; span_m and overhang_m are of either."""

    sections: tuple[Crossed, ...]


def egg_crate_at(compartment: Compartment, height: float, cells: Cells, cut: Cut) -> EggCrate:
    """Return the egg-crate whose upper face lies at a *height*, m, in the net space of a compartment.

    Raises GeometryError where a size is absurd, nothing lies there, a bar is broader than the space, or none is borne.
    """
    breadth, depth = cells.bar
    sizes = {"bar's breadth": breadth, "bar's depth": depth, "cell's breadth": cells.cell[0]}
    sizes |= {"cell's length": cells.cell[1], "bearer's breadth": cells.bearer[0], "bearer's depth": cells.bearer[1]}
    sound_sizes(sizes, cells.load)
    on = ground(compartment, height, depth, cells.bearer[1], cut)
    pitch = breadth + max(cells.cell)
    spans = spans_of(depth / 2, cells.timber, cells.load, pitch)
    most = spans(breadth)
    if most[0] < max(cells.bearer[0], breadth + cells.cell[0]):
        raise GeometryError(
            f"no bar would be borne: halved, and under such a load, it spans {most[0] * 1000:.1f} mm, less than a "
            "bearer or a cell\n    mend: give deeper bars, a stiffer timber, a lighter load, or smaller cells"
        )
    axis = int(cells.way == "fore and aft")
    starts = strips(on.upper, axis, breadth, cells.cell[0]), strips(on.upper, 1 - axis, breadth, cells.cell[1])

    @cache
    def laid(part: Polygon) -> tuple[Borne, tuple[Polygon, ...]]:
        bars = borne(part, on.lower, starts[0], axis, breadth, cells.bearer[0], spans)
        return bars, crossing(part, bars.battens, starts[1], 1 - axis, breadth, spans)

    parts, notes = in_sections(
        on, (max(cut.web, breadth), 2 * breadth + cells.cell[0], 0.0), cut, min(cut.joint, cells.cell[0]),
        lambda part: _mass(*laid(part), cells),
        lambda cuts: in_gaps(cuts, axis, starts[0], cells.cell[0]),
    )  # fmt: skip
    each = [laid(part) for part in parts]
    cover = [
        covered(part, (*bars.battens, *across) if bars.battens and across else (), max(cells.cell), pitch)
        for part, (bars, across) in zip(parts, each, strict=True)
    ]
    bare = [one for _, some in cover for one in some]
    notes += (HALVED, *left_off(sum(bars.dropped for bars, _ in each), bare, sum(part.area for part in parts)))
    held = [(part, *one) for (part, _), one in zip(cover, each, strict=True) if one[0].battens and one[1]]
    if not held:
        raise GeometryError(
            "no bar would be borne: under the grate the space is too narrow for bearers, or for two bars side by side"
            "\n    mend: set it higher, give shallower bearers, or let bars run the other way"
        )
    sections = tuple(
        _made(name, part, bars, across, on, cells)
        for name, (part, bars, across) in zip(letters(len(held)), held, strict=True)
    )
    spacing = max(bars.spacing for _, bars, _ in held)
    whole = sum(one.outline.area for one in sections)
    wood = sum(_plan(one.bars, one.across).area for one in sections)
    block = blocks_apart(Bar(*cells.bearer, cells.timber), cells.load, spacing, pitch)
    mass = sum(one.mass_kg for one in sections)
    return EggCrate(
        on.plane,
        depth,
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


def _plan(bars: Sequence[Polygon], across: Sequence[Polygon]) -> MultiPolygon | Polygon:
    return shapely.union_all([*bars, *across])


def _mass(laid: Borne, across: Sequence[Polygon], cells: Cells) -> float:
    wood = _plan(laid.battens, across).area * cells.bar[1]
    return cells.timber.density_kg_m3 * float(wood + sum(one.area for one in laid.bearers) * cells.bearer[1])


def _made(letter: str, part: Polygon, laid: Borne, across: tuple[Polygon, ...], on: Ground, cells: Cells) -> Crossed:
    under = on.plane.shifted(-cells.bearer[1])
    bars = [standing(one, on.plane, cells.bar[1]) for one in (*laid.battens, *across)]
    bearers = [standing(one, under, cells.bearer[1]) for one in laid.bearers]
    ways = passages(shapely.union_all([*laid.battens, *across, *laid.bearers]), on.deep, on.openings)
    mass = _mass(laid, across, cells)
    return Crossed(letter, part, laid.bearers, united([*bars, *bearers]), ways, mass, laid.battens, across)
