"""`tapeloft enter` as a person meets it: a dialogue line by line, that can be stopped, killed and gone on with."""

import json
import os
import select
import signal
import subprocess
import sys
import tomllib
from collections.abc import Sequence
from pathlib import Path

import pytest

from tapeloft.model.survey.boat import read_survey

posix = pytest.mark.skipif(os.name != "posix", reason="signals, terminals and permissions of a POSIX system")
PROGRAM = [sys.executable, "-c", "from tapeloft.cli.app import main; main()"]
LINES = [
    "locker", "mm", "", "2026-05-31", "", "", "", "", "", "", "", "port", "A B C", "", "", "", "0", "800", "",
    "500", "0", "900", "0", "1100", "700", "500", "0", "950", "0", "1150", "710", "no more", "", "", "", "", "",
]  # fmt: skip


def enter(file: Path, lines: Sequence[str], *options: str, **env: str) -> subprocess.CompletedProcess[bytes]:
    return fed(file, "".join(f"{line}\n" for line in lines).encode(), *options, **env)


def fed(file: Path, data: bytes, *options: str, **env: str) -> subprocess.CompletedProcess[bytes]:
    command = [*PROGRAM, "enter", str(file), *options]
    return subprocess.run(command, input=data, capture_output=True, env={**os.environ, **env}, timeout=120)


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """The file of the whole walk without a stop."""
    file = tmp_path_factory.mktemp("whole") / "locker.toml"
    assert enter(file, LINES).returncode == 0
    return file.read_bytes()


def test_a_whole_walk_ends_with_what_check_says(tmp_path: Path, whole: bytes) -> None:
    file = tmp_path / "locker.toml"
    ran = enter(file, LINES)
    assert ran.returncode == 0
    assert "station 0, A, half-breadth: 500" in ran.stdout.decode()
    assert "reading 1 of 12" in ran.stdout.decode()
    assert "1 compartment, 0 problems" in ran.stderr.decode()
    assert file.read_bytes() == whole
    assert len(read_survey(file).compartments[0].stations) == 2


def test_what_cannot_be_built_ends_with_status_1(tmp_path: Path) -> None:
    flat = ["0" if line in ("700", "710") else line for line in LINES]  # every height 0: there is no space in it
    ran = enter(tmp_path / "locker.toml", flat)
    assert ran.returncode == 1
    assert "cannot be used yet" in ran.stderr.decode()


def test_as_json(tmp_path: Path) -> None:
    ran = enter(tmp_path / "locker.toml", LINES[:22], "--json")
    assert ran.returncode == 3
    assert json.loads(ran.stdout) == {
        "command": "enter", "file": str(tmp_path / "locker.toml"), "finished": False, "readings": 3, "of": 12,
    }  # fmt: skip
    assert "station 0, B, height" in ran.stderr.decode()


@pytest.mark.parametrize("columns", [40, 80])
def test_it_keeps_to_the_width_of_the_screen_without_colour_or_control(tmp_path: Path, columns: int) -> None:
    ran = enter(tmp_path / "locker.toml", [*LINES[:20], "?", "l", "x", "q"], COLUMNS=str(columns))
    lines = ran.stdout.decode().splitlines()
    assert max(map(len, lines[1:-4])) <= columns  # but for the names of files, which are long here
    assert "\x1b" not in ran.stdout.decode()


@posix
@pytest.mark.parametrize("columns", [40, 60, 80])
def test_what_check_says_at_the_end_breaks_no_figure_on_a_narrow_screen(
    tmp_path: Path, columns: int, whole: bytes
) -> None:
    import pty

    (tmp_path / "locker.toml").write_bytes(whole)
    screen, end = pty.openpty()
    run = [*PROGRAM, "check", "locker.toml"]
    env = {**os.environ, "COLUMNS": str(columns), "LINES": "24", "TERM": "dumb"}
    done = subprocess.run(run, cwd=tmp_path, stdin=subprocess.DEVNULL, stdout=end, stderr=end, env=env, timeout=120)
    os.close(end)
    said = b""
    while select.select([screen], [], [], 1.0)[0]:
        try:
            said += os.read(screen, 65536)
        except OSError:  # all is read, and the other end is closed
            break
    os.close(screen)
    lines = said.decode().replace("\r", "").splitlines()
    assert done.returncode == 0
    assert max(map(len, lines)) <= columns
    words = " ".join(lines).replace(",", " ").split()
    for reading in ("500", "900", "1100", "700", "950", "1150", "710", "800", "half-breadth"):
        assert reading in words


