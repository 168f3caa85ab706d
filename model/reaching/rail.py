"""A rail along a side within reach through the open lid: its line, brackets, and the fenders that hang from it."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
import shapely
import shapely.ops
from shapely import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from tapeloft.model.compartment import Compartment
from tapeloft.model.cutting.beams import Bar, Beam, Load, overhang, span
from tapeloft.model.cutting.board import OUTSIDE, Piece, outside, piece_of
from tapeloft.model.cutting.inset import Gaps
from tapeloft.model.cutting.outline import polygons
from tapeloft.model.cutting.timber import TIMBERS, Timber
from tapeloft.model.cutting.tube import Tube
from tapeloft.model.errors import GeometryError
from tapeloft.model.fall import Fall, falls_of
from tapeloft.model.gear.forms import Capsule
from tapeloft.model.openings import ClearOpening, clear_openings
from tapeloft.model.reaching.arm import Arm, Lid, lids_for
from tapeloft.model.reaching.bent import bent
from tapeloft.model.reaching.hung import Hung, hung
from tapeloft.model.reaching.line import Level, SideName, at_height_of, in_reach, level_at, nearest

EVERY, NEXT = 0.08, (-0.04, -0.02, 0.02, 0.04)  # m: the heights that are looked at, and then those round the best
SHORTEST = 0.10  # m, of a rail
BRACKET = 0.03  # m along the rail
ENDS = 0.05  # m: how far a rail stands out over its last bracket at most; common practice, no source
METAL_SAFETY = 2.0  # of a metal's proof stress, common practice, no source
THINNEST = 1e-3  # m, of a bracket
AWAY = 0.5  # m: how far a bracket is looked for from a rail's middle at most


@dataclass(frozen=True)
class Section:
    """What a rail is: a batten across × deep, m, or a tube of that diameter both ways; as a beam it bends downward.

    safety: what breaks it is so many times the stress; common practice, no source.
    """

    across: float
    deep: float
    beam: Beam
    safety: float = 5.0


@dataclass(frozen=True)
class Asked:
    """What rail is asked for, m and kg: its side and section; off the side; gap to ends and to what stands there.

    height: of its middle; None for where most fenders hang, then the longest, then the highest. pull: kg that hang on
    it anywhere, besides the fenders, a person's hold. pitch: of hooks; None for a little more than a fender is thick.
    timber: that brackets are sawn from.
    """

    side: SideName
    section: Section = field(default_factory=lambda: Section(0.020, 0.045, Bar(0.020, 0.045, TIMBERS["teak"])))
    stand_off: float = 0.040
    gap: float = 0.005
    height: float | None = None
    arm: Arm = field(default_factory=Arm)
    fender: Capsule | None = None
    fender_kg: float = 0.0
    pitch: float | None = None
    pull_kg: float = 40.0
    timber: Timber = TIMBERS["teak"]


@dataclass(frozen=True, eq=False)
class Rail:
    """A rail: its middle line, (n, 3) m from aft forward; itself, its brackets, the fenders that hang from it.

    span_m, overhang_m: between brackets and beyond the last, at most; spacing_m: as they are. pitch_m: of hooks.
    under_lid: how many fenders hang into a lid's fall. load: that the rail bears, its even load kg on a metre.
    """

    side: str
    height: float
    line: tuple[tuple[float, float, float], ...]
    length_m: float
    level: Level
    rail: Piece
    brackets: tuple[Piece, ...]
    hung: tuple[Hung, ...]
    span_m: float
    overhang_m: float
    spacing_m: float
    pitch_m: float
    under_lid: int
    load: Load
    outside_m3: float
    notes: tuple[str, ...]


def rail_in(compartment: Compartment, falls: Sequence[Fall], asked: Asked) -> Rail:
    """Return the rail along a side that an arm reaches through the lids of some falls.

    Raises GeometryError where a size is absurd, no arm goes in, or nowhere along the side a rail is in reach.
    """
    _sound(asked)
    lids = lids_for(compartment, falls, asked.arm)
    section = asked.section
    kept = shapely.buffer(
        shapely.union_all([one.plan for one in falls_of(compartment)]), section.across / 2 + asked.gap
    )
    low, high = compartment.inside.bounds[:, 2].tolist()
    deep = section.deep
    steps = np.arange(high - deep / 2 - NEXT[-2], low + deep / 2, -EVERY)
    heights = [asked.height] if asked.height is not None else (np.floor(steps * 100) / 100).tolist()
    pitch = asked.pitch or (asked.fender.diameter + 2 * asked.gap if asked.fender else 0.2)

    def tried(height: float) -> _Tried:
        off, gap = asked.stand_off + section.across / 2, asked.gap + section.across / 2
        level = level_at(compartment, asked.side, height, deep, off, gap, kept)
        line = in_reach(level, lids, asked.arm)
        long_enough = line is not None and line.length >= SHORTEST
        return _Tried(level, line if long_enough else None, _hung(compartment, level, line, asked, pitch))

    every = [tried(height) for height in heights]
    best = max(every, key=lambda one: one.key)
    if asked.height is None:
        best = max([best, *(tried(round(best.level.height + step, 3)) for step in NEXT)], key=lambda one: one.key)
    if best.line is None:
        raise GeometryError(_why(compartment, [one.level for one in every], lids, asked))
    return _made(compartment, best.level, best.line, best.hung, asked, pitch)


@dataclass(frozen=True, eq=False)
class _Tried:
    """A height, the rail's line there, None for none, and what hangs from it."""

    level: Level
    line: LineString | None
    hung: tuple[Hung, ...]

    @property
    def key(self) -> tuple[float, float, float]:
        return len(self.hung), round(self.line.length, 2) if self.line else -1.0, self.level.height


