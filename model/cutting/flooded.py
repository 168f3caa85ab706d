"""What a grate leaves under it and over it: water, how long it takes to run out, room to stow in."""

from dataclasses import dataclass

from tapeloft.model.capacity import filled_to
from tapeloft.model.compartment import Compartment
from tapeloft.model.cutting.draining import DISCHARGE, bore_for, drained
from tapeloft.model.cutting.laying import Laid
from tapeloft.model.runs.runs import clear_runs
from tapeloft.model.solid import united


@dataclass(frozen=True)
class Flooded:
    """Water up to the underside of the battens, and the room over the grate.

    held_m3: the water, bearers taken off; below_m3: what of it a drain leaves, without bearers; drain: its name, ""
    where the survey has none; seconds: until the rest has run out, if no bearer were in it; discharge: the coefficient
    of the drain that is counted with; wanted_m: the bore that would let it out in the time that is wanted, None where
    none is. clear_m: the highest clear line over the grate; above_m3: the net space over it.
    """

    held_m3: float
    below_m3: float
    drain: str
    seconds: float
    discharge: float
    wanted_m: float | None
    clear_m: float
    above_m3: float
    notes: tuple[str, ...]


def flooded(compartment: Compartment, grate: Laid, height: float, wanted: float | None = None) -> Flooded:
    """Return what lies under and over a grate whose upper face is at *height*, m; the lowest drain is the one.

    wanted: s in which the water is to run out there, or at the lowest point where the survey has no drain.
    """
    under, net = grate.plane.start[2], compartment.net
    _, below = united(bars.solid for bars in grate.sections).split((0.0, 0.0, 1.0), under)
    over, _ = net.split((0.0, 0.0, 1.0), height)
    full = float(filled_to(net, [under]).volume_m3[0])
    held = full - below.volume
    clear = 0.0 if over.is_empty else clear_runs(over)[2].length_m
    bottom = float(net.bounds[0, 2])
    drains = sorted(
        (one.z if one.z is not None else bottom, one.name, one.diameter) for one in compartment.survey.drains
    )
    at, name, bore = drains[0] if drains else (bottom, "", 0.0)
    larger = None if wanted is None else bore_for(net, under, at, wanted)
    if not drains:
        notes: tuple[str, ...] = ("no drain is in the survey: the water stays",)
        return Flooded(held, held, "", 0.0, DISCHARGE, larger, clear, over.volume, notes)
    runs = drained(net, under, at, bore)
    notes = ()
    if all(one.z is None for one in compartment.survey.drains if one.name == name):
        notes += (f'the survey has no height of the drain "{name}": it is taken to be at the lowest point',)
    if at >= under:
        notes += (f'the drain "{name}" lies above the underside of the battens: nothing under them runs out',)
    elif runs.below_m3 > 1e-4:
        notes += (f"{runs.below_m3 * 1000:.1f} l lie below the drain and stay",)
    if len(compartment.bays) > 1:
        notes += ("the space falls into bays: water is counted as if it went from one to the other",)
    below_drain = min(held, runs.below_m3)
    return Flooded(held, below_drain, name, runs.seconds, DISCHARGE, larger, clear, over.volume, notes)
