"""A liner: the net space shrunk by a thickness, open at its lids, as a closed solid of walls of that thickness."""

from dataclasses import dataclass

import numpy as np

from tapeloft.model.compartment import Compartment
from tapeloft.model.cutting.offset import near_walls
from tapeloft.model.errors import GeometryError
from tapeloft.model.moments import triangle_areas
from tapeloft.model.openings import WAYS, ClearOpening, clear_openings
from tapeloft.model.solid import SLIVER, Solid, hulls, united

THINNEST, THICKEST = 0.0005, 0.2  # m
LIGHTEST, HEAVIEST = 5.0, 20_000.0  # kg/m³
OUTWARD = 0.5  # m that a lid's opening is cut beyond the wall
INWARD = 0.005  # m beyond the liner's inner face, for a wall that is not quite flat under its lid
STEEPEST = 0.35  # cosine: an opening's wall leans no more from the way it is looked for


@dataclass(frozen=True, eq=False)
class Liner:
    """A liner in its place, and the space within it.

    lost_m3: of the net space, what the liner takes; left_m3: what it leaves within, its open lids counted in. area_m2:
    of its outer face, what lies against the walls. thinnest_m: measured, the least distance from the space within to a
    wall. open: the lids that it is open at.
    """

    thickness: float
    solid: Solid
    inner: Solid
    lost_m3: float
    left_m3: float
    area_m2: float
    mass_kg: float
    thinnest_m: float
    open: tuple[str, ...]
    notes: tuple[str, ...]


def liner_of(compartment: Compartment, thickness: float, density: float) -> Liner:
    """Return the liner of a compartment, of walls of a *thickness*, m, and a *density*, kg/m³.

    Over every face it is just so thick. Corners of the space within are sharp, as two planes meet; round a corner that
    stands into the space (a post, the edge of a step) it is drawn by chords, there up to 1 − cos(7.5°), 0.9 %, thinner.
    Raises GeometryError where a figure is absurd or nothing is left within.
    """
    _sound(thickness, density)
    net = compartment.inside
    shrunk = net - near_walls(net, thickness)
    bodies = [body for body in shrunk.parts() if body.volume > SLIVER]
    if not bodies:
        what = f"walls {thickness * 1000:g} mm thick leave nothing of the space within them"
        raise GeometryError(f"{what}\n    mend: give a thinner liner")
    inner = united(bodies)
    lids = clear_openings(compartment)
    holes = [_through(lid, thickness) for lid in lids]
    shell = (net - inner).cleared_of(holes)
    walls = [body for body in shell.parts() if body.volume > SLIVER * thickness]
    solid = united(walls)
    notes: tuple[str, ...] = () if lids else ("no opening is in the survey: the liner is closed all round",)
    dark = sum(not _opens(body, holes) for body in bodies) if lids else 0
    if dark:
        notes += (f"{dark} of the {len(bodies)} spaces within it lie under no opening",)
    lost = solid.volume
    return Liner(
        thickness, solid, inner, lost, compartment.net.volume - lost, _against(compartment, solid), lost * density,
        min(thickness, inner.gap_to_outside(net, 2 * thickness)), tuple(lid.name for lid in lids), notes,
    )  # fmt: skip


def _sound(thickness: float, density: float) -> None:
    if not THINNEST <= thickness <= THICKEST:
        raise GeometryError(f"a liner {thickness * 1000:g} mm thick: it has to be 0.5 to 200 mm")
    if not LIGHTEST <= density <= HEAVIEST:
        raise GeometryError(f"a density of {density:g} kg/m³: it has to be 5 to 20000")


def _through(lid: ClearOpening, thickness: float) -> Solid:
    """Return what is cut from a liner at a lid: what lies over and under its clear opening, through the thickness."""
    axis, outward = WAYS[lid.wall]
    rim = lid.outline
    normal = np.cross(rim[1] - rim[0], rim[len(rim) // 2] - rim[0])
    lean = max(STEEPEST, abs(float(normal[axis])) / max(float(np.linalg.norm(normal)), 1e-12))
    ends = np.zeros((2, 3))
    ends[:, axis] = outward * OUTWARD, -outward * (thickness / lean + INWARD)
    return hulls([np.vstack([rim + end for end in ends])])


def _opens(body: Solid, holes: list[Solid]) -> bool:
    return any(not (body ^ hole).is_empty for hole in holes)


def _against(compartment: Compartment, solid: Solid) -> float:
    """Return how much of a liner lies against what it lines, m²."""
    own = set(np.unique(compartment.inside.origins).tolist())
    faces = np.array([origin in own for origin in solid.origins.tolist()], bool)
    return float(triangle_areas(solid.vertices, solid.triangles)[faces].sum())
