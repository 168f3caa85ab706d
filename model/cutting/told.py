"""What is said of a part: on its face, in the cut list, and as cautions."""

import hashlib
import math
from dataclasses import dataclass

from tapeloft.model.cutting.board import Edge, Piece
from tapeloft.model.cutting.grate import Bars
from tapeloft.model.cutting.inset import Gaps
from tapeloft.model.cutting.passing import least_width
from tapeloft.model.plusminus.cutagain import CutOff
from tapeloft.model.survey.survey import Survey

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
    "A piece is held against the clear opening alone, edge first and straight: whether there is room to turn it within "
    "is for card to show."
)
POSTS = "Where it is cut round structural parts, keep them whole, and fasten to them only as a builder allows."


@dataclass(frozen=True)
class Line:
    """A line of the cut list: a piece, what it is sawn from, m and m², its openings and its edges.

    area_sd_m2: one standard deviation of its area, where it follows the walls and that is known.
    """

    piece: str
    length_m: float
    breadth_m: float
    thickness_m: float
    least_width_m: float
    area_m2: float
    perimeter_m: float
    through: tuple[str, ...]
    edges: tuple[Edge, ...]
    area_sd_m2: float | None = None


def listed(piece: Piece, thickness: float, area_off: float | None = None) -> Line:
    """Return a piece's line of the cut list; *area_off*: how far its area may be off, m²."""
    breadth, length = sorted(piece.size)
    outline = piece.outline
    return Line(
        piece.letter, length, breadth, thickness, least_width(outline), outline.area, outline.length, piece.through,
        piece.edges, area_off,
    )  # fmt: skip


def bars_listed(bars: Bars, batten: float, bearer: float) -> list[Line]:
    """Return a section's lines of the cut list, *batten* and *bearer* deep, m: its battens and what bears them."""
    named = [(f"{bars.letter}{k}", one, batten) for k, one in enumerate(bars.battens, start=1)]
    named += [(f"{bars.letter}, bearer {k}", one, bearer) for k, one in enumerate(bars.bearers, start=1)]
    return [listed(Piece(name, one, bars.solid, (), bars.through), deep) for name, one, deep in named]


def digest(survey: Survey) -> str:
    """Return twelve hex digits that change with whatever the survey says, its options and its lengths."""
    text = survey.source.paper.text if survey.source else ""
    said = repr((survey.name, survey.options, survey.parameters, survey.stations, text))
    return hashlib.sha256(said.encode()).hexdigest()[:12]


def cut_cautions(survey: Survey, gaps: Gaps, off: CutOff | None) -> tuple[str, ...]:
    """Return the cautions that go with a part that is cut to a survey; common practice, no source.

    off: how far its walls may be off; without it a gap is held against what the tape is good to.
    """
    said = [WAY_IN, *filter(None, [_tight(survey, min(gaps.side, gaps.end, gaps.obstruction), off)])]
    if any(one.structural for one in survey.obstructions):
        said.append(POSTS)
    if survey.space.use == "gas":
        said.append(GAS_HOLDS)
    return tuple(said)


def _tight(survey: Survey, gap: float, off: CutOff | None) -> str:
    """Return what is said of a gap no wider than two standard deviations of the wall, "" of a wider one."""
    if off is not None:
        told = UNSURE.format(gap=gap * 1000, wall=off.wall_sd_m * 1000, touches=off.touches, drawn=off.drawn)
        return told if gap <= 2 * off.wall_sd_m or off.touches else ""
    kept = survey.accuracy
    tape = math.hypot(kept.half_breadth, kept.height)
    return HARDBOARD.format(gap=gap * 1000, tape=tape * 1000) if gap <= 2 * tape else ""
