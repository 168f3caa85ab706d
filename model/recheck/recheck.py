"""Does a certificate hold: what it claims, checked by itself from what the file says and nothing else.

Independent of the search: numpy only, every formula written out afresh. Assumed are float64 arithmetic, with margins
outward, and that the bodies given are the space that was asked about.
"""

import json
import math
from dataclasses import dataclass
from itertools import combinations
from pathlib import Path
from typing import Any

import numpy as np

from tapeloft.model.errors import FileError
from tapeloft.model.recheck.places import Indices, is_closed, is_hull, met, nearest, windings
from tapeloft.model.recheck.rows import ROUND, TOUCH, Numbers, Sought
from tapeloft.model.recheck.tree import Part, Unsound, ends, part_of, worth
from tapeloft.model.recheck.turns import Needed, holds, of_box, of_thing

KIND = "tapeloft certificate"
DRAWN = 2e-6  # of the diagonal: to what a place is clear


@dataclass(frozen=True)
class Rechecked:
    """Whether a certificate holds, what it claims, and what is wrong. leaves: ends of the search that were checked."""

    holds: bool
    claims: tuple[str, ...]
    failures: tuple[str, ...]
    leaves: int


def read_certificate(path: Path) -> dict[str, Any]:
    """Return what a certificate says. Raises FileError where it is none, or cannot be read."""
    try:
        said = json.loads(path.read_bytes())
    except OSError as bad:
        raise FileError(f"{path}: it cannot be read: {bad.strerror}") from None
    except (ValueError, RecursionError):
        raise FileError(f"{path}: this is no JSON; a certificate is written by `tapeloft box` or `fit`") from None
    if not isinstance(said, dict) or said.get("kind") != KIND or said.get("version") != 1:
        raise FileError(f"{path}: this is no certificate that this tapeloft knows")
    return said


def rechecked(said: dict[str, Any]) -> Rechecked:
    """Return whether a certificate, as read, holds."""
    claims: list[str] = []
    failures: list[str] = []
    leaves = 0
    try:
        if said.get("limit") is not None:
            claims.append(limit_claim(said))
            leaves = _check_limit(said, failures)
        if said.get("place") is not None:
            claims.append(_place_claim(said))
            _check_place(said, failures)
        if not claims:
            failures.append("it claims nothing")
    except Unsound as bad:
        failures.append(str(bad))
    except (KeyError, IndexError, TypeError, ValueError, np.linalg.LinAlgError) as bad:
        failures.append(f"it is not as a certificate should be: {bad}")
    return Rechecked(not failures, tuple(claims), tuple(failures), leaves)


# what is claimed
def volume_of(said: dict[str, Any], limit: float) -> float:
    """Return the volume, m³, of a box from the log of its free sides' product, as shares of the diagonal."""
    sizes = [size for size in said["asked"]["sizes_m"] if size is not None]
    return float(math.exp(limit) * said["frame"]["diagonal_m"] ** (3 - len(sizes)) * math.prod(sizes))


def limit_claim(said: dict[str, Any]) -> str:
    """Return in words what the limit says."""
    asked = said["asked"]
    within = f"in {said['compartment']}, turned {asked['turn']}, {asked['clearance_m'] * 1000:g} mm clear all round"
    if asked["what"] == "box":
        return f"no box {within} is larger than {volume_of(said, said['limit']) * 1000:.6g} litres"
    return f"{asked['name']} does not fit {within}"


def _place_claim(said: dict[str, Any]) -> str:
    asked, diagonal = said["asked"], said["frame"]["diagonal_m"]
    what = asked["name"] if asked["what"] == "thing" else "the box"
    volume = f" of {said['place']['volume_m3'] * 1000:.6g} litres" if asked["what"] == "box" else ""
    return f"{what}{volume} is inside {said['compartment']} at its place, to {DRAWN * diagonal * 1000:.2g} mm"


