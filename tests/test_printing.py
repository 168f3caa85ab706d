"""Tables on a terminal: whatever its width, no figure is broken, cut off or parted from its row."""

import os
import select
import subprocess
import sys

import pytest

pytestmark = pytest.mark.skipif(os.name != "posix", reason="terminals of a POSIX system")
SHOW = """
from tapeloft.cli.printing import Table, print_tables
names = ["sail locker", "cockpit locker, starboard", "all"]
head = ("compartment", *(f"figure no. {k}" for k in range(8)), "remark")
rows = [(name, *(f"{1234567 * (k + 2 + 9 * n)}" for k in range(8)), "as it was read") for n, name in enumerate(names)]
print_tables([Table("seen", head, rows), Table("by station", ("station", "mark", "reading"), [
    ("0", "A", "77701"), ("", "B", "77702"), ("1", "A", "77703")])])
"""
FIGURES = [str(1234567 * (k + 2 + 9 * n)) for n in range(3) for k in range(8)]


def shown(columns: int, **env: str) -> list[str]:
    """Return the lines that a terminal of so many columns gets."""
    import pty

    screen, end = pty.openpty()
    around = {key: value for key, value in os.environ.items() if key != "NO_COLOR"} | {"COLUMNS": str(columns)} | env
    subprocess.run(
        [sys.executable, "-c", SHOW], stdin=subprocess.DEVNULL, stdout=end, env=around, timeout=60, check=True
    )
    os.close(end)
    said = b""
    while select.select([screen], [], [], 1.0)[0]:
        try:
            said += os.read(screen, 65536)
        except OSError:  # all is read, and the other end is closed
            break
    os.close(screen)
    return said.decode().replace("\r", "").splitlines()


@pytest.mark.parametrize("columns", [30, 40, 60, 80, 132, 200])
@pytest.mark.parametrize("env", [{"TERM": "dumb"}, {"TERM": "vt100", "NO_COLOR": "1"}, {"TERM": "vt100"}])
def test_every_figure_is_whole_and_within_the_screen(columns: int, env: dict[str, str]) -> None:
    lines = shown(columns, **env)
    plain = [line for line in lines if "\x1b" not in line]
    assert max(map(len, plain)) <= columns
    words = " ".join(lines).replace(",", " ").replace(":", " ").split()
    assert [words.count(figure) for figure in FIGURES] == [1] * len(FIGURES)
    for number, mark in (("77701", "A"), ("77702", "B"), ("77703", "A")):
        (line,) = [line for line in lines if number in line]
        assert mark in line.replace(",", " ").split()


def test_no_escapes_where_none_are_wanted() -> None:
    for env in ({"TERM": "dumb"}, {"TERM": "vt100", "NO_COLOR": "1"}):
        assert not [line for line in shown(80, **env) if "\x1b" in line]
