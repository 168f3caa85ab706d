"""The boxes that a person asks for: read, sought one after another, and told."""

import math
from dataclasses import dataclass, replace
from itertools import zip_longest
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tapeloft.cli.chances import box_off_of
from tapeloft.cli.plusminus import SPREADS, beside, litres_beside, spread_of
from tapeloft.model.errors import TapeloftError

if TYPE_CHECKING:
    from tapeloft.model.boxes import BoxFound
    from tapeloft.model.plusminus.boxagain import BoxOff
    from tapeloft.model.proof.turned.record import Kept
    from tapeloft.model.spaces import Asked


APART = 1e-5  # m that boxes keep from each other
PATIENT_S = 30.0  # that a turned box is looked for where no limit is given


@dataclass(frozen=True, eq=False)
class Boxes:
    """What was found in one compartment, and at which heights it was stood."""

    compartment: str
    found: "tuple[BoxFound | None, ...]"
    stood_at: tuple[float, ...] | None
    off: "tuple[BoxOff | None, ...]"


def boxes_in(
    space: "Asked", wanted: dict[str, Any], number: int, certificate: Path | None, force: bool
) -> Boxes:  # fmt: skip
    """Return the largest boxes of a kind in a space, each in what those before it leave; save the proofs of them."""
    from tapeloft.cli.boxing import found_box
    from tapeloft.model.proof.turned.record import Kept

    rules, name = _rules(space, wanted), space.compartment.name
    if certificate is not None and number > 1 and rules.get("stands_on") is not None:
        raise TapeloftError(
            "no certificate is made of several boxes that stand on the sole: which part of it bears the next is not "
            "checked anew; ask for one, or for boxes on a grate or a shelf"
        )
    found: list[BoxFound | None] = []
    proofs: list[dict[str, Any]] = []
    left = space
    for _ in range(number):
        kept = None if certificate is None else Kept()
        one = found_box(name, left.inside, left.outside, kept=kept, **rules)
        if kept is not None and (one is not None or not found):
            proofs.append(_proof(space, left, one, [box for box in found if box is not None], rules, kept))
        found.append(one)
        if one is None or not one.volume_m3:
            break
        taken, alike = one.grown(APART), left.outside is left.inside
        inside = left.inside - taken
        left = replace(left, inside=inside, outside=inside if alike else left.outside - taken)
    if certificate is not None:
        _save(certificate, proofs, force)
    return Boxes(name, tuple(found), rules.get("stands_on"), _off(space, found, rules))


def _off(space: "Asked", found: "list[BoxFound | None]", rules: dict[str, Any]) -> "tuple[BoxOff | None, ...]":
    """Return the ± of the first box; none of one of least sides, of a proportion, or in what another leaves."""
    if found[0] is None or rules["least"] or rules["proportion"]:
        return ()
    return (box_off_of(space, found[0], rules["footprint"]),)


def _proof(
    space: "Asked", left: "Asked", one: "BoxFound | None", before: "list[BoxFound]", rules: dict[str, Any],
    kept: "Kept",
) -> dict[str, Any]:  # fmt: skip
    """Return the certificate of a box, found in what those before it *left*."""
    from tapeloft.model.certificate import Before, box_certificate
    from tapeloft.model.gear.turn import Turn
    from tapeloft.model.rooms import rooms

    taken_from = None
    if before:
        (room,) = rooms(space.inside, space.outside, None, rules.get("on_grate"))
        taken_from = Before(room.outside, tuple(before), APART)
    return box_certificate(
        space.compartment.name, left.outside, one, rules["turn"] or Turn.AS_GIVEN, kept, before=taken_from,
        footprint=rules["footprint"], least=rules["least"] or (0.0, 0.0, 0.0), proportion=rules["proportion"],
    )  # fmt: skip


def _save(certificate: Path, proofs: list[dict[str, Any]], force: bool) -> None:
    """Save certificates: one under its name, several under it with their numbers."""
    from tapeloft.cli.printing import say
    from tapeloft.model.certificate import write_certificates

    paths = [certificate] if len(proofs) == 1 else [
        certificate.with_stem(f"{certificate.stem}-{number}") for number in range(1, len(proofs) + 1)
    ]  # fmt: skip
    write_certificates(dict(zip(paths, proofs, strict=True)), force=force)
    for path, said in zip(paths, proofs, strict=True):
        say(f"saved {path}: {'; '.join(said['claims'])}")


def _rules(space: "Asked", wanted: dict[str, Any]) -> dict[str, Any]:
    """Return what was typed as `largest_box` takes it."""
    from tapeloft.cli.spacing import length_of, stand_rules
    from tapeloft.model.gear.turn import Turn, turn_called
    from tapeloft.model.units import Misread

    unit = space.compartment.survey.unit
    rules = stand_rules(space.compartment, space, wanted["on"])
    rules |= {name: length_of(name, wanted[name], unit) for name in ("height", "clearance")}
    try:
        turn = turn_called(wanted["turn"])
        rules["turn"] = None if turn is Turn.AS_GIVEN else turn
        rules["footprint"] = _sizes("footprint", wanted["footprint"], 2, unit)
        rules["least"] = _sizes("least", wanted["least"], 3, unit)
        rules["proportion"] = _shares(wanted["proportion"])
    except Misread as bad:
        raise TapeloftError(str(bad)) from None
    patience = None if rules["turn"] is None else PATIENT_S
    return rules | {"within_s": patience if wanted["within"] is None else wanted["within"],
                    "tolerance": wanted["tolerance"]}  # fmt: skip


