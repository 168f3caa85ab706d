"""What a survey may have built in, each kind one frozen dataclass in one place: `[[part]]` tables, cut to the space.

Every module in this folder is imported here by its presence, so that adding a kind is adding a file.
"""

from importlib import import_module
from pkgutil import iter_modules

for _module in iter_modules(__path__):
    if not _module.ispkg:
        import_module(f"{__name__}.{_module.name}")
