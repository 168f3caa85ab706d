"""The file under the walk: begun, gone on with, and written whole after each answer, never over another hand's."""

import os
from dataclasses import dataclass, replace
from importlib.resources import files
from pathlib import Path

from tapeloft.model.entering.splicing import Page, page_of
from tapeloft.model.errors import FileError, Problem, SurveyError
from tapeloft.model.files.writing import CLOSED, write_whole
from tapeloft.model.survey.boat import SHEET, format_problems, lent
from tapeloft.model.survey.copied import Shared
from tapeloft.model.survey.paper import decoded, read_bytes, read_paper

BOM = b"\xef\xbb\xbf"


class ChangedMeanwhile(FileError):
    """The file is not as this walk left it: another hand has written in it, and it is not written over."""


@dataclass(frozen=True)
class Kept:
    """A survey's file as it lies on the disk: its bytes, None where there is none yet."""

    path: Path
    lies: bytes | None


def opened(path: Path) -> tuple[Kept, Page]:
    """Return the survey at *path* as it lies there and as a page; an empty sheet where there is no such file.

    Raises SurveyError where it is no survey of a compartment, FileError where it cannot be read.
    """
    if path.parent.is_dir() and not os.access(path.resolve().parent, os.W_OK):
        what, mend = CLOSED
        raise FileError(str(Problem(what, mend, file=str(path))))
    if not path.exists() and path.parent.is_dir():
        return Kept(path, None), page_of(str(path), _blank())
    before = read_bytes(path)
    paper = read_paper(path)
    problems = format_problems(paper, (SHEET,))
    if problems:
        raise SurveyError(problems)
    return Kept(path, before), Page(replace(paper, text=decoded(str(path), before)))


def lent_to(page: Page) -> Shared:
    """Return what the boat's own sheet beside a survey lends it; raises SurveyError where that cannot be read."""
    shared, problems = lent(page.paper)
    if problems:
        raise SurveyError(problems)
    return shared


def written(kept: Kept, page: Page) -> Kept:
    """Write a page over the file that lies there, whole or not at all, and return it as it lies then.

    Raises ChangedMeanwhile where the file is not as it was left, FileError where it cannot be written.
    """
    _check_unchanged(kept)
    mark = BOM if kept.lies is not None and kept.lies.startswith(BOM) else b""
    data = mark + page.raw
    write_whole(kept.path, data, force=kept.lies is not None)
    return Kept(kept.path, data)


def _check_unchanged(kept: Kept) -> None:
    try:
        lies = kept.path.read_bytes()
    except FileNotFoundError:
        lies = None
    except OSError as bad:
        raise FileError(f"{kept.path}: cannot be read any more: {bad.strerror}") from None
    if lies != kept.lies:
        what = "has been taken away" if lies is None else "has been changed by another hand"
        raise ChangedMeanwhile(f"{kept.path} {what} since it was last read here: it is not written over")


def _blank() -> str:
    return files("tapeloft.model.entering").joinpath("blank.toml").read_text(encoding="utf-8")
