"""Names that can be told apart, and that every disk takes."""

import re
import unicodedata
from collections.abc import Iterable

LONGEST = 60  # characters of a name kept in a file's name; at four bytes each they fit any disk's 255
DEVICES = re.compile(r"(con|prn|aux|nul|(com|lpt)[\d¹²³])$", re.IGNORECASE)  # names that Windows keeps for itself


def printable(name: str) -> str:
    """Return *name* on one line, single-spaced, without what cannot be printed; "part" if nothing is left.

    >>> printable("battery\\tbox\\n")
    'battery box'
    """
    return " ".join("".join(c if c.isprintable() else " " for c in name).split()) or "part"


def distinct(names: Iterable[str], joint: str = " ") -> tuple[str, ...]:
    """Return *names* with a number added, after *joint*, to each that was had before, capitals or not.

    >>> distinct(["post", "Post", "post 2"])
    ('post', 'Post 2', 'post 2 2')
    """
    taken: set[str] = set()
    told: list[str] = []
    for name in names:
        own, number = name, 1
        while own.casefold() in taken:
            number += 1
            own = f"{name}{joint}{number}"
        taken.add(own.casefold())
        told.append(own)
    return tuple(told)


def file_stem(name: str) -> str:
    """Return *name* as the stem of a file's name: letters, digits and dashes.

    >>> file_stem("bay 1: port / aft"), file_stem("aux"), file_stem("…")
    ('bay-1-port-aft', 'aux-', 'part')
    """
    stem = re.sub(r"\W+", "-", unicodedata.normalize("NFC", name))[:LONGEST].strip("-") or "part"
    return f"{stem}-" if DEVICES.match(stem) else stem
