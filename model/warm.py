"""The inner loops, compiled before they are asked for, so that no time limit runs out while they are."""

from typing import Any

from tapeloft.model.boxes import largest_box
from tapeloft.model.facets import body
from tapeloft.model.fits.fit import fitted
from tapeloft.model.gear.forms import Block
from tapeloft.model.gear.turn import Turn
from tapeloft.model.proof.branches import branched
from tapeloft.model.proof.climb import climbed
from tapeloft.model.proof.compiled import is_kept
from tapeloft.model.proof.interior import relaxed
from tapeloft.model.proof.turned.branching import bound_of, obstacle, reach_of
from tapeloft.model.proof.turned.cells import view_of
from tapeloft.model.proof.turned.growing import grown
from tapeloft.model.proof.turned.placing import placed
from tapeloft.model.proof.turned.swallowed import met
from tapeloft.model.proof.walls import deepest
from tapeloft.model.proof.winding import told_apart
from tapeloft.shapes.polyhedron import box

UPRIGHT: tuple[Any, ...] = (told_apart, relaxed, climbed, branched, deepest, met)
TURNED: tuple[Any, ...] = (view_of, reach_of, bound_of, obstacle, placed, grown)


def is_warm(turned: bool = True) -> bool:
    """Whether the inner loops for upright things, or for turned ones too, are compiled and kept on this machine."""
    return all(is_kept(loop) for loop in UPRIGHT + (TURNED if turned else ()))


def warm(turned: bool = True) -> None:
    """Compile what is not yet, and keep it: some seconds, or a minute, once a machine."""
    cell = body(box((0, 0, 0), (1, 0.8, 0.6))) - body(box((0.4, 0.3, -1), (0.5, 0.4, 2)))
    largest_box(cell, cell, tolerance=0.01)
    if turned:
        largest_box(cell, cell, turn=Turn.UPRIGHT, tolerance=0.5)
        fitted(cell, cell, Block(0.3, 0.3, 0.3), turn=Turn.UPRIGHT)
