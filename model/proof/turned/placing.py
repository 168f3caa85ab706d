"""Things that are clear: at one turn, moved and shrunk until nothing goes in; then turned a little for more."""

import numpy as np
from numpy.typing import NDArray

from tapeloft.model.proof.compiled import compiled, part
from tapeloft.model.proof.program import NEVER, Numbers
from tapeloft.model.proof.turned.branching import PAD, Space, bound_of, reach_of
from tapeloft.model.proof.turned.bringing import BROKEN, MOST, brought_in
from tapeloft.model.proof.turned.cells import View, turned_by
from tapeloft.model.proof.turned.cuts import NO_CUTS, witnesses
from tapeloft.model.proof.turned.form import Form, set_places
from tapeloft.model.proof.turned.optimum import Within, set_sides, solved, worth
from tapeloft.model.proof.turned.relaxed import AROUND, KEPT, Cuts, Solution
from tapeloft.model.proof.turned.rows import Planes, witness_row
from tapeloft.model.proof.turned.swallowed import Posed, around_middle, deepest_in, posed
from tapeloft.model.proof.walls import Walls

Indices = NDArray[np.int64]
PLANES = 60  # past surfaces, for one placing
SHRINKS = 20  # of what still goes in after so many planes
SPARE = 50  # rows kept free for walls
SETTLED = 8  # times that walls are brought in at one turn
STUCK = 1e-5  # unit frame: rows that stay broken by more leave nothing
FINE = 1e-9  # to what a thing at one turn is solved
TRUST = 0.08  # radians that a thing is first turned by to find more room
TRUSTED = 1e-4  # and last
GAIN = 1e-7  # of what it is worth: less is not worth another turn


@compiled
def placed(
    surface: Walls, planes: Planes, form: Form, view: View, least: float, at: Numbers, points: Numbers, faces: Indices,
    held: int, normals: Numbers, offsets: Numbers, grows: bool,
) -> tuple[int, int]:  # fmt: skip
    """Move *at*, (n,), to where the thing is clear of *surface* and most; return how many points it was kept past.

    And how many planes hold it: normals (h + PLANES, 3) and offsets (h + PLANES,), the first h those of *planes*, are
    set to them; a triangle that goes in is passed by its own plane where that costs less.

    The form has no free axes; view: its one turn. points and faces, 2 · PLANES of them, the first *held*
    given, are set to what it was kept past. grows: with the last of *at*, so that it can be shrunk.
    The first is −1 where it comes out worth less than *least*, or not inside.
    """
    size, point, sides = at.shape[0], np.empty(3), np.empty(form.log_start.shape[0])
    rows, limits, weights = np.zeros((MOST, size)), np.empty(MOST), np.zeros(MOST)
    used, within = np.empty((MOST, 3), np.int64), Within(form.low.copy(), form.high.copy())
    total, count, walls = _laid(form, view, points, faces, held, at, rows, limits), held, planes.limits.shape[0]
    for _ in range(PLANES):
        if total > MOST - SPARE:  # without the walls, which come back as they are broken
            total = _laid(form, view, points, faces, count, at, rows, limits)
        around = Planes(normals[:walls], offsets[:walls])
        total = _settled(form, around, view, within, least, total, at, used, weights, sides, rows, limits)
        if total < 0:
            return -1, walls
        thing = posed(form, view.frame, at)
        for j in range(thing.offsets.shape[0]):
            thing.offsets[j] -= PAD
        triangle = deepest_in(surface, thing, 0.0, point)[1]
        if triangle < 0:
            set_sides(form, at, sides)
            clear = worth(form, at, sides) > least and around_middle(surface, thing, point) >= 1
            return (count if clear else -1), walls
        face, under = _cheapest(thing, point)
        if _plane_of(form, view, surface.corners[triangle], at, under, walls, normals, offsets):
            walls += 1
            continue
        faces[count] = face
        for i in range(3):
            points[count, i] = point[i]
        total = min(total, MOST - 1)
        limits[total] = witness_row(form, view, point, faces[count], 1.0, form.low, form.high, at, rows[total])
        total, count = total + 1, count + 1
    clear = grows and _shrunk(surface, form, view, at)
    clear = clear and around_middle(surface, posed(form, view.frame, at), point) >= 1
    set_sides(form, at, sides)
    return (count if clear and worth(form, at, sides) > least else -1), walls


