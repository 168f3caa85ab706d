"""What may be off all one way, and so is in no ±: each by its own, with what it comes to for one compartment.

A standard deviation tells what chance does, and shrinks as more is read. What is wrong with every reading alike does
neither. None of these is known to be there: each is told as what it would come to.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tapeloft.model.compartment import Compartment
from tapeloft.model.moments import triangle_areas
from tapeloft.model.plusminus.bodies import Slopes
from tapeloft.model.plusminus.spread import Spread
from tapeloft.model.tapes.permitted import permitted

PRACTICE = "common practice, no source"
DIRECTIVE = "Directive 2014/32/EU, MI-008"
HOOK = 0.001  # m that a worn hook, a cut end or a case taken for its length puts on every reading
TILT = 0.001  # m in a metre that heel or trim may have been left in the datum
LINING = 0.012  # m, a common thickness, where the survey tells none


@dataclass(frozen=True)
class Effect:
    """Something that would put all readings off one way: what it would do to the net space, and where its size is from.

    volume_m3: added to the net volume, about; of either sign where *either* says so. centroid_m: how far it moves the
    net centroid, m, compartment axes; None where that is not told.
    """

    words: str
    volume_m3: float
    either: bool
    centroid_m: tuple[float, float, float] | None
    source: str


def systematic(compartment: Compartment, net: Slopes, known: Spread) -> tuple[Effect, ...]:
    """Return what would put the *net* space of a compartment off all one way."""
    tape = compartment.survey.space.tape.accuracy_class
    said = f"class {tape}" if tape else "class II, for none is told"
    off = [permitted(abs(one.on_paper(one.value)), tape or "II") for one in known.net.readings]
    mirror = -1.0 if compartment.survey.mirrored else 1.0
    return (
        _lining(compartment),
        _all_off("every tape 1 mm out: hook, cut end, case", [HOOK] * len(off), net, known, mirror, PRACTICE),
        _all_off(f"the tape out by all its class permits ({said})", off, net, known, mirror, DIRECTIVE),
        _tilt(compartment),
    )


def _lining(compartment: Compartment) -> Effect:
    space = compartment.survey.space
    own = {origin for origin, _ in compartment.parts}
    skin = np.isin(compartment.net.origins, list(own))
    area = float(triangle_areas(compartment.net.vertices, compartment.net.triangles[skin]).sum())
    thick = space.lining or LINING
    size = f"{thick * 1000:g} mm of lining all round"
    if space.measured_to == "lining":
        return Effect(f"{size}, if it comes out: measured to it", area * thick, False, None, PRACTICE)
    told = size if space.lining else f"{size}, if any is to come"
    return Effect(f"{told}: measured to the structure", -area * thick, False, None, PRACTICE)


def _all_off(words: str, off: Sequence[float], net: Slopes, known: Spread, mirror: float, source: str) -> Effect:
    """Return what it comes to when every reading is so much longer on paper than it should be."""
    moves = known.moved(np.array([one.turned * by for one, by in zip(known.net.readings, off, strict=True)]))
    x, y, z = (net.centroid.T @ moves).tolist()
    return Effect(words, float(net.volume @ moves), True, (x, mirror * y, z), source)


def _tilt(compartment: Compartment) -> Effect:
    """Heights off by so much in a metre shear the space: its volume stays, and its centroid moves by so much."""
    x, y, _ = compartment.net.centroid.tolist()
    up = TILT * math.hypot(x, y)
    words = "heel or trim of 1 mm in a metre left in the datum"
    return Effect(words, 0.0, True, (0.0, 0.0, up), PRACTICE)
