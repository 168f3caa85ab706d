"""The turns that a rule allows, as cells to search: each thing's symmetry leaves some of them out."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tapeloft.model.gear.forms import Symmetry
from tapeloft.model.gear.turn import Turn
from tapeloft.model.moments import Points
from tapeloft.model.proof.turned.cells import Cell

NONE, ABOUT_Z, ALL = (np.array(axes, np.int64) for axes in ([], [2], [0, 1, 2]))


@dataclass(frozen=True, eq=False)
class Turns:
    """Turns to search: first to one of *ways* down, (k, 3, 3), then by one of *cells*.

    axes: about which of its axes a thing in a cell turns. ball: cells all of whose Rodrigues vectors have a norm of
    this order over one are not needed.
    """

    ways: tuple[Points, ...]
    cells: tuple[Cell, ...]
    axes: NDArray[np.int64]
    ball: float = math.inf


def turns_of(rule: Turn, symmetry: Symmetry) -> tuple[Turns, ...]:
    """Return all turns that *rule* allows but for those that the symmetry of a thing makes the same as others.

    >>> [(len(t.ways), len(t.cells), len(t.axes)) for t in turns_of(Turn.ANY_FACE, "round")]
    [(1, 1, 0), (1, 1, 1)]
    """
    stand = Turns((np.eye(3),), _cells(0, 0, 0), NONE)
    if rule is Turn.AS_GIVEN:
        return (stand,)
    if rule is Turn.UPRIGHT:
        return (stand,) if symmetry == "round" else (Turns((np.eye(3),), _about_vertical(symmetry), ABOUT_Z),)
    if rule is Turn.ANY_FACE:
        down = FACES_DOWN[symmetry]
        if symmetry == "round":
            return stand, Turns(down, _about_vertical("box"), ABOUT_Z)
        return (Turns(down, _about_vertical(symmetry), ABOUT_Z),)
    if symmetry == "round":
        return (Turns((np.eye(3),), _cells(1, 1, 0), ALL, 2),)
    bases = (np.eye(3),) if symmetry == "box" else HALF_TURNS
    return (Turns((np.eye(3),), tuple(cell for base in bases for cell in _cells(1, 1, 1, base)), ALL),)


def turns_of_box(rule: Turn, alike: tuple[bool, bool, bool]) -> Turns:
    """Return the turns that *rule* allows a box in which a quarter turn about some of its axes only renames its sides.

    alike: about x, y and z. A box all of whose sides are free needs the fewest.

    >>> turns_of_box(Turn.ANY_TILT, (True, True, True)).cells[0].high.round(3).tolist()
    [0.414, 0.414, 0.414]
    """
    if rule is Turn.AS_GIVEN:
        return Turns((np.eye(3),), _cells(0, 0, 0), NONE)
    eighth = math.sqrt(2) - 1
    if rule is not Turn.ANY_TILT:
        return Turns((np.eye(3),), _cells(0, 0, eighth if alike[2] else 1.0), ABOUT_Z)
    if all(alike):
        return Turns((np.eye(3),), _cells(eighth, eighth, eighth), ALL, 1)
    return Turns((np.eye(3),), _cells(1, 1, 1), ALL)


def _quarter(axis: int, quarters: int) -> Points:
    """Return the turn by so many right angles about an axis."""
    turn = np.eye(3)
    j, k = (axis + 1) % 3, (axis + 2) % 3
    c, s = ((1, 0), (0, 1), (-1, 0), (0, -1))[quarters % 4]
    turn[j, j] = turn[k, k] = c
    turn[k, j], turn[j, k] = s, -s
    return turn


HALF_TURNS = (np.eye(3), *(_quarter(axis, 2) for axis in range(3)))
FACES_DOWN: dict[Symmetry, tuple[Points, ...]] = {
    "box": (np.eye(3), _quarter(0, 1), _quarter(1, 1)),
    "round": (_quarter(0, 1),),
    "none": (np.eye(3), _quarter(0, 1), _quarter(0, 2), _quarter(0, 3), _quarter(1, 1), _quarter(1, 3)),
}


def _cells(x: float, y: float, z: float, base: Points | None = None) -> tuple[Cell, ...]:
    most = np.array([x, y, z], np.float64)
    return (Cell(np.eye(3) if base is None else base, -most, most),)


def _about_vertical(symmetry: Symmetry) -> tuple[Cell, ...]:
    """Return the cells of all turns about the vertical: half of them for a thing that half a turn leaves as it is."""
    half = _cells(0, 0, 1)
    return half if symmetry == "box" else half + _cells(0, 0, 1, _quarter(2, 2))
