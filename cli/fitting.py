"""Asking whether gear fits, and telling the answer."""

import math
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tapeloft.cli.chances import as_json, beside, chance_lines, chance_of
from tapeloft.cli.searching import Told, stoppable, warmed

if TYPE_CHECKING:
    from tapeloft.model.compartment import Compartment
    from tapeloft.model.fits.answer import Answer
    from tapeloft.model.fits.fit import Fit
    from tapeloft.model.proof.turned.record import Kept
    from tapeloft.model.spaces import Asked

OF_USE = 0.5  # of its size, by which a thing may be larger as far as is proved: a limit beyond says nothing
TELLS = {
    "too small": "its clear opening is too small: it cannot be passed in there, proved",
    "end on": "end on it is smaller than the clear opening",
    "not told": "the clear size alone does not tell",
}


def answers(
    survey: str, name: str | None, item: str, given: Sequence[str] | None, option: Sequence[str] | None,
    rules: dict[str, Any], parts: dict[str, Any], certificate: Path | None = None, force: bool = False,
) -> "tuple[list[Answer], list[Compartment], tuple[str, ...]]":  # fmt: skip
    """Return the answers for one compartment or, ranked, for all; what they were asked of; and the cautions.

    certificate: where to save the proof.
    """
    from tapeloft.cli.asking import asked_surveys, built
    from tapeloft.cli.progress import each
    from tapeloft.cli.spacing import stood_words
    from tapeloft.model.cautions import cautions_for
    from tapeloft.model.errors import TapeloftError
    from tapeloft.model.fits.answer import ranked
    from tapeloft.model.gear.asked import gear_asked

    gear = gear_asked(item)
    surveys = asked_surveys(survey, name, given, option)
    if certificate is not None and len(surveys) > 1:
        raise TapeloftError("a proof is of one compartment: name it before the item")
    spaces = built(surveys)
    warmed(turned=True)
    found = [_answered(one, gear, rules, parts, certificate, force) for one in each(spaces, "trying")]
    said = tuple(dict.fromkeys(text for one in surveys for text in cautions_for(one)))
    said = (*stood_words(gear, surveys, rules["turn"]), *said)
    return list(ranked(found)), spaces, said


def _answered(
    one: "Compartment", gear: Any, rules: dict[str, Any], parts: dict[str, Any], certificate: Path | None, force: bool
) -> "Answer":  # fmt: skip
    from tapeloft.cli.spacing import length_of, space_in, stand_rules
    from tapeloft.model.errors import TapeloftError
    from tapeloft.model.fits.answer import answered
    from tapeloft.model.gear.turn import turn_called
    from tapeloft.model.proof.turned.record import Kept
    from tapeloft.model.units import Misread

    space = space_in(one, **parts)
    try:
        turn = None if rules["turn"] is None else turn_called(rules["turn"])
        kept = None if certificate is None else Kept()
        stood = stand_rules(one, space, rules["on"])
        with stoppable():
            answer = answered(
                space, gear, turn=turn, clearance=length_of("clearance", rules["clearance"], one.survey.unit) or 0.0,
                within_s=rules["within"], progress=Told(one.name, _near), kept=kept, **stood,
            )  # fmt: skip
    except Misread as bad:
        raise TapeloftError(f"--turn: {bad}") from None
    except ValueError as bad:
        raise TapeloftError(str(bad)) from None
    if certificate is not None and kept is not None:
        _save(certificate, space, answer, kept, force)
    return replace(answer, chance=chance_of(space, answer, any(at is not None for at in stood.values())))


def _save(certificate: Path, space: "Asked", answer: "Answer", kept: "Kept", force: bool) -> None:
    from tapeloft.cli.printing import say
    from tapeloft.model.certificate import fit_certificate, write_certificates
    from tapeloft.model.errors import TapeloftError
    from tapeloft.model.gear.forms import SoftBag

    form = answer.gear.form
    if answer.fit is None or isinstance(form, SoftBag):
        raise TapeloftError("no certificate is made of a soft bag")
    said = fit_certificate(answer.compartment, space.outside, answer.gear.name, form, answer.turn, answer.fit, kept)
    write_certificates({certificate: said}, force=force)
    say(f"saved {certificate}: {'; '.join(said['claims'])}")


def _near(room: float, limit: float) -> str:
    most = f"{limit * 1000:.0f} mm" if math.isfinite(limit) else "not known yet"
    return f"room all round {room * 1000:.0f} mm so far; at most {most}"


def print_answers(found: "list[Answer]", units: str) -> None:
    """Print one answer at length, or a table of several."""
    from tapeloft.cli.printing import Table, print_tables

    if len(found) == 1:
        print_tables([Table(_title(found[0], units), ("", ""), _lines(found[0], units), words=(1,))])
        return
    head = ("compartment", "", f"room all round, {units}; probability", "place, or what is in the way")
    rows = [
        (one.compartment, one.verdict, _room(one.fit, units) + beside(one.chance), _short(one, units)) for one in found
    ]
    print_tables([Table(_title(found[0], units, False), head, rows, words=(1, 3))])


def _title(one: "Answer", units: str, alone: bool = True) -> str:
    from tapeloft.model.gear.told import size_told

    where = f"{one.compartment}: " if alone else ""
    mass = "" if one.gear.mass_kg is None else f", {one.gear.mass_kg:g} kg"
    verdict = f": {one.verdict}" if alone else ""
    return f"{where}{one.gear.name} ({size_told(one.gear.form, units)}{mass}), {one.turn.value}{verdict}"