@part
def _shrunk(surface: Walls, form: Form, view: View, at: Numbers) -> bool:
    """Shrink a thing that grows with the last of *at* until it is clear; whether a little was enough."""
    point = np.empty(3)
    for _ in range(SHRINKS):
        thing = posed(form, view.frame, at)
        for j in range(thing.offsets.shape[0]):
            thing.offsets[j] -= PAD
        if deepest_in(surface, thing, 0.0, point)[1] < 0:
            return True
        at[-1] -= 1.5 * _cheapest(thing, point)[1] + PAD
        if at[-1] <= form.low[-1]:
            return False
    return False


@part
def _plane_of(
    form: Form, view: View, triangle: Numbers, at: Numbers, under: float, walls: int, normals: Numbers,
    offsets: Numbers,
) -> bool:  # fmt: skip
    """Set plane *walls* to a triangle's own, if the thing goes less far beyond it than *under*; whether it was."""
    normal = np.cross(triangle[1] - triangle[0], triangle[2] - triangle[0])
    size = np.sqrt((normal**2).sum())
    if size < 1e-12:
        return False
    normal /= size
    places, most = np.empty((form.corner_start.shape[0], 3)), -1e300
    set_places(form, view.frame, at, places)
    for k in range(places.shape[0]):
        most = max(most, normal[0] * places[k, 0] + normal[1] * places[k, 1] + normal[2] * places[k, 2])
    offset = normal[0] * triangle[0, 0] + normal[1] * triangle[0, 1] + normal[2] * triangle[0, 2]
    if not BROKEN < most - offset < under:
        return False
    normals[walls], offsets[walls] = normal, offset
    return True


@part
def _laid(
    form: Form, view: View, points: Numbers, faces: Indices, count: int, at: Numbers, rows: Numbers, limits: Numbers
) -> int:  # fmt: skip
    """Set the rows to those of the points kept past; return how many."""
    for c in range(count):
        limits[c] = witness_row(form, view, points[c], faces[c], 1.0, form.low, form.high, at, rows[c])
    return count


@part
def _settled(
    form: Form, planes: Planes, view: View, within: Within, least: float, total: int, at: Numbers, used: Indices,
    weights: Numbers, sides: Numbers, rows: Numbers, limits: Numbers,
) -> int:  # fmt: skip
    """Move *at* to where the thing is most within rows and walls; return how many rows; −1 for no more, or none."""
    for _ in range(SETTLED):
        if solved(form, rows, limits, total, within, least, FINE, at, weights, sides) <= least:
            return -1
        if _most_broken(rows, limits, total, at) > STUCK:
            return -1
        before = total
        total = brought_in(form, planes, view, form.low, form.high, at, total, used, rows, limits)
        if total == before:
            break
    return total


@part
def _most_broken(rows: Numbers, limits: Numbers, total: int, at: Numbers) -> float:
    """Return by how much a row is broken at most."""
    most = 0.0
    for j in range(total):
        over = -limits[j]
        for v in range(at.shape[0]):
            over += rows[j, v] * at[v]
        most = max(most, over)
    return most


@part
def _cheapest(thing: Posed, point: Numbers) -> tuple[int, float]:
    """Return the face that a point in the thing is nearest to, for how deep the thing is there, and how near."""
    cheapest, cost = 0, 1e300
    for j in range(thing.offsets.shape[0]):
        n = thing.normals[j]
        under = (thing.offsets[j] - n[0] * point[0] - n[1] * point[1] - n[2] * point[2]) / thing.depths[j]
        if under < cost:
            cheapest, cost = j, under
    return cheapest, cost * thing.depths[cheapest]


