"""Words at places in the window: which are written, for the eye as it is, so that none lies on another."""

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from tapeloft.model.moments import Points
from tapeloft.model.solid import Solid
from tapeloft.viewer.eye import Eye
from tapeloft.viewer.labels import Label, overlap
from tapeloft.viewer.plate import INK
from tapeloft.viewer.scene import Part

LETTERS = 17  # px
NAMED = 12  # things called by name in the picture, the largest: more would hide what they name

SIDEWARD = 0.8  # of the way from a thing's middle to its side: where it is marked


@dataclass(frozen=True, eq=False)
class Caption:
    """Words at a place, (3,) m, in an ink."""

    words: str
    place: Points
    ink: str = INK


def things_named(parts: Sequence[Part]) -> list[Caption]:
    """Return the names of the largest of what stands there."""
    things = [part for part in parts if part.kind in ("obstruction", "divider", "part")]
    largest = sorted(things, key=lambda part: -part.solid.volume)[:NAMED]
    return [Caption(part.name, part.solid.centroid) for part in largest]


def stowed_marked(parts: Sequence[Part], eye: Eye) -> list[Caption]:
    """Return what each thing stowed is called: a single one by its name; one of many by its mark, if it is in sight."""
    stowed = [part for part in parts if part.kind == "stowed"]
    alike = Counter(part.name for part in stowed)
    captions = [Caption(part.name, part.solid.centroid) for part in stowed if alike[part.name] == 1]
    standing = [part for part in parts if part.kind in ("stowed", "obstruction", "part")]
    for part in [part for part in stowed if alike[part.name] > 1]:
        others = [other.solid for other in standing if other is not part]
        place = next((place for place in _places(part.solid, eye) if not _is_hidden(place, eye, others)), None)
        captions += [] if place is None else [Caption(part.mark, place)]
    return captions


def _places(solid: Solid, eye: Eye) -> Iterator[Points]:
    """Yield where a thing may be marked: behind the middle of each side that looks at the eye, then in its middle."""
    middle = solid.bounds.mean(axis=0)
    ways = np.diag(np.sign(eye.toward) * np.ptp(solid.bounds, axis=0) / 2)
    for axis in np.argsort(-np.abs(eye.toward)):
        place: Points = middle + SIDEWARD * ways[axis]
        if stands_before(place, eye, solid):
            yield place
    yield solid.centroid


def _is_hidden(place: Points, eye: Eye, solids: Sequence[Solid]) -> bool:
    return any(stands_before(place, eye, solid) for solid in solids)


def clear_of_others(captions: Sequence[Caption], eye: Eye) -> list[Caption]:
    """Return those captions that lie on none of those before them."""
    kept: list[Caption] = []
    taken: list[Points] = []
    for caption in captions:
        x, y = eye.seen(caption.place).tolist()
        corners = Label(caption.words, (x, y), LETTERS).corners()
        if not any(overlap(corners, other) for other in taken):
            kept.append(caption)
            taken.append(corners)
    return kept


def stands_before(point: Points, eye: Eye, solid: Solid) -> bool:
    """Whether a solid stands between a point, (3,) m, and the eye.

    >>> from tapeloft.viewer.scene import upright
    >>> from tapeloft.viewer.eye import eye_for
    >>> low, high = upright((0, 0, 0), (1, 1, 1)), upright((0, 0, 2), (1, 1, 3))
    >>> plan = eye_for(high.vertices, "plan", (400, 300), margins=(0, 0, 0, 0))
    >>> stands_before(low.centroid, plan, high), stands_before(high.centroid, plan, low)
    (True, False)
    """
    way = eye.toward if math.isinf(eye.distance) else eye.focal + eye.toward * eye.distance - point
    if not _meets_box(point, way, solid.bounds):
        return False
    a, b, c = np.moveaxis(solid.vertices[solid.triangles], 1, 0)
    u, v = b - a, c - a
    across = np.cross(way, v)
    twice = np.einsum("ij,ij->i", u, across)
    flat = np.abs(twice) < 1e-15
    twice = np.where(flat, 1.0, twice)
    from_a = point - a
    s = np.einsum("ij,ij->i", from_a, across) / twice
    beside = np.cross(from_a, u)
    t = beside @ way / twice
    ahead = np.einsum("ij,ij->i", v, beside) / twice
    return bool((~flat & (s >= 0) & (t >= 0) & (s + t <= 1) & (ahead > 0)).any())


def _meets_box(point: Points, way: Points, bounds: Points) -> bool:
    """Whether a ray meets an upright box, (2, 3) m."""
    with np.errstate(divide="ignore", invalid="ignore"):
        ends = (bounds - point) / way
    low, high = np.fmin(ends[0], ends[1]), np.fmax(ends[0], ends[1])
    return bool(max(0.0, float(np.nanmax(low))) <= float(np.nanmin(high)))
