"""How much there is to coat: the surface of the net space, part by part."""

from dataclasses import dataclass

import numpy as np

from tapeloft.model.compartment import Compartment
from tapeloft.model.moments import triangle_areas

LEVEL = 0.7071  # a strip whose mean normal is within 45° of upright is a sole or a deck


@dataclass(frozen=True)
class Part:
    """A part of the surface: what it is called, what kind of part, and its bare area, m².

    kind: "sole", "side", "underside of deck", "end", "obstruction" or "part".
    """

    name: str
    kind: str
    area_m2: float


@dataclass(frozen=True)
class Areas:
    """The surface of the net space, part by part; the parts sum to the total, m²."""

    compartment: str
    parts: tuple[Part, ...]
    total_m2: float


def areas_to_coat(compartment: Compartment) -> Areas:
    """Return the area to coat, m², of every part of the net surface of *compartment*.

    Strips between two marks are a sole, a side or the underside of a deck by the mean direction they face, the
    line drawn at 45°. Faces of obstructions and of parts built in carry their names.
    """
    net = compartment.net
    sizes = triangle_areas(net.vertices, net.triangles)
    a, b, c = np.moveaxis(net.vertices[net.triangles], 1, 0)
    upright = np.cross(b - a, c - a)[:, 2] / 2
    names = named_triangles(compartment)
    found: dict[str, list[float]] = {}
    for name, size, up in zip(names, sizes.tolist(), upright.tolist(), strict=True):
        total = found.setdefault(name, [0.0, 0.0])
        total[0] += size
        total[1] += up
    own, fitted = set(compartment.parts.values()), {part.name for part in compartment.fitted}
    parts = tuple(
        Part(n, "part" if n in fitted else _kind(n, up / size if size else 0.0, own), size)
        for n, (size, up) in found.items()
    )
    return Areas(compartment.name, tuple(sorted(parts, key=_rank)), float(sizes.sum()))


def named_triangles(compartment: Compartment) -> list[str]:
    """Return for each net triangle the part of the surface, or the obstruction or part built in, that it is of."""
    pieces = {int(o): piece.name for piece in compartment.pieces for o in np.unique(piece.body.origins)}
    parts = {int(o): part.name for part in compartment.fitted for o in np.unique(part.solid.origins)}
    pieces = parts | pieces  # a lining's outer faces are those of what it lines
    net = compartment.net
    pairs = zip(net.origins.tolist(), net.faces.tolist(), strict=True)
    return [compartment.parts.get(pair) or pieces[pair[0]] for pair in pairs]


def _kind(name: str, upright: float, own: set[str]) -> str:
    if name not in own:
        return "obstruction"
    if name in ("aft end", "forward end"):
        return "end"
    return "sole" if upright < -LEVEL else "underside of deck" if upright > LEVEL else "side"


def _rank(part: Part) -> int:
    return ("sole", "side", "underside of deck", "end", "obstruction", "part").index(part.kind)
