"""What to do with a branch: take the ways past something it would swallow, or halve its turns."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from tapeloft.model.proof.compiled import compiled, part
from tapeloft.model.proof.program import Numbers
from tapeloft.model.proof.turned.cells import View, set_turned
from tapeloft.model.proof.turned.form import Form, set_places
from tapeloft.model.proof.turned.relaxed import Cuts, Solution, bounded, set_cuts, set_sides_held
from tapeloft.model.proof.turned.rows import Planes, set_omega
from tapeloft.model.proof.turned.swallowed import Posed, around_middle, deepest_in, deepest_pit, posed
from tapeloft.model.proof.turned.tightening import reached
from tapeloft.model.proof.walls import Walls

Indices = NDArray[np.int64]
PAD = 2.5e-7  # unit frame: a thing is clear when nothing goes deeper into it
SHALLOW = 0.2  # depth below which the middle of the thing is looked at too


class Space(NamedTuple):
    """What a limit holds for: one connected body in the unit frame."""

    surface: Walls
    pits: Numbers  # (k, 3) points surely outside
    planes: Planes
    corners: Numbers  # (c, 3) of its hull


@compiled
def reach_of(form: Form, view: View, corners: Numbers, reach: Numbers) -> None:
    """Set *reach*, (6,), to how far *corners* go along the thing's own axes, anywhere in the cell."""
    reached(form, view, corners, reach)


@compiled
def bound_of(
    form: Form, planes: Planes, view: View, cuts: Cuts, rows: Numbers, limits: Numbers, reach: Numbers, enough: float,
    near: float, narrow: float, low: Numbers, high: Numbers, solution: Solution,
) -> float:  # fmt: skip
    """Return an upper limit of a branch in another cell, see `relaxed.bounded`; set its *rows* and *limits*."""
    old = cuts.faces.shape[0]
    set_cuts(form, view, cuts, low, high, solution.at, rows, limits)
    set_sides_held(form, planes, view, low, high, solution.at, rows[old:], limits[old:])
    return bounded(
        form, planes, view, cuts, rows, limits, True, old, reach, enough, near, narrow, low, high, solution
    )  # fmt: skip


@compiled
def obstacle(
    space: Space, form: Form, view: View, cuts: Cuts, at: Numbers, point: Numbers, losses: Numbers
) -> tuple[float, float, int]:
    """Find what the thing at *at* swallows; return how deep it goes in, and by how much it breaks what should hold it.

    The first is negative where nothing goes in; else *point* is set to it and *losses*, (F,), to what each face would
    have to give to lie beyond it. The second is what the cell's width leaves loose: walls and cuts true only for its
    own turn. The third is the triangle that the point is of, −1 for none.
    """
    turn, omega = np.empty((3, 3)), np.empty(3)
    set_omega(form, at, omega)
    set_turned(view, omega, turn)
    thing = posed(form, turn, at)
    loose = max(_beyond(space.planes, form, turn, at), _broken(form, turn, at, cuts, thing))
    deep = deepest_pit(space.pits, thing, 0.0, point)
    deep, triangle = deepest_in(space.surface, thing, deep, point)
    if deep < SHALLOW:
        middle = np.empty(3)
        if around_middle(space.surface, thing, middle) == 0:
            deep, triangle = 1.0, -1
            for i in range(3):
                point[i] = middle[i]
    if deep <= 0.0:
        return -1.0, loose, -1
    least = 1e300
    for j in range(losses.shape[0]):
        n = thing.normals[j]
        under = thing.offsets[j] - n[0] * point[0] - n[1] * point[1] - n[2] * point[2]
        least, losses[j] = min(least, under), under / thing.depths[j]
    return (least if least > PAD else -1.0), loose, triangle


@part
def _beyond(planes: Planes, form: Form, turn: Numbers, at: Numbers) -> float:
    """Return how far the thing truly reaches past the planes that hold the solid."""
    places, most = np.empty((form.corner_start.shape[0], 3)), 0.0
    set_places(form, turn, at, places)
    for p in range(planes.limits.shape[0]):
        m = planes.normals[p]
        for k in range(places.shape[0]):
            along = m[0] * places[k, 0] + m[1] * places[k, 1] + m[2] * places[k, 2]
            most = max(most, along - planes.limits[p])
    return most


@part
def set_parting(turn: Numbers, kind: int, edge: Numbers, normal: Numbers) -> None:
    """Set *normal* to that of a plane that parts."""
    for i in range(3):
        j, k = (i + 1) % 3, (i + 2) % 3
        normal[i] = edge[i] if kind == 3 else turn[j, kind] * edge[k] - turn[k, kind] * edge[j]


@part
def _broken(form: Form, turn: Numbers, at: Numbers, cuts: Cuts, thing: Posed) -> float:
    """Return by how much the thing truly breaks its cuts."""
    most, places, normal = 0.0, np.empty((form.corner_start.shape[0], 3)), np.empty(3)
    set_places(form, turn, at, places)
    for c in range(cuts.faces.shape[0]):
        if cuts.kinds[c] >= 0:
            set_parting(turn, cuts.kinds[c], cuts.edges[c], normal)
            over = 0.0
            for i in range(3):
                over += normal[i] * (places[cuts.faces[c], i] - cuts.points[c, i])
            most = max(most, cuts.senses[c] * over)
            continue
        n, p = thing.normals[cuts.faces[c]], cuts.points[c]
        under = thing.offsets[cuts.faces[c]] - n[0] * p[0] - n[1] * p[1] - n[2] * p[2]
        most = max(most, cuts.senses[c] * under)
    return most
