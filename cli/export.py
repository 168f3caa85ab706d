"""tapeloft export."""

from pathlib import Path
from typing import Annotated, Literal

import typer

from tapeloft.cli.options import AsJson, Force, Given, OneName, Options, SurveyFile, UnitsOption


def export(
    survey: SurveyFile,
    compartment: OneName = None,
    to: Annotated[Path, typer.Option("--to", metavar="FILE", help="file to write: .stl .obj .ply .glb or .3mf")] = Path(
        "compartment.stl"
    ),
    what: Annotated[
        Literal["net", "gross", "bays", "obstructions", "parts", "all"], typer.Option(help="which solids")
    ] = "net",
    each: Annotated[bool, typer.Option("--each", help="one file for each part")] = False,
    boat_axes: Annotated[bool, typer.Option("--boat-axes", help="place it in the boat, not at its own datum")] = False,
    as_json: AsJson = False,
    given: Given = None,
    option: Options = None,
    units: UnitsOption = "mm",
    force: Force = False,
) -> None:
    """Write meshes for the yard. STL, OBJ, PLY and 3MF are in millimetres, GLB in metres."""
    from tapeloft.cli.asking import asked_survey, built
    from tapeloft.cli.basis import bases, say_bases
    from tapeloft.cli.printing import Table, print_json, print_tables, say_notes
    from tapeloft.model.cautions import cautions_for, cautions_of_parts
    from tapeloft.model.errors import TapeloftError
    from tapeloft.model.export import exported
    from tapeloft.model.units import figure

    one = asked_survey(survey, compartment, given, option)
    if boat_axes and one.datum.x_zero_in_boat is None:
        raise TapeloftError(
            f"{one.name}: x_zero_in_boat is missing under [datum], so its place in the boat is not known"
        )
    (whole,) = built([one])
    done = exported(whole, to, what, each=each, placed=one.placement if boat_axes else None, force=force)
    said = (*cautions_for(one), *cautions_of_parts(one))
    if as_json:
        print_json("export", exported=done, basis=bases([whole]), notes=whole.notes, cautions=said)
        return
    rows = [
        (
            file.path,
            part.name,
            file.unit,
            str(part.triangles),
            f"{part.volume_m3 * 1000:.2f}",
            " × ".join(figure(size, units) for size in part.size_m),
        )
        for file in done.files
        for part in file.parts
    ]
    head = ("file", "part", "unit", "triangles", "litres", f"over all, {units}")
    print_tables([Table(whole.name, head, rows)])
    say_bases([whole])
    say_notes(whole.notes, said)