# the limit
def _check_limit(said: dict[str, Any], failures: list[str]) -> int:
    asked, limit, leaves = said["asked"], float(said["limit"]), 0
    if asked["what"] == "thing" and not limit < 0:
        raise Unsound("the limit leaves room for the thing")
    if not said["parts"]:
        raise Unsound("it has no body to search")
    for given in said["parts"]:
        if given["roots"]:
            leaves += _check_part(said, given, limit, failures)
        elif asked["what"] != "box" or enclosed(given) > volume_of(said, limit):
            failures.append("a body was not searched and is larger than the limit")
    return leaves


def enclosed(given: dict[str, Any]) -> float:
    """Return the volume of a body, m³: no box in it is larger."""
    a, b, c = np.moveaxis(_mesh(given), 1, 0)
    return float((a * np.cross(b, c)).sum() / 6)


def _mesh(given: dict[str, Any]) -> Numbers:
    """Return the triangles of a closed mesh, (m, 3, 3) m."""
    triangles: Indices = np.array(given["triangles"], np.int64).reshape(-1, 3)
    if not len(triangles) or not is_closed(triangles):
        raise Unsound("a mesh is not closed")
    mesh: Numbers = np.array(given["vertices_m"], np.float64)[triangles]
    return mesh


def body_in(said: dict[str, Any], given: dict[str, Any]) -> tuple[Part, Numbers]:
    """Return a body as shares of the diagonal, and its triangles so."""
    frame = said["frame"]
    mesh = (_mesh(given) - np.array(frame["middle_m"])) / frame["diagonal_m"]
    return part_of(mesh.reshape(-1, 3), given["planes"], given["points"], given["nodes"]), mesh


def _check_part(said: dict[str, Any], given: dict[str, Any], limit: float, failures: list[str]) -> int:
    part, mesh = body_in(said, given)
    if (np.linalg.norm(part.vertices, axis=1) > 0.5 + 1e-9).any():
        raise Unsound("a body is larger than its frame")
    if len(part.points):
        away = np.flatnonzero(nearest(part.points, mesh) > TOUCH)
        if (abs(windings(part.points[away], mesh)) > 0.01).any():
            failures.append("a witness point lies inside the space")
    needed, norm = needed_turns(said)
    roots = [_root(said, given, root) for root in given["roots"]]
    if not all(any(root[4].core or holds(one, *root[:4]) for root in roots) for one in needed):
        failures.append(f"the cells leave out turns that {said['asked']['turn']} allows")
    open_ends = 0
    for _, base, low, high, sought, first in roots:
        for number, place in ends(part, sought, base, low, high, first, norm, limit):
            open_ends += worth(part, sought, place, part.nodes[number]) > limit
    leaves = sum("to" not in node for node in part.nodes)
    if open_ends:
        failures.append(f"{open_ends} of {leaves} ends of the search are not proved to hold no more than the limit")
    return leaves


def needed_turns(said: dict[str, Any]) -> tuple[list[Needed], float]:
    """Return the cells of turns that the rule needs looked at."""
    asked = said["asked"]
    if asked["what"] == "thing":
        return of_thing(asked["turn"], asked["same"])
    x, y, z = asked["sizes_m"]
    return of_box(asked["turn"], (y == z, z == x, x == y))


def _root(
    said: dict[str, Any], given: dict[str, Any], root: dict[str, Any]
) -> tuple[Numbers, Numbers, Numbers, Numbers, Sought, int]:  # fmt: skip
    way, base, low, high = (np.array(root[key], np.float64) for key in ("way", "base", "low", "high"))
    for turn in (way, base):
        if abs(turn @ turn.T - np.eye(3)).max() > 1e-12 or np.linalg.det(turn) < 0:
            raise Unsound("a turn is none")
    return way, base, low, high, sought_in(said, given, root), int(root["node"])


def sought_in(said: dict[str, Any], given: dict[str, Any], root: dict[str, Any]) -> Sought:
    """Return what is sought, as shares of the diagonal."""
    return _box(said, given["floor_m"]) if said["asked"]["what"] == "box" else _thing(said, given["floor_m"], root)


