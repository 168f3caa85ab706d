"""What kind of reading a field is: markers that a field's type carries, `Annotated[float, Height()]`.

The reader of surveys turns what was taped into metres in compartment axes by these, and the JSON Schema is
made from them. A marker applies to every number inside the type it annotates.
"""

from dataclasses import dataclass
from typing import Annotated, Literal


@dataclass(frozen=True)
class Reading:
    """A number taken with the tape; `about` says in a few words what it is, for the schema and for messages."""

    about: str = ""


@dataclass(frozen=True)
class Station(Reading):
    """A distance along the boat from the datum, turned into x; "aft" and "forward" mean as far as the space goes."""


@dataclass(frozen=True)
class Breadth(Reading):
    """A half-breadth, turned into y; "p 240" or "s 240" names the side, "port" and "starboard" the far wall."""


@dataclass(frozen=True)
class Height(Reading):
    """A height above the datum, z; "bottom" and "top" mean as far as the space goes."""


@dataclass(frozen=True)
class Length(Reading):
    """A size, never less than `least` metres."""

    least: float = 0.0


@dataclass(frozen=True)
class Angle(Reading):
    """An angle in degrees on paper, radians inside."""


@dataclass(frozen=True)
class Mass(Reading):
    """A mass, "12 kg" or "26 lb"."""


@dataclass(frozen=True)
class Figure(Reading):
    """A plain number; `unit` is how its name ends where it is printed, "" for a share or a count."""

    unit: str = ""


@dataclass(frozen=True)
class Word(Reading):
    """One of the words that the type lists, which must be said: never guessed."""


@dataclass(frozen=True)
class Choice(Word):
    """One of the words that the type lists; left out of a survey, it is the field's default."""


@dataclass(frozen=True)
class Several(Reading):
    """Several readings together, each marked inside; a marker nearer to a number goes before one around it."""


@dataclass(frozen=True)
class FilePath(Reading):
    """A file named relative to the survey that names it."""


# a point
AtX = Annotated[float, Station("station")]
AtY = Annotated[float, Breadth("half-breadth")]
AtZ = Annotated[float, Height("height")]
Toward = Annotated[Literal["forward", "aft", "port", "starboard"], Word("the way that it rises")]

# a range or, square to the way that a shape runs, one reading
AlongOrAt = Annotated[float | tuple[float, float] | None, Station("station; from, to where it runs that way")]
AcrossOrAt = Annotated[float | tuple[float, float] | None, Breadth("half-breadth; from, to where it runs that way")]
UpOrAt = Annotated[float | tuple[float, float] | None, Height("height; from, to where it runs that way")]

# a range
Along = Annotated[tuple[float, float] | None, Station("from, to; left out: the whole length")]
Across = Annotated[tuple[float, float] | None, Breadth("from, to; left out: the whole breadth")]
Up = Annotated[tuple[float, float] | None, Height("from, to; left out: the whole height")]
Size = Annotated[float, Length("size")]
