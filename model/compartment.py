"""A compartment: the closed solid of a surveyed space, what stands in it, and what is left.

gross: everything within the measured surfaces. pieces: each obstruction, as far as it stands in there.
fitted: each part built in, cut to what the pieces leave. net: gross less all of them. bays: the separate bodies that
net falls into.
"""

from dataclasses import dataclass, field, replace
from functools import cached_property, lru_cache

import numpy as np

from tapeloft.model.errors import GeometryError, Problem, SurveyError
from tapeloft.model.facets import standing
from tapeloft.model.fitout import Fitted, fitted_in
from tapeloft.model.misfits import Standing, misfits
from tapeloft.model.solid import SLIVER, Solid
from tapeloft.model.surface.gross import Gross, Loft
from tapeloft.model.surface.gross import gross as gross_space
from tapeloft.model.survey.sheet import Obstruction
from tapeloft.model.survey.survey import Survey
from tapeloft.model.tapes.settling import Settled, as_read, settled
from tapeloft.shapes.mesh import Mesh
from tapeloft.shapes.polyhedron import Bounds, Round
from tapeloft.shapes.registry import Shape


@dataclass(frozen=True, eq=False)
class Piece:
    """An obstruction as it stands in the space: body reaches through walls, solid is cut to the gross space."""

    name: str
    solid: Solid
    body: Solid
    obstruction: Obstruction


@dataclass(frozen=True, eq=False)
class Bay:
    """One of the separate bodies of the net space."""

    name: str
    solid: Solid


@dataclass(frozen=True, eq=False)
class Compartment:
    """A built compartment, compartment axes, m.

    survey: as the person wrote it. settled: what it was built from, None for one that was put together by hand.
    parts: what each gross face is part of, by the (origin, face) of a triangle. notes: what is worth a second look.
    lofts: the surfaces that gross is closed from, before a twin is mirrored.
    """

    name: str
    survey: Survey
    gross: Solid
    pieces: tuple[Piece, ...]
    net: Solid
    bays: tuple[Bay, ...]
    parts: dict[tuple[int, int], str]
    notes: tuple[Problem, ...]
    settled: Settled | None = None
    lofts: tuple[Loft, ...] = field(default=(), repr=False)
    fitted: tuple[Fitted, ...] = ()

    @property
    def basis(self) -> str:
        """What it was built from, in one short line: adjusted corners, or the readings as taped, and why."""
        return self.settled.words if self.settled else ""

    @cached_property
    def inside(self) -> Solid:
        """The net space with circles drawn larger than they are: what fits in it fits."""
        return _drawn(self, Round.OUTSIDE)

    @cached_property
    def outside(self) -> Solid:
        """The net space with circles drawn smaller than they are: what does not fit in it does not."""
        return _drawn(self, Round.INSIDE)


@lru_cache(maxsize=64)
def build(survey: Survey) -> Compartment:
    """Return the compartment that *survey* describes; the same survey is built once.

    Raises SurveyError with what forbids it: sections that cross, an obstruction outside or filling the space, a part
    that cannot be made there or that lies in another.
    """
    space, basis = _space(survey)
    pieces = _pieces(survey, space.solid)
    bodies = [piece.body for piece in pieces]
    net = space.solid.cleared_of(bodies)
    if net.volume < SLIVER:
        what, mend = "the obstructions leave nothing of the space", "read their sizes again"
        raise SurveyError([survey.problem(("obstruction",), what, mend)])
    stand = [Standing(p.name, p.obstruction.shape, p.body, p.solid) for p in pieces]
    notes = (*space.notes, *_remarks(survey), *misfits(survey, space.solid, stand, len(net.parts())))
    fitted, whole = _fitted(survey, space, pieces, net), space.solid
    net = net.cleared_of([part.solid for part in fitted])
    notes += tuple(note for part in fitted for note in part.notes)
    if survey.mirrored:
        whole, net, fitted = whole.mirrored(), net.mirrored(), tuple(part.mirrored() for part in fitted)
        pieces = tuple(Piece(p.name, p.solid.mirrored(), p.body.mirrored(), p.obstruction) for p in pieces)
    bays = _bays(net)
    return Compartment(survey.name, survey, whole, pieces, net, bays, space.parts, notes, basis, space.lofts, fitted)


def _fitted(survey: Survey, space: Gross, pieces: tuple[Piece, ...], net: Solid) -> tuple[Fitted, ...]:
    """Return the parts built in, before a twin is mirrored."""
    if not survey.parts:
        return ()
    sister = replace(survey, mirrored=False, parts=())
    bare = Compartment(survey.name, sister, space.solid, pieces, net, _bays(net), space.parts, ())
    return fitted_in(bare, survey)


