"""What is said of a part: on its face, in the cut list, and as cautions."""

import hashlib
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import shapely
from shapely import Polygon

from tapeloft.model.cutting.beams import Load
from tapeloft.model.cutting.board import Edge, Piece
from tapeloft.model.cutting.cleats import structural
from tapeloft.model.cutting.eggcrate import Crossed
from tapeloft.model.cutting.grate import Bars
from tapeloft.model.cutting.inset import Gaps
from tapeloft.model.cutting.laying import Section
from tapeloft.model.cutting.passing import Passage, least_width
from tapeloft.model.cutting.perforated import Pierced
from tapeloft.model.cutting.plane import Plane
from tapeloft.model.cutting.sheetstock import SheetStock
from tapeloft.model.cutting.shelf import Shelf, Shelving
from tapeloft.model.cutting.timber import HANDBOOK, Timber
from tapeloft.model.cutting.tube import Metal
from tapeloft.model.plusminus.cutagain import CutOff
from tapeloft.model.solid import Solid
from tapeloft.model.survey.survey import Survey
from tapeloft.model.survey.told import way_of_tape
from tapeloft.model.units import figure

HARDBOARD = (
    "The least gap, {gap:.1f} mm, is no more than twice what the tape is good to ({tape:.1f} mm): try it in hardboard "
    "or card first."
)
UNSURE = (
    "The least gap is {gap:.1f} mm, and the walls are known to ± {wall:.1f} mm where that is least: as cut it would "
    "touch a wall in {touches} of {drawn} spaces as it might be read. Try it in hardboard or card first."
)
GAS_HOLDS = "Gas locker: fasten nothing through its walls, leave its drain and the way down to it open."
WAY_IN = (
    "A piece is held against the clear opening alone, an end first, its face along the way, straight in: whether there "
    "is room to turn it within is for card to show. One that goes in no such way may yet be worked in."
)
POSTS = "Where it is cut round structural parts, keep them whole, and fasten to them only as a builder allows."


SQUARE = 10.0  # degrees: an end or a turn no farther off an axis is told as square to it
ENDS = {
    "forward": ("forward end", "after end"), "aft": ("after end", "forward end"), "port": ("port end", "starboard end"),
    "up": ("upper end", "lower end"),
}  # fmt: skip
MOVES = {
    "top": "straight down", "bottom": "straight up", "port": "straight to starboard", "starboard": "straight to port",
    "forward": "straight aft", "aft": "straight forward",
}  # fmt: skip
CLEAR = {
    "top": ("fore and aft", "athwartships"), "port": ("fore and aft", "upright"),
    "forward": ("athwartships", "upright"),
}  # fmt: skip
CLEAR |= {"bottom": CLEAR["top"], "starboard": CLEAR["port"], "aft": CLEAR["forward"]}


@dataclass(frozen=True)
class Line:
    """A line of the cut list: a piece, what it is sawn from, m, m² and kg, its openings, its ways in and its edges.

    area_sd_m2: one standard deviation of its area, where it follows the walls and that is known.
    """

    piece: str
    length_m: float
    breadth_m: float
    thickness_m: float
    least_width_m: float
    area_m2: float
    perimeter_m: float
    mass_kg: float
    through: tuple[str, ...]
    passages: tuple[Passage, ...]
    edges: tuple[Edge, ...]
    area_sd_m2: float | None = None


def listed(piece: Piece, thickness: float, area_off: float | None = None) -> Line:
    """Return a piece's line of the cut list; *area_off*: how far its area may be off, m²."""
    line = _line(piece.letter, piece.outline, thickness, piece.mass_kg, piece.passages, piece.edges)
    return replace(line, area_sd_m2=area_off)


def bars_listed(bars: Bars, batten: float, bearer: float, density: float) -> list[Line]:
    """Return a section's lines of the cut list, *batten* and *bearer* deep, m: its battens and what bears them."""
    rows = [(f"{bars.letter}{k}", one, batten) for k, one in enumerate(bars.battens, start=1)]
    return _listed([*rows, *_bearers(bars, bearer)], bars, density)


def crossed_listed(crossed: Crossed, bar: float, bearer: float, density: float) -> list[Line]:
    """Return a section's lines of the cut list: bars both ways, *bar* deep, m, and bearers.

    A bar weighs what is left of it, half its depth gone where it crosses another.
    """
    lines = []
    for mark, own, others in (("", crossed.bars, crossed.across), ("-", crossed.across, crossed.bars)):
        rows = [(f"{crossed.letter}{mark}{k}", one, bar) for k, one in enumerate(own, start=1)]
        met = shapely.union_all(others)
        for line, one in zip(_listed(rows, crossed, density), own, strict=True):
            gone = shapely.intersection(one, met).area / 2
            lines.append(replace(line, mass_kg=line.mass_kg * (1 - gone / one.area)))
    return [*lines, *_listed(_bearers(crossed, bearer), crossed, density)]


