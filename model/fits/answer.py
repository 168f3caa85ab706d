"""Does a piece of gear fit in a compartment: the verdict, and what a person wants to know next."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from tapeloft.model.facets import body
from tapeloft.model.fits.bags import bag_fitted
from tapeloft.model.fits.clearances import clearances, touching
from tapeloft.model.fits.convex import convex, grown
from tapeloft.model.fits.deciding import Progress
from tapeloft.model.fits.fit import Fit, Verdict, fitted
from tapeloft.model.fits.way_in import WayIn, way_in
from tapeloft.model.gear.forms import SoftBag
from tapeloft.model.gear.gear import Gear, turn_in
from tapeloft.model.gear.turn import Turn
from tapeloft.model.openings import clear_openings
from tapeloft.model.plusminus.fitagain import Chance
from tapeloft.model.proof.turned.record import Kept
from tapeloft.model.solid import Solid
from tapeloft.model.spaces import Asked, asked_space
from tapeloft.model.stowed import Span, Stowed
from tapeloft.shapes.polyhedron import Polyhedron, Round

AGAINST = 1e-3  # m: what is nearer than this is lain against
OTHERWISE_S = 3.0  # s for each question of what would be otherwise


@dataclass(frozen=True, eq=False)
class Answer:
    """Whether gear fits in a space, and how or why not; compartment axes, m.

    fit: None for a soft bag. stowed: the thing in its place, where it fits. spans: how far it could be slid each way.
    against: what it lies against, or, where it does not fit, what its nearest place is held by. needs_out: pieces
    that can be taken out, any of which would make room. ways_in: what each opening's clear size says. chance:
    how probable it is, for all that the tape leaves open, where that was asked.
    """

    compartment: str
    gear: Gear
    turn: Turn
    verdict: Verdict
    fit: Fit | None
    stowed: Stowed | None
    spans: tuple[Span, ...]
    against: tuple[str, ...]
    needs_out: tuple[str, ...]
    ways_in: tuple[WayIn, ...]
    chance: Chance | None = None


def answered(
    space: Asked,
    gear: Gear,
    *,
    turn: Turn | None = None,
    clearance: float = 0.0,
    stands_on: Sequence[float] | None = None,
    on_grate: float | None = None,
    within_s: float = 10.0,
    progress: Progress | None = None,
    kept: Kept | None = None,
) -> Answer:
    """Return whether a piece of gear fits in a space, turned as it may be, or as *turn* allows; see `fit.fitted`."""
    rule = turn or turn_in(gear, space.compartment.survey.space.use)
    if (stands_on is not None or on_grate is not None) and rule is Turn.ANY_TILT and turn is None:
        rule = Turn.ANY_FACE
    form, name = gear.form, space.compartment.name
    if isinstance(form, SoftBag):
        verdict, box = bag_fitted(space.inside, space.outside, form, within_s=within_s, progress=progress)
        stowed = Stowed(gear.name, box.grown(0.0)) if box is not None else None
        return Answer(name, gear, Turn.ANY_TILT, verdict, None, stowed, (), (), (), ())
    rules = {"turn": rule, "clearance": clearance, "stands_on": stands_on, "on_grate": on_grate}
    fit = fitted(space.inside, space.outside, form, within_s=within_s, progress=progress, kept=kept, **rules)  # type: ignore[arg-type]
    spans = _spans(space, gear, fit)
    stowed = None
    if fit.verdict == "fits":
        stowed = Stowed(gear.name, _posed(gear, fit), spans)
    ways = tuple(way_in(opening, form) for opening in clear_openings(space.compartment))
    answer = Answer(name, gear, rule, fit.verdict, fit, stowed, spans, touching(spans, AGAINST), (), ways)
    if fit.verdict != "does not fit":
        return answer
    return replace(answer, needs_out=_would_fit(space, gear, rules))


def _posed(gear: Gear, fit: Fit) -> Solid:
    assert fit.pose is not None
    assert not isinstance(gear.form, SoftBag)
    drawn = gear.form.drawn(Round.EQUAL_AREA)
    return body(Polyhedron(fit.pose.of(drawn.vertices), drawn.faces))


def _spans(space: Asked, gear: Gear, fit: Fit) -> tuple[Span, ...]:
    """Return the clearances of a thing in its place; where it does not fit, of it shrunk until it would."""
    if fit.pose is None or isinstance(gear.form, SoftBag):
        return ()
    thing = convex(gear.form.drawn(Round.OUTSIDE).vertices)
    shrunk = min(0.0, fit.room_m + fit.clearance_m)
    drawn = grown(thing, shrunk - 2e-6 * float(np.linalg.norm(np.ptp(space.outside.bounds, axis=0))))
    return clearances(space.compartment, space.inside, drawn, fit.pose)


def _would_fit(space: Asked, gear: Gear, rules: dict[str, object]) -> tuple[str, ...]:
    """Return the pieces that can be taken out without which, one at a time, the thing would fit."""
    found = []
    survey = space.compartment.survey
    removable = [one.name for one in survey.obstructions if one.removable and not one.structural]
    for name in [*removable, *(part.name for part in survey.parts if part.removable)]:
        other = asked_space(space.compartment, without=(name,))
        without = fitted(other.inside, other.outside, gear.form, within_s=OTHERWISE_S, **rules)  # type: ignore[arg-type]
        if without.verdict == "fits":
            found.append(name)
    return tuple(found)


def ranked(answers: Sequence[Answer]) -> tuple[Answer, ...]:
    """Return answers in the order a person wants them: where it fits with the most room first, then undecided."""
    order = {"fits": 0, "undecided": 1, "does not fit": 2}
    return tuple(sorted(answers, key=lambda a: (order[a.verdict], -(a.fit.room_m if a.fit else -math.inf))))
