"""What is said of a part: on its face, in the cut list, and as cautions."""

import hashlib
import math
from dataclasses import dataclass

from tapeloft.model.cutting.beams import Load
from tapeloft.model.cutting.board import Edge, Piece
from tapeloft.model.cutting.grate import Bars
from tapeloft.model.cutting.inset import Gaps
from tapeloft.model.cutting.passing import least_width
from tapeloft.model.cutting.shelf import Shelf, Shelving
from tapeloft.model.cutting.timber import HANDBOOK, Timber
from tapeloft.model.survey.survey import Survey

HARDBOARD = (
    "The least gap, {gap:.1f} mm, is no more than twice what the tape is good to ({tape:.1f} mm): try it in hardboard "
    "or card first."
)
GAS_HOLDS = "Gas locker: fasten nothing through its walls, leave its drain and the way down to it open."
WAY_IN = (
    "A piece is held against the clear opening alone, edge first and straight: whether there is room to turn it within "
    "is for card to show."
)
POSTS = "Where it is cut round structural parts, keep them whole, and fasten to them only as a builder allows."


@dataclass(frozen=True)
class Line:
    """A line of the cut list: a piece, what it is sawn from, m and m², its openings and its edges."""

    piece: str
    length_m: float
    breadth_m: float
    thickness_m: float
    least_width_m: float
    area_m2: float
    perimeter_m: float
    through: tuple[str, ...]
    edges: tuple[Edge, ...]


def listed(piece: Piece, thickness: float) -> Line:
    """Return a piece's line of the cut list."""
    breadth, length = sorted(piece.size)
    outline = piece.outline
    return Line(
        piece.letter, length, breadth, thickness, least_width(outline), outline.area, outline.length, piece.through,
        piece.edges,
    )  # fmt: skip


def bars_listed(bars: Bars, batten: float, bearer: float) -> list[Line]:
    """Return a section's lines of the cut list, *batten* and *bearer* deep, m: its battens and what bears them."""
    named = [(f"{bars.letter}{k}", one, batten) for k, one in enumerate(bars.battens, start=1)]
    named += [(f"{bars.letter}, bearer {k}", one, bearer) for k, one in enumerate(bars.bearers, start=1)]
    return [listed(Piece(name, one, bars.solid, (), bars.through), deep) for name, one, deep in named]


def shelf_listed(shelf: Shelf, asked: Shelving) -> list[Line]:
    """Return a shelf's lines of the cut list: its pieces, then fiddles and bearers."""
    lines = [listed(piece, asked.thickness) for piece in shelf.board.pieces]
    every = [(one, asked.fiddle[0]) for one in shelf.fiddles] + [(one, asked.bearer[1]) for one in shelf.bearers]
    return lines + [listed(Piece(one.name, one.outline, one.solid, (), one.through), deep) for one, deep in every]


def loads_told(timber: Timber, load: Load) -> str:
    """Return in words what a part is taken to be of, and what of its strength is allowed."""
    return (
        f"Loads are taken by {timber.name}: E {timber.modulus_pa / 1e9:.2f} GPa, modulus of rupture "
        f"{timber.rupture_pa / 1e6:.1f} MPa, of which a {load.safety:.0f}th is allowed ({HANDBOOK}). Knots and short "
        "grain take more off."
    )


def digest(survey: Survey) -> str:
    """Return twelve hex digits that change with whatever the survey says, its options and its lengths."""
    text = survey.source.paper.text if survey.source else ""
    said = repr((survey.name, survey.options, survey.parameters, survey.stations, text))
    return hashlib.sha256(said.encode()).hexdigest()[:12]


def cut_cautions(survey: Survey, gaps: Gaps) -> tuple[str, ...]:
    """Return the cautions that go with a part that is cut to a survey; common practice, no source."""
    kept = survey.accuracy
    tape = math.hypot(kept.half_breadth, kept.height)
    gap = min(gaps.side, gaps.end, gaps.obstruction)
    said = [WAY_IN]
    if gap <= 2 * tape:
        said.append(HARDBOARD.format(gap=gap * 1000, tape=tape * 1000))
    if any(one.structural for one in survey.obstructions):
        said.append(POSTS)
    if survey.space.use == "gas":
        said.append(GAS_HOLDS)
    return tuple(said)
