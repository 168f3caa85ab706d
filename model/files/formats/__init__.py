"""Mesh file formats, one in each module, which registers it at its end.

Every module in this folder is imported here by its presence, so that adding a format is adding a file.
"""

from importlib import import_module
from pkgutil import iter_modules

for _module in iter_modules(__path__):
    import_module(f"{__name__}.{_module.name}")