def _sound(asked: Asked) -> None:
    section, pitch = asked.section, 0.2 if asked.pitch is None else asked.pitch
    sizes = (
        ("section", section.across, 0.003, 0.2),
        ("section's depth", section.deep, 0.003, 0.2),
        ("stand-off", asked.stand_off, 0.0, 0.5),
        ("gap", asked.gap, 0.0, 0.5),
        ("pitch", pitch, 0.02, 5.0),
    )
    for name, size, least, most in sizes:
        if not least <= size <= most:
            what = f"a {name} of {size * 1000:g} mm: it has to be {least * 1000:g} to {most * 1000:g} mm"
            raise GeometryError(f"the rail: {what}")
    for name, mass in (("a pull", asked.pull_kg), ("a fender", asked.fender_kg)):
        if not 0 <= mass <= 1000:
            raise GeometryError(f"the rail: {name} of {mass:g} kg: it has to be 0 to 1000 kg")
    if asked.pull_kg + asked.fender_kg == 0:
        raise GeometryError("the rail: nothing hangs on it\n    mend: give a pull, or a fender with its mass")


def _hung(
    compartment: Compartment, level: Level, line: LineString | None, asked: Asked, pitch: float
) -> tuple[Hung, ...]:
    if asked.fender is None or line is None or line.length < SHORTEST:
        return ()
    return hung(compartment, line, level.plane.start[2], asked.fender, pitch)


def _why(compartment: Compartment, levels: Sequence[Level], lids: Sequence[Lid], asked: Asked) -> str:
    deep = asked.section.deep * 1000
    if not any(level.lines for level in levels):
        what = f"along the {asked.side} side is no room for a rail {deep:.0f} mm deep, clear of ends, lids and the rest"
        return f"{compartment.name}: {what}\n    mend: give another height or side, less stand-off, or a thinner rail"
    near = min(nearest(level, lids) for level in levels)
    short = (near - asked.arm.reach) * 1000
    if short <= 0:
        what = f"along the {asked.side} side no {SHORTEST * 1000:.0f} mm in one are clear of lids and in reach"
    else:
        what = (
            f"the {asked.side} side is out of reach: its nearest place is {near * 1000:.0f} mm off, {short:.0f} too far"
        )
    return f"{compartment.name}: {what}\n    mend: give another height or the other side"


