"""A file is written whole or not at all, whatever happens meanwhile."""

import errno
import os
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from tapeloft.model.errors import FileError
from tapeloft.model.files import writing
from tapeloft.model.files.writing import write_set, write_whole

OLD, NEW = b"old " * 50_000, b"newer " * 50_000
posix = pytest.mark.skipif(os.name != "posix", reason="signals and limits of a POSIX system")


def names(folder: Path) -> list[str]:
    return sorted(os.listdir(folder))


def test_written_whole(tmp_path: Path) -> None:
    write_whole(tmp_path / "net.stl", NEW)
    assert (tmp_path / "net.stl").read_bytes() == NEW
    assert names(tmp_path) == ["net.stl"]


def test_an_existing_file_is_kept(tmp_path: Path) -> None:
    (tmp_path / "net.stl").write_bytes(OLD)
    with pytest.raises(FileError, match=r"net\.stl: the file is there already\n.*--force"):
        write_whole(tmp_path / "net.stl", NEW)
    assert (tmp_path / "net.stl").read_bytes() == OLD
    assert names(tmp_path) == ["net.stl"]


def test_force_writes_over_it(tmp_path: Path) -> None:
    (tmp_path / "net.stl").write_bytes(OLD)
    write_whole(tmp_path / "net.stl", NEW, force=True)
    assert (tmp_path / "net.stl").read_bytes() == NEW
    assert names(tmp_path) == ["net.stl"]


@posix
def test_who_may_read_it(tmp_path: Path) -> None:
    before = os.umask(0o027)
    try:
        write_whole(tmp_path / "net.stl", OLD)
        assert (tmp_path / "net.stl").stat().st_mode & 0o777 == 0o640  # 0666 less the mask, as any program's
        (tmp_path / "net.stl").chmod(0o604)
        write_whole(tmp_path / "net.stl", NEW, force=True)
        assert (tmp_path / "net.stl").stat().st_mode & 0o777 == 0o604
    finally:
        os.umask(before)


@posix
def test_a_link_is_followed(tmp_path: Path) -> None:
    (tmp_path / "share").mkdir()
    (tmp_path / "share" / "real.stl").write_bytes(OLD)
    (tmp_path / "net.stl").symlink_to("share/real.stl")
    write_whole(tmp_path / "net.stl", NEW, force=True)
    assert (tmp_path / "net.stl").is_symlink()
    assert (tmp_path / "share" / "real.stl").read_bytes() == NEW


@pytest.mark.parametrize("links", [True, False], ids=["links", "no links"])
def test_a_file_that_appears_meanwhile_is_kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, links: bool) -> None:
    if not links:
        monkeypatch.setattr(os, "link", refusing(errno.EPERM))
    monkeypatch.setattr(os, "fsync", lambda _: (tmp_path / "net.stl").write_bytes(OLD))
    with pytest.raises(FileError, match="there already"):
        write_whole(tmp_path / "net.stl", NEW)
    assert (tmp_path / "net.stl").read_bytes() == OLD
    assert names(tmp_path) == ["net.stl"]


