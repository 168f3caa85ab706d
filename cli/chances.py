"""How probable a fit is, how far a box or a part may be off: asked anew in spaces as they might be read."""

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

from tapeloft.cli.searching import Told, stoppable

if TYPE_CHECKING:
    from shapely import MultiPolygon, Polygon

    from tapeloft.model.boxes import BoxFound
    from tapeloft.model.compartment import Compartment
    from tapeloft.model.cutting.plane import Plane
    from tapeloft.model.fits.answer import Answer
    from tapeloft.model.plusminus.boxagain import BoxOff
    from tapeloft.model.plusminus.cutagain import Behind, CutOff, OpenEdge
    from tapeloft.model.plusminus.fitagain import Chance
    from tapeloft.model.plusminus.redrawn import Redrawing
    from tapeloft.model.solid import Solid
    from tapeloft.model.spaces import Asked


def chance_of(space: "Asked", answer: "Answer", stands: bool) -> "Chance | None":
    """Return how probable it is that a thing fits; None where no ± is stated of the space."""
    from tapeloft.model.gear.forms import SoftBag
    from tapeloft.model.plusminus.fitagain import DRAWN, Chance, far_off, fit_chance
    from tapeloft.model.plusminus.redrawn import redrawing

    fit, form = answer.fit, answer.gear.form
    if fit is None or isinstance(form, SoftBag):
        return Chance(0, 0, "not of a soft bag")
    again = redrawing(space)
    if again is None:
        return None
    far = far_off(again, fit)
    if far is not None:
        return far
    try:
        with stoppable():
            drawn = _told(again, DRAWN, answer.compartment)
            return fit_chance(form, answer.turn, fit, space.inside, drawn, stands=stands)
    except KeyboardInterrupt:
        return Chance(0, 0, "stopped")


def box_off_of(space: "Asked", found: "BoxFound", footprint: tuple[float, float] | None) -> "BoxOff | None":
    """Return the ± of a box's sides; None where none is stated of the space, or it was stopped."""
    from tapeloft.model.plusminus.boxagain import DRAWN, box_off
    from tapeloft.model.plusminus.redrawn import redrawing

    again = redrawing(space)
    if again is None or not found.volume_m3:
        return None
    try:
        with stoppable():
            return box_off(again, found, footprint, _told(again, DRAWN, space.compartment.name))
    except KeyboardInterrupt:
        return None


def cut_off_of(
    whole: "Compartment",
    plane: "Plane",
    thickness: float,
    clear: "MultiPolygon",
    pieces: "Sequence[Polygon]",
    gap: float,
    edge: "OpenEdge | None" = None,
    behind: "Behind | None" = None,
) -> "CutOff | None":
    """Return how far pieces cut to a *clear* outline may be off; None where no ± is stated, or it was stopped."""
    from tapeloft.model.plusminus.cutagain import cut_off

    return cut_off(_spaces_as_read(whole), plane, thickness, clear, pieces, gap, edge, behind)


def cuts_off_of(
    whole: "Compartment", pieces: "Sequence[tuple[Plane, float, Polygon]]", gap: float
) -> "tuple[CutOff | None, ...]":
    """Return the same of pieces that each lie on a plane of their own, with their thickness, m."""
    from tapeloft.model.cutting.outline import clear_outline
    from tapeloft.model.plusminus.cutagain import cut_off

    spaces = _spaces_as_read(whole)
    return tuple(
        cut_off(spaces, plane, thick, clear_outline(whole.inside, plane, thick), [outline], gap)
        for plane, thick, outline in pieces
    )


def _spaces_as_read(whole: "Compartment") -> "list[Solid] | None":
    """Return spaces as they might be read; None where no ± is stated, or it was stopped."""
    from tapeloft.model.plusminus.cutagain import DRAWN
    from tapeloft.model.plusminus.redrawn import redrawing
    from tapeloft.model.spaces import asked_space

    again = redrawing(asked_space(whole))
    if again is None:
        return None
    try:
        with stoppable():
            return list(_told(again, DRAWN, whole.name))
    except KeyboardInterrupt:
        return None


def _told(again: "Redrawing", count: int, name: str) -> "Iterator[Solid]":
    tell = Told(name, lambda done, of: f"{done:.0f} of {of:.0f} spaces as it might be read")
    for number, one in enumerate(again.spaces(count)):
        tell(number, count)
        yield one


def chance_lines(chance: "Chance | None") -> list[tuple[str, str]]:
    """Return the line that tells how probable a fit is."""
    if chance is None:
        return [("probability", "none is stated: see what ± rests on, tapeloft volume")]
    if chance.probability is None:
        return [("probability", f"not asked: {chance.why_not}")]
    share = f"{chance.fitted} of {chance.drawn} spaces as it might be read"
    return [("probability", f"{_share(chance)}: it fits at or near this place in {share}")]


def beside(chance: "Chance | None") -> str:
    """Return how probable a fit is, to stand behind its room in a table; nothing where it was not asked."""
    return "" if chance is None or chance.probability is None else f", {_share(chance)}"


def _share(chance: "Chance") -> str:
    """Return a probability in words; where all or none of those drawn fitted, what that shows (the rule of three).

    In n drawn without one that is otherwise, the share of others is below 3/n, 95 times in a hundred.
    """
    if 0 < chance.fitted < chance.drawn:
        return f"about {chance.fitted / chance.drawn:.0%}"
    return f"over {1 - 3 / chance.drawn:.0%}" if chance.fitted else f"under {3 / chance.drawn:.0%}"


def as_json(chance: "Chance | None") -> dict[str, Any]:
    """Return a probability by its names; null where none was asked, and why."""
    if chance is None:
        return {"probability": None, "drawn": 0, "probability_why_not": "no ± is stated of the space"}
    return {"probability": chance.probability, "drawn": chance.drawn, "probability_why_not": chance.why_not or None}
