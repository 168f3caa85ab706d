"""How many of one thing go in a space: at least so many, by an arrangement; at most so many, proved.

What is proved, and on what it rests:

- At least: every thing, drawn around its true form, is in a place where the boolean kernel leaves nothing of it
  outside the space and nothing of it within another. The places were found by other means (`packing.packer`), and
  settled: each thing is moved down until it rests on something, so they could lie so, though what holds a thing that
  leans is not looked at.
- At most: for every arrangement that the rule of turn allows, at places and angles of any value; see
  `packing.limits.limit` for how, and for what is assumed.
"""

import math
import time
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import islice

import numpy as np

from tapeloft.model.fits.fit import fitted
from tapeloft.model.fits.fitting import Pose
from tapeloft.model.gear.body import Body
from tapeloft.model.gear.gear import Firm
from tapeloft.model.gear.turn import Turn
from tapeloft.model.moments import Points
from tapeloft.model.packing.checking import checked
from tapeloft.model.packing.known import Progress, SoFar, Tried
from tapeloft.model.packing.limits.limit import Limit, limits, limits_square
from tapeloft.model.packing.limits.within import is_box, is_convex
from tapeloft.model.packing.packer import STARTS, Wanted, begun, prepared, settled, steps
from tapeloft.model.solid import Solid

SHARE = 0.5  # of the time there is that arrangements have first, from when there are places to try on
SOON, EARLY = 2, 8  # limits that are found before the first arrangement; steps of that before the next
QUICK = 0.25  # of the time: where those steps ended no later, the next limit does not wait for the arrangement
EVEN = 1e-9  # of its breadth: a space whose middle is no farther from the middle of its box is as full on both sides
ONE = 5.0  # s for whether a single one fits, where no place was found


@dataclass(frozen=True)
class Counted:
    """How many of one thing go in a space, compartment axes.

    poses: where each of the *at_least* is. by: what proves that no more than *at_most* go in. square: the same limit
    for things that all stand square to the axes, where that is another question, and for boxes alone. clearance_m:
    kept from the walls and between any two. turns, starts, rounds: how many turns were tried, in how many different
    orders the space was filled, and how often what was in was shaken. stopped: the search was cut short, by hand, or
    by the time where more might yet be known; all that is said holds even so.
    """

    at_least: int
    at_most: int
    poses: tuple[Pose, ...]
    by: str
    square: Limit | None
    clearance_m: float
    turns: int
    starts: int
    rounds: int
    stopped: bool


def counted(
    inside: Solid,
    outside: Solid,
    thing: Firm,
    *,
    turn: Turn,
    clearance: float = 0.0,
    starts: int = STARTS,
    within_s: float | None = None,
    seed: int = 0,
    progress: Progress | None = None,
) -> Counted:
    """Return how many of one thing go in a solid, turned as *turn* allows.

    inside: the solid that they must be in, round obstructions drawn around their circles; outside: the one that the
    limit holds for, drawn within them; the same object where nothing is round. clearance: m, that no point of one is
    nearer to a wall or to another. starts: in how many orders the space is filled; the
    more, the longer the best of them is worked on, too. It goes the same way each time
    for one seed, but where within_s ends it, after about so many seconds, or Ctrl-C does. ValueError for an argument
    out of its range.

    >>> from tapeloft.model.facets import body
    >>> from tapeloft.model.gear.forms import Block
    >>> from tapeloft.shapes.polyhedron import box
    >>> cube = body(box((0, 0, 0), (1, 1, 1)))
    >>> found = counted(cube, cube, Block(0.4, 0.4, 0.4), turn=Turn.AS_GIVEN)
    >>> found.at_least, found.at_most, found.by
    (8, 8, 'how boxes go in a box')
    """
    if not 0 <= clearance < math.inf:
        raise ValueError(f"the clearance must be zero or more, not {clearance}")
    if within_s is not None and not within_s >= 0:
        raise ValueError(f"the time must be zero or more, not {within_s}")
    if starts < 1:
        raise ValueError(f"the space must be filled in one order at least, not {starts}")
    asked = _Asked(inside, outside, thing, turn, clearance, starts, seed)
    asked = asked if isinstance(thing, Body) or not _lies_to_starboard(inside) else asked.mirrored()
    so_far = SoFar(time.perf_counter(), math.inf if within_s is None else within_s, progress)
    try:
        _search(asked, so_far)
    except KeyboardInterrupt:
        so_far.stopped = True
    tried = so_far.tried
    return Counted(
        len(so_far.poses),
        so_far.limit.count,
        tuple(so_far.poses),
        so_far.limit.by,
        so_far.square,
        clearance,
        len(tried.packing.rotations) if tried else 0,
        tried.best.starts if tried else 0,
        tried.best.rounds if tried else 0,
        so_far.stopped or so_far.is_cut(),
    )