def pierced_listed(pierced: Pierced, bearer: float, stock: float, timber: float) -> list[Line]:
    """Return a section's lines of the cut list: its sheet, holes taken off, and what bears it; densities kg/m³."""
    sheet = _line(pierced.letter, pierced.outline, pierced.thickness, 0.0, pierced.passages, ())
    holes = len(pierced.middles) * math.pi * pierced.bore**2 / 4
    left = replace(sheet, mass_kg=(sheet.area_m2 - holes) * pierced.thickness * stock, area_m2=sheet.area_m2 - holes)
    rows = _bearers(pierced, bearer)
    lines = _listed(rows, pierced, timber)
    return [left, *(_along_itself(line, one) for line, (_, one, _) in zip(lines, rows, strict=True))]


def _along_itself(line: Line, outline: Polygon) -> Line:
    """Return a line with the sizes of the least rectangle about its piece, which may run slanting.

    Its breadth is to the nearest millimetre: along a side that is nearly straight a bar gives by less.
    """
    (a, b, c) = shapely.oriented_envelope(outline).exterior.coords[:3]
    breadth, length = sorted((math.dist(a, b), math.dist(b, c)))
    return replace(line, length_m=length, breadth_m=round(breadth, 3))


def bearers_of(section: Section) -> list[tuple[str, Polygon]]:
    """Return what bears a section, outlines m, by the names of the cut list."""
    ledges = section.ledges if isinstance(section, Pierced) else ()
    named = [(f"{section.letter}, ledge {k}", one) for k, one in enumerate(ledges, start=1)]
    return [*named, *((f"{section.letter}, bearer {k}", one) for k, one in enumerate(section.bearers, start=1))]


def stood_on(section: Section) -> tuple[Polygon, ...]:
    """Return what of a section is stood on, outlines m: its battens, its bars both ways, or its sheet."""
    if isinstance(section, Bars):
        return section.battens
    return (*section.bars, *section.across) if isinstance(section, Crossed) else (section.outline,)


def _bearers(section: Section, bearer: float) -> list[tuple[str, Polygon, float]]:
    return [(name, one, bearer) for name, one in bearers_of(section)]


def _listed(rows: Sequence[tuple[str, Polygon, float]], section: Section, density: float) -> list[Line]:
    return [_line(name, one, deep, one.area * deep * density, section.passages, ()) for name, one, deep in rows]


def _line(
    name: str, outline: Polygon, thick: float, mass: float, ways: tuple[Passage, ...], edges: tuple[Edge, ...]
) -> Line:
    x0, y0, x1, y1 = outline.bounds
    breadth, length = sorted((x1 - x0, y1 - y0))
    through = tuple(one.opening for one in ways)
    width = least_width(outline)
    return Line(name, length, breadth, thick, width, outline.area, outline.length, mass, through, ways, edges)


def way_in(passage: Passage, plane: Plane) -> str:
    """Return in words how a piece of a *plane* goes in through an opening: by which end, how turned, how closely."""
    moves, (first, second) = MOVES[passage.wall], CLEAR[passage.wall]
    turn = passage.turn_deg
    if turn < 0.05 or turn > 89.95:
        turned = f"lying {first if turn < 45 else second} there"
    else:
        turned = f"turned there {turn:.0f}° from {first} toward {second}"
    end = _end(passage.lead, plane)
    sizes = f"{passage.width_m * 1000:.1f} mm broad {turned}, {passage.spare_m * 1000:.1f} mm to spare at its corners"
    return f'through "{passage.opening}" {moves}, {end} first: {sizes}'


def _end(lead: tuple[float, float], plane: Plane) -> str:
    """Return what the end is called that lies along *lead*, in a plane's axes."""
    axis = int(abs(lead[1]) > abs(lead[0]))
    square = ENDS[plane.ways[axis]][int(lead[axis] < 0)]
    off = math.degrees(math.atan2(abs(lead[1 - axis]), abs(lead[axis])))
    if off <= SQUARE:
        return square
    toward = ENDS[plane.ways[1 - axis]][int(lead[1 - axis] < 0)].removesuffix(" end")
    return f"{square}, {off:.0f}° to its {toward} side,"


def shelf_listed(shelf: Shelf, asked: Shelving, areas_off: Sequence[float | None]) -> list[Line]:
    """Return a shelf's lines of the cut list: its pieces, then fiddles and bearers.

    areas_off: how far the area of each piece may be off, m².
    """
    pieces = zip(shelf.board.pieces, areas_off, strict=True)
    lines = [listed(piece, asked.thickness, off) for piece, off in pieces]
    every = [(one, asked.fiddle[0]) for one in shelf.fiddles] + [(one, asked.bearer[1]) for one in shelf.bearers]
    sawn = asked.timber.density_kg_m3
    return lines + [
        _line(one.name, one.outline, deep, one.outline.area * deep * sawn, one.passages, ()) for one, deep in every
    ]


