"""Every example in every docstring is run, and says what it says it says."""

import doctest
import importlib
import pkgutil

import pytest

pytestmark = pytest.mark.usefixtures("warmed")  # some examples search

PACKAGES = ["tapeloft.shapes", "tapeloft.model", "tapeloft.viewer", "tapeloft.cli"]


def modules() -> list[str]:
    names = []
    for package in PACKAGES:
        names.append(package)
        path = importlib.import_module(package).__path__
        names += [found.name for found in pkgutil.walk_packages(path, f"{package}.")]
    return names


@pytest.mark.parametrize("name", modules())
def test_examples(name: str) -> None:
    result = doctest.testmod(importlib.import_module(name))
    assert result.failed == 0
