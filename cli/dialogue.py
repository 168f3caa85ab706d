"""Questions put and answers taken line by line, on a screen of any width, or none."""

import os
import shutil
import textwrap
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, TextIO

if TYPE_CHECKING:
    from tapeloft.model.entering.question import Question
    from tapeloft.model.entering.walk import Walk

LONGEST_LINE = 20_000
"""Letters. Of a longer line the rest is passed over: no answer has so many."""
ROOM = 8
"""Columns that a prompt leaves for its answer."""
COUNTED = 60
"""Columns from which there is room for the count of readings before each prompt."""
NARROWEST = 20


@dataclass
class Dialogue:
    """Where answers come from and where questions go; `heard` holds what has been explained, and the last heading."""

    source: TextIO
    screen: TextIO
    heard: set[str] = field(default_factory=set)
    heading: str = ""

    def say(self, *lines: str) -> None:
        """Print lines, each folded to the width of the screen."""
        for line in lines:
            indent = " " * (len(line) - len(line.lstrip()) + 2)
            folded = textwrap.wrap(line, _width(), subsequent_indent=indent, break_on_hyphens=False)
            self._put("\n".join(folded) + "\n")

    def answer(self, walk: "Walk") -> str | None:
        """Put the question that a walk is at, and return the line that is typed; None where nothing more will come."""
        from tapeloft.model.entering.walk import asked, numbered

        question = asked(walk)
        number, of = numbered(walk, question)
        if question.group != self.heading:
            self.heading = question.group
            self.say("", f"{question.group} (reading {number} of {of})" if number else question.group)
        if question.explains and question.explains not in self.heard:
            self.heard.add(question.explains)
            self.say(f"  {question.explains}")
        count = f"{number}/{of} " if number and _width() >= COUNTED else ""
        self._put_prompt(count + _prompt(walk, question))
        return self._line()

    def _put_prompt(self, prompt: str) -> None:
        *folded, last = textwrap.wrap(prompt, max(_width() - ROOM, NARROWEST), break_on_hyphens=False)
        self.say(*folded)
        self._put(f"{last} ")

    def _put(self, text: str) -> None:
        try:
            print(text, end="", file=self.screen, flush=True)
        except OSError:  # the terminal has been closed: what is said goes nowhere
            os.dup2(os.open(os.devnull, os.O_WRONLY), self.screen.fileno())

    def _line(self) -> str | None:
        line = self._read()
        rest = line
        while len(rest) == LONGEST_LINE and not rest.endswith("\n"):
            rest = self._read()
        if not self.source.isatty():
            self.say(line.strip())
        return line.rstrip("\r\n") if line else None

    def _read(self) -> str:
        try:
            return self.source.readline(LONGEST_LINE)
        except OSError:  # likewise
            return ""


def _prompt(walk: "Walk", question: "Question") -> str:
    from tapeloft.model.entering.question import is_answered

    there = walk.page.written(question.place) if is_answered(walk.page, question) else ""
    kept = there or question.usual
    return f"{question.asks}{f' [{kept}]' if kept else ''}:"


def _width() -> int:
    return max(shutil.get_terminal_size().columns, NARROWEST)
