"""What is stowed, and where: a body in its place in a compartment, and how far it is clear of what is round it."""

from dataclasses import dataclass

from tapeloft.model.solid import Solid

Point = tuple[float, float, float]


@dataclass(frozen=True)
class Span:
    """A clearance: from a point of the thing stowed to a point of what it is clear of, m, compartment axes.

    length_m: as it is stated, never more than there is; to: the wall or the thing it is to, as a person calls it.

    >>> Span((0.4, 0.2, 0.1), (0.4, 0.0, 0.1), 0.2, "the starboard wall").to
    'the starboard wall'
    """

    start: Point
    end: Point
    length_m: float
    to: str


@dataclass(frozen=True, eq=False)
class Stowed:
    """A thing in its place, compartment axes; things alike bear the same name.

    leader: from where it belongs to where it is drawn, m, for one that is drawn elsewhere.
    """

    name: str
    body: Solid
    spans: tuple[Span, ...] = ()
    leader: tuple[Point, Point] | None = None
