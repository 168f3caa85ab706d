"""The measuring sheet as it goes to the locker: what is known is on it, and there is a box for all that is not."""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from tapeloft.model.cautions import CLOSED, GAS
from tapeloft.model.errors import TapeloftError
from tapeloft.model.facets import standing
from tapeloft.model.measuring.across import Across, Blocked, tapes_across
from tapeloft.model.measuring.along import tapes_along, tapes_over_all
from tapeloft.model.measuring.nominal import letters, nominal_corners
from tapeloft.model.measuring.section import Section, Tape, nameable
from tapeloft.model.moments import Points
from tapeloft.model.survey.sheet import Craft, Datum, Opening, Space
from tapeloft.model.survey.station import Station
from tapeloft.model.survey.survey import Survey
from tapeloft.model.survey.told import on_paper, readings_told, shape_name, way_of_tape
from tapeloft.shapes.polyhedron import Bounds, Round
