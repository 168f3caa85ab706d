"""A packing under way: what does not change in it, and what is in so far."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from tapeloft.model.packing.forms import Bodies, Indices, Pairs
from tapeloft.model.packing.touching import Room
from tapeloft.model.proof.walls import Numbers


class Lattice(NamedTuple):
    """The places looked at: for each turned thing its own marks along x, y and z, and every site left by the walls.

    loose: things put in at a site may lie better between sites, and are slid.
    """

    marks: Numbers  # all marks
    first_mark: Indices  # (3 K + 1,)
    first_cell: Indices  # (K + 1,)
    turns: Indices  # (S,) of each site
    cells: Indices  # (S,)
    places: Numbers  # (S, 3)
    in_row: NDArray[np.bool_]  # (S,) where things in rows from the walls would come
    loose: bool


class Frame(NamedTuple):
    """What does not change while things are put in."""

    bodies: Bodies
    pairs: Pairs
    room: Room
    lattice: Lattice
    wanted: Indices  # how many of each kind at most
    worth: Numbers  # of one of each kind


class Load(NamedTuple):
    """What is in: the first many[0] of turns and places."""

    taken: Indices  # for each cell of every lattice, how many pieces rule it out
    turns: Indices
    places: Numbers  # (…, 3)
    held: Indices  # how many of each kind
    many: Indices  # (1,)
