"""The second look at an arrangement, by the boolean kernel: nothing outside, and nothing in one another."""

from collections.abc import Iterator, Sequence

import numpy as np

from tapeloft.model.facets import body
from tapeloft.model.moments import Points
from tapeloft.model.packing.packer import Arrangement
from tapeloft.model.packing.pieces import Thing, covering, hulled
from tapeloft.model.solid import Solid, on_grid, united
from tapeloft.shapes.polyhedron import Polyhedron, Round

NOTHING = 1e-15  # m³: what the kernel may leave where two faces lie back to back
ON = 1e-9  # m: a corner this near the grid is on it


def checked(space: Solid, things: Sequence[Thing], found: Arrangement, clearance: float) -> Iterator[int]:
    """Yield the numbers of the things of an arrangement that are surely inside and clear of those before them.

    Each is drawn around its true form; with a clearance, that is drawn with it.
    """
    drawn = [_drawn(thing, clearance) for thing in things]
    bare: list[Solid] = []
    for number, kind in enumerate(found.kinds.tolist()):
        rotation, place = found.rotations[number], found.places[number]
        own, wide = (united([_posed(one, rotation, place) for one in bodies]) for bodies in drawn[kind])
        if not _is_over(wide - space) and not any(_is_over(wide ^ other) for other in bare if _near(wide, other)):
            bare.append(own)
            yield number


def _drawn(thing: Thing, clearance: float) -> tuple[list[Polyhedron], list[Polyhedron]]:
    """Return the thing, and bodies that hold it and all that is as near to it as the clearance."""
    whole = thing.drawn(Round.OUTSIDE)
    if not clearance:
        return [whole], [whole]
    solids = [hulled(piece.grown(clearance).corners) for piece in covering(whole)]
    return [whole], [Polyhedron(s.vertices, tuple(map(tuple, s.triangles.tolist()))) for s in solids]


def _posed(drawn: Polyhedron, rotation: Points, place: Points) -> Solid:
    """Return a body in its place, corners that are on the grid but for rounding put there."""
    corners = drawn.vertices @ rotation.T + place
    near = on_grid(corners)
    return body(Polyhedron(np.where(np.abs(corners - near) < ON, near, corners), drawn.faces))


def _near(one: Solid, other: Solid) -> bool:
    return bool((one.bounds[0] < other.bounds[1]).all() and (other.bounds[0] < one.bounds[1]).all())


def _is_over(rest: Solid) -> bool:
    return rest.volume > NOTHING
