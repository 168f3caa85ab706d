"""Near misses a person makes: an obstruction that floats, a panel that falls short of a wall."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tapeloft.model.errors import Problem
from tapeloft.model.facets import body as solid_body
from tapeloft.model.moments import Points
from tapeloft.model.solid import Solid
from tapeloft.model.survey.survey import Survey
from tapeloft.shapes.panel import Panel
from tapeloft.shapes.polyhedron import box
from tapeloft.shapes.post import Post

CLOSE = 0.025  # m: a gap no wider than this was probably not meant
THICK = 0.06  # m: few panels are thicker
TOUCH = 5e-5  # m: nearer than this is touching
BATCH = 1 << 20  # pairs of a foot and a triangle looked at in one go
WALLS = ("the after end", "the forward end", "the starboard wall", "the port wall", "the sole", "the deck")


@dataclass(frozen=True, eq=False)
class Standing:
    """An obstruction's name, its shape, the whole of its body, and the part of it within the space."""

    name: str
    shape: object
    body: Solid
    within: Solid


def misfits(survey: Survey, space: Solid, standing: Sequence[Standing], bays: int) -> tuple[Problem, ...]:
    """Return what is odd about how obstructions stand in *space*, which they divide into so many *bays*."""
    boxes = np.array([one.body.bounds for one in standing]).reshape(-1, 2, 3)
    near = [[space, *_over_or_under(one, standing, boxes)] for one in standing]
    notes = [_floating(survey, one, others) for one, others in zip(standing, near, strict=True)]
    notes += [
        _hanging(survey, one, others) for one, others in zip(standing, near, strict=True) if _is_upright_post(one.shape)
    ]
    notes += [_short(survey, space, standing, k, bays) for k, s in enumerate(standing) if isinstance(s.shape, Panel)]
    notes += [_thick(survey, s) for s in standing if isinstance(s.shape, Panel)]
    notes += [_astray(survey, space, number) for number in range(len(survey.openings))]
    return tuple(note for note in notes if note)


def _thick(survey: Survey, one: Standing) -> Problem | None:
    thickness = float((one.body.bounds[1] - one.body.bounds[0]).min())
    if thickness <= THICK:
        return None
    what = f"is {thickness * 1000:.0f} mm thick: its two readings that way are its two faces"
    return survey.problem(survey.path_to_obstruction(one.name), what, "read them again; nothing if it is so thick")


def _astray(survey: Survey, space: Solid, number: int) -> Problem | None:
    """Say where an opening lies outside the space or is larger than it."""
    opening = survey.openings[number]
    low, high = space.bounds
    centre = np.array(
        [
            at if at is not None else (a + b) / 2
            for at, a, b in zip((opening.x, opening.y, opening.z), low, high, strict=True)
        ]
    )
    if (centre >= low - CLOSE).all() and (centre <= high + CLOSE).all() and max(opening.clear) <= (high - low).max():
        return None
    mend = "read its place and its clear size again; were they taken in another unit?"
    return survey.problem(("opening", number), "does not lie in any wall of the space", mend)


def _floating(survey: Survey, one: Standing, others: Sequence[Solid]) -> Problem | None:
    low = one.within.bounds[0, 2]
    if low > one.body.bounds[0, 2] + TOUCH:
        return None
    feet = one.within.vertices[one.within.vertices[:, 2] < low + TOUCH]
    gap = min(_drop(feet, solid, -1.0) for solid in others)
    held = one.within.volume < one.body.volume - 1e-9
    if gap <= TOUCH or (gap > CLOSE and held):
        return None
    what = f"floats {_small(gap)} mm above what is below it"
    mend = 'does it stand on the sole? then start its z at "bottom"; else nothing'
    return survey.problem(survey.path_to_obstruction(one.name), what, mend)


def _hanging(survey: Survey, one: Standing, others: Sequence[Solid]) -> Problem | None:
    """Say where a post that nearly reaches what is above it stops short."""
    high = one.within.bounds[1, 2]
    if high < one.body.bounds[1, 2] - TOUCH:
        return None
    heads = one.within.vertices[one.within.vertices[:, 2] > high - TOUCH]
    gap = min(_drop(heads, solid, 1.0) for solid in others)
    if not TOUCH < gap <= CLOSE:
        return None
    what = f"falls {_small(gap)} mm short of what is above it"
    mend = 'does it carry the deck? then end its z at "top"; else nothing'
    return survey.problem(survey.path_to_obstruction(one.name), what, mend)


