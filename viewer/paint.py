"""A scene in solid tones and drawn edges, as the eye sees it with the near walls taken off."""

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pyvista as pv
from numpy.typing import NDArray

from tapeloft.model.moments import Points, Triangles
from tapeloft.model.solid import Solid
from tapeloft.viewer.device import drawing_with, off_screen_window
from tapeloft.viewer.edges import edges_seen, soft_normals
from tapeloft.viewer.eye import Eye
from tapeloft.viewer.plate import FINER
from tapeloft.viewer.scene import Part, Scene

OUTLINE = "#2b2a27"
EDGE = "#55524c"
GHOST = "#b9b5ab"
LIGHTS = (((-1.5, 2.0, 2.5), 0.55), ((2.0, 0.6, 1.2), 0.28), ((0.0, -1.0, 1.5), 0.12))
"""Where each of the three lights stands about the eye (right, up, toward), and how strong it is."""
LIT = {"bay": (0.8, 0.3), "obstruction": (0.66, 0.5), "divider": (0.8, 0.2), "part": (0.7, 0.45), "stowed": (0.76, 0.4),
       "water": (0.8, 0.2), "box": (0.8, 0.2)}  # fmt: skip
"""How much of its tone each kind shows in shade, and how much more in the light."""
OPACITY = {"bay": 1.0, "obstruction": 1.0, "divider": 0.22, "part": 1.0, "stowed": 1.0, "water": 0.34, "box": 0.16}


@dataclass(frozen=True, eq=False)
class Painting:
    """A drawn scene.

    pixels (h, w, 3), `FINER` times as fine as the plate; seen: for each pixel of the plate the number of a part, or −1;
    near: how far from the eye's focal point toward the eye what is seen there lies, m, NaN where nothing is.
    """

    pixels: NDArray[np.uint8]
    seen: NDArray[np.int64]
    near: Points


def painted(scene: Scene, eye: Eye, scale: float) -> Painting:
    """Return a scene drawn for an eye, `FINER` times as fine as its plate; lines widen with the plate's *scale*.

    Raises TapeloftError where nothing can draw.
    """
    fine = eye.enlarged(FINER)
    with drawing_with(off_screen_window()):
        plotter = pv.Plotter(off_screen=True, window_size=list(fine.size), lighting="none")
        try:
            return _exposed(plotter, scene, fine, scale * FINER)
        finally:
            plotter.close()


