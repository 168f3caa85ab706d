"""From what stands on the command line to the surveys it asks about."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tapeloft.model.survey import Boat, Survey


def asked_boat(path: str, given: Sequence[str] | None, options: Sequence[str] | None) -> "Boat":
    """Return the boat at *path* with `NAME=LENGTH` settings and options applied."""
    from tapeloft.model.survey import read_survey

    return read_survey(path, given=settings(given), options=tuple(options or ()))


def settings(given: Sequence[str] | None) -> dict[str, str]:
    """Return `NAME=LENGTH` settings by name; raise TapeloftError for one that is not so written."""
    from tapeloft.model.errors import TapeloftError

    lengths = {}
    for pair in given or ():
        name, equals, value = pair.partition("=")
        if not equals or not name.strip() or not value.strip():
            raise TapeloftError(f'--set takes NAME=LENGTH, not "{pair}": for example --set sole_step="180 mm"')
        lengths[name.strip()] = value.strip()
    return lengths


def asked_surveys(
    path: str, name: str | None, given: Sequence[str] | None, options: Sequence[str] | None
) -> "tuple[Survey, ...]":
    """Return the surveys asked about: the named one, or all."""
    boat = asked_boat(path, given, options)
    return (boat.compartment(name),) if name else boat.compartments


def asked_survey(path: str, name: str | None, given: Sequence[str] | None, options: Sequence[str] | None) -> "Survey":
    """Return the one survey asked about; raise TapeloftError where a name is needed to tell which."""
    from tapeloft.model.errors import TapeloftError

    surveys = asked_surveys(path, name, given, options)
    if len(surveys) > 1:
        names = ", ".join(f'"{s.name}"' for s in surveys)
        raise TapeloftError(f"which compartment? this survey has {names}")
    return surveys[0]
