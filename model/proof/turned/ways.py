"""The ways past what a thing would swallow: beyond a point at one of its faces; or parted from a whole triangle.

A box and a triangle have no inner point in common exactly when one of 26 planes parts them, by the separating axis
theorem (Gottschalk, Lin, Manocha, SIGGRAPH 1996): along a face of the box, the triangle, or an edge of each. Which
corners such a plane must have on its side can change within a cell of turns: all that may be it are taken.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from tapeloft.model.proof.compiled import part
from tapeloft.model.proof.program import Numbers
from tapeloft.model.proof.turned.cells import View, set_back
from tapeloft.model.proof.turned.form import Form
from tapeloft.model.proof.turned.relaxed import Cuts

Indices = NDArray[np.int64]
PARTINGS = 26
PER = 8  # cuts that one way has at most
OWN = 3  # kind of a cut by the triangle's own plane
NO_AREA = 1e-14  # of the square of its longest edge: a triangle with less has no plane
ROUNDING = 2e-15  # on the direction of a normal, for each unit of that square over twice the area
THIN = 0.05  # a direction shorter than this is not drawn out to a unit


class Ways(NamedTuple):
    """Ways past something, any of which may be taken; the cuts of each, and the one that holds if it is not taken."""

    counts: Indices  # (W,) of cuts
    cuts: Cuts  # (W · PER,)
    others: Cuts  # (W,)
    apart: NDArray[np.bool_]  # (W,) whether there is such a one


@part
def no_cuts(many: int) -> Cuts:
    """Return room for so many cuts."""
    return Cuts(
        np.empty((many, 3)), np.zeros(many, np.int64), np.ones(many), np.full(many, -1), np.zeros((many, 3))
    )  # fmt: skip


@part
def copy_cut(into: Cuts, k: int, cuts: Cuts, j: int) -> None:
    """Set cut *k* of one to cut *j* of another."""
    for i in range(3):
        into.points[k, i], into.edges[k, i] = cuts.points[j, i], cuts.edges[j, i]
    into.faces[k], into.senses[k], into.kinds[k] = cuts.faces[j], cuts.senses[j], cuts.kinds[j]


@part
def past_point(form: Form, point: Numbers) -> Ways:
    """Return the ways past a point: beyond each face."""
    many = form.normals.shape[0]
    ways = Ways(np.ones(many, np.int64), no_cuts(many * PER), no_cuts(many), np.ones(many, np.bool_))
    for j in range(many):
        _set_witness(ways.cuts, j * PER, point, j, 1.0)
        _set_witness(ways.others, j, point, j, -1.0)
    return ways


@part
def _set_witness(cuts: Cuts, k: int, point: Numbers, face: int, sense: float) -> None:
    for i in range(3):
        cuts.points[k, i] = point[i]
    cuts.faces[k], cuts.senses[k], cuts.kinds[k] = face, sense, -1


@part
def past_triangle(form: Form, view: View, triangle: Numbers, at: Numbers) -> Ways:
    """Return the ways past a triangle, for a box."""
    ways = Ways(
        np.zeros(PARTINGS, np.int64), no_cuts(PARTINGS * PER), no_cuts(PARTINGS), np.zeros(PARTINGS, np.bool_)
    )  # fmt: skip
    own, aside = np.empty((3, 3)), np.empty((8, 3))
    for v in range(3):
        set_back(view.frame, triangle[v], own[v])
    _set_aside(form, at, aside)
    for j in range(6):
        _add_face(ways, j, form, view, triangle, own, j)
    normal, longest = np.cross(triangle[1] - triangle[0], triangle[2] - triangle[0]), 0.0
    size = np.sqrt((normal**2).sum())
    for v in range(3):
        longest = max(longest, ((triangle[(v + 1) % 3] - triangle[v]) ** 2).sum())
    for way in range(6, PARTINGS):
        sign = 1.0 if way % 2 == 0 else -1.0
        if way < 8:
            if size > NO_AREA * longest:
                rounding = ROUNDING * longest / size
                _add_plane(ways, way, form, view, triangle, own, aside, OWN, 0, sign * normal / size, rounding)
        else:
            edge, axis = divmod((way - 8) // 2, 3)
            along = triangle[(edge + 1) % 3] - triangle[edge]
            _add_plane(ways, way, form, view, triangle, own, aside, axis, edge, sign * along, 0.0)
    return ways


@part
def _set_aside(form: Form, at: Numbers, aside: Numbers) -> None:
    """Set *aside*, (8, 3), to which side of its middle each corner of a box lies along its own axes."""
    middle = np.zeros(3)
    for k in range(8):
        for i in range(3):
            aside[k, i] = form.corner_start[k, i]
            for v in range(form.low.shape[0]):
                aside[k, i] += form.corner_rows[k, i, v] * at[v]
            middle[i] += aside[k, i] / 8.0
    for k in range(8):
        for i in range(3):
            aside[k, i] = 1.0 if aside[k, i] > middle[i] else -1.0


@part
def _angle(form: Form, view: View) -> float:
    """Return by how much any direction turns in the cell, at most."""
    return 2.0 * np.arctan(0.5 * np.sqrt(view.square[0])) if form.axes.shape[0] > 0 else 0.0


@part
def _set_spread(form: Form, view: View, own: Numbers, out: Numbers) -> None:
    """Set *out*, (3,), to how far the components of a direction, as the cell's middle has it, change in the cell."""
    angle = _angle(form, view)
    out[:] = angle * np.sqrt(own[0] ** 2 + own[1] ** 2 + own[2] ** 2)
    if form.axes.shape[0] == 1:  # about z
        out[0] = out[1] = angle * np.sqrt(own[0] ** 2 + own[1] ** 2)
        out[2] = 0.0
    out += 1e-12


