"""From what a person types to the gear that is meant."""

import re
from collections.abc import Sequence
from difflib import get_close_matches
from pathlib import Path

from tapeloft.model.errors import TapeloftError
from tapeloft.model.gear.catalogue import catalogue, entry, names, read_gear_paper
from tapeloft.model.gear.gear import TYPED, Gear, remarks, usual_turn
from tapeloft.model.gear.typed import form_typed
from tapeloft.model.units import Misread

MOST = 1000
"""Characters that can be asked for at once."""
LISTED = 8
_FILE = re.compile(r"(?P<file>.*\.toml)(?:\s*:\s*(?P<name>.*))?", re.IGNORECASE | re.DOTALL)


def gear_asked(text: str) -> Gear:
    """Return the gear that *text* asks for.

    It is a form with its sizes (`box 850x650x350`, `cylinder 320x600`, `capsule 200x700`, `board 1900x500x80 rocker
    60`, `bag 60l 150`), a mesh file with its unit (`engine.stl mm`), an entry in a file of gear (`mine.toml:genoa`,
    or `mine.toml` where there is but one), or a name from the catalogue or how it begins. Bare numbers are
    millimetres. Raises TapeloftError with one message.

    >>> gear_asked("box 850 x 650 x 350").form
    Block(length=0.85, breadth=0.65, height=0.35)
    >>> gear_asked("folded bike 20").name
    'folded bike, 20 in wheels'
    """
    said = " ".join("".join(letter if letter.isprintable() else " " for letter in text).split())
    if not said:
        raise TapeloftError('which gear? Write its sizes, as "box 850x650x350", or a name that `tapeloft gear` lists')
    if len(said) > MOST:
        raise TapeloftError(f'"{said[:40]}…" is too long to ask for: gear has at most {MOST} characters')
    if found := _FILE.fullmatch(said):
        return _own(found["file"], found["name"])
    try:
        form = form_typed(said)
    except Misread as bad:
        raise TapeloftError(f'gear "{said}": {bad}') from None
    if form is None:
        return _named(said, catalogue())
    return Gear(said, TYPED, form, None, usual_turn(form), "as asked", "; ".join(remarks(form)))


def _own(file: str, name: str | None) -> Gear:
    """Return a piece from a file of gear; only that piece must be sound."""
    paper = read_gear_paper(file)
    known = names(paper)
    if not name:
        if len(known) > 1:
            raise TapeloftError(f"which gear? {file} has {_listed(known)}; write {Path(file).name}:NAME")
        return entry(paper, 0)
    return entry(paper, known.index(_meant(name, known, file)))


def _named(name: str, shelf: Sequence[Gear]) -> Gear:
    by_name = {gear.name: gear for gear in shelf}
    return by_name[_meant(name, list(by_name), "the catalogue")]


def _meant(name: str, known: Sequence[str], where: str) -> str:
    """Return the one of the *known* names that *name* is, or begins; raises TapeloftError that lists near ones.

    >>> _meant("fender 200", ["fender, 150 x 600", "fender, 200 x 700"], "the catalogue")
    'fender, 200 x 700'
    >>> _meant("fender", ["fender, 150 x 600", "fender, 200 x 700"], "the catalogue")
    Traceback (most recent call last):
    tapeloft.model.errors.TapeloftError: "fender" could be "fender, 150 x 600" or "fender, 200 x 700"
    """
    keys = {one: _plain(one) for one in known}
    said = _plain(name)
    exact = [one for one, key in keys.items() if key == said]
    begun = exact or [one for one, key in keys.items() if said and key.startswith(said)]
    within = begun or [one for one, key in keys.items() if said and _holds(key.split(), said.split())]
    if len(within) == 1:
        return within[0]
    if within:
        raise TapeloftError(f'"{name}" could be {_listed(within, "or")}')
    close = get_close_matches(said, list(keys.values()), LISTED // 2, 0.5)
    alike = {word for part in _words(said) for word in get_close_matches(part, _words(" ".join(keys.values())), 3, 0.7)}
    near = [one for one, key in keys.items() if key in close or alike & set(_words(key))]
    hint = f"near it are {_listed(near)}" if near else 'see `tapeloft gear`, or write its sizes, as "box 850x650x350"'
    raise TapeloftError(f'no gear in {where} is called "{name}"; {hint}')


def _plain(name: str) -> str:
    """Return a name as it is compared: small letters and figures, without what divides them.

    >>> _plain("Euro container, 600 x 400 × 280"), _plain("crate 600x400")
    ('euro container 600 400 280', 'crate 600 400')
    """
    return " ".join(re.findall(r"[^\W_]+(?:\.[0-9]+)?", re.sub(r"(?<=[0-9])\s*[x×]\s*(?=[0-9])", " ", name.casefold())))


def _holds(words: Sequence[str], said: Sequence[str]) -> bool:
    """Whether each word *said* begins one of the *words*, in the same order."""
    rest = iter(words)
    return all(any(word.startswith(part) for word in rest) for part in said)


def _words(key: str) -> list[str]:
    return [word for word in key.split() if len(word) > 2]


def _listed(names: Sequence[str], joint: str = "and") -> str:
    told = [f'"{name}"' for name in names[:LISTED]]
    if len(names) > LISTED:
        told.append(f"{len(names) - LISTED} more")
    return f" {joint} ".join(filter(None, (", ".join(told[:-1]), told[-1])))