def loads_told(timber: Timber, load: Load, along: str = "m²") -> str:
    """Return in words what a part is taken to be of, what of its strength is allowed, and what it bears.

    along: what its even load is spread over.
    """
    return (
        f"Loads are taken by {timber.name}: E {timber.modulus_pa / 1e9:.2f} GPa, modulus of rupture "
        f"{timber.rupture_pa / 1e6:.1f} MPa, of which a {load.safety:.0f}th is allowed ({HANDBOOK}). "
        f"{_borne(load, along)} Knots and short grain take more off."
    )


def metal_loads_told(metal: Metal, load: Load) -> str:
    """Return in words what metal a rail is taken to be of, what of its strength is allowed, and what it bears."""
    return (
        f"Loads are taken by {metal.name}: E {metal.modulus_pa / 1e9:.0f} GPa, 0.2 % proof stress "
        f"{metal.proof_pa / 1e6:.0f} MPa, divided by {load.safety:g} (common practice, no source). {_borne(load, 'm')}"
    )


def sheet_loads_told(sheet: SheetStock, load: Load, source: str) -> str:
    """Return in words what sheet a part is taken to be of, and what of its strength is allowed; source: of that."""
    laid = f", {sheet.laid}" if sheet.laid else ""
    return (
        f"Loads are taken by {sheet.name}{laid}: E {sheet.modulus_pa / 1e9:.2f} GPa, modulus of rupture "
        f"{sheet.rupture_pa / 1e6:.1f} MPa, of which a {load.safety:.0f}th is allowed ({source}). {_borne(load)}"
    )


def _borne(load: Load, along: str = "m²") -> str:
    """Return in words what load a part is laid for; along: what its even load is spread over."""
    every = {"kg at any one place": load.point_kg, f"kg/{along}": load.even_kg_m2}
    both = " and ".join(f"{round(mass, 2):g} {what}" for what, mass in every.items() if mass)
    return f"Under {both} it bends by 1/{load.least_part:g} of its span at the most."


def on_piece(piece: Piece | Section, survey: Survey, name: str, said: Sequence[str]) -> tuple[str, ...]:
    """Return what is written on a piece of a compartment: what is *said* of it, and where it lies, by which survey."""
    return f"{piece.letter}   {name}", *said, stands(piece.solid, survey), surveyed(survey)


def stands(solid: Solid, survey: Survey) -> str:
    """Return in words from which station to which a piece lies, and between which heights."""
    (x0, _, z0), (x1, _, z1) = solid.bounds.tolist()
    first, last = sorted(way_of_tape(survey) * x for x in (x0, x1))
    return f"station {_from_to(first, last, survey.unit)}; height {_from_to(z0, z1, survey.unit)}"


def _from_to(low: float, high: float, unit: str) -> str:
    return f"{figure(low, unit)} to {figure(high, unit)} {unit}"


def digest(survey: Survey) -> str:
    """Return twelve hex digits that change with whatever the survey says, its options and its lengths."""
    text = survey.source.paper.text if survey.source else ""
    said = repr((survey.name, survey.options, survey.parameters, survey.stations, text))
    return hashlib.sha256(said.encode()).hexdigest()[:12]


def surveyed(survey: Survey) -> str:
    """Return what is written on each piece of the survey that it was cut to: its digest, what its tape is good to."""
    return f"survey {digest(survey)}, its tape ± {_tape(survey) * 1000:.1f} mm"


def _tape(survey: Survey) -> float:
    """Return what a point of a section is good to, m."""
    return math.hypot(survey.accuracy.half_breadth, survey.accuracy.height)


def cut_cautions(survey: Survey, gaps: Gaps, off: CutOff | None) -> tuple[str, ...]:
    """Return the cautions that go with a part that is cut to a survey; common practice, no source.

    off: how far its walls may be off; not known, a gap is held against what the tape is good to.
    """
    return (WAY_IN, *at_walls(survey, gaps.least, off))


def at_walls(survey: Survey, gap: float, off: CutOff | None = None) -> tuple[str, ...]:
    """Return the cautions of what stands within a least *gap*, m, of the walls and of what else is there."""
    said = [*filter(None, [_tight(survey, gap, off)])]
    if structural(survey):
        said.append(POSTS)
    if survey.space.use == "gas":
        said.append(GAS_HOLDS)
    return tuple(said)


def _tight(survey: Survey, gap: float, off: CutOff | None) -> str:
    """Return what is said of a gap no wider than two standard deviations of the wall, "" of a wider one, or of none."""
    if off is None:
        tape = _tape(survey)
        return HARDBOARD.format(gap=gap * 1000, tape=tape * 1000) if gap <= 2 * tape else ""
    if off.wall_sd_m is None:
        return ""
    told = UNSURE.format(gap=gap * 1000, wall=off.wall_sd_m * 1000, touches=off.touches, drawn=off.drawn)
    return told if gap <= 2 * off.wall_sd_m or off.touches else ""
