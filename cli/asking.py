"""From what stands on the command line to the surveys it asks about, and to their solids."""

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tapeloft.model.compartment import Compartment
    from tapeloft.model.errors import Problem
    from tapeloft.model.survey.boat import Examined
    from tapeloft.model.survey.survey import Survey


def looked_at(path: str, given: Sequence[str] | None, options: Sequence[str] | None) -> "Examined":
    """Return what stands in the survey at *path*, with `NAME=LENGTH` settings and options applied."""
    from tapeloft.model.survey.boat import examined

    return examined(path, given=settings(given), options=tuple(options or ()))


def settings(given: Sequence[str] | None) -> dict[str, str]:
    """Return `NAME=LENGTH` settings by name; raise TapeloftError for one that is not so written."""
    from tapeloft.model.errors import TapeloftError

    lengths: dict[str, str] = {}
    for pair in given or ():
        name, equals, value = (part.strip() for part in pair.partition("="))
        if not (name and equals and value):
            raise TapeloftError(f'--set takes NAME=LENGTH, not "{pair}": for example --set sole_step="180 mm"')
        if lengths.get(name, value) != value:
            raise TapeloftError(f"--set gives {name} two lengths, {lengths[name]} and {value}")
        lengths[name] = value
    return lengths


def asked_surveys(
    path: str, name: str | None, given: Sequence[str] | None, options: Sequence[str] | None
) -> "tuple[Survey, ...]":
    """Return the surveys asked about: the named one, or all.

    Problems elsewhere in the boat do not keep a named compartment from being answered for; they are told of.
    """
    from tapeloft.cli.printing import say
    from tapeloft.model.errors import SurveyError

    found = looked_at(path, given, options)
    if name is None:
        if found.problems:
            raise SurveyError(found.problems)
        return found.boat.compartments
    one = _named(found, name)
    if found.problems:
        where = ", ".join(dict.fromkeys(problem.compartment or problem.file for problem in found.problems))
        say(f"note: {where} cannot be used yet; `tapeloft check {path}` says why")
    return (one,)


def _named(found: "Examined", name: str) -> "Survey":
    from tapeloft.model.errors import SurveyError, UnknownName

    try:
        return found.boat.compartment(name)
    except UnknownName:
        own = [p for p in found.problems if p.compartment.lower().startswith(name.lower())]
        if found.problems:
            raise SurveyError(own or found.problems) from None
        raise


def asked_survey(path: str, name: str | None, given: Sequence[str] | None, options: Sequence[str] | None) -> "Survey":
    """Return the one survey asked about; raise TapeloftError where a name is needed to tell which."""
    from tapeloft.model.errors import TapeloftError

    surveys = asked_surveys(path, name, given, options)
    if len(surveys) > 1:
        names = ", ".join(f'"{s.name}"' for s in surveys)
        raise TapeloftError(f"which compartment? this survey has {names}")
    return surveys[0]


def built(surveys: "Sequence[Survey]") -> "list[Compartment]":
    """Return the compartments of *surveys*; raise SurveyError with all that forbids any of them."""
    from tapeloft.cli.progress import each
    from tapeloft.model.compartment import build
    from tapeloft.model.errors import SurveyError

    done: list[Compartment] = []
    problems: list[Problem] = []
    for one in each(surveys, "building"):
        try:
            done.append(build(one))
        except SurveyError as bad:
            problems += bad.problems
    if problems:
        raise SurveyError(told_once(problems))
    return done


def told_once(problems: "Iterable[Problem]") -> "list[Problem]":
    """Return problems without those of a twin that her sister has too: they stand in one place of one file."""
    told: dict[object, Problem] = {}
    for one in problems:
        told.setdefault((one.what, one.file, one.line, one.station, one.measure), one)
    return list(told.values())
