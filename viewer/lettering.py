"""Where dimension lines, figures and numbers go on a drawing, so that each can be read and none lies on another."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import distance_transform_edt

from tapeloft.model.moments import Points
from tapeloft.viewer.callouts import Callout, Clearance, Hole, Room, clearances, holes, sides_of
from tapeloft.viewer.dimensions import Dimension, figures, sides_along
from tapeloft.viewer.eye import Eye
from tapeloft.viewer.labels import Label, first_free, upright_angle
from tapeloft.viewer.marks import marked
from tapeloft.viewer.paint import Painting
from tapeloft.viewer.scene import Part, Scene

OFF = 46.0  # px between a thing and its dimension line, on a plate 1600 px wide
ROOM = 92.0  # px that a dimension line with its figures needs beside the thing
FIGURE, NUMBER = 23.0, 17.0  # px, height of letters
ON_IT = 0.4  # of its radius: a balloon stands on a thing that shows at least so far all round its middle
GAP, BEYOND = 7.0, 7.0  # px an extension line stays clear of the thing, and runs past the dimension line


@dataclass(frozen=True, eq=False)
class Measure:
    """A dimension line on the plate, px: its two ends, extension lines, fainter lines to what it measures, label."""

    ends: Points
    extensions: tuple[Points, ...]
    to_thing: tuple[Points, ...]
    label: Label


@dataclass(frozen=True, eq=False)
class Balloon:
    """A number in a circle, px: where it stands, the point of the thing it names, and the circle's radius."""

    label: Label
    thing: tuple[float, float]
    radius: float


@dataclass(frozen=True, eq=False)
class Lettering:
    """All that is written within the drawing.

    out_of_sight: the numbers of things that cannot be seen in it; unseen: the things stowed that cannot; unsaid: how
    many clearances are left out.
    """

    measures: tuple[Measure, ...]
    box: tuple[Label, ...]
    balloons: tuple[Balloon, ...]
    out_of_sight: frozenset[int]
    clearances: tuple[Clearance, ...] = ()
    holes: tuple[Hole, ...] = ()
    marks: tuple[Callout, ...] = ()
    unseen: frozenset[Part] = frozenset()
    unsaid: int = 0


def measure(dimension: Dimension, eye: Eye, vertices: Points, unit: float) -> Measure:
    """Return a dimension as it is drawn for *eye*; vertices (n, 3) m of the thing measured; unit the plate's scale."""
    feet = eye.seen(np.array([dimension.start, dimension.end]))
    line = feet[1] - feet[0]
    step = 1e-3 * float(np.linalg.norm(dimension.end - dimension.start))
    ways = eye.seen(np.array([dimension.start, dimension.end]) + dimension.away * step) - feet
    ways /= np.linalg.norm(ways, axis=1, keepdims=True)
    square = np.array([-line[1], line[0]]) / np.linalg.norm(line)
    square *= np.sign(square @ ways[0])
    off = OFF * unit / float(square @ ways[0])
    ends = feet + ways * off
    extensions = tuple(
        np.array([foot + way * GAP * unit, end + way * BEYOND * unit])
        for foot, way, end in zip(feet, ways, ends, strict=True)
    )
    to_thing = tuple(
        eye.seen(path) for path in _paths(dimension, vertices) if np.ptp(eye.seen(path), axis=0).max() > 2 * GAP * unit
    )
    at = ends.mean(axis=0) + square * FIGURE * unit * 0.72
    label = Label(dimension.figures, (float(at[0]), float(at[1])), FIGURE * unit, upright_angle(line))
    return Measure(ends, extensions, to_thing, label)


def _paths(dimension: Dimension, vertices: Points) -> Iterator[Points]:
    """Yield, for each end of a dimension, the way to it, (3, 3) m, from the nearest point that reaches so far.

    It runs square to the axes, like the plumb line and the string it would be measured with.
    """
    along = vertices[:, dimension.axis]
    out = int(np.abs(dimension.away).argmax())
    for foot in (dimension.start, dimension.end):
        reaching = vertices[np.abs(along - foot[dimension.axis]) < 1e-5]
        nearest = reaching[np.abs(reaching - foot).sum(axis=1).argmin()]
        corner = foot.copy()
        corner[out] = nearest[out]
        yield np.array([nearest, corner, foot])


