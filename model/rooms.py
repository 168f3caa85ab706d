"""Where in a space a thing may be: anywhere, or standing at one of some heights."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from tapeloft.model.flats import room_over
from tapeloft.model.solid import Solid


@dataclass(frozen=True, eq=False)
class Room:
    """A part of a space: what a thing must be inside of, what a limit holds for, and the floor that it stands on.

    inside, outside: as `Compartment` has them; the same object where nothing is round. floor: z in m, None for none.
    """

    inside: Solid
    outside: Solid
    floor: float | None

    @property
    def bodies(self) -> tuple[Solid, ...]:
        """The separate bodies that a limit holds for, largest first."""
        return self.outside.parts()


def rooms(
    inside: Solid, outside: Solid, stands_on: float | Sequence[float] | None = None, on_grate: float | None = None
) -> tuple[Room, ...]:
    """Return the rooms of a space: all of it, or what is over each height that a thing may stand at.

    stands_on: heights, z in m, at which it stands borne by the sole; on_grate: one at which a grate bears it
    everywhere. ValueError where both are given.
    """
    if stands_on is not None and on_grate is not None:
        raise ValueError("a box stands on the sole or on a grate, not on both")
    return tuple(room for room in _rooms(inside, outside, stands_on, on_grate) if not room.outside.is_empty)


def _rooms(
    inside: Solid, outside: Solid, stands_on: float | Sequence[float] | None, on_grate: float | None
) -> Iterator[Room]:
    if on_grate is not None:
        over = inside.split((0, 0, 1), on_grate)[0]
        yield Room(over, over if outside is inside else outside.split((0, 0, 1), on_grate)[0], on_grate)
    elif stands_on is None:
        yield Room(inside, outside, None)
    else:
        for level in np.atleast_1d(np.asarray(stands_on, np.float64)).tolist():
            over = room_over(level, inside, outside)
            yield Room(over, over if outside is inside else room_over(level, outside, inside), level)
