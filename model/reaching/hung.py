"""Fenders hung from a rail: at which hooks they hang clear, and how, leaning on the side where it comes in below."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
import shapely.ops
from shapely import LineString, Point
from shapely.geometry.base import BaseGeometry

from tapeloft.model.compartment import Compartment
from tapeloft.model.cutting.board import OUTSIDE
from tapeloft.model.cutting.outline import clear_outline
from tapeloft.model.cutting.plane import at_height
from tapeloft.model.facets import body
from tapeloft.model.gear.forms import Capsule
from tapeloft.model.moments import Points
from tapeloft.model.solid import Solid
from tapeloft.shapes.polyhedron import Polyhedron, Round

HOOK = 0.03  # m: from a rail's underside to the fender's upper end
SLACK = 1.03  # of a fender's radius that it is kept off walls
LEANS = 35.0  # degrees at the most, common practice, no source: then it lies on the side rather than hangs
FARTHER = (0.0, 0.01, 0.02, 0.04)  # m: so much farther its foot is tried off the side where it would touch


@dataclass(frozen=True, eq=False)
class Hung:
    """A hook, x, y, m, and the fender that hangs at it: the axis of its straight part, x, y, its lean, its body."""

    hook: tuple[float, float]
    axis: LineString
    leans_deg: float
    body: Solid


@dataclass(frozen=True, eq=False)
class _Free:
    """Where the middles of a fender's upper and of its lower ball may be, and the height of the upper, m."""

    upper: BaseGeometry
    lower: BaseGeometry
    height: float
    inside: Solid


def hung(compartment: Compartment, line: LineString, under: float, fender: Capsule, pitch: float) -> tuple[Hung, ...]:
    """Return the fenders that hang clear from hooks along a line, its underside at the height *under*, m.

    Hooks are a *pitch* apart, the row in the middle of the line. A fender hangs beside its hook, no farther off than it
    is thick, and leans where the side comes in below, as far as LEANS; where it cannot, or would touch another, is no
    hook.
    """
    if line.length < fender.diameter:
        return ()
    thick, top = fender.diameter, under - HOOK
    upper, lower = (
        shapely.buffer(clear_outline(compartment.inside, at_height(low), thick), -thick / 2 * SLACK)
        for low in (top - thick, top - fender.length)
    )
    free = _Free(upper, lower, top - thick / 2, compartment.inside)
    count = int((line.length - thick) / pitch + 1e-6) + 1
    first = (line.length - (count - 1) * pitch) / 2
    found: list[Hung] = []
    for k in range(count if not (upper.is_empty or lower.is_empty) else 0):
        one = _hangs(line.interpolate(first + k * pitch), free, fender, found)
        found += [one] if one else []
    return tuple(found)


def _hangs(hook: Point, free: _Free, fender: Capsule, others: Sequence[Hung]) -> Hung | None:
    head = shapely.ops.nearest_points(free.upper, hook)[0]
    foot = shapely.ops.nearest_points(free.lower, head)[0]
    straight = fender.length - fender.diameter
    if head.distance(hook) > fender.diameter:
        return None
    for farther in FARTHER:
        aside = np.array([foot.x - head.x, foot.y - head.y])
        off = float(np.hypot(*aside))
        aside = aside * (1 + farther / off) if off > 1e-6 else aside
        off = float(np.hypot(*aside))
        if off > straight * math.sin(math.radians(LEANS)):
            return None
        axis = LineString([(head.x, head.y), (head.x + aside[0], head.y + aside[1])])
        if any(axis.distance(other.axis) < fender.diameter for other in others):
            return None
        top = np.array([head.x, head.y, free.height])
        solid = _leaning(fender, top, np.array([*aside, -math.sqrt(straight**2 - off**2)]))
        if (solid - free.inside).volume < OUTSIDE:
            lean = math.degrees(math.asin(off / straight)) if straight > 0 else 0.0
            return Hung((hook.x, hook.y), axis, lean, solid)
    return None


def _leaning(fender: Capsule, top: Points, down: Points) -> Solid:
    """Return a fender whose upper ball is at *top* and whose lower one is *down* from there, m."""
    drawn = fender.drawn(Round.EQUAL_AREA)
    up = -down / np.linalg.norm(down) if np.any(down) else np.array([0.0, 0.0, 1.0])
    aside = np.cross(up, [1.0, 0.0, 0.0])
    aside /= np.linalg.norm(aside)
    turn = np.array([np.cross(aside, up), aside, up])
    return body(Polyhedron(drawn.vertices @ turn + top + down / 2, drawn.faces))