def lettered(
    scene: Scene, measures: Sequence[Measure], things: dict[int, int], painting: Painting, eye: Eye, unit: str,
    scale: float,
) -> Lettering:  # fmt: skip
    """Return where everything is written.

    measures: the overall dimensions; things: for each number to show, that of the part in *painting*; unit of length;
    scale of the plate.
    """
    room = Room(painting)
    for one in measures:
        room.write(one.label)
        for line in (one.ends, *one.extensions):
            room.draw(line, 2.0)
    for side in (side for opening in scene.openings for side in sides_of(eye.seen(opening.outline))):
        room.draw(side, 3.0)
    boxes = _boxes(scene, eye, unit, scale, room)
    stowed = scene.of("stowed")
    clear, unsaid = clearances(stowed, painting, eye, unit, scale, room)
    outlines = holes(scene.openings, eye, unit, scale, room)
    balloons = []
    for number, value in things.items():
        balloon = _balloon(number, painting.seen == value, room.taken, scale)
        if balloon is not None:
            balloons.append(balloon)
            room.write(balloon.label)
    marks = marked(scene, painting, eye, scale, room)
    shown = {int(balloon.label.text) for balloon in balloons}
    seen = set(np.unique(painting.seen).tolist())
    unseen = frozenset(part for part in stowed if scene.parts.index(part) not in seen)
    return Lettering(
        tuple(measures), boxes, tuple(balloons), frozenset(set(things) - shown), tuple(clear), tuple(outlines), marks,
        unseen, unsaid,
    )  # fmt: skip


def _boxes(scene: Scene, eye: Eye, unit: str, scale: float, room: Room) -> tuple[Label, ...]:
    """Return the sizes of the boxes, each beside a side of its own, and where there are several their names.

    Their places are taken up.
    """
    several = len(scene.boxes) > 1
    written = []
    for part in scene.of("box"):
        corners = np.array(part.corners)
        choices = [_beside_edges(corners, axis, eye, unit, scale) for axis in range(3)]
        choices += [_about_middle(part, eye, scale)] * several
        for places in choices:
            label = first_free(places, room.taken, eye.size)
            if label is not None:
                written.append(label)
                room.write(label)
    return tuple(written)


def _about_middle(part: Part, eye: Eye, scale: float) -> Iterator[Label]:
    """Yield places for the name of a box: its middle, then ever farther about it."""
    size = NUMBER * scale
    middle = eye.seen(part.solid.centroid)
    steps = np.array([(i, j) for i in range(-3, 4) for j in range(-5, 6)]) * [2.0, 1.0]
    for step in steps[np.argsort(np.hypot(*steps.T), kind="stable")]:
        x, y = (middle + step * size).tolist()
        yield Label(part.name, (x, y), size, face="italic")


def _beside_edges(corners: Points, axis: int, eye: Eye, unit: str, scale: float) -> Iterator[Label]:
    """Yield places for one size of a box: beside its edges, nearest to the eye first, within the box and without."""
    size = FIGURE * scale
    edges = sorted(sides_along(corners, axis), key=lambda edge: -float((edge[0] + edge[1]) @ eye.toward))
    text = figures(float(np.linalg.norm(edges[0][1] - edges[0][0])), unit, down=True)
    centre = eye.seen(corners.mean(axis=0))
    for start, end in edges:
        a, b = eye.seen(start), eye.seen(end)
        length = float(np.linalg.norm(b - a))
        if length < 1:
            return
        square = np.array([a[1] - b[1], b[0] - a[0]]) / length
        square *= np.sign(square @ (centre - (a + b) / 2)) or 1.0
        for side in (0.75, -0.75):
            for share in (0.5, 0.35, 0.65):
                at = a + (b - a) * share + square * size * side
                label = Label(text, (float(at[0]), float(at[1])), size, upright_angle(b - a))
                if label.extent[0] < length * 0.9:
                    yield label


def _balloon(number: int, mask: NDArray[np.bool_], taken: Sequence[Points], scale: float) -> Balloon | None:
    """Return the balloon of a thing seen where *mask*, on it if there is room, else beside it; None if unseen."""
    if not mask.any():
        return None
    radius = NUMBER * scale * 0.78
    depth = distance_transform_edt(np.pad(mask, 1))[1:-1, 1:-1]
    size = (mask.shape[1], mask.shape[0])
    row, column = np.unravel_index(int(depth.argmax()), depth.shape)
    thing = (float(column), float(row))
    for _ in range(6):
        row, column = np.unravel_index(int(depth.argmax()), depth.shape)
        if depth[row, column] < radius * ON_IT:
            break
        place = (float(column), float(row))
        label = first_free([_number(number, place, scale)], taken, size)
        if label is not None:
            return Balloon(label, place, radius)
        rows, columns = np.ogrid[: mask.shape[0], : mask.shape[1]]
        depth = np.where((rows - row) ** 2 + (columns - column) ** 2 < (2.5 * radius) ** 2, 0, depth)
    turns = np.arange(16) * np.pi / 8
    around = [
        _number(number, (thing[0] + r * float(np.cos(t)), thing[1] + r * float(np.sin(t))), scale)
        for r in np.array([2.4, 3.4, 4.8, 6.8]) * radius
        for t in turns
    ]
    label = first_free(around, taken, size) or around[0]
    return Balloon(label, thing, radius)


def _number(number: int, at: tuple[float, float], scale: float) -> Label:
    return Label(str(number), at, NUMBER * scale, air=NUMBER * scale * 0.32 + 1)
