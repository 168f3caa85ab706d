"""How big a compartment is: gross, what each obstruction takes, net, and each bay."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tapeloft.model.capacity import height_of
from tapeloft.model.compartment import Compartment, Piece
from tapeloft.model.fitout import Fitted
from tapeloft.model.runs.runs import Run, clear_runs
from tapeloft.model.solid import Solid

Point = tuple[float, float, float]


@dataclass(frozen=True)
class Body:
    """A named body: its volume, m³, and its centroid in compartment and in boat axes, m."""

    name: str
    volume_m3: float
    centroid_m: Point
    centroid_in_boat_m: Point | None


@dataclass(frozen=True)
class Share:
    """What an obstruction or a part takes of the space: alone, and less what those named before it take already, m³.

    kind: "obstruction", or the kind of a part that is built in.
    """

    name: str
    alone_m3: float
    share_m3: float
    removable: bool
    structural: bool
    kind: str = "obstruction"


@dataclass(frozen=True)
class Volume:
    """The size of a compartment.

    shares sum to gross less net; bays sum to net. half_full_m is the height below which half the net volume lies.
    runs: the longest clear straight lines fore and aft, athwartships and upright.
    """

    compartment: str
    gross: Body
    shares: tuple[Share, ...]
    net: Body
    bays: tuple[Body, ...]
    runs: tuple[Run, Run, Run]
    half_full_m: float


def measured(compartment: Compartment) -> Volume:
    """Return the volumes, centroids and clear sizes of *compartment*.

    Volumes are exact for the meshed surface. Overlapping obstructions are counted once: the one named first in
    the survey takes the overlap. Parts lie in what obstructions leave, and none in another.
    """
    survey = compartment.survey
    placed = survey.placement if survey.datum.x_zero_in_boat is not None else None
    return Volume(
        compartment.name,
        _body("gross", compartment.gross, placed),
        (*shares(compartment.pieces), *map(_taken, compartment.fitted)),
        _body("net", compartment.net, placed),
        tuple(_body(bay.name, bay.solid, placed) for bay in compartment.bays),
        clear_runs(compartment.net),
        height_of(compartment.net, 0.5),
    )


def _body(name: str, solid: Solid, placed: Point | None) -> Body:
    x, y, z = solid.centroid.tolist()
    in_boat = None if placed is None else (x + placed[0], y + placed[1], z + placed[2])
    return Body(name, solid.volume, (x, y, z), in_boat)


def _taken(part: Fitted) -> Share:
    size = part.solid.volume
    return Share(part.name, size, size, part.part.removable, False, part.kind)


def shares(pieces: Sequence[Piece]) -> tuple[Share, ...]:
    """Return what each of the pieces takes; where they overlap, the one named first takes it.

    Cut by the whole bodies of those before it, for these go through the walls, and so share no wall with it: two
    surfaces a rounding apart are not always cut true.
    """
    found = []
    boxes = np.array([piece.body.bounds for piece in pieces]).reshape(-1, 2, 3)
    for number, piece in enumerate(pieces):
        low, high = piece.solid.bounds
        met = ((boxes[:number, 1] > low) & (boxes[:number, 0] < high)).all(axis=1)
        share = piece.solid.cleared_of([pieces[k].body for k in np.flatnonzero(met).tolist()]).volume
        one = piece.obstruction
        found.append(Share(piece.name, piece.solid.volume, share, one.removable, one.structural))
    return tuple(found)
