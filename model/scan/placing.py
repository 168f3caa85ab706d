"""Where a scan lies in the compartment: turned and moved so that its targets come to where the tape puts them."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from tapeloft.model.errors import Problem, SurveyError
from tapeloft.model.moments import Points
from tapeloft.model.scan.scale import PICKED
from tapeloft.model.scan.targets import Targets

NEEDED = 3
LEAST_OFF_LINE = 0.05  # of the longest distance, or
LEAST_OFF_LINE_M = 0.05  # m: targets nearer to one line leave the scan free to turn about it
MOST_OFF = 0.03  # m: a target farther from its taped place was misread; a scan's points stray by a third of it
TILT = 10.0  # degrees that the scan's own up may lean
UNITS_OFF = {
    1000.0: "millimetres, not metres", 100.0: "centimetres, not metres", 10.0: "millimetres, not centimetres",
    0.001: "metres, not millimetres", 0.01: "metres, not centimetres", 0.1: "centimetres, not millimetres",
    1 / 0.0254: "inches, not metres", 0.0254: "metres, not inches", 1 / 0.3048: "feet, not metres",
    0.3048: "metres, not feet", 1 / 25.4: "inches, not millimetres", 25.4: "millimetres, not inches",
    1 / 12: "feet, not inches", 12.0: "inches, not feet",
}  # fmt: skip
"""How many times too large a scan is that was read in the wrong unit, and what it is in."""
SMALLER, LARGER = 3.0, 30.0
"""How many times smaller and larger than the reach of its targets a scan may be: a locker's, or a whole cabin's."""
TRIM = (0.5, 99.5)  # percentiles between which a scan's own reach is told: specks in the air lie beyond
WRONG_UNIT = 0.12  # share by which a factor may be missed
AXES = {"x": 0, "y": 1, "z": 2}


@dataclass(frozen=True, eq=False)
class Placing:
    """How a scan's points come into the compartment: turn @ point + shift, m.

    turn (3, 3), a rotation; shift (3,) m. names of the targets, off (n,): how far each then lies from where the
    tape puts it, m. taped (n, 3): that place, m.
    """

    turn: Points
    shift: Points
    names: tuple[str, ...]
    off: Points
    taped: Points

    @property
    def stray(self) -> float:
        """One standard deviation of a target's coordinate, m, by what is left: 3 n readings less the 6 of a placing."""
        return float(np.sqrt((self.off**2).sum() / (3 * len(self.off) - 6)))

    def stray_at(self, spots: Points) -> Points:
        """Return one standard deviation of where *spots* (n, 3) m come to lie, m, the way that is least certain.

        A rigid body's on n targets, each sure to what is left or to `PICKED`: it shifts by σ/√n, and turns about their
        middle by σ over the root of their second moments; about a line near all of them it turns far.
        """
        middle = self.taped.mean(axis=0)
        off, arms = self.taped - middle, spots - middle
        turning = np.linalg.pinv((off**2).sum() * np.eye(3) - off.T @ off)
        crossed = np.cross(np.eye(3)[None], arms[:, None])
        spread = np.eye(3) / len(off) + np.einsum("nij,ik,nkl->njl", crossed, turning, crossed)
        stray: Points = max(self.stray, PICKED) * np.sqrt(np.linalg.eigvalsh(spread)[:, -1])
        return stray

    def placed(self, points: Points) -> Points:
        """Return points (n, 3) of the scan, m, in compartment axes."""
        moved: Points = points @ self.turn.T + self.shift
        return moved


def rigid(source: Points, target: Points) -> tuple[Points, Points, float]:
    """Return the rotation and the shift that bring points (n, 3) nearest to others, and what is left: the rms, m.

    Least squares by singular values (Kabsch, Acta Cryst. A 32, 1976 and A 34, 1978, from memory): never a mirror.

    >>> turn, shift, left = rigid(np.eye(3), np.eye(3)[[1, 2, 0]])
    >>> turn.round(6).astype(int).tolist(), left < 1e-9
    ([[0, 0, 1], [1, 0, 0], [0, 1, 0]], True)
    """
    return _fit(source, target, mirrored=False)


def _fit(source: Points, target: Points, *, mirrored: bool) -> tuple[Points, Points, float]:
    here, there = source.mean(axis=0), target.mean(axis=0)
    u, _, v = np.linalg.svd((source - here).T @ (target - there))
    hand = np.sign(np.linalg.det(u @ v)) * (-1.0 if mirrored else 1.0)
    turn = v.T @ np.diag([1.0, 1.0, hand]) @ u.T
    shift = there - turn @ here
    left = source @ turn.T + shift - target
    return turn, shift, float(np.sqrt(np.mean((left**2).sum(axis=1))))


def placing(targets: Targets, metres: float) -> Placing:
    """Return where the scan lies by its targets; *metres* is what one unit of the scan is, its scale included.

    Raises SurveyError, for too few targets, targets in one line, a scan in another unit, one that is mirrored, or a
    target that lies far from where the tape puts it.
    """
    names = targets.taped
    scan, tape = targets.in_scan(names) * metres, targets.in_space(names)
    _refuse(_too_few(targets, names) or _in_line(targets, scan, tape) or _of_another_unit(targets, scan, tape))
    turn, shift, left = rigid(scan, tape)
    _refuse(_mirrored(targets, scan, tape, left))
    found = Placing(turn, shift, names, np.linalg.norm(scan @ turn.T + shift - tape, axis=1), tape)
    _refuse(_far_off(targets, found, scan, tape) or _tilted(targets, found))
    return found


