"""Surveys and tables mangled at random: each is refused in words, or gives a closed solid, nowhere through itself.

The mangled ones are the demo boat's, a few slips each: bytes, figures, words and whole lines. The seed is fixed.
"""

import random
import re
from collections.abc import Callable, Iterator
from functools import partial
from importlib.resources import files
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tapeloft.cli.understood import tables
from tapeloft.model.areas import areas_to_coat
from tapeloft.model.compartment import build
from tapeloft.model.errors import TapeloftError
from tapeloft.model.solid import Solid, open_edges
from tapeloft.model.surface.contacts import self_contacts
from tapeloft.model.surface.skin import AFT_END, FORWARD_END
from tapeloft.model.survey.boat import examined
from tapeloft.model.survey.survey import Survey

SEED = 20260418
SHEETS = {f.name: f.read_bytes() for f in files("tapeloft.shapes").joinpath("demo").iterdir() if f.is_file()}
NUMBER = re.compile(rb"(?<![\w.])\d+(?:[.,]\d+)?(?![\w.])")
WORD = re.compile(rb"[A-Za-z_]{2,}")
FACTORS = (10, 0.1, 25.4, 1 / 25.4, 1000, 0.001, -1, 0, 1.5, 0.9, 1.0001, 1e6, 1e300)
TOKENS = (
    b"nan", b"-inf", b"true", b'""', b'"18 3/8 in"', b'"4-11-3"', b'"p 240"', b'"s 1,5"', b'"top"', b'"forward"', b"[]",
    b"{}", b"[0, 0]", b'"=step"', b'"=sole_step * 2"', b"2026-01-01", b"1e3", b"0x10", b"'", b'"', b"#", b"\xff", b"\0",
    b"[[obstruction]]", b"[station.0]", b"point = [0, 0]", b"step = true", b"rake = [9, 0]", b'between = "fair"',
    b'x_positive = "aft"', b'side = "both"', b";", b"\n\n", b"999999999999999999999",
)  # fmt: skip
Mangling = Callable[[random.Random, bytes], bytes]


def at_random(rng: random.Random, text: bytes, pattern: re.Pattern[bytes], new: Callable[[bytes], bytes]) -> bytes:
    """Replace one of the places that match."""
    found = list(pattern.finditer(text))
    if not found:
        return text
    one = rng.choice(found)
    return text[: one.start()] + new(one[0]) + text[one.end() :]


def byte(rng: random.Random, text: bytes) -> bytes:
    k = rng.randrange(len(text) + 1)
    return text[:k] + rng.choice([b"", bytes([rng.randrange(256)])]) + text[k + rng.randrange(2) :]


def cut(rng: random.Random, text: bytes) -> bytes:
    a, b = sorted(rng.randrange(len(text) + 1) for _ in range(2))
    return rng.choice([text[:a], text[:a] + text[min(b, a + 40) :]])


def figure(rng: random.Random, text: bytes) -> bytes:
    factor = rng.choice(FACTORS)
    return at_random(rng, text, NUMBER, lambda old: f"{float(old.replace(b',', b'.')) * factor:.6g}".encode())


def nudged(rng: random.Random, text: bytes) -> bytes:
    by = rng.randrange(-300, 300)
    return at_random(rng, text, NUMBER, lambda old: f"{float(old.replace(b',', b'.')) + by:g}".encode())


def figures_exchanged(rng: random.Random, text: bytes) -> bytes:
    found = list(NUMBER.finditer(text))
    if len(found) < 2:
        return text
    a, b = sorted(rng.sample(found, 2), key=lambda one: one.start())
    return text[: a.start()] + b[0] + text[a.end() : b.start()] + a[0] + text[b.end() :]


def token(rng: random.Random, text: bytes) -> bytes:
    return at_random(rng, text, rng.choice([NUMBER, WORD, re.compile(rb"\n")]), lambda old: rng.choice(TOKENS))


