"""A perforated sheet on a ledge all round and bearers across, cut to the net space at a height, in sections that go in.

Between bearers it bends as strips of itself do, each as broad as what stands on it, of which only what lies between
the holes of a row is counted, all along. Where holes lie, strain is not even: that is left to the safety of the load.
"""

import math
from dataclasses import dataclass
from functools import cache

import numpy as np
import shapely
from shapely import MultiPolygon, Polygon

from tapeloft.model.compartment import Compartment
from tapeloft.model.cutting.beams import Bar, blocks_apart, overhang, span
from tapeloft.model.cutting.bearing import band
from tapeloft.model.cutting.board import Cut, letters, standing
from tapeloft.model.cutting.grate import left_off
from tapeloft.model.cutting.holes import Pattern, bored, holes
from tapeloft.model.cutting.inset import without_necks
from tapeloft.model.cutting.laying import Ground, Laid, OnBearers, Section, ground, in_sections, outside, sound_sizes
from tapeloft.model.cutting.ledges import LEAST, ledges
from tapeloft.model.cutting.outline import polygons
from tapeloft.model.cutting.passing import passages
from tapeloft.model.cutting.sheetstock import SHEETS, SheetStock
from tapeloft.model.errors import GeometryError
from tapeloft.model.moments import Points
from tapeloft.model.solid import Solid, united

STOOD_ON = 0.1  # m: how broad a strip bears the point load, about a foot's breadth; common practice, no source
CLOSEST = 0.85  # of the pitch: a broader hole leaves no sheet


@dataclass(frozen=True)
class Holed(OnBearers):
    """How a perforated sheet is laid: thickness, hole, pitch and the web left to edges and bearers, m.

    stock: of the sheet; timber: of its bearers.
    """

    thickness: float = 0.018
    bore: float = 0.020
    pitch: float = 0.040
    pattern: Pattern = "square"
    web: float = 0.010
    stock: SheetStock = SHEETS["plywood"]


@dataclass(frozen=True, eq=False)
class Shelf:
    """A sheet, the ledge round it and bearers across, and how far apart these are at most: outlines m, m."""

    sheet: Polygon
    ledges: tuple[Polygon, ...]
    bearers: tuple[Polygon, ...]
    spacing: float

    @property
    def under(self) -> tuple[Polygon, ...]:
        """All that bears it."""
        return *self.ledges, *self.bearers


@dataclass(frozen=True, eq=False)
class Pierced(Section):
    """A section of a perforated sheet, its outline and its solid without holes.

    ledges: bars round it, m; bearers lie across between them. middles: (n, 2) m of its holes in the plane's axes; their
    bore and the sheet's thickness, m.
    """

    ledges: tuple[Polygon, ...]
    middles: Points
    bore: float
    thickness: float


@dataclass(frozen=True, eq=False)
class Perforated(Laid):
    """A grate that is a perforated sheet."""

    sections: tuple[Pierced, ...]


def perforated_at(compartment: Compartment, height: float, holed: Holed, cut: Cut) -> Perforated:
    """Return the perforated sheet whose upper face lies at a *height*, m, in the net space of a compartment.

    Raises GeometryError where a size is absurd, holes leave no sheet, nothing lies there, or nothing is borne.
    """
    _sound(holed)
    on = ground(compartment, height, holed.thickness, holed.bearer[1], cut)
    solid_share = (holed.pitch - holed.bore) / holed.pitch
    bar = Bar(STOOD_ON * solid_share, holed.thickness, holed.stock)
    spans = span(bar, holed.load, STOOD_ON), overhang(bar, holed.load, STOOD_ON)
    if spans[0] < holed.bearer[0]:
        raise GeometryError(
            f"no sheet would be borne: under such a load it spans {spans[0] * 1000:.1f} mm, less than a "
            "bearer\n    mend: give a thicker sheet, a stiffer one, fewer holes, or a lighter load"
        )
    across = int(holed.way == "fore and aft")

    @cache
    def laid(part: Polygon) -> tuple[Shelf, ...]:
        return _shelves(part, on.lower, 1 - across, holed.bearer[0], spans, cut.web)

    parts, notes = in_sections(
        on, (max(cut.web, 2 * holed.bearer[0]), 2 * holed.bearer[0], cut.web), cut, cut.joint,
        lambda part: sum(_weighs(one, _middles(one, holed), holed) for one in laid(part)), list,
    )  # fmt: skip
    held = [one for part in parts for one in laid(part)]
    bare = [part.difference(shapely.union_all([one.sheet for one in laid(part)])) for part in parts]
    whole = sum(part.area for part in parts)
    notes += left_off(0, [part for part in bare if part.area > cut.web**2], whole)
    if not held:
        raise GeometryError(
            "no sheet would be borne: under the grate the space is too narrow for bearers\n    mend: set it higher, or "
            "give shallower bearers"
        )
    sections = tuple(_made(name, one, on, holed) for name, one in zip(letters(len(held)), held, strict=True))
    if not any(len(one.middles) for one in sections):
        raise GeometryError(
            "no hole has room in it\n    mend: give a thicker sheet, smaller holes, a smaller web, or narrower bearers"
        )
    spacing = max(one.spacing for one in held)
    whole = sum(one.outline.area for one in sections)
    opened = sum(len(one.middles) for one in sections) * np.pi * holed.bore**2 / 4
    block = blocks_apart(Bar(*holed.bearer, holed.timber), holed.load, spacing, STOOD_ON)
    mass = sum(one.mass_kg for one in sections)
    return Perforated(
        on.plane, holed.thickness, on.clear, sections, *spans, block, spacing, whole, float(opened / whole), mass,
        outside(compartment, sections), notes,
    )  # fmt: skip