def check_of_one_scan(targets: Targets, points: Points) -> None:
    """Raise SurveyError where the targets cannot have been picked among *points* (n, 3), in the scan's own unit."""
    low, high = np.percentile(points, TRIM, axis=0)
    wide = float(np.linalg.norm(high - low))
    picked = targets.in_scan(targets.taped)
    apart = float(np.linalg.norm(np.ptp(picked, axis=0))) if len(picked) > 1 else wide
    outside = np.linalg.norm(picked - np.clip(picked, low, high), axis=1)
    if not wide or (wide / LARGER <= apart <= wide * SMALLER and outside.max(initial=0.0) <= wide * SMALLER):
        return
    what = (
        f"the targets lie {apart:.4g} apart in the scan's own numbers and its points reach over {wide:.4g}, "
        f"from {_numbers(low)} to {_numbers(high)}: the targets were picked in another scan, or in another unit"
    )
    raise SurveyError([targets.problem(("target",), what, "write scan = […] with the coordinates that this file has")])


def _numbers(spot: Points) -> str:
    return f"[{', '.join(f'{x:.4g}' for x in spot)}]"


def _refuse(problems: Sequence[Problem]) -> None:
    if problems:
        raise SurveyError(problems)


def _too_few(targets: Targets, names: Sequence[str]) -> list[Problem]:
    if len(names) >= NEEDED:
        return []
    told = f"{len(names)} taped target{'' if len(names) == 1 else 's'}, and {NEEDED} are needed to place a scan"
    return [targets.problem(("target",), told, "tape three, well apart and not in one line, four to check them")]


def _in_line(targets: Targets, scan: Points, tape: Points) -> list[Problem]:
    for spots, where in ((tape, "by the tape"), (scan, "in the scan")):
        spread = np.linalg.svd(spots - spots.mean(axis=0), compute_uv=False)
        wide = float(spread[1]) if len(spread) > 1 else 0.0
        if wide < max(LEAST_OFF_LINE * float(spread[0]), LEAST_OFF_LINE_M if where == "by the tape" else 0.0):
            what = f"the targets lie in one line, or nearly, {where}: the scan could turn about it"
            return [targets.problem(("target",), what, "tape a target well off the line of the others")]
    return []


def _ratios(scan: Points, tape: Points) -> list[tuple[int, int, float, float]]:
    """Return for each two targets the distance between them in the scan and by the tape, m."""
    pairs = combinations(range(len(scan)), 2)
    return [
        (i, j, float(np.linalg.norm(scan[i] - scan[j])), float(np.linalg.norm(tape[i] - tape[j]))) for i, j in pairs
    ]


def _of_another_unit(targets: Targets, scan: Points, tape: Points) -> list[Problem]:
    times = float(np.median([s / t for _, _, s, t in _ratios(scan, tape) if t > 0]))
    factor = min(UNITS_OFF, key=lambda one: abs(np.log(times / one)))
    if abs(times / factor - 1) > WRONG_UNIT:
        return []
    what = f"the scan is {times:.4g} times as large as the tape says: it looks as if it were in {UNITS_OFF[factor]}"
    return [targets.problem(("target",), what, "state the scan's own unit with --unit")]


def _mirrored(targets: Targets, scan: Points, tape: Points, left: float) -> list[Problem]:
    """Refuse a scan that fits far better in a mirror; three targets, or four in a plane, cannot tell."""
    if left <= MOST_OFF or _fit(scan, tape, mirrored=True)[2] > left / 3:
        return []
    what = "the scan fits its targets only in a mirror: it is left-handed, or half-breadths are on the wrong side"
    mend = (
        "look at the sides of the targets; else mirror the scan in the program that made it, and write its new targets"
    )
    return [targets.problem(("target",), what, mend)]


def _far_off(targets: Targets, found: Placing, scan: Points, tape: Points) -> list[Problem]:
    if found.off.max() <= MOST_OFF:
        return []
    i, j, in_scan, by_tape = max(_ratios(scan, tape), key=lambda one: abs(one[2] - one[3]))
    pair = f"{found.names[i]} to {found.names[j]}"
    told = f"{pair} is {by_tape * 1000:.0f} mm by the tape and {in_scan * 1000:.0f} mm in the scan"
    return [
        targets.problem(
            ("target", found.names[k]),
            f"lies {found.off[k] * 1000:.0f} mm from where the tape puts it; {told}",
            "tape the target again, and pick it in the scan again",
        )
        for k in np.flatnonzero(found.off > MOST_OFF)
    ]


def _tilted(targets: Targets, found: Placing) -> list[Problem]:
    """Refuse a placing that turns the scan's own up aside: of three targets only that tells a mirrored scan."""
    axis = targets.sheet.up
    if not axis:
        return []
    up = found.turn[:, AXES[axis[-1]]] * (-1.0 if axis[0] == "-" else 1.0)
    lean = float(np.degrees(np.arccos(np.clip(up[2], -1.0, 1.0))))
    if lean <= TILT:
        return []
    what = f'up in the scan, "{axis}", comes to lie {lean:.0f} degrees off upright'
    mend = "two targets may be exchanged or on the wrong side, the scan may be mirrored, or another axis of it is up"
    return [targets.problem(("up",), what, mend)]
