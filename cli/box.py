"""tapeloft box."""

from typing import TYPE_CHECKING, Annotated, Any

import typer

from tapeloft.cli.options import AsJson, Given, Name, Options, SurveyFile, UnitsOption

if TYPE_CHECKING:
    from tapeloft.model.boxes import BoxFound
    from tapeloft.model.compartment import Compartment


def box(
    survey: SurveyFile,
    compartment: Name = None,
    on: Annotated[
        str | None,
        typer.Option(
            metavar="WHAT", help='standing on the "sole", the "grate", or a shelf at a height; left out: anywhere'
        ),
    ] = None,
    height: Annotated[str | None, typer.Option(metavar="LENGTH", help="the box must be this high")] = None,
    clearance: Annotated[str, typer.Option(metavar="LENGTH", help="keep this clear all round")] = "0 mm",
    within: Annotated[
        float | None, typer.Option(metavar="SECONDS", min=0, help="stop then, with what is proved so far")
    ] = None,
    tolerance: Annotated[
        float, typer.Option(min=1e-6, max=1, help="how close the limit must come, as a share")
    ] = 0.005,
    as_json: AsJson = False,
    given: Given = None,
    option: Options = None,
    units: UnitsOption = "mm",
) -> None:
    """The largest upright box, and the most that any could be.

    Sides square to the boat. The box is proved inside; no box of the kind asked for is larger than the limit.
    Status 1 where none fits.
    """
    from tapeloft.cli.asking import asked_surveys, built, told_once
    from tapeloft.cli.boxing import found_box
    from tapeloft.cli.printing import Table, print_json, print_tables, say, say_notes
    from tapeloft.cli.progress import each
    from tapeloft.model.cautions import cautions_for

    surveys = asked_surveys(survey, compartment, given, option)
    spaces = built(surveys)
    answers, tried = [], []
    for one in each(spaces, "searching"):
        rules = _rules(one, on, height, clearance)
        answers.append((one.name, found_box(one, tolerance=tolerance, within_s=within, **rules)))
        tried.append((rules.get("stands_on"), _tried(one.name, rules, units)))
    said = tuple(dict.fromkeys(text for one in surveys for text in cautions_for(one)))
    notes = told_once(note for one in spaces for note in one.notes)
    if as_json:
        boxes = [
            {"compartment": name, "box": _as_json(found), "stood_at_m": heights}
            for (name, found), (heights, _) in zip(answers, tried, strict=True)
        ]
        print_json("box", boxes=boxes, notes=notes, cautions=said)
    else:
        head = ("compartment", f"L × B × H, {units}", "litres", "limit, litres", "gap", "from x, y, z", "to x, y, z")
        print_tables([Table("largest upright box", head, [_row(name, found, units) for name, found in answers])])
        for _, text in tried:
            if text:
                say(text)
        say_notes(notes, (*said, "Only the stowed place is checked, not whether it can be passed in through the lid."))
    raise typer.Exit(0 if all(found for _, found in answers) else 1)


def _as_json(found: "BoxFound | None") -> "dict[str, object] | None":
    """Return a box by its names, each ending in its unit."""
    if found is None:
        return None
    told = {field: getattr(found, field) for field in found.__dataclass_fields__}
    return {"low_m": told.pop("low"), "high_m": told.pop("high"), **told}


def _rules(one: "Compartment", on: str | None, height: str | None, clearance: str) -> dict[str, Any]:
    from tapeloft.model.errors import TapeloftError
    from tapeloft.model.flats import flats
    from tapeloft.model.units import Misread, length

    asked = {"height": height, "clearance": clearance, "on_grate": None if on in ("sole", "grate") else on}
    rules: dict[str, Any] = {}
    for name, text in asked.items():
        try:
            rules |= {} if text is None else {name: length(text, one.survey.unit)}
        except Misread as bad:
            raise TapeloftError(f"--{name.replace('on_grate', 'on')}: {bad}") from None
    if on == "sole":
        rules["stands_on"] = flats(one.inside)
    if on == "grate":
        if one.survey.grate is None:
            raise TapeloftError(f"{one.name} has no grate: give its height under [grate], or name a height with --on")
        rules["on_grate"] = one.survey.grate.height
    return rules


def _tried(name: str, rules: dict[str, Any], units: str) -> str:
    """Say at which heights a box was stood: the limit is that of boxes there."""
    from tapeloft.model.units import figure

    if "stands_on" not in rules:
        return ""
    heights = ", ".join(figure(z, units) for z in sorted(rules["stands_on"]))
    return f"{name}: stood on the flats of its sole, at {heights or 'no height: it has none'}; the limit is for those"


def _row(name: str, found: "BoxFound | None", units: str) -> tuple[str, ...]:
    from tapeloft.model.units import figure, figure_down

    if found is not None and not found.volume_m3:
        return (name, "none yet: undecided", "", f"{found.limit_m3 * 1000:.1f}", "", "", "")
    if found is None:
        return (name, "none to speak of", "", "", "", "", "")
    sizes = [b - a for a, b in zip(found.low, found.high, strict=True)]
    return (
        name,
        " × ".join(figure_down(s, units) for s in sizes),
        f"{found.volume_m3 * 1000:.1f}",
        f"{found.limit_m3 * 1000:.1f}",
        f"{found.gap:.2%}" if found.proved else f"{found.gap:.1%}, undecided",
        ", ".join(figure(p, units) for p in found.low),
        ", ".join(figure(p, units) for p in found.high),
    )
