"""Whether a scan is as large as the space: its targets' distances held against lengths that were taped between them."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from tapeloft.model.errors import Problem, SurveyError
from tapeloft.model.scan.targets import Targets

PICKED = 0.003  # m: how well a target is found in a scan, one standard deviation (common practice, no source)
LEAST_TOLD = 0.005  # share that a scan may be off: 1.5 % of a volume
MOST_OFF = 0.05  # share beyond which it is no scan's own scale but a unit or a target (common practice, no source)
SURE = 3.0  # standard deviations

Wanted = Literal["taped", "scanned", ""]


@dataclass(frozen=True)
class Held:
    """A taped length held against the scan: its name, m by the tape, and m in the scan."""

    name: str
    taped: float
    scanned: float

    @property
    def times(self) -> float:
        """What the scan must be multiplied by to have this length."""
        return self.taped / self.scanned

    @property
    def tolerance(self) -> float:
        """The share that picking two targets leaves open."""
        return max(LEAST_TOLD, SURE * float(np.sqrt(2.0)) * PICKED / self.taped)

    @property
    def agrees(self) -> bool:
        """Whether the scan has this length, as near as it can be told."""
        return abs(self.times - 1.0) <= self.tolerance


@dataclass(frozen=True)
class Scale:
    """How large a scan is: the lengths it was held against, and what its points were multiplied by for that."""

    held: tuple[Held, ...]
    applied: float

    @property
    def checked(self) -> bool:
        """Whether any length was taped to hold the scan against."""
        return bool(self.held)


def scale(targets: Targets, metres: float, wanted: Wanted = "") -> Scale:
    """Return the scale of a scan of which one unit is *metres*, and apply it only where *wanted* is "taped".

    Raises SurveyError where the scan and the tape differ and it is not said which to go by, where two lengths differ
    among themselves, and where "taped" is wanted and nothing was taped.
    """
    held = tuple(_held(targets, metres))
    times = _together(held)
    problems = _problems(targets, held, times, wanted)
    if problems:
        raise SurveyError(problems)
    return Scale(held, times if wanted == "taped" else 1.0)


def _held(targets: Targets, metres: float) -> Sequence[Held]:
    found = []
    for first, second, length in targets.lengths():
        a, b = targets.in_scan((first, second)) * metres
        found.append(Held(f"{first}-{second}", length, float(np.linalg.norm(a - b))))
    return found


def _together(held: Sequence[Held]) -> float:
    """Return what the scan must be multiplied by, least squares over the lengths."""
    scanned, taped = (np.array([getattr(one, key) for one in held]) for key in ("scanned", "taped"))
    return float(scanned @ taped / (scanned @ scanned)) if len(held) and scanned.any() else 1.0


def _problems(targets: Targets, held: Sequence[Held], times: float, wanted: Wanted) -> list[Problem]:
    nowhere = [one for one in held if not one.scanned > 0]
    if nowhere:
        what = "the two targets lie in one place in the scan"
        return [targets.problem(("length", one.name), what, "pick both in the scan again") for one in nowhere]
    if wanted == "taped" and not held:
        what = "no length is taped to take the scale from"
        return [targets.problem((), what, "add [length] with T1-T2 = …, a long one, between two targets")]
    odd = [one for one in held if abs(one.times / times - 1) > one.tolerance]
    if odd:
        return [targets.problem(("length", one.name), *_at_odds(one, times)) for one in odd]
    if wanted or all(one.agrees for one in held):
        return []
    return [targets.problem(("length", one.name), *_off(one)) for one in held if not one.agrees]


def _at_odds(one: Held, times: float) -> tuple[str, str]:
    what = (
        f"the tape says {one.taped * 1000:.0f} mm and the scan {one.scanned * 1000:.0f} mm, "
        f"{(1 / one.times - 1) * 100:+.1f} %, where the lengths together say {(1 / times - 1) * 100:+.1f} %"
    )
    return what, "tape it again, and pick its two targets in the scan again"


def _off(one: Held) -> tuple[str, str]:
    size = 1 / one.times - 1
    what = (
        f"the tape says {one.taped * 1000:.0f} mm and the scan {one.scanned * 1000:.0f} mm: "
        f"the scan is {size * 100:+.1f} % in length, {((1 + size) ** 3 - 1) * 100:+.1f} % in volume"
    )
    if abs(size) > MOST_OFF:
        return what, "no phone is so far off: see that --unit is the scan's own, and pick its two targets in it again"
    return (
        what,
        "tape it again; then say --scale taped, to go by the tape, or --scale scanned, to leave the scan as it is",
    )
