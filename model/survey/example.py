"""The sheet that a survey is begun from, whose numbers are an example, and what of them is left in a survey."""

import tomllib
from collections.abc import Iterator, Mapping
from functools import cache
from importlib.resources import files
from typing import Any

FEW = 3  # figures in common with the example, each in its place, from which it is no chance


def example() -> str:
    """Return the text of the sheet."""
    return files("tapeloft.model.survey").joinpath("starting.toml").read_text(encoding="utf-8")


def is_example(data: Mapping[str, object]) -> bool:
    """Return whether a survey says what the example says and no more: none of its readings is a reading."""
    return data == _read()


def examples_left(data: Mapping[str, object]) -> int:
    """Return how many readings of corners are still those of the example, noughts aside; 0 where chance may do it.

    What one corner reads at every station is one figure: a straight side is no sign of an example.
    """
    left = list(_left(data))
    return 0 if len(set(left)) < FEW else len(left)


def _left(data: Mapping[str, Any]) -> Iterator[tuple[str, int, float]]:
    mine = data.get("station", {})
    for name, corners in _read()["station"].items():
        here = mine.get(name) if isinstance(mine, Mapping) else None
        for mark, readings in corners.items():
            there = here.get(mark) if isinstance(here, Mapping) else None
            if mark != "at" and isinstance(there, list):
                pairs = enumerate(zip(there, readings, strict=False))
                yield from ((mark, k, said) for k, (reading, said) in pairs if reading == said != 0)


@cache
def _read() -> dict[str, Any]:
    return tomllib.loads(example())
