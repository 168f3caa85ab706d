"""The measuring sheet as it goes to the locker: what is known stands on it, and there is a box for all that is not."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from tapeloft.model.measuring.section import Section, Tape
from tapeloft.model.measuring.tapes import check_tapes
from tapeloft.model.survey.sheet import Craft, Datum, Space

Told = tuple[str, str]
"""A label, and the reading that stands for it; "" leaves its box empty."""


@dataclass(frozen=True)
class Reading:
    """The boxes of one letter at a station: half-breadth, height and its own distance, as text, "" for an empty box."""

    mark: str
    half_breadth: str = ""
    height: str = ""
    own_at: str = ""


@dataclass(frozen=True)
class StationLines:
    """What one station has on the sheet; tapes by their labels, each with its reading.

    at: its distance as it stands on paper. enough: how many of the tapes across, from the first, touch every letter.
    onto: the station that *onward* goes to. leans: how the bulkhead leans, in words. pointed: the space closes to a
    point. step: it changes size in the plane of the station before. own: its letters have distances of their own.
    """

    name: str
    at: str
    readings: tuple[Reading, ...]
    across: tuple[Told, ...]
    enough: int
    girths: tuple[Told, ...]
    onward: tuple[Told, ...]
    onto: str = ""
    leans: str = ""
    pointed: bool = False
    step: bool = False
    own: bool = False
    photo: str = ""
    remark: str = ""


@dataclass(frozen=True)
class Thing:
    """Something that stands in the space, an opening or a drain: its name, what it is, and its readings by their names.

    words: the readings in words, for where the sheet has not boxes of their own for all of them.
    """

    name: str
    what: str = ""
    readings: Mapping[str, str] = field(default_factory=dict)
    words: str = ""


@dataclass(frozen=True)
class Form:
    """A measuring sheet. Text stands as on paper, in *unit*; "" is an empty box.

    side: +1 to port, -1 to starboard, 0 where it is across the centreline or not said. filled: whether the sheet is
    for one compartment of a survey. letters: each with what it is. sections: about where the letters lie, m, for the
    sketches. plan: openings seen from above, (x low, y low, x high, y high) m. twin_of: the sister in whose sides a
    twin is written. from_face: half-breadth of the face that offsets are taped from.
    measured_to, use: as they were typed, "" where they were not: a sheet presumes neither.
    """

    name: str
    craft: Craft
    space: Space
    datum: Datum
    unit: str
    side: float
    filled: bool
    letters: tuple[Told, ...]
    stations: tuple[StationLines, ...]
    sections: tuple[Section, ...]
    over_all: tuple[Told, ...]
    twin: tuple[Told, ...]
    obstructions: tuple[Thing, ...] = ()
    openings: tuple[Thing, ...] = ()
    drains: tuple[Thing, ...] = ()
    grate: str | None = None
    plan: tuple[tuple[float, float, float, float], ...] = ()
    measured_to: str = ""
    use: str = ""
    twin_of: str = ""
    from_face: str = ""

    @property
    def across(self) -> bool:
        """Whether the sections run across the centreline: some half-breadths are to port, some to starboard."""
        breadths = [y for one in self.sections for _, y, _ in one.corners]
        return bool(breadths) and min(breadths) < -1e-6 and max(breadths) > 1e-6

    @property
    def tapes(self) -> tuple[Told, ...]:
        """Every check tape on the sheet, in its order, each once."""
        each = [tape for one in self.stations for tape in (*one.across, *one.girths, *one.onward)]
        return tuple(dict([*each, *self.over_all]).items())


def blank_form(sections: Sequence[Section], unit: str, side: float = 0.0) -> Form:
    """Return an empty sheet for such *sections*, which only tell its letters and about how they lie."""
    tapes = check_tapes(sections)

    def empty(several: Sequence[Tape]) -> tuple[Told, ...]:
        return tuple((tape.label, "") for tape in several)

    onto = [one.station for one in sections[1:]] + [""]
    bays = [*tapes.along, ()]
    lines = tuple(
        StationLines(
            one.station,
            "",
            tuple(Reading(mark) for mark in one.marks),
            empty(tapes.across[k].tapes),
            tapes.across[k].enough,
            empty(tapes.across[k].girths),
            empty(bays[k]),
            onto[k],
        )
        for k, one in enumerate(sections)
    )
    return Form(
        name="",
        craft=Craft(),
        space=Space(""),
        datum=Datum(),
        unit=unit,
        side=side,
        filled=False,
        letters=tuple((mark, "") for mark in dict.fromkeys(mark[:1] for mark in sections[0].marks)),
        stations=lines,
        sections=tuple(sections),
        over_all=empty(tapes.over_all),
        twin=empty(tapes.twin),
    )
