"""The usual cautions that an answer about a compartment carries."""

from tapeloft.model.parts.cutting import Gapped
from tapeloft.model.parts.registry import STAGES, Stage
from tapeloft.model.survey.survey import Survey

TAPE = "Figures are as good as the tape: a ± tells what chance does to its readings, not a slip, nor a lining left out."
GAS = (
    "Gas locker: it must be vapour-tight to the interior, drained overboard from its lowest point, and hold nothing "
    "but the gas; the local standard and a licensed fitter decide, not this figure."
)
CLOSED = "Closed space: air in lockers like this can be short of oxygen. Ventilate, test the air, never go in alone."
GOING_IN = (
    "Before anyone goes in: lockers, chain and gas lockers above all, can be short of oxygen or hold gas. Ventilate, "
    "test the air, never go in alone."
)
STRUCTURE = "Structural parts are marked: never cut or move them on this program's word."
GRATE = (
    "The grate is read and kept: figures go down to the sole, and nothing stands on it unless its height is asked for."
)
CLIMBING = (
    "Climbing: one hand for the boat. Treads want a surface that does not slip and a hold within reach; wet boots and "
    "a seaway ask for more than these figures."
)
GAS_ALONE = "Gas locker: nothing but the gas and its fittings is kept in it; what is given here is for figures alone."
BUILT_IN = (
    "Parts built in are laid for the loads that the survey gives them, else for those their commands take; what "
    "fastens them is for a builder to reckon. Each has its own cautions: read them with its command before it is cut."
)
LOAD = "Volume is not permission to load: the builder's plate and licensed practice rule what may be put where."


def cautions_for(survey: Survey) -> tuple[str, ...]:
    """Return the cautions that go with any answer about *survey*; common practice, no source.

    Local codes and licensed practice always rule.
    """
    said = [TAPE, LOAD]
    if survey.space.use == "gas":
        said.append(GAS)
    if survey.space.use in ("gas", "chain"):
        said.append(CLOSED)
    if survey.grate:
        said.append(GRATE)
    if any(one.structural for one in survey.obstructions):
        said.append(STRUCTURE)
    return tuple(said)


def cautions_of_parts(survey: Survey) -> tuple[str, ...]:
    """Return the cautions that go with the parts that *survey* has built in; common practice, no source.

    The least gap of those cut to walls is held against what the tape is stated to be good to.
    """
    stages = {STAGES[type(part.kind)] for part in survey.parts}
    said = [BUILT_IN] if stages & {Stage.BUILT, Stage.CLIMBED} else []
    if Stage.CLIMBED in stages:
        said.append(CLIMBING)
    cut = [(part.kind.gaps.least, part.name) for part in survey.parts if isinstance(part.kind, Gapped)]
    if cut:
        from tapeloft.model.cutting.told import at_walls

        gap, name = min(cut)
        said += [f'{survey.name}, part "{name}": {text}' for text in at_walls(survey, gap)]
    return tuple(said)
