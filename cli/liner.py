"""tapeloft liner."""

from pathlib import Path
from typing import Annotated

import typer

from tapeloft.cli.asking import asked_survey, built
from tapeloft.cli.options import AsJson, Force, Given, OneName, Options, Still, SurveyFile, UnitsOption
from tapeloft.cli.part import Out, Part, hold_picture, leave, tell
from tapeloft.cli.plusminus import litres_beside, square_beside
from tapeloft.cli.printing import Table
from tapeloft.cli.sizes import size

SHAPE = (
    "Over every face it is just so thick, and where walls meet the space within is sharp. Round what stands into the "
    "space it is drawn by chords, a little thinner there than the thickness asked for; the least was measured."
)


def liner(
    survey: SurveyFile,
    compartment: OneName = None,
    thickness: Annotated[
        str, typer.Option(metavar="LENGTH", help="of its walls, mm unless a unit stands behind")
    ] = "6",
    density: Annotated[float, typer.Option(metavar="KG", help="of what it is made of, kg/m³")] = 1500.0,
    to: Annotated[
        list[Path] | None, typer.Option("--to", metavar="FILE", help="a mesh file, again for more: .stl .obj .ply …")
    ] = None,
    still: Still = None,
    as_json: AsJson = False,
    given: Given = None,
    option: Options = None,
    units: UnitsOption = "mm",
    force: Force = False,
) -> None:
    """A liner: the net space shrunk by a thickness, open at the lids, as a closed mesh."""
    from tapeloft.model.cautions import cautions_for
    from tapeloft.model.cutting.liner import liner_of
    from tapeloft.model.cutting.told import digest
    from tapeloft.model.plusminus.lined import lined_off
    from tapeloft.model.units import figure
    from tapeloft.viewer.cutopen import cut_open

    hold_picture(still, force=force)
    one = asked_survey(survey, compartment, given, option)
    (whole,) = built([one])
    made = liner_of(whole, size("thickness", thickness), density)
    off = lined_off(whole, made.thickness)
    rows = [
        ("thickness over its faces", figure(made.thickness, units), units),
        ("thinnest, measured", f"{made.thinnest_m * 1000:.3f}", "mm"),
        ("it takes", litres_beside(made.lost_m3, off.lost_sd_m3 if off else None, 2), "litres"),
        ("and leaves", litres_beside(made.left_m3, off.left_sd_m3 if off else None, 2), "litres"),
        ("lies against", square_beside(made.area_m2, off.area_sd_m2 if off else None, 3), "m²"),
        (f"mass at {density:g} kg/m³", f"{made.mass_kg:.2f}", "kg"),
        ("open at", ", ".join(made.open) or "nothing", ""),
    ]
    part = Part(
        "liner", whole, pieces=lambda: [("liner", made.solid)],
        answer={
            "thickness_m": made.thickness, "thinnest_m": made.thinnest_m, "lost_m3": made.lost_m3,
            "left_m3": made.left_m3, "area_m2": made.area_m2, "density_kg_m3": density, "mass_kg": made.mass_kg,
            "plus_minus": off, "open": made.open, "survey": digest(one),
        },
        tables=[Table(whole.name, ("liner", "", ""), rows, words=(2,))],
        cautions=(SHAPE, *cautions_for(one)), ways=[f"{off.words}; one standard deviation"] if off else [],
        remarks=made.notes, in_place=[("liner, cut open", cut_open(made.solid))] if still else None,
    )  # fmt: skip
    out = Out(to or (), still, as_json, units, force)
    tell(part, out, leave(part, out))