def _made(
    compartment: Compartment, level: Level, line: LineString, fenders: tuple[Hung, ...], asked: Asked, pitch: float
) -> Rail:
    section, openings = asked.section, clear_openings(compartment)
    band = shapely.buffer(line, section.across / 2, cap_style="flat", join_style="mitre")
    rail = piece_of("rail", _one(band), level.plane, section.deep, level.edges, Gaps(0, 0, 0), openings)
    rail = replace(rail, mass_kg=line.length * section.beam.kg_m)
    if isinstance(section.beam, Tube):
        rail = replace(rail, solid=bent(line, level.height, section.beam))
    load = Load(asked.pull_kg, asked.fender_kg / pitch if fenders else 0.0, safety=section.safety)
    between, beyond = span(section.beam, load, 1.0), overhang(section.beam, load, 1.0)
    at = _places(line.length, between, min(ENDS, beyond))
    brackets = _brackets(line, at, band, level, asked, openings) if asked.stand_off >= THINNEST else ()
    lost = outside(compartment, [rail, *brackets])
    for one in brackets:
        if (one.solid ^ rail.solid).volume > OUTSIDE:
            raise GeometryError(f"{one.letter} would stand within the rail: it is not given")
    falls = shapely.union_all([one.plan for one in falls_of(compartment)])
    reach = asked.fender.diameter / 2 if asked.fender else 0.0
    under = sum(one.axis.distance(falls) < reach for one in fenders)
    points = at_height_of(np.array(line.coords), level.height).tolist()
    return Rail(
        asked.side, level.height, tuple((x, y, z) for x, y, z in points), line.length, level, rail, brackets, fenders,
        between, beyond, at[1] - at[0] if len(at) > 1 else 0.0, pitch, under, load, lost,
        _remarks(brackets, at, fenders, under, asked),
    )  # fmt: skip


def _remarks(
    brackets: Sequence[Piece], at: Sequence[float], fenders: Sequence[Hung], under: int, asked: Asked
) -> tuple[str, ...]:
    said = []
    if asked.stand_off < THINNEST:
        said.append(f"it lies on the side itself: fasten it in {len(at)} places at least, spaced as brackets would be")
    elif len(brackets) < len(at):
        said.append(
            f"{len(at) - len(brackets)} brackets find no side within {AWAY * 1000:.0f} mm: carry them otherwise"
        )
    if asked.fender is not None and not fenders:
        said.append("no fender hangs clear from it: there are no hooks")
    if under:
        some = "1 of the fenders hangs" if under == 1 else f"{under} of the fenders hang"
        said.append(f"{some} into the fall of a lid: lift out first what does")
    return tuple(said)


def _places(length: float, between: float, ends: float) -> list[float]:
    """Return where along a rail its brackets are, m: near both ends, and evenly between."""
    ends = min(ends, length / 4)
    free = length - 2 * ends
    count = max(1, math.ceil(free / between - 1e-9))
    return [ends + free * k / count for k in range(count + 1)]


def _brackets(
    line: LineString, at: Sequence[float], band: BaseGeometry, level: Level, asked: Asked,
    openings: Sequence[ClearOpening],
) -> tuple[Piece, ...]:  # fmt: skip
    """Return blocks between the rail and the side, as deep as the rail, square to it."""
    found, section, sawn = [], asked.section, asked.timber.density_kg_m3
    for number, place in enumerate(at, start=1):
        x, y = line.interpolate(place).coords[0]
        (ax, ay), (bx, by) = (
            line.interpolate(max(0.0, place - 1e-3)).coords[0],
            line.interpolate(place + 1e-3).coords[0],
        )
        along = np.array([bx - ax, by - ay]) / math.hypot(bx - ax, by - ay)
        out = np.array([-along[1], along[0]]) * (1 if _outward(level, (x, y), along) else -1)
        corners = [np.array([x, y]) + a * along + b * out for a, b in _CORNERS]
        strip = shapely.difference(shapely.intersection(level.clear, Polygon(corners)), band)
        near = [one for one in polygons(strip).geoms if one.distance(shapely.Point(x, y)) < section.across / 2 + 1e-4]
        reaches = [one for one in near if one.distance(level.clear.boundary) < 1e-6]
        if reaches:
            piece = max(reaches, key=lambda one: one.area)
            cut = level.plane, section.deep, level.edges, Gaps(0, 0, 0), openings, sawn
            found.append(piece_of(f"bracket {number}", piece, *cut))
    return tuple(found)


_CORNERS = ((-BRACKET / 2, 0.0), (BRACKET / 2, 0.0), (BRACKET / 2, AWAY), (-BRACKET / 2, AWAY))


def _outward(level: Level, spot: tuple[float, float], along: np.ndarray) -> bool:
    """Whether the near wall lies to the left of a line's way at a spot."""
    near = shapely.ops.nearest_points(level.clear.boundary, shapely.Point(spot))[0]
    return bool(along[0] * (near.y - spot[1]) - along[1] * (near.x - spot[0]) > 0)


def _one(area: BaseGeometry) -> Polygon:
    return max(polygons(area).geoms, key=lambda one: one.area)