SIGNS = np.vstack([-np.eye(3), np.eye(3)])
EIGHT = np.array([[(k >> i & 1) * 3 + i for i in range(3)] for k in range(8)])


def _box(said: dict[str, Any], floor: float | None) -> Sought:
    """Return a box, with its clearance: free of it are its low faces, then its high ones, along its own axes."""
    asked, frame = said["asked"], said["frame"]
    diagonal, sizes = frame["diagonal_m"], asked["sizes_m"]
    grown, rates, start = np.full(3, 2 * asked["clearance_m"] / diagonal), np.eye(6), np.zeros(6)
    free = np.ones(6, np.bool_)
    if floor is not None:
        grown[2] /= 2
        free[2], rates[2], start[2] = False, 0.0, (floor - frame["middle_m"][2]) / diagonal
    for i, size in enumerate(sizes):
        if size is not None:
            free[3 + i], rates[3 + i] = False, rates[i]
            start[3 + i] = start[i] + size / diagonal + grown[i]
    rates = rates[:, free]
    n, given = rates.shape[1], np.array([size is None for size in sizes])
    sides, side_start = rates[3:] - rates[:3], start[3:] - start[:3] - grown
    sign = SIGNS.sum(axis=1)
    return Sought(
        SIGNS, sign[:, None] * rates, sign * start, rates[EIGHT], start[EIGHT], np.zeros((3, n)), np.zeros(3),
        sides[given], side_start[given], np.zeros(n), np.full(n, -1.0), np.full(n, 1.0), None, False,
    )  # fmt: skip


def _thing(said: dict[str, Any], floor: float | None, root: dict[str, Any]) -> Sought:
    """Return a body within the thing, with its clearance: free is where it is, and how much it is grown.

    What is claimed is claimed of it as it is, grown by nothing: so it alone must be what was asked about.
    """
    asked, frame = said["asked"], said["frame"]
    diagonal, lying = frame["diagonal_m"], np.array(asked["corners_m"]) @ np.array(root["way"]).T
    normals, corners = (np.array(root[key], np.float64) for key in ("normals", "corners"))
    most = (lying @ normals.T).max(axis=0) + asked["clearance_m"]
    core = floor is None and _is_core(lying, corners * diagonal, asked["clearance_m"])
    within = core or ((corners @ normals.T).max(axis=0) * diagonal <= most + 1e-9).all()
    if not within or not is_hull(normals, corners):
        raise Unsound("what was searched for is not the thing")
    shift, level = np.eye(3)[:, :3], 0.0
    if floor is not None:
        shift, level = shift[:, :2], float(root["level"])
        if abs((level + corners[:, 2].min()) * diagonal + frame["middle_m"][2] - floor) > 1e-9:
            raise Unsound("the thing does not stand on its floor")
    n = shift.shape[1] + 1
    face_rows, corner_rows = np.zeros((len(normals), n)), np.zeros((len(corners), 3, n))
    face_rows[:, -1], corner_rows[:, :, -1] = root["face_gain"], root["corner_gain"]
    low, high = np.full(n, -1.0), np.full(n, 1.0)
    low[-1], high[-1] = root["least"], root["most"]
    offsets = (corners @ normals.T).max(axis=0)
    if not low[-1] <= 0 <= high[-1] or offsets.min() < 0:  # with its origin within it, that is in the space too
        raise Unsound("the thing as it is was not searched for")
    return Sought(
        normals, face_rows, offsets, corner_rows, corners,
        np.hstack([shift, np.zeros((3, 1))]), np.array([0.0, 0.0, level]), np.empty((0, n)), np.empty(0),
        np.eye(n)[-1], low, high, _ball(offsets, face_rows[:, -1], low[-1], high[-1]), core,
    )  # fmt: skip


