"""The part of a compartment that is asked about: a bay, without a piece that stands in it, clear of what is named."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from tapeloft.model.called import called
from tapeloft.model.compartment import Bay, Compartment, build
from tapeloft.model.errors import GeometryError
from tapeloft.model.moments import Points
from tapeloft.model.openings import ClearOpening, clear_openings
from tapeloft.model.solid import Solid, hulls, united

SHARED = 1e-9  # m³ that a body has in common with a bay, where it is of it
STEPS = 24  # that a lid's swing is drawn in


@dataclass(frozen=True, eq=False)
class Asked:
    """A space asked about: inside for what fits, outside for what does not; see `Compartment`."""

    compartment: Compartment
    inside: Solid
    outside: Solid


def asked_space(
    compartment: Compartment,
    *,
    bay: str | None = None,
    without: Sequence[str] = (),
    clear_of: Sequence[Solid] = (),
) -> Asked:
    """Return a space of a compartment: one bay, or all; with pieces taken out by their names, and solids kept clear.

    Names may be shortened to how they begin. Raises UnknownName.
    """
    whole = without_pieces(compartment, without)
    inside, outside = whole.inside, whole.outside
    if bay is not None:
        inside, outside = (_in_bay(solid, bay_called(whole, bay).solid) for solid in (inside, outside))
    if clear_of:
        alike = inside is outside
        inside = inside.cleared_of(clear_of)
        outside = inside if alike else outside.cleared_of(clear_of)
    return Asked(whole, inside, outside)


def without_pieces(compartment: Compartment, names: Sequence[str]) -> Compartment:
    """Return the compartment as it would be with some of what stands in it taken out; raises UnknownName."""
    if not names:
        return compartment
    survey = compartment.survey
    known = sorted([*(one.name for one in survey.obstructions), *(one.name for one in survey.parts)])
    out = {called("obstruction or part" if survey.parts else "obstruction", name, known) for name in names}
    left = tuple(one for one in survey.obstructions if one.name not in out)
    return build(replace(survey, obstructions=left, parts=tuple(one for one in survey.parts if one.name not in out)))


def swing(compartment: Compartment, name: str) -> Solid:
    """Return what a lid or door sweeps as it swings into the space about its hinge, as far as it opens (or 90°).

    Its outline turned about its hinged edge. Raises UnknownName; GeometryError where it has no hinge.
    """
    found = {one.name: one for one in clear_openings(compartment)}
    meant = called("opening", name, sorted(found))
    read = next(one for one in compartment.survey.openings if one.name == meant)
    lid, side = found[meant], read.hinge
    if not side or side == "lifts off":
        what = f'"{meant}" has no hinge to swing about'
        raise GeometryError(f"{what}\n    mend: write its hinge in the survey, or leave its swing out")
    start, along = _hinge(lid, side, compartment)
    angle = np.radians(read.opens_to or 90.0)
    centre = compartment.gross.centroid
    turn = 1.0 if _dips(lid, start, along, centre) else -1.0
    leaves = [_turned(lid.outline, start, along, turn * share * angle) for share in np.linspace(0, 1, STEPS + 1)]
    return hulls(np.vstack(places) for places in pairwise(leaves))


def swept(compartment: Compartment, names: Sequence[str]) -> list[tuple[str, Solid]]:
    """Return what lids and doors sweep, each with what it is called on the edge of a part; raises what `swing` does."""
    return [(f"swing of {name}", swing(compartment, name)) for name in names]


def bay_called(compartment: Compartment, name: str) -> Bay:
    """Return the bay of that name, or whose name begins so; raises UnknownName."""
    meant = called("bay", name, [bay.name for bay in compartment.bays])
    return next(bay for bay in compartment.bays if bay.name == meant)


def _in_bay(solid: Solid, bay: Solid) -> Solid:
    return united([part for part in solid.parts() if (part ^ bay).volume > SHARED])


def _hinge(lid: ClearOpening, side: str, compartment: Compartment) -> tuple[Points, Points]:
    """Return a point on the hinge and its direction."""
    inboard = -1.0 if compartment.gross.centroid[1] > 0 else 1.0
    ways = {
        "forward": (0, 1.0), "aft": (0, -1.0), "port": (1, 1.0), "starboard": (1, -1.0),
        "inboard": (1, inboard), "outboard": (1, -inboard),
    }  # fmt: skip
    axis, sign = ways[side]
    along = sign * lid.outline[:, axis]
    edge = lid.outline[along > along.max() - 1e-6]
    if len(edge) < 2:
        edge = lid.outline[np.argsort(along)[-2:]]
    direction = edge[-1] - edge[0]
    return edge[0], direction / np.linalg.norm(direction)


def _turned(points: Points, start: Points, along: Points, angle: float) -> Points:
    """Return points turned about a line (Rodrigues' formula)."""
    from_there = points - start
    across = np.cross(along, from_there)
    turned = from_there * np.cos(angle) + across * np.sin(angle)
    places: Points = start + turned + np.outer(from_there @ along, along) * (1 - np.cos(angle))
    return places


def _dips(lid: ClearOpening, start: Points, along: Points, centre: Points) -> bool:
    """Whether turning a little forward takes the lid toward the middle of the space."""
    middle = lid.outline.mean(axis=0)
    inward = centre - middle
    return bool(np.cross(along, middle - start) @ inward > 0)
