"""Inner loops compiled once a machine, kept beside the code or, where that cannot be, in the user's cache folder."""

from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any, TypeVar
from zlib import crc32

import numba

Loop = TypeVar("Loop", bound=Callable[..., Any])

HERE = Path(__file__).parent
FROM_COMPILED_ONLY: dict[str, Any] = {"no_cpython_wrapper": True, "no_cfunc_wrapper": True}


def compiled(loop: Loop) -> Loop:
    """Return *loop* compiled at its first call, or taken from where an earlier run kept it.

    Division by zero gives infinity or NaN as in numpy, and overruns are not checked. Others may run beside it.
    """
    folders = Path(loop.__code__.co_filename).parents
    loop.__qualname__ = f"{loop.__qualname__}_{_mark(next((p for p in folders if p.parent == HERE.parent), HERE))}"
    try:
        made: Loop = numba.njit(loop, cache=True, error_model="numpy", nogil=True)
    except RuntimeError:  # nowhere to keep it: compile it each time
        made = numba.njit(loop, error_model="numpy", nogil=True)
    return _once(made)


def part(loop: Loop) -> Loop:
    """Return *loop* as a part of compiled ones, to be called from those alone; kept with them."""
    made: Loop = numba.njit(loop, error_model="numpy", **FROM_COMPILED_ONLY)
    return _once(made)


def _once(made: Loop) -> Loop:
    """Let a number that is written into a call of *made* be any number, or numba compiles it anew for each."""
    template = getattr(made, "get_call_template")  # noqa: B009
    any_of: Any = numba.types.unliteral

    def told(args: tuple[Any, ...], kws: dict[str, Any]) -> Any:
        return template(tuple(map(any_of, args)), {name: any_of(kind) for name, kind in kws.items()})

    setattr(made, "get_call_template", told)  # noqa: B010
    return made


@cache
def _mark(folder: Path) -> str:
    """Return the mark of all sources that a loop in *folder* can contain: a part of the name under which it is kept.

    A compiled loop contains the loops it calls, which are in its own folder or in this one; so a change to any of
    them must reach it.
    """
    sources = sorted({*HERE.rglob("*.py"), *folder.rglob("*.py")})
    return f"{crc32(b''.join(source.read_bytes() for source in sources) + numba.__version__.encode()):08x}"


def is_kept(loop: Callable[..., Any]) -> bool:
    """Whether a *compiled* loop is where a later run finds it, so that its first call takes no compiling."""
    folder = getattr(loop, "stats").cache_path  # noqa: B009
    return folder is not None and any(Path(folder).glob(f"*.{loop.__qualname__}-*.nbi"))
