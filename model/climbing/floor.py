"""What one stands on under a lid before the first step: a grate that is built in, one of the survey, or the sole."""

from dataclasses import dataclass

from tapeloft.model.compartment import Compartment
from tapeloft.model.cutting.outline import clear_outline
from tapeloft.model.cutting.plane import at_height
from tapeloft.model.errors import GeometryError
from tapeloft.model.fall import MEETS, STEP, Fall, floor_under
from tapeloft.model.platforms import Platform, platforms_of


@dataclass(frozen=True)
class Floor:
    """The height that one stands at, m, and what is to be said of what one stands on."""

    height: float
    notes: tuple[str, ...] = ()


def floor_of(compartment: Compartment, fall: Fall, load_kg: float) -> Floor:
    """Return the floor under a lid: the grate built in there that bears a person, the survey's grate, or the sole.

    Raises GeometryError where nothing level lies under the lid, or the grate that does is laid for less.
    """
    for one in platforms_of(compartment):
        if _covers(compartment, fall, one):
            return _borne(compartment, one, load_kg)
    grate = compartment.survey.grate
    sole = grate.height if grate else floor_under(compartment.inside, fall)
    if sole is None:
        raise GeometryError(
            f"{compartment.name}: under {fall.name} is no level sole to step up from"
            "\n    mend: say at which height one stands, for example on a grate"
        )
    return Floor(sole)


def _covers(compartment: Compartment, fall: Fall, one: Platform) -> bool:
    """Whether a grate is most of what lies under a lid at its height."""
    there = clear_outline(compartment.inside, at_height(one.height), STEP).intersection(fall.plan)
    return bool(there.area > MEETS and there.intersection(one.plan).area > there.area / 2)


def _borne(compartment: Compartment, one: Platform, load_kg: float) -> Floor:
    bears = one.at_one_place(load_kg)
    what = f"{load_kg:g} kg on two boots are {bears:.0f} kg at one place"
    if bears > one.point_kg:
        raise GeometryError(
            f'{compartment.name}: the grate "{one.name}" under the lid is laid for {one.point_kg:g} kg: {what}'
            f"\n    mend: lay it for more (point), or say at which height one stands"
        )
    return Floor(one.height, (f'one stands on the grate "{one.name}": {what}, laid for {one.point_kg:g}',))