def test_a_disk_without_links(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(os, "link", refusing(errno.EPERM))
    write_whole(tmp_path / "net.stl", NEW)
    assert (tmp_path / "net.stl").read_bytes() == NEW
    assert names(tmp_path) == ["net.stl"]
    monkeypatch.setattr(os, "replace", refusing(errno.ENOSPC))
    with pytest.raises(FileError, match="disk is full"):
        write_whole(tmp_path / "gross.stl", NEW)
    assert names(tmp_path) == ["net.stl"]


def test_places_that_take_no_file(tmp_path: Path) -> None:
    (tmp_path / "paper.txt").write_bytes(OLD)
    before = names(tmp_path)
    places = {
        "nowhere/net.stl": "its folder does not exist",
        "paper.txt/net.stl": "should be its folder is a file",
        "": "this is a folder",
        "n" * 300 + ".stl": "the name is too long",
        "net\0.stl": "character that no disk takes",
    }
    for place, words in places.items():
        with pytest.raises(FileError, match=words):
            write_whole(tmp_path / place, NEW, force=True)
    assert names(tmp_path) == before


@posix
def test_a_device_is_not_written_over(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "net.stl")
    with pytest.raises(FileError, match="device"):
        write_whole(tmp_path / "net.stl", NEW, force=True)
    assert (tmp_path / "net.stl").is_fifo()


@pytest.mark.skipif(os.name != "posix" or os.geteuid() == 0, reason="the superuser may write anywhere")
def test_no_permission(tmp_path: Path) -> None:
    tmp_path.chmod(0o500)
    with pytest.raises(FileError, match="no permission"):
        write_whole(tmp_path / "net.stl", NEW)
    tmp_path.chmod(0o700)
    assert names(tmp_path) == []


def refusing(number: int) -> Callable[..., None]:
    def refuse(*_: object, **__: object) -> None:
        raise OSError(number, os.strerror(number))

    return refuse


@pytest.mark.parametrize("step", ["open", "fsync", "replace"])
@pytest.mark.parametrize("number", sorted(writing.WORDS), ids=errno.errorcode.get)
def test_each_failure_in_words_and_nothing_changed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, step: str, number: int
) -> None:
    (tmp_path / "net.stl").write_bytes(OLD)
    with monkeypatch.context() as patched:
        patched.setattr(os, step, refusing(number))
        with pytest.raises(FileError) as refused:
            write_whole(tmp_path / "net.stl", NEW, force=True)
    what, mend = writing.WORDS[number]
    assert str(refused.value) == f"{tmp_path / 'net.stl'}: {what}\n    mend: {mend}"
    assert (tmp_path / "net.stl").read_bytes() == OLD
    assert names(tmp_path) == ["net.stl"]


def test_a_failure_without_words_of_its_own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(os, "fsync", refusing(errno.EIO))
    with pytest.raises(FileError, match=os.strerror(errno.EIO)):
        write_whole(tmp_path / "net.stl", NEW)
    assert names(tmp_path) == []


# whole processes

WRITE = """
import os, signal, sys
from pathlib import Path
from tapeloft.model.errors import FileError
from tapeloft.model.files.writing import write_whole
path, data = Path(sys.argv[1]), b"newer " * 50_000
def write(force=True):
    try:
        write_whole(path, data, force=force)
    except FileError as error:
        print(error)
        sys.exit(2)
"""
KILLED = {
    "half written": "import resource\nsignal.signal(signal.SIGXFSZ, signal.SIG_DFL)\n"
    "resource.setrlimit(resource.RLIMIT_FSIZE, (100_000, 100_000))\nwrite()",
    "not yet on the disk": "os.fsync = lambda _: os.kill(os.getpid(), signal.SIGKILL)\nwrite()",
    "not yet named": "os.replace = lambda *_: os.kill(os.getpid(), signal.SIGKILL)\nwrite()",
}


