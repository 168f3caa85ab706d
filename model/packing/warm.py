"""The packer's loops, compiled before they are asked for, so that no time limit runs out while they are."""

from typing import Any

from tapeloft.model.facets import body
from tapeloft.model.gear.forms import Cylinder
from tapeloft.model.gear.turn import Turn
from tapeloft.model.packing.filling import filled, laid, shaken, sunk
from tapeloft.model.packing.limits.cells import covered, empty, reached_least, sides_of
from tapeloft.model.packing.limits.piercing import pierced, placements
from tapeloft.model.packing.limits.within import bodies_within
from tapeloft.model.packing.packer import Wanted, packed, prepared
from tapeloft.model.packing.touching import admitted
from tapeloft.model.proof.compiled import is_kept
from tapeloft.shapes.polyhedron import box

LOOPS: tuple[Any, ...] = (admitted, filled, laid, shaken, sunk, covered, empty, reached_least, sides_of)


def is_warm() -> bool:
    """Whether the loops of the packer and of its limits are compiled and kept on this machine."""
    return all(is_kept(loop) for loop in LOOPS)


def warm() -> None:
    """Compile what is not yet, and keep it: half a minute or so, once a machine."""
    cell = body(box((0, 0, 0), (1, 0.8, 0.6)))
    can = Cylinder(0.4, 0.5)
    packed(prepared(cell, [Wanted(can, Turn.AS_GIVEN)]), starts=1)
    pierced(cell, placements(cell, bodies_within(can, Turn.AS_GIVEN, 0.0)))
