"""Does a certificate hold: what it claims, checked by itself from what the file says and nothing else.

Independent of the search: numpy only, every formula written out afresh. Assumed are float64 arithmetic, with margins
outward, and that the bodies given are the space that was asked about.
"""

import json
import math
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from tapeloft.model.errors import FileError
from tapeloft.model.recheck.places import met, nearest, windings
from tapeloft.model.recheck.rows import TOUCH, Numbers, Sought
from tapeloft.model.recheck.sought import sought_in
from tapeloft.model.recheck.taken import DRAWN, check_clear, check_left, enclosed, mesh_of
from tapeloft.model.recheck.tree import Part, Unsound, ends, part_of, worth
from tapeloft.model.recheck.turns import Needed, holds, of_box, of_thing

KIND = "tapeloft certificate"


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
    if asked["what"] != "box":
        return f"{asked['name']} does not fit {within}"
    kind = "".join(f", {words}" for words in (*_kind(asked), *_where(said)))
    return f"no box {within}{kind}, is larger than {_rounded_up(volume_of(said, said['limit']) * 1000)} litres"


def _rounded_up(figure: float) -> str:
    """Return a figure above zero to six digits, never less than it is."""
    step = 10.0 ** (math.floor(math.log10(figure)) - 5)
    return f"{math.ceil(figure / step) * step:.6g}"


def _kind(asked: dict[str, Any]) -> list[str]:
    """Return in words what kind of box is meant: which sides are given, or least, or as what to each other."""
    said = []
    for name, size, least in zip(("length", "breadth", "height"), asked["sizes_m"], least_of(asked), strict=True):
        if size is not None:
            said.append(f"{name} {size * 1000:.9g} mm")
        elif least:
            said.append(f"{name} at least {least * 1000:.9g} mm")
    if asked.get("proportion") is not None:
        said.append("in the proportion " + ":".join(f"{share:.9g}" for share in asked["proportion"]))
    return said


def _where(said: dict[str, Any]) -> list[str]:
    """Return in words where a box is meant to be: at which heights it stands, clear of which before it."""
    floors = {part["floor_m"] for part in said["parts"]}
    told = []
    if floors != {None}:
        told.append("standing at " + " or ".join(f"{z * 1000:.6g} mm" for z in sorted(floors)))
    if said["asked"].get("before"):
        before, apart = len(said["asked"]["before"]), said["asked"]["apart_m"] * 1000
        told.append(f"clear of the {'one' if before == 1 else before} before it by {apart:.3g} mm")
    return told


def _place_claim(said: dict[str, Any]) -> str:
    asked, diagonal = said["asked"], said["frame"]["diagonal_m"]
    what = asked["name"] if asked["what"] == "thing" else "the box"
    volume = f" of {said['place']['volume_m3'] * 1000:.6g} litres" if asked["what"] == "box" else ""
    return f"{what}{volume} is inside {said['compartment']} at its place, to {DRAWN * diagonal * 1000:.2g} mm"


def least_of(asked: dict[str, Any]) -> Numbers:
    """Return what its sides must be at least, (3,) m."""
    return np.array(asked.get("least_m", [0.0] * 3), np.float64)


# the limit
def _check_limit(said: dict[str, Any], failures: list[str]) -> int:
    asked, limit, leaves = said["asked"], float(said["limit"]), 0
    if asked["what"] == "thing" and not limit < 0:
        raise Unsound("the limit leaves room for the thing")
    if not said["parts"]:
        raise Unsound("it has no body to search")
    if asked.get("before"):
        check_left(said, failures)
    for given in said["parts"]:
        if given["roots"]:
            leaves += _check_part(said, given, limit, failures)
        elif asked["what"] != "box" or enclosed(given) > volume_of(said, limit):
            failures.append("a body was not searched and is larger than the limit")
    return leaves


def body_in(said: dict[str, Any], given: dict[str, Any]) -> tuple[Part, Numbers]:
    """Return a body as shares of the diagonal, and its triangles so."""
    frame = said["frame"]
    mesh = (mesh_of(given) - np.array(frame["middle_m"])) / frame["diagonal_m"]
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
    x, y, z = zip(asked["sizes_m"], least_of(asked), asked.get("proportion") or (1.0,) * 3, strict=True)
    return of_box(asked["turn"], (y == z, z == x, x == y))


def _root(
    said: dict[str, Any], given: dict[str, Any], root: dict[str, Any]
) -> tuple[Numbers, Numbers, Numbers, Numbers, Sought, int]:  # fmt: skip
    way, base, low, high = (np.array(root[key], np.float64) for key in ("way", "base", "low", "high"))
    for turn in (way, base):
        if abs(turn @ turn.T - np.eye(3)).max() > 1e-12 or np.linalg.det(turn) < 0:
            raise Unsound("a turn is none")
    return way, base, low, high, sought_in(said, given, root), int(root["node"])


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
    if asked.get("before"):
        check_clear(asked, stands, normals @ turn.T, failures)
    mesh = mesh_of(place["inside"])
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
    on_floor = place["floor_m"] is None or abs(low[2] - place["floor_m"]) < 1e-9
    is_kind = _is_kind(asked, high - low, DRAWN * said["frame"]["diagonal_m"])
    if not (right and is_kind and on_floor and math.isclose(math.prod(high - low), place["volume_m3"], rel_tol=1e-9)):
        raise Unsound("the box is not what was asked for")


def _is_kind(asked: dict[str, Any], sides: Numbers, drawn: float) -> bool:
    """Whether sides, (3,) m, are as asked for: in proportion as far as they may have been drawn in."""
    given = all(s is None or abs(side - s) < 1e-9 for s, side in zip(asked["sizes_m"], sides, strict=True))
    enough = bool((sides > least_of(asked) - 1e-9).all())
    if asked.get("proportion") is None:
        return given and enough
    shares = np.array(asked["proportion"], np.float64)
    low, high = (sides / shares).max(), ((sides + 2 * drawn) / shares).min()
    return given and enough and bool(low <= high)
