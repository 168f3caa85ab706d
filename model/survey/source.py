"""Where each reading of a survey was written: on which line of its file, or of the table beside it."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from tapeloft.model.survey.paper import Paper
from tapeloft.model.survey.places import Place


@dataclass(frozen=True)
class Source:
    """A survey's file and, where its readings lie in a table, that table's name and lines."""

    paper: Paper
    table: str = ""
    lines: Mapping[Place, int] = field(default_factory=dict, compare=False)

    @property
    def file(self) -> str:
        """The survey's file, as it was named."""
        return self.paper.file

    @property
    def data(self) -> Mapping[str, Any]:
        """What the survey's file holds."""
        return self.paper.data

    def place(self, path: Place) -> tuple[str, int | None]:
        """Return the file and the line of the reading at *path*, or of the nearest thing around it.

        >>> paper = Paper("locker.toml", "unit = 'mm'", {"unit": "mm"})
        >>> source = Source(paper, "locker.csv", {("station", "2"): 4, ("station", "2", "C"): 6})
        >>> source.place(("station", "2", "C", 0)), source.place(("unit",)), source.place(("station", "2", "D"))
        (('locker.csv', 6), ('locker.toml', 1), ('locker.csv', 4))
        """
        for length in range(len(path), 0, -1):
            if path[:length] in self.lines:
                return self.table, self.lines[path[:length]]
        return self.paper.file, self.paper.line(path)
