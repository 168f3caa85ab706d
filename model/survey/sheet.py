"""What a survey file may say: one table a dataclass, as a measuring sheet has its boxes.

These definitions are read by `model.reading` and described to editors by `model.schema`. All lengths are
metres in compartment axes once read.
"""

import datetime
from dataclasses import dataclass, field
from typing import Annotated, Literal

from tapeloft.model.parts.registry import Kind
from tapeloft.model.survey.reader import REST, AsWritten, Named
from tapeloft.shapes.readings import Angle, AtX, AtY, AtZ, Breadth, FilePath, Height, Length, Mass, Several, Station
from tapeloft.shapes.registry import Shape

Unit = Literal["mm", "cm", "m", "in", "ft", "ft-in-8"]
Use = Literal["dry", "wet", "gas", "chain", "general"]
Side = Literal["port", "starboard", "both"]
Corner = Annotated[
    tuple[str | float, ...], AsWritten("half-breadth, height, and its own distance if it has one", least=2, most=3)
]
Parameter = Annotated[str | float, AsWritten('a length, or a sum of named lengths, "=step * 2 + 12"')]


@dataclass(frozen=True)
class Craft:
    """The boat, as far as one sheet needs to know it."""

    name: str = ""
    type: str = ""
    builder: str = ""
    hull_number: int | None = None
    notes: str = ""


@dataclass(frozen=True)
class Tape:
    """The tape that was used: its class and how its zero was taken."""

    id: str = ""
    accuracy_class: Literal["I", "II", "III", ""] = ""
    length: Annotated[float | None, Length("length of the tape")] = None
    end: str = ""
    checked_against: str = ""


@dataclass(frozen=True)
class Space:
    """The compartment: what it is, what it is for, and how it was measured."""

    compartment: Annotated[str, Named("what it is called on board")]
    use: Use = "general"
    finish: str = ""
    date: datetime.date | None = None
    state: str = ""
    tape: Tape = field(default_factory=Tape)
    measured_to: Literal["structure", "lining"] = "structure"
    lining: Annotated[float, Length("thickness of the lining")] = 0.0
    between: Literal["straight", "fair"] = "straight"
    load_limit: Annotated[float | None, Mass("most that may be stowed")] = None
    notes: str = ""


@dataclass(frozen=True)
class Datum:
    """Where zero is, and where that lies in the boat."""

    x_zero: str = ""
    x_positive: Literal["forward", "aft"] = "forward"
    y_zero: str = ""
    z_zero: str = ""
    x_zero_in_boat: Annotated[float | None, Length("forward of the boat's zero", least=-1e3)] = None
    y_zero_in_boat: Annotated[float, Length("to port of the boat's centreline", least=-1e3)] = 0.0
    z_zero_in_boat: Annotated[float, Height("above the boat's baseline")] = 0.0
    levelled: str = ""


@dataclass(frozen=True)
class Accuracy:
    """One standard deviation of each kind of reading; the defaults are proposed, not measured."""

    station: Annotated[float, Length("a station distance", least=1e-5)] = 0.002
    half_breadth: Annotated[float, Length("a half-breadth", least=1e-5)] = 0.003
    height: Annotated[float, Length("a height", least=1e-5)] = 0.003
    check: Annotated[float, Length("a check tape", least=1e-5)] = 0.002
    girth: Annotated[float, Length("a girth", least=1e-5)] = 0.004
    long_check: Annotated[float, Length("a long check tape", least=1e-5)] = 0.003


@dataclass(frozen=True)
class Marks:
    """The letters chalked on the structure, in order round the section, and what each one is."""

    side: Side = "both"
    order: tuple[str, ...] = ()
    about: dict[str, str] = field(default_factory=dict, metadata=REST)


@dataclass(frozen=True)
class Offsets:
    """A table of offsets: half-breadths at heights, from the centreline or from a face."""

    heights: Annotated[tuple[float, ...], Height("heights of the rows")] = ()
    inner_face: Annotated[float | None, Breadth("half-breadth of the inner face; left out: the centreline")] = None
    readings: Literal["half_breadth", "from_face"] = "half_breadth"


@dataclass(frozen=True)
class StationSheet:
    """One section: its distance from zero, and the readings taken there."""

    at: Annotated[float, Station("distance from zero")]
    rake: Annotated[tuple[float, float] | None, Length("leans this far forward, over this height", least=-1e3)] = None
    skew: Annotated[
        tuple[float, float] | None, Length("runs this far forward, over this breadth to port", least=-1e3)
    ] = None
    step: bool = False
    point: Corner | None = None
    points: tuple[Corner, ...] = ()
    order: tuple[str, ...] = ()
    heights: Annotated[tuple[float, ...], Height("heights of the rows, where they differ here")] = ()
    half_breadths: Annotated[tuple[float, ...], Length("offsets, one a height")] = ()
    inner: Annotated[tuple[float, ...], Length("offsets of the inner face, one a height")] = ()
    photo: str = ""
    remark: str = ""
    corners: dict[str, Corner] = field(default_factory=dict, metadata=REST)


