"""A survey that the program has written, read and built again before it leaves."""

import tomllib

from tapeloft.model.compartment import build
from tapeloft.model.errors import Problem, SurveyError
from tapeloft.model.survey.copied import Shared, transcribed
from tapeloft.model.survey.paper import Paper


def reread(text: str, file: str) -> list[Problem]:
    """Return what forbids the survey *text*, read and built again as its file will be; empty where it can be used."""
    found = transcribed(Paper(file, text, tomllib.loads(text)), Shared())
    if found.problems:
        return list(found.problems)
    try:
        for survey in found.surveys:
            build(survey)
    except SurveyError as bad:
        return list(bad.problems)
    return []