@part
def _add_face(ways: Ways, way: int, form: Form, view: View, triangle: Numbers, own: Numbers, face: int) -> None:
    """Add the way beyond a face of its own; by one corner of the triangle alone, where that is nearest all over."""
    nearest = int(np.argmin(own @ form.normals[face]))
    if not _is_nearest(form, view, own, face, nearest):
        for v in range(3):
            _set_witness(ways.cuts, way * PER + v, triangle[v], face, 1.0)
        ways.counts[way] = 3
        return
    _set_witness(ways.cuts, way * PER, triangle[nearest], face, 1.0)
    _set_witness(ways.others, way, triangle[nearest], face, -1.0)
    ways.counts[way], ways.apart[way] = 1, True


@part
def _is_nearest(form: Form, view: View, own: Numbers, face: int, nearest: int) -> bool:
    """Whether no other corner of a triangle comes lower over a face anywhere in the cell."""
    f, spread, off = form.normals[face], np.empty(3), np.empty(3)
    for v in range(3):
        beyond = 0.0
        for i in range(3):
            off[i] = own[v, i] - own[nearest, i]
            beyond += f[i] * off[i]
        _set_spread(form, view, off, spread)
        loose = abs(f[0]) * spread[0] + abs(f[1]) * spread[1] + abs(f[2]) * spread[2]
        if v != nearest and beyond < loose:
            return False
    return True


@part
def _add_plane(
    ways: Ways, way: int, form: Form, view: View, triangle: Numbers, own: Numbers, aside: Numbers, kind: int,
    edge: int, along: Numbers, rounding: float,
) -> None:  # fmt: skip
    """Add the way that a plane parts: the triangle's own, or that along an edge of it, *along*, and along an axis.

    rounding: how far off the triangle's own plane may be.
    """
    d, spread, third = np.empty(3), np.empty(3), (edge + 2) % 3
    scale = _set_normal(form, view, along, kind, d, spread)
    beyond = _third(form, view, triangle, own, along, kind, edge, d)
    corners, last = 0, 0
    for k in range(8):
        if not _may_reach(aside[k], kind, d, spread):
            continue
        for v in (edge, third):
            if beyond == (-1 if v == edge else 1) or ways.counts[way] == PER:
                continue
            _set_plane(
                ways.cuts, way * PER + ways.counts[way], triangle[v], k, kind, along, scale, 1.0, rounding
            )  # fmt: skip
            ways.counts[way] += 1
        corners, last = corners + 1, k
    if corners == 1 and beyond != 0:
        nearest = third if beyond < 0 else edge
        _set_plane(ways.others, way, triangle[nearest], last, kind, along, scale, -1.0, rounding)
        ways.apart[way] = True


@part
def _set_normal(form: Form, view: View, along: Numbers, kind: int, d: Numbers, spread: Numbers) -> float:
    """Set *d*, (3,), to the normal of a plane as the middle of the cell has it, and *spread* to how far that changes.

    Returns what makes it a unit, or somewhat less where it is nearly nothing.
    """
    lying = np.empty(3)
    set_back(view.frame, along, lying)
    _set_spread(form, view, lying, spread)
    d[:] = lying
    if kind != OWN:
        b, c = (kind + 1) % 3, (kind + 2) % 3
        d[kind], d[b], d[c] = 0.0, -lying[c], lying[b]
        spread[kind], spread[b], spread[c] = 0.0, spread[c], spread[b]
    size, length = np.sqrt((d**2).sum()), np.sqrt((along**2).sum())
    return float(1.0 / max(size, THIN * length, 1e-300))


@part
def _third(
    form: Form, view: View, triangle: Numbers, own: Numbers, along: Numbers, kind: int, edge: int, d: Numbers
) -> int:  # fmt: skip
    """Return 1 where the corner off an edge lies beyond a plane along it all over the cell, −1 before it, 0 else."""
    if kind == OWN:
        return 1
    third, gap, square = (edge + 2) % 3, 0.0, 0.0
    for i in range(3):
        gap += d[i] * (own[third, i] - own[edge, i])
        square += (triangle[third, i] - triangle[edge, i]) ** 2
    still = form.axes.shape[0] == 1 and kind == 2  # the axis that it turns about
    loose = 1e-12 if still else _angle(form, view) * np.sqrt(square * (along**2).sum()) + 1e-12
    if gap > loose:
        return 1
    return -1 if gap < -loose else 0


@part
def _may_reach(aside: Numbers, kind: int, d: Numbers, spread: Numbers) -> bool:
    """Whether a corner of a box may be the one that reaches farthest; along its axis any will do."""
    for i in range(3):
        if i == kind:
            if aside[i] < 0.0:
                return False
        elif abs(d[i]) > spread[i] and aside[i] * d[i] < 0.0:
            return False
    return True


@part
def _set_plane(
    cuts: Cuts, k: int, point: Numbers, corner: int, kind: int, along: Numbers, scale: float, sense: float,
    rounding: float,
) -> None:  # fmt: skip
    for i in range(3):
        cuts.points[k, i], cuts.edges[k, i] = point[i] + sense * rounding * along[i], scale * along[i]
    cuts.faces[k], cuts.senses[k], cuts.kinds[k] = corner, sense, kind
