"""The one of some names that was meant: names may be shortened to how they begin."""

from collections.abc import Iterable

from tapeloft.model.errors import TapeloftError, UnknownName


def called(kind: str, said: str, known: Iterable[str]) -> str:
    """Return the one of the *known* names that is *said*, or the only one that begins so; small or capital letters.

    kind: what bears the names, as a message has it. Raises UnknownName where none does, TapeloftError where several do.

    >>> called("bay", "Port", ["port bay", "starboard bay"])
    'port bay'
    >>> called("bay", "b", ["bay 1", "bay 2"])
    Traceback (most recent call last):
    tapeloft.model.errors.TapeloftError: "b" could be any of "bay 1", "bay 2": write more of its name
    """
    names, own = list(dict.fromkeys(known)), said.strip().casefold()
    if said in names:
        return said
    exact = [name for name in names if name.casefold() == own]
    found = exact or [name for name in names if own and name.casefold().startswith(own)]
    if len(found) > 1:
        several = ", ".join(f'"{name}"' for name in found)
        raise TapeloftError(f'"{said}" could be any of {several}: write more of its name')
    if not found:
        raise UnknownName(kind, said, names)
    return found[0]
