"""Crates as they are told: tables, words, and what JSON has of them."""

import math
from typing import TYPE_CHECKING

from tapeloft.cli.printing import Table

if TYPE_CHECKING:
    from tapeloft.model.crating.made import Made
    from tapeloft.model.crating.stood import Crate, Stood
    from tapeloft.model.gear.gear import Gear


def crates_told(gear: "Gear", stood: "Stood") -> dict[str, object]:
    """Return what JSON has of a module that was stood."""
    return {
        "item": gear.name, "at_least": len(stood.crates), "at_most": stood.most, "passes_lid": stood.passes,
        "straight_up_at_least": stood.straight_least, "straight_up_at_most": stood.straight_most, "out": stood.out,
        "most_out": stood.most_out, "layouts": stood.looked, "cut_off": stood.cut,
        "crates": [_told_crate(one) for one in stood.crates],
        "laid_to_come_out": [_told_crate(one) for one in stood.freed],
    }  # fmt: skip


def _told_crate(one: "Crate") -> dict[str, object]:
    way = one.way
    return {
        "place_m": one.at, "heading_deg": one.heading_deg, "way": one.out, "order": one.order,
        "lifted_m": way.lifted_m if way else 0.0, "slid_m": way.carried_m if way else 0.0,
        "turned_deg": math.degrees(way.turned) if way else 0.0, "tipped_deg": math.degrees(way.tipped) if way else 0.0,
    }  # fmt: skip


def made_told(made: "Made", wall: float) -> dict[str, object]:
    """Return what JSON has of a crate made to measure."""
    return {
        "size_m": made.sizes, "wall_m": wall, "holds_m3": made.holds_m3, "volume_m3": made.volume_m3,
        "limit_m3": made.limit_m3, "proved": made.proved, "place_m": made.at, "heading_deg": made.heading_deg,
        "opening": made.fall, "outside_m3": made.outside_m3,
    }  # fmt: skip


def modules_listed(found: "list[tuple[Gear, Stood]]", title: str) -> Table:
    """Return the modules as a table: how many stand side by side, and come out."""
    words = {True: "goes through", False: "not level, proved", None: "undecided"}
    rows = [
        (
            gear.name, _range(len(stood.crates), stood.most), words[stood.passes],
            _range(stood.straight_least, stood.straight_most), _out(stood), str(len(stood.crates) - stood.out),
        )
        for gear, stood in found
    ]  # fmt: skip
    head = ("crate", "side by side", "the lid, level", "straight up at once", "come out, proved", "undecided")
    return Table(title, head, rows, words=(2,))


def undecided(gear: "Gear", stood: "Stood") -> str:
    """Return in words for how many crates no way out was found, and in how long a search."""
    left = len(stood.crates) - stood.out
    many = f"{stood.looked} layout{'s' * (stood.looked != 1)}"
    ended = f"; the time cut off {' and '.join(stood.cut)}: --within gives more" if stood.cut else ""
    return f"{gear.name}: no way out was found for {left} of {len(stood.crates)}, in {many} looked at{ended}"


def _out(stood: "Stood") -> str:
    return f"{stood.out}; laid otherwise {len(stood.freed)}" if stood.freed else str(stood.out)


def order_listed(stood: "Stood", units: str) -> Table:
    """Return crates as a table, in the order that they come out in."""
    from tapeloft.model.units import figure

    crates = stood.freed or stood.crates
    rows = [
        (
            str(one.order) if one.way else "",
            *(figure(place, units) for place in one.at),
            f"{one.heading_deg:.0f}",
            one.out,
        )
        for one in crates
    ]
    head = ("in this order", f"middle at x, {units}", "y", "stands at z", "turned, °", "comes out")
    return Table("", head, rows, words=(5,))


def _range(least: int, most: int) -> str:
    return str(least) if least == most else f"{least}, at most {most}"


def made_listed(made: "Made", title: str, wall: float, units: str) -> Table:
    """Return a crate made to measure as a table."""
    from tapeloft.model.units import figure, figure_down

    proof = "proved" if made.proved else "not yet: the search was cut short"
    x, y, _ = made.at
    rows = [
        ("over all", " × ".join(figure_down(size + 1e-9, units) for size in made.sizes), units),
        ("walls", figure(wall, units), units),
        ("holds", f"{made.holds_m3 * 1000:.1f}", "litres"),
        ("takes up", f"{made.volume_m3 * 1000:.1f}", "litres"),
        ("none that goes straight up takes up more than", f"{made.limit_m3 * 1000:.1f}", f"litres, {proof}"),
        ("middle at x", figure(x, units), units),
        ("and y", figure(y, units), units),
        ("turned", f"{made.heading_deg:.1f}", "°"),
        ("up through", made.fall, ""),
    ]
    return Table(title, ("crate", "", ""), rows, words=(2,))