def test_nothing_typed_writes_nothing(tmp_path: Path) -> None:
    ran = fed(tmp_path / "locker.toml", b"")
    assert ran.returncode == 3
    assert not list(tmp_path.iterdir())


@posix
def test_without_any_input_it_says_so(tmp_path: Path) -> None:
    command = ["sh", "-c", '"$@" <&-', "sh", *PROGRAM, "enter", str(tmp_path / "locker.toml")]
    ran = subprocess.run(command, capture_output=True)
    assert ran.returncode == 2
    assert ran.stderr.startswith(b"nobody can answer here")


@posix
@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="no /dev/full here")
def test_a_screen_that_takes_nothing_loses_no_answer(tmp_path: Path) -> None:
    file = tmp_path / "locker.toml"
    with open("/dev/full", "wb") as full:
        ran = subprocess.run([*PROGRAM, "enter", str(file)], input=b"locker\nmm\n", stdout=full, stderr=subprocess.PIPE)
    assert (ran.returncode, ran.stderr) == (3, b"")
    assert tomllib.loads(file.read_text())["unit"] == "mm"


def test_binary_junk_is_refused_line_by_line(tmp_path: Path) -> None:
    junk = bytes(range(256)) * 40 + b"\n" + b"\xff\xfe\n\x00\n" + b"x" * 100_000 + b"\nlocker\n"
    ran = fed(tmp_path / "locker.toml", junk)
    assert ran.returncode == 3
    assert b"Traceback" not in ran.stderr
    assert tomllib.loads((tmp_path / "locker.toml").read_text())["survey"] == {"compartment": "locker"}


@pytest.mark.parametrize(
    ("data", "said"),
    [(b"", "does not say that it is a survey"), (b"[a\n", "locker.toml:1"), (b"\xff\x00", "UTF-8"),
     (b'format = "tapeloft-boat"\nversion = 1\n', "format is")],
)  # fmt: skip
def test_a_file_that_is_no_survey_is_left_alone(tmp_path: Path, data: bytes, said: str) -> None:
    file = tmp_path / "locker.toml"
    file.write_bytes(data)
    ran = enter(file, LINES)
    assert ran.returncode == 2
    assert said in ran.stderr.decode()
    assert b"Traceback" not in ran.stderr
    assert file.read_bytes() == data


def test_the_example_sheet_is_not_taken_for_readings(tmp_path: Path) -> None:
    file = tmp_path / "locker.toml"
    subprocess.run([*PROGRAM, "new", str(file)], check=True, capture_output=True)
    ran = enter(file, LINES)
    assert ran.returncode == 2
    assert "its numbers are examples" in ran.stderr.decode()


def test_what_is_left_of_the_example_is_told(tmp_path: Path) -> None:
    file = tmp_path / "locker.toml"
    subprocess.run([*PROGRAM, "new", str(file)], check=True, capture_output=True)
    text = file.read_text(encoding="utf-8")
    file.write_text(text.replace("A = [502, 0]", "A = [512, 0]"), encoding="utf-8")
    assert "10 readings are those of the example" in enter(file, ["q"]).stdout.decode()
    assert "of the example" not in enter(tmp_path / "mine.toml", LINES).stdout.decode().replace("\n", " ")


def test_a_folder_that_is_not_there(tmp_path: Path) -> None:
    ran = enter(tmp_path / "no" / "locker.toml", LINES)
    assert ran.returncode == 2
    assert "there is no folder" in ran.stderr.decode()


@posix
def test_a_folder_that_can_only_be_read_is_told_of_before_anything_is_asked(tmp_path: Path) -> None:
    folder = tmp_path / "closed"
    folder.mkdir(mode=0o555)
    if os.access(folder, os.W_OK):
        pytest.skip("this user may write anywhere")
    ran = enter(folder / "locker.toml", LINES)
    assert ran.returncode == 2
    assert b"no permission" in ran.stderr
    assert not ran.stdout


