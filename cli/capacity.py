"""tapeloft capacity."""

from typing import TYPE_CHECKING, Annotated, Literal

import typer

from tapeloft.cli.options import AsJson, Given, OneName, Options, SurveyFile, UnitsOption

if TYPE_CHECKING:
    from tapeloft.model.solid import Solid


def capacity(
    survey: SurveyFile,
    compartment: OneName = None,
    heights: Annotated[
        str, typer.Option(metavar="LIST", help='heights to tell, "100, 200, 4 in", or "12,5; 20"; left out: in steps')
    ] = "",
    steps: Annotated[int, typer.Option(min=1, max=10_000, help="how many steps from bottom to top")] = 10,
    bay: Annotated[
        str | None, typer.Option(metavar="NAME", help="one bay alone; left out: the whole net space")
    ] = None,
    liquid: Annotated[Literal["fresh", "sea"], typer.Option(help="water for the mass if flooded")] = "sea",
    as_json: AsJson = False,
    given: Given = None,
    option: Options = None,
    units: UnitsOption = "mm",
) -> None:
    """What it holds up to each height, and the mass if flooded.

    Litres, plan area, centroid and the second moments of the free surface, exact for the mesh. ± is one standard
    deviation: of the litres at that height, of the height for so many litres, of the plan area, of the centroid.
    """
    from tapeloft.cli.asking import asked_survey, built
    from tapeloft.cli.basis import bases, say_bases
    from tapeloft.cli.plusminus import deviation, say_filled_off, spread_of, square_off
    from tapeloft.cli.printing import Table, print_json, print_tables, say_notes
    from tapeloft.cli.progress import each
    from tapeloft.model.capacity import filled_to
    from tapeloft.model.cautions import cautions_for
    from tapeloft.model.plusminus.stated import filled_off
    from tapeloft.model.spaces import bay_called
    from tapeloft.model.units import FRESH_WATER, SEA_WATER, figure

    one = asked_survey(survey, compartment, given, option)
    (whole,) = built([one])
    part = None if bay is None else bay_called(whole, bay)
    solid = whole.net if part is None else part.solid
    found = filled_to(solid, _levels(heights, steps, solid, one.unit))
    bay = None if part is None else part.name
    off = filled_off(whole, bay, found.heights_m.tolist(), lambda some: each(some, "filling"))
    density = SEA_WATER if liquid == "sea" else FRESH_WATER
    mass = found.flooded_kg(density)
    said = (*cautions_for(one), "Heights are level with the datum; air caught under an overhang counts as filled.")
    if as_json:
        print_json(
            "capacity",
            compartment=whole.name,
            bay=part and part.name,
            density_kg_m3=density,
            capacity=found,
            flooded_kg=mass,
            plus_minus=off,
            basis=bases([whole]),
            notes=whole.notes,
            cautions=said,
        )
        return
    none = [float("nan")] * len(mass)
    off_rows = [one.tolist() for one in (off.volume_sd_m3, off.height_sd_m, off.plan_area_sd_m2)] if off else [none] * 3
    off_rows.append(off.centroid_sd_m.tolist() if off else [[float("nan")] * 3] * len(mass))
    rows = [
        (
            figure(h, units),
            f"{v * 1000:.2f}",
            deviation(vs, 1e3, 2),
            spread_of(hs, units),
            f"{a:.4f}",
            square_off(as_),
            *(figure(c, units) if c == c else "" for c in centre),
            *(spread_of(c, units) for c in centre_sd),
            f"{it:.5f}",
            f"{il:.5f}",
            f"{m:.1f}",
        )
        for h, v, a, centre, it, il, m, vs, hs, as_, centre_sd in zip(
            found.heights_m.tolist(),
            found.volume_m3.tolist(),
            found.plan_area_m2.tolist(),
            found.centroid_m.tolist(),
            found.transverse_m4.tolist(),
            found.longitudinal_m4.tolist(),
            mass.tolist(),
            *off_rows,
            strict=True,
        )
    ]
    head = (
        f"height, {units}",
        "litres",
        "± l",
        "± height",
        "plan m²",
        "± m²",
        "x fwd",
        "y port",
        "z up",
        "± x",
        "± y",
        "± z",
        "i trans m⁴",
        "i long m⁴",
        f"{liquid} kg",
    )
    print_tables([Table(f"{whole.name}{f', {part.name}' if part else ''}", head, rows)])
    say_bases([whole])
    say_filled_off(whole, off)
    say_notes(whole.notes, said)


def _levels(heights: str, steps: int, solid: "Solid", unit: str) -> list[float]:
    from tapeloft.model.errors import TapeloftError
    from tapeloft.model.units import Misread, length

    if not heights:
        low, high = solid.bounds[:, 2].tolist()
        return [low + (high - low) * k / steps for k in range(1, steps + 1)]
    levels = []
    for text in heights.split(";" if ";" in heights else ","):
        try:
            levels.append(length(text.strip(), unit))
        except Misread as bad:
            raise TapeloftError(f"--heights: {bad}") from None
    return levels
