"""What size a mistake can have: a hook is no longer than what is cut back, and no corrected corner leaves the space."""

from collections.abc import Iterable

from tapeloft.model.tapes.mistakes import Mistake
from tapeloft.model.tapes.readings import Reading, TapeNet

SIGMAS = 3.0  # of a reading, by which it may be corrected to beyond what it is read from
BEYOND = 0.5  # of the size of a section, by which a corner may lie outside of where all others do


def possible(net: TapeNet, made: Iterable[tuple[Mistake, float]]) -> bool:
    """Return whether mistakes of such sizes, m, can have been made: each for its cause, and for what it corrects."""
    return all(one.whole or (abs(size) <= one.most and _corrected(net, one, size)) for one, size in made)


def _corrected(net: TapeNet, mistake: Mistake, size: float) -> bool:
    """Return whether every half-breadth and height without *mistake* is one that the space can have."""
    off = set(mistake.readings)
    sound = [one for k, one in enumerate(net.readings) if k not in off]
    out = [abs(one.value - one.base) for one in sound if one.kind == "half_breadth"]
    up = [one.value for one in sound if one.kind == "height"]
    if not (out and up):
        return True
    spare = BEYOND * max(*out, max(up) - min(up))
    for k in off:
        one, meant = net.readings[k], net.readings[k].value - float(mistake.along[k]) * size
        if one.kind == "height" and not min(up) - spare <= meant <= max(up) + spare:
            return False
        if one.kind == "half_breadth" and not _on_its_side(net, one, meant - one.base, max(out) + spare):
            return False
    return True


def _on_its_side(net: TapeNet, one: Reading, out: float, most: float) -> bool:
    """Return whether a half-breadth may be *out*, to port: no more than *most*, and where the space is on one side."""
    return abs(out) <= most and net.survey.side * out >= -SIGMAS * one.sigma
