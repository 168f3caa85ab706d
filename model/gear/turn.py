"""How a piece of gear may be turned when it is stowed."""

from enum import Enum

from tapeloft.model.units import Misread


class Turn(Enum):
    """How a piece of gear may be turned; each rule allows all that the one before it does.

    A form's own axes are those of `tapeloft.model.gear.forms`, its z up as it stands.

    >>> [turn.value for turn in Turn]
    ['as given', 'upright', 'on any face', 'any tilt']
    """

    AS_GIVEN = "as given"  # its axes are the compartment's
    UPRIGHT = "upright"  # turned about the vertical only
    ANY_FACE = "on any face"  # each face of its upright box down, then about the vertical
    ANY_TILT = "any tilt"


def turn_called(written: object) -> Turn:
    """Return the rule that *written* names, by its words or some of them; raises Misread.

    >>> turn_called("upright"), turn_called("Any face"), turn_called("tilt")
    (<Turn.UPRIGHT: 'upright'>, <Turn.ANY_FACE: 'on any face'>, <Turn.ANY_TILT: 'any tilt'>)
    """
    said = " ".join(str(written).casefold().split())
    found = [turn for turn in Turn if said and said in turn.value]
    if len(found) != 1:
        known = ", ".join(f'"{turn.value}"' for turn in Turn)
        raise Misread(f'"{said[:40]}" is no rule of how a thing may be turned', f"write one of {known}")
    return found[0]