def _room(fit: "Fit | None", units: str) -> str:
    from tapeloft.model.units import figure_down

    if fit is None or fit.room_m < 0:
        return ""
    return figure_down(fit.room_m, units)


def _short(one: "Answer", units: str) -> str:
    if one.verdict == "fits":
        return _place(one, units)
    held = ", ".join(one.against[:3])
    return f"{_lacks(one, units)}; {held}" if held else _lacks(one, units)


def _place(one: "Answer", units: str) -> str:
    from tapeloft.model.fits.words import posed

    if one.fit is None or one.fit.pose is None:
        return "takes the form of a box in the picture" if one.stowed else ""
    form: Any = one.gear.form
    return posed(one.fit.pose, form.sizes, form.symmetry, units)


def _lacks(one: "Answer", units: str) -> str:
    """Return by how much it lacks room: found to fit if smaller by so much, proved not to if by less than so much."""
    fit = one.fit
    if fit is None:
        return "proved: no bay has its volume, or none is thick enough" if one.verdict == "does not fit" else ""
    fits, cannot = _smaller(fit, -fit.room_m, units), _smaller(fit, abs(fit.limit_m), units)
    found = f"fits if {fits} smaller" if fit.pose is not None else "no place was found for it, however small"
    if one.verdict == "does not fit":
        less = "with less" if cannot == fits and fit.pose is not None else f"if less than {cannot} smaller"
        return f"{found}, proved not to {'as it is' if _is_nothing(cannot) else less}"
    proved = f"cannot if {cannot} larger" if _says_something(fit) else "how large it may be at most is not proved"
    return f"{found}, {proved}"


def _is_nothing(told: str) -> bool:
    """Whether a measure is told as 0, in whatever unit."""
    return not any(digit in told.split()[0] for digit in "123456789")


def _says_something(fit: "Fit") -> bool:
    """Whether a limit is of use: of what is scaled as a whole, such as a bent board, one of many times its size is not.

    It is then proved for a convex body within it, which is far thinner.
    """
    return math.isfinite(fit.limit_m) and (fit.even or fit.limit_m < OF_USE * fit.depth_m)


def _smaller(fit: "Fit", by: float, units: str) -> str:
    from tapeloft.model.units import figure

    if not math.isfinite(by):
        return "?"
    return f"{figure(2 * by, units)} {units} each way" if fit.even else f"{by / fit.depth_m:.1%}"


def _lines(one: "Answer", units: str) -> list[tuple[str, str]]:
    from tapeloft.model.units import figure, figure_down

    lines = []
    fit = one.fit
    if one.verdict == "fits":
        lines.append(("place", _place(one, units)))
        if fit is not None:
            most = f", proved to be no more than {figure(fit.limit_m, units)}" if _says_something(fit) else ""
            kept = f", besides the {figure(fit.clearance_m, units)} asked for" if fit.clearance_m else ""
            lines.append(("room all round", f"{figure_down(fit.room_m, units)} {units}{most}{kept}"))
    else:
        lines.append(("lacks", _lacks(one, units)))
        if fit is not None:
            lines.append(("searched", f"{fit.branches} branches of places and turns, {one.turn.value}"))
        if one.against:
            lines.append(("held by", ", ".join(one.against)))
        if one.verdict == "does not fit" and one.needs_out:
            lines.append(("would fit", " or ".join(f"with {name} taken out" for name in one.needs_out)))
    lines += chance_lines(one.chance)
    if one.verdict == "fits":
        lines += [("clear", f"{figure_down(span.length_m, units)} {units} to {span.to}") for span in one.spans]
    lines += [(f"through {way.opening}", TELLS[way.passage]) for way in one.ways_in]
    return lines


def as_plain(one: "Answer") -> dict[str, Any]:
    """Return an answer by its names, each measure ending in its unit."""
    fit = one.fit
    told: dict[str, Any] = {
        "compartment": one.compartment,
        "item": one.gear.name,
        "turn": one.turn.value,
        "verdict": one.verdict,
    }
    if fit is not None:
        told |= {
            "room_m": fit.room_m if fit.pose else None,
            "limit_m": fit.limit_m,
            "grows_evenly": fit.even,
            "depth_m": fit.depth_m,
            "clearance_m": fit.clearance_m,
            "pose": None if fit.pose is None else {"turn": fit.pose.turn, "place_m": fit.pose.place},
            "branches": fit.branches,
        }
    spans = [{"from_m": s.start, "to_m": s.end, "length_m": s.length_m, "to": s.to} for s in one.spans]
    ways = [{"opening": w.opening, "clear_m": w.clear_m, "passage": w.passage} for w in one.ways_in]
    told |= as_json(one.chance)
    return told | {"clear": spans, "held_by": one.against, "would_fit_without": one.needs_out, "openings": ways}


def drawn(
    one: "Answer", survey: str, name: str | None, given: Sequence[str] | None, option: Sequence[str] | None,
    units: str, still: Path | None, show: bool, force: bool,
) -> None:  # fmt: skip
    """Draw a thing in its place."""
    from tapeloft.cli.asking import asked_survey, built
    from tapeloft.cli.printing import say
    from tapeloft.model.errors import TapeloftError

    if one.stowed is None:
        raise TapeloftError(f"{one.gear.name} has no place in {one.compartment} to draw")
    asked = asked_survey(survey, name, given, option)
    (whole,) = built([asked])
    if still is not None:
        from tapeloft.viewer.still import draw_still

        draw_still(whole, still, stowed=[one.stowed], unit=units, boat=asked.boat, force=force)
        say(f"drew {still}")
    if show:
        from tapeloft.viewer.window import open_window

        open_window(whole, unit=units, stowed=[one.stowed])