def _space(survey: Survey) -> tuple[Gross, Settled]:
    """Return the gross space, of adjusted corners where the check tapes agree, and what it was built from."""
    basis = settled(survey)
    if basis.survey is survey:
        return gross_space(survey), basis
    try:
        return gross_space(basis.survey), basis
    except SurveyError:
        return gross_space(survey), as_read(basis)


def bounds_of(solid: Solid) -> Bounds:
    """Return the upright box around *solid* as shapes want it."""
    low, high = solid.bounds.tolist()
    return Bounds((low[0], low[1], low[2]), (high[0], high[1], high[2]))


def _pieces(survey: Survey, space: Solid) -> tuple[Piece, ...]:
    pieces, problems = [], []
    for number, obstruction in enumerate(survey.obstructions):
        try:
            body = standing(obstruction.shape, bounds_of(space), Round.EQUAL_AREA)
        except (ValueError, GeometryError) as bad:
            problems.append(_about(survey, number, str(bad), "read its sizes again"))
            continue
        solid = body ^ space
        if solid.volume < 1e-9:
            mend = "read where it stands again; was the side or the datum another?"
            problems.append(_about(survey, number, "stands wholly outside the space", mend))
        elif space.volume - solid.volume < SLIVER:
            problems.append(_about(survey, number, "fills the whole space", "read its sizes again"))
        pieces.append(Piece(obstruction.name, solid, body, obstruction))
    if problems:
        raise SurveyError(problems)
    return tuple(pieces)


def _about(survey: Survey, number: int, what: str, mend: str) -> Problem:
    name = survey.obstructions[number].name
    return survey.problem(survey.path_to_obstruction(name), what, mend)


def _remarks(survey: Survey) -> list[Problem]:
    """Return what was mended or taken as meant in the mesh files that stand in the space."""
    return [
        survey.problem(survey.path_to_obstruction(one.name), remark, "nothing, if that is right")
        for one in survey.obstructions
        if isinstance(one.shape, Mesh)
        for remark in one.shape.file.remarks
    ]


def _drawn(built: Compartment, how: Round) -> Solid:
    """Return the net space with circles drawn as *how* says; the net space itself where nothing is round."""
    space = built.gross.mirrored() if built.survey.mirrored else built.gross
    shapes, bounds = [piece.obstruction.shape for piece in built.pieces], bounds_of(space)
    if not any(_is_round(shape, bounds) for shape in shapes):
        return built.net
    parts = [part.mirrored() if built.survey.mirrored else part for part in built.fitted]
    left = space.cleared_of([*(standing(shape, bounds, how) for shape in shapes), *(part.solid for part in parts)])
    return left.mirrored() if built.survey.mirrored else left


def _is_round(shape: Shape, space: Bounds) -> bool:
    """Whether a shape is drawn another way when circles are: round things have different corners then."""
    one, other = (shape.bodies(space, how) for how in (Round.INSIDE, Round.OUTSIDE))
    return one != other


SIDES = (("after bay", "forward bay"), ("starboard bay", "port bay"), ("lower bay", "upper bay"))


def _bays(net: Solid) -> tuple[Bay, ...]:
    """Return the separate bodies, named by where they lie; slivers below a millilitre stay out.

    Two that some plane square to an axis parts are named by the sides of it, others are numbered from aft forward.
    """
    bodies = [body for body in net.parts() if body.volume >= SLIVER]
    if len(bodies) == 1:
        return (Bay("whole", bodies[0]),)
    axis = _parted(bodies[0], bodies[1]) if len(bodies) == 2 else None
    if axis is not None:
        bodies.sort(key=lambda body: float(body.bounds[0, axis]))
        return tuple(Bay(name, body) for name, body in zip(SIDES[axis], bodies, strict=True))
    bodies.sort(key=lambda body: tuple(np.round(body.centroid, 3).tolist()))
    return tuple(Bay(f"bay {number}", body) for number, body in enumerate(bodies, start=1))


def _parted(one: Solid, other: Solid) -> int | None:
    """Return the axis that a plane square to it parts two bodies along, the widest gap first; None where none does."""
    gaps = np.maximum(one.bounds[0], other.bounds[0]) - np.minimum(one.bounds[1], other.bounds[1])
    axis = int(gaps.argmax())
    return axis if gaps[axis] >= 0 else None
