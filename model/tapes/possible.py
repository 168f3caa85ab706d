"""What size a mistake can have: a hook is no longer than what is cut back, and no corrected corner leaves the space."""

from collections.abc import Iterable

from tapeloft.model.tapes.mistakes import KINDS, Mistake
from tapeloft.model.tapes.readings import Reading, TapeNet

SIGMAS = 3.0  # of a reading, by which it may be corrected to beyond what it is read from


def possible(net: TapeNet, made: Iterable[tuple[Mistake, float]]) -> bool:
    """Return whether mistakes of such sizes, m, can have been made: each for its cause, and for what it corrects."""
    return all(one.whole or (abs(size) <= one.most and _corrected(net, one, size)) for one, size in made)


def _corrected(net: TapeNet, mistake: Mistake, size: float) -> bool:
    """Return whether every half-breadth and height without *mistake* is one that the space can have."""
    off = set(mistake.readings)
    sound = [one for k, one in enumerate(net.readings) if len(one.corners) == 1 and k not in off]
    beside = {kind: [one.value for one in sound if one.kind == kind] for kind in KINDS}
    spread = max(max(values) - min(values) if values else 0.0 for values in beside.values())
    meant = [(net.readings[k], net.readings[k].value - float(mistake.along[k]) * size) for k in off]
    return all(_within(net, one, value, beside[one.kind], spread) for one, value in meant if beside.get(one.kind))


def _within(net: TapeNet, one: Reading, value: float, beside: list[float], spread: float) -> bool:
    """Return whether a reading may be *value*: as near those *beside* as the space is large, and on its side."""
    other_side = one.kind == "half_breadth" and net.survey.side * (value - one.base) < -SIGMAS * one.sigma
    return not other_side and min(beside) - spread <= value <= max(beside) + spread
