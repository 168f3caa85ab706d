"""What a turned thing would swallow: the deepest point in it of the surface, or of what is surely outside."""

from typing import NamedTuple

import numpy as np

from tapeloft.model.proof.compiled import compiled, part
from tapeloft.model.proof.program import Numbers
from tapeloft.model.proof.turned.form import Form, set_places, set_shift
from tapeloft.model.proof.walls import BLOCK, Walls, apart
from tapeloft.model.proof.winding import UNSURE, winding

TRIES = 8  # points near a middle
MORE = 12  # sides that a triangle may gain by being cut


class Posed(NamedTuple):
    """A convex thing in its place: normals · p ≤ offsets."""

    normals: Numbers  # (F, 3)
    offsets: Numbers  # (F,)
    depths: Numbers  # (F,) from its middle to each face
    span: Numbers  # (6,) upright box around it
    middle: Numbers  # (3,)


@part
def posed(form: Form, turn: Numbers, at: Numbers) -> Posed:
    """Return the thing where *at*, (≥ n,), and *turn*, (3, 3), have it."""
    faces, corners = form.normals.shape[0], form.corner_start.shape[0]
    normals, offsets, depths = np.empty((faces, 3)), np.empty(faces), np.empty(faces)
    places, span, middle, shift = np.empty((corners, 3)), np.empty(6), np.zeros(3), np.empty(3)
    set_places(form, turn, at, places)
    set_shift(form, at, shift)
    span[:3], span[3:] = 1e300, -1e300
    for k in range(corners):
        for i in range(3):
            p = places[k, i]
            span[i], span[3 + i] = min(span[i], p), max(span[3 + i], p)
            middle[i] += p / corners
    for j in range(faces):
        offsets[j] = form.face_start[j]
        for v in range(form.low.shape[0]):
            offsets[j] += form.face_rows[j, v] * at[v]
        depths[j] = 0.0
        for i in range(3):
            normals[j, i] = 0.0
            for k in range(3):
                normals[j, i] += turn[i, k] * form.normals[j, k]
            offsets[j] += normals[j, i] * shift[i]
            depths[j] -= normals[j, i] * middle[i]
        depths[j] = max(depths[j] + offsets[j], 1e-9)
    return Posed(normals, offsets, depths, span, middle)


@part
def depth(thing: Posed, point: Numbers) -> float:
    """Return how deep a point lies in the thing: 0 on a face, 1 as deep as its middle, negative outside."""
    least = 1e300
    for j in range(thing.offsets.shape[0]):
        n = thing.normals[j]
        under = thing.offsets[j] - n[0] * point[0] - n[1] * point[1] - n[2] * point[2]
        least = min(least, under / thing.depths[j])
    return least


@part
def cut_down(thing: Posed, triangle: Numbers, share: float, polygon: Numbers) -> int:
    """Cut the part of a triangle deeper than *share* into polygon[0]; return its corner count.

    polygon (2, 3 + F + MORE, 3).
    """
    polygon[0, :3] = triangle
    count, source = 3, 0
    for j in range(thing.offsets.shape[0]):
        at = thing.offsets[j] - share * thing.depths[j]
        count = _cut(polygon, source, count, thing.normals[j], at)
        source = 1 - source
        if count == 0:
            return 0
    if source == 1:
        polygon[0, :count] = polygon[1, :count]
    return count


@part
def _cut(polygon: Numbers, source: int, count: int, normal: Numbers, at: float) -> int:
    """Copy what of polygon[source] lies strictly under the plane into the other half of *polygon*."""
    target, kept = 1 - source, 0
    last = polygon[source, count - 1]
    before = _under(normal, at, last)
    for k in range(count):
        if kept + 2 > polygon.shape[1]:
            return kept  # rounding has made it turn back on itself: not cut down further
        this = polygon[source, k]
        here = _under(normal, at, this)
        if (here > 0) != (before > 0):
            share = before / (before - here)
            for i in range(3):
                polygon[target, kept, i] = last[i] + share * (this[i] - last[i])
            kept += 1
        if here > 0:
            for i in range(3):
                polygon[target, kept, i] = this[i]
            kept += 1
        last, before = this, here
    return kept