@dataclass(frozen=True)
class Obstruction:
    """Something that stands in the space: its shape, and whether it can be taken out."""

    name: Annotated[str, Named("what it is called")]
    removable: bool = False
    structural: bool = False
    material: str = ""
    note: str = ""
    shape: Shape = field(default=None, metadata=REST)  # type: ignore[assignment]


@dataclass(frozen=True)
class Opening:
    """A lid or a door: its clear opening, its coaming, and how it swings."""

    name: Annotated[str, Named("what it is called")]
    wall: Literal["top", "bottom", "port", "starboard", "forward", "aft"]
    x: Annotated[float | None, Station("centre, fore and aft")] = None
    y: Annotated[float | None, Breadth("centre, athwartships")] = None
    z: Annotated[float | None, Height("centre, in height")] = None
    clear: Annotated[tuple[float, float], Length("clear size: fore-and-aft, athwartships, then height", least=1e-3)] = (
        0.4,
        0.4,
    )
    corner_radius: Annotated[float, Length("radius of the corners")] = 0.0
    depth: Annotated[float, Length("depth of the coaming")] = 0.0
    hinge: Literal["forward", "aft", "port", "starboard", "inboard", "outboard", "lifts off", ""] = ""
    opens_to: Annotated[float | None, Angle("how far it opens, in degrees")] = None
    note: str = ""


@dataclass(frozen=True)
class Drain:
    """A drain or limber hole."""

    name: Annotated[str, Named("what it is called")]
    diameter: Annotated[float, Length("bore", least=1e-3)]
    x: Annotated[float | None, Station("centre, fore and aft")] = None
    y: Annotated[float | None, Breadth("centre, athwartships")] = None
    z: Annotated[float | None, Height("centre, in height")] = None
    note: str = ""


@dataclass(frozen=True)
class Grate:
    """The height of the grate's upper face above the datum, and its thickness."""

    height: Annotated[float, Height("upper face")]
    thickness: Annotated[float, Length("thickness")] = 0.022


@dataclass(frozen=True)
class Part:
    """Something built into the space: its kind, in the words of the command that cuts it; it can be taken out."""

    name: Annotated[str, Named("what it is called")]
    removable: bool = True
    note: str = ""
    kind: Kind = field(default=None, metadata=REST)  # type: ignore[assignment]


@dataclass(frozen=True)
class SharedChanges:
    """A named set of changes that compartments share: what is left out where it stands, which lengths differ."""

    leave_out: tuple[str, ...] = ()
    set: dict[str, Parameter] = field(default_factory=dict)
    note: str = ""


@dataclass(frozen=True)
class Changes(SharedChanges):
    """A named set of changes: what is left out, what is put in, which lengths and readings differ."""

    obstruction: tuple[Obstruction, ...] = ()
    part: tuple[Part, ...] = ()
    station: dict[str, dict[str, Corner]] = field(default_factory=dict)


@dataclass(frozen=True)
class Twin(Changes):
    """The same space on the other side: mirrored on the centreline, with its differences and its own check tapes."""

    name: str = ""
    check: Annotated[dict[str, float], Length("check tape", least=1e-4)] = field(default_factory=dict)


@dataclass(frozen=True)
class Sheet:
    """One compartment's survey file."""

    format: Literal["tapeloft-survey"]
    version: Literal[1]
    survey: Space
    station: dict[str, StationSheet] = field(default_factory=dict)
    unit: Unit | None = None
    boat: Craft = field(default_factory=Craft)
    datum: Datum = field(default_factory=Datum)
    accuracy: Accuracy = field(default_factory=Accuracy)
    marks: Marks = field(default_factory=Marks)
    offsets: Offsets | None = None
    readings: Annotated[str, FilePath("table of readings beside this file, CSV")] = ""
    parameter: dict[str, Parameter] = field(default_factory=dict)
    check: Annotated[dict[str, float], Length("check tape, corner to corner", least=1e-4)] = field(default_factory=dict)
    obstruction: tuple[Obstruction, ...] = ()
    opening: tuple[Opening, ...] = ()
    drain: tuple[Drain, ...] = ()
    grate: Grate | None = None
    part: tuple[Part, ...] = ()
    option: dict[str, Changes] = field(default_factory=dict)
    twin: Twin | None = None


@dataclass(frozen=True)
class Trim:
    """The boat's own figures, for what loading does to her; read and kept."""

    displacement: Annotated[float | None, Mass("displacement")] = None
    load_limit: Annotated[float | None, Mass("maximum load, from the builder's plate")] = None
    waterline: Annotated[float | None, Height("datum waterline above the baseline")] = None
    centre_of_gravity: Annotated[tuple[AtX, AtY, AtZ] | None, Several("centre of gravity from the boat's zero")] = None
    notes: str = ""


@dataclass(frozen=True)
class BoatSheet:
    """boat.toml: what the compartments share."""

    format: Literal["tapeloft-boat"]
    version: Literal[1]
    boat: Craft
    compartments: tuple[str, ...]
    unit: Unit | None = None
    baseline: str = ""
    trim: Trim = field(default_factory=Trim)
    parameter: dict[str, Parameter] = field(default_factory=dict)
    option: dict[str, SharedChanges] = field(default_factory=dict)
