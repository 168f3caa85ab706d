"""tapeloft demo."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from tapeloft.cli.options import AsJson, Force, UnitsOption

if TYPE_CHECKING:
    from collections.abc import Iterable

    from tapeloft.model.compartment import Compartment


def demo(
    folder: Annotated[Path, typer.Argument(metavar="[DIR]", help="folder to write it in")] = Path("saltmarsh-heron"),
    stills: Annotated[bool, typer.Option("--stills/--no-stills", help="draw a picture of each compartment")] = True,
    as_json: AsJson = False,
    units: UnitsOption = "mm",
    force: Force = False,
) -> None:
    """Write the demo boat: surveys, table, meshes and pictures."""
    from tapeloft.cli.asking import built
    from tapeloft.cli.basis import bases, say_bases
    from tapeloft.cli.plusminus import said_of, say_plusminus
    from tapeloft.cli.printing import print_json, print_tables, say, say_notes
    from tapeloft.cli.progress import each
    from tapeloft.cli.volume import summary
    from tapeloft.model.areas import areas_to_coat
    from tapeloft.model.cautions import cautions_for
    from tapeloft.model.export import exported
    from tapeloft.model.files.naming import file_stem
    from tapeloft.model.plusminus.stated import stated
    from tapeloft.model.survey.boat import read_survey
    from tapeloft.model.volume import measured

    written = _sheets(folder, force)
    boat = read_survey(folder)
    spaces = built(boat.compartments)
    answers = []
    for one in each(spaces, "measuring"):
        size = measured(one)
        answers.append((size, areas_to_coat(one), stated(one, size)))
    for one in each(spaces, "writing meshes"):
        done = exported(one, folder / f"{file_stem(one.name)}.3mf", "all", force=force)
        written += [file.path for file in done.files]
        done = exported(one, folder / f"{file_stem(one.name)}.stl", "net", force=force)
        written += [file.path for file in done.files]
    if stills:
        written += _drawn(each(spaces, "drawing"), folder, units, force)
    said = tuple(dict.fromkeys(text for one in boat.compartments for text in cautions_for(one)))
    if as_json:
        both = [{"volume": v, "areas": a, "plus_minus": said_of(s)} for v, a, s in answers]
        print_json("demo", boat=boat.craft, compartments=both, basis=bases(spaces), files=written, cautions=said)
        return
    say(f"{boat.craft.name}, {boat.craft.type} (invented)")
    print_tables([summary(answers, units)])
    say_bases(spaces)
    say_plusminus([s for _, _, s in answers])
    say_notes([note for one in spaces for note in one.notes], said)
    say(f"wrote {len(written)} files in {folder}: open one, change a reading, then `tapeloft volume {folder}`")


def _sheets(folder: Path, force: bool) -> list[str]:
    """Write the survey files of the demo boat."""
    from importlib.resources import files

    from tapeloft.model.errors import FileError
    from tapeloft.model.files.writing import write_set

    source = files("tapeloft.shapes").joinpath("demo")
    sheets = [f for f in source.iterdir() if f.name.endswith((".toml", ".csv"))]
    if not force and any((folder / f.name).exists() for f in sheets):
        raise FileError(
            f"{folder} has a boat in it already: use her, name another folder, or write over it with --force"
        )
    folder.mkdir(parents=True, exist_ok=True)
    write_set({folder / f.name: f.read_bytes() for f in sheets}, force=force)
    return sorted(str(folder / f.name) for f in sheets)


def _drawn(compartments: "Iterable[Compartment]", folder: Path, units: str, force: bool) -> list[str]:
    """Draw each compartment; where this machine cannot draw, say why and go on: the figures stand without."""
    from tapeloft.cli.boxing import found_box
    from tapeloft.cli.printing import say
    from tapeloft.model.errors import TapeloftError
    from tapeloft.model.files.naming import file_stem
    from tapeloft.viewer.device import off_screen_window
    from tapeloft.viewer.still import draw_still

    try:
        off_screen_window()
    except TapeloftError as bad:
        say(str(bad))
        return []
    drawn = []
    for one in compartments:
        file = folder / f"{file_stem(one.name)}.png"
        draw_still(
            one, file, box=found_box(one.name, one.inside, one.outside), unit=units, boat=one.survey.boat, force=force
        )
        drawn.append(str(file))
    return drawn