@part
def _under(normal: Numbers, at: float, point: Numbers) -> float:
    return float(at - normal[0] * point[0] - normal[1] * point[1] - normal[2] * point[2])


@part
def deepest_in(surface: Walls, thing: Posed, least: float, point: Numbers) -> tuple[float, int]:
    """Find the point of any triangle that lies deepest in the thing, to a tenth of its depth, deeper than *least*.

    Returns its depth, set in *point*, and its triangle; where there is none, *least* and −1.
    """
    best, found = least, -1
    polygon = np.empty((2, 3 + thing.offsets.shape[0] + MORE, 3))
    for block in range(surface.blocks.shape[0]):
        if apart(surface.blocks[block], thing.span):
            continue
        for t in range(block * BLOCK, min(surface.spans.shape[0], (block + 1) * BLOCK)):
            if apart(surface.spans[t], thing.span) or cut_down(thing, surface.corners[t], best, polygon) == 0:
                continue
            best, found = _deepened(surface.corners[t], thing, best, point, polygon), t
    return best, found


@part
def _deepened(triangle: Numbers, thing: Posed, least: float, point: Numbers, polygon: Numbers) -> float:
    low, high, trial, middle = least, 1.0, least, np.empty(3)
    while high - low > 0.1 * high + 1e-9:
        count = cut_down(thing, triangle, trial, polygon)
        if count == 0:
            high = trial
        else:
            for i in range(3):
                middle[i] = 0.0
                for k in range(count):
                    middle[i] += polygon[0, k, i] / count
            low = max(trial, depth(thing, middle))
            for i in range(3):
                point[i] = middle[i]
        trial = 0.5 * (low + high)
    return low


@part
def around_middle(surface: Walls, thing: Posed, point: Numbers) -> int:
    """Return the winding number of a point near the thing's middle, set in *point*; UNSURE if several tries are."""
    least = 1e300
    for j in range(thing.depths.shape[0]):
        least = min(least, thing.depths[j])
    for k in range(TRIES):
        for i in range(3):
            share = 0.2898 + 0.5698 * k + 0.7549 * i  # spread by the plastic number, that no edge is square to them all
            point[i] = thing.middle[i] + least * (share - np.floor(share) - 0.5)
        if depth(thing, point) > 0.0:
            turns = winding(surface, point)
            if turns != UNSURE:
                return turns
    return UNSURE


@part
def deepest_pit(pits: Numbers, thing: Posed, least: float, point: Numbers) -> float:
    """Return the depth of the pit, (n, 3), deepest in the thing and deeper than *least*, set in *point*; or *least*."""
    best = least
    for k in range(pits.shape[0]):
        deep = depth(thing, pits[k])
        if deep > best:
            best = deep
            for i in range(3):
                point[i] = pits[k, i]
    return best


@compiled
def met(surface: Walls, normals: Numbers, offsets: Numbers, corners: Numbers, point: Numbers) -> bool:
    """Whether any triangle goes into the convex body {p: normals · p ≤ offsets} with *corners*, (k, 3); set *point*."""
    span, middle, depths = np.empty(6), np.zeros(3), np.empty(offsets.shape[0])
    span[:3], span[3:] = 1e300, -1e300
    for k in range(corners.shape[0]):
        for i in range(3):
            span[i], span[3 + i] = min(span[i], corners[k, i]), max(span[3 + i], corners[k, i])
            middle[i] += corners[k, i] / corners.shape[0]
    for j in range(offsets.shape[0]):
        depths[j] = max(_under(normals[j], offsets[j], middle), 1e-9)
    return deepest_in(surface, Posed(normals, offsets, depths, span, middle), 0.0, point)[1] >= 0


def goes_in(surface: Walls, normals: Numbers, offsets: Numbers, corners: Numbers) -> bool:
    """Whether any triangle goes into the convex body {p: normals · p ≤ offsets} with *corners*, (k, 3)."""
    return bool(met(surface, normals, offsets, np.ascontiguousarray(corners), np.empty(3)))