def _is_core(lying: Numbers, corners: Numbers, clearance: float) -> bool:
    """Whether corners lie in a ball about the origin that the hull of *lying*, (k, 3), holds with its clearance.

    That ball, and what it holds, is in the thing whatever its turn. How far the hull reaches is least along the normal
    of some face, and every face goes through three corners.
    """
    threes = np.array(list(combinations(range(len(lying)), 3)))
    normals = np.cross(lying[threes[:, 1]] - lying[threes[:, 0]], lying[threes[:, 2]] - lying[threes[:, 0]])
    sizes = np.linalg.norm(normals, axis=1)
    along = lying @ (normals[sizes > 1e-12] / sizes[sizes > 1e-12, None]).T
    radius = min(float(along.max(axis=0).min()), float(-along.min(axis=0).max())) + clearance
    return bool(np.linalg.norm(corners, axis=1).max() < radius + 1e-9)


def _ball(offsets: Numbers, gain: Numbers, least: float, most: float) -> tuple[float, float] | None:
    """Return start and rate of the radius of a ball about its origin that a growing thing holds, None for none.

    The least of its faces is concave in how much it is grown, and the chord between its ends is under it.
    """
    first, last = float((offsets + least * gain).min()), float((offsets + most * gain).min())
    if min(first, last) < 0:
        return None
    rate = (last - first) / (most - least)
    return first - rate * least - ROUND, rate


# the place
def _check_place(said: dict[str, Any], failures: list[str]) -> None:
    place, asked = said["place"], said["asked"]
    turn, corners = np.array(place["turn"], np.float64), np.array(place["corners_m"], np.float64)
    if abs(turn @ turn.T - np.eye(3)).max() > 1e-9 or np.linalg.det(turn) < 0:
        raise Unsound("its turn is none")
    _check_turn(asked, turn)
    if asked["what"] == "box":
        _check_box(said, corners)
    normals = np.array(place["normals"], np.float64)
    middle = (corners.min(axis=0) + corners.max(axis=0)) / 2
    depth = float(((corners - middle) @ normals.T).max(axis=0).min())
    share = 1 - DRAWN * said["frame"]["diagonal_m"] / depth
    if not 0 < share < 1:
        raise Unsound("the thing is too thin to be checked")
    stands = (middle + (corners - middle) * share) @ turn.T + np.array(place["place_m"], np.float64)
    mesh = _mesh(place["inside"])
    touched = met(stands, normals @ turn.T, mesh)
    if len(touched):
        failures.append(f"the thing in its place meets {len(touched)} triangles of the walls")
    if abs(windings(stands.mean(axis=0)[None], mesh)[0] - 1) > 0.01:
        failures.append("the thing in its place is not inside")


def _check_turn(asked: dict[str, Any], turn: Numbers) -> None:
    """Raise Unsound where a turn is not one that the rule allows."""
    upright = max(abs(turn[2])) if asked["turn"] == "on any face" else turn[2, 2]
    stands = asked["turn"] == "any tilt" or upright > 1 - 1e-9
    if not stands or (asked["turn"] == "as given" and abs(turn - np.eye(3)).max() > 1e-9):
        raise Unsound(f"its turn is not as {asked['turn']} allows")


def _check_box(said: dict[str, Any], corners: Numbers) -> None:
    """Raise Unsound where the box with its clearance is not what was asked for."""
    asked, place = said["asked"], said["place"]
    low, high = np.array(place["low_m"], np.float64), np.array(place["high_m"], np.float64)
    kept = np.full(6, asked["clearance_m"])
    kept[2] *= place["floor_m"] is None
    right = abs(np.sort(corners, axis=0) - np.repeat([low - kept[:3], high + kept[3:]], 4, axis=0)).max() < 1e-9
    given = all(s is None or abs(b - a - s) < 1e-9 for s, a, b in zip(asked["sizes_m"], low, high, strict=True))
    on_floor = place["floor_m"] is None or abs(low[2] - place["floor_m"]) < 1e-9
    if not (right and given and on_floor and math.isclose(math.prod(high - low), place["volume_m3"], rel_tol=1e-9)):
        raise Unsound("the box is not what was asked for")
