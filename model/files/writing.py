"""Files written whole or not at all.

A file is first written under a hidden name in the folder it is meant for, carried through to the disk, and
only then given its own name in one step. A run that is killed leaves at most such a hidden file, which a
later run clears away.
"""

import errno
import os
import secrets
import stat
import time
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import ExitStack, contextmanager, suppress
from pathlib import Path

from tapeloft.model.errors import FileError, Problem

HIDDEN, PART = ".tapeloft-", ".part"
STALE = 3600.0  # s; nothing takes an hour to write, so an older hidden file was left by a run that was killed

FULL = ("the disk is full", "make room on it, or choose a folder on another disk")
CLOSED = ("there is no permission to write here", "choose a folder of your own, or have this one opened to you")
TAKEN = ("the file is there already", "choose another name, or write over it with --force")
WORDS = {
    errno.ENOSPC: FULL,
    errno.EDQUOT: FULL,
    errno.EFBIG: ("the file is larger than the disk takes", "choose a folder on another disk"),
    errno.EACCES: CLOSED,
    errno.EPERM: CLOSED,
    errno.EROFS: ("this disk can only be read", "choose a folder on another disk"),
    errno.ENOENT: ("its folder does not exist", "make the folder first, or check its name"),
    errno.ENOTDIR: ("what should be its folder is a file", "check the name of the folder"),
    errno.ENAMETOOLONG: ("the name is too long", "choose a shorter name"),
    errno.EEXIST: TAKEN,
}
NO_LINKS = {errno.EPERM, errno.ENOSYS, errno.EOPNOTSUPP, errno.ENOTSUP, errno.EMLINK}


def write_whole(path: Path, data: bytes, *, force: bool = False) -> None:
    """Write *data* to *path*, whole or not at all.

    A file that is there already is kept unless *force*, and then until the new one is complete; a link is
    followed to what it names. Raises FileError, in words, where it cannot be written; nothing is changed then.

    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as folder:
    ...     write_whole(Path(folder, "net.stl"), b"first")
    ...     write_whole(Path(folder, "net.stl"), b"second", force=True)
    ...     print(Path(folder, "net.stl").read_bytes(), os.listdir(folder))
    b'second' ['net.stl']
    """
    write_set({path: data}, force=force)


def write_set(files: Mapping[Path, bytes], *, force: bool = False) -> None:
    """Write several files, all of them or none as far as a disk allows.

    All are complete on the disk under hidden names before the first gets its own. If one then cannot get its
    name, those that are new are taken away again; those written over with *force* stay, and are whole.
    Raises FileError as `write_whole` does, with every file that stands in the way named at once.
    """
    targets = _targets(files)
    _refuse_what_stands_in_the_way(targets, force)
    with ExitStack() as leftovers:
        staged = {}
        for target, path in targets.items():
            staged[target] = part = target.parent / f"{HIDDEN}{secrets.token_hex(8)}{PART}"
            leftovers.callback(_removed, part)
            with _said_in_words(path):
                _fill(part, files[path], target)
        with ExitStack() as undo:
            for target, part in staged.items():
                with _said_in_words(targets[target]):
                    new = not os.path.exists(target)
                    (os.replace if force else _place)(part, target)
                if new:
                    undo.callback(_removed, target)
            undo.pop_all()
    for folder in {target.parent for target in targets}:
        _settle(folder)


def hold_names(paths: Sequence[Path], *, force: bool = False) -> None:
    """Raise FileError where no files of these names could be begun: before what is to go into them is worked out.

    No such folder, a folder or a device of that name, one that is there already and no *force*, one name twice.
    """
    targets = _targets(paths)
    _refuse_what_stands_in_the_way(targets, force)
    for target, path in targets.items():
        with _said_in_words(path):
            os.scandir(target.parent).close()


def _targets(files: Iterable[Path]) -> dict[Path, Path]:
    """Return for each file, links followed, the path it was asked for by."""
    targets: dict[Path, Path] = {}
    for path in files:
        try:
            target = Path(os.path.realpath(path))
        except ValueError as error:  # a NUL in the name
            raise _refusal(path, "the name holds a character that no disk takes", "choose another name") from error
        if target in targets:
            raise _refusal(path, "two files are to be written under this one name", "give each its own name")
        targets[target] = path
    return targets


def _refuse_what_stands_in_the_way(targets: Mapping[Path, Path], force: bool) -> None:
    refusals = []
    for target, path in targets.items():
        if os.path.isdir(target):
            refusals.append(_refusal(path, "this is a folder", "name a file in it"))
        elif os.path.exists(target) and not os.path.isfile(target):
            refusals.append(_refusal(path, "this is a device, not a file", "name a file"))
        elif os.path.exists(target) and not force:
            refusals.append(_refusal(path, *TAKEN))
    if refusals:
        raise FileError("\n".join(map(str, refusals)))


def _fill(part: Path, data: bytes, target: Path) -> None:
    with open(os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o666), "wb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())
    with suppress(OSError):  # one that is written over keeps who may read it
        part.chmod(stat.S_IMODE(target.stat().st_mode))


def _place(part: Path, target: Path) -> None:
    """Give the finished file its name, unless another has taken the name meanwhile."""
    try:
        os.link(part, target)
    except OSError as error:
        if error.errno not in NO_LINKS:
            raise
        # memory sticks know no links: take the name with an empty file, then replace that
        os.close(os.open(target, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o666))
        try:
            os.replace(part, target)
        except OSError:
            _removed(target)
            raise


def _settle(folder: Path) -> None:
    """Carry the names through to the disk, and clear away what killed runs have left."""
    with suppress(OSError):  # not every system opens a folder
        opened = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(opened)
        finally:
            os.close(opened)
    for left in folder.glob(f"{HIDDEN}*{PART}"):
        with suppress(OSError):
            if time.time() - left.stat().st_mtime > STALE:
                left.unlink()


def _removed(path: Path) -> None:
    with suppress(OSError):
        path.unlink()


@contextmanager
def _said_in_words(path: Path) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        what, mend = WORDS.get(error.errno or 0, (f"it cannot be written: {error.strerror}", "choose another place"))
        raise _refusal(path, what, mend) from error


def _refusal(path: Path, what: str, mend: str) -> FileError:
    return FileError(str(Problem(what, mend, file=os.fspath(path).replace("\0", "\\0"))))
