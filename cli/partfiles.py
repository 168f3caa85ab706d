"""The files of a part, each by its ending: templates, the cut list, the mesh of its pieces in their place."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from tapeloft.cli.options import ENDINGS

if TYPE_CHECKING:
    from tapeloft.model.cutting.told import Line
    from tapeloft.model.files.formats.registry import NamedSolid
    from tapeloft.model.solid import Solid
    from tapeloft.viewer.template.plan import Plan
    from tapeloft.viewer.template.template import Template
    from tapeloft.viewer.template.tiling import Paper

EACH = (".svg", ".dxf")
PIECE = re.compile(r"|-[A-Z]{1,2}(-across)?|-(sheet-|bracket )[0-9]+")  # what a piece's file is called, after the stem


@dataclass(frozen=True, eq=False)
class OnPaper:
    """What of a part goes on paper: its title, the lines of its cut list, a template of each piece.

    layouts: of the sheets that pieces are cut from. plan: of all pieces, dimensioned.
    """

    title: str
    lines: "Sequence[Line]"
    templates: "Sequence[Template]"
    layouts: "Sequence[Template]" = ()
    plan: "Plan | None" = None


def files_of(
    to: Sequence[Path], listed: OnPaper, pieces: "Sequence[tuple[str, Solid]]", paper: "Paper", remarks: Sequence[str]
) -> dict[Path, bytes]:
    """Return what is to be written, by file: templates, the cut list, the part's mesh in its place."""
    from tapeloft.model.errors import FileError

    data: dict[Path, bytes] = {}
    for path in to:
        ending = path.suffix.lower()
        if ending == ".pdf":
            from tapeloft.viewer.template.paper import as_pdf

            data[path] = as_pdf(listed.templates, paper, listed.title, remarks, listed.plan, listed.layouts)
        elif ending in EACH:
            data |= dict(_outlines(path, (*listed.templates, *listed.layouts)))
        elif ending == ".csv":
            from tapeloft.cli.cutlist import as_csv

            data[path] = as_csv(listed.lines)
        elif _is_mesh(path):
            data |= meshes_of([path], pieces)
        else:
            raise FileError(f"{path}: not a file that a part is written to\n    mend: let its name end in {ENDINGS}")
    return data


def left_behind(to: Sequence[Path], written: Sequence[str]) -> list[Path]:
    """Return the files of single pieces, named as this run names its own, that an earlier run left: none is of it."""
    own = {Path(name).resolve() for name in written}
    return [
        file
        for path in to
        if path.suffix.lower() in EACH and path.parent.is_dir()
        for file in sorted(path.parent.iterdir())
        if file.suffix == path.suffix and PIECE.fullmatch(file.stem.removeprefix(path.stem))
        if file.stem.startswith(path.stem) and file.resolve() not in own
    ]


def wants_mesh(to: Sequence[Path]) -> bool:
    """Whether a mesh is among the files that were asked for."""
    return any(map(_is_mesh, to))


def meshes_of(to: Sequence[Path], pieces: "Sequence[tuple[str, Solid]]") -> dict[Path, bytes]:
    """Return mesh files of a part in its place, by file; a format that holds one body has all its pieces in it."""
    from tapeloft.model.export import encoded, format_of
    from tapeloft.model.files.formats.registry import NamedSolid

    data: dict[Path, bytes] = {}
    for path in to:
        kind = format_of(path)
        parts = [NamedSolid(name, solid) for name, solid in pieces]
        data[path] = encoded(parts if kind.named else [_together(parts)], kind.ending)
    return data


def _is_mesh(path: Path) -> bool:
    from tapeloft.model.files.formats.registry import FORMATS

    return path.suffix.lower().removeprefix(".") in FORMATS


def _together(parts: "Sequence[NamedSolid]") -> "NamedSolid":
    from tapeloft.model.files.formats.registry import NamedSolid
    from tapeloft.model.solid import united

    return NamedSolid("part", united(part.solid for part in parts))


def _outlines(path: Path, templates: "Sequence[Template]") -> Iterator[tuple[Path, bytes]]:
    from tapeloft.viewer.template.dxf import as_dxf
    from tapeloft.viewer.template.svg import as_svg

    for one in templates:
        name = path if len(templates) == 1 else path.with_name(f"{path.stem}-{one.name.replace(' ', '-')}{path.suffix}")
        yield name, as_svg(one) if path.suffix.lower() == ".svg" else as_dxf(one)
