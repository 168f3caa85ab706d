"""Parametric solids that stand in a compartment, each one frozen dataclass in one place.

Every module in this folder is imported here by its presence, so that adding a shape is adding a file.
"""

from importlib import import_module
from pkgutil import iter_modules

for _module in iter_modules(__path__):
    if not _module.ispkg:
        import_module(f"{__name__}.{_module.name}")
