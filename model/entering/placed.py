"""Where the stations on the page are along the tape."""

from tapeloft.model.entering.held import CORNER
from tapeloft.model.entering.splicing import Page
from tapeloft.model.survey.copied import Shared, reader_of
from tapeloft.model.survey.reading import read


def along(page: Page, shared: Shared) -> dict[str, float]:
    """Return how far along the tape each station is, m, as they stand in the file; those that are read."""
    reader, written = reader_of(page.paper, shared), page.value(("station",))
    places = {name: ("station", name, "at") for name in (written if isinstance(written, dict) else ())}
    values = {name: read(reader, CORNER[2], page.value(place), place) for name, place in places.items()}
    return {name: reader.how.ahead * value for name, value in values.items() if value is not None}
