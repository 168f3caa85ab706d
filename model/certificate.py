"""Certificates: what a search for a box or a place proved, written so that `recheck` can check it by itself."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from tapeloft.model.boxes import BoxFound, Corner
from tapeloft.model.closing import closing
from tapeloft.model.errors import TapeloftError
from tapeloft.model.files.writing import write_set
from tapeloft.model.fits.bodies import bodies
from tapeloft.model.fits.convex import grown, standing, turned
from tapeloft.model.fits.fit import Fit
from tapeloft.model.gear.gear import Firm
from tapeloft.model.gear.turn import Turn
from tapeloft.model.moments import Points
from tapeloft.model.proof.search import Frame
from tapeloft.model.proof.turned.form import CORNERS, FACES, Form, Indices
from tapeloft.model.proof.turned.record import Kept, Node, Searched
from tapeloft.model.recheck.recheck import KIND, body_in, needed_turns, rechecked, volume_of
from tapeloft.model.recheck.sought import sought_in
from tapeloft.model.recheck.taken import enclosed
from tapeloft.model.recheck.tree import Place, Unsound, ends
from tapeloft.model.solid import Solid

SPARE = 2e-6  # of the log volume, by which a limit gives way so that the second check's margins do not pass it
FINEST = 1e-3  # of Rodrigues' vector: cells are halved no further for a certificate
NOT_AT_ALL = -1e-9  # of the diagonal: growing by less than nothing


@dataclass(frozen=True, eq=False)
class Before:
    """Boxes that were taken from a space before one was sought, kept clear of by so many metres."""

    space: Solid  # as it was before any was taken; above the grate where they stand on one
    boxes: tuple[BoxFound, ...]
    apart_m: float


def box_certificate(
    compartment: str, outside: Solid, found: BoxFound | None, rule: Turn, kept: Kept, *,
    footprint: tuple[float, float] | None = None, least: Corner = (0.0, 0.0, 0.0), proportion: Corner | None = None,
    before: Before | None = None,
) -> dict[str, Any]:  # fmt: skip
    """Return the certificate of the largest box found in a space, and of its limit.

    outside, rule, footprint, least, proportion: as `largest_box` was asked; outside without what was taken *before*.
    Raises TapeloftError where none can be made.
    """
    if found is None:
        raise TapeloftError("no certificate can be made: there is no box to speak of")
    length, breadth = footprint or (None, None)
    asked: dict[str, Any] = {"what": "box", "turn": rule.value, "clearance_m": found.clearance_m,
             "sizes_m": [length, breadth, found.height_m], "least_m": list(least),
             "proportion": None if proportion is None else list(proportion)}  # fmt: skip
    if before is not None:
        asked |= {"apart_m": before.apart_m, "before": [
            {"turn": one.turn, "low_m": one.low, "high_m": one.high} for one in before.boxes
        ]}  # fmt: skip
    place = None
    if found.volume_m3 and kept.inside is not None:
        low, high = np.array(found.low), np.array(found.high)
        space = np.concatenate([low - found.clearance_m, high + found.clearance_m])
        space[2] = low[2] if kept.floor is not None else space[2]
        place = place_of(kept.inside, np.array(found.turn), np.zeros(3), space[CORNERS], FACES)
        place |= {"low_m": found.low, "high_m": found.high, "volume_m3": found.volume_m3, "floor_m": kept.floor}
    taken_from = None if before is None else _mesh(before.space)
    return certificate(compartment, asked, _frame(outside), kept, place, taken_from)


def fit_certificate(
    compartment: str, outside: Solid, name: str, form: Firm, rule: Turn, fit: Fit, kept: Kept
) -> dict[str, Any]:
    """Return the certificate that a thing, or the convex body around it, fits at its place; or that it does not.

    outside, form, rule: as `fitted` was asked. Raises TapeloftError where none can be made.
    """
    inner, outer = bodies(form, fit.clearance_m)
    asked = {"what": "thing", "name": name, "turn": rule.value, "clearance_m": fit.clearance_m,
             "same": form.symmetry, "corners_m": inner.body.corners.tolist()}  # fmt: skip
    place = None
    if kept.inside is not None and fit.pose is not None:
        turn = np.array(fit.pose.turn)
        whole = turned(outer.body, turn)
        whole = grown(standing(whole) if kept.floor is not None else whole, fit.clearance_m)
        place = place_of(kept.inside, turn, np.array(fit.pose.place), whole.corners @ turn, whole.normals @ turn)
    return certificate(compartment, asked, _frame(outside), kept, place)


def _frame(outside: Solid) -> Frame:
    low, high = outside.bounds
    return Frame((low + high) / 2, float(np.linalg.norm(high - low)))


def certificate(
    compartment: str, asked: dict[str, Any], frame: Frame, kept: Kept, place: dict[str, Any] | None,
    space: dict[str, Any] | None = None,
) -> dict[str, Any]:  # fmt: skip
    """Return what a certificate says of a search: its limit, where it proves one, and a place, where there is one.

    asked: what, turn, clearance_m, and sizes_m, least_m, proportion of a box, apart_m and turn, low_m, high_m of those
    before it; name, same and corners_m of a thing, in metres and its own axes. space: what the boxes before were taken
    from. Raises TapeloftError where the second check does not bear it out.
    """
    said: dict[str, Any] = {
        "kind": KIND, "version": 1, "claims": [], "compartment": compartment, "asked": asked,
        "frame": {"middle_m": frame.middle.tolist(), "diagonal_m": frame.diagonal},
        "limit": None, "parts": [], "place": place,
    }  # fmt: skip
    if space is not None:
        said["space"] = space
    if kept.limit < np.inf and (asked["what"] == "box" or kept.limit < NOT_AT_ALL):
        said["limit"] = kept.limit + SPARE if asked["what"] == "box" else NOT_AT_ALL
        try:
            said["parts"] = [_part(said, same) for same in _alike(kept.bodies)]
        except Unsound as bad:
            raise TapeloftError(f"no certificate can be made: {bad}") from None
    if said["limit"] is None and place is None:
        raise TapeloftError("no certificate can be made: nothing is proved, neither a place nor a limit")
    checked = rechecked(said)
    if not checked.holds:
        raise TapeloftError(f"no certificate can be made: {'; '.join(checked.failures)}")
    said["claims"] = list(checked.claims)
    return said


def write_certificates(said: Mapping[Path, dict[str, Any]], *, force: bool = False) -> None:
    """Write certificates, all of them whole or none. Raises FileError where they cannot be."""
    told = {path: json.dumps(one, separators=(",", ":")).encode() for path, one in said.items()}
    write_set(told, force=force)


def place_of(
    inside: Solid, turn: Points, place: Points, corners: Points, normals: Points
) -> dict[str, Any]:  # fmt: skip
    """Return a place as a certificate has it: p = turn @ y + place, corners (k, 3) of the thing in its own axes, m."""
    return {
        "turn": turn.tolist(), "place_m": place.tolist(), "corners_m": corners.tolist(), "normals": normals.tolist(),
        "inside": _mesh(inside),
    }  # fmt: skip


def _mesh(solid: Solid) -> dict[str, Any]:
    return {"vertices_m": solid.vertices.tolist(), "triangles": solid.triangles.tolist()}


def _alike(bodies: Sequence[Searched]) -> list[list[Searched]]:
    """Return what was searched, all searches of one body together."""
    found: dict[tuple[int, float | None], list[Searched]] = {}
    for one in bodies:
        found.setdefault((id(one.solid), one.floor), []).append(one)
    return list(found.values())


def _part(said: dict[str, Any], same: list[Searched]) -> dict[str, Any]:
    """Return one body and its trees, every end closed."""
    first, own = same[0], list[Node]()
    told = {**_mesh(first.solid), "floor_m": first.floor, "planes": [], "points": [], "roots": [], "nodes": []}
    if said["asked"]["what"] == "box" and enclosed(told) <= volume_of(said, said["limit"]):
        return told  # as a search that was cut short at once has it
    nodes: list[dict[str, Any]] = []
    known: dict[bytes, int] = {}
    roots = []
    for one in same:
        for (form, cell, node), way in zip(one.record.roots, one.ways, strict=True):
            root = {"way": way.tolist(), "base": cell.base.tolist(), "low": cell.low.tolist(),
                    "high": cell.high.tolist(), "node": len(own)}  # fmt: skip
            roots.append(root | (_thing(form) if said["asked"]["what"] == "thing" else {}))
            _flatten(node, own, nodes, known)
    told |= {
        "planes": first.planes.tolist(), "points": [np.frombuffer(point).tolist() for point in known],
        "roots": roots, "nodes": nodes,
    }  # fmt: skip
    if roots:
        _close(said, told, own, [form.axes for one in same for form, _, _ in one.record.roots])
    return told


def _thing(form: Form) -> dict[str, Any]:
    """Return what a root says of the thing that was searched for, shares of the diagonal."""
    return {
        "normals": form.normals.tolist(), "corners": form.corner_start.tolist(),
        "face_gain": form.face_rows[:, -1].tolist(), "corner_gain": form.corner_rows[:, :, -1].tolist(),
        "level": float(form.shift_start[2]), "least": float(form.low[-1]), "most": float(form.high[-1]),
    }  # fmt: skip


def _flatten(root: Node, own: list[Node], nodes: list[dict[str, Any]], known: dict[bytes, int]) -> None:
    """Add a tree to the nodes, each told by the numbers of those below it."""
    own.append(root)
    nodes.append({})
    todo = [len(own) - 1]
    while todo:
        number = todo.pop()
        node = own[number]
        if not node.children:
            continue
        below: list[int | None] = []
        for child in node.children:
            below.append(None if child is None else len(own))
            if child is not None:
                todo.append(len(own))
                own.append(child)
                nodes.append({})
        nodes[number] = _split(node, known) | {"to": below}


def _split(node: Node, known: dict[bytes, int]) -> dict[str, Any]:
    if node.point is None or node.order is None:
        return {"halve": node.axis}
    return {"past": known.setdefault(node.point.tobytes(), len(known)), "order": node.order.tolist()}


def _close(said: dict[str, Any], told: dict[str, Any], own: list[Node], axes: list[Indices]) -> None:
    """Give every end of a body's trees weights that prove the limit."""
    part, _ = body_in(said, told)
    _, norm = needed_turns(said)
    for root, free in zip(told["roots"], axes, strict=True):
        base, low, high = (np.array(root[key], np.float64) for key in ("base", "low", "high"))
        sought = sought_in(said, told, root)
        for number, place in ends(part, sought, base, low, high, root["node"], norm, said["limit"]):
            closed = closing(part, sought, place, own[number], free, said["limit"])
            part.nodes[number] = _halved(place, number, own, part.nodes) if closed is None else closed


def _halved(place: Place, number: int, own: list[Node], nodes: list[dict[str, Any]]) -> dict[str, Any]:
    """Return an end that is split once more, because no weights close it as it is."""
    sides, first = place.high - place.low, len(own)
    if sides.max() < FINEST:
        raise TapeloftError("no certificate can be made: an end of the search is too near its limit to be shown anew")
    own += [own[number]] * 2
    nodes += [{}, {}]
    return {"halve": int(sides.argmax()), "to": [first, first + 1]}