def drilled(section: Pierced, made: Perforated) -> Solid:
    """Return a section with its holes, where it lies in the compartment; a mesh of many holes takes a while."""
    sheet = made.plane.placed(bored(section.outline, section.middles, section.bore, 0.0, section.thickness))
    _, below = section.solid.split((0.0, 0.0, 1.0), made.plane.start[2])
    return sheet if below.is_empty else united([sheet, below])


def _sound(holed: Holed) -> None:
    sizes = {"sheet's thickness": holed.thickness, "hole": holed.bore, "pitch of holes": holed.pitch}
    sizes |= {"bearer's breadth": holed.bearer[0], "bearer's depth": holed.bearer[1]}
    sound_sizes(sizes, holed.load)
    if holed.bore > CLOSEST * holed.pitch:
        what = f"holes of {holed.bore * 1000:g} mm every {holed.pitch * 1000:g} leave no sheet"
        raise GeometryError(f"{what}\n    mend: give smaller holes, or a pitch of {holed.bore / CLOSEST * 1000:.0f} mm")
    if not 0.001 <= holed.web <= 0.5:
        raise GeometryError(f"a web of {holed.web * 1000:g} mm: it has to be 1 to 500 mm")


def _shelves(
    part: Polygon, lower: MultiPolygon, along: int, breadth: float, spans: tuple[float, float], web: float
) -> tuple[Shelf, ...]:
    """Return the sheets of a part, each with a ledge of a *breadth*, m, along its edge and bearers across between.

    A sheet reaches no farther beyond its ledge than it may stand out; where the side flares much, less.
    """
    seat = polygons(shapely.intersection(part, lower))
    reach = shapely.buffer(seat, spans[1], join_style="mitre")
    sheets = without_necks(polygons(shapely.intersection(part, reach)), web)
    found = []
    for sheet in sheets.geoms:
        under = without_necks(polygons(shapely.intersection(seat, sheet)), breadth)
        if under.is_empty:
            continue
        low, high = under.bounds[along] + breadth / 2, under.bounds[along + 2] - breadth / 2
        count = max(1, math.ceil((high - low) / spans[0] - 1e-9))
        step = (high - low) / count
        round_it = tuple(bar for one in under.geoms for bar in ledges(one, breadth))
        inner = shapely.difference(under, shapely.union_all(round_it))
        bars = [band(under, along, low + step * k - breadth / 2, breadth) for k in range(1, count)]
        across = [one for bar in bars for one in polygons(shapely.intersection(inner, bar)).geoms]
        found.append(Shelf(sheet, round_it, tuple(one for one in across if one.area > LEAST * breadth**2), step))
    return tuple(found)


def _middles(shelf: Shelf, holed: Holed) -> Points:
    room = shapely.difference(shelf.sheet, shapely.union_all(shelf.under))
    return holes(shelf.sheet, room, holed.bore, holed.pitch, holed.pattern, holed.web)


def _weighs(shelf: Shelf, middles: Points, holed: Holed) -> float:
    solid = (shelf.sheet.area - len(middles) * np.pi * holed.bore**2 / 4) * holed.thickness
    under = sum(one.area for one in shelf.under) * holed.bearer[1]
    return float(solid * holed.stock.density_kg_m3 + under * holed.timber.density_kg_m3)


def _made(letter: str, shelf: Shelf, on: Ground, holed: Holed) -> Pierced:
    under = on.plane.shifted(-holed.bearer[1])
    solids = [standing(shelf.sheet, on.plane, holed.thickness)]
    solids += [standing(one, under, holed.bearer[1]) for one in shelf.under]
    middles = _middles(shelf, holed)
    ways, mass = passages(shelf.sheet, on.deep, on.openings), _weighs(shelf, middles, holed)
    return Pierced(
        letter,
        shelf.sheet,
        shelf.bearers,
        united(solids),
        ways,
        mass,
        shelf.ledges,
        middles,
        holed.bore,
        holed.thickness,
    )
