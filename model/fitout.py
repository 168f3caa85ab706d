"""The parts built into a compartment: made for its space, each within it, and none in another."""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np

from tapeloft.model.errors import GeometryError, Problem, SurveyError, TapeloftError
from tapeloft.model.parts.registry import STAGES, Stage, kind_name
from tapeloft.model.solid import SLIVER, Solid, united
from tapeloft.model.survey.sheet import Part
from tapeloft.model.survey.survey import Survey

if TYPE_CHECKING:
    from tapeloft.model.compartment import Compartment

WITHIN = 1e-9  # m³: a cubic millimetre, what rounding may leave outside the space, or in another part
MEND = "give it another place or size, or take it out"


@dataclass(frozen=True, eq=False)
class Fitted:
    """A part as it is built in, compartment axes: all of it, and its pieces by their letters."""

    name: str
    part: Part
    solid: Solid
    bodies: tuple[tuple[str, Solid], ...]
    notes: tuple[Problem, ...] = ()

    @property
    def kind(self) -> str:
        """What a survey calls its kind."""
        return kind_name(self.part.kind)

    def mirrored(self) -> "Fitted":
        """Return it mirrored on the plane y = 0."""
        bodies = tuple((letter, body.mirrored()) for letter, body in self.bodies)
        return replace(self, solid=self.solid.mirrored(), bodies=bodies)


def fitted_in(bare: "Compartment", survey: Survey) -> tuple[Fitted, ...]:
    """Return the parts of *survey*, in its order, made for a compartment that has none yet.

    Each stage is made within what those before it leave. Raises SurveyError with all that forbids it: a part that
    cannot be made, that would stand outside the space, or that lies in another.
    """
    made: dict[str, Fitted] = {}
    problems: list[Problem] = []
    for stage in Stage:
        space = replace(bare, net=bare.net.cleared_of([one.solid for one in made.values()]), fitted=(*made.values(),))
        for part in survey.parts:
            if STAGES[type(part.kind)] is stage:
                found = _one(space, survey, part)
                if isinstance(found, Fitted):
                    made[part.name] = found
                else:
                    problems.append(found)
    ordered = tuple(made[part.name] for part in survey.parts if part.name in made)
    problems += _overlaps(survey, ordered)
    if problems:
        raise SurveyError(problems)
    if bare.net.cleared_of([one.solid for one in ordered]).volume < SLIVER:
        what = "the parts leave nothing of the space"
        raise SurveyError([survey.problem(("part",), what, "read their sizes again")])
    return ordered


def _one(space: "Compartment", survey: Survey, part: Part) -> Fitted | Problem:
    path = survey.path_to_part(part.name)
    for name, value in vars(part.kind).items():
        if isinstance(value, float) and math.isinf(value):  # a word for the far wall
            return survey.problem((*path, name), "it would lie at the very wall", "write the reading of where it lies")
    try:
        made = part.kind.made(space)
        solid = united(body for _, body in made.bodies)
        out = (solid - space.inside).volume
        if out > WITHIN:
            raise GeometryError(f"it would stand {out * 1e6:.3f} ml outside the space")
    except TapeloftError as bad:
        what, _, mend = str(bad).partition("\n    mend: ")
        return survey.problem(path, what, mend or MEND)
    notes = tuple(survey.problem(path, note, "nothing, if that is right") for note in made.notes)
    return Fitted(part.name, part, solid, made.bodies, notes)


def _overlaps(survey: Survey, parts: tuple[Fitted, ...]) -> Iterator[Problem]:
    """Yield, of each two parts that lie in one another, what is to be told; it stands with the second."""
    for one, other in combinations(parts, 2):
        bounds = np.array([one.solid.bounds, other.solid.bounds])
        may = bool((bounds[:, 0].max(axis=0) < bounds[:, 1].min(axis=0)).all())
        both = (one.solid ^ other.solid).volume if may else 0.0
        if both > WITHIN:
            what = f'the parts "{one.name}" and "{other.name}" lie in one another: {both * 1e6:.1f} ml are of both'
            yield survey.problem(survey.path_to_part(other.name), what, "move or shorten one of them")
