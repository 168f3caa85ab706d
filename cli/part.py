"""A part that was made: written, drawn in its place, and told, with a status that says whether it serves."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import typer

from tapeloft.cli.basis import bases, say_bases
from tapeloft.cli.options import goes_with
from tapeloft.cli.partfiles import OnPaper, files_of, left_behind, meshes_of, wants_mesh
from tapeloft.cli.printing import Table, print_json, print_tables, say, say_notes

if TYPE_CHECKING:
    from tapeloft.model.compartment import Compartment
    from tapeloft.model.cutting.laying import Section
    from tapeloft.model.cutting.told import Line
    from tapeloft.model.solid import Solid
    from tapeloft.viewer.template.tiling import Paper

    Named = Sequence[tuple[str, Solid]]

LEFT = "{} is there from another run, and no piece of this one: cut nothing by it"


@dataclass(frozen=True)
class Out:
    """What is to come of a part: files, a picture, tables or JSON, the units lengths are printed in."""

    to: Sequence[Path]
    still: Path | None
    as_json: bool
    units: str
    force: bool
    paper: "Paper | None" = None
    exploded: bool = False


@dataclass(frozen=True, eq=False)
class Part:
    """A part in its compartment, and what its command has to say of it.

    pieces: each in its place, made when a mesh or a picture wants them. answer: its own keys of the JSON.
    on_paper: what is listed and cut; None for a part that is a mesh and nothing else. ways: in words, how pieces go in.
    in_place: what a picture shows where that is not its pieces. serves: else the status is 1.
    """

    command: str
    whole: "Compartment"
    pieces: "Callable[[], Named]"
    answer: dict[str, Any]
    tables: Sequence[Table]
    cautions: tuple[str, ...]
    on_paper: OnPaper | None = None
    ways: Sequence[str] = ()
    remarks: tuple[str, ...] = ()
    in_place: "Named | None" = None
    serves: bool = True


def hold_picture(picture: Path | None, *, force: bool, exploded: bool = False) -> None:
    """Refuse a picture that could not be written, or is to be *exploded* and is none, before anything else is done."""
    from tapeloft.model.errors import FileError
    from tapeloft.model.files.writing import hold_names

    goes_with("--exploded", exploded, {"--still FILE.png": picture})
    if picture is not None and picture.suffix.lower() != ".png":
        raise FileError(f"{picture}: a still is a PNG picture\n    mend: give it a name that ends in .png")
    if picture is not None:
        hold_names([picture], force=force)


def hold_paper(paper: "Paper | None", to: Sequence[Path] | None) -> None:
    """Refuse a paper that nothing is to be printed on."""
    goes_with("--paper", paper, {"--to FILE.pdf": any(file.suffix.lower() == ".pdf" for file in to or ())})


def goes_in(parts: "Sequence[Line | Section]", openings: int, most: float = math.inf) -> bool:
    """Whether each piece goes in through one of the openings there are, if any, and weighs no more than *most*, kg."""
    return (not openings or all(one.passages for one in parts)) and all(one.mass_kg <= most for one in parts)


def leave(part: Part, out: Out) -> list[str]:
    """Write the files of a part, draw it, and return the names of all that was written."""
    from tapeloft.model.files.writing import write_set

    pieces = part.pieces() if out.still or wants_mesh(out.to) else ()
    if part.on_paper is None:
        files = meshes_of(out.to, pieces)
    else:
        remarks = (*filter(None, [part.whole.basis]), *part.remarks, *part.cautions)
        files = files_of(out.to, part.on_paper, pieces, out.paper or "a4", remarks)
    write_set(files, force=out.force)
    if out.still is None:
        return [*map(str, files)]
    _draw(part, pieces, out.still, out)
    return [*map(str, files), str(out.still)]


def tell(part: Part, out: Out, written: Sequence[str]) -> None:
    """Print what there is to say of a part and what was written; end with status 1 where it does not serve."""
    whole = part.whole
    remarks = (*part.remarks, *(LEFT.format(file) for file in left_behind(out.to, written)))
    if out.as_json:
        print_json(
            part.command, compartment=whole.name, **part.answer, files=written, remarks=remarks,
            basis=bases([whole]), notes=whole.notes, cautions=part.cautions,
        )  # fmt: skip
    else:
        print_tables(table for table in part.tables if table.rows)
        for line in (*part.ways, *(f"note: {remark}" for remark in remarks)):
            say(line)
        say_bases([whole])
        say_notes(whole.notes, part.cautions)
        for file in written:
            say(f"wrote {file}")
    if not part.serves:
        raise typer.Exit(1)


def _draw(part: Part, pieces: "Named", still: Path, out: Out) -> None:
    """Draw a part in its place in the compartment, or its pieces moved apart."""
    from tapeloft.model.stowed import Stowed
    from tapeloft.viewer.exploding import moved_apart
    from tapeloft.viewer.still import draw_still

    if out.exploded:
        stowed = moved_apart([Stowed(name, solid) for name, solid in pieces])
    else:
        shown = pieces if part.in_place is None else part.in_place
        stowed = [Stowed(name, solid) for name, solid in shown]
    draw_still(part.whole, still, stowed=stowed, unit=out.units, boat=part.whole.survey.boat, force=out.force)