def run(script: str, path: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run([sys.executable, "-c", WRITE + script, path], capture_output=True, text=True)


@posix
@pytest.mark.parametrize("when", KILLED)
def test_a_killed_run_leaves_the_old_file_whole(tmp_path: Path, when: str) -> None:
    (tmp_path / "net.stl").write_bytes(OLD)
    assert run(KILLED[when], tmp_path / "net.stl").returncode < 0  # ended by a signal
    assert (tmp_path / "net.stl").read_bytes() == OLD
    (left,) = set(names(tmp_path)) - {"net.stl"}
    assert left.startswith(".")

    write_whole(tmp_path / "net.stl", NEW, force=True)
    assert names(tmp_path) == [left, "net.stl"]  # it may be another run's, still at work
    os.utime(tmp_path / left, (time.time() - 2 * writing.STALE,) * 2)
    write_whole(tmp_path / "gross.stl", NEW)
    assert names(tmp_path) == ["gross.stl", "net.stl"]


@posix
def test_kill_9_at_any_moment(tmp_path: Path) -> None:
    """A run that writes two contents in turn is killed again and again: one of the two is there, never a part."""
    path = tmp_path / "net.stl"
    path.write_bytes(OLD)
    turns = "print('on', flush=True)\nwhile True:\n    for data in (b'old ' * 50_000, b'newer ' * 50_000):\n"
    command = [sys.executable, "-c", f"{WRITE}{turns}        write()", path]
    for delay in (0.0, 0.003, 0.007, 0.011, 0.019):
        process = subprocess.Popen(command, stdout=subprocess.PIPE)
        assert process.stdout is not None
        process.stdout.readline()
        time.sleep(0.02 + delay)
        process.send_signal(signal.SIGKILL)
        process.wait()
        process.stdout.close()
        assert path.read_bytes() in (OLD, NEW)


@posix
def test_a_file_longer_than_allowed(tmp_path: Path) -> None:
    """The system itself stops the write half way (RLIMIT_FSIZE, its signal ignored: EFBIG, setrlimit(2))."""
    (tmp_path / "net.stl").write_bytes(OLD)
    limited = "import resource\nresource.setrlimit(resource.RLIMIT_FSIZE, (100_000, 100_000))\nwrite()"
    done = run(limited, tmp_path / "net.stl")
    assert (done.returncode, done.stderr) == (2, "")
    assert "larger than the disk takes" in done.stdout
    assert (tmp_path / "net.stl").read_bytes() == OLD
    assert names(tmp_path) == ["net.stl"]


OWN_DISK = ["unshare", "--user", "--map-root-user", "--mount"]
MOUNT = 'mount -t tmpfs -o size=256k small "$0" && cp "$1" "$0/net.stl" && shift && "$@"; s=$?; ls -A "$0"; '
MOUNT += 'cmp "$0/net.stl" "$0/../old" || exit 9; exit $s'


@posix
def test_a_disk_that_is_truly_full(tmp_path: Path) -> None:
    """On a disk of 256 kB, in a mount of its own, 200 kB are there and 300 kB are to replace them."""
    if not shutil.which("unshare") or subprocess.run([*OWN_DISK, "true"], capture_output=True).returncode:
        pytest.skip("no disk can be mounted here without privilege")
    (tmp_path / "old").write_bytes(OLD)
    (tmp_path / "small").mkdir()
    command = ["sh", "-c", MOUNT, str(tmp_path / "small"), str(tmp_path / "old")]
    done = subprocess.run(
        [*OWN_DISK, *command, sys.executable, "-c", WRITE + "write()", str(tmp_path / "small" / "net.stl")],
        capture_output=True,
        text=True,
    )
    if "mount" in done.stderr:
        pytest.skip("no disk can be mounted here without privilege")
    assert "the disk is full" in done.stdout
    assert done.stdout.splitlines()[-1] == "net.stl"  # the only file left
    assert (done.returncode, done.stderr) == (2, "")


# several files


def test_a_set_is_written(tmp_path: Path) -> None:
    write_set({tmp_path / "net.stl": NEW, tmp_path / "gross.stl": OLD})
    assert (tmp_path / "net.stl").read_bytes() == NEW
    assert (tmp_path / "gross.stl").read_bytes() == OLD
    assert names(tmp_path) == ["gross.stl", "net.stl"]


def test_a_set_names_all_that_stand_in_the_way(tmp_path: Path) -> None:
    for name in ("a.stl", "c.stl"):
        (tmp_path / name).write_bytes(OLD)
    with pytest.raises(FileError) as refused:
        write_set({tmp_path / name: NEW for name in ("a.stl", "b.stl", "c.stl")})
    assert str(refused.value).count("there already") == 2
    assert names(tmp_path) == ["a.stl", "c.stl"]


def test_a_set_is_undone_when_its_last_file_fails(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(os, "fsync", lambda _: (tmp_path / "b.stl").write_bytes(OLD))
    with pytest.raises(FileError, match=r"b\.stl: the file is there already"):
        write_set({tmp_path / "a.stl": NEW, tmp_path / "b.stl": NEW})
    assert names(tmp_path) == ["b.stl"]
    assert (tmp_path / "b.stl").read_bytes() == OLD


def test_a_set_with_one_name_twice(tmp_path: Path) -> None:
    with pytest.raises(FileError, match="two files"):
        write_set({tmp_path / "a.stl": NEW, tmp_path / "sub" / ".." / "a.stl": OLD})
    assert names(tmp_path) == []
