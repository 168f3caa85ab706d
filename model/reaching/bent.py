"""A round tube bent along a line on the level, mitred where it bends."""

import math

import numpy as np
from shapely import LineString

from tapeloft.model.cutting.tube import Tube
from tapeloft.model.moments import Points, Triangles
from tapeloft.model.solid import Solid, closed

SIDES = 32  # of a tube as it is drawn, its corners on the circle
NO_BORE = 1e-4  # m, of a bore's radius: a thinner one is not drawn


def bent(line: LineString, height: float, tube: Tube) -> Solid:
    """Return a tube along a *line* on the level at a *height*, m, its bends mitred, both its ends square.

    One surface, ring by ring: between two bends a side is a plane, as its edges run along the tube.
    """
    outer = _rings(line, height, tube.diameter / 2)
    bore = tube.diameter / 2 - tube.wall
    skins = [outer] if bore <= NO_BORE else [outer, _rings(line, height, bore)]
    corners, count = np.vstack([ring for skin in skins for ring in skin]), len(outer)
    faces = [_side(count, 0), *(_side(count, count)[:, ::-1] for _ in skins[1:])]
    ends = [(0, -1), (count - 1, 1)]
    faces += [_end(at, count + at if skins[1:] else None)[:, ::way] for at, way in ends]
    return closed(corners, np.vstack(faces))


def _rings(line: LineString, height: float, radius: float) -> list[Points]:
    """Return a ring of corners for each corner of the line, in the plane of its mitre."""
    corners = np.array(line.coords)
    ways = np.diff(corners, axis=0)
    ways /= np.linalg.norm(ways, axis=1)[:, None]
    normals = np.column_stack([-ways[:, 1], ways[:, 0]])
    at = np.vstack([normals[:1], normals[:-1] + normals[1:], normals[-1:]])
    at *= (2 / np.linalg.norm(at, axis=1) ** 2)[:, None] if len(at) > 2 else 1.0
    at[[0, -1]] = normals[[0, -1]]
    turn = 2 * math.pi * np.arange(SIDES) / SIDES
    return [
        np.column_stack([spot + radius * np.cos(turn)[:, None] * mitre, height + radius * np.sin(turn)])
        for spot, mitre in zip(corners, at, strict=True)
    ]


def _side(rings: int, first: int) -> Triangles:
    """Return the triangles between successive rings, outward; first: the number of the first ring."""
    here = np.arange(SIDES)
    beside = np.roll(here, -1)
    found = [
        np.column_stack(three)
        for low in range(first * SIDES, (first + rings - 1) * SIDES, SIDES)
        for three in (
            (low + here, low + SIDES + beside, low + SIDES + here),
            (low + here, low + beside, low + SIDES + beside),
        )
    ]
    return np.vstack(found)


def _end(outer: int, inner: int | None) -> Triangles:
    """Return the triangles of the end at a ring, round its bore where it has one, turned as the last end's are."""
    here = np.arange(SIDES)
    beside = np.roll(here, -1)
    if inner is None:
        return outer * SIDES + np.column_stack([np.zeros(SIDES - 2, int), here[1:-1], here[2:]])
    out, within = outer * SIDES, inner * SIDES
    return np.vstack(
        [
            np.column_stack([out + here, out + beside, within + beside]),
            np.column_stack([out + here, within + beside, within + here]),
        ]
    )
