"""Does a thing fit in a space: yes, with a place proved clear; no, proved; or undecided, with what is left open.

What is proved, and on what it rests:

- Fits: the thing, drawn around its true form and shrunk by a millionth of the space's diagonal, is clear by two unlike
  methods: no triangle of the walls goes into it (clipping), and the boolean kernel leaves nothing of it outside.
- Does not fit: every place and turn allowed lies in some branch of the search, and each branch is closed by a
  Lagrange dual value for a convex body within the thing. Assumed are float64 arithmetic, with margins outward of 1e-12
  of the diagonal on every row, and that the mesh as given is the space.

A clearance is kept by growing the thing by so much on all sides, so that a box stays a box: slightly stricter than
a ball rolled round it, which would cut the corners.
"""

import math
import time
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from tapeloft.model.errors import GeometryError
from tapeloft.model.facets import body
from tapeloft.model.fits.as_it_is import place_as_it_is
from tapeloft.model.fits.bodies import CONVEX, WITHIN_S, bodies
from tapeloft.model.fits.convex import grown, standing, turned
from tapeloft.model.fits.deciding import Asked, Progress, Watch, decided
from tapeloft.model.fits.fitting import LEAST, Pose, Sought, stand_in
from tapeloft.model.fits.turns import turns_of
from tapeloft.model.gear.gear import Firm
from tapeloft.model.gear.turn import Turn
from tapeloft.model.moments import Points
from tapeloft.model.proof.search import Frame, surface
from tapeloft.model.proof.turned.record import Kept as Recorded
from tapeloft.model.proof.turned.swallowed import goes_in
from tapeloft.model.rooms import Room, rooms
from tapeloft.model.solid import Solid
from tapeloft.shapes.polyhedron import Polyhedron, Round

DRAWN = 1e-6  # of the diagonal: by how much a thing is shrunk that is checked to be clear
NOTHING = 1e-15  # m³: what the kernel may leave of a thing that is inside, faces back to back
MORE = 1.0  # s more that are given to how much it lacks, or how much room is left

Verdict = Literal["fits", "does not fit", "undecided"]


@dataclass(frozen=True)
class Fit:
    """Whether a thing fits, compartment axes.

    room_m: how much it could be grown on every side, as found, at *pose*; negative where it would have to shrink.
    limit_m: no more than this, proved; infinite where nothing is. even: it grows evenly, so that room_m is a clearance
    (else it is scaled, by 1 + m / depth_m, and no face moves by less). clearance_m: asked for, and kept besides.
    branches: looked at.
    """

    verdict: Verdict
    pose: Pose | None
    room_m: float
    limit_m: float
    even: bool
    depth_m: float
    clearance_m: float
    branches: int


def fitted(
    inside: Solid,
    outside: Solid,
    form: Firm,
    *,
    turn: Turn,
    clearance: float = 0.0,
    stands_on: float | Sequence[float] | None = None,
    on_grate: float | None = None,
    within_s: float = 10.0,
    progress: Progress | None = None,
    kept: Recorded | None = None,
) -> Fit:
    """Return whether a thing fits in a solid, turned as *turn* allows.

    inside: the solid that it must be in, round obstructions drawn around their circles; outside: the one that a refusal
    holds for, drawn within them; the same object where nothing is round. clearance: m, kept on all sides, but not
    below a thing that stands. stands_on, on_grate: as for `largest_box`; then it may not be tilted. within_s: seconds
    after which it is left undecided. kept: filled with what a certificate needs. Raises ValueError for an argument out
    of its range.

    >>> from tapeloft.model.gear.forms import Block
    >>> from tapeloft.shapes.polyhedron import box
    >>> locker = body(box((0, 0, 0), (1.2, 0.6, 0.5)))
    >>> fitted(locker, locker, Block(0.5, 1.1, 0.3), turn=Turn.AS_GIVEN).verdict
    'does not fit'
    >>> turned = fitted(locker, locker, Block(0.5, 1.1, 0.3), turn=Turn.UPRIGHT)
    >>> turned.verdict, round(turned.room_m, 4)
    ('fits', 0.05)
    """
    if not 0 <= clearance < math.inf:
        raise ValueError(f"the clearance must be zero or more, not {clearance}")
    if not within_s >= 0:
        raise ValueError(f"the time must be zero or more, not {within_s}")
    stands = stands_on is not None or on_grate is not None
    if stands and turn is Turn.ANY_TILT:
        raise ValueError("a thing that stands is not tilted: let it lie on any face")
    low, high = outside.bounds
    frame = Frame((low + high) / 2, float(np.linalg.norm(high - low)))
    inner, outer = bodies(form, clearance)
    spaces = [(room, stand_in(room, frame)) for room in rooms(inside, outside, stands_on, on_grate)]
    asked = Asked(form, turn, inner, outer, frame, DRAWN * frame.diagonal)
    so_far, limit = Sought(-math.inf), -math.inf
    watch = Watch(frame.diagonal, time.perf_counter() + within_s, progress)
    held, left = None, len(spaces)
    for room, stand in spaces:
        found, left = Sought(-math.inf), left - 1
        try:
            limit = max(limit, decided(asked, stand, found, watch, MORE / len(spaces), kept))
        except KeyboardInterrupt:
            limit = math.inf
        so_far.branches += found.branches
        if found.pose is not None and found.growth_m > so_far.growth_m:
            so_far.growth_m, so_far.pose, held = found.growth_m, found.pose, room
        if asked.fits(so_far.growth_m) or limit == math.inf:
            limit = math.inf if left else limit  # what is left was not looked at
            break
    told = _told(asked, so_far, limit, held, clearance)
    _keep(kept, told, held)
    return (
        told if told.verdict != "undecided" or clearance else _hollow(asked, told, [room for room, _ in spaces], watch)
    )


