"""Asking how many go in, and telling it."""

from typing import TYPE_CHECKING

from tapeloft.cli.searching import Told, stoppable, warmed_to_pack

if TYPE_CHECKING:
    from tapeloft.model.gear.gear import Gear
    from tapeloft.model.gear.turn import Turn
    from tapeloft.model.packing.count import Counted
    from tapeloft.model.spaces import Asked


def counted_in(
    space: "Asked", item: str, turn: str | None, clearance: str, within: float
) -> "tuple[Gear, Turn, Counted]":
    """Return what was asked for, how it may be turned, and how many go in."""
    from tapeloft.cli.spacing import length_of
    from tapeloft.model.errors import TapeloftError
    from tapeloft.model.gear.asked import gear_asked
    from tapeloft.model.gear.forms import SoftBag
    from tapeloft.model.gear.gear import turn_in
    from tapeloft.model.gear.turn import turn_called
    from tapeloft.model.packing.count import counted
    from tapeloft.model.units import Misread

    gear = gear_asked(item)
    if isinstance(gear.form, SoftBag):
        raise TapeloftError(
            f"{gear.name} is soft: how many go in is not told; ask for a box of the size it is stowed in"
        )
    warmed_to_pack()
    try:
        rule = turn_in(gear, space.compartment.survey.space.use) if turn is None else turn_called(turn)
        kept = length_of("clearance", clearance, space.compartment.survey.unit) or 0.0
        with stoppable():
            found = counted(
                space.inside, space.outside, gear.form, turn=rule, clearance=kept, within_s=within,
                progress=Told(space.compartment.name, _near),
            )  # fmt: skip
    except Misread as bad:
        raise TapeloftError(f"--turn: {bad}") from None
    except ValueError as bad:
        raise TapeloftError(str(bad)) from None
    return gear, rule, found


def _near(least: float, most: float) -> str:
    return f"{least:.0f} go in so far; at most {most:.0f}"


def print_count(name: str, gear: "Gear", rule: "Turn", found: "Counted", units: str) -> None:
    """Print how many go in, and where each is."""
    from tapeloft.cli.printing import Table, print_tables
    from tapeloft.model.fits.words import posed
    from tapeloft.model.gear.forms import SoftBag
    from tapeloft.model.gear.told import size_told

    assert not isinstance(gear.form, SoftBag)
    tried = f"{found.starts} order{'s' * (found.starts != 1)}, {found.turns} turn{'s' * (found.turns != 1)} tried"
    lines = [
        ("at least", f"{found.at_least}, laid out and checked ({tried})"),
        ("at most", f"{found.at_most}, proved by {found.by}"),
    ]
    if found.square is not None and found.square.count < found.at_most:
        lines.append(("square to the boat", f"at most {found.square.count}, proved by {found.square.by}"))
    if found.stopped:
        lines.append(("cut short", "by the time or by hand; what is told holds"))
    for number, pose in enumerate(found.poses, start=1):
        lines.append((f"{number}", posed(pose, gear.form.sizes, gear.form.symmetry, units)))
    title = f"{name}: how many of {gear.name} ({size_told(gear.form, units)}), {rule.value}"
    print_tables([Table(title, ("", ""), lines, words=(1,))])
