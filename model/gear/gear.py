"""A piece of gear."""

from dataclasses import dataclass

from tapeloft.model.gear.body import Body
from tapeloft.model.gear.forms import Block, Board, Capsule, Cylinder, SoftBag
from tapeloft.model.gear.turn import Turn

Firm = Block | Cylinder | Capsule | Board | Body
Form = Firm | SoftBag
TYPED = "as asked"  # the kind of what was typed by its sizes


@dataclass(frozen=True)
class Gear:
    """A piece of gear: what it is called, its form, and how it may be turned.

    kind: what sort of thing it is, as the catalogue is ordered. mass_kg is None where it is not known. source says
    where the figures come from; note says what else a person should know.
    """

    name: str
    kind: str
    form: Form
    mass_kg: float | None
    turn: Turn
    source: str
    note: str = ""


def usual_turn(form: Form) -> Turn:
    """Return how gear of a *form* may be turned where nobody says: what has flat sides lies on one of them."""
    return Turn.ANY_FACE if isinstance(form, Block | Cylinder | Body) else Turn.ANY_TILT


def stands(gear: Gear, use: str) -> bool:
    """Whether gear is stood, where nobody says how it may be turned: a typed cylinder in a locker for gas.

    Gas cylinders are kept upright, their valve on top (common practice, no source).
    """
    return use == "gas" and gear.kind == TYPED and isinstance(gear.form, Cylinder)


def turn_in(gear: Gear, use: str) -> Turn:
    """Return how gear may be turned in a space of some use, where nobody says."""
    return Turn.UPRIGHT if stands(gear, use) else gear.turn


def remarks(form: Form) -> tuple[str, ...]:
    """Return what a person should know of how a *form* was understood."""
    if isinstance(form, Body):
        return form.polyhedron.remarks
    if isinstance(form, Board) and not form.outline:
        return ("its ends are taken as square, for it has no outline",)
    return ()