def _keep(kept: Recorded | None, told: Fit, held: Room | None) -> None:
    """Keep what was found for a certificate: a limit only where it refuses."""
    if kept is None:
        return
    kept.limit = -math.inf if told.verdict == "does not fit" else math.inf
    if held is not None and told.verdict == "fits":
        kept.inside, kept.floor = held.inside, held.floor


def _told(asked: Asked, found: Sought, limit: float, room: Room | None, clearance: float) -> Fit:
    verdict: Verdict = "undecided"
    if asked.fits(found.growth_m) and found.pose is not None and room is not None:
        verdict = "fits"
        _check_clear(asked, found.pose, room, clearance)
    elif limit <= -asked.drawn:
        verdict = "does not fit"
    room_m = max(found.growth_m, 0.0) if verdict == "fits" else found.growth_m
    return Fit(
        verdict, found.pose, room_m, max(limit, room_m, -LEAST * asked.outer.body.depth), asked.outer.body.parallel,
        asked.outer.body.depth, clearance,
        found.branches,
    )  # fmt: skip


def _hollow(asked: Asked, told: Fit, spaces: Sequence[Room], watch: Watch) -> Fit:
    """Return that a thing that is not convex fits, where a place for it as it is is met; or else what was told."""
    drawn = asked.form.drawn(Round.OUTSIDE)
    whole = body(drawn)
    if whole.volume >= whole.hull().volume * (1 - CONVEX):
        return told
    rule = Turn.ANY_FACE if asked.turn is Turn.ANY_TILT else asked.turn
    end = max(watch.end, time.perf_counter() + WITHIN_S)
    for room in spaces:
        for turns in turns_of(rule, asked.form.symmetry):
            pose = place_as_it_is(room, drawn, turns, asked.drawn, end)
            if pose is not None:
                return replace(told, verdict="fits", pose=pose, room_m=0.0)
    return told


def _check_clear(asked: Asked, pose: Pose, room: Room, clearance: float) -> None:
    """Raise GeometryError unless the thing, with its clearance, is inside by both methods, drawn in a little."""
    turn = np.array(pose.turn)
    whole = turned(asked.outer.body, turn)
    if room.floor is not None:
        whole = standing(whole)
    whole = grown(whole, clearance)
    middle = (whole.corners.min(axis=0) + whole.corners.max(axis=0)) / 2
    drawn = 1 - 1.01 * asked.drawn / float((whole.offsets - whole.normals @ middle).min())
    corners = middle + (whole.corners - middle) * drawn + np.array(pose.place)
    offsets = (whole.normals @ corners.T).max(axis=1)
    walls = surface(room.inside.parts(), Frame(np.zeros(3), 1.0))
    touched = goes_in(walls, whole.normals, offsets, corners)
    if touched or (body(_polyhedron(corners)) - room.inside).volume > NOTHING:
        raise GeometryError("the place found is not clear of the walls by a second check; is the space sound?")


def _polyhedron(corners: Points) -> Polyhedron:
    """Return the hull of corners, (k, 3)."""
    from scipy.spatial import ConvexHull

    hull = ConvexHull(corners)
    loops = hull.simplices.copy()
    a, b, c = np.moveaxis(corners[loops], 1, 0)
    inward = (np.cross(b - a, c - a) * hull.equations[:, :3]).sum(axis=1) < 0
    loops[inward] = loops[inward][:, ::-1]
    return Polyhedron(corners, tuple(map(tuple, loops.tolist())))