def word(rng: random.Random, text: bytes) -> bytes:
    words = WORD.findall(text) or [b"x"]
    return at_random(rng, text, WORD, lambda old: rng.choice([rng.choice(words), old[1:], old + b"s", old[::-1]]))


def lines(rng: random.Random, text: bytes) -> bytes:
    rows = text.split(b"\n")
    k, m = (rng.randrange(len(rows)) for _ in range(2))
    match rng.randrange(4):
        case 0:
            del rows[k]
        case 1:
            rows.insert(m, rows[k])
        case 2:
            rows[k], rows[m] = rows[m], rows[k]
        case _:
            part = rows[k : k + 6]
            rng.shuffle(part)
            rows[k : k + 6] = part
    return b"\n".join(rows)


MANGLINGS: tuple[Mangling, ...] = (byte, cut, figure, nudged, nudged, figures_exchanged, token, word, lines)


def mangled(number: int) -> tuple[str, bytes]:
    """Return the name of one of the demo boat's files, and what became of it."""
    rng = random.Random(f"{SEED} {number}")
    name = rng.choice([*sorted(SHEETS), "gas-locker.csv", "gas-locker.csv"])
    text = SHEETS[name]
    for _ in range(rng.choice([1, 1, 2, 3])):
        text = rng.choice(MANGLINGS)(rng, text)
    return name, text


def accepted(folder: Path, name: str) -> Iterator[Survey]:
    """Yield the surveys that a mangled file still makes; a refusal is to be in words."""
    found = in_words(lambda: examined(folder / name.replace(".csv", ".toml")))
    if found is None:
        return
    for problem in found.problems:
        assert str(problem)
        assert problem.what
    for survey in (*found.boat.compartments, *found.drafts):
        assert list(tables(survey, survey.unit))
    yield from found.boat.compartments


def check_solid(solid: Solid) -> None:
    assert solid.volume > 0
    assert len(open_edges(solid.triangles)) == 0


def contacts(solid: Solid) -> list[list[int]]:
    """Return the pairs of triangles that meet; an end may close to a line, and its two sides touch there."""
    places, number = np.unique(solid.vertices + 0.0, axis=0, return_inverse=True)
    found = self_contacts(places, number.reshape(-1)[solid.triangles])
    ends = np.isin(solid.faces, (AFT_END, FORWARD_END))
    return [pair for pair in found.tolist() if not ends[pair].all()]


def check(folder: Path, number: int) -> bool:
    """Read and build one mangled survey; return whether a compartment came of it."""
    name, text = mangled(number)
    (folder / name).write_bytes(text)
    try:
        built = [space for survey in accepted(folder, name) if (space := in_words(partial(build, survey)))]
        for space in built:
            check_solid(space.gross)
            check_solid(space.net)
            assert space.net.volume <= space.gross.volume * (1 + 1e-12)
            assert contacts(space.gross) == []
            if number % 10 == 0:
                assert areas_to_coat(space).total_m2 > 0
    finally:
        (folder / name).write_bytes(SHEETS[name])
    return bool(built)


def in_words(asking: Callable[[], Any]) -> Any:
    """Return what is asked for, or None where it is refused in words; any other way to fail is a fault."""
    try:
        return asking()
    except TapeloftError as refusal:
        said = str(refusal)
    assert said
    return None


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("boat")
    for name, text in SHEETS.items():
        (folder / name).write_bytes(text)
    return folder


@pytest.mark.parametrize("tens", range(30))
def test_mangled_surveys(folder: Path, tens: int) -> None:
    for number in range(10 * tens, 10 * tens + 10):
        check(folder, number)


@pytest.mark.extensive
@pytest.mark.parametrize("hundreds", range(50))
def test_five_thousand_mangled_surveys(folder: Path, hundreds: int) -> None:
    came = [check(folder, number) for number in range(100 * hundreds, 100 * hundreds + 100)]
    assert 5 < sum(came) < 95  # else the mangling is too light or too heavy to find anything
