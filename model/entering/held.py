"""An answer held against what the reader of surveys takes in its place: what it would refuse is refused at once."""

import tomllib
from dataclasses import replace
from typing import Annotated, Any, get_args

from tapeloft.model.entering.splicing import Page
from tapeloft.model.survey.copied import Shared, reader_of
from tapeloft.model.survey.places import Place
from tapeloft.model.survey.reading import read, type_hints
from tapeloft.model.survey.sheet import Sheet
from tapeloft.model.units import Misread
from tapeloft.shapes.readings import Breadth, Height, Station

CORNER = (Annotated[float, Breadth()], Annotated[float, Height()], Annotated[float, Station()])
"""What the readings of a corner are: half-breadth, height, its own distance."""
TAPED = Annotated[float, get_args(type_hints(Sheet)["check"])[1]]
"""What a check tape is."""


def checked(page: Page, shared: Shared, hint: Any, text: str, place: Place, side: float = 0.0) -> Any:
    """Return what the survey's reader makes of *text*, TOML, at *place*; raises Misread with what it says against it.

    side: that of the corner's letter, +1 to port, -1 to starboard; 0 leaves it to the sheet or to the reading.
    """
    reader = reader_of(page.paper, shared)
    how = replace(reader.how, side=side or reader.how.side, walls=place[0] == "obstruction")
    reader = replace(reader, how=how, problems=[], faulty=[], of_all={})
    value = read(reader, hint, tomllib.loads(f"value = {text}")["value"], place)
    if reader.problems:
        raise Misread(reader.problems[0].what, reader.problems[0].mend)
    return value