def _is_upright_post(shape: object) -> bool:
    return isinstance(shape, Post) and shape.axis == "z"


def _over_or_under(one: Standing, standing: Sequence[Standing], boxes: Points) -> list[Solid]:
    """Return the bodies of those others whose upright boxes, (n, 2, 3), meet that of *one* as seen from above."""
    low, high = one.within.bounds[:, :2]
    meet = ((boxes[:, 0, :2] <= high + TOUCH) & (boxes[:, 1, :2] >= low - TOUCH)).all(axis=1)
    return [standing[k].body for k in np.flatnonzero(meet).tolist() if standing[k] is not one]


def _small(gap: float) -> str:
    return f"{gap * 1000:.0f}" if gap >= 1e-3 else f"{gap * 1000:.2f}"


def _drop(feet: Points, solid: Solid, way: float) -> float:
    """Return how far the nearest of the *feet* (n, 3) could go before it met the surface of *solid*; inf if never.

    way: -1 down, +1 up.
    """
    corners = solid.vertices[solid.triangles]
    low, high = feet[:, :2].min(axis=0) - TOUCH, feet[:, :2].max(axis=0) + TOUCH
    near = ((corners[:, :, :2].min(axis=1) <= high) & (corners[:, :, :2].max(axis=1) >= low)).all(axis=1)
    a, u, v = corners[near, 0], corners[near, 1] - corners[near, 0], corners[near, 2] - corners[near, 0]
    twice = u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]
    flat = np.abs(twice) > 1e-14
    over = (a[flat], u[flat], v[flat], twice[flat])
    count = max(1, len(feet) * int(flat.sum()) // BATCH)
    return max(min((_nearest(some, *over, way) for some in np.array_split(feet, count)), default=np.inf), 0.0)


def _nearest(feet: Points, a: Points, u: Points, v: Points, twice: Points, way: float) -> float:
    """Return how far *feet* are from triangles with a corner a, sides u and v, and plan area *twice* over 2."""
    w = feet[:, None, :2] - a[None, :, :2]
    s = (w[..., 0] * v[:, 1] - w[..., 1] * v[:, 0]) / twice
    t = (u[:, 0] * w[..., 1] - u[:, 1] * w[..., 0]) / twice
    under = (s >= -1e-6) & (t >= -1e-6) & (s + t <= 1 + 1e-6)
    drop = way * (a[None, :, 2] + s * u[:, 2] + t * v[:, 2] - feet[:, None, 2])
    return float(np.where(under & (drop > -TOUCH), drop, np.inf).min(initial=np.inf))


def _short(survey: Survey, space: Solid, standing: Sequence[Standing], k: int, bays: int) -> Problem | None:
    """Say where a panel that does not divide would, were it a little larger."""
    one = standing[k]
    others = [s.body for j, s in enumerate(standing) if j != k]
    if len(space.cleared_of(others).parts()) < bays:
        return None
    thin = int(np.argmin(one.body.bounds[1] - one.body.bounds[0]))
    grown = [_grown(one.body, thin, CLOSE)]
    if len(space.cleared_of([*others, *grown]).parts()) <= bays:
        return None
    short = [WALLS[side] for side in range(6) if side // 2 != thin and _gapes(one.body, side, space)]
    what = f"falls less than {CLOSE * 1000:.0f} mm short of {' and '.join(short)}: the space stays one bay"
    mend = "if it is meant to divide, leave out the side that runs to the wall; else nothing"
    return survey.problem(survey.path_to_obstruction(one.name), what, mend)


def _grown(body: Solid, thin: int, by: float) -> Solid:
    grow = np.array([[-by], [by]]) * (np.arange(3) != thin)
    low, high = (body.bounds + grow).tolist()
    return solid_body(box((low[0], low[1], low[2]), (high[0], high[1], high[2])))


def _gapes(body: Solid, side: int, space: Solid) -> bool:
    """Whether there is room left between one side of an upright body and the wall it faces."""
    axis, end = divmod(side, 2)
    low, high = body.bounds.copy()
    if end:
        low[axis], high[axis] = high[axis], high[axis] + CLOSE
    else:
        low[axis], high[axis] = low[axis] - CLOSE, low[axis]
    (x0, y0, z0), (x1, y1, z1) = low.tolist(), high.tolist()
    return (solid_body(box((x0, y0, z0), (x1, y1, z1))) ^ space).volume > 1e-9
