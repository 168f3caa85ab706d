"""A compartment as surveyed: every reading in metres and compartment axes, with its options applied."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from tapeloft.model.errors import Problem
from tapeloft.model.survey.places import Place
from tapeloft.model.survey.reader import Reader
from tapeloft.model.survey.sheet import Accuracy, Datum, Drain, Grate, Obstruction, Opening, Part, Space
from tapeloft.model.survey.source import Source
from tapeloft.model.survey.station import Station


@dataclass(frozen=True)
class Check:
    """A check tape: from corner to corner, (station, mark) each; three corners or more are a girth."""

    corners: tuple[tuple[str, str], ...]
    length: float


@dataclass(frozen=True)
class Survey:
    """One compartment, as surveyed. Lengths m; x forward, y to port, z up from the compartment's own datum.

    read_from: the half-breadth y of the face that offsets were taped from; 0 is the centreline. about: each letter that
    the sheet tells of, and what it is. sister: of a twin with check tapes of her own, those taken in her sister, as the
    readings were, between corners that both have; else None.
    """

    name: str
    space: Space
    datum: Datum
    stations: tuple[Station, ...]
    accuracy: Accuracy = field(default_factory=Accuracy)
    checks: tuple[Check, ...] = ()
    sister: tuple[Check, ...] | None = None
    obstructions: tuple[Obstruction, ...] = ()
    openings: tuple[Opening, ...] = ()
    drains: tuple[Drain, ...] = ()
    grate: Grate | None = None
    parts: tuple[Part, ...] = ()
    about: tuple[tuple[str, str], ...] = ()
    options: tuple[str, ...] = ()
    parameters: tuple[tuple[str, float], ...] = ()
    mirrored: bool = False
    side: float = 0.0
    read_from: float = 0.0
    unit: str = "mm"
    boat: str = ""
    source: Source | None = field(default=None, repr=False)

    @property
    def placement(self) -> tuple[float, float, float]:
        """Where the compartment's zero lies in the boat, m; x from the boat's own zero."""
        side = -1.0 if self.mirrored else 1.0
        return (self.datum.x_zero_in_boat or 0.0, side * self.datum.y_zero_in_boat, self.datum.z_zero_in_boat)

    def problem(self, path: Place, what: str, mend: str) -> Problem:
        """Return a problem with the reading at *path* of this survey's file."""
        if self.source is None:
            return Problem(what, mend, compartment=self.name)
        return Reader(self.source, compartment=self.name).problem(path, what, mend)

    def path_to_check(self, check: Check) -> Place:
        """Return where in the survey's file a check tape is written."""
        own: Place = ("check",) if self.sister is None else ("twin", "check")
        return (*own, "-".join(station + mark for station, mark in check.corners))

    def path_to_obstruction(self, name: str) -> Place:
        """Return where in the survey's file the obstruction called *name* is written."""
        return self._path_to("obstruction", name)

    def path_to_part(self, name: str) -> Place:
        """Return where in the survey's file the part called *name* is written."""
        return self._path_to("part", name)

    def path_to_corner(self, station: str, mark: str, number: int) -> Place:
        """Return where in the survey's file a corner is written: by its *mark*, or as the *number*th of its section."""
        path: Place = ("station", station)
        around: list[Place] = [("option", name) for name in reversed(self.options)]
        around += [("twin",)] if self.mirrored else []
        changed = next((one for one in around if mark in self._at((*one, *path))), ())
        here = self._at((*changed, *path))
        row = next((key for key in ("points", "half_breadths") if key in here), "")
        if row:
            return (*path, row, number) if row == "points" else (*path, row)
        return (*path, "point") if "point" in here else (*changed, *path, mark)

    def _path_to(self, kind: str, name: str) -> Place:
        return next((path for path in self._listed(kind) if self._at(path).get("name") == name), (kind,))

    def _listed(self, kind: str) -> Iterator[Place]:
        """Yield where each obstruction or part is written; those that options and the twin put in first."""
        around: list[Place] = [("option", name) for name in self.options]
        around += [("twin",), ()] if self.mirrored else [()]
        for path in around:
            listed = self._at(path).get(kind)
            for number in range(len(listed) if isinstance(listed, list) else 0):
                yield (*path, kind, number)

    def _at(self, path: Place) -> Mapping[str, object]:
        here: object = self.source.data if self.source else {}
        for step in path:
            if isinstance(here, Mapping):
                here = here.get(str(step))
            else:
                here = here[step] if isinstance(here, list) and isinstance(step, int) else None
        return here if isinstance(here, Mapping) else {}