def _sizes(name: str, text: str | None, many: int, unit: str) -> tuple[float, ...] | None:
    """Return sizes, m, typed with × between them."""
    from tapeloft.model.units import Misread, length

    if text is None:
        return None
    parts = text.replace("×", "x").split("x")
    if len(parts) != many:
        raise Misread(f"--{name} takes {many} lengths", f"write them as {'x'.join(['600', '400', '280'][:many])}")
    return tuple(0.0 if part.strip() == "0" else length(part.strip(), unit) for part in parts)


def _shares(text: str | None) -> tuple[float, ...] | None:
    from tapeloft.model.units import Misread

    if text is None:
        return None
    try:
        shares = tuple(float(part) for part in text.split(":"))
    except ValueError:
        shares = ()
    if len(shares) != 3:
        raise Misread(f'--proportion takes three numbers, not "{text}"', "write it as 3:2:1")
    return shares


def told(answer: Boxes) -> list[dict[str, Any]]:
    """Return the boxes of a compartment as JSON tells them."""
    every = zip_longest(answer.found, answer.off)
    return [{"compartment": answer.compartment, "box": _as_json(one), "plus_minus": off, "stood_at_m": answer.stood_at}
            for one, off in every]  # fmt: skip


def _as_json(found: "BoxFound | None") -> "dict[str, object] | None":
    """Return a box by its names, each ending in its unit."""
    if found is None:
        return None
    plain = {field: getattr(found, field) for field in found.__dataclass_fields__}
    corners = found.corners.tolist() if found.volume_m3 else None
    return {"low_m": plain.pop("low"), "high_m": plain.pop("high"), **plain, "corners_m": corners}


def print_boxes(answers: list[Boxes], units: str) -> None:
    """Print a table of boxes, and at which heights they were stood."""
    from tapeloft.cli.printing import Table, print_tables, say

    rows = [(answer.compartment, one) for answer in answers for one in answer.found]
    if any(one is not None and not _is_square(one) for _, one in rows):
        head: tuple[str, ...] = ("compartment", f"L × B × H, {units}", "litres", "limit, litres", "gap", "place")
        print_tables([Table("largest box", head, [_turned_row(name, one, units) for name, one in rows], words=(5,))])
    else:
        head = ("compartment", f"L × B × H, {units}", "litres", "limit, litres", "gap", "from x, y, z", "to x, y, z")
        print_tables([Table("largest upright box", head, [_row(name, one, units) for name, one in rows])])
    for answer in answers:
        for found, off in zip(answer.found, answer.off, strict=False):
            if found is not None and off is not None:
                say(_give(answer.compartment, found, off, units))
        if answer.stood_at is not None:
            say(_tried(answer, units))


def _give(name: str, found: "BoxFound", off: "BoxOff", units: str) -> str:
    """Say how far the sides of the largest box may be off; one between things taken as typed is not."""
    from tapeloft.model.units import figure_down

    each = zip(found.low, found.high, off.sides_sd_m, strict=True)
    sides = " × ".join(beside(figure_down(high - low, units), spread_of(sd, units)) for low, high, sd in each)
    lost = f", in {off.lost} of which nothing of it was left" if off.lost else ""
    unit = f" {units}" if units in SPREADS else ""
    return (
        f"{name}: largest box {sides}{unit}, {litres_beside(found.volume_m3, off.volume_sd_m3)} l (± is one standard "
        f"deviation, of {off.drawn} spaces as it might be read{lost}; what is largest may be longer for being narrower)"
    )


def _is_square(found: "BoxFound") -> bool:
    """Whether it stands square to the compartment."""
    return all(abs(found.turn[i][i]) > 1 - 1e-12 for i in range(3))


def _tried(answer: Boxes, units: str) -> str:
    """Say at which heights a box was stood: the limit is that of boxes there."""
    from tapeloft.model.units import figure

    heights = ", ".join(figure(z, units) for z in sorted(answer.stood_at or ()))
    return (
        f"{answer.compartment}: stood on the flats of its sole, at {heights or 'no height: it has none'}; "
        "the limit is for those"
    )


def _sized(name: str, found: "BoxFound | None", units: str) -> tuple[str, ...]:
    from tapeloft.model.units import figure_down

    if found is None:
        return (name, "none to speak of", "", "", "")
    if not found.volume_m3:
        return (name, "none yet: undecided", "", f"{found.limit_m3 * 1000:.1f}", "")
    sizes = [b - a for a, b in zip(found.low, found.high, strict=True)]
    return (
        name,
        " × ".join(figure_down(s, units) for s in sizes),
        f"{found.volume_m3 * 1000:.1f}",
        f"{found.limit_m3 * 1000:.1f}",
        f"{found.gap:.2%}" if found.proved else f"{found.gap:.1%}, undecided",
    )


def _row(name: str, found: "BoxFound | None", units: str) -> tuple[str, ...]:
    from tapeloft.model.units import figure

    ends: tuple[str, ...] = ("", "")
    if found is not None and found.volume_m3:
        ends = tuple(", ".join(figure(p, units) for p in end) for end in (found.low, found.high))
    return (*_sized(name, found, units), *ends)


def _turned_row(name: str, found: "BoxFound | None", units: str) -> tuple[str, ...]:
    from tapeloft.model.fits.fitting import Pose
    from tapeloft.model.fits.words import posed

    if found is None or not math.isfinite(found.gap):
        return (*_sized(name, found, units), "")
    x, y, z = found.corners.mean(axis=0).tolist()
    sizes = [b - a for a, b in zip(found.low, found.high, strict=True)]
    place = posed(Pose(found.turn, (x, y, z)), (sizes[0], sizes[1], sizes[2]), "box", units)
    return (*_sized(name, found, units), place)