@dataclass(frozen=True)
class _Asked:
    inside: Solid
    outside: Solid
    thing: Firm
    turn: Turn
    clearance: float
    starts: int
    seed: int
    flipped: bool = False

    def mirrored(self) -> "_Asked":
        """Return what is asked with the space mirrored: of a thing that is its own mirror image, as many go in."""
        inside = self.inside.mirrored()
        outside = inside if self.outside is self.inside else self.outside.mirrored()
        return replace(self, inside=inside, outside=outside, flipped=not self.flipped)

    def pose(self, rotation: Points, place: Points) -> Pose:
        """Return a pose as it is in the space that was asked for."""
        flip = np.array([1.0, -1.0 if self.flipped else 1.0, 1.0])
        x, y, z = (place * flip + 0.0).tolist()
        rows = [(a, b, c) for a, b, c in (rotation * np.outer(flip, flip) + 0.0).tolist()]
        return Pose(tuple(rows), (x, y, z))


def _lies_to_starboard(space: Solid) -> bool:
    """Whether a space is fuller to starboard: it is then looked at mirrored, so that twins get the same answer."""
    low, high = space.bounds[:, 1].tolist()
    return bool(space.centroid[1] < (low + high) / 2 - EVEN * (high - low))


def _search(asked: _Asked, so_far: SoFar) -> None:
    if math.isfinite(so_far.within_s):
        so_far.reserved = SHARE * so_far.within_s
    proofs = limits(asked.outside, asked.thing, asked.turn, asked.clearance, so_far.left_to_limits)
    for limit in islice(proofs, SOON):
        so_far.lowered(limit, 0)
    if so_far.limit.count:
        _arrange(asked, so_far, proofs)
    so_far.reserved = 0.0
    if not so_far.poses and so_far.limit.count and so_far.left() > 0:
        _try_one(asked, so_far)
    for limit in _worth_while(proofs, so_far):
        so_far.lowered(limit, len(so_far.poses))
    _look_square(asked, so_far)
    if so_far.could_tell_more() and so_far.tried is not None and not so_far.tried.ended:
        so_far.tried.until_left = 0.0  # of what the limits left
        _go_on(asked, so_far, so_far.tried)


def _look_square(asked: _Asked, so_far: SoFar) -> None:
    """Look for the limit of boxes that all stand square, where they need not."""
    if asked.turn is not Turn.AS_GIVEN and is_box(asked.thing):
        proofs = limits_square(asked.outside, asked.thing, asked.turn, asked.clearance, so_far.left)
        for limit in _worth_while(proofs, so_far):
            so_far.square = limit


def _worth_while(proofs: Iterator[Limit], so_far: SoFar) -> Iterator[Limit]:
    """Yield limits as long as they could say more than is known."""
    while so_far.could_tell_more():
        limit = next(proofs, None)
        if limit is None:
            return
        yield limit
        if limit.count <= len(so_far.poses):
            return


def _arrange(asked: _Asked, so_far: SoFar, proofs: Iterator[Limit]) -> None:
    """Try arrangements for their share of the time; where all goes quickly, with the next limit on the way."""
    packing = prepared(asked.inside, [Wanted(asked.thing, asked.turn, so_far.limit.count)], asked.clearance)
    best, left = begun(packing), so_far.left_to_limits()
    tried = Tried(packing, best, iter(()), max(left, 0.0) if math.isfinite(left) else 0.0)
    tried.steps = _with_limit(steps(packing, best, asked.starts, asked.seed), proofs, so_far, tried)
    so_far.tried = tried
    _go_on(asked, so_far, tried)


def _with_limit(tries: Iterator[int], proofs: Iterator[Limit], so_far: SoFar, tried: Tried) -> Iterator[int]:
    """Yield steps; after the first few a limit is looked for, which may show that there are no more to take.

    The time that takes is not taken from the arrangements.
    """
    for number, count in enumerate(tries, start=1):
        before = time.perf_counter()
        if number == EARLY and before - so_far.start < QUICK * so_far.within_s:
            so_far.lowered(next(proofs, so_far.limit), count)
            tried.until_left = max(tried.until_left + before - time.perf_counter(), 0.0)
        yield count


def _go_on(asked: _Asked, so_far: SoFar, tried: Tried) -> None:
    """Try arrangements for as long as there is time, and check the best of them where more is in."""
    try:
        tried.ended = all(so_far.goes_on(count, tried.until_left) for count in tried.steps)
    except KeyboardInterrupt:
        so_far.stopped = True
    found, poses = settled(tried.packing, tried.best), list[Pose]()
    if len(found.places) <= len(so_far.poses):
        return
    try:
        for number in checked(asked.inside, [asked.thing], found, asked.clearance):
            poses.append(asked.pose(found.rotations[number], found.places[number]))
    finally:
        so_far.poses = max(poses, so_far.poses, key=len)
    so_far.tell(len(so_far.poses))


def _try_one(asked: _Asked, so_far: SoFar) -> None:
    """Look whether a single one fits, by the search that proves it either way."""
    fit = fitted(
        asked.inside,
        asked.outside,
        asked.thing,
        turn=asked.turn,
        clearance=asked.clearance,
        within_s=max(min(ONE, so_far.left()), 0.0),
    )
    if fit.pose is not None and fit.verdict == "fits":
        so_far.poses.append(asked.pose(np.array(fit.pose.turn), np.array(fit.pose.place)))
    elif fit.verdict == "does not fit" and not asked.clearance and is_convex(asked.thing):
        so_far.lowered(Limit(0, "that one alone does not fit"), 0)
    so_far.undecided = fit.verdict == "undecided"
