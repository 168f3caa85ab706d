"""From a survey to a closed solid, and the answers taken from it: the library.

A survey is read, built, and asked::

    read_survey(path) -> Boat         .compartments are surveys; examined(path) tells every problem instead of raising
    build(survey) -> Compartment      .gross, .net, .bays: solids
    measured(compartment) -> Volume   areas_to_coat(compartment) -> Areas   clear_runs(solid) -> three Runs
    filled_to(solid, heights) -> Capacity   height_of(solid, fraction)   largest_box(inside, outside) -> BoxFound
    fitted(inside, outside, form, turn=Turn.UPRIGHT) -> Fit      gear_asked("folded bike, 20") -> Gear
    exported(compartment, path)       cautions_for(survey)

The names are fetched from their modules when they are first asked for, so that importing this costs nothing.
"""

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tapeloft.model.areas import Areas, areas_to_coat
    from tapeloft.model.boxes import BoxFound, largest_box
    from tapeloft.model.capacity import Capacity, filled_to, height_of
    from tapeloft.model.cautions import cautions_for
    from tapeloft.model.compartment import Bay, Compartment, Piece, build
    from tapeloft.model.errors import FileError, GeometryError, Problem, SurveyError, TapeloftError, UnknownName
    from tapeloft.model.export import exported
    from tapeloft.model.fits.fit import Fit, fitted
    from tapeloft.model.gear.asked import gear_asked
    from tapeloft.model.gear.gear import Gear
    from tapeloft.model.gear.turn import Turn
    from tapeloft.model.runs.runs import Run, clear_runs
    from tapeloft.model.solid import Solid
    from tapeloft.model.survey.boat import Boat, Examined, examined, read_survey
    from tapeloft.model.survey.survey import Survey
    from tapeloft.model.volume import Volume, measured

__all__ = [
    "Areas",
    "Bay",
    "Boat",
    "BoxFound",
    "Capacity",
    "Compartment",
    "Examined",
    "FileError",
    "Fit",
    "Gear",
    "GeometryError",
    "Piece",
    "Problem",
    "Run",
    "Solid",
    "Survey",
    "SurveyError",
    "TapeloftError",
    "Turn",
    "UnknownName",
    "Volume",
    "areas_to_coat",
    "build",
    "cautions_for",
    "clear_runs",
    "examined",
    "exported",
    "filled_to",
    "fitted",
    "gear_asked",
    "height_of",
    "largest_box",
    "measured",
    "read_survey",
]

# No public name is a module's too: importing the module would put it in the name's place.
_MODULES = {
    "areas": "Areas areas_to_coat",
    "survey.boat": "Boat Examined examined read_survey",
    "boxes": "BoxFound largest_box",
    "capacity": "Capacity filled_to height_of",
    "cautions": "cautions_for",
    "compartment": "Bay Compartment Piece build",
    "errors": "FileError GeometryError Problem SurveyError TapeloftError UnknownName",
    "export": "exported",
    "fits.fit": "Fit fitted",
    "gear.asked": "gear_asked",
    "gear.gear": "Gear",
    "gear.turn": "Turn",
    "runs.runs": "Run clear_runs",
    "solid": "Solid",
    "survey.survey": "Survey",
    "volume": "Volume measured",
}
_HOMES = {name: module for module, names in _MODULES.items() for name in names.split()}


def __getattr__(name: str) -> object:
    if name not in _HOMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    value = getattr(import_module(f"{__name__}.{_HOMES[name]}"), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
