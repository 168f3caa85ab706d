"""The second look at an arrangement, by the boolean kernel: nothing outside, and nothing in one another.

A clearance is drawn as bodies that reach a little farther at their corners. Where two things meet only there, a plane
is looked for with one on either side and the clearance between.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np

from tapeloft.model.facets import body
from tapeloft.model.moments import Points
from tapeloft.model.packing.forms import meeting
from tapeloft.model.packing.packer import Arrangement
from tapeloft.model.packing.pieces import Piece, Thing, covering, hulled
from tapeloft.model.solid import Solid, on_grid, united
from tapeloft.shapes.polyhedron import Polyhedron, Round

NOTHING = 1e-15  # m³: what the kernel may leave where two faces lie back to back
ON = 1e-9  # m: a corner this near the grid is on it, and a gap so little short is one


@dataclass(frozen=True, eq=False)
class _Drawn:
    """A thing, convex pieces that cover it, and bodies that hold it and all that is as near as the clearance."""

    whole: Polyhedron
    pieces: list[Piece]
    wide: list[Polyhedron]


@dataclass(frozen=True, eq=False)
class _Placed:
    own: Solid
    wide: Solid
    pieces: list[Piece]
    place: Points


def checked(space: Solid, things: Sequence[Thing], found: Arrangement, clearance: float) -> Iterator[int]:
    """Yield the numbers of the things of an arrangement that are surely inside and clear of those before them.

    Each is drawn around its true form; with a clearance, that is drawn with it.
    """
    drawn = [_drawn(thing, clearance) for thing in things]
    kept: list[_Placed] = []
    for number, kind in enumerate(found.kinds.tolist()):
        one = _placed(drawn[kind], found.rotations[number], found.places[number])
        if not _is_over(one.wide - space) and all(_is_clear(one, other, clearance) for other in kept):
            kept.append(one)
            yield number


def _drawn(thing: Thing, clearance: float) -> _Drawn:
    whole = thing.drawn(Round.OUTSIDE)
    if not clearance:
        return _Drawn(whole, [], [whole])
    pieces = list(covering(whole))
    solids = [hulled(piece.grown(clearance).corners) for piece in pieces]
    return _Drawn(whole, pieces, [Polyhedron(s.vertices, tuple(map(tuple, s.triangles.tolist()))) for s in solids])


def _placed(drawn: _Drawn, rotation: Points, place: Points) -> _Placed:
    own = _posed(drawn.whole, rotation, place)
    wide = united([_posed(one, rotation, place) for one in drawn.wide]) if drawn.pieces else own
    return _Placed(own, wide, [piece.turned(rotation) for piece in drawn.pieces], place)


def _is_clear(one: _Placed, other: _Placed, clearance: float) -> bool:
    if not _near(one.wide, other.own) or not _is_over(one.wide ^ other.own):
        return True
    return clearance > 0 and all(
        _are_parted(a, b, one.place - other.place, clearance) for a, b in product(other.pieces, one.pieces)
    )


def _are_parted(a: Piece, b: Piece, away: Points, clearance: float) -> bool:
    """Whether a plane parts a piece from another, moved *away*, with the clearance between."""
    sides = meeting(a, b)
    return bool((sides[:, :3] @ away - sides[:, 3]).max() >= clearance - ON)


def _posed(drawn: Polyhedron, rotation: Points, place: Points) -> Solid:
    """Return a body in its place, corners that are on the grid but for rounding put there."""
    corners = drawn.vertices @ rotation.T + place
    near = on_grid(corners)
    return body(Polyhedron(np.where(np.abs(corners - near) < ON, near, corners), drawn.faces))


def _near(one: Solid, other: Solid) -> bool:
    return bool((one.bounds[0] < other.bounds[1]).all() and (other.bounds[0] < one.bounds[1]).all())


def _is_over(rest: Solid) -> bool:
    return rest.volume > NOTHING