def at_turn(turn: Numbers) -> View:
    """Return the cell of one turn."""
    return View(np.ascontiguousarray(turn), np.zeros(3), np.zeros(3), np.zeros(1))


def climbed_thing(
    space: Space, surface: Walls, form: Form, turn: Numbers, cuts: Cuts, least: float
) -> tuple[float, Numbers, Numbers] | None:
    """Return the most of *form* found from a turn, (3, 3), past *cuts*: its worth, turn and place, (n,).

    At each turn it is placed clear; then the planes that hold it there are let turn with it in a small cell, and the
    most that they leave says which way to turn. The cell shrinks where that was a mistake. None if no more.
    """
    fixed = form._replace(axes=np.empty(0, np.int64))
    found = _placed(space, surface, fixed, turn, cuts, least)
    if found is None:
        return None
    trust = TRUST if len(form.axes) else 0.0
    while trust > TRUSTED:
        best, there, at, held, planes = found
        moved = _leaned(space._replace(planes=planes), form, _around(form, there, trust), held, at)
        trial = _placed(space, surface, fixed, moved, held, best + GAIN)
        trial = trial or _placed(space, surface, fixed, moved, NO_CUTS, best + GAIN)
        if trial is None:
            trust /= 3
        else:
            found = trial
    return found[:3]


def _placed(
    space: Space, surface: Walls, fixed: Form, turn: Numbers, cuts: Cuts, least: float
) -> tuple[float, Numbers, Numbers, Cuts, Planes] | None:
    at, held = np.zeros(len(fixed.low)), np.flatnonzero((cuts.senses > 0) & (cuts.kinds < 0))[-PLANES // 2 :]
    points, faces = np.empty((2 * PLANES, 3)), np.empty(2 * PLANES, np.int64)
    points[: len(held)], faces[: len(held)] = cuts.points[held], cuts.faces[held]
    walls = len(space.planes.limits)
    normals, offsets = np.empty((walls + PLANES, 3)), np.empty(walls + PLANES)
    normals[:walls], offsets[:walls] = space.planes
    view, grows = at_turn(turn), bool(fixed.shift_rows.any())
    count, walls = placed(
        surface, space.planes, fixed, view, least, at, points, faces, len(held), normals, offsets, grows
    )  # fmt: skip
    if count < 0:
        return None
    sides = fixed.log_rows @ at + fixed.log_start
    worth = float(np.log(sides).sum() + fixed.gain @ at)
    cuts = witnesses(points[:count], faces[:count], np.ones(count))
    return worth, turn, at, cuts, Planes(normals[:walls], offsets[:walls])


def _around(form: Form, turn: Numbers, trust: float) -> View:
    """Return a small cell of turns about one, along the axes that are free."""
    reach = np.zeros(3)
    reach[form.axes] = trust
    return View(np.ascontiguousarray(turn), -reach, reach, np.array([reach @ reach]))


def _leaned(space: Space, form: Form, view: View, cuts: Cuts, at: Numbers) -> Numbers:
    """Return the turn in a small cell at which its planes leave the thing the most."""
    n, reach = len(form.low), np.empty(6)
    reach_of(form, view, space.corners, reach)
    walls, weights = np.full((KEPT, 3), -1), np.zeros(KEPT + len(cuts.faces))
    start = np.concatenate([at, np.zeros(len(form.axes))])
    solution = Solution(start, walls, weights, np.full(len(form.log_start), 0.1))
    low, high = form.low.copy(), form.high.copy()
    rows, limits = np.empty((len(cuts.faces) + AROUND, len(start))), np.empty(len(cuts.faces) + AROUND)
    bound_of(form, space.planes, view, cuts, rows, limits, reach, NEVER, 1e-7, 0.0, low, high, solution)
    omega = np.zeros(3)
    omega[form.axes] = solution.at[n:]
    return turned_by(view.frame, omega)