class Typing:
    """A walk that is typed into answer by answer, each once it is asked for."""

    def __init__(self, file: Path) -> None:
        command = [*PROGRAM, "enter", str(file)]
        self.process = subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, bufsize=0)
        self.asked()

    def asked(self) -> str:
        assert self.process.stdout
        heard = b""
        while not (heard.endswith(b": ") and not select.select([self.process.stdout], [], [], 0.02)[0]):
            got = os.read(self.process.stdout.fileno(), 65536)
            assert got, heard
            heard += got
        return " ".join(heard.decode().split())

    def types(self, line: str) -> str:
        assert self.process.stdin
        self.process.stdin.write(f"{line}\n".encode())
        return self.asked()

    def ends(self, how: signal.Signals) -> int:
        assert self.process.stdout
        assert self.process.stdin
        self.process.send_signal(how)
        self.process.stdout.read()
        self.process.stdin.close()
        self.process.stdout.close()
        return self.process.wait(60)


@posix
@pytest.mark.parametrize("many", [1, 17, 20, 21])
def test_killed_between_two_prompts_it_goes_on_where_it_was(tmp_path: Path, whole: bytes, many: int) -> None:
    file = tmp_path / "locker.toml"
    typing = Typing(file)
    for line in LINES[:many]:
        typing.types(line)
    assert typing.ends(signal.SIGKILL) == -signal.SIGKILL
    assert enter(file, LINES[many:]).returncode == 0
    assert file.read_bytes() == whole


@posix
@pytest.mark.parametrize(("how", "status"), [(signal.SIGINT, 130), (signal.SIGHUP, -signal.SIGHUP)])
def test_stopped_by_hand_or_by_a_closed_terminal_nothing_is_lost(
    tmp_path: Path, whole: bytes, how: signal.Signals, status: int
) -> None:
    file = tmp_path / "locker.toml"
    typing = Typing(file)
    for line in LINES[:24]:
        typing.types(line)
    assert typing.ends(how) == status
    assert [one.name for one in tmp_path.iterdir()] == ["locker.toml"]
    assert enter(file, LINES[24:]).returncode == 0
    assert file.read_bytes() == whole


@posix
def test_a_folder_taken_away_meanwhile_is_told_of_with_the_answer_that_is_not_written(tmp_path: Path) -> None:
    folder = tmp_path / "gone"
    folder.mkdir()
    typing = Typing(folder / "locker.toml")
    folder.rmdir()
    assert typing.process.stdin
    assert typing.process.stdout
    typing.process.stdin.write(b"locker\n")
    heard = " ".join(typing.process.stdout.read().decode().split())
    assert '"locker" is not written' in heard
    typing.process.stdin.close()
    typing.process.stdout.close()
    assert typing.process.wait(60) == 2


@posix
def test_what_another_hand_writes_meanwhile_is_read_and_not_written_over(tmp_path: Path) -> None:
    file = tmp_path / "locker.toml"
    typing = Typing(file)
    for line in LINES[:20]:
        typing.types(line)
    theirs = "# by another hand\n" + file.read_text().replace("[500]", "[501, 0]")
    file.write_text(theirs)
    heard = typing.types("7")
    assert "has been changed by another hand" in heard
    assert '"7" is not in it yet' in heard
    assert "station 0, B, half-breadth" in heard
    assert file.read_text() == theirs
    typing.types("900")
    assert file.read_text() == theirs.replace("A = [501, 0]\n", "A = [501, 0]\nB = [900]\n")
    typing.ends(signal.SIGKILL)


@posix
def test_on_a_terminal(tmp_path: Path) -> None:
    """A pseudo-terminal of 40 columns; Ctrl-D at a prompt ends as `q` does."""
    import pty
    import termios

    file = tmp_path / "locker.toml"
    ours, theirs = pty.openpty()
    termios.tcsetwinsize(theirs, (24, 40))
    env = {name: value for name, value in os.environ.items() if name not in ("COLUMNS", "LINES")}
    process = subprocess.Popen([*PROGRAM, "enter", str(file)], stdin=theirs, stdout=theirs, stderr=theirs, env=env)
    os.close(theirs)
    heard = b""
    for line in (b"locker\n", b"mm\n", b"\x04"):
        while not heard.endswith(b": "):
            heard += os.read(ours, 1024)
        os.write(ours, line)
        heard += b"|"
    assert process.wait(60) == 3
    os.close(ours)
    assert b"unit (mm, cm, m, in, ft,\r\nft-in-8) [mm]: " in heard
    assert tomllib.loads(file.read_text())["unit"] == "mm"
