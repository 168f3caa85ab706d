"""The solids of a compartment as mesh files for the yard."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from tapeloft.model.compartment import Compartment
from tapeloft.model.errors import FileError, GeometryError, Problem, UnknownName
from tapeloft.model.files.formats.registry import FORMATS, Format, NamedSolid
from tapeloft.model.files.naming import distinct, file_stem, printable
from tapeloft.model.files.readback import may_differ, read_back
from tapeloft.model.files.writing import write_set
from tapeloft.model.solid import Solid


@dataclass(frozen=True)
class MeshPart:
    """One part of a mesh file; size_m: its length, breadth and height over all."""

    name: str
    triangles: int
    volume_m3: float
    size_m: tuple[float, float, float]


@dataclass(frozen=True)
class MeshFile:
    """One mesh file as it was written: `unit` is that of its coordinates.

    read_back_m3: the volume that another library found in it before it was written; it agreed.
    """

    path: str
    format: str
    unit: str
    size_bytes: int
    read_back_m3: float
    parts: tuple[MeshPart, ...]


@dataclass(frozen=True)
class Exported:
    """The files that an export wrote; `axes` says whether they lie in the boat's axes or the compartment's own."""

    compartment: str
    axes: str
    files: tuple[MeshFile, ...]


def _net(compartment: Compartment) -> list[NamedSolid]:
    return [NamedSolid("net", compartment.net)]


def _gross(compartment: Compartment) -> list[NamedSolid]:
    return [NamedSolid("gross", compartment.gross)]


def _bays(compartment: Compartment) -> list[NamedSolid]:
    return [NamedSolid(bay.name, bay.solid) for bay in compartment.bays]


def _obstructions(compartment: Compartment) -> list[NamedSolid]:
    return [NamedSolid(piece.name, piece.solid) for piece in compartment.pieces]


def _parts(compartment: Compartment) -> list[NamedSolid]:
    return [
        NamedSolid(part.name if len(part.bodies) == 1 else f"{part.name} {letter}", body)
        for part in compartment.fitted
        for letter, body in part.bodies
    ]


def _all(compartment: Compartment) -> list[NamedSolid]:
    bays = _bays(compartment) if len(compartment.bays) > 1 else []  # a single bay is the net space again
    return [*_net(compartment), *_gross(compartment), *bays, *_obstructions(compartment), *_parts(compartment)]


CHOICES: dict[str, Callable[[Compartment], list[NamedSolid]]] = {
    "net": _net,
    "gross": _gross,
    "bays": _bays,
    "obstructions": _obstructions,
    "parts": _parts,
    "all": _all,
}


def exported(
    compartment: Compartment,
    path: Path,
    what: str = "net",
    *,
    each: bool = False,
    placed: Sequence[float] | None = None,
    force: bool = False,
) -> Exported:
    """Write solids of *compartment* to *path*, in the format that its ending names.

    what: one of CHOICES. With *each*, every part goes to a file of its own beside *path*, whose stem is
    carried on by the part's name: locker.stl becomes locker-net.stl, locker-bay-1.stl. placed (3,) m: where
    the compartment's datum lies in the boat; left out, the mesh stays in the compartment's own axes. All
    files are written or none; an existing one only with *force*.

    Raises UnknownName for a format or choice that there is not, GeometryError where there is nothing to
    write, FileError where it cannot be written.
    """
    kind = format_of(path)
    parts = _placed(_chosen(compartment, what), placed)
    if each:
        stems = distinct((f"{path.stem}-{file_stem(part.name)}" for part in parts), joint="-")
        sets = {path.with_name(f"{stem}{path.suffix}"): [part] for stem, part in zip(stems, parts, strict=True)}
    else:
        sets = {path: parts}
    data = {file: encoded(held, kind.ending) for file, held in sets.items()}
    files = tuple(_told(file, kind, held, data[file]) for file, held in sets.items())
    write_set(data, force=force)
    return Exported(compartment.name, "compartment" if placed is None else "boat", files)


def encoded(parts: Sequence[NamedSolid], ending: str) -> bytes:
    """Return the bytes of a mesh file of *parts* in the format whose files end in *ending*.

    Names are put on one line and numbered where two are alike; the same parts give the same bytes. Raises
    UnknownName, FileError where the format cannot tell several parts apart, GeometryError for an empty part.

    >>> from tapeloft.model.solid import closed
    >>> v, t = [[0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1]], [[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]]
    >>> print(encoded([NamedSolid("bay 1", closed(v, t))], "obj").decode()[:71])
    # tapeloft, unit mm, x forward, y to port, z up
    o bay_1
    g bay_1
    v 0 0 0
    """
    kind = _known(ending)
    if not parts:
        raise GeometryError("there is nothing to write")
    for part in parts:
        if part.solid.is_empty:
            raise GeometryError(f"{part.name} encloses nothing, so there is no surface to write")
    if len(parts) > 1 and not kind.named:
        named = ", ".join(f".{other.ending}" for other in FORMATS.values() if other.named)
        what = f"a .{ending} file holds one body without a name, and {len(parts)} parts would run together"
        raise FileError(str(Problem(what, f"write one file a part with --each, or choose {named}")))
    names = distinct(printable(part.name) for part in parts)
    return kind.encode([NamedSolid(name, part.solid) for name, part in zip(names, parts, strict=True)])


def format_of(path: Path) -> Format:
    """Return the format that the ending of *path* names; raises UnknownName.

    >>> format_of(Path("locker.STL")).unit
    'mm'
    """
    return _known(path.suffix.removeprefix(".").lower())


def _known(ending: str) -> Format:
    if ending not in FORMATS:
        raise UnknownName("mesh format", ending, list(FORMATS))
    return FORMATS[ending]


def _chosen(compartment: Compartment, what: str) -> list[NamedSolid]:
    if what not in CHOICES:
        raise UnknownName("choice of solids", what, list(CHOICES))
    parts = CHOICES[what](compartment)
    if not parts:
        raise GeometryError(f"{compartment.name} has no {what} to write")
    return parts


def _placed(parts: list[NamedSolid], at: Sequence[float] | None) -> list[NamedSolid]:
    if at is None:
        return parts
    return [NamedSolid(part.name, part.solid.moved(at)) for part in parts]


def _size(solid: Solid) -> tuple[float, float, float]:
    length, breadth, height = (solid.bounds[1] - solid.bounds[0]).tolist()
    return length, breadth, height


def _told(path: Path, kind: Format, parts: Sequence[NamedSolid], data: bytes) -> MeshFile:
    """Return what is to be told of a file, once it has been read back and agrees."""
    names = distinct(printable(part.name) for part in parts)
    told = tuple(
        MeshPart(name, len(part.solid.triangles), part.solid.volume, _size(part.solid))
        for name, part in zip(names, parts, strict=True)
    )
    found, allowed = read_back(data, kind), 1e-12
    for part in parts:
        allowed += may_differ(kind, part.solid.area, float(np.abs(part.solid.bounds).max()))
    if abs(found - sum(part.volume_m3 for part in told)) > allowed:
        raise GeometryError(f"{path.name} reads back as {found * 1000:.3f} l, not what was put in: nothing is written")
    return MeshFile(str(path), kind.ending, kind.unit, len(data), found, told)