def _exposed(plotter: pv.Plotter, scene: Scene, eye: Eye, width: float) -> Painting:
    plotter.background_color = pv.Color("white")
    add_lights(plotter)
    faces = [add_faces(plotter, part, scene) for part in scene.parts]
    strokes: dict[tuple[str, float], list[Points]] = defaultdict(list)
    for part in scene.parts:
        for pairs, ink, weight in _strokes(part, scene, eye):
            strokes[ink, weight].append(part.solid.vertices[pairs])
    lines = [
        add_lines(plotter, np.concatenate(segments), ink, weight * width) for (ink, weight), segments in strokes.items()
    ]
    hold(plotter, eye)
    pixels = np.array(plotter.screenshot(return_img=True))
    for actor in lines:
        actor.visibility = False
    for number, (part, actor) in enumerate(zip(scene.parts, faces, strict=True)):
        actor.visibility = part.kind != "water" and part.kind != "box"
        actor.prop.ambient, actor.prop.diffuse, actor.prop.opacity = 1.0, 0.0, 1.0
        actor.prop.color = ((number + 1) // 256 / 255, (number + 1) % 256 / 255, 0.0)
    plotter.background_color = pv.Color("black")
    if plotter.render_window is not None:
        plotter.render_window.SetMultiSamples(0)
    plotter.render()
    marks = np.array(plotter.screenshot(return_img=True))[::FINER, ::FINER].astype(np.int64)
    depth = np.array(plotter.get_image_depth(reset_camera_clipping_range=False), np.float64)[::FINER, ::FINER]
    away = float(np.linalg.norm(np.subtract(plotter.camera.position, plotter.camera.focal_point)))
    return Painting(pixels, marks[..., 0] * 256 + marks[..., 1] - 1, depth + away)


def add_lights(plotter: pv.Plotter) -> None:
    """Add the three lights, which stay with the eye."""
    for place, strength in LIGHTS:
        plotter.add_light(pv.Light(position=place, intensity=strength, light_type="camera light"))


def add_faces(plotter: pv.Plotter, part: Part, scene: Scene) -> pv.Actor:
    """Add the drawn faces of a part in its tone: of a bay the far walls, of all else the near sides."""
    ambient, diffuse = LIT[part.kind]
    actor = plotter.add_mesh(
        surface(part, scene), color=part.tone, opacity=OPACITY[part.kind], ambient=ambient, diffuse=diffuse,
        specular=0.0, culling="front" if part.kind == "bay" else "back", reset_camera=False, render=False,
    )  # fmt: skip
    actor.prop.interpolation = "gouraud"
    if part.kind != "bay":  # a thing that stands on a wall has faces in it: let those win
        _nudged(actor, -1.0)
    return actor


def _strokes(part: Part, scene: Scene, eye: Eye) -> list[tuple[Triangles, str, float]]:
    """Return the edges of a part that are drawn, (k, 2) vertices, each with its ink and weight in px; none empty."""
    solid = part.solid
    edges = edges_seen(solid.vertices, solid.triangles, scene.skin_of(part), eye)
    drawn: Sequence[tuple[Triangles, str, float]]
    if part.kind == "bay":
        drawn = ((edges.near, GHOST, 0.7), (edges.far, EDGE, 1.0), (edges.outline, OUTLINE, 1.7))
    elif part.kind == "water":  # its surface only: its sides lie in the walls, which are drawn
        drawn = ((at_surface(solid, np.vstack([edges.near, edges.far, edges.outline])), part.tone, 1.1),)
    elif part.kind == "stowed":
        drawn = ((edges.near, OUTLINE, 1.1), (edges.outline, OUTLINE, 1.7))
    elif part.kind == "box":
        drawn = ((np.vstack([edges.near, edges.outline]), part.tone, 2.2),)
    else:
        drawn = ((edges.near, EDGE, 1.0), (edges.outline, OUTLINE, 1.5))
    return [stroke for stroke in drawn if len(stroke[0])]


def add_lines(plotter: pv.Plotter, segments: Points, ink: str, width: float, name: str | None = None) -> pv.Actor:
    """Add line segments, (k, 2, 3) m, so wide in px, in place of any added before under the same name."""
    ends = np.insert(np.arange(2 * len(segments)).reshape(-1, 2), 0, 2, axis=1)
    actor = plotter.add_mesh(
        pv.PolyData(segments.reshape(-1, 3), lines=ends.ravel()), color=ink, line_width=width, lighting=False,
        name=name, reset_camera=False, render=False,
    )  # fmt: skip
    _nudged(actor, -2.0)
    return actor


def at_surface(water: Solid, pairs: Triangles) -> Triangles:
    """Return those of the edges (k, 2) of a body of water that lie in its surface."""
    level: Triangles = pairs[(water.vertices[pairs, 2] > water.bounds[1, 2] - 1e-6).all(axis=1)]
    return level


def _nudged(actor: pv.Actor, by: float) -> None:
    mapper = actor.mapper
    mapper.SetResolveCoincidentTopologyToPolygonOffset()
    mapper.SetRelativeCoincidentTopologyPolygonOffsetParameters(by, by)
    mapper.SetRelativeCoincidentTopologyLineOffsetParameters(by, by)


def hold(plotter: pv.Plotter, eye: Eye) -> None:
    """Set the camera to the eye."""
    away = 3 * plotter.renderer.length if math.isinf(eye.distance) else eye.distance
    half = eye.size[1] / (2 * eye.scale)
    camera = plotter.camera
    camera.focal_point = tuple(eye.focal)
    camera.position = tuple(eye.focal + eye.toward * away)
    camera.up = tuple(eye.up)
    camera.parallel_projection = math.isinf(eye.distance)
    camera.parallel_scale = half
    camera.view_angle = 2 * math.degrees(math.atan(half / away))
    plotter.renderer.ResetCameraClippingRange()


def surface(part: Part, scene: Scene) -> pv.PolyData:
    """Return the drawn faces of a part as the drawing library takes them, each with its own corners and normals."""
    solid, drawn = part.solid, part.drawn
    triangles, named = solid.triangles[drawn], scene.skin_of(part)[drawn]
    numbered = np.insert(np.arange(3 * len(triangles)).reshape(-1, 3), 0, 3, axis=1)
    mesh = pv.PolyData(solid.vertices[triangles].reshape(-1, 3), numbered.ravel())
    mesh.point_data["Normals"] = soft_normals(solid.vertices, triangles, named).reshape(-1, 3)
    mesh.point_data.active_normals_name = "Normals"
    return mesh
