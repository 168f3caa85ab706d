"""What a shelf leaves to stow in: under it and over it."""

from dataclasses import dataclass

import numpy as np

from tapeloft.model.compartment import Compartment
from tapeloft.model.cutting.shelf import Shelf
from tapeloft.model.runs.runs import clear_runs
from tapeloft.model.solid import Solid, prism, united


@dataclass(frozen=True)
class Room:
    """Room under or over a shelf, as far as its plan goes: its highest clear upright line, m, and its volume, m³."""

    clear_m: float
    volume_m3: float


def room_under_and_over(compartment: Compartment, shelf: Shelf) -> tuple[Room, Room]:
    """Return what is left under a shelf, its bearers taken off, and over it, its fiddle taken off."""
    net, board = compartment.net, shelf.board
    low, high = (float(z) for z in net.bounds[:, 2])
    base = board.plane.start[2]
    loops = [np.array(one.outline.exterior.coords)[:-1] for one in board.pieces]
    bars = [bar.solid for bar in (*shelf.bearers, *shelf.fiddles)]
    left = net.cleared_of(bars)
    spans = ((low - 0.01, base), (base + board.thickness, high + 0.01))
    columns = (united(prism([loop], *ends) for loop in loops) ^ left for ends in spans if ends[0] < ends[1])
    under, over = (_room(column) for column in columns)
    return under, over


def _room(column: Solid) -> Room:
    return Room(0.0 if column.is_empty else clear_runs(column)[2].length_m, column.volume)
